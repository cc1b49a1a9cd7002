"""The triples of documents against the RDFS of CIDOC CRM 7.1.3.

Each property of the crm: namespace must be declared, its subject must be in the domain and its
object in the range, by the types that the same document states. Each document is checked alone:
over several a wrong type in one is hidden by the right type in another.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pyoxigraph as ox

CRM = "http://www.cidoc-crm.org/cidoc-crm/"
RDFS = "http://www.w3.org/2000/01/rdf-schema#"
TYPE = "http://www.w3.org/1999/02/22-rdf-syntax-ns#type"
FILE = "reference/cidoc-crm/CIDOC_CRM_v7.1.3_base.rdf"

LA = "https://linked.art/ns/terms/"
INF = "http://www.cidoc-crm.org/extensions/crminf/"
DIG = "http://www.ics.forth.gr/isl/CRMdig/D1_Digital_Object"
OUTSIDE = {
    # class of another vocabulary -> classes that it lies below. Linked Art's from its ontology
    # (https://linked.art/ns/terms/), but for Set, which that puts below E89: we keep to the wider
    # E28, so that no Set is said to be about something. CRMinf and CRMsci: from their class lists.
    DIG: (CRM + "E73_Information_Object",),
    LA + "Addition": (CRM + "E7_Activity",),
    LA + "DigitalService": (DIG,),
    LA + "Payment": (CRM + "E7_Activity",),
    LA + "RightAcquisition": (CRM + "E7_Activity",),
    LA + "Set": (CRM + "E28_Conceptual_Object", CRM + "E72_Legal_Object"),
    "http://www.ics.forth.gr/isl/CRMsci/S19_Encounter_Event": (CRM + "E7_Activity",),
    INF + "I2_Belief": (CRM + "E2_Temporal_Entity",),
    INF + "I4_Proposition_Set": (CRM + "E73_Information_Object",),
    INF + "I5_Inference_Making": (CRM + "E7_Activity",),
}
EXPECTED = {
    # a CRM property is itself a type (scope note of E55), so what P177 names needs no type triple
    ("range", "P177_assigned_property_of_type"),
    # extension of Linked Art in the crm: namespace
    ("declared", "P199_represents_instance_of_type"),
}


@dataclass(frozen=True, slots=True)
class Problem:
    """One triple that CRM does not allow: `kind` is declared, domain or range."""

    kind: str
    property: str
    subject: str
    object: str
    types: tuple[str, ...] = ()

    @property
    def expected(self) -> bool:
        """Whether it is one of the exceptions that are known and have a reason."""
        return (self.kind, self.property) in EXPECTED


class Crm:
    """The classes and properties that CIDOC CRM 7.1.3 declares."""

    def __init__(self, rdfs: Path) -> None:
        self.parents: dict[str, set[str]] = defaultdict(set)
        self.domain: dict[str, str] = {}
        self.range: dict[str, str] = {}
        self.declared: set[str] = set()
        for quad in ox.parse(rdfs.read_bytes(), format=ox.RdfFormat.RDF_XML, base_iri=CRM):
            if isinstance(quad.subject, ox.NamedNode) and isinstance(quad.object, ox.NamedNode):
                self._take(quad.subject.value, quad.predicate.value, quad.object.value)
        for name, parents in OUTSIDE.items():
            self.parents[name].update(parents)
        self.above: Callable[[str], frozenset[str]] = cache(self._above)

    def _take(self, subject: str, predicate: str, target: str) -> None:
        self.declared.add(subject)
        if predicate == RDFS + "subClassOf":
            self.parents[subject].add(target)
        elif predicate == RDFS + "domain":
            self.domain[subject] = target
        elif predicate == RDFS + "range":
            self.range[subject] = target

    def _above(self, name: str) -> frozenset[str]:
        return frozenset({name}).union(*(self._above(parent) for parent in self.parents[name]))

    def problems(self, triples: Iterable[str]) -> tuple[list[Problem], int]:
        """Return what is wrong in the triples of one document, and how many were checked.

        Args:
            triples: N-Triples or N-Quads lines.
        """
        text = "\n".join(triples)
        quads = list(ox.parse(text, format=ox.RdfFormat.N_QUADS))
        types: dict[str, set[str]] = defaultdict(set)
        for quad in quads:
            if quad.predicate.value == TYPE:
                types[str(quad.subject)].add(quad.object.value)
        found, checked = [], 0
        for quad in quads:
            if quad.predicate.value.startswith(CRM):
                checked += 1
                found.extend(self._problems(quad, types))
        return found, checked

    def _problems(self, quad: ox.Quad, types: dict[str, set[str]]) -> Iterable[Problem]:
        name = quad.predicate.value
        short, subject, target = name.removeprefix(CRM), str(quad.subject), str(quad.object)
        if name not in self.domain:
            yield Problem("declared", short, subject, target)
            return
        if not self._is(types[subject], self.domain[name]):
            yield Problem("domain", short, subject, target, tuple(sorted(types[subject])))
        wanted = self.range[name]
        if wanted == RDFS + "Literal":
            if not isinstance(quad.object, ox.Literal):
                yield Problem("range", short, subject, target)
        elif isinstance(quad.object, ox.Literal) or not self._is(types[target], wanted):
            yield Problem("range", short, subject, target, tuple(sorted(types[target])))

    def _is(self, types: set[str], wanted: str) -> bool:
        return any(wanted in self.above(name) for name in types)
