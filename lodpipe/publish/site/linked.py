"""What machines find in a page: schema.org and Open Graph, under the rules for value slots.

`creator`, `dateCreated`, `locationCreated`, `about`, `sameAs` and `name` hold a value and nothing
else, so they are filled from plain statements of the document alone: a document states plainly
only what is current and certain. `description` and `creditText` hold words with their hedges.
https://schema.org/, https://ogp.me/
"""

import re
from typing import Any

import orjson

from lodpipe.publish.iiif.rows import edtf_of
from lodpipe.publish.site.desk import Desk
from lodpipe.publish.site.pictures import Picture
from lodpipe.publish.site.reading import (
    ACCESSION,
    PHOTOGRAPH,
    UNIDENTIFIED,
    acts,
    has_type,
    listed,
)
from lodpipe.publish.site.settings import path_of
from lodpipe.records import Tree

# https://schema.org/dateCreated: a Date of ISO 8601; EDTF level 0 without interval is one
_DATE = re.compile(r"-?[0-9]{4}(?:-[0-9]{2}){0,2}")
_TYPES = {
    "Person": "Person",
    "Group": "Organization",
    "Place": "Place",
    "LinguisticObject": "CreativeWork",
    "Set": "Collection",
}
_MADE = ("exposure", "drawing", "making", "production")
_ESCAPED = {b"<": b"\\u003c", b">": b"\\u003e", b"&": b"\\u0026"}
"""Inside a script element no `</script>` may come from the data: RFC 8259 section 7 allows this."""


def schema_org(
    uri: str, tree: Tree, desk: Desk, description: str, credit: str, picture: Picture | None
) -> dict[str, Any]:
    """Return the description of one document for machines that read pages.

    Args:
        description: in hedged words. `credit`: the line of attribution, empty for none.
    """
    base = desk.settings.base
    made: dict[str, Any] = {
        "@context": "https://schema.org",
        "@id": uri,
        "@type": _type(tree),
        "name": desk.name(uri),
        "url": address(uri, desk),
        "identifier": [uri, *_numbers(tree)],
    }
    if description:
        made["description"] = description
    if tree["type"] == "HumanMadeObject":
        if credit:
            made["creditText"] = credit
        made |= _making(tree, desk)
        about = [
            _entity(node, desk)
            for shown in tree.get("shows", ())
            for node in (desk.catalogue.reader.get(shown["id"]) or {}).get("represents", ())
        ]
        made |= {"about": about} if about else {}
        if part_of := next(iter(listed(tree.get("part_of"))), None):
            made["isPartOf"] = {"@id": part_of["id"], "@type": "CreativeWork"}
    same = [node["id"] for node in tree.get("equivalent", ()) if "id" in node]
    made |= {"sameAs": same} if same else {}
    if picture and picture.src.startswith(desk.top):
        made["image"] = base + picture.src.removeprefix(desk.top)
    if desk.settings.rights:
        made["sdLicense"] = desk.settings.rights
    made["sdPublisher"] = {"@type": "Organization", "name": publisher(desk), "url": base}
    return made


def publisher(desk: Desk) -> str:
    """Return the publisher's name in the language of the page, or the first there is."""
    names = desk.settings.name
    return names.get(desk.language) or next(iter(names.values()))


def address(uri: str, desk: Desk) -> str:
    """Return the address of the page of a document, under the base of the site."""
    tree = "" if desk.language == desk.settings.languages[0] else f"{desk.language}/"
    return desk.settings.base + tree + path_of(desk.settings.base, uri)


def script(value: dict[str, Any]) -> str:
    """Return JSON-LD that can stand in a script element whatever the data hold."""
    body = orjson.dumps(value)
    for raw, escaped in _ESCAPED.items():
        body = body.replace(raw, escaped)
    return body.decode()


def _type(tree: Tree) -> str:
    if tree["type"] == "HumanMadeObject":
        return "Photograph" if has_type(tree, PHOTOGRAPH) else "CreativeWork"
    return _TYPES.get(tree["type"], "Thing")


def _numbers(tree: Tree) -> list[str]:
    return [
        node["content"]
        for node in tree.get("identified_by", ())
        if node.get("type") == "Identifier" and has_type(node, ACCESSION)
    ]


def _making(tree: Tree, desk: Desk) -> dict[str, Any]:
    found: dict[str, Any] = {}
    nodes = [act.node for act in acts(tree) if act.role in _MADE]
    nobody = desk.settings.base + UNIDENTIFIED
    creators = [
        _entity(maker, desk)
        for node in nodes
        for maker in node.get("carried_out_by", ())
        if not maker["id"].startswith(nobody)
    ]
    if creators:
        found["creator"] = creators
    for node in nodes:
        edtf = edtf_of(node.get("timespan", {}))
        if _DATE.fullmatch(edtf):
            found["dateCreated"] = edtf
            break
    places = [_entity(place, desk) for node in nodes for place in node.get("took_place_at", ())]
    if places:
        found["locationCreated"] = places
    return found


def _entity(node: Tree, desk: Desk) -> dict[str, str]:
    kind = _TYPES.get(node.get("type", ""), "Thing")
    return {"@id": node["id"], "@type": kind, "name": desk.name(node["id"])}
