"""Sizes of image files, read from their headers by libvips, which also cuts tiles."""

from pathlib import Path

from lodpipe.errors import ValueFault


class PictureFault(ValueFault):
    """A file that is not an image that we can read."""

    code = "image"


def size_of(path: Path, name: str) -> tuple[int, int]:
    """Return width and height in pixels, as the image is shown: turned where its header says so.

    Args:
        path: the file. `name`: what messages call it.

    Raises:
        PictureFault: not an image, or one that is cut off before its size is known.
    """
    import pyvips  # a large library: only for those who have images

    try:
        image = pyvips.Image.new_from_file(str(path), access="sequential")
    except pyvips.Error:
        raise PictureFault(
            f"`{name}` cannot be read as an image", hint="save it as JPEG, PNG or TIFF"
        ) from None
    turned = image.get_typeof("orientation") and image.get("orientation") >= 5
    width, height = int(image.width), int(image.height)
    return (height, width) if turned else (width, height)
