"""Tables as people write them: what each row gives, and what is said about a faulty one."""

import csv
import gzip
import io
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodpipe.errors import UsageError
from lodpipe.findings import Finding
from lodpipe.records import Record, Unreadable
from lodpipe.tables import csv_rows, sheet_rows
from lodpipe.tables.sheets import text_of

LIMITS = {"field_chars": 50, "record_chars": 200}


def read_csv(
    folder: Path, content: bytes | str, **options: Any
) -> tuple[list[Record | Unreadable], list[Finding]]:
    """Write a file and read it: the records, and the findings."""
    path = folder / options.pop("file", "items.csv")
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    found: list[Finding] = []
    rows = list(csv_rows(path, path.name, **{**LIMITS, **options}, report=found.append))
    return rows, found


def shown(rows: list[Record | Unreadable]) -> list[tuple[str, Any]]:
    return [
        (str(row.origin), tuple(row.data.values()))
        if isinstance(row, Record)
        else (str(row.place), row.reason)
        for row in rows
    ]


ROWS = [
    # what                       content                          place and cells of each row
    ("plain", "a,b\n1,2\n3,4\n", [("items.csv:2 (record 1)", ("1", "2")), ("items.csv:3 (record 2)", ("3", "4"))]),
    ("no last line end", "a,b\n1,2", [("items.csv:2 (record 1)", ("1", "2"))]),
    ("CRLF", "a,b\r\n1,2\r\n", [("items.csv:2 (record 1)", ("1", "2"))]),
    ("CR alone", "a,b\r1,2\r", [("items.csv:2 (record 1)", ("1", "2"))]),
    ("byte order mark", b"\xef\xbb\xbfa,b\n1,2\n", [("items.csv:2 (record 1)", ("1", "2"))]),
    ("UTF-16 LE by its mark", "a,b\n1,\u00e9\n".encode("utf-16"), [("items.csv:2 (record 1)", ("1", "\u00e9"))]),
    ("UTF-16 BE by its mark", b"\xfe\xff" + "a,b\n1,\u00e9\n".encode("utf-16-be"), [("items.csv:2 (record 1)", ("1", "\u00e9"))]),
    ("UTF-32 by its mark", "a,b\n1,\u00e9\n".encode("utf-32"), [("items.csv:2 (record 1)", ("1", "\u00e9"))]),
    ("quoted line break", 'a,b\n"1\nx",2\n3,4\n', [("items.csv:2 (record 1)", ("1\nx", "2")), ("items.csv:4 (record 2)", ("3", "4"))]),
    ("doubled quote", 'a,b\n"the ""Fall""",2\n', [("items.csv:2 (record 1)", ('the "Fall"', "2"))]),
    ("quote inside an open cell", 'a,b\n5" x 7",2\n', [("items.csv:2 (record 1)", ('5" x 7"', "2"))]),
    ("blank before the header", "\n,\na,b\n1,2\n", [("items.csv:4 (record 1)", ("1", "2"))]),
    ("white space is kept", "a,b\n 1 , 2\n", [("items.csv:2 (record 1)", (" 1 ", " 2"))]),
    ("only empty cells left over", "a,b\n1,2,, \n", [("items.csv:2 (record 1)", ("1", "2"))]),
    ("no rows", "a,b\n", []),
]  # fmt: skip


@pytest.mark.parametrize(("content", "expected"), [r[1:] for r in ROWS], ids=[r[0] for r in ROWS])
def test_rows(tmp_path: Path, content: bytes | str, expected: list[Any]) -> None:
    rows, found = read_csv(tmp_path, content)

    assert shown(rows) == expected
    assert found == []


FOUND = [
    # content                      code         place           message                     cells
    ("a,b\n1\n", "ragged", "items.csv:2 (record 1)",
     "the row has 1 cells of 2; the others are read as empty", ("1", "")),
    ("a,b\n1,2,3,4\n", "ragged", "items.csv:2 (record 1)",
     "the row has 4 cells for 2 columns; left over: `3`, `4`", ("1", "2")),
    ("a,b\n\n1,2\n", "blank-row", "items.csv:2", "a blank row is passed over", ("1", "2")),
    ("a,b\n1,2\n\n , \n,\n", "blank-row", "items.csv:3",
     "3 blank rows are passed over, this is the first", ("1", "2")),
    ("a,\n1,2\n", "header", "items.csv:1", "column 2 has no name and is read as `column 2`", ("1", "2")),
    ("a,a\n1,2\n", "header", "items.csv:1",
     "the name `a` stands over two columns; the one in column 2 is read as `a (2)`", ("1", "2")),
    ("a;b\n1;2\n", "header", "items.csv:1", "the header row is one column, `a;b`", ("1;2",)),
]  # fmt: skip


