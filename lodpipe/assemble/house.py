"""Documents that no record makes and that others point at: house documents.

Concepts of our own (`vocab/...`), the one Group a role that stands for unidentified makers, Groups
that stand for the workshop or circle of a person, sessions, and sitters known only as the same as
in another picture. A document of the catalogue with the same IRI goes before all of them.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from lodpipe.aspects import Aspects, slug
from lodpipe.assemble.merge import Brought
from lodpipe.assemble.names import Names
from lodpipe.assemble.targets import group_iri, group_of, main_node, session_of, sessions
from lodpipe.assemble.values import sitter_of
from lodpipe.iris import key_of
from lodpipe.nodes import Nodes
from lodpipe.records import Claim, Index, Tree
from lodpipe.terms import VOCAB, Concept
from lodpipe.wording import has, language_for, role_word, say

UNIDENTIFIED = "group/unidentified-"
_GROUP_TERMS = {
    "workshop-of": "group/workshop",
    "studio-of": "group/studio",
    "circle-of": "group/circle",
    "school-of": "group/school",
    "pupil-of": "group/pupils",
}


def house_iris(tree: Tree, base: str) -> set[str]:
    """Return the IRIs in a document that house documents may have to be made for."""
    found: set[str] = set()
    _gather(tree, house_prefixes(base), found)
    return found


def house_prefixes(base: str) -> tuple[str, ...]:
    """Return what the IRIs of house documents begin with that finished documents may name."""
    return base + VOCAB, base + UNIDENTIFIED


def _gather(node: Tree, prefixes: tuple[str, ...], found: set[str]) -> None:
    for key, value in node.items():
        kind = type(value)
        if kind is str:
            if key == "id" and value.startswith(prefixes):
                found.add(value)
        elif kind is list:
            for item in value:
                if type(item) is dict:
                    _gather(item, prefixes, found)
        elif kind is dict:
            _gather(value, prefixes, found)


def house_documents(iris: Iterable[str], nodes: Nodes) -> list[Tree]:
    """Return the documents of own concepts and of unidentified makers, in IRI order.

    Args:
        iris: what published documents point at (`house_iris`); others than ours are passed over.
    """
    concepts = {nodes.absolute(concept.iri): concept for concept in nodes.concepts}
    documents: dict[str, Tree] = {}
    waiting = sorted(set(iris), reverse=True)
    while waiting:
        iri = waiting.pop()
        if iri in documents or not iri.startswith(nodes.base):
            continue
        if iri in concepts:
            documents[iri] = _concept(concepts[iri], nodes)
        elif iri.startswith(nodes.base + UNIDENTIFIED):
            documents[iri] = unidentified(iri, nodes)
        else:
            continue
        waiting.extend(house_iris(documents[iri], nodes.base))
    return [documents[iri] for iri in sorted(documents)]


def _concept(concept: Concept, nodes: Nodes) -> Tree:
    """Return the record of one of our own concepts.

    https://linked.art/api/1.0/endpoint/concept/
    """
    tree = nodes.term(concept.term)
    if "equivalent" in tree:
        tree["equivalent"] = [{**same, "_label": concept.label} for same in tree["equivalent"]]
    name = concept.label
    if name[1:2].islower() or not name[1:]:
        name = name[:1].lower() + name[1:]
    tree["identified_by"] = [nodes.name(name, language="en")]
    if concept.definition:
        tree["referred_to_by"] = [nodes.statement(concept.definition, "description", "en")]
    return tree


def unidentified(iri: str, nodes: Nodes) -> Tree:
    """Return the one Group that stands for all unidentified makers of a role."""
    language = language_for(nodes.first_language)
    role = iri.partition(UNIDENTIFIED)[2].replace("-", " ")
    label = say(language, "label.unidentified", role=role_word(role, language))
    return _group(iri, label, "group/unidentified", nodes, language)


def _group(iri: str, label: str, term: str, nodes: Nodes, language: str) -> Tree:
    return {
        "id": iri,
        "type": "Group",
        "_label": label,
        "classified_as": [nodes.term(term)],
        "identified_by": [nodes.name(label, language=language)],
    }


def called_for(claims: Iterable[Claim], aspects: Aspects, index: Index, nodes: Nodes) -> list[Tree]:
    """Return the documents that claims need and the catalogue does not have, in IRI order.

    Args:
        claims: all of them, resolved.
    """
    names = Names(nodes, index)
    listed = list(claims)
    documents: dict[str, Tree] = {}
    together = sessions(listed, index, nodes.base)
    for claim in listed:
        for tree in _called_by(claim, aspects, names, together):
            if index.get(tree["id"]) is None:
                documents.setdefault(tree["id"], tree)
    return [documents[iri] for iri in sorted(documents)]


def _called_by(
    claim: Claim, aspects: Aspects, names: Names, together: Mapping[str, str]
) -> Iterable[Tree]:
    if not claim.value or names.index.get(claim.value) is None:
        return
    nodes, language = names.nodes, names.language
    group = group_of(claim, aspects, names.index, nodes.base) if claim.qualifier else ""
    if group and group != claim.value:
        yield _formed(group, claim, names)
    elif claim.aspect == "same_session_as" and claim.value in together:
        iri = together[claim.value]
        first = min(thing for thing, session in together.items() if session == iri)
        label = say(language, "label.session", value=names.words(first))
        yield _named(iri, "Activity", label, nodes, language, "activity/session")
    elif claim.aspect == "same_sitter_as":
        label = say(language, "label.sitter", value=names.words(claim.value))
        yield _named(sitter_of(claim.value, nodes.base), "Person", label, nodes, language)


def _formed(iri: str, claim: Claim, names: Names) -> Tree:
    """Return the Group that formed under somebody's influence.

    https://linked.art/model/object/production/#artist-attribution
    """
    qualifier, language = slug(claim.qualifier), names.language
    key = f"group.{qualifier}"
    label = (
        say(language, key, value=names.label(claim.value))
        if has(language, key)
        else say(language, f"maker.{qualifier}", value=names.label(claim.value))
    )
    term = _GROUP_TERMS.get(qualifier, "group/circle")
    tree = _group(iri, label, term, names.nodes, language)
    master: Any = names.reference(claim.value)
    tree["formed_by"] = {
        "id": f"{iri}#formation",
        "type": "Formation",
        "influenced_by": [master],
    }
    return tree


def _named(iri: str, kind: str, label: str, nodes: Nodes, language: str, term: str = "") -> Tree:
    tree: Tree = {"id": iri, "type": kind, "_label": label}
    if term:
        tree["classified_as"] = [nodes.term(term)]
    tree["identified_by"] = [nodes.name(label, language=language)]
    return tree


def brought_by(
    claims: Iterable[Claim], aspects: Aspects, index: Index, base: str
) -> dict[str, tuple[Brought, ...]]:
    """Return, by document, the nodes that claims of other documents point at.

    "Exposed after item 0102" needs the exposure of item 0102; "same session as item 0106" needs
    that its exposure is part of the session as well, which says nothing but what a session is.
    """
    listed = [
        c
        for c in claims
        if c.aspect in ("earlier_than", "later_than", "same_session_as") and c.value
    ]
    together = sessions(listed, index, base)
    found: dict[str, set[tuple[str, str]]] = {}
    for claim in listed:
        entry = index.get(claim.value)
        if entry is None or entry.type == "Activity" or not key_of(base, claim.value):
            continue
        role = main_node(entry.roles, aspects)
        session = together.get(claim.value, "") if claim.aspect == "same_session_as" else ""
        if session or role not in entry.roles:
            found.setdefault(claim.value, set()).add((role, session))
    return {
        uri: tuple(Brought(role, session) for role, session in sorted(needs))
        for uri, needs in sorted(found.items())
    }


def named_after(uri: str, base: str) -> tuple[str, ...]:
    """Return the IRIs that documents have which claims make and name after a thing or person."""
    groups = (group_iri(name, uri, base) for name in _GROUP_TERMS)
    return (session_of(uri, base), sitter_of(uri, base), *groups)
