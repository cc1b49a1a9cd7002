"""Weighing in a run and on its own: what the evidence makes of each claim, and why, in words."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from lodpipe import evidence
from lodpipe.aspects import builtin_aspects
from lodpipe.errors import UsageError
from lodpipe.findings import Finding
from lodpipe.pipeline.gather import gather
from lodpipe.pipeline.known import Labels
from lodpipe.pipeline.progress import Watcher
from lodpipe.pipeline.weigh_run import weighing_of
from lodpipe.pipeline.workshop import Workshop
from lodpipe.records import Claim
from lodpipe.weigh import Questions, Weighing
from lodpipe.weigh.grounds import Ground, ground_of, ground_of_claim
from lodpipe.wording import claim_words, date_words

THING_KINDS = ("HumanMadeObject",)
_DONE = {"date_printed": "printing", "date_mounted": "mounting", "date_captioned": "captioning"}
"""What was done on the day of a dated aspect, for its words; an exposure is simply made."""


@dataclass(frozen=True, slots=True)
class Scales:
    """A project on the scales: its questions, and words for what the answers name.

    Attributes:
        weighing: of everything. `questions`: of one thing, one source, one assumption.
        find: IRI of a key, or UsageError. `label`: of an IRI. `words`: of a claim.
        row: what a row of ledger or evidence says, with its sources.
        findings: what is wrong with the project's files, as far as it was seen.
    """

    base: str
    weighing: Weighing
    questions: Questions
    find: Callable[[str], str]
    label: Callable[[str], str]
    words: Callable[[Claim], str]
    row: Callable[[Ground], str]
    findings: tuple[Finding, ...]


@contextmanager
def scales(shop: Workshop, watcher: Watcher | None = None) -> Iterator[Scales]:
    """Put a project on the scales as it stands; no run is needed before.

    Raises:
        UsageError: as a run would; or there is nothing to weigh.
    """
    with gather(shop, watcher) as gathered:
        labels = Labels(gathered.index, shop.concepts, shop.project.site.base)
        circa = shop.project.dates.circa_years
        weighing = weighing_of(shop.project, gathered.facts, gathered.claims)
        if weighing is None:
            raise UsageError(
                "there is nothing to weigh",
                hint="write claims.csv and facts, such as people.csv, into the evidence folder",
            )
        aspects = builtin_aspects()

        def words(claim: Claim) -> str:
            value = claim.value_text or labels.of(claim.value)
            node = _DONE.get(claim.aspect, "")
            return claim_words(claim, value, shop.project.language, node=node)

        def find(key: str) -> str:
            found = evidence.candidates(
                [key], shop.project.site.base, gathered.index.entries, shop.concepts
            )[key]
            things = [uri for uri in found if _is_thing(gathered.index, uri)] or list(found)
            if len(things) != 1:
                raise UsageError(
                    f"`{key}` is the key of {len(things) or 'no'} documents",
                    hint=", ".join(uri.removeprefix(shop.project.site.base) for uri in things[:5]),
                )
            return things[0]

        rows = _rows(gathered.facts, gathered.claims, labels, words)
        yield Scales(
            shop.project.site.base,
            weighing,
            Questions(gathered.facts, gathered.claims, aspects, circa),
            find,
            labels.of,
            words,
            lambda ground: _told(ground, rows, labels),
            gathered.findings,
        )


def _is_thing(index: Any, uri: str) -> bool:
    entry = index.get(uri)
    return entry is not None and entry.type in THING_KINDS


Where = tuple[str, str, int, str]
"""File, sheet, row, and of several claims that one row makes the key of the one that is meant."""


def _where(ground: Ground) -> Where:
    return ground.file, ground.sheet, ground.row, ground.claim


def _rows(
    facts: evidence.Evidence,
    claims: tuple[Claim, ...],
    labels: Labels,
    words: Callable[[Claim], str],
) -> dict[Where, str]:
    """Return what every row of the evidence says, by file, sheet and row."""
    found: dict[Where, str] = {}

    def put(ground: Ground, text: str) -> None:
        found[_where(ground)] = text

    for being in facts.people:
        life = " to ".join(date_words(d, "en") if d else "?" for d in (being.born, being.died))
        put(ground_of(being), f"{being.name}: {life}")
    for member in facts.membership:
        when = f", {date_words(member.when, 'en', lasting=True)}" if member.when else ""
        put(ground_of(member), f"{labels.of(member.who)} with {labels.of(member.party)}{when}")
    for stay in facts.whereabouts:
        presence = "" if stay.presence == "at" else f" {stay.presence}"
        when = date_words(stay.when, "en", lasting=True)
        put(ground_of(stay), f"{labels.of(stay.who)}{presence} at {labels.of(stay.where)}, {when}"
            .replace(" not at at ", " not at "))  # fmt: skip
    for thing in facts.things:
        put(ground_of(thing), f"{labels.of(thing.thing)}: {date_words(thing.exists, 'en')}")
    for process in facts.processes:
        ends = [date_words(d, "en") if d else "?" for d in (process.first, process.last)]
        region = f" ({process.region})" if process.region else ""
        put(ground_of(process), f"{labels.of(process.process)}{region}: {ends[0]} to {ends[1]}")
    for claim in claims:
        ground = ground_of_claim(claim)
        put(ground, f"{claim.key}, {labels.of(claim.about)}: {words(claim)}")
    return found


def _told(ground: Ground, rows: dict[Where, str], labels: Labels) -> str:
    says = rows.get(_where(ground), "")
    sources = "; ".join(labels.of(source) for source in ground.sources) or "no source"
    return (
        f"{says} ({sources}; {ground.file}:{ground.row})" if says else f"{ground.file}:{ground.row}"
    )
