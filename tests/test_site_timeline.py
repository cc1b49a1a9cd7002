"""Time as a picture: where bars lie, and that a bar never says more than the fact."""

from typing import cast

import pytest

from lodpipe.dates import parse
from lodpipe.dates.days import day_number
from lodpipe.evidence.facts import Stay
from lodpipe.publish.site.desk import Desk
from lodpipe.publish.site.timeline import LEAST, Item, chart, spans_of, stays_of
from lodpipe.records import Place


def item(low: tuple[int, int, int], high: tuple[int, int, int]) -> Item:
    return Item((day_number(*low), day_number(*high)), "words", "#")


def test_bars_lie_on_whole_years() -> None:
    made = chart(
        [("Sorn Pass", [item((1872, 1, 1), (1872, 12, 31)), item((1873, 7, 2), (1873, 7, 2))])]
    )

    assert made is not None
    assert [(x, year) for x, year, _ in made.ticks] == [("0", "1872"), ("50.07", "1873")]
    first, second = made.lanes[0].bars
    assert (first.x, first.width) == ("0", "50.07")
    assert (second.x, second.width) == ("74.97", f"{LEAST}")  # one day would not be seen


def test_the_axis_of_another_picture_is_shared() -> None:
    alone = chart([("a", [item((1872, 1, 1), (1872, 2, 1))])])
    beside = chart(
        [("a", [item((1872, 1, 1), (1872, 2, 1))])], [("b", [item((1870, 1, 1), (1870, 2, 1))])]
    )

    assert alone is not None
    assert beside is not None
    assert [year for _, year, _ in alone.ticks] == ["1872"]
    assert [year for _, year, _ in beside.ticks] == ["1870", "1871", "1872"]


def test_a_long_stretch_runs_beyond_an_axis_made_for_the_short_ones() -> None:
    long, short = item((1829, 1, 1), (1906, 2, 1)), item((1870, 1, 1), (1872, 2, 1))
    made = chart([("Masons", [long]), ("Sorn Pass", [short])])

    assert made is not None
    assert [year for _, year, _ in made.ticks] == ["1870", "1871", "1872"]
    assert [lane.label for lane in made.lanes] == ["Masons (1829–1906)", "Sorn Pass"]
    assert (made.lanes[0].bars[0].x, made.lanes[0].bars[0].width) == ("0", "100")


def test_a_long_stretch_that_lies_elsewhere_is_on_the_axis() -> None:
    made = chart(
        [("a", [item((1800, 1, 1), (1830, 2, 1))]), ("b", [item((1870, 1, 1), (1870, 2, 1))])]
    )

    assert made is not None
    assert (made.ticks[0][1], made.lanes[0].label) == ("1800", "a")


def test_nothing_gives_no_picture() -> None:
    assert chart([]) is None
    assert chart([("a", [])]) is None


class Names:
    """Stands for the desk: names are the keys, and there are no pages."""

    language = "en"

    def name(self, uri: str) -> str:
        return uri

    def href(self, uri: str) -> str:
        return ""


KINDS = [
    ("1872-02-14", "at", "stay"),
    ("1872-02-10/1872-02-20", "at", "stay"),
    ("1872-02-14", "all day", "stay"),
    ("1874", "at", "within"),
    ("1872-02/..", "at", "within"),
    ("../1872-02", "at", "within"),
    ("1871-05-21/1874-08-31", "not at", "absent"),
]


@pytest.mark.parametrize(("when", "presence", "kind"), KINDS)
def test_some_day_within_a_year_is_not_drawn_as_the_whole_year(
    when: str, presence: str, kind: str
) -> None:
    stay = Stay("w1", "dolen", "sorn-pass", parse(when), presence, "", (), "", Place(""))
    [(where, [drawn])] = stays_of([stay], cast(Desk, Names()))

    assert (where, drawn.kind) == ("sorn-pass", kind)
    assert drawn.span[0] <= drawn.span[1]


def test_only_days_with_both_ends_are_drawn() -> None:
    assert spans_of([["1872-02-14", "1872-02-15"], [None, "1873-01-01"], ["1873-01-01", None]]) == [
        (day_number(1872, 2, 14), day_number(1872, 2, 15))
    ]
