"""Shapes: read from Turtle, described for reports, and looked through for what checks nothing.

A misspelt `sh:` term makes a shape conform to everything, and no engine says so; nor does any
say that `sh:minCount` on a node shape is passed over. `lint` does.
"""

import hashlib
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

import pyoxigraph

from lodpipe.check.graph import RDFS, SUBCLASS, TYPE, Graph, Node, canonical, quote
from lodpipe.check.literals import text_of
from lodpipe.check.paths import Path, PathFaultError, compact, read_path
from lodpipe.check.patterns import is_linear
from lodpipe.check.words import PARAMETERS, SEVERITIES, SH, TARGETS, sh
from lodpipe.errors import UsageError

SHAPE = "urn:lodpipe:shape:"
"""Start of the IRIs of the shapes that ship with lodpipe."""
RECORD = "urn:lodpipe:record:"
"""Start of the classes that the check gives to the node of the document itself.

A document mentions persons, places and terms of which it gives but type and label. So that a
shape can ask more of the record than of a mention, `<uri> rdf:type <urn:lodpipe:record:Person>`
and `... <urn:lodpipe:record:Any>` are added to what is checked, and to nothing else.
"""

_LABEL = f"<{RDFS}label>"
_SEE = f"<{RDFS}seeAlso>"
_CLASS = f"<{RDFS}Class>"


@dataclass(frozen=True, slots=True)
class Shape:
    """What reports say of one shape.

    Attributes:
        name: its IRI; for a shape without one, the IRI of the shape that holds it and its path.
        path: property path as text, empty for node shapes.
        severity: violation, warning or info.
        rule: URL of the published rule, from rdfs:seeAlso of the shape or of the one that holds it.
        targets: whether it has targets of its own.
    """

    name: str
    node: Node
    path: Path | None
    message: str
    severity: str
    rule: str
    targets: bool
    deactivated: bool


@dataclass(slots=True)
class ShapeSet:
    """All shapes of a check, read as one shapes graph (SHACL, section 1.5).

    `texts` holds each file as Turtle, `files` its triples: what a file says is looked through
    file by file, so that a finding names it. `prefixes` are those of the files: queries in
    shapes may use them, besides those that they declare.
    """

    graph: Graph
    texts: dict[str, str]
    files: dict[str, list[str]] = field(default_factory=dict)
    prefixes: dict[str, str] = field(default_factory=dict)
    shapes: dict[Node, Shape] = field(default_factory=dict)
    faults: list[tuple[Node, str]] = field(default_factory=list)

    @property
    def hash(self) -> str:
        """SHA-256 over the files, by name."""
        digest = hashlib.sha256()
        for name, text in sorted(self.texts.items()):
            digest.update(f"{name}\0{text}\0".encode())
        return digest.hexdigest()

    def names(self) -> set[str]:
        """Return the names of all shapes."""
        return {shape.name for shape in self.shapes.values()}

    def targets(self) -> list[Shape]:
        """Return the shapes that have targets and are not switched off, by name."""
        found = [s for s in self.shapes.values() if s.targets and not s.deactivated]
        return sorted(found, key=lambda shape: shape.name)

    def class_facts(self) -> list[str]:
        """Return the rdfs:subClassOf triples of the shape files as lines: data for every document."""
        return [line for line in self.graph.lines() if line.split(" ", 2)[1] == SUBCLASS]


def load(texts: Mapping[str, str]) -> ShapeSet:
    """Read shape files (Turtle) into one set.

    Args:
        texts: file name -> Turtle.

    Raises:
        UsageError: a file that is not Turtle, with its line.
    """
    prefixes: dict[str, str] = {}
    files = {name: _parse(name, text, prefixes) for name, text in sorted(texts.items())}
    found = load_lines(line for lines in files.values() for line in lines)
    found.texts.update(texts)
    found.files.update(files)
    found.prefixes.update(prefixes)
    return found


def load_lines(lines: Iterable[str]) -> ShapeSet:
    """Return the shapes that canonical N-Triples lines describe."""
    found = ShapeSet(Graph(dict.fromkeys(lines)), {})
    for node in _shape_nodes(found.graph):
        found.shapes[node] = _describe(found, node)
    return found


def _parse(name: str, text: str, prefixes: dict[str, str]) -> list[str]:
    try:
        reader = pyoxigraph.parse(text, format=pyoxigraph.RdfFormat.TURTLE)
        lines = canonical(reader)
    except SyntaxError as error:
        line = error.lineno or 0
        raise UsageError(
            f"the shapes cannot be read: {error.msg}",
            hint="shapes are Turtle files",
            where=f"{name}:{line}" if line else name,
        ) from None
    prefixes.update(reader.prefixes)
    return lines


