"""How good an EDM record is for readers of an aggregator: content and metadata tiers.

https://europeana.atlassian.net/wiki/spaces/EF/pages/2185199764 and 2060386364 for content,
1969979393, 1969258498 and 1967849520 for metadata. What was not read in a published page is
marked as unverified wherever it is told.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from lxml import etree

from lodpipe.publish.harvest.pictures import Picture
from lodpipe.publish.harvest.rights import LIMITED, OPEN
from lodpipe.publish.harvest.xml import EDM_NAMESPACES, qname

PAGES = "https://europeana.atlassian.net/wiki/spaces/EF/pages/"
MEGAPIXELS = (
    (1, 0.1, PAGES + "2185199764"),
    (2, 0.42, PAGES + "2060386364"),
    (3, 0.95, PAGES + "2060386364"),
)
"""Content tier, least size of the picture, where that is said."""
LEVELS = "0ABC"
LANGUAGES = (
    (1, 0.25, PAGES + "1969979393"),
    (2, 0.5, "unverified"),
    (3, 0.75, PAGES + "1969979393"),
)
ELEMENTS = ((1, 1, PAGES + "1969258498"), (2, 3, "unverified"), (3, 4, PAGES + "1969258498"))
CLASSES = ((1, 0, PAGES + "1967849520"), (2, 1, "unverified"), (3, 2, PAGES + "1967849520"))
"""Level from A to C, what it needs at least, where that is said. Elements of B and C come from two
groups (that they do for B is unverified too)."""

# the 22 properties whose language counts: from memory, unverified
COUNTED = (
    "dc:coverage", "dc:description", "dc:format", "dc:relation", "dc:rights", "dc:source",
    "dc:subject", "dc:title", "dc:type", "dcterms:alternative", "dcterms:hasPart",
    "dcterms:isPartOf", "dcterms:isReferencedBy", "dcterms:medium", "dcterms:provenance",
    "dcterms:references", "dcterms:spatial", "dcterms:tableOfContents", "dcterms:temporal",
    "edm:currentLocation", "edm:hasType", "edm:isRelatedTo",
)  # fmt: skip
GROUPS: Mapping[str, tuple[str, ...]] = {
    # 1969258498: what people look for, and the elements that let them find it; `>` leads to a class
    "date": ("dcterms:issued", "dcterms:created", "dcterms:temporal", "edm:hasMet>TimeSpan"),
    "subject or type": ("dc:subject>Concept", "dc:format", "dc:type", "dcterms:medium"),
    "agent": (
        "dc:creator", "dc:contributor", "dc:publisher", "dc:subject>Agent", "edm:hasMet>Agent",
    ),
    "place": ("dc:subject>Place", "dcterms:spatial", "edm:currentLocation"),
}  # fmt: skip
LEAST = {
    # class -> groups of elements of which each must have one: from memory, unverified
    "Agent": (
        ("skos:prefLabel",),
        ("rdaGr2:dateOfBirth", "rdaGr2:dateOfDeath", "rdaGr2:professionOrOccupation"),
    ),
    "Place": (("skos:prefLabel",), ("wgs84_pos:lat",), ("wgs84_pos:long",)),
    "TimeSpan": (("edm:begin",), ("edm:end",)),
    "Concept": (("skos:prefLabel",), ("skos:note", "skos:broader", "skos:exactMatch")),
}
AUTHORITIES = ("http://vocab.getty.edu/", "http://www.wikidata.org/", "http://viaf.org/")
"""Links to these count for a class without its elements: from memory, unverified."""


@dataclass(frozen=True, slots=True)
class Measures:
    """What is measured of one record.

    Attributes:
        megapixels: size of its picture; 0 for none. `use`: open, limited or restricted.
        languages: share, 0 to 1, of counted properties that have words with a language.
        elements: enabling ones that are there, by group.
        classes: those of linked entities that say enough of themselves.
    """

    megapixels: float
    use: str
    languages: float
    elements: Mapping[str, tuple[str, ...]]
    classes: tuple[str, ...]

    @property
    def content(self) -> int:
        """The content tier, 0 to 4."""
        tier = _reached(MEGAPIXELS, self.megapixels)
        if tier == 3:
            return {"open": 4, "limited": 3}.get(self.use, 2)
        return tier

    @property
    def parts(self) -> dict[str, int]:
        """Level, 0 to 3, of languages, elements and classes."""
        count = sum(len(names) for names in self.elements.values())
        elements = _reached(ELEMENTS, count)
        if len(self.elements) < 2:
            elements = min(elements, 1)
        return {
            "languages": _reached(LANGUAGES, self.languages),
            "elements": elements,
            "classes": _reached(CLASSES, len(self.classes)),
        }

    @property
    def metadata(self) -> str:
        """The metadata tier, 0 or A to C: the lowest of its three parts."""
        return LEVELS[min(self.parts.values())]


def _reached(steps: Iterable[tuple[int, float, str]], value: float) -> int:
    return max((level for level, least, _ in steps if value >= least), default=0)


def measure(record: bytes, pictures: tuple[Picture, ...]) -> Measures:
    """Return the measures of an EDM record."""
    root = etree.fromstring(record)
    [thing] = root.findall("edm:ProvidedCHO", EDM_NAMESPACES)
    [rights] = root.findall("ore:Aggregation/edm:rights", EDM_NAMESPACES)
    entities = {str(node.get(qname("rdf:about"))): node for node in root}
    uri = rights.get(qname("rdf:resource"), "")
    first = pictures[0] if pictures else None
    return Measures(
        megapixels=first.width * first.height / 1_000_000 if first else 0.0,
        use="open"
        if OPEN.fullmatch(uri)
        else "limited"
        if LIMITED.fullmatch(uri)
        else "restricted",
        languages=_languages(thing, entities),
        elements=_elements(thing, entities),
        classes=tuple(
            name
            for name in LEAST
            if any(_says_enough(node) for node in root if etree.QName(node).localname == name)
        ),
    )


def _languages(thing: etree._Element, entities: Mapping[str, etree._Element]) -> float:
    tagged = dict[str, bool]()
    counted = {qname(name) for name in COUNTED}
    for element in thing:
        if element.tag in counted:
            linked = entities.get(element.get(qname("rdf:resource"), ""))
            labels = [element] if linked is None else linked.findall(qname("skos:prefLabel"))
            words = any(label.text and label.get(qname("xml:lang")) for label in labels)
            tagged[element.tag] = tagged.get(element.tag, False) or words
    return sum(tagged.values()) / len(tagged) if tagged else 0.0


def _elements(
    thing: etree._Element, entities: Mapping[str, etree._Element]
) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for group, names in GROUPS.items():
        there = tuple(name for name in names if _is_there(thing, entities, name))
        if there:
            found[group] = there
    return found


def _is_there(thing: etree._Element, entities: Mapping[str, etree._Element], name: str) -> bool:
    name, _, kind = name.partition(">")
    for element in thing.findall(qname(name)):
        linked = entities.get(element.get(qname("rdf:resource"), ""))
        if not kind or (linked is not None and etree.QName(linked).localname == kind):
            return True
    return False


def _says_enough(node: etree._Element) -> bool:
    if str(node.get(qname("rdf:about"))).startswith(AUTHORITIES):
        return True
    least = LEAST[etree.QName(node).localname]
    return all(any(node.find(qname(name)) is not None for name in names) for names in least)


MENDS: tuple[tuple[str, Callable[[Measures], Measures]], ...] = (
    # what to do, and what the record would then measure
    (
        "publish pictures of at least 0.95 megapixels",
        lambda one: replace(one, megapixels=max(one.megapixels, 0.95)),
    ),
    (
        "publish pictures of at least 0.42 megapixels",
        lambda one: replace(one, megapixels=max(one.megapixels, 0.42)),
    ),
    (
        "put the pictures under an open licence or the public domain mark",
        lambda one: replace(one, use="open"),
    ),
    (
        "state the language of titles, types and other words",
        lambda one: replace(one, languages=1.0),
    ),
    (
        "link makers, places and concepts that say enough of themselves, or to an authority",
        lambda one: replace(one, classes=("Agent", "Place")),
    ),
    (
        "state dates, makers, places and subjects, so that readers find it",
        lambda one: replace(one, elements={name: names[:1] for name, names in GROUPS.items()}),
    ),
)


def best_mend(measured: Iterable[Measures]) -> tuple[str, int]:
    """Return the one mend that would lift most records in one of their tiers, and how many.

    Empty where no single mend lifts any.
    """
    every = list(measured)
    best = ("", 0)
    for words, mend in MENDS:
        lifted = sum(
            (after := mend(one)).content > one.content
            or LEVELS.index(after.metadata) > LEVELS.index(one.metadata)
            for one in every
        )
        if lifted > best[1]:
            best = (words, lifted)
    return best
