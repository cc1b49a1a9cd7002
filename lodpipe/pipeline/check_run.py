"""What one check has met so far: documents, manifests and lines, and what was found in them."""

import hashlib
from dataclasses import dataclass, field
from typing import Any

from lodpipe.check import Checker, Result, iiif
from lodpipe.check.report import Entry, entry_of, entry_of_finding
from lodpipe.findings import Finding
from lodpipe.pipeline.back import Ways, cells_of
from lodpipe.rdf import Emitted
from lodpipe.records import Place, TraceEntry


@dataclass(frozen=True, slots=True)
class Item:
    """One document to be checked, and the way back from it, where there is one.

    `file` is where it stands itself, when it comes from no archive.
    """

    emitted: Emitted
    trace: list[TraceEntry] = field(default_factory=list)
    file: str = ""


class CheckRun:
    """Checks what it is given, and keeps what was found for the report.

    Attributes:
        messages: shapes and rules that could have met something -> what each says.
        focus: those that did -> how many nodes. `data`: hash over everything checked, in order.
    """

    def __init__(self, checker: Checker) -> None:
        self.checker = checker
        self.names = checker.names()
        self.ways = Ways()
        self.documents = self.refereed = self.lines = 0
        self.focus: dict[str, int] = {}
        self.messages: dict[str, str] = {}
        self.entries: list[Entry] = []
        self.data = hashlib.sha256()
        self._told: dict[tuple[str, ...], str] = {}

    def report(self, finding: Finding) -> None:
        """Take a finding of another kind than results of shapes."""
        self.entries.append(entry_of_finding(finding, self.ways.of_place(finding.place)))

    def document(self, item: Item) -> None:
        """Check one document against the shapes."""
        found = self.checker.check([(item.emitted.uri, item.emitted)])
        self.messages |= self.names
        self.documents += 1
        self.refereed += len(found.refereed)
        self.data.update("\n".join(item.emitted.lines).encode())
        for finding in found.findings:
            self.report(finding)
        for counts in found.focus.values():
            self.count(counts)
        for result in found.results:
            if not self._again(result, item.file):
                steps = cells_of(result, item.emitted.nodes, item.trace) or _itself(
                    item.file, result
                )
                self.entries.append(entry_of(result, steps, self.ways.of(steps)))

    def manifest(self, tree: dict[str, Any], body: bytes, name: str) -> None:
        """Check a document of the IIIF Presentation API against its musts."""
        self.documents += 1
        self.data.update(body)
        self.messages |= {rule.name: rule.message for rule in iiif.RULES}
        looked = iiif.check(tree, name)
        self.count(looked.focus)
        self.entries += [entry_of(result, _itself(name, result)) for result in looked.results]

    def evidence(self, name: str, rows: int, body: bytes) -> None:
        """Count the lines of a file of evidence, whose findings are reported one by one."""
        shape = f"urn:lodpipe:shape:evidence-{name}"
        self.lines += rows
        self.data.update(body)
        self.messages[shape] = f"rows of `{name}` against the rules of the evidence folder"
        self.count({shape: rows} if rows else {})

    def count(self, focus: dict[str, int]) -> None:
        """Add up how many nodes each shape met."""
        for shape, count in focus.items():
            self.focus[shape] = self.focus.get(shape, 0) + count

    def _again(self, result: Result, file: str) -> bool:
        """Whether the same was told of the same document in another of its files."""
        if not file:
            return False
        term = "" if result.term.startswith("_:") or "#" in result.term else result.term
        mark = (result.uri, result.shape, result.path, result.component, term)
        return self._told.setdefault(mark, file) != file


def _itself(file: str, result: Result) -> list[TraceEntry]:
    """Where a result stands in the checked file, when nothing leads further back."""
    return [TraceEntry(result.pointer, "", Place(file, column=result.pointer))] if file else []
