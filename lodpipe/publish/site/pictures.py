"""The pictures of a thing as files of the export, with what may be seen of them."""

from dataclasses import dataclass

from lodpipe.iris import file_link
from lodpipe.publish import iiif
from lodpipe.publish.site.catalogue import Catalogue
from lodpipe.records import Image

WHOLE = "/full/max/0/default.jpg"
FRONT = ("", "recto")
SMALL = 400
"""Longest side of a picture in a list, in pixels."""


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture: the way to its file, its size in pixels, and which side of the thing it shows.

    `capture` says how, where one side has several; `small` is a smaller file of it for lists,
    `srcset` the files of all sizes that there are.
    """

    src: str
    width: int
    height: int
    side: str = ""
    capture: str = ""
    small: str = ""
    small_width: int = 0
    small_height: int = 0
    srcset: str = ""


def pictures(uri: str, catalogue: Catalogue, top: str) -> list[Picture]:
    """Return the pictures of a thing: its own, and where none shows its front, that cut from its page.

    Args:
        top: the way from the page to the top of the export.
    """
    plan, base = catalogue.plan, catalogue.settings.base
    site = iiif.Site(base, catalogue.settings.name)
    sheets = plan.sheets.get(uri, ())
    found = [
        _picture(iiif.whole_iri(image, site), image, base, top)
        for sheet in sheets
        for image in sheet.captures
        if _may_leave(image)
    ]
    if any(sheet.side in FRONT for sheet in sheets):
        return found
    spot = plan.cut(uri)
    if spot is None or not _may_leave(spot[1].image):
        return found
    placed, sheet = spot
    area = iiif.box(placed.region)
    image = Image(uri, width=area[2], height=area[3])
    if sheet.image.service:
        src = iiif.region_iri(sheet.image, area)
        one = Picture(src, image.width, image.height, "", "", src, image.width, image.height)
        return [one, *found]
    return [_picture(iiif.crop_iri(uri, site) + WHOLE, image, base, top), *found]


def _may_leave(image: Image) -> bool:
    return bool(image.file or image.service)


def _picture(address: str, image: Image, base: str, top: str) -> Picture:
    width, height, side, capture = image.width, image.height, image.side, image.capture
    if not address.startswith(base):
        return _elsewhere(address, image)
    here = top + file_link(address.removeprefix(base).removesuffix(WHOLE))
    copies = [iiif.sized(here, width, height, max(size)) for size in iiif.sizes(width, height)]
    small = iiif.sized(here, width, height, SMALL)
    srcset = ", ".join(f"{src} {across}w" for src, across, _ in copies)
    return Picture(here + WHOLE, width, height, side, capture, *small, srcset)


def _elsewhere(address: str, image: Image) -> Picture:
    """Return a picture of a service elsewhere; at level 0 only the whole is sure to be there."""
    width, height = image.width, image.height
    small, across, down = address, width, height
    if image.level:
        across, down = iiif.scaled(width, height, SMALL)
        small = f"{image.service}/full/{across},/0/default.jpg"
    return Picture(address, width, height, image.side, image.capture, small, across, down)
