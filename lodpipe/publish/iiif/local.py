"""Which pictures an export makes itself, from which file, and which part of it."""

from collections.abc import Iterator
from dataclasses import dataclass

from lodpipe.publish.iiif.common import crop_iri, picture_iri
from lodpipe.publish.iiif.plan import Plan, box
from lodpipe.publish.iiif.settings import Site, View
from lodpipe.records import Box


@dataclass(frozen=True, slots=True)
class Source:
    """What one static image service is made from.

    Attributes:
        file: path from the project folder, in any format that libvips reads.
        size: width and height of that file when the release was made, turned upright.
        region: the part that is wanted: a box, or the corners of a polygon; all of it when empty.
        covered: areas of the whole file that are painted over before anything else is done.
    """

    file: str
    size: tuple[int, int]
    region: tuple[int, ...] = ()
    covered: tuple[Box, ...] = ()

    @property
    def extent(self) -> tuple[int, int]:
        """Width and height of what is shown."""
        return box(self.region)[2:] if self.region else self.size


def local(plan: Plan, view: View, site: Site) -> Iterator[tuple[str, Source]]:
    """Yield the id and the source of each image service of the export.

    These are the files of things that may leave, and for each thing without a picture of its
    front its place on the picture of what it lies on.
    """
    for thing, sheets in plan.sheets.items():
        if thing in view.hidden or view.get(thing) is None:
            continue
        for image in (image for sheet in sheets for image in sheet.captures if image.file):
            size = image.width, image.height
            yield picture_iri(image, site), Source(image.file, size, covered=image.covered)
    for thing in plan.places:
        spot = plan.cut(thing)
        if spot is None or thing in view.hidden or view.get(thing) is None:
            continue
        placed, sheet = spot
        image = sheet.image
        if image.file and sheet.thing not in view.hidden and view.get(sheet.thing) is not None:
            size = image.width, image.height
            yield crop_iri(thing, site), Source(image.file, size, placed.region, image.covered)
