"""What an EDTF string means: four corners, normal form, marks, refusals, and what always holds.

The public lists are in conformance/test_edtf_lists.py. Here: a row for each rule of ISO 8601-2 in
the profile of the Library of Congress <https://www.loc.gov/standards/datetime/>, examples of
edtf.js from its README <https://github.com/inukshuk/edtf.js>, and our own choices.
"""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodpipe.dates import Edtf, iso_day, outer_bounds, parse
from lodpipe.dates.edtf import level
from lodpipe.errors import DateError


def corners(edtf: Edtf) -> list[str | None]:
    days = (edtf.earliest, edtf.latest_start, edtf.earliest_end, edtf.latest)
    return [None if day is None else iso_day(day) for day in days]


CORNERS = [
    # a single date starts and ends somewhere within
    ("1872", "1872-01-01", "1872-12-31", "1872-01-01", "1872-12-31"),
    ("1872-02", "1872-02-01", "1872-02-29", "1872-02-01", "1872-02-29"),
    ("1872-02-14", "1872-02-14", "1872-02-14", "1872-02-14", "1872-02-14"),
    ("1873-02", "1873-02-01", "1873-02-28", "1873-02-01", "1873-02-28"),
    ("1900-02", "1900-02-01", "1900-02-28", "1900-02-01", "1900-02-28"),
    ("2000-12", "2000-12-01", "2000-12-31", "2000-12-01", "2000-12-31"),
    ("-0043", "-0043-01-01", "-0043-12-31", "-0043-01-01", "-0043-12-31"),
    ("187X", "1870-01-01", "1879-12-31", "1870-01-01", "1879-12-31"),
    ("18XX", "1800-01-01", "1899-12-31", "1800-01-01", "1899-12-31"),
    ("-000X", "-0009-01-01", "-0001-12-31", "-0009-01-01", "-0001-12-31"),
    ("1X00-02-29", "1200-02-29", "1600-02-29", "1200-02-29", "1600-02-29"),
    ("2016-02-2X", "2016-02-20", "2016-02-29", "2016-02-20", "2016-02-29"),  # edtf.js
    ("1872-1X", "1872-10-01", "1872-12-31", "1872-10-01", "1872-12-31"),
    ("1872-21", "1872-03-01", "1872-05-31", "1872-03-01", "1872-05-31"),
    ("1872-24", "1872-12-01", "1873-02-28", "1872-12-01", "1873-02-28"),
    ("1872-29", "1872-09-01", "1872-11-30", "1872-09-01", "1872-11-30"),
    ("1872-30", "1872-12-01", "1873-02-28", "1872-12-01", "1873-02-28"),
    ("1872-36", "1872-10-01", "1872-12-31", "1872-10-01", "1872-12-31"),
    ("1872-37", "1872-01-01", "1872-04-30", "1872-01-01", "1872-04-30"),
    ("1872-41", "1872-07-01", "1872-12-31", "1872-07-01", "1872-12-31"),
    ("187X-21", "1870-03-01", "1879-05-31", "1870-03-01", "1879-05-31"),
    ("1872-02-14T23:59:00-11", "1872-02-14", "1872-02-14", "1872-02-14", "1872-02-14"),
    ("Y17E3", "+17000-01-01", "+17000-12-31", "+17000-01-01", "+17000-12-31"),
    ("1950S2", "1950-01-01", "1950-12-31", "1950-01-01", "1950-12-31"),
    # an interval starts within its first date and ends within its second
    ("1873/1876", "1873-01-01", "1873-12-31", "1876-01-01", "1876-12-31"),
    ("1919-12-02/1919-XX-04", "1919-12-02", "1919-12-02", "1919-01-04", "1919-12-04"),
    ("1868-05/..", "1868-05-01", "1868-05-31", None, None),
    ("1868-05/", "1868-05-01", "1868-05-31", None, None),
    ("../1885", None, None, "1885-01-01", "1885-12-31"),
    ("/1885", None, None, "1885-01-01", "1885-12-31"),
    ("../..", None, None, None, None),
    # one of a set starts and ends somewhere within all of it
    ("[1871,1873]", "1871-01-01", "1873-12-31", "1871-01-01", "1873-12-31"),
    ("[1873,1871]", "1871-01-01", "1873-12-31", "1871-01-01", "1873-12-31"),
    ("[..2016,2017]", None, "2017-12-31", None, "2017-12-31"),  # edtf.js
    ("[1873..]", "1873-01-01", None, "1873-01-01", None),
    # all of a set start with the first and end with the last
    ("{1871,1873..1875}", "1871-01-01", "1871-12-31", "1875-01-01", "1875-12-31"),
    ("{1873,1871}", "1871-01-01", "1871-12-31", "1873-01-01", "1873-12-31"),
    ("{..1871,1873}", None, None, "1873-01-01", "1873-12-31"),
    ("{1871,1873..}", "1871-01-01", "1871-12-31", None, None),
]  # fmt: skip


