"""The check: documents against shapes, by the compiled engine, with pySHACL as its referee."""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from heapq import nsmallest
from time import perf_counter

from lodpipe.check.compile import Compiler, Plan, RefusedError
from lodpipe.check.constraints import ShapeFaultError
from lodpipe.check.graph import TYPE, Document, Graph, Node
from lodpipe.check.lint import lint, query_fault
from lodpipe.check.literals import text_of
from lodpipe.check.referee import NoAnswerError, Referee, differences
from lodpipe.check.results import BatchResult, Raw, Result
from lodpipe.check.rules import RULES, Rule
from lodpipe.check.shapes import RECORD, Shape, ShapeSet, beyond_referee, load
from lodpipe.check.targets import Focus, compile_targets, target_classes
from lodpipe.check.words import TARGETS, sh
from lodpipe.findings import VIOLATION, WARNING, Finding
from lodpipe.terms import keys

ENGINES = ("compiled", "referee")
SAMPLE = 50
"""Documents of a release that both engines check, at least."""


@dataclass(slots=True)
class _Target:
    """One shape with targets, and who checks it: the plan, pySHACL, or nobody.

    `classes` are those that it targets; `elsewhere`: whether it has targets of another kind too.
    """

    shape: Shape
    focus: Focus
    classes: tuple[Node, ...]
    elsewhere: bool
    plan: Plan | None = None
    refused: str = ""
    fault: str = ""


