"""Compiled values of a template, and what puts them together to lists and nodes."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from lodpipe.errors import LodpipeError
from lodpipe.mapping.spaces import Run, Scope
from lodpipe.mapping.texts import Make

Spread = Callable[[Scope, Run, str, list[Any]], None]
"""Adds any number of values to a list that stands at a path."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One compiled value.

    `make` makes one value, `spread` any number; `fixed` has no placeholders; `constant` is the
    value itself (for a spread, the list) where it is the same in every document.
    """

    make: Make | None = None
    spread: Spread | None = None
    fixed: bool = False
    constant: Any = None

    def one(self) -> Make:
        """Return what makes a single value; of several the first."""
        if self.make is not None:
            return self.make
        spread = self.spread
        assert spread is not None

        def first(scope: Scope, run: Run, path: str) -> Any:
            found: list[Any] = []
            spread(scope, run, path, found)
            return found[0] if found else None

        return first

    def into(self) -> Spread:
        """Return what adds to a list."""
        if self.spread is not None:
            return self.spread
        make = self.make
        assert make is not None

        def add(scope: Scope, run: Run, path: str, out: list[Any]) -> None:
            value = make(scope, run, f"{path}/{len(out)}")
            if value is not None:
                out.append(value)

        return add


def constant(value: Any) -> Piece:
    """Return the piece of a value that is the same in every document; each gets a copy of it."""
    copy = copier(value)
    return Piece(make=lambda scope, run, path: copy(), fixed=True, constant=value)


def copier(value: Any) -> Callable[[], Any]:
    """Return what makes a fresh copy of a tree: documents must not share nodes."""
    if isinstance(value, list):
        return _list_copier([copier(item) for item in value])
    if not isinstance(value, dict):
        return lambda: value
    inner = [(k, copier(v)) for k, v in value.items() if isinstance(v, dict | list)]
    if not inner:
        return value.copy
    flat = value
    if len(inner) == 1:
        [(key, copy)] = inner

        def one() -> Any:
            node = flat.copy()
            node[key] = copy()
            return node

        return one

    def several() -> Any:
        node = flat.copy()
        for name, make in inner:
            node[name] = make()
        return node

    return several


def _list_copier(copies: list[Callable[[], Any]]) -> Callable[[], Any]:
    if len(copies) == 1:
        only = copies[0]
        return lambda: [only()]
    return lambda: [copy() for copy in copies]


def listed(piece: Piece) -> Make:
    """Return what makes the list of a key; None when it stays empty."""
    if piece.spread is None:
        make = piece.make
        assert make is not None

        def make_list(scope: Scope, run: Run, path: str) -> Any:
            value = make(scope, run, f"{path}/0")
            return None if value is None else [value]

        return make_list
    spread = piece.spread

    def make_many(scope: Scope, run: Run, path: str) -> Any:
        out: list[Any] = []
        spread(scope, run, path, out)
        return out or None

    return make_many


def filled(same: dict[str, Any], members: list[tuple[str, str, Make]], always: bool) -> Make:
    """Return what makes a node: None when no placeholder in it was filled, unless `always`.

    Whether one was shows in the trace, which grows with each. `same` is what every such node has.
    """
    start = copier(same)

    def make(scope: Scope, run: Run, path: str) -> Any:
        trace = run.trace
        before = len(trace)
        node = start()
        for key, step, member in members:
            value = member(scope, run, path + step)
            if value is not None:
                node[key] = value
        if not always and len(trace) == before:
            return None
        return node

    return make


def found(make_text: Make, node_of: Callable[[str], Any]) -> Make:
    """Return what makes the node of a term or tag that stands in the data."""

    def make(scope: Scope, run: Run, path: str) -> Any:
        before = len(run.trace)
        text = make_text(scope, run, path)
        if text is None:
            return None
        try:
            return node_of(str(text))
        except LodpipeError as error:
            del run.trace[before:]
            run.tell(scope, "", "term", error.message, str(text), error.hint)
            return None

    return make