@pytest.mark.parametrize(("text", "earliest", "start", "end", "latest"), CORNERS)
def test_corners(
    text: str, earliest: str | None, start: str | None, end: str | None, latest: str | None
) -> None:
    assert corners(parse(text)) == [earliest, start, end, latest]


NORMAL = [
    ("?2016-?05-31", "2016-05?-31"),  # edtf.js
    ("?2016-?05~-31", "2016-05%-31"),  # edtf.js
    ("%2001", "2001%"),
    ("?2004-06", "2004?-06"),
    ("2004-?06", "2004-?06"),
    ("?2004-?06", "2004-06?"),
    ("2004-?06~", "2004-?06~"),
    ("2004-06-?11", "2004-06-?11"),
    ("?2004-06-04~", "2004?-06-04~"),
    ("2004-06~-?11", "2004-06~-?11"),
    ("?2004-?06-?11", "2004-06-11?"),
    ("?-2004-06", "-2004?-06"),
    ("2019-12/%2020", "2019-12/2020%"),
    ("[?1871,1873]", "[1871?,1873]"),
    ("{%1871..1873}", "{1871%..1873}"),
]


@pytest.mark.parametrize(("text", "normal"), NORMAL)
def test_normal_form(text: str, normal: str) -> None:
    assert str(parse(text)) == normal
    assert str(parse(normal)) == normal


MARKS = [
    # text, uncertain, approximate
    ("1872", False, False),
    ("1872?", True, False),
    ("1872-02~", False, True),
    ("1872-02-14%", True, True),
    ("1872-?02", True, False),
    ("1872-02-~14", False, True),
    ("1872?/1873~", True, True),
    ("1872/1873~", False, True),
    ("../1873?", True, False),
    ("1873~/..", False, True),
    ("[1872,1873?]", True, False),
    ("{1872~..1873}", False, True),
]


@pytest.mark.parametrize(("text", "uncertain", "approximate"), MARKS)
def test_marks(text: str, uncertain: bool, approximate: bool) -> None:
    read = parse(text)

    assert (read.uncertain, read.approximate) == (uncertain, approximate)


ENDS = [
    # text, form, open start, open end, unknown start, unknown end, members
    ("1872", "date", False, False, False, False, ("1872",)),
    ("1872/1873", "interval", False, False, False, False, ("1872", "1873")),
    ("../1873", "interval", True, False, False, False, ("..", "1873")),
    ("1872/..", "interval", False, True, False, False, ("1872", "..")),
    ("/1873", "interval", False, False, True, False, ("", "1873")),
    ("1872/", "interval", False, False, False, True, ("1872", "")),
    ("[..1873]", "one of", True, False, False, False, ("..1873",)),
    ("{1871,1872..}", "all of", False, True, False, False, ("1871", "1872..")),
]  # fmt: skip


@pytest.mark.parametrize("row", ENDS, ids=lambda row: row[0])
def test_form_and_ends(row: tuple[str, str, bool, bool, bool, bool, tuple[str, ...]]) -> None:
    read = parse(row[0])

    assert read.form == row[1]
    assert read.interval == (row[1] == "interval")
    assert (read.open_start, read.open_end, read.unknown_start, read.unknown_end) == row[2:6]
    assert read.members == row[6]