def test_a_title_above_the_table(tmp_path: Path) -> None:
    with pytest.raises(UsageError) as raised:
        read_csv(tmp_path, "Album of the Upper Section,,\nNo,Title,Date\n1,Snow shed,1873\n")

    assert str(raised.value) == (
        "error[usage]: the first row names one column of 3, `Album of the Upper Section`: "
        "it looks like a title\n"
        "  --> items.csv:1\n"
        "  hint: take out what stands above the names of the columns"
    )


@pytest.mark.parametrize(("content", "code", "place", "message", "cells"), FOUND)
def test_findings(
    tmp_path: Path, content: str, code: str, place: str, message: str, cells: tuple[str, ...]
) -> None:
    rows, found = read_csv(tmp_path, content)

    assert [(f.code, str(f.place), f.message) for f in found] == [(code, place, message)]
    assert [cells] == [cells for _, cells in shown(rows)]


def test_a_name_of_ours_is_not_given_twice(tmp_path: Path) -> None:
    rows, _ = read_csv(tmp_path, "a,a (2),a, ,column 4\n1,2,3,4,5\n")

    assert isinstance(rows[0], Record)
    assert rows[0].data == {
        "a": "1", "a (2)": "2", "a (3)": "3", "column 4 (2)": "4", "column 4": "5",
    }  # fmt: skip


def test_the_hint_names_the_delimiter(tmp_path: Path) -> None:
    _, found = read_csv(tmp_path, "a\tb\n1\t2\n")

    assert [f.hint for f in found] == ['if `\\t` divides the columns, declare `delimiter = "\\t"`']


def test_a_declared_delimiter(tmp_path: Path) -> None:
    rows, found = read_csv(tmp_path, "a;b\n1,5;2\n", delimiter=";")

    assert shown(rows) == [("items.csv:2 (record 1)", ("1,5", "2"))]
    assert found == []


LEFT_OUT = [
    # content, then what each record gives
    ('a,b\n"1,2\n3,4\n5,"6"\n', [  # the open quote meets the next one: nothing after it is lost
        ("items.csv:2 (record 1)", "text follows the closing quote of a cell"),
        ("items.csv:3 (record 2)", ("3", "4")),
        ("items.csv:4 (record 3)", ("5", "6")),
    ]),
    ('a,b\n1,2\n3,"4\n5,6\n', [
        ("items.csv:2 (record 1)", ("1", "2")),
        ("items.csv:3 (record 2)", "a quote is opened here and never closed"),
        ("items.csv:4 (record 3)", ("5", "6")),
    ]),
    ('a,b\n"Rose" window,2\n3,4\n', [
        ("items.csv:2 (record 1)", "text follows the closing quote of a cell"),
        ("items.csv:3 (record 2)", ("3", "4")),
    ]),
    (f"a,b\n1,{'x' * 51}\n3,4\n", [
        ("items.csv:2 (record 1) [b]", "a value of 51 characters is longer than the limit of 50"),
        ("items.csv:3 (record 2)", ("3", "4")),
    ]),
    (f"a,b\n1,{'x' * 1000}\n3,4\n", [
        ("items.csv:2 (record 1)", "the record is longer than the limit"),
        ("items.csv:3 (record 2)", ("3", "4")),
    ]),
    ('a,b\n1,"2\n' + "3,4\n" * 60, [
        ("items.csv:2 (record 1)", "the record is longer than the limit"),
        *((f"items.csv:{n} (record {n - 1})", ("3", "4")) for n in range(3, 63)),
    ]),
    ("a,b\n1,\0\n3,4\n", [
        ("items.csv:2 (record 1)", "the row holds a NUL character"),
        ("items.csv:3 (record 2)", ("3", "4")),
    ]),
]  # fmt: skip