class Checker:
    """Checks batches of documents against one set of shapes; each document by itself.

    A document is checked alone and not as one graph with others, because the type that one
    document gives to a person would hide that another gives a wrong one.

    Args:
        shape_texts: file name -> Turtle.
        engine: `compiled`, or `referee` for pySHACL alone.
        sample: documents that both engines check (see `sample_of`); None for all of them.

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
        self._facts = [_split(line) for line in self.shapes.class_facts()]
        self._records = _record_classes()
        compiler = Compiler(self.shapes)
        self._targets = [self._target(compiler, shape) for shape in self.shapes.targets()]
        self._by_class: dict[Node, list[int]] = {}
        self._by_other: set[int] = set()
        for number, target in enumerate(self._targets):
            for class_ in target.classes:
                self._by_class.setdefault(class_, []).append(number)
            if not target.classes or target.elsewhere:
                self._by_other.add(number)
        known = self.shapes.names()
        self._rules = [rule for rule in RULES if rule.beside in known]
        self._referees: dict[frozenset[Node], Referee] = {}
        self._fallback = frozenset(t.shape.node for t in self._targets if t.refused and not t.fault)
        self._compiled = frozenset(t.shape.node for t in self._targets if t.plan is not None)
        self._unrefereed = beyond_referee(self.shapes)

    def set_sample(self, sample: frozenset[str] | None) -> None:
        """Choose the documents that both engines check from now on; None for all of them."""
        self._sample = sample

    def check(self, batch: Sequence[tuple[str, Document]]) -> BatchResult:
        """Return what the shapes find in each document of a batch.

        Args:
            batch: document IRI, and what the emitter made of the document.
        """
        found = BatchResult()
        for uri, document in batch:
            self._one(uri, document, found)
        return found

    def names(self) -> dict[str, str]:
        """Return the shapes with targets and the rules: name -> message, for `unused`."""
        named = {target.shape.name: target.shape.message for target in self._targets}
        return named | {rule.shape.name: rule.shape.message for rule in self._rules}

    def shape_findings(self) -> list[Finding]:
        """Return what is wrong with the shapes themselves: see `lint`."""
        found = lint(self.shapes)
        for target in self._targets:
            if target.fault:
                found.append(
                    Finding(
                        "shape-fault",
                        f"the shape `{target.shape.name}` cannot be run: {target.fault}",
                        hint="nothing was checked with it; mend the shape",
                        rule=target.shape.name,
                    )
                )
            elif target.refused:
                found.append(
                    Finding(
                        "shape-refused",
                        f"the shape `{target.shape.name}` is checked by pySHACL alone: "
                        f"{target.refused}",
                        rule=target.shape.name,
                    )
                )
        return found

    def unused(self, met: Iterable[str]) -> list[Finding]:
        """Return a finding for each shape that met no node.

        Args:
            met: names of the shapes that met one, in the whole release.
        """
        gone = set(self.names()) - set(met)
        return [
            Finding(
                "shape-unused",
                f"the shape `{name}` met no node: it checked nothing",
                hint="look whether its target is what the documents have",
                rule=name,
            )
            for name in sorted(gone)
        ]

    def _target(self, compiler: Compiler, shape: Shape) -> _Target:
        graph = self.shapes.graph
        target = _Target(
            shape,
            compile_targets(graph, shape.node),
            target_classes(graph, shape.node),
            any(graph.objects(shape.node, sh(word)) for word in TARGETS[1:]),
        )
        try:
            target.plan = compiler.compile(shape.node)
        except RefusedError as error:
            target.refused = str(error)
            target.fault = query_fault(self.shapes, shape.node)
        except ShapeFaultError as error:
            target.fault = str(error)
        return target

    def _one(self, uri: str, document: Document, found: BatchResult) -> None:
        graph = self.graph(uri, document)
        met: dict[str, int] = {}
        raws: list[Raw] = []
        self._run(graph, met, raws, found.seconds)
        if self.engine == "referee":
            raws = self._ask(uri, self._compiled | self._fallback, graph, found) or []
        else:
            if self._fallback:
                raws.extend(self._ask(uri, self._fallback, graph, found) or ())
            if self._sample is None or uri in self._sample:
                self._compare(uri, document, graph, found)
        found.focus[uri] = met
        results = [self._result(uri, document, raw, self.shapes.shapes[raw.shape]) for raw in raws]
        for rule in self._rules:
            results.extend(self._by_rule(uri, document, graph, rule, met))
        results.sort(key=Result.sort_key)
        found.results.extend(results)

    def _run(
        self, graph: Graph, met: dict[str, int], raws: list[Raw], seconds: dict[str, float]
    ) -> None:
        for target in self._met(graph):
            nodes = target.focus(graph)
            if not nodes:
                continue
            name = target.shape.name
            met[name] = len(nodes)
            if target.plan is not None and self.engine == "compiled":
                start = perf_counter()
                for node in nodes:
                    target.plan.collect(graph, node, raws)
                seconds[name] = seconds.get(name, 0.0) + perf_counter() - start

    def _met(self, graph: Graph) -> list[_Target]:
        """Return the targets that can meet a node: most ask for a class that is not there."""
        present = graph.instances().keys() & self._by_class.keys()
        found = {number for class_ in present for number in self._by_class[class_]}
        return [self._targets[number] for number in sorted(found | self._by_other)]

    def _by_rule(
        self, uri: str, document: Document, graph: Graph, rule: Rule, met: dict[str, int]
    ) -> list[Result]:
        count, raws = rule.check(graph)
        if count:
            met[rule.shape.name] = count
        return [self._result(uri, document, raw, rule.shape) for raw in raws]

    def _ask(
        self, uri: str, only: frozenset[Node], graph: Graph, found: BatchResult
    ) -> list[Raw] | None:
        """Return what pySHACL finds; None, and a finding, when it gives up on the document."""
        referee = self._referees.get(only)
        if referee is None:
            referee = self._referees[only] = Referee(self.shapes.graph, only, self.shapes.prefixes)
        try:
            return referee.check(graph)
        except NoAnswerError as error:
            alone = self.engine == "referee" or only == self._fallback
            found.findings.append(
                Finding(
                    "referee",
                    f"pySHACL gives no answer for this document: {error}",
                    severity=VIOLATION if alone else WARNING,
                    hint="nobody has checked it"
                    if alone
                    else "the compiled shapes have checked it",
                    uri=uri,
                )
            )
            return None

    def _compare(self, uri: str, document: Document, graph: Graph, found: BatchResult) -> None:
        asked = self._compiled - self._unrefereed
        theirs = self._ask(uri, asked, graph, found) if asked else None
        if theirs is None:
            return
        compiled: list[Raw] = []
        for target in self._targets:
            if target.plan is not None and target.shape.node in asked:
                for node in target.focus(graph):
                    target.plan.collect(graph, node, compiled)
        found.refereed.append(uri)
        for raw, times, other in differences(self.shapes.graph, graph, compiled, theirs):
            name = self.shapes.shapes[raw.shape].name if raw.shape in self.shapes.shapes else ""
            found.findings.append(
                Finding(
                    "referee",
                    f"at `{text_of(raw.focus)}` {raw.path} the compiled shapes give "
                    f"{_times(times)} {raw.component}, pySHACL {_times(other)}",
                    value=text_of(raw.value),
                    hint="report it as a fault of lodpipe, with the document and the shape",
                    uri=uri,
                    path=pointer_of(uri, document, text_of(raw.focus)),
                    rule=name,
                )
            )

    def graph(self, uri: str, document: Document) -> Graph:
        """Return what the shapes see of a document: its triples, classes above classes, marks of records."""
        graph = Graph(document.lines)
        for subject, predicate, object_ in self._facts:
            graph.add(subject, predicate, object_)
        node = f"<{uri}>"
        types = graph.spo.get(node, {}).get(TYPE)
        if types:
            marks = [self._records.get(t) or f"<{RECORD}{_local(t)}>" for t in types]
            types.extend((*marks, f"<{RECORD}Any>"))
        return graph

    def _result(self, uri: str, document: Document, raw: Raw, shape: Shape) -> Result:
        focus = text_of(raw.focus)
        return Result(
            uri=uri,
            focus=focus,
            shape=shape.name,
            path=raw.path,
            pointer=pointer_of(uri, document, focus),
            severity=shape.severity,
            component=raw.component,
            message=shape.message or raw.message or plain_words(raw.component),
            value=text_of(raw.value),
            rule=shape.rule,
            term=raw.value,
        )


def sample_of(uris: Iterable[str], release: str, size: int = SAMPLE) -> frozenset[str]:
    """Return the documents that the referee re-checks: by hash of IRI and release.

    The same on every run over the same documents; all of them when there are fewer than `size`.
    """

    def rank(uri: str) -> bytes:
        return hashlib.sha256(f"{release}\0{uri}".encode()).digest()

    return frozenset(nsmallest(size, uris, key=rank))


def pointer_of(uri: str, document: Document, focus: str) -> str:
    """Return the JSON Pointer of a focus node, or of the nearest node whose IRI it continues."""
    nodes = document.nodes
    while focus not in nodes and "-" in focus[len(uri) :]:
        focus = focus[: focus.rindex("-")]
    return nodes.get(focus, "")


_WORDS = {
    "MinCount": "there are too few values",
    "MaxCount": "there are too many values",
    "Datatype": "the value is not a literal of the datatype that is asked for",
    "NodeKind": "the value is of another kind than is asked for",
    "Class": "the value is of another class than is asked for",
    "Pattern": "the value does not have the form that is asked for",
    "In": "the value is not in the list",
    "HasValue": "the value that is asked for is not there",
    "Closed": "the property is not one that the shape allows",
    "LessThan": "the two values are not in order",
    "LessThanOrEquals": "the two values are not in order",
    "QualifiedMinCount": "there are too few values of the kind that is asked for",
    "QualifiedMaxCount": "there are too many values of the kind that is asked for",
}


def plain_words(component: str) -> str:
    """Return a message for a shape that has none of its own."""
    return _WORDS.get(component, f"the value breaks the constraint {component}")


def _times(count: int) -> str:
    return "no" if not count else f"{count}"


def _split(line: str) -> tuple[Node, Node, Node]:
    subject, predicate, object_ = line[:-2].split(" ", 2)
    return subject, predicate, object_


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
