"""Strings of open catalogues, labelled by hand: none may be read wrong.

`data/dates_labelled.tsv` was drawn with a fixed seed from the strings of six open data sets (a
Biodiversity Heritage Library MARC sample, Carnegie Museum of Art, National Gallery of Art, New-York
Historical Society finding aids, Tate, City of Toronto Archives): one string from each of 640
shapes, shapes drawn with weights by how often they occur. Labels were written from the meaning of
the text before the program was asked. `unread` means that the text can mean several things.
"""

import csv
from collections import Counter
from pathlib import Path

import pytest

from lodpipe.dates import Events, Reading, read

DATA = Path(__file__).parent / "data" / "dates_labelled.tsv"


def _rows() -> list[tuple[str, str, str]]:
    with DATA.open(encoding="utf-8", newline="") as lines:
        rows = csv.reader(lines, delimiter="\t", quoting=csv.QUOTE_NONE)
        assert next(rows) == ["string", "kind", "meaning", "note"]
        return [(string, kind, meaning) for string, kind, meaning, _ in rows]


ROWS = _rows()


def _said(text: str, kind: str) -> str:
    result = read(text, kind=kind)
    if isinstance(result, Reading):
        return str(result.edtf)
    if isinstance(result, Events):
        return "events: " + "; ".join(f"{word}={one.edtf}" for word, one in result.events)
    return "undated" if result.undated else "unread"


def test_there_are_enough() -> None:
    kinds = Counter(kind for _, kind, _ in ROWS)

    assert len({(string, kind) for string, kind, _ in ROWS}) == 640
    assert set(kinds) == {"date", "life"} and kinds["life"] > 90


def test_none_is_wrong() -> None:
    wrong = [
        (string, meaning, said)
        for string, kind, meaning in ROWS
        if (said := _said(string, kind)) not in (meaning, "unread")
    ]

    assert wrong == []


def test_few_are_left_unread() -> None:
    """So that the test above cannot be met by reading nothing."""
    left = [
        string
        for string, kind, meaning in ROWS
        if meaning != "unread" and _said(string, kind) == "unread"
    ]

    assert len(left) <= 6


@pytest.mark.reference
def test_the_strings_are_in_the_list(reference: Path) -> None:
    lines = (reference / "data" / "dates.tsv").read_text("utf-8").splitlines()[1:]
    known = {line.split("\t", 1)[0] for line in lines}

    assert [string for string, _, _ in ROWS if string not in known] == []