@pytest.mark.parametrize(("content", "expected"), LEFT_OUT)
def test_a_row_that_cannot_be_read_costs_only_itself(
    tmp_path: Path, content: str, expected: list[Any]
) -> None:
    rows, _ = read_csv(tmp_path, content)

    assert shown(rows) == expected


def test_a_long_value_has_the_code_of_its_own(tmp_path: Path) -> None:
    rows, _ = read_csv(tmp_path, f"a\n{'x' * 60}\n")

    assert [(r.code, r.hint) for r in rows if isinstance(r, Unreadable)] == [
        ("too-long", "raise `field_chars` in `[limits]` if the value is right")
    ]


REFUSED = [
    # content, options, message, hint
    (b"", {}, "`items.csv` is empty", "its first row must name the columns"),
    (b"\n\n", {}, "`items.csv` is empty", "its first row must name the columns"),
    (b"a,b\n1,2\n3,\xe9\n", {}, "`items.csv` is not UTF-8: byte 0xe9 in line 3 (byte 11 of the file)",
     'declare what it is, for example `encoding = "cp1252"`, or `--encoding cp1252`'),
    (b"\xef\xbb\xbfa\n\xe9\n", {}, "`items.csv` is not UTF-8: byte 0xe9 in line 2 (byte 6 of the file)",
     'declare what it is, for example `encoding = "cp1252"`, or `--encoding cp1252`'),
    (b"a\n\xc3", {}, "`items.csv` ends in the middle of a character",
     'declare what it is, for example `encoding = "cp1252"`, or `--encoding cp1252`'),
    (b"a\r\n\r\n\x81\r\n", {"encoding": "cp1252"},
     "`items.csv` is not cp1252: byte 0x81 in line 3 (byte 6 of the file)",
     "the file is in another encoding than the one declared"),
    ("a,b\n".encode("utf-16-le"), {}, "`items.csv` begins with a NUL byte, which no UTF-8 text does",
     'if it is UTF-16, declare `encoding = "utf-16-le"`'),
    ("a,b\n".encode("utf-16-be"), {}, "`items.csv` begins with a NUL byte, which no UTF-8 text does",
     'if it is UTF-16, declare `encoding = "utf-16-be"`'),
    (b"a\n", {"encoding": "cp1525"}, "`cp1525` is not an encoding, declared for `items.csv`",
     "did you mean `cp1252` or `cp1251` or `cp1250`?"),
    (b"a\n", {"encoding": "base64"}, "`base64` is not an encoding, declared for `items.csv`",
     'such as `encoding = "cp1252"`'),
    ("a\n".encode("utf-16"), {"encoding": "cp1252"},
     "`items.csv` is declared as `cp1252` and begins with the byte order mark of UTF-16",
     "take the declaration out"),
    (b"a\n", {"delimiter": "||"}, "`||` cannot be the delimiter of `items.csv`",
     'write one character, such as `delimiter = ";"` or `delimiter = "\\t"`'),
    (b'"a\n', {}, "the header row cannot be read: a quote is opened here and never closed",
     "close it, or double it if it is text"),
    (b"a\n", {"file": "items.csv.gz"}, "`items.csv.gz` ends in `.gz` and is not compressed", "rename it"),
]  # fmt: skip


@pytest.mark.parametrize(("content", "options", "message", "hint"), REFUSED)
def test_refused(
    tmp_path: Path, content: bytes, options: dict[str, str], message: str, hint: str
) -> None:
    with pytest.raises(UsageError) as error:
        read_csv(tmp_path, content, **options)

    assert (error.value.message, error.value.hint) == (message, hint)


def test_a_fault_beyond_the_first_buffer_has_its_line(tmp_path: Path) -> None:
    good = "a\n" + "grün\n" * 300_000

    with pytest.raises(UsageError) as error:
        read_csv(tmp_path, good.encode() + b"\xff\n")

    byte = len(good.encode()) + 1
    assert error.value.message == (
        f"`items.csv` is not UTF-8: byte 0xff in line 300002 (byte {byte} of the file)"
    )


