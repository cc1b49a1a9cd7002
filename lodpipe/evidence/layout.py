"""Layout: which images show a thing, where things lie on one another, and in which threads.

Rows come from `images.csv`, `layout.csv` and `threads.csv` and from mappings. Here they get IRIs
for keys and sizes for files, and what cannot be used is reported.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from posixpath import normpath
from typing import Any, TypeVar

from lodpipe.errors import IriError, nearest
from lodpipe.evidence.cells import Cells
from lodpipe.evidence.columns import Folder
from lodpipe.evidence.keys import ANY, OBJECTS, Entries, Get, KeyFault, Keys
from lodpipe.evidence.layout_rows import LAYOUT_FILES
from lodpipe.evidence.pictures import PictureFault, size_of, told_apart
from lodpipe.evidence.services import Service
from lodpipe.findings import Finding, Report
from lodpipe.iris import check_iri, check_language
from lodpipe.records import Image, Layout, LayoutRow, Place, Placed, Record, Stop
from lodpipe.terms import Concepts

SIDES = ("recto", "verso", "cover", "loose", "fold-out", "left", "right")
_MEANT = {"thing": OBJECTS, "on": OBJECTS, "thread": frozenset({"Set"})}
"""Columns with keys, each with the classes that a key in it means first."""
_REGION = re.compile(r"-?\d+(?:\.\d+)?")

R = TypeVar("R", Image, Placed, Stop)
Rows = Callable[[], Iterable[LayoutRow]]
"""What gives all rows of the layout, as often as it is called."""


def read_layout(folder: Folder) -> tuple[LayoutRow, ...]:
    """Return the rows of the three layout files as they stand."""
    return tuple(
        LayoutRow(stem, record.data, record.origin)
        for stem in LAYOUT_FILES
        for record in folder.rows(stem)
    )


def check_layout(
    rows: Rows,
    root: Path,
    base: str,
    entries: Entries,
    concepts: Concepts,
    report: Report,
    *,
    get: Get | None = None,
    aside: Callable[[Image], None] | None = None,
    services: Mapping[str, Service] | None = None,
) -> Layout:
    """Return the layout that rows of files and mappings make; report rows that cannot be used.

    What is returned has no places any more: nothing asks for them, and there may be many rows.

    Args:
        rows: returns all rows, each time that it is called: a large collection has one a picture.
        root: project folder, below which image files lie; their sizes are read from them.
        entries: all documents of the run. `get`: finds one of them by its IRI.
        aside: takes the pictures of things that no row places anywhere. These are most of a large
            collection, and nothing but their own document asks for them. None: the layout has them.
        services: what is known of image services elsewhere, by id.
    """
    keys = Keys(base, entries, concepts, (), get)
    wanted = {key for row in rows() for key, kind in _keys(row) if keys.whole(key, kind) is None}
    if wanted:
        keys = Keys(base, entries, concepts, wanted, get)
    checker = _Checker(keys, root, report, services or {})
    images = told_apart(_images(checker, rows, aside), report)
    sizes = {(image.thing, image.side): image for image in reversed(images)}
    placed = [
        kept
        for row in checker.all(rows(), "layout", checker.placed)
        if (kept := _inside(row, sizes, report))
    ]
    placed = _without_circles(placed, report)
    stops = checker.all(rows(), "threads", checker.stop)
    return Layout(
        _in_order(images, lambda i: (i.thing, i.side, i.capture, i.file, i.service)),
        _in_order(placed, lambda p: (p.on, p.order, p.side, p.thing, p.region)),
        _in_order(stops, lambda s: (s.thread, s.order, s.thing, s.region, s.language)),
    )


def _in_order(rows: Iterable[R], key: Callable[[R], tuple[Any, ...]]) -> tuple[R, ...]:
    return tuple(replace(row, place=None) for row in sorted(rows, key=key))


def _keys(row: LayoutRow) -> Iterator[tuple[str, frozenset[str]]]:
    """Yield the keys of a row, each with the kind of document that it means before any other."""
    for column, kind in _MEANT.items():
        if cell := row.cells.get(column, "").strip():
            yield cell, kind


def _images(checker: "_Checker", rows: Rows, aside: Callable[[Image], None] | None) -> list[Image]:
    """Return the pictures of things that rows place somewhere; the others are put aside."""
    images = checker.each(rows(), "images", checker.image)
    if aside is None:
        return checker.once(images)
    tied = checker.tied(rows())
    kept = []
    for image in images:
        if image.thing in tied:
            kept.append(image)
        else:
            aside(image)
    return checker.once(kept)


class _Checker:
    """Makes rows of text into rows of the layout."""

    def __init__(
        self, keys: Keys, root: Path, report: Report, services: Mapping[str, Service]
    ) -> None:
        self.keys, self.root, self.report, self.services = keys, root, report, services
        self.sizes: dict[str, tuple[int, int]] = {}

    def all(self, rows: Iterable[LayoutRow], file: str, make: Callable[[Cells], R]) -> list[R]:
        return self.once(self.each(rows, file, make))

    def each(self, rows: Iterable[LayoutRow], file: str, make: Callable[[Cells], R]) -> Iterator[R]:
        for row in rows:
            if row.file != file:
                continue
            place = row.place or Place(f"{file}.csv")
            cells = Cells(Record(row.cells, place, "table"), self.report, "layout")
            found = make(cells)
            if not cells.bad:
                yield replace(found, place=place)

    def once(self, made: Iterable[R]) -> list[R]:
        """Say once what a file and a mapping both say; the first place stays."""
        return list(dict.fromkeys(made))

    def tied(self, rows: Iterable[LayoutRow]) -> frozenset[str]:
        """Return the things that any row places somewhere, or on which it places something."""
        found = set()
        for row in rows:
            for key, _ in _keys(row) if row.file != "images" else ():
                with suppress(KeyFault):  # reported when the row is made
                    found.add(self.keys.find(key, ANY))
                with suppress(KeyFault):
                    found.add(self.keys.find(key, OBJECTS, ANY))
        return frozenset(found)

    def image(self, cells: Cells) -> Image:
        file, service = cells.text("file"), cells.text("service")
        # one file has one name: what is painted over in it is painted over for everybody
        file = normpath(file) if file else ""
        image = Image(
            thing=self._key(cells, "thing", OBJECTS, ANY),
            file=file,
            service=service.rstrip("/"),
            side=cells.word("side", SIDES),
            capture=cells.text("capture"),
        )
        if bool(file) == bool(service):
            cells.fault("the row needs either `file` or `service`", "file", code="image")
        elif service:
            try:
                check_iri(service)
            except IriError as error:
                cells.fault(error.message, "service", error.hint, code="image")
            return self._described(cells, image)
        elif not cells.bad:
            width, height = self._size(cells, file)
            return replace(image, width=width, height=height)
        return image

    def _described(self, cells: Cells, image: Image) -> Image:
        """Return a picture of a service with the size that its own description says."""
        found = self.services.get(image.service)
        if found is not None:
            return replace(
                image,
                width=found.width,
                height=found.height,
                version=found.version,
                level=found.level,
            )
        if not cells.bad:
            cells.remark(
                f"the size of `{image.service}` is not known, so no manifest shows it",
                "service",
                "`lodpipe services` asks the service for it",
                code="no-size",
            )
        return image

    def _size(self, cells: Cells, file: str) -> tuple[int, int]:
        if file not in self.sizes:
            path = (self.root / file).resolve()
            if not path.is_relative_to(self.root.resolve()):
                cells.fault(f"`{file}` lies outside the project", "file", code="image")
                return 0, 0
            if not path.is_file():
                near = [other.name for other in path.parent.glob("*")]
                hint = nearest(path.name, near) or "look at its path, from the project folder"
                cells.fault(f"there is no file `{file}`", "file", hint, code="image")
                return 0, 0
            try:
                self.sizes[file] = size_of(path, file)
            except PictureFault as fault:
                cells.fault(fault.message, "file", fault.hint, code="image")
                return 0, 0
        return self.sizes[file]

    def placed(self, cells: Cells) -> Placed:
        placed = Placed(
            thing=self._key(cells, "thing", OBJECTS, ANY),
            on=self._key(cells, "on", OBJECTS),
            order=cells.whole("order", 0) or 0,
            side=cells.word("side", SIDES),
            region=region_of(cells),
            capture=cells.text("capture"),
            place=cells.place,
        )
        if placed.thing == placed.on and not cells.bad:
            cells.fault(f"`{cells.text('thing')}` cannot lie on itself", "on")
        return placed

    def stop(self, cells: Cells) -> Stop:
        stop = Stop(
            thread=self._key(cells, "thread", frozenset({"Set"}), ANY),
            order=cells.whole("order", 0) or 0,
            thing=self._key(cells, "thing", OBJECTS, ANY),
            region=region_of(cells),
            language=cells.text("language"),
            text=cells.text("text"),
            place=cells.place,
        )
        if stop.language:
            try:
                return replace(stop, language=check_language(stop.language))
            except IriError as error:
                cells.fault(error.message, "language", error.hint)
        return stop

    def _key(self, cells: Cells, column: str, *kinds: frozenset[str]) -> str:
        key = cells.needed(column)
        if not key:
            return ""
        try:
            return self.keys.find(key, *kinds)
        except KeyFault as fault:
            cells.fault(fault.message, column, fault.hint)
            return key


def region_of(cells: Cells) -> tuple[int, ...]:
    """Return a region in whole pixels: `x,y,w,h`, or the corners of a polygon, x before y."""
    text = cells.text("region")
    if not text:
        return ()
    parts = [part for part in re.split(r"[\s,;]+", text.removeprefix("xywh=")) if part]
    if not all(_REGION.fullmatch(part) for part in parts):
        cells.fault(f"`{text}` is not a region", "region", "write `x,y,width,height` in pixels")
        return ()
    numbers = tuple(round(float(part)) for part in parts)
    if len(numbers) == 4 and (min(numbers[:2]) < 0 or min(numbers[2:]) <= 0):
        cells.fault(
            f"the region `{text}` has no extent inside the image",
            "region",
            "write `x,y,width,height` in pixels",
        )
    elif len(numbers) != 4 and (len(numbers) < 6 or len(numbers) % 2):
        cells.fault(
            f"the region `{text}` has {len(numbers)} numbers",
            "region",
            "write four (`x,y,width,height`), or the corners of a polygon, x before y",
        )
    return numbers


def _inside(placed: Placed, sizes: dict[tuple[str, str], Image], report: Report) -> Placed | None:
    """Return the row, without its region where that reaches outside the image of the carrier."""
    image = sizes.get((placed.on, placed.side)) or next(
        (image for (thing, _), image in sizes.items() if thing == placed.on), None
    )
    if not placed.region or image is None or not image.width:
        return placed
    if len(placed.region) == 4:
        x, y, width, height = placed.region
        corners = [(x, y), (x + width, y + height)]
    else:
        corners = list(zip(placed.region[::2], placed.region[1::2], strict=True))
    if all(0 <= x <= image.width and 0 <= y <= image.height for x, y in corners):
        return placed
    shown = ",".join(map(str, placed.region))
    report(
        Finding(
            "layout",
            f"the region `{shown}` reaches outside its image, which has {image.width} x "
            f"{image.height} pixels; the thing is placed without it",
            placed.place.at("region") if placed.place else None,
            value=shown,
            hint="regions are counted in pixels of the page image",
            uri=placed.thing,
        )
    )
    return replace(placed, region=())


def _without_circles(placed: Sequence[Placed], report: Report) -> list[Placed]:
    """Return the rows without those that would place a thing on itself by way of others."""
    above: dict[str, set[str]] = {}
    kept = []
    for row in placed:
        waiting, seen = [row.on], {row.on}
        while waiting:
            for other in above.get(waiting.pop(), set()) - seen:
                seen.add(other)
                waiting.append(other)
        if row.thing in seen:
            report(
                Finding(
                    "layout",
                    "the thing would lie on itself, by way of what it carries",
                    row.place.at("on") if row.place else None,
                    value=row.on,
                    uri=row.thing,
                )
            )
            continue
        above.setdefault(row.thing, set()).add(row.on)
        kept.append(row)
    return kept