REFUSED = [
    ("", "`` is not an EDTF date"),
    ("about 1872", "`about 1872` is not an EDTF date"),
    ("1872-3", "`1872-3` is not an EDTF date"),
    ("1872 ", "`1872 ` is not an EDTF date"),
    ("1872\n", "`1872\n` is not an EDTF date"),
    ("١٨٧٢", "`١٨٧٢` is not an EDTF date"),
    ("1873-02-29", "`1873-02-29` is not on the calendar"),
    ("-1873-02-30", "`-1873-02-30` is not on the calendar"),
    ("1872-13", "`1872-13` is not on the calendar"),
    ("1872-00", "`1872-00` is not on the calendar"),
    ("1872-01-00", "`1872-01-00` is not on the calendar"),
    ("1872-42", "`1872-42` is not on the calendar"),
    ("1872-21-05", "`1872-21-05` is not on the calendar"),
    ("1872-4X", "`1872-4X` is not on the calendar"),
    ("XXXX-02-30", "`XXXX-02-30` is not on the calendar"),
    ("1872-02-3X", "`1872-02-3X` is not on the calendar"),
    ("X100-02-29", "`X100-02-29` is not on the calendar"),
    ("-0000", "`-0000` is not an EDTF date"),
    ("-0000-01-01", "`-0000-01-01` is not an EDTF date"),
    ("Y1872", "`Y1872` is not an EDTF date"),
    ("Y9E3", "`Y9E3` is not an EDTF date"),
    ("Y1E2", "`Y1E2` is not an EDTF date"),
    ("1872S0", "`1872S0` is not an EDTF date"),
    ("-0000S2", "`-0000S2` is not an EDTF date"),
    ("Y1E99", "the year of `Y1E99` has more than 18 digits"),
    ("1876/1873", "the interval `1876/1873` ends before it begins"),
    ("1873-06-02/1873-06", "the interval `1873-06-02/1873-06` ends before it begins"),
    ("/", "the interval `/` has no date"),
    ("1872/1873/1874", "`1873/1874` is not an EDTF date"),
    ("Y12000/Y13000", "`Y12000` cannot stand in the interval `Y12000/Y13000`"),
    ("1872-01-01T10:00:00/1873", "`1872-01-01T10:00:00` cannot stand in the interval"
     " `1872-01-01T10:00:00/1873`"),
    ("[1872", "`[1872` is not an EDTF date"),
    ("[1872}", "`[1872}` is not an EDTF date"),
    ("[]", "`` is not an EDTF date"),
    ("[..]", "`[..]` is not an EDTF date"),
    ("[1871..,1873]", "`[1871..,1873]` is not an EDTF date"),
    ("[1871,..1873]", "`[1871,..1873]` is not an EDTF date"),
    ("[1873..1871]", "the interval `1873..1871` ends before it begins"),
    ("[1871, 1872]", "` 1872` is not an EDTF date"),
    ("1985-04-12T24:00:00", "`1985-04-12T24:00:00` is not an EDTF date"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "message"), REFUSED)
def test_refused(text: str, message: str) -> None:
    with pytest.raises(DateError) as caught:
        parse(text)

    assert caught.value.message == message


@pytest.mark.parametrize("text", ["199u", "18uu", "y-17e7", "1872/unknown", "2004-(06)?-11"])
def test_the_draft_of_2012_is_named(text: str) -> None:
    with pytest.raises(DateError) as caught:
        parse(text)

    assert "the draft of 2012" in caught.value.hint


OUTER = [
    # text, circa_years, first, last
    ("1610~", 5, "1605-01-01", "1615-12-31"),  # CCO 4.2.3.2: ca. 1610
    ("1610%", 5, "1605-01-01", "1615-12-31"),
    ("1610?", 5, "1610-01-01", "1610-12-31"),
    ("1610~", 0, "1610-01-01", "1610-12-31"),
    ("1610~", 10, "1600-01-01", "1620-12-31"),
    ("1876-02~", 5, "1871-02-01", "1881-02-28"),
    ("187X~", 5, "1865-01-01", "1884-12-31"),
    ("1872-~02", 5, "1872-01-01", "1872-12-31"),
    ("1872-02-~14", 5, "1872-02-01", "1872-02-29"),
    ("1872~/1875", 5, "1867-01-01", "1875-12-31"),
    ("1872/1875~", 5, "1872-01-01", "1880-12-31"),
    ("1872?/1875~", 5, "1872-01-01", "1880-12-31"),
    ("1872~/..", 5, "1867-01-01", None),
    ("../1875~", 5, None, "1880-12-31"),
    ("[1872,1875~]", 5, "1870-01-01", "1880-12-31"),
    ("{1872~..1873,1875}", 5, "1867-01-01", "1875-12-31"),
    ("[..1872~]", 5, None, "1877-12-31"),
    ("[1872~..]", 5, "1867-01-01", None),
    # ISO 8601-2, 4.7.3: some year between 1900 and 1999, estimated to be 1950
    ("1950S2", 5, "1900-01-01", "1999-12-31"),
    ("-1859S5", 5, "-1859-01-01", "-1859-12-31"),
    ("-1859S2", 5, "-1899-01-01", "-1800-12-31"),
    ("Y3388E2S3", 5, "+338000-01-01", "+338999-12-31"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "years", "first", "last"), OUTER)