def test_missing_file_and_folder(tmp_path: Path) -> None:
    (tmp_path / "items.csv").write_text("a\n")

    with pytest.raises(UsageError) as error:
        list(csv_rows(tmp_path / "itmes.csv", "catalogue/itmes.csv", **LIMITS, report=print))
    assert (error.value.message, error.value.hint) == (
        "there is no file `catalogue/itmes.csv`", "did you mean `items.csv`?",
    )  # fmt: skip
    with pytest.raises(UsageError, match="is a folder, not a file"):
        list(csv_rows(tmp_path, "catalogue", **LIMITS, report=print))


def test_compressed(tmp_path: Path) -> None:
    rows, _ = read_csv(tmp_path, gzip.compress(b"a\n1\n"), file="items.csv.gz")

    assert shown(rows) == [("items.csv.gz:2 (record 1)", ("1",))]


def test_a_damaged_compressed_file_keeps_what_came_before(tmp_path: Path) -> None:
    lines = "a\n" + "".join(f"{number}\n" for number in range(100_000))
    rows, _ = read_csv(tmp_path, gzip.compress(lines.encode())[:-9000], file="items.csv.gz")

    *good, last = rows
    assert isinstance(last, Unreadable)
    assert last.reason.startswith("the compressed file is damaged here: ")
    assert len(good) > 1000
    assert [row.data["a"] for row in good if isinstance(row, Record)] == [
        str(number) for number in range(len(good))
    ]


def test_a_compressed_bomb_meets_the_limit(tmp_path: Path) -> None:
    bomb = io.BytesIO()
    with gzip.open(bomb, "wb", compresslevel=1) as stream:
        stream.write(b"a\n")
        for _ in range(20):
            stream.write(b"x" * 1_000_000)
    rows, _ = read_csv(tmp_path, bomb.getvalue(), file="items.csv.gz")

    assert shown(rows) == [("items.csv.gz:2 (record 1)", "the record is longer than the limit")]


cell = st.text(
    st.characters(codec="utf-8", exclude_characters="\0", exclude_categories=("Cs",)), max_size=12
)


@given(st.lists(st.lists(cell, min_size=3, max_size=3), max_size=6))
def test_what_the_csv_module_writes_comes_back(
    tmp_path_factory: pytest.TempPathFactory, table: list[list[str]]
) -> None:
    text = io.StringIO()
    csv.writer(text).writerows([["a", "b", "c"], *table])
    rows, _ = read_csv(tmp_path_factory.mktemp("trip"), text.getvalue())

    kept = [row for row in table if any(cell.strip() for cell in row)]
    assert [list(row.data.values()) for row in rows if isinstance(row, Record)] == kept


# --- XLSX ---------------------------------------------------------------------------------


def workbook(path: Path, rows: list[list[Any]], sheet: str = "Items") -> Path:
    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    page.title = sheet
    for row in rows:
        page.append(row)
    book.create_sheet("Empty")
    book.save(path)
    return path


def read_sheet(path: Path, **options: Any) -> tuple[list[Record | Unreadable], list[Finding]]:
    found: list[Finding] = []
    rows = list(sheet_rows(path, path.name, **{**LIMITS, **options}, report=found.append))
    return rows, found


def test_sheet(tmp_path: Path) -> None:
    path = workbook(tmp_path / "b.xlsx", [[], ["key", "when"], ["i1", "1872-02"], [], ["i2", None]])
    rows, found = read_sheet(path, text_columns=frozenset({"key", "when", "absent"}))

    assert [(str(r.origin), r.data) for r in rows if isinstance(r, Record)] == [
        ("b.xlsx[Items]:3 (record 1)", {"key": "i1", "when": "1872-02"}),
        ("b.xlsx[Items]:5 (record 2)", {"key": "i2", "when": ""}),
    ]
    assert [(f.code, str(f.place)) for f in found] == [("blank-row", "b.xlsx[Items]:4")]


def test_typed_cells(tmp_path: Path) -> None:
    path = workbook(tmp_path / "b.xlsx", [["key", "when", "width"], [101, date(1902, 5, 1), 9.875]])
    rows, found = read_sheet(path, text_columns=frozenset({"key", "when"}))

    assert [r.data for r in rows if isinstance(r, Record)] == [
        {"key": "101", "when": "", "width": "9.875"}
    ]
    assert sorted((f.code, str(f.place), f.message, f.hint) for f in found) == [
        ("typed-cell", "b.xlsx[Items]:2 (record 1) [key]",
         "the spreadsheet program made a number of this cell, `101`",
         "format the column as text and type the value again"),
        ("typed-cell", "b.xlsx[Items]:2 (record 1) [when]",
         "the spreadsheet program made a date of this cell, `1902-05-01`; the cell is read as "
         "empty, since the day may not be what was typed",
         "format the column as text and type the value again"),
    ]  # fmt: skip


