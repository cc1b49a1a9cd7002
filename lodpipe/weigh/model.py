"""What claims are weighed against, indexed once: lives, whereabouts, processes, datable things."""

import re
from collections import defaultdict
from collections.abc import Iterable
from typing import TypeVar

from lodpipe.aspects import Aspects
from lodpipe.evidence import Evidence
from lodpipe.evidence.facts import DatableThing, Process
from lodpipe.records import Claim
from lodpipe.weigh.geography import Geography
from lodpipe.weigh.grounds import Ground, ground_of
from lodpipe.weigh.presence import Presence
from lodpipe.weigh.spans import MAX, MIN, Spans, union
from lodpipe.weigh.when import first_day, last_day, outer

EXPOSURE, PRINT, MOUNT, CAPTION = "exposure", "print", "mount", "caption"
EVENTS = (EXPOSURE, PRINT, MOUNT, CAPTION)
"""The events of a pictured thing, in their order: none comes before the one on its left."""

LINKS = {
    # aspect: the event of the thing and that of the other thing, and how they lie
    "copy_of": EXPOSURE,
    "printed_from": PRINT,
    "composed_of": EXPOSURE,
    "same_session_as": EXPOSURE,
    "same_sitter_as": EXPOSURE,
    "earlier_than": EXPOSURE,
    "later_than": EXPOSURE,
}
"""Aspects whose value is another thing, with the event of the thing that they are about."""

DATED = {
    "date": EXPOSURE,
    "date_printed": PRINT,
    "date_mounted": MOUNT,
    "date_captioned": CAPTION,
}
MADE_BY = {"process": PRINT, "format": MOUNT}
"""Aspects whose value is a process or format: `processes.csv` bounds this event."""

_DAYS = re.compile(r"\b(\d+)\s*days?\b", re.IGNORECASE)

F = TypeVar("F", Process, DatableThing)


class Model:
    """The facts that count, and what each kind of claim asks of them.

    Args:
        evidence: resolved. `aspects`: the table of aspects.
        circa_years: how far an approximate date reaches.
        withdrawn: sources that no longer count, besides those that `sources.csv` withdraws.
    """

    def __init__(
        self,
        evidence: Evidence,
        aspects: Aspects,
        circa_years: int,
        withdrawn: Iterable[str] = (),
    ) -> None:
        self.evidence, self.aspects, self.circa_years = evidence, aspects, circa_years
        self.withdrawn = {source.key for source in evidence.sources if source.withdrawn}
        self.withdrawn |= set(withdrawn)
        self.geography = Geography(evidence.places)
        self.presence = Presence(evidence, self.geography, circa_years, self.void)
        self.processes: defaultdict[str, list[Process]] = defaultdict(list)
        for process in evidence.processes:
            # a row that gives sizes only says nothing of time
            dated = process.first or process.last
            if dated and not self.void(process.sources):
                self.processes[process.process].append(process)
        self.things: defaultdict[str, list[DatableThing]] = defaultdict(list)
        for thing in evidence.things:
            if not self.void(thing.sources):
                self.things[thing.thing].append(thing)

    def void(self, sources: Iterable[str]) -> bool:
        """Return whether a row that names these sources no longer counts: all are withdrawn."""
        named = set(sources)
        return bool(named) and named <= self.withdrawn

    def groundless(self, claim: Claim) -> bool:
        """Return whether a claim rests on nothing but withdrawn sources."""
        return not claim.basis and not claim.premises and self.void(claim.sources)

    def event(self, claim: Claim) -> str:
        """Return the event that a claim is weighed on, empty when it is not weighed."""
        if not claim.value:
            return ""
        return self.aspects.weighed_on(claim.aspect, claim.role)

    def binds(self, claim: Claim) -> bool:
        """Return whether a claim about a person binds life and place.

        Only a maker of the exposure or a sitter, without qualifier or with a doubt: what a
        workshop, a follower or a copyist made says nothing of where the master was.
        """
        return (
            claim.aspect in ("maker", "sitter")
            and bool(claim.value)
            and self.event(claim) == EXPOSURE
            and self.aspects.doubt(claim.qualifier)
        )

    def window(self, claim: Claim) -> int:
        """Return within how many days the exposures of one session lie, 0 for the same day."""
        found = _DAYS.search(claim.part)
        return int(found[1]) if found else 0

    def in_use(self, process: str) -> tuple[Spans, tuple[Ground, ...]]:
        """Return when a process was in use by any of its rows, and these rows."""
        rows = self.processes.get(process, [])
        return union(*map(self.range_of, rows)), tuple(map(ground_of, rows))

    def range_of(self, row: Process) -> Spans:
        """Return the days from the first of `from` to the last of `to` of one row."""
        low = first_day(row.first, self.circa_years) if row.first else MIN
        high = last_day(row.last, self.circa_years) if row.last else MAX
        return ((low, high),) if low <= high else ()

    def stood(self, thing: str) -> tuple[Spans, tuple[Ground, ...]]:
        """Return when a datable thing stood by any of its rows, and these rows."""
        rows = self.things.get(thing, [])
        days = union(*(outer(row.exists, self.circa_years) for row in rows))
        return days, tuple(map(ground_of, rows))
