"""The way back: from published N-Quads to the lines of the ledger.

Whoever has a dump has the ledger: every claim, whatever its standing, with value, qualifier, who
says so, when, on what grounds and from which sources. Nothing but the dump is looked into.

What does not come back, and why:

- the standing that a line had before a later line replaced it: what is published is what holds now;
- which of several alternatives the others named first, and the order of sources: RDF has no order;
  the set comes back, and its first key stands for it;
- an empty role where the node has a usual one: the two mean the same;
- through which of several things a claim speaks that is about the picture that they all show, or
  about the session that more than two of them share;
- to which source a locator belongs that stands alone as a sentence, where there are several sources;
- words beside a date that could be read: the date is published, in words of ours;
- whether a mapping or a person wrote the line, and in which file: that stays in the house.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from urllib.parse import unquote

import pyoxigraph as ox

from lodpipe.aspects import Aspects, builtin_aspects
from lodpipe.records import Claim, Premise
from lodpipe.terms import Concepts
from lodpipe.wording import USUAL_ROLES, claim_words, language_for, say

CRM = "http://www.cidoc-crm.org/cidoc-crm/"
CRMINF = "http://www.cidoc-crm.org/extensions/crminf/"
DERIVED = "http://www.w3.org/ns/prov#wasDerivedFrom"
LABEL = "http://www.w3.org/2000/01/rdf-schema#label"
_CLAIM = "#claim-"
_PREMISE = "#premise-"
_SITTER = "person/sitter-of-"
_SESSION = "activity/session-"
_APART = "standing/alternative"
_CONTENT = CRM + "P190_has_symbolic_content"
_STAND_IN = "\ue000"
"""A private-use character: where it ends up in the words of a claim, the value stands."""

Node = dict[str, list[str]]
"""Values of a node by property, in the order of the dump."""


@dataclass(slots=True)
class _Dump:
    """What the documents say beyond their own claims, and the documents that have claims.

    Attributes:
        labels: of every node that has one, by IRI.
        showing: things by the picture that they show.
        masters: the person under whose influence a Group formed.
        sessions: things by the session that their making is part of.
        graphs: nodes by IRI, of the documents with claims, by document.
    """

    labels: dict[str, str] = field(default_factory=dict)
    showing: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    masters: dict[str, str] = field(default_factory=dict)
    sessions: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    graphs: dict[str, dict[str, Node]] = field(default_factory=dict)


def read_back(
    quads: Iterable[ox.Quad], base: str, concepts: Concepts, *, language: str = "en"
) -> Iterator[tuple[str, Claim]]:
    """Yield document and claim of everything that a dump claims, by document and key.

    An assertion without a key, an aspect or a standing of ours is no line of a ledger, and left out.

    Args:
        quads: of a whole release; a document's quads together, as we write them.
        base: base IRI of the site. `language`: its first one, in which claims are worded.
    """
    dump = _gather(quads)
    reader = _Reader(dump, base, concepts, language_for(language))
    for document in sorted(dump.graphs):
        for claim in reader.claims(document):
            yield document, claim


def _gather(quads: Iterable[ox.Quad]) -> _Dump:
    dump = _Dump()
    document, graph = "", dict[str, Node]()
    for quad in quads:
        name = quad.graph_name.value if isinstance(quad.graph_name, ox.NamedNode) else ""
        if name != document:
            _close(document, graph, dump)
            document, graph = name, {}
        subject = str(getattr(quad.subject, "value", ""))
        value = str(getattr(quad.object, "value", ""))
        graph.setdefault(subject, {}).setdefault(quad.predicate.value, []).append(value)
    _close(document, graph, dump)
    return dump


def _close(document: str, graph: dict[str, Node], dump: _Dump) -> None:
    """Take what a document tells about other documents' claims; keep it if it has claims itself."""
    own = graph.get(document, {})
    for label in own.get(LABEL, ()):
        dump.labels[document] = label
    for picture in own.get(CRM + "P65_shows_visual_item", ()):
        dump.showing[picture].add(document)
    for formation in own.get(CRM + "P95i_was_formed_by", ()):
        for master in graph.get(formation, {}).get(CRM + "P15_was_influenced_by", ()):
            dump.masters[document] = master
    has_claims = False
    for subject, node in graph.items():
        has_claims = has_claims or CRM + "P140i_was_attributed_by" in node
        if _CLAIM not in subject:
            for session in node.get(CRM + "P9i_forms_part_of", ()):
                dump.sessions[session].add(document)
    if has_claims:
        dump.graphs[document] = graph