def test_a_day_before_1900_is_no_time_of_day(tmp_path: Path) -> None:
    """XLSX counts days from 1900; libraries write earlier ones as negative numbers all the same."""
    days = [datetime(1872, 2, 14), date(1899, 12, 31), datetime(1872, 2, 14, 5)]
    path = workbook(tmp_path / "b.xlsx", [["one", "two", "three"], days])
    rows, found = read_sheet(path, text_columns=frozenset({"one", "two", "three"}))

    assert [r.data for r in rows if isinstance(r, Record)] == [{"one": "", "two": "", "three": ""}]
    assert [(f.code, str(f.place), f.value) for f in found] == [
        ("typed-cell", f"b.xlsx[Items]:2 (record 1) [{column}]", "")
        for column in ("one", "two", "three")
    ]
    assert {f.message for f in found} == {
        "the cell holds a time of day, or a day before 1900, which the file format cannot hold as a "
        "date; it is read as empty"
    }


def test_findings_on_one_row_stand_in_the_order_of_its_columns(tmp_path: Path) -> None:
    names = [f"column-{number}" for number in range(12)]
    path = workbook(tmp_path / "b.xlsx", [names, list(range(12))])
    _, found = read_sheet(path, text_columns=frozenset(names))

    assert [f.place.column for f in found if f.place] == names


TEXTS = [
    (1873.0, "1873"), (9.875, "9.875"), (0.1 + 0.2, "0.3"), (-5.0, "-5"), (7, "7"),
    (True, "TRUE"), (False, "FALSE"), (date(1901, 2, 1), "1901-02-01"),
    (datetime(1901, 2, 1), "1901-02-01"), (datetime(1901, 2, 1, 3, 4), "1901-02-01T03:04:00"),
    (time(3, 4), "03:04:00"), (timedelta(hours=3), "3:00:00"), ("", ""),
]  # fmt: skip


@pytest.mark.parametrize(("value", "text"), TEXTS)
def test_text_of(value: Any, text: str) -> None:
    assert text_of(value) == text


def test_sheet_limits(tmp_path: Path) -> None:
    path = workbook(
        tmp_path / "b.xlsx", [["a", "b"], ["x" * 51, "1"], *[["y" * 40] * 2] * 1, ["1", "2"]]
    )
    rows, _ = read_sheet(path, record_chars=79)

    assert shown(rows) == [
        ("b.xlsx[Items]:2 (record 1) [a]", "a value of 51 characters is longer than the limit of 50"),
        ("b.xlsx[Items]:3 (record 2)", "the record is longer than the limit"),
        ("b.xlsx[Items]:4 (record 3)", ("1", "2")),
    ]  # fmt: skip


def test_sheets_refused(tmp_path: Path) -> None:
    path = workbook(tmp_path / "b.xlsx", [["a"], ["1"]])
    (tmp_path / "c.xlsx").write_bytes(b"a,b\n")

    for file, sheet, message, hint in [
        (path, "Itmes", "`b.xlsx` has no sheet `Itmes`", "did you mean `Items`?"),
        (path, "x", "`b.xlsx` has no sheet `x`", "it has `Items`, `Empty`"),
        (path, "Empty", "the sheet `Empty` of `b.xlsx` is empty", "its first row must name the columns"),
        (tmp_path / "c.xlsx", "", "`c.xlsx` is not an XLSX workbook", "save it anew as .xlsx, or as CSV UTF-8"),
    ]:  # fmt: skip
        with pytest.raises(UsageError) as error:
            read_sheet(file, sheet=sheet)
        assert (error.value.message, error.value.hint) == (message, hint)


def test_a_workbook_that_unpacks_too_large_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("lodpipe.tables.sheets.MOST_BYTES", 1000)
    path = workbook(tmp_path / "b.xlsx", [["a"], ["1"]])

    with pytest.raises(UsageError, match=r"`b.xlsx` unpacks to [\d,]+ bytes, more than 1,000"):
        read_sheet(path)
