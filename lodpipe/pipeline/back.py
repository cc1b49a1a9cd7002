"""From a result back to its cells, and to the lines of mappings that read them."""

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import cache

from lodpipe.check import Result
from lodpipe.check.paths import compact
from lodpipe.errors import LodpipeError
from lodpipe.mapping import Mapping as Rules
from lodpipe.pipeline.workshop import Workshop
from lodpipe.rdf.context import full
from lodpipe.records import Place, TraceEntry
from lodpipe.terms import keys

_MISSING = ("MinCount", "QualifiedMinCount")
_AT = re.compile("at `(/[^`]*)`$")
_STEP = re.compile(r"\^?(?:<[^>]*>|[\w-]+:[\w-]+)")


class Ways:
    """The mappings of a project as they are today, by the source that each reads.

    The trace of a document says which field of a mapping a value came through; the line is where
    the mapping declares that field. A ledger is read by no mapping: its line is the place itself.
    """

    def __init__(self, shop: Workshop | None = None) -> None:
        self._by_file: dict[str, list[Rules]] = {}
        self._known: dict[tuple[str, str], str] = {}
        for source in shop.sources() if shop else ():
            assert shop is not None
            try:
                chosen = shop.mapping(source.mapping)
            except LodpipeError:
                continue  # a mapping that was broken after the release: the cells are still right
            self._by_file.setdefault(source.file, []).append(chosen)

    def of(self, steps: Iterable[TraceEntry]) -> tuple[str, ...]:
        """Return for each cell where mappings read it, `items.yaml:12`; "" where none does."""
        return tuple(self._of(step.place, step.field) for step in steps)

    def of_place(self, place: Place | None) -> tuple[str, ...]:
        """Return the same for the place of a finding; () without a place."""
        return () if place is None else (self._of(place, ""),)

    def _of(self, place: Place, field: str) -> str:
        if not field:
            return self._lines(place, field)
        if (place.file, field) not in self._known:
            self._known[place.file, field] = self._lines(place, field)
        return self._known[place.file, field]

    def _lines(self, place: Place, field: str) -> str:
        lines = [
            f"{chosen.name}:{line}"
            for chosen in self._by_file.get(place.file, ())
            if (line := chosen.line_of(field, place.column))
        ]
        return ", ".join(dict.fromkeys(lines))


def cells_of(
    result: Result, nodes: Mapping[str, str], trace: Sequence[TraceEntry]
) -> list[TraceEntry]:
    """Return all cells that a result of a shape comes from.

    The nearest that is known: those of the offending node, else of the key that the path of the
    shape begins with, else of the node that the shape met. Where something is missing no cell
    beside it is to blame, so that is the node too.

    Args:
        nodes: IRI of each node of the document -> its JSON Pointer.
    """
    if result.component in _MISSING:
        return steps_of(result.pointer, trace)
    pointers = []
    own = nodes.get(result.term.strip("<>"), "")
    if own.startswith(result.pointer + "/"):
        pointers.append(own)
    first = _STEP.match(result.path)
    pointers += [f"{result.pointer}/{key}" for key in _keys().get(first[0] if first else "", ())]
    for pointer in pointers:
        found = _at_or_below(pointer, trace)
        if found:
            return found
    return steps_of(result.pointer, trace)


@cache
def _keys() -> dict[str, tuple[str, ...]]:
    """Predicate, as paths are written, -> the keys of the JSON that stand for it."""
    found: dict[str, dict[str, None]] = {}
    for row in keys():
        if row.key[0].islower() or row.key[0] == "_":
            found.setdefault(compact(f"<{full(row.iri)}>"), {})[row.key] = None
    return {predicate: tuple(names) for predicate, names in found.items()}


def place_of(pointer: str, trace: Sequence[TraceEntry]) -> Place | None:
    """Return where the node at a JSON Pointer came from: the first of `steps_of`."""
    steps = steps_of(pointer, trace)
    return steps[0].place if steps else None


def pointer_in(message: str) -> str:
    """Return the JSON Pointer that a message ends with, "" when there is none."""
    found = _AT.search(message)
    return found[1] if found else ""


def steps_of(pointer: str, trace: Sequence[TraceEntry]) -> list[TraceEntry]:
    """Return all cells that the node at a JSON Pointer came from.

    Those are its own cells, else those of the nodes below it (a production comes from the cells
    that its parts came from), else those of the nearest node above it. A record as a whole comes
    from the cells of its key: they say which row it is.
    """
    if not pointer:
        return [entry for entry in trace if entry.path == "/id"] or list(trace)
    found = _at_or_below(pointer, trace)
    above = pointer
    while above and not found:
        above = above.rpartition("/")[0]
        found = [entry for entry in trace if entry.path == above]
    return found or steps_of("", trace)


def _at_or_below(pointer: str, trace: Sequence[TraceEntry]) -> list[TraceEntry]:
    own = [entry for entry in trace if entry.path == pointer]
    below = [entry for entry in trace if entry.path.startswith(pointer + "/")]
    return own or sorted(below, key=lambda entry: entry.path)
