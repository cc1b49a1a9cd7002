"""From a text to the value of a field: dates, sizes, numbers, the groups of a pattern.

What cannot be used is told with its place; the words of dates and sizes are kept all the same.
"""

import re
from collections.abc import Callable
from functools import lru_cache
from typing import Any

from lodpipe import dates
from lodpipe.errors import ValueFault
from lodpipe.mapping import values
from lodpipe.mapping.compiler import REMEMBERED, Compiler
from lodpipe.mapping.sizes import read_sizes
from lodpipe.mapping.spaces import DATE, SIZE, Run, Scope
from lodpipe.mapping.specs import Spec
from lodpipe.mapping.values import Dated

_SPREADSHEET_DAY = re.compile(r"[1-6]\d{4}(?:\.0)?")
"""A number by which a spreadsheet program counts days from 1900: 26299 is 1 January 1972."""

Convert = Callable[[Run, Scope, str, str], Any]
"""Turns a text that stood in a column into the value of a field; None after a finding."""


def filler(spec: Spec, compiler: Compiler) -> Callable[[Run, Scope, str], None]:
    """Return what puts the value of a text into a scope, with everything that depends on it."""
    if spec.field.kind == DATE:
        return _date_filler(spec, compiler)
    if spec.field.kind == SIZE:
        return _size_filler(spec, compiler)
    field, slot, convert = spec.field, spec.field.slot, converter(spec, compiler)
    nothing = "" if field.kind in ("text", "url") else None
    if not spec.reads_as and spec.pattern is None:

        def keep(run: Run, scope: Scope, text: str) -> None:
            scope.values[slot] = text

        return keep

    def fill(run: Run, scope: Scope, text: str) -> None:
        if not text:
            scope.values[slot] = nothing
        else:
            value = convert(run, scope, field.column_in(scope), text)
            scope.values[slot] = nothing if value is None else value
        if spec.pattern is not None:
            match(run, scope, spec, field.column_in(scope), text, f"{slot}.")

    return fill


def converter(spec: Spec, compiler: Compiler) -> Convert:
    """Return what turns one text into a value; a text that cannot be used is a finding."""
    reader = {
        "number": values.number,
        "year": values.year,
        "url": values.url,
        "edtf": values.edtf,
    }.get(spec.reads_as)
    if spec.reads_as == "date":
        read = _date_reader(spec, compiler)

        def date(run: Run, scope: Scope, column: str, text: str) -> Any:
            events, unread = read(text)
            _tell_unread(run, scope, column, text, unread)
            return events[""]

        return date
    if reader is None:
        return lambda run, scope, column, text: text

    def convert(run: Run, scope: Scope, column: str, text: str) -> Any:
        try:
            return reader(text)
        except ValueFault as error:
            run.tell(scope, column, error.code, error.message, text, error.hint)
            return Dated(text, None) if spec.reads_as == "edtf" else None

    return convert


def match(run: Run, scope: Scope, spec: Spec, column: str, text: str, prefix: str) -> None:
    """Fill the named groups of a pattern; a text that it does not match is a finding."""
    pattern = spec.pattern
    assert pattern is not None
    found = pattern.find(text) if text else None
    if text and found is None:
        told = f"`{text}`" if len(text) <= 200 else f"a text of {len(text):,} characters"
        hint = (
            "" if len(text) <= pattern.limit
            else f"patterns read texts of up to {pattern.limit:,} characters"
        )  # fmt: skip
        run.tell(
            scope, column, "pattern", f"{told} does not match the pattern of `{spec.field.label}`",
            text, hint,
        )  # fmt: skip
    for number, group in enumerate(pattern.groups):
        slot = prefix + group
        scope.values[slot] = found[number] if found is not None else ""
        if scope.columns:
            scope.stood(slot, column)


def _date_reader(
    spec: Spec, compiler: Compiler
) -> Callable[[str], tuple[dict[str, Dated], dates.Unread | None]]:
    kind, policy = spec.options.get("kind") or "date", compiler.policy

    @lru_cache(maxsize=REMEMBERED)
    def read(text: str) -> tuple[dict[str, Dated], dates.Unread | None]:
        result = dates.read(text, kind=kind, policy=policy)
        found, unread = values.events_of(result, text)
        if kind == "life" and isinstance(result, dates.Reading):
            born, died = values.halves(found[""])
            found.update({k: v for k, v in (("born", born), ("died", died)) if v is not None})
        return found, unread

    return read


