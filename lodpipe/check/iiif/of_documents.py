"""Rules of IIIF about every resource: context, class, address, lists, links.

What is said of a rule's reach: `check.iiif.looking`.
"""

from collections.abc import Iterator
from typing import Any

from lodpipe.check.iiif.looking import Fault, Spot, is_iri, listed, rule, spots
from lodpipe.check.iiif.tables import (
    ITEMS,
    LINKS,
    LISTS,
    MEDIA,
    NAV_PLACE,
    ONLY,
    OURS,
    PRESENTATION,
)


@rule(
    "context",
    "46-linked-data-context-and-extensions",
    "the context of the Presentation API is not the only or the last one at the top: write it there, once",
)
def _context(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#46-linked-data-context-and-extensions>"""
    if spot.above is not None and "@context" not in spot.node:
        return None
    contexts = listed(spot.node.get("@context"))
    if spot.above is None:
        broken = contexts[-1:] != [PRESENTATION] or contexts.count(PRESENTATION) != 1
        broken = broken or "@graph" in spot.node
    else:
        broken = PRESENTATION in contexts
    return iter([("/@context", spot.node.get("@context"))] if broken else [])


@rule(
    "navplace-context",
    "https://iiif.io/api/extension/navplace/",
    "`navPlace` is used without its context: put it before that of the Presentation API",
)
def _navplace(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/extension/navplace/>"""
    if "navPlace" not in spot.node:
        return None
    known = NAV_PLACE in spot.document.contexts
    return iter([] if known else [("/navPlace", None)])


@rule("type", "type", "the class is missing or not one that belongs here: look at `type`")
def _type(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#type> and `#items`"""
    kind: Any = spot.node.get("type")
    if spot.above is None:
        allowed = OURS - {"Agent"}
    elif spot.key == "items" and spot.above.kind in ITEMS:
        allowed = ITEMS[spot.above.kind]
    elif spot.key in LINKS and not (spot.above.is_note and spot.key == "partOf"):
        allowed = LINKS[spot.key].classes
    else:
        return None
    good = isinstance(kind, str) and bool(kind) and (not allowed or kind in allowed)
    return iter([] if good else [("/type", kind)])


@rule(
    "id",
    "id",
    "an `id` is missing or no address that begins with http: give every resource one of its own",
)
def _id(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#id>; Ranges and Agents: any URI (`#54-range`, `#provider`)"""
    link = LINKS.get(spot.key)
    ours = spot.kind in OURS
    if not ours and not (link and "id" in link.must) and not _is_body(spot):
        return None
    own = spot.node.get("id")
    good = isinstance(own, str) and is_iri(own)
    if ours and spot.kind not in ("Range", "Agent"):
        good = good and str(own).startswith(("http://", "https://"))
    return iter([] if good else [("/id", own)])


def _is_body(spot: Spot) -> bool:
    """Content, which MUST have an id: <https://iiif.io/api/presentation/3.0/#57-content-resources>."""
    return spot.kind in MEDIA and spot.key in ("body", "items")


@rule(
    "canvas-id", "53-canvas", "the `id` of a canvas has a fragment, so no part of it can be named"
)
def _canvas_id(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#53-canvas>"""
    if spot.kind != "Canvas" or not spot.is_embedded:
        return None
    own = str(spot.node.get("id", ""))
    return iter([("/id", own)] if "#" in own else [])


@rule("same-id", "id", "two resources have one `id`: give each its own")
def _same_id(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#id>: the URI identifies the resource"""
    if spot.above is not None:
        return None
    return _repeated(spot)


def _repeated(whole: Spot) -> Iterator[Fault]:
    seen: dict[str, str] = {}
    for spot in spots(whole.node):
        own = spot.node.get("id")
        if isinstance(own, str) and spot.kind in OURS - {"Agent"} and spot.is_embedded:
            if own in seen:
                yield f"{spot.pointer}/id", own
            seen.setdefault(own, spot.pointer)


@rule("place-of-key", "3-resource-properties", "this class MUST NOT have this key: take it away")
def _place_of_key(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#3-resource-properties>: "Other types MUST NOT have" """
    if spot.kind not in OURS:
        return None
    wrong = [key for key in spot.node if key in ONLY and spot.kind not in ONLY[key]]
    if spot.key in ("placeholderCanvas", "accompanyingCanvas"):
        wrong += [k for k in ("placeholderCanvas", "accompanyingCanvas") if k in spot.node]
    return iter([(f"/{key}", key) for key in wrong])


@rule(
    "list",
    "43-properties-with-multiple-values",
    "a key that may have several values has no list: put it in [ ]",
)
def _list(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#43-properties-with-multiple-values>"""
    keys = [key for key in spot.node if key in LISTS]
    if spot.is_note:  # W3C Annotation allows one value there
        keys = [key for key in keys if key != "partOf"]
    if not keys or not spot.kind:
        return None
    return iter(
        [(f"/{key}", spot.node[key]) for key in keys if not isinstance(spot.node[key], list)]
    )


@rule("link", "42-resource-representations", "a linked resource lacks a key that it must have")
def _link(spot: Spot) -> Iterator[Fault] | None:
    """`#homepage`, `#rendering`, `#provider` ...; collections: `#51-collection`, manifests: `#label`"""
    link = LINKS.get(spot.key)
    must = [key for key in link.must if key not in _ID] if link and spot.above else []
    if spot.kind in ("Collection", "Manifest") and (spot.above is None or spot.key == "items"):
        must = ["label"]
    if not must:
        return None
    return iter([(f"/{key}", None) for key in must if not spot.node.get(key)])


_ID = ("id", "type")


@rule(
    "service",
    "service",
    "a service lacks `id` (or `@id`) or `type` (or `@type`), so no client can use it",
)
def _service(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#service>"""
    services = spot.node.get("service")
    if not isinstance(services, list):
        return None
    return iter(
        (f"/service/{number}", one)
        for number, one in enumerate(services)
        if not isinstance(one, dict)
        or not (one.get("id") or one.get("@id"))
        or not (one.get("type") or one.get("@type"))
    )
