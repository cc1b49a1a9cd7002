"""What changed, for harvesters that follow it: IIIF Change Discovery 1.0, oldest first.

https://iiif.io/api/discovery/1.0/. One stream tells of manifests, another one of Linked Art
records in the same form. A client reads backwards from the last page until its last visit.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lodpipe.archive import Activity
from lodpipe.iris import document_iri
from lodpipe.publish.iiif import Site, manifest_iri
from lodpipe.publish.linked_art import PROFILE
from lodpipe.records import Tree

CONTEXT = "http://iiif.io/api/discovery/1/context.json"
PAGE = 500
"""Activities in one page."""


@dataclass(frozen=True, slots=True)
class Stream:
    """One stream of changes: its name below `activity/`, and the format that it tells of."""

    name: str
    format: str

    def iri(self, site: Site, page: int | None = None) -> str:
        """Return the IRI of the stream, or of one of its pages."""
        end = "" if page is None else f"/page/{page}"
        return document_iri(site.base, f"activity/{self.name}{end}")


MANIFEST_CHANGES = Stream("changes", "iiif")
RECORD_CHANGES = Stream("records", "linked-art")
STREAMS = (MANIFEST_CHANGES, RECORD_CHANGES)


def pages(total: int) -> int:
    """Return how many pages a number of activities fills."""
    return -(-total // PAGE)


def collection(stream: Stream, total: int, site: Site, licence: str = "") -> Tree:
    """Return the head of a stream that has at least one activity.

    Args:
        licence: of the stream itself, http form; empty for none.
    """
    made: Tree = {
        "@context": CONTEXT,
        "id": stream.iri(site),
        "type": "OrderedCollection",
        "totalItems": total,
        "first": _page_of(stream, 0, site),
        "last": _page_of(stream, pages(total) - 1, site),
    }
    if licence:
        made["rights"] = licence
    return made


def page(
    stream: Stream,
    number: int,
    activities: Iterable[Activity],
    total: int,
    site: Site,
    instants: Mapping[int, str],
) -> Tree:
    """Return one page of a stream, counted from 0.

    Args:
        activities: those of the page, oldest first. `total`: how many the stream has.
        instants: from which each release is visible.
    """
    made: Tree = {
        "@context": CONTEXT,
        "id": stream.iri(site, number),
        "type": "OrderedCollectionPage",
        "partOf": {"id": stream.iri(site), "type": "OrderedCollection"},
        "startIndex": number * PAGE,
    }
    if number:
        made["prev"] = _page_of(stream, number - 1, site)
    if number + 1 < pages(total):
        made["next"] = _page_of(stream, number + 1, site)
    made["orderedItems"] = [
        {
            "id": f"{stream.iri(site)}/{one.number}",
            "type": one.kind,
            "object": _object(stream, one, site),
            **({"summary": one.told} if one.told else {}),
            "endTime": instants[one.release],
        }
        for one in activities
    ]
    return made


def _object(stream: Stream, one: Activity, site: Site) -> Tree:
    """Return what an activity is about; of what is deleted no more than its IRI and class."""
    if stream.format == RECORD_CHANGES.format:
        return {"id": one.uri, "type": one.what or "Object"}
    made: Tree = {"id": manifest_iri(site.base, one.uri), "type": "Manifest"}
    if one.kind != "Delete":
        made["seeAlso"] = [
            {
                "id": one.uri,
                "type": "Dataset",
                "format": "application/ld+json",
                "profile": PROFILE,
            }
        ]
    return made


def _page_of(stream: Stream, number: int, site: Site) -> Tree:
    return {"id": stream.iri(site, number), "type": "OrderedCollectionPage"}