def _tell_unread(
    run: Run, scope: Scope, column: str, text: str, unread: dates.Unread | None
) -> None:
    if unread is None:
        return
    if unread.undated:
        run.tell(scope, column, "date", f"`{text}` says that there is no date", text,
                 "nothing needs to be done", severity="info")  # fmt: skip
    else:
        hint = "mend it in the source; until then its words are published as they stand"
        if "[dates]" in unread.reason:
            hint = "say it in lodpipe.toml, for all dates of the project"
        elif _SPREADSHEET_DAY.fullmatch(text):
            hint = "spreadsheets count days so: format the column as text and type the dates again"
        message = f"`{text}` cannot be read as a date: {unread.reason}"
        run.tell(scope, column, "date", message, text, hint)


def _date_filler(spec: Spec, compiler: Compiler) -> Callable[[Run, Scope, str], None]:
    field, slot = spec.field, spec.field.slot
    parts = spec.options.get("parts", ())
    read = _edtf_reader if spec.reads_as == "edtf" else _date_reader(spec, compiler)
    compare = spec.options.get("comparison")
    groups = spec.pattern is not None
    used = {"", "born", "died", *(word for _, word in parts)}

    def fill(run: Run, scope: Scope, text: str) -> None:
        scope.values[slot] = None
        for name, word in parts:
            scope.values[name] = None if word != "edtf" else ""
        column = field.column_in(scope)
        if groups:
            match(run, scope, spec, column, text, f"{slot}.")
        if not text:
            return
        try:
            events, unread = read(text)
        except ValueFault as error:
            run.tell(scope, column, error.code, error.message, text, error.hint)
            scope.values[slot] = Dated(text, None)
            return
        _tell_unread(run, scope, column, text, unread)
        main = scope.values[slot] = events[""]
        for name, word in parts:
            if word == "edtf":
                scope.values[name] = main.edtf.text if main.edtf is not None else ""
            else:
                scope.values[name] = events.get(word)
            if scope.columns:
                scope.stood(name, column)
        if len(events) > 1:
            _tell_unused(run, scope, spec, column, events, used)
        if compare is not None and main.edtf is not None:
            compare(run, scope, column, events)

    return fill


def _tell_unused(
    run: Run, scope: Scope, spec: Spec, column: str, events: dict[str, Dated], used: set[str]
) -> None:
    """A text may tell of more than the mapping asks for: it stays in the words of the date."""
    for word, date in events.items():
        if word not in used and date != events[""]:
            label = f"{spec.field.label}.{word}"
            run.tell(
                scope, column, "no-branch", f"nothing uses the date of `{label}`", date.verbatim,
                f"write {{timespan: {label}}} where it belongs", "info",
            )  # fmt: skip


def _edtf_reader(text: str) -> tuple[dict[str, Dated], None]:
    return {"": values.edtf(text)}, None


def _size_filler(spec: Spec, compiler: Compiler) -> Callable[[Run, Scope, str], None]:
    slot, field, o = spec.field.slot, spec.field, spec.options
    read = lru_cache(maxsize=REMEMBERED)(
        lambda text: read_sizes(text, o.get("unit", ""), o.get("order", ()), o.get("what", ""))
    )
    names = ("what", "kind", "value", "display")

    def fill(run: Run, scope: Scope, text: str) -> None:
        scope.values[f"{slot}:text"] = text
        scopes: list[Scope] = []
        scope.values[slot] = scopes
        if not text:
            return
        column = field.column_in(scope)
        try:
            found = read(text)
        except ValueFault as error:
            run.tell(scope, column, error.code, error.message, text, error.hint)
            return
        for size in found:
            made = Scope(size, scope.origin, scope, scope.base)
            made.values = {name: getattr(size, name) for name in names}
            made.columns = dict.fromkeys(names, column)
            scopes.append(made)

    return fill