class _Reader:
    """Reads the claims of one document after another."""

    def __init__(self, dump: _Dump, base: str, concepts: Concepts, language: str) -> None:
        self.dump = dump
        self.base = base
        self.language = language
        self.aspects: Aspects = builtin_aspects()
        self._terms = {
            concept.iri if ":" in concept.iri else base + concept.iri: concept.term
            for concept in concepts
        }

    def claims(self, document: str) -> list[Claim]:
        """Return the claims of a document, by key."""
        graph = self.dump.graphs[document]
        acts: dict[str, _Act] = {}
        sets: dict[tuple[str, str], list[str]] = defaultdict(list)
        for carrier, node in graph.items():
            for iri in node.get(CRM + "P140i_was_attributed_by", ()):
                act = _Act(self, graph, document, iri, carrier, self.terms(graph.get(iri, {})))
                key = act.key()
                if not key or not act.is_line():
                    continue
                acts[key] = act
                if _APART in act.terms:
                    sets[carrier, act.aspect()].append(key)
        apart = {key: sorted(one) for one in sets.values() for key in one}
        return [acts[key].claim(key, apart.get(key, [])) for key in sorted(acts)]

    def terms(self, node: Node) -> list[str]:
        """Return the terms of ours that classify a node."""
        return [self._terms.get(iri, "") for iri in node.get(CRM + "P2_has_type", ())]

    def label(self, iri: str) -> str:
        """Return the label of a document; empty where the dump has none."""
        return self.dump.labels.get(iri, "")

    def about(self, document: str, aspect: str) -> str:
        """Return the thing that a claim is about: for a picture, a thing that shows it."""
        things = self.dump.showing.get(document)
        if self.aspects.get(aspect).document == "about" or not things:
            return document
        return min(things)

    def named(self, iri: str, claim: Claim) -> str:
        """Return what the ledger names, where a document's own node stands for it."""
        workshop = self.aspects.family(claim.qualifier) == "workshop"
        if workshop and iri in self.dump.masters:
            return self.dump.masters[iri]
        if claim.aspect in ("earlier_than", "later_than"):
            return iri.partition("#")[0]
        if claim.aspect == "same_session_as":
            others = self.dump.sessions.get(iri, set()) - {claim.about}
            return others.pop() if len(others) == 1 else self._thing(iri, _SESSION, claim.about)
        if claim.aspect == "same_sitter_as":
            return self._thing(iri, _SITTER, claim.about)
        return iri

    def _thing(self, iri: str, start: str, but: str) -> str:
        """Return the thing after whose key a session or sitter is named, or the IRI itself."""
        end = "/" + iri.removeprefix(self.base + start)
        found = [uri for uri in self.dump.labels if uri.endswith(end) and uri not in (but, iri)]
        return min(found) if iri.startswith(self.base + start) and found else iri

    def calls(self, iri: str) -> set[str]:
        """Return how words call a document that a claim names without words of its own."""
        label = self.label(iri)
        number = unquote(iri.rpartition("/")[2]).replace("-", " ")
        return {label, number, say(self.language, "label.quoted", value=label)}


