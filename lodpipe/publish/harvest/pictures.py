"""The pictures of a manifest: addresses, sizes and services, in the order of its canvases."""

from collections.abc import Iterator
from dataclasses import dataclass

from lodpipe.records import Tree


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture: where it is, its size in pixels, its image service and level; empty for none."""

    uri: str
    width: int
    height: int
    service: str = ""
    level: str = ""


def pictures_of(manifest: Tree) -> Iterator[Picture]:
    """Yield what is painted on the canvases of a manifest; of alternatives the first."""
    for canvas in manifest["items"]:
        for page in canvas.get("items", ()):
            for annotation in page["items"]:
                body = annotation["body"]
                yield _picture(body["items"][0] if body["type"] == "Choice" else body)


def _picture(body: Tree) -> Picture:
    """Return an image, or the region of one as the image service gives it.

    https://iiif.io/api/image/3.0/#4-image-requests
    """
    source = body["source"] if body["type"] == "SpecificResource" else body
    service: Tree = next(iter(source.get("service", ())), {})
    base, level = service.get("id") or service.get("@id", ""), service.get("profile", "")
    if source is body:
        return Picture(body["id"], body["width"], body["height"], base, level)
    region = body["selector"]["region"]
    _, _, width, height = (int(number) for number in region.split(","))
    size = "full" if "@id" in service else "max"  # of version 2, and of 3
    return Picture(f"{base}/{region}/{size}/0/default.jpg", width, height, base, level)
