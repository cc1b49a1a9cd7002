"""Documents that record after record makes in the same words: subjects, makers, places.

Most documents of a catalogue are made again and again from elements that hold the same texts. The
first is remembered by those texts; of the others nothing is made but where they came from, and
that only when somebody asks.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import overload

import orjson

from lodpipe.findings import Finding
from lodpipe.mapping.spaces import TEXT, URL, Ref, Run, Scope
from lodpipe.records import Draft, Input, TraceEntry, Tree

MOST_KNOWN = 1_024
"""Documents of one entry of `makes` that are remembered; when there are more, it starts afresh."""

MakeTree = Callable[[Scope, Run], Tree | None]
"""Makes a document of an element, and its trace in `run.trace`; None after a finding."""


class LateTrace(Sequence[TraceEntry]):
    """The trace of a document that was not made: it is made the first time that it is looked at."""

    __slots__ = ("_entries", "_make")

    def __init__(self, make: Callable[[], list[TraceEntry]]) -> None:
        self._make = make
        self._entries: list[TraceEntry] | None = None

    def _made(self) -> list[TraceEntry]:
        if self._entries is None:
            self._entries = self._make()
        return self._entries

    def __len__(self) -> int:
        return len(self._made())

    def __iter__(self) -> Iterator[TraceEntry]:
        return iter(self._made())

    @overload
    def __getitem__(self, index: int) -> TraceEntry: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[TraceEntry]: ...
    def __getitem__(self, index: int | slice) -> TraceEntry | Sequence[TraceEntry]:
        return self._made()[index]


@dataclass(frozen=True, slots=True)
class _Known:
    """A document that was made: its tree, the same as JSON, and the terms that it looked up."""

    tree: Tree
    body: bytes
    inputs: dict[tuple[str, str], Input]


@dataclass(slots=True)
class Repeated:
    """Makes the documents of one entry of `makes`, each in the same words only once.

    `slots` are those of the element's values that the document is made from.
    """

    make: MakeTree
    slots: tuple[str, ...]
    _known: dict[tuple[str | None, ...], _Known] = field(default_factory=dict)

    def draft(self, element: Scope, run: Run) -> Draft | None:
        """Return the document of an element; None after a finding."""
        values = element.values
        words = tuple([values.get(slot) for slot in self.slots])
        known = self._known.get(words)
        if known is None:
            return self._first(element, run, words)
        if known.inputs:
            run.inputs.update(known.inputs)
        context = run.context
        trace = LateTrace(lambda: self._trace(element, run))
        return Draft(
            known.tree["id"],
            known.tree,
            trace,
            [],
            context.source,
            context.rank,
            run.key,
            known.body,
        )

    def _first(self, element: Scope, run: Run, words: tuple[str | None, ...]) -> Draft | None:
        """Make a document, and remember it unless there was something to tell."""
        inputs, report, heard = run.inputs, run.report, list[Finding]()
        run.inputs, run.report = {}, heard.append
        tree = self.make(element, run)
        inputs.update(run.inputs)
        mine, run.inputs, run.report = run.inputs, inputs, report
        for finding in heard:
            report(finding)
        if tree is None:
            return None
        context, body = run.context, b""
        if not heard:
            body = orjson.dumps(tree)
            if len(self._known) >= MOST_KNOWN:
                self._known.clear()
            self._known[words] = _Known(tree, body, mine)
        return Draft(tree["id"], tree, run.trace, [], context.source, context.rank, run.key, body)

    def _trace(self, element: Scope, run: Run) -> list[TraceEntry]:
        before = run.trace, run.uri
        self.make(element, run)
        made, (run.trace, run.uri) = run.trace, before
        return made


def slots_of(refs: Sequence[Ref]) -> tuple[str, ...] | None:
    """Return the slots that hold all that a document is made from; None when they cannot tell it.

    They can when everything stands in the element itself, as text: dates and numbers that are
    equal may still be written in two ways.
    """
    if any(ref.level or ref.is_list or ref.field.kind not in (TEXT, URL) for ref in refs):
        return None
    plain = {ref.field.slot for ref in refs}
    return tuple(sorted(plain | {f"+{ref.field.slot}" for ref in refs if ref.field.plus}))
