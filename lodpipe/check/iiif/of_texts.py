"""Rules of IIIF about texts: languages, HTML, emptiness.

What is said of a rule's reach: `check.iiif.looking`.
"""

from collections.abc import Iterator
from typing import Any

from lxml import etree

from lodpipe.check.iiif.looking import Fault, Spot, listed, rule
from lodpipe.check.iiif.tables import PAIRS, TEXTS
from lodpipe.errors import IriError
from lodpipe.findings import WARNING
from lodpipe.iris import check_language

_PARSER = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)


@rule(
    "language",
    "language-of-property-values",
    'a text is no language map: write {"en": ["..."]}, or `none` where there is no language',
)
def _language(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#language-of-property-values>"""
    texts = list(_texts(spot))
    if not texts:
        return None
    return iter([fault for where, value in texts for fault in _map_faults(where, value)])


def _texts(spot: Spot) -> Iterator[tuple[str, Any]]:
    """Yield the language maps of an object, each with its pointer below it."""
    if spot.key in PAIRS and spot.above is not None and not spot.kind:
        for key in ("label", "value"):
            yield f"/{key}", spot.node.get(key)
    elif spot.kind and spot.kind != "AnnotationCollection":  # there W3C has a string
        for key in TEXTS:
            if key in spot.node:
                yield f"/{key}", spot.node[key]


def _map_faults(where: str, value: Any) -> Iterator[Fault]:
    if not isinstance(value, dict):
        yield where, value
        return
    for tag, several in value.items():
        if tag != "none" and not _is_tag(tag):
            yield where, tag
        elif not isinstance(several, list) or not all(isinstance(one, str) for one in several):
            yield f"{where}/{tag}", several


def _is_tag(tag: str) -> bool:
    try:
        check_language(tag)
    except IriError:
        return False
    return True


def _strings(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for several in value.values():
            yield from (one for one in listed(several) if isinstance(one, str))


@rule(
    "label-html",
    "45-html-markup-in-property-values",
    "a label holds HTML, which only summaries and values may: write plain text",
)
def _label_html(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#45-html-markup-in-property-values>"""
    if "label" not in spot.node:
        return None
    return iter(("/label", text) for text in _strings(spot.node["label"]) if _as_html(text))


def _as_html(text: str) -> bool:
    return text.startswith("<") and text.endswith(">")


@rule(
    "html",
    "45-html-markup-in-property-values",
    "a text would be read as HTML and is not well-formed: close every tag, wrap it in one element, or put a blank after it",
)
def _html(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#45-html-markup-in-property-values>"""
    maps = [(where, value) for where, value in _texts(spot) if where != "/label"]
    if not maps:
        return None
    return iter(
        (where, text)
        for where, value in maps
        for text in _strings(value)
        if _as_html(text) and not _is_xml(text)
    )


def _is_xml(text: str) -> bool:
    try:
        etree.fromstring(text.encode(), _PARSER)
    except etree.XMLSyntaxError:
        return False
    return True


@rule(
    "empty",
    "44-language-of-property-values",
    "an empty value says nothing: leave the key out",
    WARNING,
)
def _empty(spot: Spot) -> Iterator[Fault] | None:
    """Common practice; of `label`, `thumbnail` ... "with at least one" stands in `#3-resource-properties`"""
    if not spot.kind and spot.key not in PAIRS:
        return None
    wrong = [
        (f"/{key}", value)
        for key, value in spot.node.items()
        if value in (None, "", {}, []) and key != "items"
    ]
    wrong += [
        (where, text)
        for where, value in _texts(spot)
        for text in _strings(value)
        if not text.strip()
    ]
    return iter(wrong)
