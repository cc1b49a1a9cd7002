"""What stands where: the layout turned into albums, canvases, items and threads, once a release.

An album is a thing on which something is placed and which is itself placed on nothing. What is
placed on an album becomes its canvases (pages, covers, loose inserts); what is placed on one of
these is a pasted item; what is placed on an item is a half of it, or a part that was cut from
another thing.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

from lodpipe.records import Box, Image, Layout, Placed, Stop

LOOSE = "loose"
FRONT = ("", "recto")
MOST_LEVELS = 64


@dataclass(frozen=True, slots=True)
class Sheet:
    """One side of one thing as it was photographed.

    The first capture is the one that is cropped, and on which regions are counted.
    """

    thing: str
    side: str
    captures: tuple[Image, ...]

    @property
    def image(self) -> Image:
        """The first capture."""
        return self.captures[0]


@dataclass(frozen=True, slots=True)
class Plan:
    """The layout by what the manifests ask of it; every tuple is in the order of the layout."""

    sheets: dict[str, tuple[Sheet, ...]]
    on: dict[str, tuple[Placed, ...]]
    places: dict[str, tuple[Placed, ...]]
    threads: dict[str, tuple[Stop, ...]]
    albums: tuple[str, ...]
    items: tuple[str, ...]
    singles: tuple[str, ...]
    unsized: tuple[Image, ...] = field(default=())

    def sheet_of(self, placed: Placed) -> Sheet | None:
        """Return the side of the carrier on which something lies, None when it has no picture."""
        sheets = self.sheets.get(placed.on, ())
        fit = [sheet for sheet in sheets if sheet.side == placed.side]
        return next(iter(fit or sheets), None)

    def spot(self, thing: str) -> tuple[Placed, Sheet] | None:
        """Return the first place of a thing on the picture of something else, with its region."""
        for placed in self.places.get(thing, ()):
            sheet = self.sheet_of(placed)
            if sheet and placed.region and inside(box(placed.region), sheet.image):
                return placed, sheet
        return None

    def cut(self, thing: str) -> tuple[Placed, Sheet] | None:
        """Return the place that a picture of a thing is cut from; None when its front has its own.

        None also where the picture of what it lies on is at a service that cannot cut (level 0,
        https://iiif.io/api/image/3.0/compliance/#31-region).
        """
        if any(sheet.side in FRONT for sheet in self.sheets.get(thing, ())):
            return None
        spot = self.spot(thing)
        return spot if spot and (not spot[1].image.service or spot[1].image.level) else None


def plan(layout: Layout) -> Plan:
    """Return the plan of a layout.

    Pictures of unknown size cannot become a canvas (width and height are required,
    https://iiif.io/api/presentation/3.0/#width); they are listed in `unsized`.
    """
    on = _grouped(layout.placed, "on")
    places = _grouped(layout.placed, "thing")
    sheets = _sheets(image for image in layout.images if image.width and image.height)
    tops = tuple(thing for thing in on if thing not in places)
    pages, items = set[str](), set[str]()
    for top in tops:
        for placed in on[top]:
            pasted = placed.side == LOOSE or (placed.region and top in sheets)
            (items if pasted else pages).add(placed.thing)
    items.update(placed.thing for page in pages for placed in on.get(page, ()))
    return Plan(
        sheets,
        on,
        places,
        _threads(layout.stops),
        albums=tops,
        items=tuple(sorted(items - pages)),
        singles=tuple(sorted(thing for thing in sheets if thing not in places and thing not in on)),
        unsized=tuple(image for image in layout.images if not (image.width and image.height)),
    )


def album_of(plan: Plan, thing: str) -> str:
    """Return the album in which a thing lies, by its first place; empty when in none."""
    at = thing
    for _ in range(MOST_LEVELS):
        placed = plan.places.get(at)
        if not placed:
            return at if at != thing else ""
        at = placed[0].on
    return ""


def hidden(layout: Layout, withheld: Collection[str]) -> frozenset[str]:
    """Return the things whose pictures show something that is withheld, and so may not leave whole.

    What a withheld thing lies on shows it, and what that lies on in turn; so does every thing
    that is pictured by the same file or service. A region that is not known hides all the more.
    """
    above: dict[str, set[str]] = {}
    for placed in layout.placed:
        above.setdefault(placed.thing, set()).add(placed.on)
    things: dict[str, set[str]] = {}
    for image in layout.images:
        things.setdefault(image.file or image.service, set()).add(image.thing)
    twins: dict[str, set[str]] = {}
    for shown in things.values():
        for thing in shown:
            twins.setdefault(thing, set()).update(shown - {thing})
    found: set[str] = set()
    waiting = [above.get(thing, set()) | twins.get(thing, set()) for thing in withheld]
    while waiting:
        for thing in waiting.pop() - found:
            found.add(thing)
            waiting.append(above.get(thing, set()) | twins.get(thing, set()))
    return frozenset(found)


def box(region: tuple[int, ...]) -> Box:
    """Return the smallest box around a region: the box itself, or that around a polygon.

    >>> box((700, 2360, 2640, 2300, 2700, 3740, 760, 3800))
    (700, 2300, 2000, 1500)
    """
    if len(region) == 4:
        return region[0], region[1], region[2], region[3]
    across, down = region[0::2], region[1::2]
    left, top = min(across), min(down)
    return left, top, max(across) - left, max(down) - top


def inside(area: Box, image: Image) -> bool:
    """Return whether a box has an area and lies wholly on a picture."""
    left, top, width, height = area
    return (
        left >= 0
        and top >= 0
        and width > 0
        and height > 0
        and left + width <= image.width
        and top + height <= image.height
    )


def _grouped(rows: Iterable[Placed], by: str) -> dict[str, tuple[Placed, ...]]:
    found: dict[str, list[Placed]] = {}
    for row in sorted(rows, key=lambda row: (row.order, row.thing, row.on, row.region)):
        found.setdefault(getattr(row, by), []).append(row)
    return {key: tuple(found[key]) for key in sorted(found)}


def _sheets(images: Iterable[Image]) -> dict[str, tuple[Sheet, ...]]:
    captures: dict[str, dict[str, list[Image]]] = {}
    for image in sorted(images, key=lambda image: (image.capture, image.file, image.service)):
        captures.setdefault(image.thing, {}).setdefault(image.side, []).append(image)
    return {
        thing: tuple(
            Sheet(thing, side, tuple(sides[side]))
            for side in sorted(sides, key=lambda side: (side not in FRONT, side))
        )
        for thing, sides in sorted(captures.items())
    }


def _threads(stops: Iterable[Stop]) -> dict[str, tuple[Stop, ...]]:
    found: dict[str, list[Stop]] = {}
    for stop in sorted(stops, key=_stop_key):
        found.setdefault(stop.thread, []).append(stop)
    return {thread: tuple(rows) for thread, rows in found.items()}


def _stop_key(stop: Stop) -> tuple[str, int, str, str, str, tuple[int, ...]]:
    return stop.thread, stop.order, stop.thing, stop.language, stop.text, stop.region