@dataclass(slots=True)
class _Act:
    """One claim in its document, with the node that it is about."""

    reader: _Reader
    graph: Mapping[str, Node]
    document: str
    iri: str
    carrier: str
    terms: list[str]

    def key(self) -> str:
        """Return the key of the line, from its Identifier; empty where it has none."""
        return self._content(self.graph.get(self.iri, {}), "claim-key")

    def aspect(self) -> str:
        """Return what the claim is about."""
        return _ending(self.terms, "aspect/")

    def is_line(self) -> bool:
        """Return whether all is there that makes a line of a ledger."""
        known = self.aspect() in self.reader.aspects.by_name and self._standing() != ""
        return known and bool(self.graph[self.iri].get(CRM + "P141_assigned"))

    def _standing(self) -> str:
        return _ending((term for term in self.terms if term != _APART), "standing/")

    def claim(self, key: str, apart: list[str]) -> Claim:
        """Return the line; `apart` holds the keys of the set of which it is one, if any."""
        node, aspect, standing = self.graph[self.iri], self.aspect(), self._standing()
        influences = node.get(CRM + "P15_was_influenced_by", [])
        sources = [s for s in influences if not self._is_claim(s)]
        sources += node.get(CRM + "P16_used_specific_object", [])
        texts = self._texts(node)
        role = next(iter(texts["role-statement"]), "")
        if aspect == "maker":
            role = role or USUAL_ROLES.get(self.carrier.rpartition("#")[2], "")
        facts = tuple(self._premise(p) for p in node.get(CRMINF + "J1_used_as_premise", ()))
        bare = Claim(
            key=key,
            about=self.reader.about(self.document, aspect),
            aspect=aspect,
            role=role,
            part=next(iter(texts["part-statement"]), ""),
            qualifier=_ending(self.terms, "qualifier/"),
            standing=standing,
            by=_first(node, CRM + "P14_carried_out_by"),
            on=self._day(node),
            basis=next(iter(texts["basis-statement"]), ""),
            sources=tuple(sorted(sources)),
            replaces=next((self._claim_key(i) for i in influences if self._is_claim(i)), ""),
            alternative_to=apart[0] if apart and apart[0] != key else "",
            effective=standing,
            premises=tuple(fact.key for fact in facts),
            facts=facts,
        )
        locators = self._locators(bare.sources, texts["bibliography-statement"])
        value, words = self._value(bare, node, len(apart))
        return replace(bare, value=value, value_text=words, locators=locators)

    def _value(self, claim: Claim, node: Node, apart: int) -> tuple[str, str]:
        """Return key and words of the value."""
        iri = node[CRM + "P141_assigned"][0]
        value = self.graph.get(iri, {})
        takes = self.reader.aspects.get(claim.aspect).takes
        if "date" in takes:
            edtf = self._content(value, "edtf")
            return (edtf, "") if edtf else ("", self._content(value, "display-name"))
        if "text" in takes:
            return "", _first(value, _CONTENT)
        if iri == f"{self.iri}-assigned":
            return "", _first(value, LABEL)
        key, told = self.reader.named(iri, claim), self._told(claim, node, apart)
        usual = {*value.get(LABEL, ())} if "iri" not in takes else {iri}
        return key, "" if told in usual | self.reader.calls(key) else told

    def _told(self, claim: Claim, node: Node, apart: int) -> str:
        """Return how the claim calls its value: what stands in its words in place of the value."""
        words = self._content(node, "display-name")
        around = claim_words(
            claim, _STAND_IN, self.reader.language,
            node=self.carrier.rpartition("#")[2] if "#" in self.carrier else "record",
            alternatives=apart,
        ).split(_STAND_IN)  # fmt: skip
        return words.removeprefix(around[0]).removesuffix(around[-1])

    def _content(self, node: Node, term: str) -> str:
        """Return the text of the Name or Identifier of a type that a node has."""
        names = [self.graph.get(n, {}) for n in node.get(CRM + "P1_is_identified_by", ())]
        return next((_first(n, _CONTENT) for n in names if term in self.reader.terms(n)), "")

    def _texts(self, node: Node) -> dict[str, list[str]]:
        """Return the statements about a claim by their type, in the order of their IRIs."""
        found: dict[str, list[str]] = defaultdict(list)
        for iri in sorted(node.get(CRM + "P67i_is_referred_to_by", ()), key=_number):
            for term in self.reader.terms(self.graph.get(iri, {})):
                found[term].append(_first(self.graph[iri], _CONTENT))
        return found

    def _day(self, node: Node) -> str:
        spans = [self.graph.get(span, {}) for span in node.get(CRM + "P4_has_time-span", ())]
        return next(
            (self._content(s, "edtf") or self._content(s, "display-name") for s in spans), ""
        )

    def _locators(self, sources: tuple[str, ...], texts: list[str]) -> tuple[str, ...]:
        """Return where in each source; a text that names none of them goes to one that has none."""
        found = dict.fromkeys(sources, "")
        alone = []
        for text in texts:
            labels = [(self.reader.label(s), s) for s in sources if self.reader.label(s)]
            source = max(
                ((label, s) for label, s in labels if text.startswith(f"{label},")), default=None
            )
            if source is None:
                alone.append(text)
            else:
                found[source[1]] = text.removeprefix(source[0])
        for text in alone:
            free = [source for source, locator in found.items() if not locator]
            if free:
                found[free[0]] = text
        locators = list(found.values())
        while locators and not locators[-1]:
            locators.pop()
        return tuple(locators)

    def _premise(self, iri: str) -> Premise:
        fact = self.graph.get(iri, {})
        key = unquote(iri.partition(_PREMISE)[2])
        return Premise(key, _first(fact, LABEL), tuple(sorted(fact.get(DERIVED, ()))))

    def _is_claim(self, iri: str) -> bool:
        return iri.startswith(self.document + _CLAIM)

    def _claim_key(self, iri: str) -> str:
        return unquote(iri.partition(_CLAIM)[2])


def _first(node: Node, key: str) -> str:
    return next(iter(node.get(key, ())), "")


def _ending(terms: Iterable[str], start: str) -> str:
    return next((term.removeprefix(start) for term in terms if term.startswith(start)), "")


def _number(iri: str) -> tuple[str, int]:
    """Order `...-statement`, `...-statement-2` ... `...-statement-10` as they are numbered."""
    stem, _, last = iri.rpartition("-")
    return (stem, int(last)) if last.isdigit() else (iri, 1)
