"""Pass 2: slots filled, claims merged, documents checked, a batch at a time into a part file."""

from collections.abc import Iterator, Mapping
from itertools import islice
from pathlib import Path

import orjson

from lodpipe.check import BatchResult, Checker, Result
from lodpipe.errors import ValueFault
from lodpipe.findings import Finding, at_least, finding_of
from lodpipe.parts import Made, MadeWriter, named_in
from lodpipe.parts.pack import document_hash
from lodpipe.pipeline.back import cells_of, place_of, pointer_in
from lodpipe.publish import linked_art
from lodpipe.rdf import Emitted, Emitter
from lodpipe.records import Place, Tree

BATCH = 100
"""Documents that are checked together: as fast as it gets, and memory stays small."""


class SecondPass:
    """Takes finished trees one after another, checks them, and writes them to a part file.

    Args:
        base: base IRI of the site.
        emitter: makes the triples that are checked.
        checker: the shapes.
        gate: severity from which on a finding stops a document.
        never: names and numbers of withheld things, which no text should hold.

    Attributes:
        findings: those that belong to no document.
    """

    def __init__(
        self,
        base: str,
        emitter: Emitter,
        checker: Checker,
        gate: str,
        part: Path,
        *,
        never: frozenset[str] = frozenset(),
    ) -> None:
        self._base = base
        self._emitter = emitter
        self._checker = checker
        self._gate = gate
        self._never = [(word, orjson.dumps(word)[1:-1]) for word in sorted(never)]
        self._writer = MadeWriter(part)
        self.findings: list[Finding] = []

    def close(self) -> None:
        """Close the part file."""
        self._writer.close()

    def run(self, ready: Iterator[tuple[Made, Tree]]) -> Iterator[int]:
        """Check and write every document; yield how many further, a batch at a time.

        Args:
            ready: what stands beside each document, and its finished tree, in IRI order.
        """
        while batch := list(islice(ready, BATCH)):
            self._batch(batch)
            yield len(batch)

    def _batch(self, batch: list[tuple[Made, Tree]]) -> None:
        emitted: list[tuple[str, Emitted]] = []
        for made, tree in batch:
            made.body = linked_art.document_bytes(tree)
            made.hash = document_hash(made.body)
            made.names = (made.names | named_in(made.body, self._base)) - {made.uri}
            made.findings += self._named(made, tree)
            try:
                emitted.append((made.uri, self._emitter.emit(tree)))
            except ValueFault as fault:
                place = place_of(pointer_in(fault.message), made.trail.entries())
                made.findings.append(finding_of(fault, place, uri=made.uri))
                made.stopped = True
        checked = self._checker.check(emitted)
        self.findings.extend(checked.findings)
        unanswered = {finding.uri for finding in checked.findings}
        self._take(batch, checked, {uri: document.nodes for uri, document in emitted})
        for made, _ in batch:
            made.again |= made.uri in unanswered
        self._writer.add(made for made, _ in batch)

    def _named(self, made: Made, tree: Tree) -> Iterator[Finding]:
        """Yield a finding for each name of something withheld that stands in a text."""
        for word, written in self._never:
            if written in made.body:
                pointer = next(_texts_with(tree, word, ""), "")
                yield Finding(
                    "names-withheld",
                    f"the text names something withheld: `{word}`",
                    place_of(pointer, made.trail.entries()),
                    value=word,
                    hint="look whether it may be said; if not, change the text or withhold this too",
                    uri=made.uri,
                    path=pointer,
                )

    def _take(
        self,
        batch: list[tuple[Made, Tree]],
        checked: BatchResult,
        nodes: Mapping[str, Mapping[str, str]],
    ) -> None:
        results: dict[str, list[Result]] = {}
        for result in checked.results:
            results.setdefault(result.uri, []).append(result)
        for made, _ in batch:
            made.focus = checked.focus.get(made.uri, {})
            for result in results.get(made.uri, ()):
                cells = cells_of(result, nodes[made.uri], made.trail.entries())
                made.findings.append(_finding(result, cells[0].place if cells else None))
            made.stopped |= any(at_least(f.severity, self._gate) for f in made.findings)


def _finding(result: Result, place: Place | None) -> Finding:
    return Finding(
        "shape",
        result.message,
        place,
        severity=result.severity,
        value=result.value,
        uri=result.uri,
        path=result.pointer,
        rule=result.rule,
        shape=result.shape,
    )


def _texts_with(node: object, word: str, pointer: str) -> Iterator[str]:
    """Yield the JSON Pointers of the texts that hold a word."""
    if isinstance(node, str):
        if word in node:
            yield pointer
    elif isinstance(node, dict):
        for key, value in node.items():
            yield from _texts_with(value, word, f"{pointer}/{key}")
    elif isinstance(node, list):
        for number, value in enumerate(node):
            yield from _texts_with(value, word, f"{pointer}/{number}")
