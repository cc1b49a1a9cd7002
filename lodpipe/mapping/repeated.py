"""Documents that record after record makes in the same words: subjects, makers, places.

Most documents of a catalogue are made again and again from elements that hold the same texts. The
first is remembered by those texts; of the others nothing is made but where they came from, and
not even that where the lowest key, which decides when others disagree, has made it already.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import orjson

from lodpipe.findings import Finding
from lodpipe.mapping.spaces import TEXT, URL, Ref, Run, Scope, SourceContext
from lodpipe.records import Draft, Input, Mapped, TraceEntry, Tree, mark_of

MOST_KNOWN = 1_024
"""Documents of one entry of `makes` that are remembered; when there are more, it starts afresh."""

MakeTree = Callable[[Scope, Run], Tree | None]
"""Makes a document of an element, and its trace in `run.trace`; None after a finding."""


@dataclass(slots=True)
class _Known:
    """A document that was made: its tree, the same as JSON, and the terms that it looked up.

    `key` is that of the record that made it last for `context`.
    """

    tree: Tree
    body: bytes
    mark: bytes
    inputs: dict[tuple[str, str], Input]
    context: SourceContext
    key: str


@dataclass(slots=True)
class Repeated:
    """Makes the documents of one entry of `makes`, each in the same words only once.

    `slots` are those of the element's values that the document is made from.
    """

    make: MakeTree
    slots: tuple[str, ...]
    _known: dict[tuple[str | None, ...], _Known] = field(default_factory=dict)

    def add(self, element: Scope, run: Run, mapped: Mapped) -> bool:
        """Add the document of an element; False after a finding."""
        values = element.values
        words = tuple([values.get(slot) for slot in self.slots])
        known = self._known.get(words)
        if known is None:
            return self._first(element, run, words, mapped)
        if known.inputs:
            run.inputs.update(known.inputs)
        context = run.context
        if context.once and known.context is context and known.key < run.key:
            mapped.again.append(known.mark)
            return True
        known.context, known.key = context, run.key
        mapped.documents.append(_draft(known, self._trace(element, run), run))
        return True

    def _first(
        self, element: Scope, run: Run, words: tuple[str | None, ...], mapped: Mapped
    ) -> bool:
        """Make a document, and remember it unless there was something to tell."""
        inputs, report, heard = run.inputs, run.report, list[Finding]()
        run.inputs, run.report = {}, heard.append
        tree = self.make(element, run)
        inputs.update(run.inputs)
        mine, run.inputs, run.report = run.inputs, inputs, report
        for finding in heard:
            report(finding)
        if tree is None:
            return False
        body = orjson.dumps(tree)
        known = _Known(tree, body, mark_of(body), mine, run.context, run.key)
        if not heard:
            if len(self._known) >= MOST_KNOWN:
                self._known.clear()
            self._known[words] = known
        mapped.documents.append(_draft(known, run.trace, run))
        return True

    def _trace(self, element: Scope, run: Run) -> list[TraceEntry]:
        before = run.trace, run.uri
        self.make(element, run)
        made, (run.trace, run.uri) = run.trace, before
        return made


def _draft(known: _Known, trace: list[TraceEntry], run: Run) -> Draft:
    source, rank = run.context.source, run.context.rank
    tree = known.tree
    return Draft(tree["id"], tree, trace, [], source, rank, run.key, known.body, known.mark)


def slots_of(refs: Sequence[Ref]) -> tuple[str, ...] | None:
    """Return the slots that hold all that a document is made from; None when they cannot tell it.

    They can when everything stands in the element itself, as text: dates and numbers that are
    equal may still be written in two ways.
    """
    if any(ref.level or ref.is_list or ref.field.kind not in (TEXT, URL) for ref in refs):
        return None
    plain = {ref.field.slot for ref in refs}
    return tuple(sorted(plain | {f"+{ref.field.slot}" for ref in refs if ref.field.plus}))
