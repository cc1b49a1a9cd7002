"""Reading lists: columns read together, elements, trees, joined rows; and fields by `choose`."""

from collections.abc import Callable
from typing import Any

from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.convert import filler
from lodpipe.mapping.paths import TABLE, Access
from lodpipe.mapping.reading import (
    Binder,
    clean_value,
    is_plain_list,
    order_of,
)
from lodpipe.mapping.spaces import Field, Ref, Run, Scope, Space, Step
from lodpipe.mapping.specs import Case, Spec
from lodpipe.mapping.trees import walk_step


class SpaceBinder(Binder):
    """Binds whole spaces: the fields of a record, and those of the elements of its lists."""

    def space(self, space: Space, specs_of: Callable[[Space], list[Spec]]) -> None:
        """Make the steps that read a space, and those of everything in it."""
        self.specs_of = specs_of
        space.steps = []
        for spec in order_of(specs_of(space), space):
            self._derived(spec, space)
            step = self._step(spec, space)
            if step is not None:
                space.steps.append(step)
            self._derived(spec, space)
        space.tested = [f for f in space.fields.values() if f.branches.in_nodes]

    def _derived(self, spec: Spec, space: Space) -> None:
        """Parts of a field (`made.printed`, `no.year`) stand where it stands."""
        prefix = f"{spec.field.name}."
        parts = [(n, f) for n, f in space.fields.items() if n.startswith(prefix)]
        for _, part in parts:
            part.column = spec.field.column
        groups = spec.pattern.groups if spec.pattern is not None else ()
        spec.options["parts"] = [
            (part.slot, word)
            for name, part in parts
            if (word := name.removeprefix(prefix)) not in groups
        ]

    def _step(self, spec: Spec, space: Space) -> Step | None:
        kind = spec.options.get("list")
        if spec.field.chosen:
            return choose_step(spec, self.compiler)
        if kind is None:
            if spec.options.get("compare"):
                spec.options["comparison"] = self._comparison(spec)
            return self.plain_list(spec) if is_plain_list(spec) else self.scalar(spec)
        assert spec.field.element is not None
        if kind == "together":
            return self._together(spec, spec.field.element)
        if kind == "join":
            return self._join(spec, spec.field.element)
        if self.form == TABLE:
            self.compiler.faults.add(
                spec.field.at,
                f"`{kind}` goes into JSON or XML, and this source is a table",
                "use `split` or `together`",
            )
            return None
        SpaceBinder(self.compiler, self.form, None).space(spec.field.element, self.specs_of)
        return self._each(spec, spec.field.element) if kind == "each" else self._walk(spec)

    def _comparison(self, spec: Spec) -> Any:
        from lodpipe.mapping.compare import comparison

        return comparison(
            spec, [self.accesses([s]) for s in spec.options["compare"]], self.compiler
        )

    # --- columns read together ------------------------------------------------------------

    def _together(self, spec: Spec, element: Space) -> Step | None:
        columns: list[tuple[Spec, list[Access]]] = []
        for member in spec.members:
            found = self.accesses(member.sources)
            if found:
                member.field.column = found[0].column
                columns.append((member, found))
            self._derived(member, element)
        for chosen in order_of(self.specs_of(element), element):
            element.steps.append(choose_step(chosen, self.compiler))
        element.tested = [f for f in element.fields.values() if f.branches.in_nodes]
        if not columns:
            return None
        fills = [filler(member, self.compiler) for member, _ in columns]
        names = [member.field.name for member, _ in columns]
        lead = names.index(spec.options["lead"]) if spec.options.get("lead") in names else 0
        slot, split = spec.field.slot, spec.split

        def step(run: Run, scope: Scope) -> None:
            cells = [_cells(run, scope, member, found, split) for member, found in columns]
            count = len(cells[lead])
            out: list[Scope] = []
            for column, texts in enumerate(cells):
                if texts and len(texts) != count:
                    _uneven(run, scope, spec, columns[column][0], texts, count, names[lead])
            for number in range(count):
                made = Scope(None, scope.origin, scope, scope.base)
                for (member, _), texts, fill in zip(columns, cells, fills, strict=True):
                    text = texts[number] if number < len(texts) else ""
                    fill(run, made, "" if text in member.empty else text)
                element.read(run, made)
                out.append(made)
            scope.values[slot] = out

        return step

    # --- elements -------------------------------------------------------------------------

    def _each(self, spec: Spec, element: Space) -> Step | None:
        found = self.accesses(spec.sources)
        if not found:
            return None
        spec.field.column = found[0].column
        slot = spec.field.slot

        def step(run: Run, scope: Scope) -> None:
            out: list[Scope] = []
            for place in found:
                for raw, column in place.every(scope.raw):
                    if raw is None or raw == "":
                        continue
                    made = Scope(raw, scope.origin, scope, scope.base + column)
                    element.read(run, made)
                    out.append(made)
                if out:
                    break
            scope.values[slot] = out

        return step

    def _walk(self, spec: Spec) -> Step | None:
        found, below = self.accesses(spec.sources), self.accesses(spec.options["children"])
        element = spec.field.element
        assert element is not None
        if not found or not below:
            return None
        spec.field.column = found[0].column
        above = [n for n in element.fields if n.startswith("parent.")]
        for name in above:
            element.fields[name].column = element.fields[name.removeprefix("parent.")].column
        return walk_step(spec, found[0], below[0], above, self.compiler.limits.nesting)

    # --- joined rows ----------------------------------------------------------------------

    def _join(self, spec: Spec, element: Space) -> Step | None:
        on: Ref | None = spec.options.get("on")
        if on is None:
            return None
        name, slot = spec.options["join"], spec.field.slot
        get, climb = on.text(), on.scope()
        binders: dict[str, bool] = {}
        specs_of, compiler = self.specs_of, self.compiler

        def step(run: Run, scope: Scope) -> None:
            scope.values[slot] = out = []
            key = get(scope)
            if not key:
                return
            rows = run.context.joins.get(name, {}).get(key)
            if rows is None:
                place = climb(scope)
                run.tell(
                    place,
                    on.field.column_in(place),
                    "join",
                    f"the joined file `{name}` does not have `{key}`",
                    key,
                )
                return
            run.joined(name, key, rows)
            for record in rows:
                if record.form not in binders:
                    binders[record.form] = True
                    SpaceBinder(compiler, record.form, record.data).space(element, specs_of)
                    compiler.faults.stop()
                made = Scope(record.data, record.origin, scope, record.origin.column)
                element.read(run, made)
                out.append(made)

        return step


