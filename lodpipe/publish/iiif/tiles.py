"""Static image services, level 0: which files stand below a picture's base, and their sizes.

Nothing here reads a pixel: everything follows from width and height. The files themselves are
made by `publish.pictures`. https://iiif.io/api/image/3.0/, section 5 and its implementation notes.
"""

from collections.abc import Iterator
from typing import NamedTuple

from lodpipe.records import Box, Tree

CONTEXT = "http://iiif.io/api/image/3/context.json"
PROTOCOL = "http://iiif.io/api/image"
TILE = 512
"""Width and height of a tile in pixels: common practice, no source."""
SMALLEST = 200
"""Longest side, in pixels, below which a picture is not halved once more."""
FULL = "/full/max/0/default.jpg"
THUMBNAIL = 400
"""Longest side, in pixels, of the small pictures that lists show."""


class Tile(NamedTuple):
    """One tile: the end of its address, the halving that it is cut from, and its box there."""

    name: str
    level: int
    box: Box


def sizes(width: int, height: int) -> list[tuple[int, int]]:
    """Return the sizes at which the whole picture is there, the full one first.

    Each is half of the one before, rounded up: the size of the picture in tiles of one factor.

    >>> sizes(1620, 1200)
    [(1620, 1200), (810, 600), (405, 300), (203, 150), (102, 75)]
    """
    found = [(width, height)]
    while max(found[-1]) > SMALLEST:
        across, down = found[-1]
        found.append(((across + 1) // 2, (down + 1) // 2))
    return found


def sized(base: str, width: int, height: int, longest: int) -> tuple[str, int, int]:
    """Return address, width and height of the largest copy that is no longer than asked for.

    The smallest there is where all are longer.

    >>> sized("https://example.org/iiif/image/p1", 1620, 1200, 400)
    ('https://example.org/iiif/image/p1/full/203,150/0/default.jpg', 203, 150)
    """
    there = sizes(width, height)
    across, down = next((size for size in there if max(size) <= longest), there[-1])
    size = "max" if (across, down) == (width, height) else f"{across},{down}"
    return f"{base}/full/{size}/0/default.jpg", across, down


def scaled(width: int, height: int, longest: int) -> tuple[int, int]:
    """Return the size of a picture made so small that its longer side is no longer than asked for.

    >>> scaled(6000, 4500, 400)
    (400, 300)
    """
    share = min(1.0, longest / max(width, height))
    return max(1, round(width * share)), max(1, round(height * share))


def tiles(width: int, height: int) -> Iterator[Tile]:
    """Yield every tile of a picture.

    Region and size follow the algorithm of the implementation notes of the specification,
    https://iiif.io/api/image/3.0/#a-implementation-notes.
    """
    for level, (across, down) in enumerate(sizes(width, height)):
        factor = 2**level
        for top in range(0, down, TILE):
            for left in range(0, across, TILE):
                box = left, top, min(TILE, across - left), min(TILE, down - top)
                x, y = left * factor, top * factor
                region = f"{x},{y},{min(TILE * factor, width - x)},{min(TILE * factor, height - y)}"
                yield Tile(f"/{region}/{box[2]},{box[3]}/0/default.jpg", level, box)


def information(base: str, width: int, height: int) -> Tree:
    """Return the `info.json` of a picture: https://iiif.io/api/image/3.0/#5-image-information."""
    there = sizes(width, height)
    made: Tree = {
        "@context": CONTEXT,
        "id": base,
        "type": "ImageService3",
        "protocol": PROTOCOL,
        "profile": "level0",
        "width": width,
        "height": height,
    }
    if there[1:]:
        smaller = reversed(there[1:])  # the full one is asked for as `max`
        made["sizes"] = [{"width": across, "height": down} for across, down in smaller]
    factors = [2**level for level in range(len(there))]
    made["tiles"] = [{"width": TILE, "height": TILE, "scaleFactors": factors}]
    return made


def files(width: int, height: int) -> Iterator[tuple[str, int, Box]]:
    """Yield every picture file of a service: end of its address, halving, box on that halving.

    The whole picture stands as `full/max`, and halved as `full/w,h`: viewers that find it in one
    tile ask for that tile by these names too.
    """
    there = sizes(width, height)
    yield FULL, 0, (0, 0, *there[0])
    for level, (across, down) in enumerate(there[1:], start=1):
        yield f"/full/{across},{down}/0/default.jpg", level, (0, 0, across, down)
    given: set[str] = set()
    for tile in tiles(width, height):
        # a corner of a pixel or two is cut by several factors under one address
        if tile.name not in given:
            given.add(tile.name)
            yield tile
