"""A checked layout as rows of text, as the archive keeps it, and back."""

from collections.abc import Iterable, Iterator
from typing import Literal

from lodpipe.records import Box, Image, Layout, LayoutRow, Placed, Stop

LAYOUT_FILES = ("images", "layout", "threads")


def rows_of_images(images: Iterable[Image]) -> Iterator[LayoutRow]:
    """Yield checked pictures as rows of text, which `layout_of_rows` reads back."""
    for image in images:
        cells = {
            "thing": image.thing, "file": image.file, "service": image.service,
            "side": image.side, "capture": image.capture,
            "width": str(image.width), "height": str(image.height),
        }  # fmt: skip
        if image.level or image.version != 3:
            cells["version"], cells["level"] = str(image.version), str(image.level)
        if image.covered:
            cells["covered"] = ";".join(map(_joined, image.covered))
        yield LayoutRow("images", cells, image.place)


def rows_of_layout(layout: Layout) -> Iterator[LayoutRow]:
    """Yield a checked layout as rows of text, which `layout_of_rows` reads back."""
    yield from rows_of_images(layout.images)
    for placed in layout.placed:
        cells = {
            "thing": placed.thing, "on": placed.on, "order": str(placed.order),
            "side": placed.side, "region": _joined(placed.region), "capture": placed.capture,
        }  # fmt: skip
        yield LayoutRow("layout", cells, placed.place)
    for stop in layout.stops:
        cells = {
            "thread": stop.thread, "order": str(stop.order), "thing": stop.thing,
            "region": _joined(stop.region), "language": stop.language, "text": stop.text,
        }  # fmt: skip
        yield LayoutRow("threads", cells, stop.place)


def layout_of_rows(rows: Iterable[LayoutRow]) -> Layout:
    """Return the layout of rows that `rows_of_layout` made; other rows are left aside."""
    images, placed, stops = [], [], []
    for row in rows:
        if row.file not in LAYOUT_FILES:
            continue
        cells, place = row.cells, row.place
        match _file(row.file):
            case "images":
                images.append(
                    Image(
                        cells["thing"], cells["file"], cells["service"], cells["side"],
                        cells["capture"], int(cells["width"]), int(cells["height"]), place,
                        _boxes(cells.get("covered", "")),
                        int(cells.get("version", 3)), int(cells.get("level", 0)),
                    )
                )  # fmt: skip
            case "layout":
                placed.append(
                    Placed(
                        cells["thing"], cells["on"], int(cells["order"]), cells["side"],
                        _split(cells["region"]), cells["capture"], place,
                    )
                )  # fmt: skip
            case "threads":
                stops.append(
                    Stop(
                        cells["thread"], int(cells["order"]), cells["thing"],
                        _split(cells["region"]), cells["language"], cells["text"], place,
                    )
                )  # fmt: skip
    return Layout(
        tuple(sorted(images, key=lambda i: (i.thing, i.side, i.capture, i.file, i.service))),
        tuple(sorted(placed, key=lambda p: (p.on, p.order, p.side, p.thing, p.region))),
        tuple(sorted(stops, key=lambda s: (s.thread, s.order, s.thing, s.region, s.language))),
    )


def _file(name: str) -> Literal["images", "layout", "threads"]:
    assert name in LAYOUT_FILES
    return name  # type: ignore[return-value]  # just asserted


def _joined(region: tuple[int, ...]) -> str:
    return ",".join(map(str, region))


def _split(region: str) -> tuple[int, ...]:
    return tuple(map(int, region.split(","))) if region else ()


def _boxes(text: str) -> tuple[Box, ...]:
    areas = [_split(area) for area in text.split(";") if area]
    return tuple((x, y, width, height) for x, y, width, height in areas)