def _cells(run: Run, scope: Scope, member: Spec, found: list[Access], split: str) -> list[str]:
    """Return the texts of one column; none when the whole column is empty."""
    for place in found:
        if split:
            text = clean_value(run, scope, member, place.column, place.first(scope.raw))
            texts = [piece.strip() for piece in text.split(split)] if text else []
        else:
            texts = [
                clean_value(run, scope, member, column, value)
                for value, column in place.every(scope.raw)
            ]
        if any(texts):
            return texts
    return []


def _uneven(
    run: Run, scope: Scope, spec: Spec, member: Spec, texts: list[str], count: int, lead: str
) -> None:
    run.tell(
        scope,
        member.field.column,
        "parallel",
        f"`{member.field.label}` has {len(texts)} values, and `{spec.field.name}.{lead}` has {count}",
        (spec.split or ", ").join(texts),
        "surplus values are left out, missing ones stay empty",
    )


def choose_step(spec: Spec, compiler: Compiler) -> Step:
    """Return the step that fills a field with its first case that holds.

    No case for a record in which the fields that the cases test have any value is a finding.
    """
    slot, field = spec.field.slot, spec.field
    plus = f"+{slot}"
    fill = filler(spec, compiler) if spec.reads_as else None
    tested = [ref.value() for case in spec.cases for ref in case.tested]
    cases = [
        (
            case.when,
            case.text.get,
            case.uri.get if case.uri is not None else None,
            _came_from(case) if field.placed or fill is not None else None,
        )
        for case in spec.cases
    ]

    def step(run: Run, scope: Scope) -> None:
        for when, text, uri, source in cases:
            if when is None or when(scope):
                if source is not None:
                    scope.stood(slot, source.column_in(scope))
                if fill is not None:
                    fill(run, scope, text(scope, run))
                    return
                scope.values[slot] = text(scope, run)
                if uri is not None:
                    scope.values[plus] = uri(scope, run)
                return
        scope.values[slot] = None if fill is not None else ""
        scope.values[plus] = ""
        if any(get(scope) for get in tested):
            run.tell(
                scope, "", "no-branch", f"no case of `{field.label}` fits", "",
                "add a case without `when` at the end",
            )  # fmt: skip

    return step


def _came_from(case: Case) -> Field | None:
    """The field whose place stands for a chosen value: what it is made of, else what decided."""
    refs = (*case.text.refs, *case.tested)
    return next((ref.field for ref in refs if ref.level == 0 and not ref.is_list), None)
