"""The public lists of valid and invalid EDTF, and one library's table of bounds.

Sources (the files name their repository and commit): edtf_valid_invalid_by_level.json from the
tests of edtf-validate (University of North Texas Libraries), edtf_bounds.json from the tests of
python-edtf. Where the two disagree, the reason stands beside the string.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from lodpipe.dates import iso_day, parse
from lodpipe.dates.edtf import level
from lodpipe.errors import DateError

pytestmark = pytest.mark.reference

LEVELS = {
    "L0_Intervals": 0, "L1_Intervals": 1, "L2_Intervals": 2,
    "Level0": 0, "Level1": 1, "Level2": 2,
}  # fmt: skip
INVALID = ("invalid_edtf_dates", "invalid_edtf_intervals", "invalid_edtf_datetimes")

SPACED = {
    # python-edtf takes a space in a set, edtf-validate lists such sets as invalid: invalid here
    "[1760-01, 1760-02, 1760-12..]",
    "{1667,1668, 1670..1672}",
}
OTHER_BOUNDS = {
    # python-edtf gives an unknown end ten years (its own rule, see the note in the file)
    "/2006": (None, "2006-12-31"),
    "1984-06-02?/": ("1984-06-02", None),
    # and ends the winter of 2010 with the year; here it goes over New Year
    "2010-24": ("2010-12-01", "2011-02-28"),
}
OTHER_LEVEL = {
    # listed under level 2, though the same list has `1952-23~/1953` under level 1
    "2011-23~": 1,
}


@pytest.fixture(scope="module")
def lists(reference: Path) -> dict[str, Any]:
    path = reference / "reference/edtf/edtf_valid_invalid_by_level.json"
    read: dict[str, Any] = json.loads(path.read_text("utf-8"))
    return read


@pytest.fixture(scope="module")
def bounds(reference: Path) -> dict[str, Any]:
    path = reference / "reference/edtf/edtf_bounds.json"
    read: dict[str, Any] = json.loads(path.read_text("utf-8"))
    return read


def _refused(text: str) -> bool:
    try:
        parse(text)
    except DateError:
        return True
    return False


def test_every_valid_string_is_read(lists: dict[str, Any]) -> None:
    valid = [text for name in LEVELS for text in lists[name]]

    assert len(valid) == 307
    assert [text for text in valid if _refused(text)] == []
    assert all(parse(str(parse(text))) == parse(text) for text in valid)


def test_every_valid_string_has_its_level(lists: dict[str, Any]) -> None:
    wrong = [
        (text, level(text))
        for name, lowest in LEVELS.items()
        for text in lists[name]
        if level(text) != lowest and text not in OTHER_LEVEL
    ]

    assert wrong == []


def test_every_invalid_string_is_refused(lists: dict[str, Any]) -> None:
    invalid = [text for name in INVALID for text in lists[name]]

    assert len(invalid) == 56
    assert [text for text in invalid if not _refused(text)] == []


def test_the_bounds(bounds: dict[str, Any]) -> None:
    rows = bounds["examples"]
    wrong = []
    for row in rows:
        text = row["edtf"]
        expected = (
            None if row["lower_strict"] == "-inf" else row["lower_strict"],
            None if row["upper_strict"] == "inf" else row["upper_strict"],
        )
        if text in SPACED:
            assert _refused(text)
            text = text.replace(" ", "")
        read = parse(text)
        found = tuple(
            None if day is None else iso_day(day).lstrip("+")
            for day in (read.earliest, read.latest)
        )
        if found != OTHER_BOUNDS.get(text, expected):
            wrong.append((text, found, expected))

    assert len(rows) == 45
    assert wrong == []


def test_what_the_second_list_refuses(bounds: dict[str, Any]) -> None:
    rejected = [text for text in bounds["rejected"] if text is not None]

    assert len(rejected) == 16
    assert [text for text in rejected if not _refused(text)] == []
