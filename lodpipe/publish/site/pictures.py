"""The pictures of a thing as files of the export, with what may be seen of them."""

from dataclasses import dataclass

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

    `small` is a smaller file of it for lists, `srcset` the files of all sizes that there are.
    """

    src: str
    width: int
    height: int
    side: str = ""
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
        _picture(iiif.picture_iri(sheet.image, site), sheet.image, sheet.side, base, top)
        for sheet in sheets
        if _may_leave(sheet.image)
    ]
    if any(sheet.side in FRONT for sheet in sheets):
        return found
    spot = plan.spot(uri)
    if spot is None or not _may_leave(spot[1].image):
        return found
    placed, sheet = spot
    area = iiif.box(placed.region)
    image = Image(uri, width=area[2], height=area[3])
    if sheet.image.service:
        src = f"{sheet.image.service}/{','.join(map(str, area))}/max/0/default.jpg"
        one = Picture(src, image.width, image.height, "", src, image.width, image.height)
        return [one, *found]
    return [_picture(iiif.crop_iri(uri, site), image, "", base, top), *found]


def _may_leave(image: Image) -> bool:
    return bool(image.file or image.service)


def _picture(iri: str, image: Image, side: str, base: str, top: str) -> Picture:
    width, height = image.width, image.height
    if not iri.startswith(base):  # of a service elsewhere only the whole is sure to be there
        return Picture(iri + WHOLE, width, height, side, iri + WHOLE, width, height)
    here = top + iri.removeprefix(base)
    copies = [iiif.sized(here, width, height, max(size)) for size in iiif.sizes(width, height)]
    small = iiif.sized(here, width, height, SMALL)
    srcset = ", ".join(f"{src} {across}w" for src, across, _ in copies)
    return Picture(here + WHOLE, width, height, side, *small, srcset)
