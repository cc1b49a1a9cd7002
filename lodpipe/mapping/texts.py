"""Placeholders in texts, and URI templates.

A text takes placeholders as they are: `"{title}"`, `"{^no}, page {.}"`; `{{` and `}}` stand for
braces. Where the language asks for a URI, the text is a template of RFC 6570 level 1
(https://www.rfc-editor.org/rfc/rfc6570): each value is percent-encoded as one segment; `{+field}`
puts in what `choose` has made, or a web address, as it is.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from lodpipe.errors import IriError, nearest
from lodpipe.iris import check_iri, document_iri, segment
from lodpipe.mapping.compiler import REMEMBERED, Compiler
from lodpipe.mapping.lookups import Lookup, compile_lookup
from lodpipe.mapping.spaces import NUMBER, TEXT, URL, YEAR, Ref, Run, Scope, Space
from lodpipe.mapping.yaml_nodes import Node
from lodpipe.records import TraceEntry

_PARTS = re.compile(r"\{\{|\}\}|\{([^{}]*)\}|[{}]")
_SCHEME = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:")
_PLAIN_KEY = re.compile(r"[A-Za-z0-9_~-][A-Za-z0-9._~-]*", re.ASCII)
_PLAIN_PATH = re.compile(r"\w[\w.~:-]*(?:/\w[\w.~:-]*)*", re.ASCII)

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


@dataclass(frozen=True, slots=True)
class Uri:
    """A compiled URI template: gets the IRI, or None where a placeholder is empty."""

    constant: str | None
    get: Get
    make: Make


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


# --- URIs ---------------------------------------------------------------------------------


@lru_cache(maxsize=REMEMBERED)
def encode(key: str) -> str:
    """Return a value as one segment; the common forms without the long way round.

    Raises:
        IriError: a value that cannot be a segment.
    """
    if _PLAIN_KEY.fullmatch(key):
        return key
    if _PLAIN_PATH.fullmatch(key):
        return key.replace(":", "%3A").replace("/", "%2F")
    return segment(key)


def compile_uri(
    node: Node, space: Space, compiler: Compiler, *, path_only: bool = False
) -> Uri | None:
    """Return a URI template; None after a fault.

    Args:
        path_only: give the path, for the IRI form of what `choose` makes, not the whole IRI.
    """
    if node.is_map and "lookup" in node.value:
        return _table_uri(node, space, compiler, path_only)
    pieces = parts_of(node, space, compiler, uri=True)
    if pieces is None or not pieces:
        if pieces is not None:
            compiler.faults.add(node, "a URI is empty")
        return None
    first = pieces[0]
    absolute = isinstance(first[0], str) and _SCHEME.match(first[0]) is not None
    is_address = isinstance(first[0], Ref) and first[0].field.kind == URL
    base = "" if absolute or path_only or is_address else compiler.base
    if not is_address and not _good_literals(pieces, node, compiler, absolute, path_only):
        return None
    if all(isinstance(piece, str) for piece, _ in pieces):
        whole = base + "".join(str(piece) for piece, _ in pieces)
        return Uri(whole, lambda scope, run: whole, lambda scope, run, path: whole)
    return _template(base, pieces)


def _good_literals(
    pieces: list[tuple[Part, bool]],
    node: Node,
    compiler: Compiler,
    absolute: bool,
    path_only: bool,
) -> bool:
    sample = "".join(piece if isinstance(piece, str) else "x" for piece, _ in pieces)
    try:
        if absolute:
            check_iri(sample)
        elif not path_only:
            document_iri(compiler.base, sample.partition("#")[0])
            check_iri(compiler.base + sample)
    except IriError as error:
        compiler.faults.add(node, error.message, error.hint)
        return False
    return True


def _template(base: str, pieces: list[tuple[Part, bool]]) -> Uri:
    steps: list[tuple[str, Any, Ref | None]] = []
    raw = False
    for piece, plus in pieces:
        if isinstance(piece, str):
            steps.append((piece, None, None))
        elif piece.field.kind == URL:
            steps.append(("as it is", piece.text(), piece))
        elif plus:
            slot, climb = f"+{piece.field.slot}", piece.scope()
            steps.append(("as it is", _plus(slot, climb), piece))
            raw = True
        else:
            steps.append(("", piece.text(), piece))
    notes = [ref.note() for _, _, ref in steps if ref is not None]
    get = _expander(base, steps, raw)

    def make(scope: Scope, run: Run, path: str) -> Any:
        whole = get(scope, run)
        if whole is not None:
            for note in notes:
                note(run, scope, path)
        return whole

    return Uri(None, get, make)


def _expander(base: str, steps: list[tuple[str, Any, Ref | None]], raw: bool) -> Get:
    """Return what expands a template; `raw` when a path that `choose` made is to be checked."""
    checked: dict[str, str] = {}

    def get(scope: Scope, run: Run) -> str | None:
        whole = base
        for words, read, ref in steps:
            if read is None:
                whole += words
                continue
            text = read(scope)
            if not text:
                return None
            if words:
                whole += text
                continue
            try:
                whole += encode(text)
            except IriError as error:
                assert ref is not None
                place = ref.scope()(scope)
                run.tell(place, ref.field.column_in(place), "iri", error.message, text, error.hint)
                return None
        return whole if not raw else _checked(whole, base, checked, scope, run)

    return get


def _plus(slot: str, climb: Callable[[Scope], Scope]) -> Callable[[Scope], str]:
    return lambda scope: climb(scope).values.get(slot) or ""


def _checked(whole: str, base: str, known: dict[str, str], scope: Scope, run: Run) -> str | None:
    """A path that `choose` put together is checked whole, once for each."""
    found = known.get(whole)
    if found is None:
        absolute = not base or _SCHEME.match(whole[len(base) :]) is not None
        try:
            if absolute:
                found = check_iri(whole[len(base) :])
            else:
                document_iri(base, whole[len(base) :])
                found = whole
        except IriError as error:
            run.tell(scope, "", "iri", error.message, whole, error.hint)
            return None
        if len(known) < 20_000:
            known[whole] = found
    return found


def _table_uri(node: Node, space: Space, compiler: Compiler, path_only: bool) -> Uri | None:
    lookup = compile_lookup(node, space, compiler)
    if lookup is None:
        return None
    if not lookup.column:
        compiler.faults.add(
            node,
            "a concept where a URI must stand",
            "name the `column` that holds it" + _columns(lookup),
        )
        return None
    base = "" if path_only else compiler.base
    checked: dict[str, str] = {}

    def get(scope: Scope, run: Run) -> str | None:
        found = lookup.texts(scope, run)
        if not found or not found[0]:
            return None
        return found[0] if path_only else _checked(base + found[0], base, checked, scope, run)

    def make(scope: Scope, run: Run, path: str) -> str | None:
        whole = get(scope, run)
        if whole is not None:
            lookup.note(run, scope, path)
        return whole

    return Uri(None, get, make)


def _columns(lookup: Lookup) -> str:
    return ": " + (nearest("iri", lookup.table.columns) or ", ".join(lookup.table.columns))
