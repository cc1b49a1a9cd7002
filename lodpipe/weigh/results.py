"""What weighing comes to: spans, verdicts, conflicts. Data only: words are made in `wording`."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from lodpipe.dates import iso_day
from lodpipe.iris import key_of
from lodpipe.records import Claim
from lodpipe.weigh.grounds import Ground
from lodpipe.weigh.spans import MAX, MIN, Spans

CONTRADICTED, PLACED, OPEN, NOT_WEIGHED = "contradicted", "placed", "open", "not weighed"


@dataclass(frozen=True, slots=True)
class Span:
    """The days that one event of a thing can have, and the rows that shut the others off."""

    event: str
    days: Spans
    because: tuple[Ground, ...]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the evidence makes of one claim.

    Attributes:
        verdict: `contradicted`, `placed`, `open` or `not weighed`.
        event: the event that it was weighed on. `feasible`: the days left for it.
        share: placed days of feasible days, None when not placed or without bound.
        clashes_with: keys of qualified current claims that it cannot hold together with.
        because: the rows that bound the days, place the person, or contradict.
        disputed: rows of a process or format that the days lie outside of, while others fit.
    """

    claim: Claim
    verdict: str
    event: str = ""
    feasible: Spans = ()
    share: float | None = None
    clashes_with: tuple[str, ...] = ()
    because: tuple[Ground, ...] = ()
    disputed: tuple[Ground, ...] = ()


@dataclass(frozen=True, slots=True)
class Conflict:
    """A smallest set of rows that cannot all hold, with the claim that it contradicts."""

    claim: str
    members: tuple[Ground, ...]


@dataclass(frozen=True, slots=True)
class EvidenceConflict:
    """Facts about one person that contradict one another without any claim."""

    who: str
    days: Spans
    members: tuple[Ground, ...]


@dataclass(frozen=True, slots=True)
class Weighed:
    """One thing: the days of its events by certain current claims, and a verdict on each claim."""

    about: str
    spans: tuple[Span, ...]
    claims: tuple[Verdict, ...]


@dataclass(frozen=True, slots=True)
class Weighing:
    """All things in order, the conflict sets, and what contradicts itself in the evidence."""

    things: tuple[Weighed, ...]
    conflicts: tuple[Conflict, ...]
    evidence_conflicts: tuple[EvidenceConflict, ...]

    def verdicts(self) -> dict[str, Verdict]:
        """Return the verdict on each claim by its key."""
        return {verdict.claim.key: verdict for thing in self.things for verdict in thing.claims}

    def to_json(self, base: str) -> dict[str, Any]:
        """Return the whole as JSON values; documents under `base` by their path.

        Days are ISO 8601; an end without bound is null. A row without source has `source` null.
        """
        short = _shortener(base)
        return {
            "things": [_thing(thing, short) for thing in self.things],
            "conflicts": [
                {"claim": conflict.claim, "members": members_of(conflict.members)}
                for conflict in self.conflicts
            ],
            "evidence_conflicts": [
                {
                    "who": short(conflict.who),
                    "days": days_json(conflict.days),
                    "members": members_of(conflict.members),
                }
                for conflict in self.evidence_conflicts
            ],
        }


Shorten = Callable[[str], str]


def _shortener(base: str) -> Shorten:
    def short(iri: str) -> str:
        return key_of(base, iri) or iri

    return short


def _thing(thing: Weighed, short: Shorten) -> dict[str, Any]:
    return {
        "about": short(thing.about),
        "spans": {
            span.event: {
                "earliest": day_json(span.days[0][0]),
                "latest": day_json(span.days[-1][1]),
                "because": because_json(span.because, short),
            }
            for span in thing.spans
        },
        "claims": [verdict_json(verdict, short) for verdict in thing.claims],
    }


def verdict_json(verdict: Verdict, short: Shorten) -> dict[str, Any]:
    """Return a verdict as JSON values; `disputed_bound` is there only when it says something."""
    found: dict[str, Any] = {
        "claim": verdict.claim.key,
        "verdict": verdict.verdict,
        "share": verdict.share,
        "feasible": days_json(verdict.feasible),
        "clashes_with": list(verdict.clashes_with),
        "because": because_json(verdict.because, short),
    }
    if verdict.disputed:
        found["disputed_bound"] = because_json(verdict.disputed, short)
    return found


def because_json(grounds: Iterable[Ground], short: Shorten) -> list[dict[str, Any]]:
    """Return rows with the sources that they name, one entry for each source."""
    return [
        {"file": ground.file, "row": ground.row, "source": short(source) if source else None}
        for ground in grounds
        for source in ground.sources or ("",)
    ]


def members_of(grounds: Iterable[Ground]) -> list[dict[str, Any]]:
    """Return rows as JSON values, without sources."""
    return [{"file": ground.file, "row": ground.row} for ground in grounds]


def days_json(spans: Spans) -> list[list[str | None]]:
    """Return intervals of days as pairs of ISO 8601 days, null for no bound."""
    return [[day_json(low), day_json(high)] for low, high in spans]


def day_json(day: int) -> str | None:
    """Return a day in ISO 8601, None for no bound."""
    return None if day in (MIN, MAX) else iso_day(day)
