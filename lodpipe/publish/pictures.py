"""Pictures for an export: whole or cropped, turned upright, without anything but pixels.

The file of a photographer or scanner tells where, when and with what it was made (Exif, XMP);
nothing of that leaves the house. https://www.libvips.org/API/current/method.Image.jpegsave.html
"""

from collections.abc import Iterable
from pathlib import Path

from lodpipe.errors import ValueFault
from lodpipe.records import Box

QUALITY = 85
PAINT = 128
"""Mid grey, in every band: what is painted over is neither black nor white like a picture's own."""


class PictureFault(ValueFault):
    """A picture that cannot be read or cut."""

    code = "image"


def jpeg(path: Path, area: Box | None = None, covered: Iterable[Box] = ()) -> bytes:
    """Return a picture as JPEG.

    Args:
        path: a file in any format that libvips reads.
        area: x, y, width, height of the part that is wanted, in pixels; all of it when None.
        covered: areas of the whole picture that are painted over before anything else is done.

    Raises:
        PictureFault: the file cannot be read, or the area lies outside of it.
    """
    import pyvips  # a large library: only for those who have pictures

    try:
        image = pyvips.Image.new_from_file(str(path)).autorot()
        for left, top, width, height in covered:
            image = image.draw_rect([PAINT] * image.bands, left, top, width, height, fill=True)
        if area is not None:
            image = image.crop(*area)
        data: bytes = image.jpegsave_buffer(Q=QUALITY, keep="none")
    except pyvips.Error as error:
        raise PictureFault(
            f"`{path.name}` cannot be read or cut: {error.message}",
            hint="look whether the file is whole and the region lies in it",
        ) from error
    return data
