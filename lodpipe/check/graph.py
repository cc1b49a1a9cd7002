"""The triples of one document, indexed for the check.

Terms stay what they are in N-Triples: `<http://...>`, `_:b0`, `"text"`, `"1"^^<...#integer>`,
`"text"@en`. Two terms are the same RDF term when their strings are equal, so the lines must be
canonical (<https://www.w3.org/TR/rdf-canon/#canonical-quads>): `lodpipe.rdf.Emitter` writes
them so, and `canonical` makes them so for data of other hands.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Protocol

from pyoxigraph import BlankNode, NamedNode, Quad, Triple
from pyoxigraph import Literal as OxLiteral

from lodpipe.rdf.text import quoted

Node = str
"""One RDF term in canonical N-Triples."""

RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
RDFS = "http://www.w3.org/2000/01/rdf-schema#"
XSD = "http://www.w3.org/2001/XMLSchema#"
TYPE = f"<{RDF}type>"
SUBCLASS = f"<{RDFS}subClassOf>"
_STRING = f"{XSD}string"


class Document(Protocol):
    """What the emitter makes of one document: see `lodpipe.rdf.Emitted`."""

    @property
    def lines(self) -> Sequence[str]:
        """N-Triples lines in canonical form, without duplicates."""

    @property
    def nodes(self) -> Mapping[str, str]:
        """IRI of a node (without brackets) -> JSON Pointer in the document."""


class Graph:
    """Triples by subject and predicate; the way back is built when first asked for.

    `spo[subject][predicate]` is a list of objects without duplicates.
    """

    __slots__ = ("_classes", "_instances", "_inverse", "_united", "spo")

    def __init__(self, lines: Iterable[str] = ()) -> None:
        self.spo: dict[Node, dict[Node, list[Node]]] = {}
        self._inverse: dict[Node, dict[Node, list[Node]]] = {}
        self._classes: dict[Node, frozenset[Node]] = {}
        self._instances: dict[Node, list[Node]] | None = None
        self._united: dict[tuple[Node, ...], list[Node]] = {}
        self._read(lines)

    def _read(self, lines: Iterable[str]) -> None:
        spo = self.spo
        last = ""
        properties: dict[Node, list[Node]] = {}
        for line in lines:
            subject, predicate, object_ = line[:-2].split(" ", 2)
            if object_[-1] not in '">' and object_[0] == '"':
                object_ = _lower_tag(object_)
            if subject != last:
                last = subject
                properties = spo.setdefault(subject, {})
            values = properties.get(predicate)
            if values is None:
                properties[predicate] = [object_]
            else:
                values.append(object_)

    def add(self, subject: Node, predicate: Node, object_: Node) -> None:
        """Add one triple, unless it is there; only before anything was looked up."""
        values = self.spo.setdefault(subject, {}).setdefault(predicate, [])
        if object_ not in values:
            values.append(object_)

    def objects(self, subject: Node, predicate: Node) -> list[Node]:
        """Return the objects of a subject and predicate; not to be changed."""
        properties = self.spo.get(subject)
        return _NONE if properties is None else properties.get(predicate, _NONE)

    def subjects(self, predicate: Node, object_: Node) -> list[Node]:
        """Return the subjects that have the object; not to be changed."""
        return self.inverse(predicate).get(object_, _NONE)

    def inverse(self, predicate: Node) -> dict[Node, list[Node]]:
        """Return, for one predicate, its objects with their subjects."""
        found = self._inverse.get(predicate)
        if found is None:
            found = {}
            for subject, properties in self.spo.items():
                for object_ in properties.get(predicate, _NONE):
                    found.setdefault(object_, []).append(subject)
            self._inverse[predicate] = found
        return found

    def classes(self, class_: Node) -> frozenset[Node]:
        """Return a class and all classes above it, by the rdfs:subClassOf triples of this graph."""
        found = self._classes.get(class_)
        if found is None:
            reached = {class_}
            stack = [class_]
            while stack:
                for above in self.objects(stack.pop(), SUBCLASS):
                    if above not in reached:
                        reached.add(above)
                        stack.append(above)
            found = self._classes[class_] = frozenset(reached)
        return found

    def instances(self) -> dict[Node, list[Node]]:
        """Return, for each class, its instances: by rdf:type and the classes above (SHACL 1.4)."""
        if self._instances is None:
            found: dict[Node, list[Node]] = {}
            ordered = any(SUBCLASS in properties for properties in self.spo.values())
            for subject, properties in self.spo.items():
                types: Iterable[Node] = properties.get(TYPE, _NONE)
                if ordered:
                    types = {above for type_ in types for above in self.classes(type_)}
                for class_ in types:
                    found.setdefault(class_, []).append(subject)
            self._instances = found
        return self._instances

    def of_classes(self, classes: tuple[Node, ...]) -> list[Node]:
        """Return the instances of several classes, each once; not to be changed."""
        united = self._united.get(classes)
        if united is None:
            instances = self.instances()
            found = [instances[class_] for class_ in classes if class_ in instances]
            united = found[0] if len(found) == 1 else _NONE
            if len(found) > 1:
                united = list(dict.fromkeys(node for nodes in found for node in nodes))
            self._united[classes] = united
        return united

    def items(self, head: Node) -> list[Node]:
        """Return the members of an RDF list; those before the fault when it is broken."""
        members: list[Node] = []
        seen: set[Node] = set()
        while head != f"<{RDF}nil>" and head not in seen:
            seen.add(head)
            first = self.objects(head, f"<{RDF}first>")
            rest = self.objects(head, f"<{RDF}rest>")
            if not first or not rest:
                break
            members.append(first[0])
            head = rest[0]
        return members

    def lines(self) -> list[str]:
        """Return the triples as N-Triples lines."""
        return [
            f"{subject} {predicate} {object_} ."
            for subject, properties in self.spo.items()
            for predicate, values in properties.items()
            for object_ in values
        ]

    def __len__(self) -> int:
        return sum(
            len(values) for properties in self.spo.values() for values in properties.values()
        )


_NONE: list[Node] = []


def _lower_tag(literal: Node) -> Node:
    """Language tags are compared without case: RDF 1.1 Concepts, 3.3."""
    at = literal.rindex("@")
    return literal[:at] + literal[at:].lower()


def quote(text: str, datatype: str = "", language: str = "") -> Node:
    """Return a literal in canonical N-Triples.

    >>> quote("1866", "http://www.w3.org/2001/XMLSchema#gYear")
    '"1866"^^<http://www.w3.org/2001/XMLSchema#gYear>'
    """
    body = quoted(text)
    if language:
        return f"{body}@{language.lower()}"
    return body if datatype in ("", _STRING) else f"{body}^^<{datatype}>"


def canonical(triples: Iterable[Quad | Triple]) -> list[str]:
    """Return the triples of a parsed file as canonical lines, in order and without duplicates."""
    return sorted({f"{_term(t.subject)} {_term(t.predicate)} {_term(t.object)} ." for t in triples})


def _term(term: NamedNode | BlankNode | OxLiteral | Triple) -> Node:
    if isinstance(term, OxLiteral):
        return quote(term.value, term.datatype.value, term.language or "")
    return str(term)
