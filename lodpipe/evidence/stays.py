"""Whereabouts as a release keeps them: rows beside the layout, for whoever draws a timeline.

Linked Art has no place for who was where when without an act to hang it on; as premises of claims
these facts leave in words only.
"""

from collections.abc import Collection, Iterable, Iterator

from lodpipe.dates import parse
from lodpipe.evidence.facts import Evidence, Stay
from lodpipe.records import LayoutRow, Place

WHEREABOUTS = "whereabouts"
_CELLS = ("key", "who", "where", "presence")


def rows_of_stays(facts: Evidence, withheld: Collection[str]) -> Iterator[LayoutRow]:
    """Yield the rows of the whereabouts that count, one for each source of a fact.

    Args:
        facts: the evidence that may leave. `withheld`: sources that are not named.
    """
    withdrawn = {source.key for source in facts.sources if source.withdrawn}
    for stay in facts.whereabouts:
        sources = [s for s in stay.sources if s not in withheld and s not in withdrawn]
        if stay.sources and not sources:
            continue
        cells = {name: str(getattr(stay, name)) for name in _CELLS}
        for source in sources or [""]:
            yield LayoutRow(WHEREABOUTS, {**cells, "when": stay.when.text, "source": source})


def stays_of_rows(rows: Iterable[LayoutRow]) -> tuple[Stay, ...]:
    """Return the whereabouts of rows that `rows_of_stays` made, by who, day and place."""
    found: dict[tuple[str, ...], list[str]] = {}
    for row in rows:
        if row.file == WHEREABOUTS:
            values = tuple(row.cells[name] for name in (*_CELLS, "when"))
            sources = found.setdefault(values, [])
            if row.cells["source"]:
                sources.append(row.cells["source"])
    stays = [
        Stay(
            key, who, where, parse(when), presence, "", tuple(sorted(found[values])), "", Place("")
        )
        for values in found
        for key, who, where, presence, when in (values,)
    ]
    return tuple(sorted(stays, key=lambda s: (s.who, s.when.earliest or 0, s.where, s.key)))
