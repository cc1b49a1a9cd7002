"""What verdicts rest on: facts of the evidence as JSON values, for whoever puts them into words."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from lodpipe.dates import Edtf
from lodpipe.evidence import Evidence
from lodpipe.records import Claim, Place
from lodpipe.weigh import Weighing

Fact = dict[str, Any]
"""`kind` (stay, life, membership, thing, process, claim), what it names, and its sources."""
_Row = tuple[str, str, int, str]
"""File, sheet, row; and the key of the claim, since one row of a catalogue may make several."""


def tell_grounds(
    verdicts: Mapping[str, dict[str, Any]],
    weighed: Weighing | None,
    facts: Evidence,
    leaving: Iterable[Claim],
    withheld: Collection[str],
) -> None:
    """Add to each verdict, in place, the facts that it rests on as `grounds`.

    Args:
        verdicts: as JSON values, by the key of the claim.
        facts, leaving: the evidence and the claims that may leave; `weighed` rests on nothing else.
        withheld: of the sources of a fact these are not named.
    """
    if weighed is None:
        return
    rows = dict(_rows(facts, leaving, withheld))
    for key, verdict in weighed.verdicts().items():
        if key in verdicts:
            places = [(one.file, one.sheet, one.row, one.claim) for one in verdict.because]
            verdicts[key]["grounds"] = [rows[place] for place in places if place in rows]


def _rows(
    facts: Evidence, leaving: Iterable[Claim], withheld: Collection[str]
) -> Iterator[tuple[_Row, Fact]]:
    for table in (_lives, _memberships, _stays, _things, _processes):
        for place, sources, fact in table(facts):
            named = sorted(source for source in set(sources) if source not in withheld)
            yield _row(place), {**fact, "sources": named}
    for claim in leaving:
        if claim.place is not None:
            yield (
                _row(claim.place, claim.key),
                {"kind": "claim", "about": claim.about, "claim": claim.key},
            )


_Told = tuple[Place, Iterable[str], dict[str, str]]


def _lives(facts: Evidence) -> Iterator[_Told]:
    for one in facts.people:
        dates = {"born": _text(one.born), "died": _text(one.died)}
        sources = (*one.sources, *one.born_sources, *one.died_sources)
        yield one.place, sources, {"kind": "life", "who": one.key, **dates}


def _memberships(facts: Evidence) -> Iterator[_Told]:
    for one in facts.membership:
        named = {"who": one.who, "party": one.party, "when": _text(one.when)}
        yield one.place, one.sources, {"kind": "membership", **named}


def _stays(facts: Evidence) -> Iterator[_Told]:
    for one in facts.whereabouts:
        named = {"who": one.who, "where": one.where, "presence": one.presence}
        yield one.place, one.sources, {"kind": "stay", **named, "when": one.when.text}


def _things(facts: Evidence) -> Iterator[_Told]:
    for one in facts.things:
        yield one.place, one.sources, {"kind": "thing", "thing": one.thing, "when": one.exists.text}


def _processes(facts: Evidence) -> Iterator[_Told]:
    for one in facts.processes:
        dates = {"first": _text(one.first), "last": _text(one.last)}
        yield one.place, one.sources, {"kind": "process", "process": one.process, **dates}


def _row(place: Place, claim: str = "") -> _Row:
    return place.file, place.sheet, place.line, claim


def _text(date: Edtf | None) -> str:
    return date.text if date else ""
