"""Pictures of a project: their sizes, read from file headers by libvips, and which are told apart."""

from collections.abc import Sequence
from pathlib import Path

from lodpipe.errors import ValueFault
from lodpipe.findings import Finding, Report
from lodpipe.records import Image


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


def told_apart(images: Sequence[Image], report: Report) -> list[Image]:
    """Return the pictures of which no two show the same side of a thing under the same name."""
    kept: dict[tuple[str, str, str], Image] = {}
    for image in sorted(images, key=lambda image: (image.file, image.service)):
        side = "" if image.side == "recto" else image.side
        if kept.setdefault((image.thing, side, image.capture), image) is image:
            continue
        report(
            Finding(
                "image",
                f"another row has a picture of the same side; `{image.file or image.service}` "
                "is not published",
                image.place.at("capture") if image.place else None,
                value=image.file or image.service,
                hint="name the picture in `capture`, `raking light` say, and it becomes a choice",
                uri=image.thing,
            )
        )
    return list(kept.values())
