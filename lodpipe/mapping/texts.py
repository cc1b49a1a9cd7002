"""Placeholders in texts: `"{title}"`, `"{^no}, page {.}"`; `{{` and `}}` stand for braces.

A text takes values as they are, in any number; where no placeholder has a value, it is empty.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.lookups import Lookup, compile_lookup
from lodpipe.mapping.spaces import NUMBER, TEXT, URL, YEAR, Ref, Run, Scope, Space
from lodpipe.mapping.yaml_nodes import Node
from lodpipe.records import TraceEntry

_PARTS = re.compile(r"\{\{|\}\}|\{([^{}]*)\}|[{}]")

Part = str | Ref
Get = Callable[[Scope, Run], Any]
"""Returns a value without a trace; "" or None for nothing."""
Make = Callable[[Scope, Run, str], Any]
"""Returns the value that stands at a path, and writes the trace; None for nothing."""


@dataclass(frozen=True, slots=True)
class Text:
    """A compiled text: `constant` where it has no placeholder, else what gets and makes it.

    `only` is the field where the text is one placeholder and nothing else, `refs` all fields.
    """

    constant: str | None
    get: Get
    make: Make
    only: Ref | None = None
    refs: tuple[Ref, ...] = ()


def parts_of(
    node: Node, space: Space, compiler: Compiler, *, uri: bool = False
) -> list[tuple[Part, bool]] | None:
    """Return the pieces of a text: literals and names, each name with whether it has a `+`."""
    text = compiler.text(node, "a text", empty=True)
    found: list[tuple[Part, bool]] = []
    position, good = 0, True
    for match in _PARTS.finditer(text):
        if match.start() > position:
            found.append((text[position : match.start()], False))
        position = match.end()
        if match[1] is None:
            if len(match[0]) == 1:
                compiler.faults.add(
                    node, f"a single `{match[0]}` in `{text}`", "write `{{` or `}}` for a brace"
                )
                good = False
            found.append((match[0][0], False))
            continue
        ref = _placeholder(match[1], node, space, compiler, uri)
        good = good and ref is not None
        if ref is not None:
            found.append((ref, match[1].startswith("+")))
    if position < len(text):
        found.append((text[position:], False))
    return _joined(found) if good else None


def _joined(found: list[tuple[Part, bool]]) -> list[tuple[Part, bool]]:
    """Put literals that follow one another together."""
    pieces: list[tuple[Part, bool]] = []
    for piece, plus in found:
        if pieces and isinstance(piece, str) and isinstance(pieces[-1][0], str):
            pieces[-1] = (pieces[-1][0] + piece, False)
        else:
            pieces.append((piece, plus))
    return pieces


def _placeholder(
    written: str, node: Node, space: Space, compiler: Compiler, uri: bool
) -> Ref | None:
    plus = written.startswith("+")
    name = written[1:] if plus else written
    if not name.strip("^"):
        compiler.faults.add(node, f"`{{{written}}}` names no field")
        return None
    ref = compiler.resolve(name, space, (node.line, node.column))
    if ref is None:
        return None
    if ref.field.kind == "list":
        compiler.faults.add(
            node, f"`{name}` is a list", f"go over it with `each: {name}`, and use its elements"
        )
        return None
    if plus and not uri:
        compiler.faults.add(node, f"`{{{written}}}` in a text", f"write `{{{name}}}`")
        return None
    if plus and not (ref.field.chosen or ref.field.kind == URL):
        compiler.faults.add(
            node,
            f"`{{{written}}}` is not made by `choose`",
            f"write `{{{name}}}`, which is encoded, or make it with `choose`",
        )
        return None
    if plus and ref.field.chosen:
        ref.field.plus = True
    return ref


# --- texts --------------------------------------------------------------------------------


def compile_text(node: Node, space: Space, compiler: Compiler) -> Text | None:
    """Return a text with placeholders, or a lookup with `column`; None after a fault."""
    if node.is_map and "lookup" in node.value:
        lookup = compile_lookup(node, space, compiler)
        if lookup is not None and not lookup.column:
            compiler.faults.add(node, "a concept where a text must stand", "name the `column`")
            return None
        return None if lookup is None else _looked_up(lookup)
    pieces = parts_of(node, space, compiler)
    if pieces is None:
        return None
    if all(isinstance(piece, str) for piece, _ in pieces):
        return constant_text("".join(str(piece) for piece, _ in pieces))
    if len(pieces) == 1:
        return _single(pieces[0][0])
    return _several([piece for piece, _ in pieces])


def constant_text(words: str) -> Text:
    """Return a text without placeholders."""
    return Text(words, lambda scope, run: words, lambda scope, run, path: words or None)


def _looked_up(lookup: Lookup) -> Text:
    def make(scope: Scope, run: Run, path: str) -> str | None:
        found = lookup.texts(scope, run)
        if not found:
            return None
        lookup.note(run, scope, path)
        return found[0]

    def get(scope: Scope, run: Run) -> str:
        found = lookup.texts(scope, run)
        return found[0] if found else ""

    return Text(None, get, make, refs=(lookup.ref,))


def _single(piece: Part) -> Text:
    assert isinstance(piece, Ref)
    get, note = piece.text(), piece.note()
    if piece.field.kind in (NUMBER, YEAR):
        value = piece.value()

        def make_number(scope: Scope, run: Run, path: str) -> int | float | None:
            found: int | float | None = value(scope)
            if found is not None:
                note(run, scope, path)
            return found

        return Text(None, lambda scope, run: get(scope), make_number, piece, (piece,))

    if piece.level == 0 and piece.field.kind == TEXT and not piece.field.above:
        return Text(None, lambda scope, run: get(scope), _placed(piece), piece, (piece,))

    def make(scope: Scope, run: Run, path: str) -> str | None:
        text = get(scope)
        if not text:
            return None
        note(run, scope, path)
        return text

    return Text(None, lambda scope, run: get(scope), make, piece, (piece,))


def _placed(ref: Ref) -> Make:
    """Return what places a text of the scope at hand: the most common value, in one call."""
    field, slot, label = ref.field, ref.field.slot, ref.field.label

    def make(scope: Scope, run: Run, path: str) -> str | None:
        text: str = scope.values[slot]
        if not text:
            return None
        columns = scope.columns
        column = scope.base + (columns.get(slot, field.column) if columns else field.column)
        place = run.places.get(column) if scope.origin is run.origin else None
        if place is None:
            place = run.place_at(scope, column)
        run.trace.append(TraceEntry(path, label, place))
        return text

    return make


def _several(pieces: list[Part]) -> Text:
    gets = [(p, None, None) if isinstance(p, str) else ("", p.text(), p.note()) for p in pieces]

    def get(scope: Scope, run: Run) -> str:
        texts = [words if read is None else read(scope) for words, read, _ in gets]
        filled = any(t for t, (_, read, _) in zip(texts, gets, strict=True) if read is not None)
        return "".join(texts).strip() if filled else ""

    def make(scope: Scope, run: Run, path: str) -> str | None:
        out, filled = [], False
        for words, read, note in gets:
            if read is None or note is None:
                out.append(words)
                continue
            text = read(scope)
            if text:
                filled = True
                note(run, scope, path)
                out.append(text)
        return "".join(out).strip() if filled else None

    return Text(None, get, make, refs=tuple(p for p in pieces if isinstance(p, Ref)))
