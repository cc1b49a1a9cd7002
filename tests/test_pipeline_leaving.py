"""Which pictures may leave, and what is painted over on them first."""

from collections.abc import Iterable, Mapping

import pytest

from lodpipe.pipeline.leaving import layout_that_may_leave
from lodpipe.records import Image, Layout, Placed

SECRET, PAGE, ALBUM, OTHER = "secret", "page", "album", "other"
WHOLE = None
"""The picture may not leave at all."""


def picture(thing: str, **more: str) -> Image:
    name = {} if "service" in more else {"file": f"{thing}.jpg"}
    return Image(thing=thing, width=1000, height=800, **{**name, **more})  # type: ignore[arg-type]


def row(thing: str, on: str, *region: int, side: str = "") -> Placed:
    return Placed(thing, on, region=region, side=side)


PASTED = row(SECRET, PAGE, 100, 200, 400, 300)
PAINTED = ((88, 188, 424, 324),)
"""A margin of 3 % of the longer side: 12 pixels all around."""

CASES: dict[str, tuple[list[Image], list[Placed], dict[str, object]]] = {
    "the region is painted over": ([picture(PAGE)], [PASTED], {"page/page.jpg": PAINTED}),
    "a narrow one with the least margin": (
        [picture(PAGE)],
        [row(SECRET, PAGE, 100, 200, 20, 10)],
        {"page/page.jpg": ((92, 192, 36, 26),)},
    ),
    "the margin ends at the edge": (
        [picture(PAGE)],
        [row(SECRET, PAGE, 0, 0, 1000, 795)],
        {"page/page.jpg": ((0, 0, 1000, 800),)},
    ),
    "a polygon in its box": (
        [picture(PAGE)],
        [row(SECRET, PAGE, 100, 200, 500, 200, 300, 500)],
        {"page/page.jpg": PAINTED},
    ),
    "no region": ([picture(PAGE)], [row(SECRET, PAGE)], {"page/": WHOLE}),
    "a remote service": ([picture(PAGE, service="https://i.example/p")], [PASTED], {"page/": WHOLE}),
    "its own picture": (
        [picture(SECRET), picture(PAGE)], [PASTED], {"page/page.jpg": PAINTED},
    ),
    "one file for it and for its page": (
        [picture(SECRET, file="page.jpg"), picture(PAGE)], [PASTED], {"page/": WHOLE},
    ),
    "one service for it and for another": (
        [picture(SECRET, service="https://i.example/p"), picture(OTHER, service="https://i.example/p")],
        [],
        {"other/": WHOLE},
    ),
    "one file for the page and for another": (
        [picture(OTHER, file="page.jpg"), picture(PAGE)],
        [PASTED],
        {"page/page.jpg": PAINTED, "other/page.jpg": PAINTED},
    ),
    "the other side": (
        [picture(PAGE, side="recto"), picture(PAGE, side="verso", file="back.jpg")],
        [row(SECRET, PAGE, 100, 200, 400, 300, side="recto")],
        {"page/page.jpg": PAINTED, "page/back.jpg": ()},
    ),
    "a side that nobody names": (
        [picture(PAGE, side="recto"), picture(PAGE, side="verso", file="back.jpg")],
        [PASTED],
        {"page/page.jpg": PAINTED},
    ),
    "another capture of the side": (
        [picture(PAGE, capture="a"), picture(PAGE, capture="b", file="raking.jpg")],
        [PASTED],
        {"page/page.jpg": PAINTED},
    ),
    "the page of an opening": (
        [picture(PAGE), picture(ALBUM), picture("opening")],
        [PASTED, row(PAGE, "opening", 0, 0, 500, 800), row("opening", ALBUM)],
        {"page/page.jpg": PAINTED, "opening/opening.jpg": ((0, 0, 524, 800),), "album/album.jpg": ()},
    ),
    "another thing on the page": (
        [picture(PAGE), picture(OTHER)],
        [PASTED, row(OTHER, PAGE, 600, 200, 100, 100)],
        {"page/page.jpg": PAINTED, "other/other.jpg": ()},
    ),
}  # fmt: skip


def left(layout: Layout) -> dict[str, object]:
    """By file, what is painted over on it; by thing where the picture stays here."""
    return {
        f"{image.thing}/{image.file or image.service}": image.covered
        if image.file or image.service
        else WHOLE
        for image in layout.images
    }


@pytest.mark.parametrize("case", CASES)
def test_what_is_withheld_is_on_no_picture_that_leaves(case: str) -> None:
    images, placed, wanted = CASES[case]

    found = layout_that_may_leave(Layout(tuple(images), tuple(placed)), frozenset({SECRET}))

    assert left(found) == wanted
    assert all(SECRET not in (one.thing, one.on) for one in found.placed)


@pytest.mark.parametrize(
    ("parents", "wanted"),
    [
        ({SECRET: [PAGE]}, {"page/": WHOLE, "album/album.jpg": ()}),
        ({SECRET: [PAGE], PAGE: [ALBUM]}, {"page/": WHOLE, "album/": WHOLE}),
        ({OTHER: [PAGE]}, {"page/page.jpg": (), "album/album.jpg": ()}),
    ],
)
def test_what_only_the_record_says_lies_there_hides_the_whole_picture(
    parents: Mapping[str, Iterable[str]], wanted: dict[str, object]
) -> None:
    layout = Layout((picture(PAGE), picture(ALBUM)))

    assert left(layout_that_may_leave(layout, frozenset({SECRET}), lambda: parents)) == wanted


def test_a_layout_without_anything_withheld_stays_as_it_is() -> None:
    layout = Layout((picture(PAGE),), (PASTED,))

    assert layout_that_may_leave(layout, frozenset()) is layout
