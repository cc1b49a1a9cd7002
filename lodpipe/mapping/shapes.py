"""The shapes of everything that a mapping reads or drops, to tell what it passes over."""

from lodpipe.errors import UsageError
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.fields import Fields
from lodpipe.mapping.leaves import Reading
from lodpipe.mapping.paths import DEEP, Shape, access
from lodpipe.mapping.spaces import Space
from lodpipe.mapping.specs import Source, Spec


def readings_of(
    fields: Fields, space: Space, dropped: list[Source], form: str, compiler: Compiler
) -> tuple[list[Reading], list[Reading], list[Reading]]:
    """Return what is mapped, what is dropped, and where lists stand, in records of one form."""
    collector = _Collector(fields, form, compiler)
    collector.space(space, ())
    left_out = collector.of(dropped, (), ())
    return collector.found, left_out, collector.lists


class _Collector:
    def __init__(self, fields: Fields, form: str, compiler: Compiler) -> None:
        self.fields = fields
        self.form = form
        self.compiler = compiler
        self.found: list[Reading] = []
        self.lists: list[Reading] = []

    def of(self, sources: list[Source], before: Shape, below: Shape) -> list[Reading]:
        found = []
        for source in sources:
            try:
                made = access(source.path, self.form, self.compiler.namespaces)
            except UsageError as error:
                self.compiler.faults.add(source.at, error.message, error.hint)
                continue
            shape = tuple(step for step in (*before, *made.shape) if step != ".")
            found.append(Reading(shape, source.path, source.at, below))
        return found

    def space(self, space: Space, before: Shape) -> None:
        for spec in self.fields.of(space):
            self.spec(spec, before)

    def spec(self, spec: Spec, before: Shape) -> None:
        kind = spec.options.get("list")
        if kind == "join":
            return
        for member in spec.members:
            self.spec(member, before)
        readings = self.of(spec.sources, before, before)
        if kind is None:
            self.found.extend(readings)
            self.found.extend(self.of(spec.options.get("compare", []), before, before))
            return
        assert spec.field.element is not None
        self.lists.extend(reading for reading in readings if reading.shape)
        for reading in readings:
            below = (*reading.shape, DEEP) if kind == "walk" else reading.shape
            self.space(spec.field.element, below)