def test_outer_bounds(text: str, years: int, first: str | None, last: str | None) -> None:
    days = outer_bounds(parse(text), years)

    assert tuple(None if day is None else iso_day(day) for day in days) == (first, last)


LEVELS = [("1872-02", 0), ("1872/1873", 0), ("1872-21", 1), ("-1872", 1), ("187X", 1),
          ("1872~/..", 1), ("1872-XX", 1), ("?1872-02", 2), ("1872-25", 2), ("[1872,1873]", 2),
          ("187X-02", 2), ("1872-XX/1873", 2), ("1872S2", 2), ("Y17E3", 2)]  # fmt: skip


@pytest.mark.parametrize(("text", "lowest"), LEVELS)
def test_level(text: str, lowest: int) -> None:
    parse(text)

    assert level(text) == lowest


# Properties.

_MARK = st.sampled_from(["", "?", "~", "%"])
_YEARS = st.one_of(
    st.from_regex(r"-?[0-9X]{4}", fullmatch=True),
    st.from_regex(r"1[89][0-9]{2}", fullmatch=True),
)
_TWO = st.one_of(st.from_regex(r"[0-3X][0-9X]", fullmatch=True), st.sampled_from(["02", "29"]))


@st.composite
def _dates(draw: st.DrawFn) -> str:
    text = draw(_MARK) + draw(_YEARS) + draw(_MARK)
    for _ in range(draw(st.integers(0, 2))):
        text += "-" + draw(_MARK) + draw(_TWO) + draw(_MARK)
    return text


_ENDS = st.one_of(_dates(), st.sampled_from(["", ".."]))
_RANGES = st.builds("{}..{}".format, _dates(), _dates())
_SETS = st.builds(
    "{0[0]}{1}{0[1]}".format,
    st.sampled_from(["[]", "{}"]),
    st.lists(st.one_of(_dates(), _RANGES), min_size=1, max_size=4).map(",".join),
)
_EDTF = st.one_of(_dates(), st.builds("{}/{}".format, _ENDS, _ENDS), _SETS)


@given(_EDTF)
def test_printing_is_a_fixed_point(text: str) -> None:
    try:
        read = parse(text)
    except DateError:
        return
    assert parse(str(read)) == read
    assert str(parse(str(read))) == str(read)


@given(_EDTF)
def test_the_corners_are_in_order(text: str) -> None:
    try:
        read = parse(text)
    except DateError:
        return
    for first, last in ((read.earliest, read.latest_start), (read.earliest_end, read.latest)):
        assert first is None or last is None or first <= last
    assert read.earliest is None or read.latest is None or read.earliest <= read.latest


@given(_dates(), _dates())
def test_an_interval_covers_its_ends(left: str, right: str) -> None:
    try:
        whole, start, end = parse(f"{left}/{right}"), parse(left), parse(right)
    except DateError:
        return
    assert (whole.earliest, whole.latest_start) == (start.earliest, start.latest)
    assert (whole.earliest_end, whole.latest) == (end.earliest, end.latest)


@given(_EDTF)
def test_a_mark_never_moves_the_days(text: str) -> None:
    try:
        marked = parse(text)
    except DateError:
        return
    plain = parse("".join(sign for sign in text if sign not in "?~%"))

    assert corners(marked) == corners(plain)
    assert not plain.uncertain and not plain.approximate


@given(_EDTF, st.integers(0, 50))
def test_outer_bounds_hold_the_plain_ones(text: str, years: int) -> None:
    try:
        read = parse(text)
    except DateError:
        return
    first, last = outer_bounds(read, years)

    assert (first is None) == (read.earliest is None)
    assert (last is None) == (read.latest is None)
    assert first is None or read.earliest is None or first <= read.earliest
    assert last is None or read.latest is None or last >= read.latest


@given(st.dates())
def test_a_month_ends_where_the_next_begins(day: date) -> None:
    end = parse(day.isoformat()[:7]).latest

    assert end is not None
    assert end >= date.max.toordinal() or (date.fromordinal(end) + timedelta(days=1)).day == 1


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        parse(text)
    except DateError as error:
        assert error.message
