"""Property paths of SHACL: read from a shapes graph, written as text, turned into functions.

SHACL, section 2.3.1 <https://www.w3.org/TR/shacl/#property-paths>. The text is that of SPARQL
1.1 property paths, with the usual prefixes: `^crm:P140i_was_attributed_by/crm:P2_has_type`.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from lodpipe.check.graph import RDF, RDFS, XSD, Graph, Node
from lodpipe.check.words import PATHS, SH, sh

PREFIXES = {
    "crm": "http://www.cidoc-crm.org/cidoc-crm/",
    "crminf": "http://www.cidoc-crm.org/extensions/crminf/",
    "dc": "http://purl.org/dc/elements/1.1/",
    "dcterms": "http://purl.org/dc/terms/",
    "dig": "http://www.ics.forth.gr/isl/CRMdig/",
    "la": "https://linked.art/ns/terms/",
    "prov": "http://www.w3.org/ns/prov#",
    "rdf": RDF,
    "rdfs": RDFS,
    "sci": "http://www.ics.forth.gr/isl/CRMsci/",
    "sh": SH,
    "skos": "http://www.w3.org/2004/02/skos/core#",
    "xsd": XSD,
}
"""Prefixes that reports use; other IRIs stand in full, in angle brackets."""

Values = Callable[[Graph, Node], list[Node]]
"""What a compiled path is: the value nodes of a focus node, without duplicates."""


class PathFaultError(ValueError):
    """A path that SHACL does not allow; the message says what is wrong."""


@dataclass(frozen=True, slots=True)
class Path:
    """A path: `op` is empty for a predicate, else one of `^ / | * + ?`, with its parts."""

    op: str
    predicate: Node = ""
    parts: tuple["Path", ...] = ()

    def __str__(self) -> str:
        if not self.op:
            return compact(self.predicate)
        if self.op == "^":
            return f"^{_in_brackets(self.parts[0])}"
        if self.op in "*+?":
            return f"{_in_brackets(self.parts[0])}{self.op}"
        looser = "/|" if self.op == "/" else "|"
        return self.op.join(f"({p})" if p.op and p.op in looser else str(p) for p in self.parts)

    def turns_a_sequence(self, inverse: bool = False) -> bool:
        """Return whether a sequence stands under an inverse."""
        inverse = inverse or self.op == "^"
        return (inverse and self.op == "/") or any(p.turns_a_sequence(inverse) for p in self.parts)


def _in_brackets(path: Path) -> str:
    return f"({path})" if path.op else str(path)


def compact(node: Node) -> str:
    """Return an IRI node with its prefix where we know it; other nodes unchanged.

    >>> compact("<http://www.w3.org/2000/01/rdf-schema#label>")
    'rdfs:label'
    """
    if node.startswith("<"):
        iri = node[1:-1]
        for prefix, start in PREFIXES.items():
            rest = iri[len(start) :]
            if iri.startswith(start) and rest and not set(rest) & set("/#()|^*+?:"):
                return f"{prefix}:{rest}"
    return node


def read_path(graph: Graph, node: Node, seen: tuple[Node, ...] = ()) -> Path:
    """Return the path that a node of a shapes graph stands for.

    Raises:
        PathFaultError: not a well-formed path, or one that contains itself.
    """
    if node.startswith("<") and not graph.objects(node, f"<{RDF}first>"):
        return Path("", node)
    if node.startswith('"'):
        raise PathFaultError(f"the literal {node} is not a path")
    if node in seen:
        raise PathFaultError("a path that contains itself")
    seen = (*seen, node)
    if graph.objects(node, f"<{RDF}first>"):
        return Path("/", parts=_members(graph, node, seen))
    found = [(name, o) for name in PATHS for o in graph.objects(node, sh(name))]
    if len(found) != 1:
        raise PathFaultError("a path needs exactly one of " + ", ".join(f"sh:{n}" for n in PATHS))
    name, inner = found[0]
    if name == "alternativePath":
        return Path("|", parts=_members(graph, inner, seen))
    op = {"inversePath": "^", "zeroOrMorePath": "*", "oneOrMorePath": "+", "zeroOrOnePath": "?"}
    return Path(op[name], parts=(read_path(graph, inner, seen),))


def _members(graph: Graph, head: Node, seen: tuple[Node, ...]) -> tuple[Path, ...]:
    members = graph.items(head)
    if len(members) < 2:
        raise PathFaultError("a sequence or alternative path needs at least two members")
    return tuple(read_path(graph, member, seen) for member in members)


_TOKEN = re.compile(r"<[^>]*>|[a-z]+:[^\s/|^*+?()]+|[/|^*+?()]")


def path_of(text: str) -> Path:
    """Return the path that `str` of it wrote.

    >>> str(path_of("^rdf:type/(rdfs:label|sh:name)*"))
    '^rdf:type/(rdfs:label|sh:name)*'
    """
    tokens = _TOKEN.findall(text)

    def alternatives() -> Path:
        return _united("|", sequence)

    def sequence() -> Path:
        return _united("/", step)

    def _united(op: str, part: Callable[[], Path]) -> Path:
        parts = [part()]
        while tokens and tokens[0] == op:
            tokens.pop(0)
            parts.append(part())
        return parts[0] if len(parts) == 1 else Path(op, parts=tuple(parts))

    def step() -> Path:
        if tokens[0] == "^":
            tokens.pop(0)
            return Path("^", parts=(step(),))
        word = tokens.pop(0)
        if word == "(":
            found = alternatives()
            tokens.pop(0)
        else:
            found = Path("", _expanded(word))
        while tokens and tokens[0] in "*+?":
            found = Path(tokens.pop(0), parts=(found,))
        return found

    return alternatives()


def _expanded(word: str) -> Node:
    if word.startswith("<"):
        return word
    prefix, _, local = word.partition(":")
    return f"<{PREFIXES[prefix]}{local}>"


def compile_path(path: Path) -> Values:
    """Return the function that follows a path from a focus node; values come without duplicates."""
    if not path.op:
        predicate = path.predicate
        return lambda graph, focus: graph.objects(focus, predicate)
    if path.op == "^" and not path.parts[0].op:
        predicate = path.parts[0].predicate
        return lambda graph, focus: graph.subjects(predicate, focus)
    if path.op == "^":
        return compile_path(_invert(path.parts[0]))
    steps = [compile_path(part) for part in path.parts]
    if path.op == "/":
        return _sequence(steps)
    if path.op == "|":
        return _alternative(steps)
    if path.op == "?":
        return lambda graph, focus: list(dict.fromkeys((focus, *steps[0](graph, focus))))
    return _closure(steps[0], path.op == "*")


def _invert(path: Path) -> Path:
    if not path.op:
        return Path("^", parts=(path,))
    if path.op == "^":
        return path.parts[0]
    parts = [_invert(part) for part in path.parts]
    return Path(path.op, parts=tuple(reversed(parts) if path.op == "/" else parts))


def _sequence(steps: list[Values]) -> Values:
    def values(graph: Graph, focus: Node) -> list[Node]:
        nodes = [focus]
        for step in steps:
            if len(nodes) == 1:
                nodes = step(graph, nodes[0])
            else:
                nodes = list(dict.fromkeys(v for node in nodes for v in step(graph, node)))
            if not nodes:
                return nodes
        return nodes

    return values


def _alternative(steps: list[Values]) -> Values:
    def values(graph: Graph, focus: Node) -> list[Node]:
        return list(dict.fromkeys(v for step in steps for v in step(graph, focus)))

    return values


def _closure(step: Values, with_start: bool) -> Values:
    def values(graph: Graph, focus: Node) -> list[Node]:
        reached = {focus: None} if with_start else {}
        stack = [focus]
        expanded = {focus}
        while stack:
            for value in step(graph, stack.pop()):
                reached.setdefault(value)
                if value not in expanded:
                    expanded.add(value)
                    stack.append(value)
        return list(reached)

    return values
