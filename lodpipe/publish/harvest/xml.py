"""Elements of the XML that harvesters get: names by prefix, words by language."""

import re

from lxml import etree

from lodpipe.publish.iiif.settings import LanguageMap

EDM_NAMESPACES = {
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "edm": "http://www.europeana.eu/schemas/edm/",
    "ore": "http://www.openarchives.org/ore/terms/",
    "dc": "http://purl.org/dc/elements/1.1/",
    "dcterms": "http://purl.org/dc/terms/",
    "skos": "http://www.w3.org/2004/02/skos/core#",
    "wgs84_pos": "http://www.w3.org/2003/01/geo/wgs84_pos#",
    "svcs": "http://rdfs.org/sioc/services#",
    "doap": "http://usefulinc.com/ns/doap#",
    "rdaGr2": "http://rdvocab.info/ElementsGr2/",
    "owl": "http://www.w3.org/2002/07/owl#",
}
NAMESPACES = {
    **EDM_NAMESPACES,
    "oai_dc": "http://www.openarchives.org/OAI/2.0/oai_dc/",
    "xsi": "http://www.w3.org/2001/XMLSchema-instance",
    "xml": "http://www.w3.org/XML/1998/namespace",
}
_LANG = f"{{{NAMESPACES['xml']}}}lang"
_FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 cannot hold: https://www.w3.org/TR/xml/#charsets"""


def qname(name: str) -> str:
    """Return a name with its namespace: `dc:title`."""
    prefix, _, local = name.partition(":")
    return f"{{{NAMESPACES[prefix]}}}{local}"


def clean(text: str) -> str:
    """Return a text without the characters that XML cannot hold."""
    return _FORBIDDEN.sub("", text)


def add(parent: etree._Element, name: str, text: str = "", *, about: str = "") -> etree._Element:
    """Add an element with a text, or one about an entity."""
    node = etree.SubElement(parent, qname(name))
    if text:
        node.text = clean(text)
    if about:
        node.set(qname("rdf:about"), about)
    return node


def add_link(parent: etree._Element, name: str, uri: str) -> None:
    """Add an element that leads to an entity."""
    etree.SubElement(parent, qname(name)).set(qname("rdf:resource"), uri)


def add_words(parent: etree._Element, name: str, words: LanguageMap, first: str) -> None:
    """Add an element for each text, with its language; a text in none counts as in the first."""
    for tag, contents in words.items():
        for text in contents:
            if text:
                add(parent, name, text).set(_LANG, first if tag == "none" else tag)
