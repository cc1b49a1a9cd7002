"""Pictures for an export: whole or cropped, turned upright, without anything but pixels.

The file of a photographer or scanner tells where, when and with what it was made (Exif, XMP);
nothing of that leaves the house. https://www.libvips.org/API/current/method.Image.jpegsave.html
"""

from pathlib import Path

from lodpipe.errors import ValueFault

QUALITY = 85


class PictureFault(ValueFault):
    """A picture that cannot be read or cut."""

    code = "image"


def jpeg(path: Path, area: tuple[int, int, int, int] | None = None) -> bytes:
    """Return a picture as JPEG.

    Args:
        path: a file in any format that libvips reads.
        area: x, y, width, height of the part that is wanted, in pixels; all of it when None.

    Raises:
        PictureFault: the file cannot be read, or the area lies outside of it.
    """
    import pyvips  # a large library: only for those who have pictures

    try:
        image = pyvips.Image.new_from_file(str(path)).autorot()
        if area is not None:
            image = image.crop(*area)
        data: bytes = image.jpegsave_buffer(Q=QUALITY, keep="none")
    except pyvips.Error as error:
        raise PictureFault(
            f"`{path.name}` cannot be read or cut: {error.message}",
            hint="look whether the file is whole and the region lies in it",
        ) from error
    return data
