"""Parts of canvases: what a fragment or selector picks out, and whether the canvas has it.

Content MUST NOT be outside the canvas, and a part MUST NOT use a dimension that the canvas lacks:
<https://iiif.io/api/presentation/3.0/#53-canvas>. The fragments are those of
<https://www.w3.org/TR/media-frags/>; in an SVG, rectangles, circles and polygons are looked at,
curves are not.
"""

import math
import re
from collections.abc import Iterator
from typing import Any

from lxml import etree

Tree = dict[str, Any]

_SPACE = re.compile(r"(?:(pixel|percent):)?([^,]+),([^,]+),([^,]+),([^,]+)")
_TIME = re.compile(r"(?:npt:)?([0-9.:]*)(?:,([0-9.:]+))?")
_NUMBERS = re.compile(r"-?[0-9]*\.?[0-9]+(?:[eE][-+]?[0-9]+)?")
_SVG = "{http://www.w3.org/2000/svg}"
_PARSER = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)


class PartFaultError(ValueError):
    """A part that cannot be read, or that the canvas does not have; the message says which."""


def targets(value: Any) -> Iterator[tuple[str, Any]]:
    """Yield IRI (fragment kept) and selector (or None) of everything that a target names."""
    if isinstance(value, list):
        for one in value:
            yield from targets(one)
    elif isinstance(value, str):
        yield value, None
    elif isinstance(value, dict):
        if "source" in value:
            for iri, _ in targets(value["source"]):
                yield iri, value.get("selector")
        elif isinstance(value.get("id"), str):
            yield value["id"], None


def check_part(iri: str, selector: Any, canvas: Tree) -> None:
    """Hold a part of a canvas against its dimensions.

    Args:
        iri: of the canvas, with or without fragment. selector: beside it, or None.

    Raises:
        PartFaultError: outside, or not to be read.
    """
    fragment = iri.partition("#")[2]
    if fragment:
        _fragment(fragment, canvas)
    for one in selector if isinstance(selector, list) else [selector]:
        if not isinstance(one, dict):
            continue
        kind = one.get("type")
        if kind == "FragmentSelector":
            _fragment(str(one.get("value", "")), canvas)
        elif kind == "PointSelector":
            _point(one, canvas)
        elif kind == "SvgSelector":
            _inside(list(_corners(str(one.get("value", "")))), canvas)


def _fragment(text: str, canvas: Tree) -> None:
    for part in text.split("&"):
        name, _, value = part.partition("=")
        if name == "xywh":
            _box(value, canvas)
        elif name == "t":
            _time(value, canvas)


def _box(text: str, canvas: Tree) -> None:
    found = _SPACE.fullmatch(text)
    if found is None:
        raise PartFaultError(f"xywh={text}")
    x, y, width, height = (_number(part) for part in found.groups()[1:])
    if width <= 0 or height <= 0:
        raise PartFaultError(f"xywh={text}")
    whole = {"width": 100, "height": 100} if found[1] == "percent" else canvas
    _inside([(x, y), (x + width, y + height)], whole)


def _inside(corners: list[tuple[float, float]], canvas: Tree) -> None:
    width, height = canvas.get("width"), canvas.get("height")
    if not _is_size(width) or not _is_size(height):
        raise PartFaultError("a region of a canvas without height and width")
    assert isinstance(width, int | float)
    assert isinstance(height, int | float)
    for x, y in corners:
        if not (0 <= x <= width and 0 <= y <= height):
            raise PartFaultError(f"{x:g},{y:g} outside {width} x {height}")


def _is_size(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _point(selector: Tree, canvas: Tree) -> None:
    if "x" in selector or "y" in selector:
        x, y = (_number(str(selector.get(key, 0))) for key in "xy")
        _inside([(x, y)], canvas)
    if "t" in selector:
        _time(str(selector["t"]), canvas)


def _time(text: str, canvas: Tree) -> None:
    found = _TIME.fullmatch(text)
    if found is None or not any(found.groups()):
        raise PartFaultError(f"t={text}")
    duration = canvas.get("duration")
    if not _is_size(duration):
        raise PartFaultError("a time of a canvas without duration")
    assert isinstance(duration, int | float)
    start, end = (_seconds(part) if part else None for part in found.groups())
    if (start or 0) > duration or (end or 0) > duration or (end is not None and end < (start or 0)):
        raise PartFaultError(f"t={text} of {duration:g} seconds")


def _seconds(text: str) -> float:
    total = 0.0
    for part in text.split(":"):
        total = total * 60 + _number(part)
    return total


def _corners(svg: str) -> Iterator[tuple[float, float]]:
    try:
        root = etree.fromstring(svg.encode(), _PARSER)
    except etree.XMLSyntaxError as error:
        raise PartFaultError(f"not SVG: {error.msg}") from None
    if root.get("viewBox") or any(node.get("transform") for node in root.iter()):
        return  # numbers of another space than the canvas's
    for shape in root.iter(f"{_SVG}polygon", f"{_SVG}polyline"):
        numbers = [float(text) for text in _NUMBERS.findall(shape.get("points", ""))]
        if not numbers or len(numbers) % 2:
            raise PartFaultError("a polygon without pairs of numbers")
        yield from zip(numbers[::2], numbers[1::2], strict=True)
    for shape in root.iter(f"{_SVG}rect"):
        x, y, width, height = (_number(shape.get(k, "0")) for k in ("x", "y", "width", "height"))
        yield from ((x, y), (x + width, y + height))
    for shape in root.iter(f"{_SVG}circle"):
        x, y, radius = (_number(shape.get(key, "0")) for key in ("cx", "cy", "r"))
        yield from ((x - radius, y - radius), (x + radius, y + radius))


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise PartFaultError(f"`{text}` is not a number") from None
    if not math.isfinite(value):
        raise PartFaultError(f"`{text}` is not a number")
    return value
