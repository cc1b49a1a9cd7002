"""Pictures for an export, as static image services: whole or cut out, without anything but pixels.

The file of a photographer or scanner tells where, when and with what it was made (Exif, XMP);
nothing of that leaves the house. https://www.libvips.org/API/current/method.Image.jpegsave.html
"""

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import orjson

from lodpipe.errors import ValueFault
from lodpipe.publish.iiif import Source, box, tiles

if TYPE_CHECKING:
    import pyvips

QUALITY = 85
PAINT = 128
"""Mid grey, in every band: what is painted over is neither black nor white like a picture's own."""
AROUND = 255
"""White, in every band: what lies around a print that was cut by hand is not part of its picture."""
WORKINGS = 1
"""Moves when the same file and region give other pixels than before, so that all are made anew."""


class PictureFault(ValueFault):
    """A picture that cannot be read or cut."""

    code = "image"


def recipe(source: Source, base: str, content: str) -> str:
    """Return a name for everything that decides over the pixels of a service.

    Args:
        base: id of the service. `content`: SHA-256 of the file.
    """
    parts = (WORKINGS, QUALITY, base, content, source.size, source.region, source.covered)
    return hashlib.sha256(repr(parts).encode()).hexdigest()


def service(source: Source, folder: Path, base: str) -> Iterator[tuple[str, bytes]]:
    """Yield every file of a static image service: end of its address, and bytes.

    Args:
        folder: of the project. `base`: id of the service.

    Raises:
        PictureFault: the file cannot be read, or is not the one that the release was made with.
    """
    import pyvips  # a large library: only for those who have pictures

    yield "/info.json", information(source, base)
    try:
        levels = [_opened(source, folder)]
        for name, level, area in tiles.files(*source.extent):
            if level == len(levels):
                levels.append(levels[-1].shrink(2, 2, ceil=True).copy_memory())
            whole = area[2:] == (levels[level].width, levels[level].height)
            piece = levels[level] if whole else levels[level].crop(*area)
            yield name, piece.jpegsave_buffer(Q=QUALITY, keep="none")
    except pyvips.Error as error:
        raise PictureFault(
            f"`{source.file}` cannot be read or cut: {str(error.message).strip().splitlines()[0]}",
            hint="look whether the file is whole",
        ) from error


def information(source: Source, base: str) -> bytes:
    """Return the `info.json` of a service."""
    tree = tiles.information(base, *source.extent)
    return orjson.dumps(tree, option=orjson.OPT_APPEND_NEWLINE)


def _opened(source: Source, folder: Path) -> "pyvips.Image":
    """Return the pixels of a source: upright, in sRGB or grey, painted over, then cut."""
    import pyvips

    path = folder / source.file
    if not path.is_file():
        raise PictureFault(f"there is no file `{source.file}`", hint="put it back, or run again")
    # `revalidate`: libvips remembers files by name, also one that has changed since
    image = _plain(pyvips.Image.new_from_file(str(path), revalidate=True).autorot())
    if (image.width, image.height) != source.size:
        raise PictureFault(
            f"`{source.file}` has {image.width} x {image.height} pixels; the release was made "
            f"with {source.size[0]} x {source.size[1]}",
            hint="run again, so that regions are held against the file that is there",
        )
    for left, top, width, height in source.covered:
        image = image.draw_rect([PAINT] * image.bands, left, top, width, height, fill=True)
    if source.region:
        image = image.crop(*box(source.region))
        if len(source.region) > 4:
            image = _mask(source.region).ifthenelse(image, [AROUND] * image.bands, blend=True)
    return image.copy_memory()


def _plain(image: "pyvips.Image") -> "pyvips.Image":
    """Return a picture in eight bits of grey or sRGB: its profile does not go out with it."""
    if image.get_typeof("icc-profile-data"):
        image = image.icc_transform("srgb", embedded=True)
    image = image.colourspace("b-w" if image.interpretation in ("b-w", "grey16") else "srgb")
    return image.flatten(background=AROUND) if image.hasalpha() else image


def _mask(corners: tuple[int, ...]) -> "pyvips.Image":
    """Return a polygon, white on black, as large as the box around it."""
    import pyvips

    left, top, width, height = box(corners)
    points = " ".join(
        f"{x - left},{y - top}" for x, y in zip(corners[0::2], corners[1::2], strict=True)
    )
    drawn = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}">'
        f'<polygon points="{points}" fill="#fff"/></svg>'
    )
    return pyvips.Image.svgload_buffer(drawn.encode()).extract_band(3)
