"""IIIF Presentation 3.0 manifests and collections: pure functions, same input, same bytes.

An album is a Manifest, each side of a page a Canvas; a pasted item is a Range, a linking
annotation on its region and a Manifest of its own; a thread is a further Range hierarchy.
https://iiif.io/api/presentation/3.0/
"""

from collections.abc import Collection, Iterator

import orjson

from lodpipe.iris import document_iri
from lodpipe.publish.iiif.album import album
from lodpipe.publish.iiif.common import (
    CONTEXT,
    Desk,
    crop_iri,
    link,
    picture_iri,
    picture_key,
    provider,
    reference,
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
from lodpipe.publish.iiif.tiles import files, sized, sizes
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
    "site_of",
    "sized",
    "sizes",
    "to_bytes",
    "view_of",
]


def manifests(plan: Plan, view: View, site: Site) -> Iterator[tuple[str, Tree]]:
    """Yield each thing that has a manifest, with it: albums, then pasted items, then single prints."""
    for uri in (*plan.albums, *plan.items, *plan.singles):
        made = manifest(uri, plan, view, site)
        if made:
            yield uri, made


def manifest(uri: str, plan: Plan, view: View, site: Site) -> Tree | None:
    """Return the manifest of a thing; None when it may not leave or has no picture to show.

    A manifest needs a canvas: https://iiif.io/api/presentation/3.0/#52-manifest.
    """
    tree = view.get(uri)
    if tree is None:
        return None
    desk = Desk(plan, view, site)
    made = (
        album(uri, tree, desk)
        if uri in plan.on and uri not in plan.places
        else item(uri, tree, desk)
    )
    return made if made["items"] else None


def collection(
    key: str,
    label: LanguageMap,
    plan: Plan,
    view: View,
    site: Site,
    *,
    summary: LanguageMap | None = None,
    made: Collection[str] | None = None,
) -> Tree | None:
    """Return a collection of all albums and of the things in no album; None when there are none.

    Args:
        key: last part of its IRI. `label`, `summary`: what readers see.
        made: the things that have a manifest, where the caller knows; else each is tried.

    Manifests are referred to, never embedded: https://iiif.io/api/presentation/3.0/#51-collection.
    """
    desk = Desk(plan, view, site)
    items = [
        reference(uri, "Manifest", desk)
        for uri in (*plan.albums, *plan.singles)
        if (manifest(uri, plan, view, site) if made is None else uri in made)
    ]
    if not items:
        return None
    tree: Tree = {
        "@context": CONTEXT,
        "id": document_iri(site.base, "iiif/collection/" + key),
        "type": "Collection",
        "label": label,
    }
    if summary:
        tree["summary"] = summary
    tree["provider"] = provider(site)
    if site.pages:
        tree["homepage"] = [
            link(document_iri(site.base, "page/" + key), "Text", label, "text/html")
        ]
    tree["items"] = items
    return tree


def to_bytes(tree: Tree) -> bytes:
    """Return a manifest or collection as JSON, with a line end; equal trees give equal bytes."""
    return orjson.dumps(tree, option=orjson.OPT_APPEND_NEWLINE)
