"""Rules that SHACL Core cannot say, in the form of shapes.

Core compares the values of a path with those of a predicate at the focus node, never with those
of another path, and never pair by pair. Whether a value stands directly at a node although only
a doubted claim gives it needs both: the value may stand there because another claim gives it
too, and that one is certain. (A claim `possibly` that became certain is the usual case.) Nor
can it compare the ends of two paths, as of a birth and a death.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lodpipe.aspects import builtin_aspects
from lodpipe.check.graph import RDFS, TYPE, Graph, Node
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
_PRODUCTION = f"<{CRM}E12_Production>"
_MODIFICATION = f"<{CRM}E11_Modification>"
_MODIFIED = f"<{CRM}P31i_was_modified_by>"
_PARTS = f"<{CRM}P9_consists_of>"
_ROLE = "/vocab/role/"
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
                    if predicate == _PARTS and _is_making(graph, value):
                        yield from _said_inside(graph, claim, node, value, certain)
                    else:
                        yield _Said(claim, node, predicate, value, certain)


def _said_inside(
    graph: Graph, claim: Node, node: Node, inner: Node, certain: bool
) -> Iterator[_Said]:
    """What a claim says that assigns a whole production: one claim for each of its properties.

    They are about the part that has the role of that production; about the whole if it has none.
    """
    events = _Events(graph)
    roles = events.roles(inner)
    parts = [n for n in graph.objects(node, _PARTS) if not roles.isdisjoint(events.roles(n))]
    for predicate, values in graph.spo[inner].items():
        if predicate not in (TYPE, _LABEL, _KIND, _PARTS):
            for value in values:
                yield _Said(claim, parts[0] if parts else node, predicate, value, certain)


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


@dataclass(slots=True)
class _Events:
    """How a thing was made and changed: the nodes on which one value may be met.

    A value on the whole production, or on a part that says no role, reads like one of each of its
    parts. On a part with a role of its own it does not: a certain printer may possibly have been
    the photographer too.
    """

    graph: Graph

    def reach(self, node: Node) -> Iterator[Node]:
        """Yield the nodes on which a value that a claim about a node doubts is met as a fact."""
        roles, main = self.roles(node), builtin_aspects().main_nodes
        for other in self.around(node):
            others = self.roles(other)
            same = not others.isdisjoint(roles)
            if other == node or not others or same or (not roles and not others.isdisjoint(main)):
                yield other

    def around(self, node: Node) -> list[Node]:
        """Return the nodes of the making that a node belongs to; for a modification, of all."""
        kinds = self.graph.objects(node, TYPE)
        if _MODIFICATION in kinds and _PRODUCTION not in kinds:
            things = self.graph.subjects(_MODIFIED, node)
            return [n for thing in things for n in self.graph.objects(thing, _MODIFIED)] or [node]
        if _PRODUCTION not in kinds:
            return [node]
        found, waiting = {node: None}, [node]
        while waiting:
            one = waiting.pop()
            near = (*self.graph.subjects(_PARTS, one), *self.graph.objects(one, _PARTS))
            near = tuple(n for n in near if n not in found and _is_making(self.graph, n))
            found.update(dict.fromkeys(near))
            waiting.extend(near)
        return list(found)

    def roles(self, node: Node) -> frozenset[str]:
        """Return the roles that a node says it has."""
        kinds = (text_of(kind) for kind in self.graph.objects(node, _KIND))
        return frozenset(kind.rpartition(_ROLE)[2] for kind in kinds if _ROLE in kind)


def _is_making(graph: Graph, node: Node) -> bool:
    return _PRODUCTION in graph.objects(node, TYPE)


def _doubted(graph: Graph) -> tuple[int, list[Raw]]:
    said = list(_said(graph))
    if not said:
        return len(graph.instances().get(_CLAIM, ())), []
    events = _Events(graph)
    certain: dict[tuple[Node, object], set[Node]] = {}
    for one in said:
        if one.certain:
            key = one.predicate, _meaning(graph, one.value)
            certain.setdefault(key, set()).add(one.node)
    found = []
    for one in said:
        if one.certain:
            continue
        meaning = _meaning(graph, one.value)
        settled = certain.get((one.predicate, meaning), set())
        for node in events.reach(one.node):
            values = graph.objects(node, one.predicate)
            if not values or _settles(events, settled, node):
                continue
            for value in values:
                if value == one.value or _meaning(graph, value) == meaning:
                    path = compact(one.predicate)
                    found.append(Raw(node, path, "ClaimNotStated", value, DOUBTED.shape.node))
    return len(graph.instances().get(_CLAIM, ())), sorted(set(found))


def _settles(events: _Events, settled: set[Node], node: Node) -> bool:
    """Whether certain claims about some nodes allow their value on a node: the whole has it too."""
    roles = events.roles(node)
    return any(
        one == node or not roles.isdisjoint(events.roles(one)) or (not roles and one in around)
        for around in [events.around(node)]
        if settled
        for one in settled
    )


def _inner(graph: Graph) -> tuple[int, list[Raw]]:
    claims = graph.instances().get(_CLAIM, ())
    found = []
    for claim in claims:
        for value in graph.objects(claim, _VALUE):
            if _PARTS in graph.objects(claim, _PROPERTY) and _is_making(graph, value):
                path = compact(_VALUE)
                found.append(Raw(claim, path, "ClaimInnerProduction", value, INNER.shape.node))
    return len(claims), sorted(set(found))


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
INNER = _rule(
    "claim-inner-production",
    "claim",
    WARNING,
    "https://linked.art/model/assertion/",
    "the guess is within reach of plain queries: a query on productions meets the production that "
    "the claim assigns; put the claim on the part that it is about, with the real property",
    _inner,
)
LIFE = _rule(
    "person-life",
    "person",
    VIOLATION,
    "https://www.cidoc-crm.org/html/cidoc_crm_v7.1.3.html#E21",
    "the person dies before being born: look whether the two dates were exchanged",
    _lives,
)
RULES = (DOUBTED, CERTAIN, INNER, LIFE)