def _shape_nodes(graph: Graph) -> list[Node]:
    """SHACL, section 2.1: what makes a node a shape."""
    instances = graph.instances()
    found: dict[Node, None] = {}
    for class_ in ("NodeShape", "PropertyShape"):
        found.update(dict.fromkeys(instances.get(sh(class_), ())))
    markers = {sh(name) for name in (*PARAMETERS, *TARGETS)}
    for subject, properties in graph.spo.items():
        if not markers.isdisjoint(properties):
            found.setdefault(subject)
        for name, parameter in PARAMETERS.items():
            for value in properties.get(sh(name), ()):
                if parameter.takes == "shape":
                    found.setdefault(value)
                elif parameter.takes == "shapes":
                    found.update(dict.fromkeys(graph.items(value)))
    return [node for node in found if node in graph.spo]


def _describe(found: ShapeSet, node: Node) -> Shape:
    graph = found.graph
    path: Path | None = None
    paths = graph.objects(node, sh("path"))
    if paths:
        try:
            path = read_path(graph, paths[0])
        except PathFaultError as error:
            found.faults.append((node, str(error)))
    return Shape(
        name=name_of(graph, node),
        node=node,
        path=path,
        message=_message(graph, node),
        severity=_severity(graph, node),
        rule=_rule(graph, node, ()),
        targets=bool(
            any(graph.objects(node, sh(target)) for target in TARGETS)
            or is_class(graph, node)
            or graph.objects(node, sh("target"))
        ),
        deactivated=quote("true", f"{XSD_BOOLEAN}") in graph.objects(node, sh("deactivated")),
    )


XSD_BOOLEAN = "http://www.w3.org/2001/XMLSchema#boolean"


def is_class(graph: Graph, node: Node) -> bool:
    """Return whether a shape is also a class, and so its own target (SHACL, 2.1.3.3)."""
    return any(_CLASS in graph.classes(type_) for type_ in graph.objects(node, TYPE))


def _message(graph: Graph, node: Node) -> str:
    messages = graph.objects(node, sh("message"))
    english = [m for m in messages if m.endswith("@en") or m.endswith('"')]
    return text_of((english or sorted(messages))[0]) if messages else ""


def _severity(graph: Graph, node: Node) -> str:
    given = graph.objects(node, sh("severity"))
    return SEVERITIES.get(given[0][len(SH) + 1 : -1], "violation") if given else "violation"


MOST_NAMED = 16
"""Shapes in one another that are looked through for a name and a rule; nobody writes more."""


def parents(graph: Graph, node: Node) -> Iterator[tuple[Node, str]]:
    """Yield the nodes that hold a shape, and by which parameter."""
    for name, parameter in PARAMETERS.items():
        if parameter.takes == "shape":
            for parent in graph.subjects(sh(name), node):
                yield parent, name
        elif parameter.takes == "shapes":
            for head, holders in graph.inverse(sh(name)).items():
                if node in graph.items(head):
                    for parent in holders:
                        yield parent, name


def _rule(graph: Graph, node: Node, seen: tuple[Node, ...]) -> str:
    see = sorted(graph.objects(node, _SEE))
    if see:
        return text_of(see[0])
    if len(seen) == MOST_NAMED:
        return ""
    for parent, _ in parents(graph, node):
        if parent not in seen:
            found = _rule(graph, parent, (*seen, node))
            if found:
                return found
    return ""


def name_of(graph: Graph, node: Node, seen: tuple[Node, ...] = ()) -> str:
    """Return the name that reports give to a shape, the same on every run."""
    if node.startswith("<"):
        return node[1:-1]
    steps = []
    for path in graph.objects(node, sh("path"))[:1]:
        try:
            steps.append(str(read_path(graph, path)))
        except PathFaultError:
            steps.append("?")
    deep = len(seen) == MOST_NAMED
    held = [] if deep else [pair for pair in parents(graph, node) if pair[0] not in seen]
    if not held:
        return " ".join(["shape without a name", *steps])
    parent, word = held[0]
    return " ".join([name_of(graph, parent, (*seen, node)), *(steps or [word])])


def beyond_referee(shapes: ShapeSet) -> frozenset[Node]:
    """Return the shapes that pySHACL must not be asked about, and those that hold them.

    It runs patterns with Python's `re`, whose time has no bound, where the compiled engine runs
    them with RE2; and it follows the inverse of a sequence in the wrong order.
    """
    graph = shapes.graph
    found: set[Node] = set()
    stack = [
        node
        for node, shape in shapes.shapes.items()
        if (shape.path is not None and shape.path.turns_a_sequence())
        or not all(is_linear(text_of(pattern)) for pattern in graph.objects(node, sh("pattern")))
    ]
    while stack:
        node = stack.pop()
        if node not in found:
            found.add(node)
            stack.extend(parent for parent, _ in parents(graph, node))
    return frozenset(found)


def short_name(name: str) -> str:
    """Return the name of a shape as reports print it: without the start that all of ours share.

    The code of a finding that no shape made is a word, and stays as it is.
    """
    if name.startswith(SHAPE):
        return name.removeprefix(SHAPE)
    return compact(f"<{name}>") if ":" in name else name


def line_of(text: str, word: str) -> int:
    """Return the first line of a text in which a word stands by itself; 0 when in none."""
    pattern = re.compile(rf"(?<![\w-]){re.escape(word)}(?![\w-])")
    for number, line in enumerate(text.splitlines(), 1):
        if pattern.search(line):
            return number
    return 0
