"""What the whole is: DCAT 3 and VoID with counts and checksums, and PROV of the release.

https://www.w3.org/TR/vocab-dcat-3/, https://www.w3.org/TR/void/, https://www.w3.org/TR/prov-o/
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from rdflib import DCTERMS, FOAF, PROV, RDF, VOID, XSD, Graph, Literal, Namespace, URIRef

from lodpipe.archive import Release
from lodpipe.iris import document_iri
from lodpipe.publish.iiif import Site
from lodpipe.rdf import class_iri

DCAT = Namespace("http://www.w3.org/ns/dcat#")
"""Version 3; the one that rdflib ships is version 2."""
SPDX = Namespace("http://spdx.org/rdf/terms#")
VCARD = Namespace("http://www.w3.org/2006/vcard/ns#")
MEDIA = "https://www.iana.org/assignments/media-types/"
LANGUAGE = "http://id.loc.gov/vocabulary/iso639-1/"
VOCABULARIES = ("http://www.cidoc-crm.org/cidoc-crm/", "https://linked.art/ns/terms/")
MAIL = re.compile(r"[^\s@]+@[^\s@]+\.[^\s@]+")


@dataclass(frozen=True, slots=True)
class Dump:
    """One file that holds everything: its path below base, type, size in bytes, SHA-256 in hex."""

    path: str
    title: str
    media_type: str
    size: int
    sha256: str
    conforms_to: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """What is said of a release.

    Attributes:
        first: instant of the first release. `classes`: documents by Linked Art class.
        triples, claims: in all, or 0 where no dump was made to count them in.
        mappings: SHA-256 of each mapping by its name. `example`: a document to look at.
    """

    release: Release
    first: str
    classes: Mapping[str, int]
    mappings: Mapping[str, str]
    claims: int = 0
    triples: int = 0
    dumps: tuple[Dump, ...] = ()
    licence: str = ""
    contact: str = ""
    example: str = ""


def turtle(facts: Facts, site: Site) -> bytes:
    """Return the description of the dataset and of its newest version as Turtle."""
    graph = Graph()
    for prefix, space in (
        ("dcat", DCAT), ("dcterms", DCTERMS), ("foaf", FOAF), ("prov", PROV), ("void", VOID),
        ("spdx", SPDX), ("vcard", VCARD),
    ):  # fmt: skip
        graph.bind(prefix, space)
    whole = URIRef(document_iri(site.base, "dataset"))
    version = URIRef(f"{whole}/{facts.release.number}")
    publisher = URIRef(site.provider or site.base)
    _head(graph, whole, facts, site, publisher)
    graph.add((whole, DCAT.hasCurrentVersion, version))
    _version(graph, whole, version, facts, site)
    for dump in facts.dumps:
        _dump(graph, version, dump, facts, site)
    _run(graph, version, facts, publisher)
    for tag, name in site.name.items():
        graph.add((publisher, FOAF.name, Literal(name, lang=tag)))
    graph.add((publisher, RDF.type, FOAF.Organization))
    graph.add((publisher, RDF.type, PROV.Agent))
    return bytes(graph.serialize(format="turtle", encoding="utf-8"))


def _head(graph: Graph, whole: URIRef, facts: Facts, site: Site, publisher: URIRef) -> None:
    _kinds(graph, whole, DCAT.Dataset, VOID.Dataset)
    for tag, name in site.name.items():
        graph.add((whole, DCTERMS.title, Literal(name, lang=tag)))
    graph.add((whole, DCTERMS.publisher, publisher))
    graph.add((whole, DCTERMS.issued, _instant(facts.first)))
    graph.add((whole, DCTERMS.modified, _instant(facts.release.visible_from)))
    for tag in site.languages:
        graph.add((whole, DCTERMS.language, URIRef(LANGUAGE + tag.split("-")[0].lower())))
    graph.add((whole, VOID.uriSpace, Literal(site.base)))
    for vocabulary in VOCABULARIES:
        graph.add((whole, VOID.vocabulary, URIRef(vocabulary)))
    if facts.example:
        graph.add((whole, VOID.exampleResource, URIRef(facts.example)))
    _licence(graph, whole, facts)
    if MAIL.fullmatch(facts.contact):
        contact = URIRef(f"{whole}#contact")
        graph.add((whole, DCAT.contactPoint, contact))
        graph.add((contact, RDF.type, VCARD.Kind))
        graph.add((contact, VCARD.hasEmail, URIRef(f"mailto:{facts.contact}")))


def _version(graph: Graph, whole: URIRef, version: URIRef, facts: Facts, site: Site) -> None:
    _kinds(graph, version, DCAT.Dataset, VOID.Dataset, PROV.Entity)
    number = facts.release.number
    for tag, name in site.name.items():
        graph.add((version, DCTERMS.title, Literal(f"{name}, {number}", lang=tag)))
    graph.add((version, DCAT.version, Literal(str(number))))
    graph.add((version, DCAT.isVersionOf, whole))
    graph.add((version, DCTERMS.issued, _instant(facts.release.visible_from)))
    if number > 1:
        before = URIRef(f"{whole}/{number - 1}")
        graph.add((version, DCAT.previousVersion, before))
        graph.add((version, PROV.wasRevisionOf, before))
        _kinds(graph, before, DCAT.Dataset, PROV.Entity)
    _licence(graph, version, facts)
    graph.add((version, VOID.documents, Literal(sum(facts.classes.values()))))
    if facts.triples:
        graph.add((version, VOID.triples, Literal(facts.triples)))
    counts = dict(facts.classes)
    if facts.claims:
        counts["AttributeAssignment"] = facts.claims
    for name, count in sorted(counts.items()):
        part = URIRef(f"{version}#{name}")
        graph.add((version, VOID.classPartition, part))
        graph.add((part, RDF.type, VOID.Dataset))
        graph.add((part, VOID["class"], URIRef(class_iri(name))))
        graph.add((part, VOID.entities, Literal(count)))


def _dump(graph: Graph, version: URIRef, dump: Dump, facts: Facts, site: Site) -> None:
    node = URIRef(f"{version}#{dump.path}")
    at = URIRef(document_iri(site.base, dump.path))
    graph.add((version, DCAT.distribution, node))
    graph.add((node, RDF.type, DCAT.Distribution))
    graph.add((node, DCTERMS.title, Literal(dump.title, lang="en")))
    graph.add((node, DCAT.downloadURL, at))
    graph.add((node, DCAT.accessURL, at))
    graph.add((node, DCAT.mediaType, URIRef(MEDIA + dump.media_type)))
    graph.add((node, DCAT.compressFormat, URIRef(MEDIA + "application/zstd")))
    graph.add((node, DCAT.byteSize, Literal(dump.size, datatype=XSD.nonNegativeInteger)))
    if dump.conforms_to:
        graph.add((node, DCTERMS.conformsTo, URIRef(dump.conforms_to)))
    if dump.media_type == "application/n-quads":
        graph.add((version, VOID.dataDump, at))
    _licence(graph, node, facts)
    _checksum(graph, node, f"{node}-sha256", dump.sha256)


def _run(graph: Graph, version: URIRef, facts: Facts, publisher: URIRef) -> None:
    """Say what the release was made from, by hash, and with what."""
    run, tool = URIRef(f"{version}#run"), URIRef(f"{version}#tool")
    graph.add((version, PROV.wasGeneratedBy, run))
    graph.add((version, PROV.wasAttributedTo, publisher))
    graph.add((run, RDF.type, PROV.Activity))
    graph.add((run, PROV.startedAtTime, _instant(facts.release.created)))
    graph.add((run, PROV.endedAtTime, _instant(facts.release.visible_from)))
    graph.add((run, PROV.wasAssociatedWith, publisher))
    graph.add((run, PROV.wasAssociatedWith, tool))
    _kinds(graph, tool, PROV.SoftwareAgent)
    graph.add((tool, FOAF.name, Literal(facts.release.tool)))
    inputs = {"source": facts.release.sources, "mapping": facts.mappings}
    for kind, files in inputs.items():
        for number, (name, digest) in enumerate(sorted(files.items()), start=1):
            node = URIRef(f"{version}#{kind}-{number}")
            graph.add((run, PROV.used, node))
            graph.add((node, RDF.type, PROV.Entity))
            graph.add((node, DCTERMS.title, Literal(name)))
            _checksum(graph, node, f"{node}-sha256", digest)


def _kinds(graph: Graph, node: URIRef, *kinds: URIRef) -> None:
    for kind in kinds:
        graph.add((node, RDF.type, kind))


def _licence(graph: Graph, node: URIRef, facts: Facts) -> None:
    if facts.licence:
        graph.add((node, DCTERMS.license, URIRef(facts.licence)))


def _checksum(graph: Graph, node: URIRef, iri: str, digest: str) -> None:
    checksum = URIRef(iri)
    graph.add((node, SPDX.checksum, checksum))
    graph.add((checksum, RDF.type, SPDX.Checksum))
    graph.add((checksum, SPDX.algorithm, SPDX.checksumAlgorithm_sha256))
    graph.add((checksum, SPDX.checksumValue, Literal(digest, datatype=XSD.hexBinary)))


def _instant(text: str) -> Literal:
    return Literal(text, datatype=XSD.dateTime, normalize=False)
