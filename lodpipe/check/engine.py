"""The check: documents against shapes, by the compiled engine, with pySHACL as its referee."""

from collections.abc import Iterable, Mapping, Sequence
from heapq import nsmallest

from lodpipe.check.graph import TYPE, Document, Graph, Node
from lodpipe.check.literals import text_of
from lodpipe.check.referee import Referee
from lodpipe.check.results import BatchResult, Raw, Result
from lodpipe.check.shapes import RECORD, ShapeSet, load
from lodpipe.check.targets import Focus, compile_targets
from lodpipe.findings import Finding
from lodpipe.terms import keys

ENGINES = ("compiled", "referee")


class Checker:
    """Checks batches of documents against one set of shapes; each document by itself.

    Args:
        shape_texts: file name -> Turtle.
        engine: `compiled`, or `referee` for pySHACL alone.
        sample: documents that the referee re-checks (`sample_of`); `None` for all of them.

    Raises:
        UsageError: a file that is not Turtle.
    """

    def __init__(
        self,
        shape_texts: Mapping[str, str],
        *,
        engine: str = "compiled",
        sample: frozenset[str] | None = frozenset(),
    ) -> None:
        if engine not in ENGINES:
            raise ValueError(engine)
        self.shapes: ShapeSet = load(shape_texts)
        self.engine = engine
        self._sample = sample
        self._facts = self.shapes.class_facts()
        self._records = _record_classes()
        self._targets: list[tuple[str, Focus]] = [
            (shape.name, compile_targets(self.shapes.graph, shape.node))
            for shape in self.shapes.targets()
        ]
        self._referee: Referee | None = None

    def check(self, batch: Sequence[tuple[str, Document]]) -> BatchResult:
        """Return what the shapes find in each document of a batch.

        Args:
            batch: document IRI, and what the emitter made of the document.
        """
        found = BatchResult()
        for uri, document in batch:
            graph = self._graph(uri, document)
            found.focus[uri] = self._count(graph)
            raws = self._by_referee(graph)
            found.results.extend(self._attribute(uri, document, raws))
        return found

    def shape_findings(self) -> list[Finding]:
        """Return what is wrong with the shapes themselves."""
        return []

    def _graph(self, uri: str, document: Document) -> Graph:
        graph = Graph(document.lines)
        for line in self._facts:
            subject, predicate, object_ = line[:-2].split(" ", 2)
            graph.add(subject, predicate, object_)
        node = f"<{uri}>"
        types = graph.objects(node, TYPE)
        if types:
            marks = [self._records.get(t) or f"<{RECORD}{_local(t)}>" for t in types]
            for mark in (*marks, f"<{RECORD}Any>"):
                graph.add(node, TYPE, mark)
        return graph

    def _count(self, graph: Graph) -> dict[str, int]:
        counts = {name: len(focus(graph)) for name, focus in self._targets}
        return {name: count for name, count in counts.items() if count}

    def _by_referee(self, graph: Graph) -> list[Raw]:
        if self._referee is None:
            self._referee = Referee(self.shapes.graph)
        return self._referee.check(graph)

    def _attribute(self, uri: str, document: Document, raws: Iterable[Raw]) -> list[Result]:
        found = []
        for raw in raws:
            shape = self.shapes.shapes[raw.shape]
            found.append(
                Result(
                    uri=uri,
                    focus=text_of(raw.focus),
                    shape=shape.name,
                    path=raw.path,
                    pointer=pointer_of(uri, document, text_of(raw.focus)),
                    severity=shape.severity,
                    component=raw.component,
                    message=shape.message or raw.component,
                    value=text_of(raw.value),
                    rule=shape.rule,
                    term=raw.value,
                )
            )
        return sorted(found, key=Result.sort_key)


def sample_of(uris: Iterable[str], release: str, size: int = 50) -> frozenset[str]:
    """Return the documents that the referee re-checks: by hash of IRI and release, the same on every run."""
    import hashlib

    def rank(uri: str) -> bytes:
        return hashlib.sha256(f"{release}\0{uri}".encode()).digest()

    return frozenset(nsmallest(size, set(uris), key=rank))


def pointer_of(uri: str, document: Document, focus: str) -> str:
    """Return the JSON Pointer of a focus node, or of the nearest node whose IRI it continues."""
    nodes = document.nodes
    while focus not in nodes and "-" in focus[len(uri) :]:
        focus = focus[: focus.rindex("-")]
    return nodes.get(focus, "")


def _record_classes() -> dict[Node, Node]:
    """RDF class -> class of records, named with the word that Linked Art has for it."""
    known = keys()
    prefixes = {key.key: key.iri for key in known if "://" in key.iri}
    found: dict[Node, Node] = {}
    for key in known:
        prefix, colon, local = key.iri.partition(":")
        if not key.scope and key.key[:1].isupper() and colon and prefix in prefixes:
            found.setdefault(f"<{prefixes[prefix]}{local}>", f"<{RECORD}{key.key}>")
    return found


def _local(node: Node) -> str:
    return node[1:-1].replace("#", "/").rsplit("/", 1)[-1]
