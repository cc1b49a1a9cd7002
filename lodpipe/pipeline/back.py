"""From a result back to its cells, and to the lines of mappings that read them."""

from collections.abc import Iterable

from lodpipe.errors import LodpipeError
from lodpipe.mapping import Mapping
from lodpipe.pipeline.workshop import Workshop
from lodpipe.records import Place, TraceEntry


class Ways:
    """The mappings of a project as they are today, by the source that each reads.

    The trace of a document says which field of a mapping a value came through; the line is where
    the mapping declares that field. A ledger is read by no mapping: its line is the place itself.
    """

    def __init__(self, shop: Workshop | None = None) -> None:
        self._by_file: dict[str, list[Mapping]] = {}
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
        lines = [
            f"{chosen.name}:{line}"
            for chosen in self._by_file.get(place.file, ())
            if (line := chosen.line_of(field, place.column))
        ]
        return ", ".join(dict.fromkeys(lines))
