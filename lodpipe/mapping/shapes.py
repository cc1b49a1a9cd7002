"""The shapes of everything that a mapping reads or drops, to tell what it passes over."""

from lodpipe.errors import UsageError
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.fields import Fields, Source, Spec
from lodpipe.mapping.paths import DEEP, XML, Shape, access
from lodpipe.mapping.spaces import Space


def shapes_of(
    fields: Fields,
    space: Space,
    dropped: list[tuple[str, tuple[int, int]]],
    form: str,
    compiler: Compiler,
) -> tuple[list[Shape], list[Shape]]:
    """Return the shapes of what is mapped and of what is dropped, in records of one form."""
    collector = _Collector(fields, form, compiler)
    collector.space(space, ())
    left_out = [s for path, at in dropped for s in collector.of([Source(path, at)])]
    return collector.found, left_out


class _Collector:
    def __init__(self, fields: Fields, form: str, compiler: Compiler) -> None:
        self.fields = fields
        self.form = form
        self.compiler = compiler
        self.found: list[Shape] = []

    def of(self, sources: list[Source]) -> list[Shape]:
        shapes = []
        for source in sources:
            try:
                made = access(source.path, self.form, self.compiler.namespaces)
            except UsageError as error:
                self.compiler.faults.add(source.at, error.message, error.hint)
                continue
            shapes.append(made.shape)
        return shapes

    def space(self, space: Space, before: Shape) -> None:
        for spec in self.fields.of(space):
            self.spec(spec, before)

    def spec(self, spec: Spec, before: Shape) -> None:
        kind = spec.options.get("list")
        if kind == "join":
            return
        for member in spec.members:
            self.spec(member, before)
        shapes = [(*before, *shape) for shape in self.of(spec.sources)]
        if kind is None:
            self.found.extend(self._text(shape) for shape in shapes)
            compared = self.of(spec.options.get("compare", []))
            self.found.extend((*before, *shape) for shape in compared)
            return
        assert spec.field.element is not None
        for shape in shapes:
            below = (*shape, DEEP) if kind == "walk" else shape
            self.space(spec.field.element, below)

    def _text(self, shape: Shape) -> Shape:
        """`.` stands for the element itself; an XML element gives the text of all below it."""
        own = tuple(step for step in shape if step != ".")
        if self.form == XML and (not own or not own[-1].startswith("@")):
            return own
        return own
