"""N-Quads: one graph a document, with beliefs and quoted propositions for its claims.

A claim (E13) concludes a belief (I2) that a proposition (I4) holds in the sense of its standing
(CRMinf, https://www.cidoc-crm.org/crminf/; names and direction of its properties as in version
1.2). The proposition is quoted: an rdf:Statement (https://www.w3.org/TR/rdf-schema/#ch_reifvocab)
or, in RDF 1.2, what a reifier reifies (https://www.w3.org/TR/rdf12-concepts/#section-reification).
It is never asserted and never a named graph, because stores merge graphs, and a guess would become
a fact. PROV (https://www.w3.org/TR/prov-o/) says who, from what, and what was revised.

All of it follows by rule from the claims as the emitter found them in the document, so the
proposition repeats exactly what the claim says. Facts that a claim reasons from, its premises,
are not in the document; the caller names them.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence

import orjson

from lodpipe.iris import segment
from lodpipe.rdf import Assignment, Emitted, Emitter
from lodpipe.rdf.text import quoted
from lodpipe.records import Claim, Premise
from lodpipe.terms import Concepts

CRMINF = "http://www.cidoc-crm.org/extensions/crminf/"
PROV = "http://www.w3.org/ns/prov#"
RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
RDFS = "http://www.w3.org/2000/01/rdf-schema#"

_TYPE = f"<{RDF}type>"
_P2 = "<http://www.cidoc-crm.org/cidoc-crm/P2_has_type>"
_CLAIM = "#claim-"
_NOT_HELD = "standing/alternative"
"""Stands beside `current` and says nothing of what is held."""


class Beliefs:
    """Adds to the claims of a document what JSON cannot say: belief, proposition, premises.

    Args:
        base: base IRI of the site.
        concepts: our concepts; their standings and qualifiers are looked for on the claims.
        rdf12: quote propositions as triple terms of RDF 1.2 instead of reification.
    """

    def __init__(self, base: str, concepts: Concepts, *, rdf12: bool = False) -> None:
        iris = {
            concept.term: concept.iri if ":" in concept.iri else base + concept.iri
            for concept in concepts
        }
        self._standings = {
            iri for term, iri in iris.items() if term.startswith("standing/") and term != _NOT_HELD
        }
        self._qualifiers = {iri for term, iri in iris.items() if term.startswith("qualifier/")}
        self._current = iris["standing/current"]
        self._rdf12 = rdf12

    def lines(
        self, emitted: Emitted, premises: Mapping[str, Sequence[Premise]] | None = None
    ) -> list[str]:
        """Return N-Triples lines, sorted, for the claims of a document that have a standing.

        Args:
            premises: by key of the claim.
        """
        found: set[str] = set()
        for claim in emitted.assignments:
            types = _ids(claim.tree.get("classified_as"))
            standings = [iri for iri in types if iri in self._standings]
            if not standings or not claim.values:
                continue
            qualifiers = [iri for iri in types if iri in self._qualifiers]
            found.update(self._belief(claim, standings, qualifiers))
            found.update(self._propositions(claim))
            key = claim.iri.partition(_CLAIM)[2]
            for premise in (premises or {}).get(key, ()):
                found.update(self._premise(claim, premise, emitted.uri))
        return sorted(found)

    def _belief(
        self, claim: Assignment, standings: Sequence[str], qualifiers: Sequence[str]
    ) -> Iterator[str]:
        act, belief = f"<{claim.iri}>", f"<{claim.iri}-belief>"
        yield f"{act} <{CRMINF}J2_concluded_that> {belief} ."
        yield f"{act} <{PROV}generated> {belief} ."
        yield f"{belief} {_TYPE} <{CRMINF}I2_Belief> ."
        for standing in standings:
            yield f"{belief} <{CRMINF}J5_holds_to_be> <{standing}> ."
        for qualifier in qualifiers:
            yield f"{belief} {_P2} <{qualifier}> ."
        for actor in _ids(claim.tree.get("carried_out_by")):
            yield f"{act} <{PROV}wasAssociatedWith> <{actor}> ."
        replaced = set(_replaced(claim))
        for key in ("influenced_by", "used_specific_object"):
            for source in _ids(claim.tree.get(key)):
                if source not in replaced:
                    yield f"{act} <{PROV}used> <{source}> ."
        for old in replaced:
            yield f"{belief} <{PROV}wasRevisionOf> <{old}-belief> ."

    def _propositions(self, claim: Assignment) -> Iterator[str]:
        for number, value in enumerate(claim.values, start=1):
            proposition = f"<{claim.iri}-proposition{'' if number == 1 else f'-{number}'}>"
            yield f"<{claim.iri}-belief> <{CRMINF}J4_that> {proposition} ."
            yield f"{proposition} {_TYPE} <{CRMINF}I4_Proposition_Set> ."
            if self._rdf12:
                said = f"<{claim.carrier}> <{claim.property}> <{value}>"
                yield f"{proposition} <{RDF}reifies> <<( {said} )>> ."
                continue
            yield f"{proposition} {_TYPE} <{RDF}Statement> ."
            yield f"{proposition} <{RDF}subject> <{claim.carrier}> ."
            yield f"{proposition} <{RDF}predicate> <{claim.property}> ."
            yield f"{proposition} <{RDF}object> <{value}> ."

    def _premise(self, claim: Assignment, premise: Premise, document: str) -> Iterator[str]:
        act, node = f"<{claim.iri}>", f"<{document}#premise-{segment(premise.key)}>"
        yield f"{act} {_TYPE} <{CRMINF}I5_Inference_Making> ."
        yield f"{act} <{CRMINF}J1_used_as_premise> {node} ."
        yield f"{node} {_TYPE} <{CRMINF}I2_Belief> ."
        yield f"{node} <{CRMINF}J5_holds_to_be> <{self._current}> ."
        yield f"{node} <{RDFS}label> {quoted(premise.label)} ."
        for source in premise.sources:
            yield f"{node} <{PROV}wasDerivedFrom> <{source}> ."


class Writer:
    """Writes published documents as triples: their own, and what their claims add."""

    def __init__(self, base: str, concepts: Concepts, language: str) -> None:
        self._emitter = Emitter(base, concepts, language=language)
        self._beliefs = Beliefs(base, concepts)

    def triples(self, body: bytes, premises: Mapping[str, Sequence[Premise]] | None) -> list[str]:
        """Return the N-Triples lines of a document, sorted, without line ends.

        Args:
            body: its published JSON. `premises`: by key of the claim that reasons from them.
        """
        return _triples(self._emitted(body), self._beliefs, premises)

    def quads(self, body: bytes, premises: Mapping[str, Sequence[Premise]] | None) -> list[str]:
        """Return the N-Quads lines of a document, likewise; its IRI is their graph."""
        return document_lines(self._emitted(body), self._beliefs, premises)

    def _emitted(self, body: bytes) -> Emitted:
        tree = orjson.loads(body)
        del tree["@context"]
        return self._emitter.emit(tree)


def premises_of(claims: Iterable[Claim]) -> dict[str, tuple[Premise, ...]]:
    """Return the facts that claims reason from and that may leave, by the key of the claim."""
    return {claim.key: claim.facts for claim in claims if claim.facts}


def document_lines(
    emitted: Emitted,
    beliefs: Beliefs,
    premises: Mapping[str, Sequence[Premise]] | None = None,
) -> list[str]:
    """Return the N-Quads lines of a document, sorted, without line ends; its IRI is their graph.

    Args:
        emitted: made with minting on, else blank nodes would leave.
        premises: by key of the claim that reasons from them.
    """
    graph = f"<{emitted.uri}> ."
    return [line[:-1] + graph for line in _triples(emitted, beliefs, premises)]


def _triples(
    emitted: Emitted, beliefs: Beliefs, premises: Mapping[str, Sequence[Premise]] | None
) -> list[str]:
    if not emitted.assignments:
        return list(emitted.lines)
    # a line ends in ` .` before and in a longer text of one kind after: the order stays
    return sorted({*emitted.lines, *beliefs.lines(emitted, premises)})


def _ids(nodes: object) -> list[str]:
    listed = nodes if isinstance(nodes, list) else [nodes] if nodes else []
    return [node["id"] for node in listed if isinstance(node, dict) and "id" in node]


def _replaced(claim: Assignment) -> Iterator[str]:
    """Yield the claims that this one replaces: the schema lets them in only as activities."""
    for node in claim.tree.get("influenced_by") or ():
        if node.get("type") == "Activity" and _CLAIM in node.get("id", ""):
            yield node["id"]
