"""The JSON answer about a date, and machine dates held against the text."""

import pytest

from lodpipe.dates import Policy, answer, compare, read


def test_a_reading() -> None:
    assert answer("ca. 1855-60") == {
        "verbatim": "ca. 1855-60",
        "edtf": "1855~/1860~",
        "earliest": "1855-01-01",
        "latest": "1860-12-31",
        "outer_earliest": "1850-01-01",
        "outer_latest": "1865-12-31",
        "notes": [],
        "events": [],
        "unread": None,
    }


def test_open_ends_and_years_before_christ() -> None:
    found = answer("1 BCE-")

    assert (found["edtf"], found["earliest"], found["latest"]) == ("0000/..", "0000-01-01", None)
    assert (found["outer_earliest"], found["outer_latest"]) == ("0000-01-01", None)
    assert answer("300 BC")["earliest"] == "-0299-01-01"


def test_the_last_day_before_year_one_is_a_day() -> None:
    """Its number is 0, which must not be taken for nothing."""
    assert answer("0000-12-31~", circa_years=0)["outer_latest"] == "0000-12-31"


def test_events() -> None:
    found = answer("[1938], printed 1973 or later")

    assert found["events"] == [
        {"event": "", "edtf": "1938", "earliest": "1938-01-01", "latest": "1938-12-31"},
        {"event": "printed", "edtf": "[1973..]", "earliest": "1973-01-01", "latest": None},
    ]
    assert [found[key] for key in ("edtf", "earliest", "latest", "unread")] == [None] * 4
    assert found["notes"] == ["square brackets: not from the thing itself"]


def test_unread() -> None:
    found = answer("the snow shed")

    assert found["unread"] == "`snow` is not a word of a date"
    assert (found["edtf"], found["events"], found["notes"]) == (None, [], [])


def test_kind_policy_and_years_are_handed_on() -> None:
    assert answer("American, 1923-", kind="life")["edtf"] == "1923/.."
    assert answer("1901-07", policy=Policy(year_month=True))["edtf"] == "1901-07"
    assert answer("c. 1610", circa_years=10)["outer_earliest"] == "1600-01-01"


AGREE = [
    # text, start, end
    ("1872", "1872", "1872"),
    ("1872", "1872-01-01", "1872-12-31"),
    ("1872", "1872.0", "1872.0"),
    ("1872", "1872", ""),
    ("1872", "", "1872"),
    ("1872", "", ""),
    ("14 February 1872", "1872-01-01", "1872-01-01"),
    ("1873-1876", "1873", "1876"),
    ("c. 1872", "1872", "1872"),
    ("c. 1872", "1867", "1877"),
    ("c. 1872", "1870", "1874"),
    ("before 1872", "1860", "1871"),
    ("after 1872", "1872", "1900"),
    ("late 19th century", "1867", "1899"),
    ("1873-", "1873", "1900"),
    ("1938, printed 1973", "1938", "1973"),
    ("1938, printed 1973", "1938", "1938"),
    ("300 BC", "-299", "-299"),
    ("undated", "1872", "1872"),
    ("the snow shed", "1872", "1872"),
]


@pytest.mark.parametrize(("text", "start", "end"), AGREE)
def test_agreeing(text: str, start: str, end: str) -> None:
    assert compare(read(text), start, end) == ""


DISAGREE = [
    ("1872", "1871", "1872", "the text means 1872, the machine dates say `1871` to `1872`"),
    ("1872", "1872", "1873", "the text means 1872, the machine dates say `1872` to `1873`"),
    ("1873-1876", "1873", "1875",
     "the text means 1873 to 1876, the machine dates say `1873` to `1875`"),
    ("1873-1876", "1874", "1876",
     "the text means 1873 to 1876, the machine dates say `1874` to `1876`"),
    ("c. 1872", "1866", "1877",
     "the text means 1867 to 1877, the machine dates say `1866` to `1877`"),
    ("c. 1872", "1873", "1877",
     "the text means 1867 to 1877, the machine dates say `1873` to `1877`"),
    ("before 1872", "1860", "1873",
     "the text means open to 1872, the machine dates say `1860` to `1873`"),
    ("1938, printed 1973", "1937", "1973",
     "the text means 1938 to 1973, the machine dates say `1937` to `1973`"),
    ("1872", "1873", "1872", "the machine dates end before they begin: `1873` to `1872`"),
    ("1872", "c.1872", "", "machine date: `c.1872` is not an EDTF date"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "start", "end", "message"), DISAGREE)
def test_disagreeing(text: str, start: str, end: str, message: str) -> None:
    assert compare(read(text), start, end) == message


def test_the_reach_of_about_is_the_projects_choice() -> None:
    assert compare(read("c. 1872"), "1862", "1882", 10) == ""
