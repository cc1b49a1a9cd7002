"""The values of a record under the names by which a mapping would read them."""

from collections.abc import Iterator
from typing import Any

from lodpipe.records import Record

MARC = "{http://www.loc.gov/MARC21/slim}"
Leaf = tuple[str, str]
"""A column, JSON Pointer or XPath, and a text that stands there; "" where nothing does."""


def leaves(record: Record, prefixes: dict[str, str]) -> Iterator[Leaf]:
    """Yield every value of a record; the elements of a list share one name.

    Args:
        prefixes: IRI -> prefix of the XML namespaces that are known; new ones are added.
    """
    if record.form == "table":
        yield from record.data.items()
    elif record.form == "json":
        yield from _json(record.data, "")
    elif record.data.tag == f"{MARC}record":
        yield from _marc(record.data)
    else:
        yield from _xml(record.data, "", prefixes)


def _json(value: Any, path: str) -> Iterator[Leaf]:
    if isinstance(value, dict):
        for name, item in value.items():
            step = name.replace("~", "~0").replace("/", "~1")
            yield from _json(item, f"{path}/{step}")
    elif isinstance(value, list):
        for item in value:
            yield from _json(item, path)
    elif value is None:
        yield path, ""
    elif isinstance(value, bool):
        yield path, str(value).lower()
    else:
        yield path, str(value)


def _marc(record: Any) -> Iterator[Leaf]:
    """Fields as cataloguers write them: `001`, `245 $a`; all look alike to XPath."""
    for field in record:
        tag = field.get("tag", "leader")
        if len(field):
            for part in field:
                yield f"{tag} ${part.get('code', '')}", (part.text or "").strip()
        else:
            yield tag, (field.text or "").strip()


def _xml(element: Any, path: str, prefixes: dict[str, str]) -> Iterator[Leaf]:
    below = f"{path}/" if path else ""
    for name, text in element.attrib.items():
        yield f"{below}@{_name(name, element, prefixes)}", text
    children = [child for child in element if isinstance(child.tag, str)]
    text = (element.text or "").strip()
    if text or (path and not children):
        yield path or ".", text
    for child in children:
        yield from _xml(child, below + _name(child.tag, child, prefixes), prefixes)


def _name(tag: str, element: Any, prefixes: dict[str, str]) -> str:
    iri, brace, local = tag[1:].partition("}") if tag.startswith("{") else ("", "", tag)
    if not brace:
        return tag
    if iri == "http://www.w3.org/XML/1998/namespace":
        return f"xml:{local}"
    if iri not in prefixes:
        known = next((prefix for prefix, own in element.nsmap.items() if own == iri and prefix), "")
        taken = set(prefixes.values())
        prefixes[iri] = known if known and known not in taken else f"ns{len(prefixes) + 1}"
    return f"{prefixes[iri]}:{local}"
