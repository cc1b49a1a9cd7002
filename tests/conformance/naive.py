"""What somebody meets who queries the published triples plainly and has never heard of claims.

"Productions carried out by X" must give X only where a claim that holds, without any hedge, or
the catalogue itself says so. The queries are SPARQL, run by pyoxigraph over what is published,
under the subclasses of CIDOC CRM; each value found is then looked up among the doubted ones.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import pyoxigraph as ox
from conformance.crm import CRM, TYPE, Crm

EVENTS = ("E12_Production", "E11_Modification")
QUERIES = (
    *(
        (name, key)
        for name in EVENTS
        for key in (
            "P4_has_time-span", "P7_took_place_at", "P14_carried_out_by", "P15_was_influenced_by",
            "P16_used_specific_object", "P32_used_general_technique", "P9i_forms_part_of",
            "P9_consists_of", "P183_ends_before_the_start_of", "P183i_starts_after_the_end_of",
        )
    ),
    ("E36_Visual_Item", "P138_represents"),
    ("E36_Visual_Item", "P199_represents_instance_of_type"),
    ("E21_Person", "P107i_is_current_or_former_member_of"),
    ("E22_Human-Made_Object", "P1_is_identified_by"),
    ("E22_Human-Made_Object", "P108i_was_produced_by"),
)  # fmt: skip
"""Class and property of each naive query: modelled on what the claims of things are about."""

_STANDINGS = "/vocab/standing/"
_QUALIFIERS = "/vocab/qualifier/"
_ENDS = (CRM + "P82a_begin_of_the_begin", CRM + "P82b_end_of_the_end")
_QUOTING = {CRM + "P141_assigned", "http://www.w3.org/1999/02/22-rdf-syntax-ns#object"}
_CONTENT = CRM + "P190_has_symbolic_content"
Statement = tuple[str, str, str]


@dataclass(slots=True)
class _Said:
    """What the claims say, as (node, property, value), and the nodes that only doubt brought."""

    settled: set[Statement] = field(default_factory=set)
    doubted: dict[tuple[str, str], set[str]] = field(default_factory=lambda: defaultdict(set))
    inner: set[str] = field(default_factory=set)


def hits(lines: Iterable[str], crm: Crm) -> list[Statement]:
    """Return what the naive queries find in published lines: node, property, value."""
    store = store_of(lines)
    return list(_hits(store, crm))


def doubted_hits(lines: Iterable[str], crm: Crm) -> list[Statement]:
    """Return the naive hits whose value is doubted, former, rejected or one of several; must be [].

    Args:
        lines: N-Quads (or N-Triples) lines of one document, or of many.
    """
    store = store_of(lines)
    said = _said(store)
    return sorted({hit for hit in _hits(store, crm) if _is_doubted(store, said, hit)})


def store_of(lines: Iterable[str]) -> ox.Store:
    """Return a store of published lines, graphs merged as stores do."""
    store = ox.Store()
    quads = ox.parse("\n".join(lines), format=ox.RdfFormat.N_QUADS)
    store.extend(ox.Quad(q.subject, q.predicate, q.object) for q in quads)
    return store


def _hits(store: ox.Store, crm: Crm) -> Iterator[Statement]:
    stated = {quad.object.value for quad in store.quads_for_pattern(None, ox.NamedNode(TYPE), None)}
    for name, key in QUERIES:
        classes = " ".join(f"<{kind}>" for kind in sorted(stated) if CRM + name in crm.above(kind))
        query = (
            f"SELECT DISTINCT ?x ?v WHERE {{ VALUES ?class {{ {classes} }} "
            f"?x a ?class ; <{CRM}{key}> ?v }}"
        )
        for row in store.query(query):
            yield row["x"].value, CRM + key, row["v"].value


def holds(store: ox.Store, claim: str) -> bool:
    """Return whether a claim is current, unhedged and none of several alternatives."""
    types = values(store, claim, CRM + "P2_has_type")
    standings = {iri.partition(_STANDINGS)[2] for iri in types if _STANDINGS in iri}
    return standings == {"current"} and not any(_QUALIFIERS in iri for iri in types)


def values(store: ox.Store, node: str, key: str) -> list[str]:
    """Return the values of a property of a node, IRIs and texts alike."""
    pattern = store.quads_for_pattern(ox.NamedNode(node), ox.NamedNode(key), None)
    return [quad.object.value for quad in pattern]


def _said(store: ox.Store) -> _Said:
    said = _Said()
    carried = ox.NamedNode(CRM + "P140i_was_attributed_by")
    for quad in store.quads_for_pattern(None, carried, None):
        claim = quad.object.value
        certain = holds(store, claim)
        for key in values(store, claim, CRM + "P177_assigned_property_of_type"):
            for value in values(store, claim, CRM + "P141_assigned"):
                for same in likenesses(store, value):
                    if certain:
                        said.settled.add((quad.subject.value, key, same))
                    else:
                        said.doubted[key, same].add(quad.subject.value)
                if not certain and _only_claimed(store, value):
                    said.inner.add(value)
    return said


def _only_claimed(store: ox.Store, value: str) -> bool:
    """Return whether a node is there for a claim alone: an event inside `assigned`, say."""
    incoming = store.quads_for_pattern(None, None, ox.NamedNode(value))
    return "#" in value and {quad.predicate.value for quad in incoming} <= _QUOTING


def likenesses(store: ox.Store, value: str) -> set[str]:
    """Return a value and what it says: the time span of a claim is another node, the ends are one."""
    found = {value}
    ends = [*values(store, value, _ENDS[0]), *values(store, value, _ENDS[1])]
    if ends:
        found.add("/".join(ends))
    return found | {f'"{text}"' for text in values(store, value, _CONTENT)}


def _is_doubted(store: ox.Store, said: _Said, hit: Statement) -> bool:
    node, key, value = hit
    if node in said.inner:
        return True
    same = likenesses(store, value)
    if any((node, key, one) in said.settled for one in same):
        return False
    carriers = set().union(*(said.doubted[key, one] for one in same if (key, one) in said.doubted))
    return any(carrier in _kin(store, node) for carrier in carriers)


def _kin(store: ox.Store, node: str) -> set[str]:
    """Return an event with its parts and the events that it is part of, in this document."""
    part = ox.NamedNode(CRM + "P9_consists_of")
    found, waiting = {node}, [node]
    while waiting:
        name = ox.NamedNode(waiting.pop())
        near = {quad.object.value for quad in store.quads_for_pattern(name, part, None)}
        near |= {quad.subject.value for quad in store.quads_for_pattern(None, part, name)}
        waiting += near - found
        found |= near
    return found
