"""URI templates of RFC 6570 level 1, https://www.rfc-editor.org/rfc/rfc6570.

Each value is percent-encoded as one segment; `{+field}` puts in what `choose` has made, or a web
address, as it is.
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
from lodpipe.mapping.spaces import URL, Ref, Run, Scope, Space
from lodpipe.mapping.texts import Get, Make, Part, parts_of
from lodpipe.mapping.yaml_nodes import Node

_SCHEME = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:")
_PLAIN_KEY = re.compile(r"[A-Za-z0-9_~-][A-Za-z0-9._~-]*", re.ASCII)
_PLAIN_PATH = re.compile(r"\w[\w.~:-]*(?:/\w[\w.~:-]*)*", re.ASCII)


@dataclass(frozen=True, slots=True)
class Uri:
    """A compiled URI template: gets the IRI, or None where a placeholder is empty."""

    constant: str | None
    get: Get
    make: Make


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
