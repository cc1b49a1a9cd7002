"""Agents, places, time spans and concepts of an EDM record, each with what makes it findable.

Order of elements: the schema's (https://europeana.atlassian.net/wiki/spaces/EF/pages/2106032160).
"""

from collections.abc import Iterable

from lxml import etree

from lodpipe.iris import is_plain
from lodpipe.publish.harvest.telling import AGENTS, UNSURE, Said, names_of
from lodpipe.publish.harvest.xml import add, add_link, add_words
from lodpipe.publish.iiif import Site, rows
from lodpipe.publish.iiif.rows import edtf_of
from lodpipe.publish.iiif.settings import LanguageMap
from lodpipe.records import Tree
from lodpipe.terms import VOCAB

SORT = VOCAB + "name/sort"
OCCUPATION = VOCAB + "occupation/"
LIVES = {
    # class -> event of it, element for its day
    "Person": (("born", "rdaGr2:dateOfBirth"), ("died", "rdaGr2:dateOfDeath")),
    "Group": (
        ("formed_by", "rdaGr2:dateOfEstablishment"),
        ("dissolved_by", "rdaGr2:dateOfTermination"),
    ),
}


def add_entities(root: etree._Element, entities: Iterable[Said], site: Site) -> None:
    """Add the entities that a record links to: agents, places, time spans, concepts, by IRI."""
    groups: dict[str, list[Said]] = {"Agent": [], "Place": [], "TimeSpan": [], "Concept": []}
    for said in entities:
        name = "Agent" if said.kind in AGENTS else said.kind if said.kind in groups else "Concept"
        groups[name].append(said)
    for name, makers in (
        ("Agent", _agent), ("Place", _place), ("TimeSpan", _time_span), ("Concept", _concept),
    ):  # fmt: skip
        for said in sorted(groups[name], key=lambda one: one.uri):
            makers(root, said, site)


def _agent(root: etree._Element, said: Said, site: Site) -> None:
    node = add(root, "edm:Agent", about=said.uri)
    _labels(node, said, site)
    for event, element in LIVES[said.kind]:
        edtf = edtf_of(said.node.get(event, {}).get("timespan") or {})
        if edtf and not UNSURE.search(edtf):
            add(node, element, edtf)
    for concept in said.node.get("classified_as", ()):
        if concept.get("id", "").startswith(site.base + OCCUPATION):
            words = {"none": [concept.get("_label", "")]}
            add_words(node, "rdaGr2:professionOrOccupation", words, site.languages[0])
    _same(node, said, "owl:sameAs")


def _place(root: etree._Element, said: Said, site: Site) -> None:
    node = add(root, "edm:Place", about=said.uri)
    point = rows.POINT.fullmatch(said.node.get("defined_by") or "")
    if point:
        add(node, "wgs84_pos:lat", point[2])
        add(node, "wgs84_pos:long", point[1])
    _labels(node, said, site)
    _same(node, said, "owl:sameAs")


def _time_span(root: etree._Element, said: Said, site: Site) -> None:
    node = add(root, "edm:TimeSpan", about=said.uri)
    add_words(node, "skos:prefLabel", said.words, site.languages[0])
    for key, element in (("begin_of_the_begin", "edm:begin"), ("end_of_the_end", "edm:end")):
        if day := said.node.get(key):
            add(node, element, day[:10])


def _concept(root: etree._Element, said: Said, site: Site) -> None:
    node = add(root, "skos:Concept", about=said.uri)
    add_words(node, "skos:prefLabel", said.words, site.languages[0])
    _same(node, said, "skos:exactMatch")


def _labels(node: etree._Element, said: Said, site: Site) -> None:
    """One preferred label a language (https://www.w3.org/TR/skos-reference/#S14), then the others."""
    first = site.languages[0]
    preferred: LanguageMap = {}
    for tag, texts in said.words.items():
        preferred.setdefault(first if tag == "none" else tag, []).extend(texts)
    add_words(node, "skos:prefLabel", {t: texts[:1] for t, texts in preferred.items()}, first)
    told = {(tag, texts[0]) for tag, texts in preferred.items()}
    for name in names_of(said.node):
        kinds = {kind.get("id") for kind in name.get("classified_as", ())}
        if site.base + SORT not in kinds:
            tag = _tag(name, site) or first
            if (tag, name["content"]) not in told:
                told.add((tag, name["content"]))
                add_words(node, "skos:altLabel", {tag: [name["content"]]}, first)


def _tag(name: Tree, site: Site) -> str:
    languages = name.get("language", ())
    return site.tags.get(languages[0].get("id", ""), "") if languages else ""


def _same(node: etree._Element, said: Said, element: str) -> None:
    for other in said.node.get("equivalent", ()):
        if is_plain(other.get("id", "")):
            add_link(node, element, other["id"])
