"""Reading the fields of a record, once the form of its records is known.

Each field becomes one step, a closure that puts a value into the scope. What is wrong with a
value is told with its place, and the field stays empty.
"""

from collections.abc import Callable
from typing import Any

from lodpipe.errors import UsageError, nearest
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.convert import converter, filler, match
from lodpipe.mapping.paths import TABLE, Access, access
from lodpipe.mapping.spaces import LIST, Run, Scope, Space, Step
from lodpipe.mapping.specs import Source, Spec
from lodpipe.mapping.values import clean, text_of

ReadText = Callable[[Run, Scope], str]


class Binder:
    """Turns the specs of a mapping into steps, for records of one form."""

    def __init__(self, compiler: Compiler, form: str, sample: Any) -> None:
        self.compiler = compiler
        self.form = form
        self.sample = sample

    def access(self, source: Source) -> Access | None:
        """Compile where a value stands; a path that the form does not have is a fault."""
        try:
            return access(source.path, self.form, self.compiler.namespaces)
        except UsageError as error:
            self.compiler.faults.add(source.at, error.message, error.hint)
            return None

    def accesses(self, sources: list[Source]) -> list[Access]:
        """Compile all places where a value may stand; at least one column must be there."""
        found = [a for a in map(self.access, sources) if a is not None]
        if self.form == TABLE and isinstance(self.sample, dict) and sources:
            missing = [s for s in sources if s.path not in self.sample]
            if len(missing) == len(sources):
                for source in missing:
                    hint = nearest(source.path, self.sample) or "the columns are " + ", ".join(
                        f"`{column}`" for column in self.sample
                    )
                    self.compiler.faults.add(
                        source.at, f"the source has no column `{source.path}`", hint
                    )
        return found

    # --- one text -------------------------------------------------------------------------

    def scalar(self, spec: Spec) -> Step | None:
        """Return the step that reads a field with one value."""
        found = self.accesses(spec.sources)
        if not found:
            return None
        spec.field.column = found[0].column
        read = text_reader(spec, found)
        fill = filler(spec, self.compiler)

        def step(run: Run, scope: Scope) -> None:
            fill(run, scope, read(run, scope))

        if len(found) == 1 and not found[0].many:
            return _fast(spec, found[0], read, fill)
        return step

    def plain_list(self, spec: Spec) -> Step | None:
        """Return the step that reads a field with several plain values, or one text to split."""
        found = self.accesses(spec.sources)
        element = spec.field.element
        if not found or element is None:
            return None
        spec.field.column = element.fields["."].column = found[0].column
        for group in spec.pattern.groups if spec.pattern else ():
            element.fields[group].column = found[0].column
        convert = converter(spec, self.compiler)
        slot, split, empty, pattern = spec.field.slot, spec.split, spec.empty, spec.pattern

        def step(run: Run, scope: Scope) -> None:
            scopes: list[Scope] = []
            for text, column in _texts(run, scope, spec, found):
                for piece in text.split(split) if split else (text,):
                    piece = piece.strip()
                    if not piece or piece in empty:
                        continue
                    made = Scope(piece, scope.origin, scope, scope.base)
                    made.stood(".", column)
                    if pattern is not None:
                        match(run, made, spec, column, piece, "")
                    value = convert(run, made, column, piece)
                    if value is None:
                        continue
                    made.values["."] = value
                    element.read(run, made)
                    scopes.append(made)
            scope.values[slot] = scopes

        return step


def _fast(
    spec: Spec,
    only: Access,
    read: ReadText,
    fill: Callable[[Run, Scope, str], None],
) -> Step:
    """The most common field, a plain text in one place, without detours."""
    slot, first, empty = spec.field.slot, only.first, spec.empty
    if spec.reads_as or spec.pattern is not None:
        return lambda run, scope: fill(run, scope, read(run, scope))

    def step(run: Run, scope: Scope) -> None:
        text = first(scope.raw)
        if text.__class__ is str and text.isascii() and text.isprintable():
            text = text.strip()
            scope.values[slot] = "" if text in empty else text
        elif text.__class__ is int:
            text = str(text)
            scope.values[slot] = "" if text in empty else text
        else:
            scope.values[slot] = read(run, scope)

    return step


def text_reader(spec: Spec, found: list[Access]) -> ReadText:
    """Return what reads the first text that is not empty, of all the places of a field."""
    field, empty, several = spec.field, spec.empty, len(found) > 1

    def read(run: Run, scope: Scope) -> str:
        for place in found:
            if place.many:
                text = _first_of_many(run, scope, spec, place)
            else:
                value = place.first(scope.raw)
                text = clean_value(run, scope, spec, place.column, value)
            if text and text not in empty:
                if several and not place.many:
                    scope.stood(field.slot, place.column)
                return text
        return ""

    return read


def _first_of_many(run: Run, scope: Scope, spec: Spec, place: Access) -> str:
    texts: list[str] = []
    for value, column in place.every(scope.raw):
        text = clean_value(run, scope, spec, column, value)
        if text and text not in spec.empty:
            if not texts:
                scope.stood(spec.field.slot, column)
            texts.append(text)
    if len(texts) > 1:
        run.tell(
            scope,
            place.column,
            "value",
            f"`{spec.field.label}` stands {len(texts)} times, the first is used",
            texts[1],
            f"read all of them with `each: {spec.field.name}`",
        )
    return texts[0] if texts else ""


def clean_value(run: Run, scope: Scope, spec: Spec, column: str, value: Any) -> str:
    """Return a value of the source as text that may be published; "" for nothing."""
    if value is None:
        return ""
    text = value if value.__class__ is str else _scalar(run, scope, spec, column, value)
    if text.isascii() and text.isprintable():
        return text.strip()

    def complain(code: str, message: str, damaged: str, hint: str) -> None:
        run.tell(scope, column, code, message, damaged, hint)

    return clean(text, complain)


def _scalar(run: Run, scope: Scope, spec: Spec, column: str, value: Any) -> str:
    if hasattr(value, "itertext"):
        return "".join(value.itertext())
    text = text_of(value)
    if text is not None:
        return text
    if value:
        kind = "a list" if isinstance(value, list) else "an object"
        run.tell(
            scope,
            column,
            "value",
            f"`{spec.field.label}` holds {kind}, not a value",
            str(value)[:200],
            f"go over it with `each: {spec.field.name}`"
            if kind == "a list"
            else "name the member that holds the value",
        )
    return ""


def _texts(run: Run, scope: Scope, spec: Spec, found: list[Access]) -> list[tuple[str, str]]:
    """Return all texts of the first place that has any, each with its column."""
    for place in found:
        texts: list[tuple[str, str]] = []
        for value, column in place.every(scope.raw):
            text = clean_value(run, scope, spec, column, value)
            if text and text not in spec.empty:
                texts.append((text, column))
        if texts:
            return texts
    return []


def order_of(specs: list[Spec], space: Space) -> list[Spec]:
    """Return specs so that each comes after the fields it needs; circles keep their order."""
    by_field = {id(spec.field): spec for spec in specs}
    done: dict[int, Spec] = {}
    busy: set[int] = set()

    def visit(spec: Spec) -> None:
        key = id(spec.field)
        if key in done or key in busy:
            return
        busy.add(key)
        for needed in spec.needs:
            other = by_field.get(needed)
            if other is not None:
                visit(other)
        done[key] = spec

    for spec in specs:
        visit(spec)
    return list(done.values())


def is_plain_list(spec: Spec) -> bool:
    """Return whether a field is a list of plain values, not of elements with fields."""
    return spec.field.kind == LIST and spec.field.as_list
