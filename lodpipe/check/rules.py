"""Rules that SHACL Core cannot say, in the form of shapes.

Core compares the values of a path with those of a predicate at the focus node, never with those
of another path, and never pair by pair. Whether a value stands directly at a node although only
a doubted claim gives it needs both: the value may stand there because another claim gives it
too, and that one is certain. (A claim `possibly` that became certain is the usual case.) Nor
can it compare the ends of two paths, as of a birth and a death.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lodpipe.check.graph import RDFS, Graph, Node
from lodpipe.check.literals import compare, text_of
from lodpipe.check.paths import PREFIXES, compact
from lodpipe.check.results import Raw
from lodpipe.check.shapes import SHAPE, Shape
from lodpipe.findings import VIOLATION, WARNING

CRM = PREFIXES["crm"]
_CLAIM = f"<{CRM}E13_Attribute_Assignment>"
_CARRIES = f"<{CRM}P140i_was_attributed_by>"
_PROPERTY = f"<{CRM}P177_assigned_property_of_type>"
_VALUE = f"<{CRM}P141_assigned>"
_KIND = f"<{CRM}P2_has_type>"
_NAMED = f"<{CRM}P1_is_identified_by>"
_CONTENT = f"<{CRM}P190_has_symbolic_content>"
_LABEL = f"<{RDFS}label>"
_PERSON = f"<{CRM}E21_Person>"
_BORN = f"<{CRM}P98i_was_born>"
_DIED = f"<{CRM}P100i_died_in>"
_WHEN = f"<{CRM}P4_has_time-span>"
_EARLIEST = f"<{CRM}P82a_begin_of_the_begin>"
_LATEST = f"<{CRM}P82b_end_of_the_end>"

Check = Callable[[Graph], tuple[int, list[Raw]]]
"""Number of focus nodes, and the results."""


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule in Python that reports print like a shape; run when the shape `beside` is there."""

    shape: Shape
    beside: str
    check: Check


@dataclass(frozen=True, slots=True)
class _Said:
    """One claim of a document: the node, property and value that it is about."""

    claim: Node
    node: Node
    predicate: Node
    value: Node
    certain: bool


def _said(graph: Graph) -> Iterator[_Said]:
    for claim in graph.instances().get(_CLAIM, ()):
        kinds = [text_of(kind) for kind in graph.objects(claim, _KIND)]
        certain = any(kind.endswith("vocab/standing/current") for kind in kinds) and not any(
            "vocab/qualifier/" in kind or kind.endswith("vocab/standing/alternative")
            for kind in kinds
        )
        for node in graph.subjects(_CARRIES, claim):
            for predicate in graph.objects(claim, _PROPERTY):
                for value in graph.objects(claim, _VALUE):
                    yield _Said(claim, node, predicate, value, certain)


def _meaning(graph: Graph, value: Node) -> object:
    """What a value says: two time spans or names with the same content say the same."""
    properties = graph.spo.get(value, {})
    literals = frozenset(
        (predicate, object_)
        for predicate, objects in properties.items()
        if predicate != _LABEL
        for object_ in objects
        if object_[0] == '"'
    )
    if literals:
        return literals
    names = frozenset(
        content for name in properties.get(_NAMED, ()) for content in graph.objects(name, _CONTENT)
    )
    return names or value


def _doubted(graph: Graph) -> tuple[int, list[Raw]]:
    said = list(_said(graph))
    if not said:
        return len(graph.instances().get(_CLAIM, ())), []
    certain = {(one.node, one.predicate, _meaning(graph, one.value)) for one in said if one.certain}
    found = []
    for one in said:
        if one.certain:
            continue
        meaning = _meaning(graph, one.value)
        if (one.node, one.predicate, meaning) in certain:
            continue
        for value in graph.objects(one.node, one.predicate):
            if value == one.value or _meaning(graph, value) == meaning:
                path = compact(one.predicate)
                found.append(Raw(one.node, path, "ClaimNotStated", value, DOUBTED.shape.node))
    return len(graph.instances().get(_CLAIM, ())), sorted(set(found))


def _certain(graph: Graph) -> tuple[int, list[Raw]]:
    found = []
    for one in _said(graph):
        if one.certain:
            meaning = _meaning(graph, one.value)
            direct = graph.objects(one.node, one.predicate)
            if not any(v == one.value or _meaning(graph, v) == meaning for v in direct):
                path = compact(one.predicate)
                found.append(Raw(one.node, path, "ClaimStated", one.value, CERTAIN.shape.node))
    return len(graph.instances().get(_CLAIM, ())), sorted(set(found))


def _lives(graph: Graph) -> tuple[int, list[Raw]]:
    found = []
    count = 0
    for person in graph.instances().get(_PERSON, ()):
        births = graph.objects(person, _BORN)
        deaths = graph.objects(person, _DIED)
        count += bool(births and deaths)
        for birth in births:
            for death in deaths:
                for first in _ends(graph, birth, _EARLIEST):
                    for last in _ends(graph, death, _LATEST):
                        if compare(first, last) == 1:
                            found.append(Raw(person, "", "LifeInOrder", last, LIFE.shape.node))
    return count, found


def _ends(graph: Graph, event: Node, end: Node) -> list[Node]:
    return [v for span in graph.objects(event, _WHEN) for v in graph.objects(span, end)]


def _rule(name: str, beside: str, severity: str, source: str, message: str, check: Check) -> Rule:
    iri = f"{SHAPE}{name}"
    shape = Shape(
        name=iri,
        node=f"<{iri}>",
        path=None,
        message=message,
        severity=severity,
        rule=source,
        targets=True,
        deactivated=False,
    )
    return Rule(shape, f"{SHAPE}{beside}", check)


DOUBTED = _rule(
    "claim-not-stated",
    "claim",
    VIOLATION,
    "https://linked.art/model/assertion/",
    "a value that only a qualified, proposed, former or rejected claim gives is stated as a fact: "
    "take it out of the catalogue's plain value, or add the claim that makes it certain",
    _doubted,
)
CERTAIN = _rule(
    "claim-stated",
    "claim",
    WARNING,
    "https://linked.art/model/assertion/",
    "a current claim without qualifier is not stated directly, so plain queries do not find it: "
    "look whether another value stands in its place",
    _certain,
)
LIFE = _rule(
    "person-life",
    "person",
    VIOLATION,
    "https://www.cidoc-crm.org/html/cidoc_crm_v7.1.3.html#E21",
    "the person dies before being born: look whether the two dates were exchanged",
    _lives,
)
RULES = (DOUBTED, CERTAIN, LIFE)
