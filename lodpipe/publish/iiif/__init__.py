"""IIIF Presentation 3.0 manifests and collections: pure functions, same input, same bytes.

An album is a Manifest, each side of a page a Canvas; a pasted item is a Range, a linking
annotation on its region and a Manifest of its own; a thread is a further Range hierarchy.
https://iiif.io/api/presentation/3.0/
"""

from collections.abc import Iterator

import orjson

from lodpipe.publish.iiif.album import album
from lodpipe.publish.iiif.collecting import collection, collections
from lodpipe.publish.iiif.common import (
    Desk,
    crop_iri,
    picture_iri,
    picture_key,
    region_iri,
    whole_iri,
)
from lodpipe.publish.iiif.item import item
from lodpipe.publish.iiif.local import Source, local
from lodpipe.publish.iiif.plan import Plan, album_of, box, hidden, plan
from lodpipe.publish.iiif.settings import (
    LanguageMap,
    Notice,
    Row,
    Site,
    View,
    language_tags,
    manifest_iri,
    site_of,
    view_of,
)
from lodpipe.publish.iiif.tiles import files, scaled, sized, sizes
from lodpipe.records import Tree

__all__ = [
    "LanguageMap",
    "Notice",
    "Plan",
    "Row",
    "Site",
    "Source",
    "View",
    "album_of",
    "box",
    "collection",
    "collections",
    "crop_iri",
    "files",
    "hidden",
    "language_tags",
    "local",
    "manifest",
    "manifest_iri",
    "manifests",
    "picture_iri",
    "picture_key",
    "plan",
    "region_iri",
    "scaled",
    "site_of",
    "sized",
    "sizes",
    "to_bytes",
    "view_of",
    "whole_iri",
]


def manifests(plan: Plan, view: View, site: Site) -> Iterator[tuple[str, Tree]]:
    """Yield each thing that has a manifest, with it: albums, then pasted items, then single prints."""
    desk = Desk(plan, view, site)
    for uri in (*plan.albums, *plan.items, *plan.singles):
        if made := _manifest(uri, desk):
            yield uri, made


def manifest(uri: str, plan: Plan, view: View, site: Site) -> Tree | None:
    """Return the manifest of a thing; None when it may not leave or has no picture to show.

    A manifest needs a canvas: https://iiif.io/api/presentation/3.0/#52-manifest.
    """
    return _manifest(uri, Desk(plan, view, site))


def _manifest(uri: str, desk: Desk) -> Tree | None:
    tree = desk.view.get(uri)
    if tree is None:
        return None
    is_album = uri in desk.plan.on and uri not in desk.plan.places
    made = (album if is_album else item)(uri, tree, desk)
    return made if made["items"] else None


def to_bytes(tree: Tree) -> bytes:
    """Return a manifest or collection as JSON, with a line end; equal trees give equal bytes."""
    return orjson.dumps(tree, option=orjson.OPT_APPEND_NEWLINE)
