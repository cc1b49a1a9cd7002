"""EDM, the Europeana Data Model, external profile: one record a thing, in the order of the schema.

https://europeana.atlassian.net/wiki/spaces/EF/pages/2106032160: ProvidedCHO, WebResources, Agents,
Places, TimeSpans, Concepts, image services, Aggregation. EDM has no word for doubt, so whoever is
not certain stands as words with the hedge, never as a link.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from lxml import etree

from lodpipe.findings import INFO, WARNING
from lodpipe.publish.harvest.entities import add_entities
from lodpipe.publish.harvest.pictures import Picture
from lodpipe.publish.harvest.rights import is_allowed, nearest_allowed
from lodpipe.publish.harvest.telling import AGENTS, Said, Told
from lodpipe.publish.harvest.xml import EDM_NAMESPACES, add, add_link, add_words, qname
from lodpipe.publish.iiif import Site
from lodpipe.publish.iiif.settings import LanguageMap

RULE = "https://europeana.atlassian.net/wiki/spaces/EF/pages/2106032160"
LINKED = {"Place", "TimeSpan", "Type", "Material", *AGENTS}
"""Classes of Linked Art that EDM has a class for."""


@dataclass(frozen=True, slots=True)
class Lack:
    """Why a record is not sent: what is missing, how bad that is, and what to do."""

    message: str
    severity: str
    hint: str


def lack(told: Told) -> Lack | None:
    """Return the first thing for which an aggregator would refuse the record; None for none."""
    if not (told.pictures or told.page):
        return Lack(
            "neither a picture nor a page of the thing is published: EDM asks for one",
            INFO,
            "publish its picture, or leave it to other formats",
        )
    if not is_allowed(told.rights):
        what = f"the rights `{told.rights}` are none of those that EDM takes"
        near = nearest_allowed(told.rights)
        return Lack(
            what
            if told.rights
            else "no rights statement of the picture is stated: EDM asks for one",
            WARNING,
            f"write `{near}`"
            if near
            else "state one of the rights that EDM takes, or do not send it",
        )
    if not (told.titles or told.descriptions):
        return Lack(
            "it has neither a title nor a description: EDM asks for one", WARNING,
            "write a devised title",
        )  # fmt: skip
    if not (told.types or told.subjects or told.places):
        return Lack(
            "it has no type, subject or place: EDM asks for one", WARNING, "map what kind it is"
        )
    if told.is_text and not told.languages:
        return Lack(
            "it is a text, and its language is not stated: EDM asks for it", WARNING,
            "map its language",
        )  # fmt: skip
    return None


def record(told: Told, site: Site) -> bytes:
    """Return the EDM record of a thing as UTF-8 XML without declaration.

    Args:
        told: something that lacks nothing (`lack`).
    """
    root = etree.Element(qname("rdf:RDF"), nsmap=EDM_NAMESPACES)
    first = site.languages[0]
    _provided(root, told, first)
    for picture in told.pictures:
        _web_resource(root, picture, told)
    add_entities(root, _entities(told), site)
    services = {picture.service: picture.level for picture in told.pictures if picture.service}
    for service in sorted(services):
        node = add(root, "svcs:Service", about=service)
        add_link(node, "dcterms:conformsTo", "http://iiif.io/api/image")
        if services[service]:
            level = services[service]  # of version 2 an IRI already
            iri = level if ":" in level else f"http://iiif.io/api/image/3/{level}.json"
            add_link(node, "doap:implements", iri)
    _aggregation(root, told, site)
    return bytes(etree.tostring(root, encoding="UTF-8", xml_declaration=False))


def _provided(root: etree._Element, told: Told, first: str) -> None:
    node = add(root, "edm:ProvidedCHO", about=told.uri)
    words: tuple[tuple[str, LanguageMap], ...] = (
        ("dc:title", told.titles),
        ("dc:description", told.descriptions),
        ("dc:rights", told.notices),
        ("dcterms:extent", told.extents),
    )
    for name, text in words:
        add_words(node, name, text, first)
    for identifier in told.identifiers:
        add(node, "dc:identifier", identifier)
    for language in dict.fromkeys(told.languages):
        add(node, "dc:language", language)
    for name, values in (
        ("dc:type", told.types),
        ("dc:creator", told.makers),
        ("dc:contributor", told.helpers),
        ("dc:date", told.printed),
        ("dc:subject", told.subjects),
        ("dc:relation", told.related),
        ("dcterms:created", told.created),
        ("dcterms:spatial", told.places),
        ("dcterms:medium", told.media),
    ):
        for said in values:
            if said.uri and said.kind in LINKED:
                add_link(node, name, said.uri)
            else:
                add_words(node, name, said.words, first)
    if told.part_of:
        add_link(node, "dcterms:isPartOf", told.part_of)
    for source in told.derived_from:
        add_link(node, "edm:isDerivativeOf", source)
    add(node, "edm:type", "TEXT" if told.is_text else "IMAGE")


def _web_resource(root: etree._Element, picture: Picture, told: Told) -> None:
    node = add(root, "edm:WebResource", about=picture.uri)
    add(node, "dc:format", "image/jpeg")
    add_link(node, "edm:rights", told.rights)
    if told.manifest:
        add_link(node, "dcterms:isReferencedBy", told.manifest)
    if picture.service:
        add_link(node, "svcs:has_service", picture.service)


def _entities(told: Told) -> Iterator[Said]:
    every: Iterable[Said] = (
        *told.makers, *told.helpers, *told.subjects, *told.places, *told.created, *told.types,
        *told.media,
    )  # fmt: skip
    met = set[str]()
    for said in every:
        if said.uri and said.kind in LINKED and said.uri not in met:
            met.add(said.uri)
            yield said


def _aggregation(root: etree._Element, told: Told, site: Site) -> None:
    node = add(root, "ore:Aggregation", about=told.uri + "#aggregation")
    add_link(node, "edm:aggregatedCHO", told.uri)
    first = site.languages[0]
    name = {first: [site.name.get(first) or next(iter(site.name.values()))]}
    add_words(node, "edm:dataProvider", name, first)
    for picture in told.pictures[1:]:
        add_link(node, "edm:hasView", picture.uri)
    if told.page:
        add_link(node, "edm:isShownAt", told.page)
    if told.pictures:
        add_link(node, "edm:isShownBy", told.pictures[0].uri)
        add_link(node, "edm:object", told.pictures[0].uri)
    add_words(node, "edm:provider", name, first)
    add_link(node, "edm:rights", told.rights)
