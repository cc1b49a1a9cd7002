"""Simple Dublin Core for OAI-PMH: the fifteen elements, with words where a link would assert.

https://www.openarchives.org/OAI/openarchivesprotocol.html#dublincore
"""

from lxml import etree

from lodpipe.publish.harvest.telling import Said, Told
from lodpipe.publish.harvest.xml import NAMESPACES, add, add_words, qname
from lodpipe.publish.iiif import Site

SCHEMA = "http://www.openarchives.org/OAI/2.0/oai_dc.xsd"
_NAMESPACES = {name: NAMESPACES[name] for name in ("oai_dc", "dc", "xsi")}


def record(told: Told, site: Site) -> bytes:
    """Return the `oai_dc` record of a thing as UTF-8 XML without declaration."""
    root = etree.Element(qname("oai_dc:dc"), nsmap=_NAMESPACES)
    root.set(qname("xsi:schemaLocation"), f"{NAMESPACES['oai_dc']} {SCHEMA}")
    first = site.languages[0]
    add_words(root, "dc:title", told.titles, first)
    for name, values in (
        ("dc:creator", told.makers),
        ("dc:contributor", told.helpers),
        ("dc:subject", told.subjects),
    ):
        _all(root, name, values, first)
    add_words(root, "dc:description", told.descriptions, first)
    for said in told.created:
        if said.edtf:
            add(root, "dc:date", said.edtf)
        else:
            add_words(root, "dc:date", said.words, first)
    _all(root, "dc:date", told.printed, first)
    _all(root, "dc:type", told.types, first)
    _all(root, "dc:format", told.media, first)
    add_words(root, "dc:format", told.extents, first)
    add(root, "dc:identifier", told.uri)
    for text in told.identifiers:
        add(root, "dc:identifier", text)
    for tag in dict.fromkeys(told.languages):
        add(root, "dc:language", tag)
    for uri in (told.part_of, *told.derived_from):
        if uri:
            add(root, "dc:relation", uri)
    _all(root, "dc:relation", told.related, first)
    _all(root, "dc:coverage", told.places, first)
    add_words(root, "dc:rights", told.notices, first)
    if told.rights:
        add(root, "dc:rights", told.rights)
    return bytes(etree.tostring(root, encoding="UTF-8", xml_declaration=False))


def _all(root: etree._Element, name: str, values: tuple[Said, ...], first: str) -> None:
    for said in values:
        add_words(root, name, said.words, first)
