"""What of the layout may leave: withheld things are on no picture, or the picture stays here."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from lodpipe.publish.iiif import box
from lodpipe.records import Box, Image, Layout, Placed

MARGIN = 0.03
"""Share of the longer side of a region by which the painted area reaches beyond it: regions are
drawn by hand, and a strip of the picture at its edge would tell what is under the paint."""
LEAST_MARGIN = 8
"""Pixels."""


def layout_that_may_leave(
    layout: Layout,
    withheld: frozenset[str],
    parents: Callable[[], Mapping[str, Iterable[str]]] = dict,
) -> Layout:
    """Return the layout without withheld things, and without their look on any picture.

    On a local file the region of a withheld thing is entered in `Image.covered`, for whoever makes
    pictures of it to paint over. A picture that cannot be painted over (a remote service), or on
    which the region is not known, keeps its place and its size, so that the number of pages stays
    true; its file or service is named nowhere any more.

    Args:
        parents: returns, by thing, what it is part of according to its record, also where no row
            of the layout says so: then it is somewhere on the picture of that.
    """
    if not withheld:
        return layout
    shown = _shown(layout, withheld, parents())
    images: dict[str, list[Image]] = {}
    for image in _alike(_marked(layout, withheld, shown)):
        images.setdefault(image.thing, []).append(image)
    kept = []
    for mine in images.values():
        some_leave = any(image.file or image.service for image in mine)
        kept += [image for image in mine if image.file or image.service or not some_leave]
    return Layout(
        tuple(kept),
        tuple(row for row in layout.placed if withheld.isdisjoint((row.thing, row.on))),
        tuple(row for row in layout.stops if withheld.isdisjoint((row.thing, row.thread))),
    )


def things_showing(
    layout: Layout,
    withheld: frozenset[str],
    parents: Callable[[], Mapping[str, Iterable[str]]] = dict,
) -> frozenset[str]:
    """Return what has something withheld on its pictures, and is not withheld itself."""
    return frozenset(_shown(layout, withheld, parents())) - withheld if withheld else frozenset()


@dataclass(slots=True)
class _Hiding:
    """What must not be seen on the pictures of one thing.

    `rows` have a region on them; `whole`: something lies there, nobody knows where.
    """

    rows: list[Placed] = field(default_factory=list)
    whole: bool = False


def _shown(
    layout: Layout, withheld: frozenset[str], parents: Mapping[str, Iterable[str]]
) -> dict[str, _Hiding]:
    """Return, for each thing that may be seen, what its pictures show of withheld ones.

    A picture of an opening shows its pages and what lies on them; an album's own picture does not
    show its leaves: they lie on it without a region.
    """
    places: dict[str, list[Placed]] = {}
    for row in layout.placed:
        places.setdefault(row.thing, []).append(row)
    found: dict[str, _Hiding] = {}
    waiting, seen = sorted(withheld), set(withheld)
    while waiting:
        thing = waiting.pop()
        rows = places.get(thing, [])
        said = {row.on for row in rows}
        carriers = [row.on for row in rows if row.region or thing in withheld]
        for row in rows:
            hiding = found.setdefault(row.on, _Hiding())
            if row.region:
                hiding.rows.append(row)
            else:
                hiding.whole |= thing in withheld
        for parent in parents.get(thing, ()):
            if parent not in said:
                found.setdefault(parent, _Hiding()).whole = True
                carriers.append(parent)
        for carrier in carriers:
            if carrier not in seen:
                seen.add(carrier)
                waiting.append(carrier)
    return found


def _marked(layout: Layout, withheld: frozenset[str], shown: Mapping[str, _Hiding]) -> list[Image]:
    """Return the pictures of what may be seen, painted areas entered, others emptied."""
    counted = _counted(layout.images)
    own = {_name(image) for image in layout.images if image.thing in withheld}
    found = []
    for image in layout.images:
        if image.thing in withheld:
            continue
        hiding = shown.get(image.thing)
        if _name(image) in own:
            image = _emptied(image)
        elif hiding is not None:
            image = _painted(image, hiding, counted)
        found.append(image)
    return found


def _painted(image: Image, hiding: _Hiding, counted: Mapping[tuple[str, str], Image]) -> Image:
    areas = []
    for row in hiding.rows:
        same = counted.get((row.on, row.side))
        if row.side and same is not None and image.side != row.side:
            continue  # it lies on another side
        if image is not (same or counted[row.on, ""]):
            return _emptied(image)  # another capture: nobody has drawn the region on this one
        areas.append(_with_margin(box(row.region), image))
    if hiding.whole or (areas and not (image.file and image.width and image.height)):
        return _emptied(image)
    return replace(image, covered=tuple(sorted({*image.covered, *areas})))


def _counted(images: Iterable[Image]) -> dict[tuple[str, str], Image]:
    """Return, by thing and side, the picture on which regions are counted.

    As in the plan of the manifests it is the first capture of that side; without a side, or where
    that side has no picture, that of the first side. Those stand under the empty side.
    """
    found: dict[tuple[str, str], Image] = {}
    front = ("", "recto")
    for image in sorted(
        images, key=lambda i: (i.side not in front, i.side, i.capture, i.file, i.service)
    ):
        found.setdefault((image.thing, image.side), image)
        found.setdefault((image.thing, ""), image)
    return found


def _with_margin(area: Box, image: Image) -> Box:
    left, top, width, height = area
    margin = max(LEAST_MARGIN, round(max(width, height) * MARGIN))
    right, bottom = (
        min(left + width + margin, image.width),
        min(top + height + margin, image.height),
    )
    left, top = max(left - margin, 0), max(top - margin, 0)
    return left, top, right - left, bottom - top


def _alike(images: list[Image]) -> list[Image]:
    """Treat one file that is a picture of several things alike, by the strictest of them."""
    areas: dict[str, set[Box]] = {}
    for image in images:
        areas.setdefault(_name(image), set()).update(image.covered)
    return [replace(i, covered=tuple(sorted(areas[_name(i)]))) if i.file else i for i in images]


def _name(image: Image) -> str:
    return image.file or image.service


def _emptied(image: Image) -> Image:
    return replace(image, file="", service="", covered=(), place=None)
