"""Rows of XLSX workbooks (ECMA-376), read by calamine.

A spreadsheet program turns what it takes for a date or a number into one, and what was typed is
gone: `1902-05` becomes 1 May 1902, `0101` becomes 101. In the columns of keys and of EDTF dates
this is reported, cell by cell, with the cure; a date made there is left empty, since nobody wrote
its day. Elsewhere numbers and days are written as text.

The workbook is read whole, since its cells refer to one table of texts: it is refused when it
unpacks to more than `MOST_BYTES`.
"""

import zipfile
from collections.abc import Iterator, Set
from datetime import date, datetime, time, timedelta
from pathlib import Path

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook

from lodpipe.errors import UsageError, nearest
from lodpipe.findings import Finding, Report
from lodpipe.records import Place, Record, Unreadable
from lodpipe.tables.delimited import blank_rows, too_long
from lodpipe.tables.files import open_bytes
from lodpipe.tables.header import column_names

MOST_BYTES = 500_000_000

Cell = int | float | str | bool | time | date | datetime | timedelta


def sheet_rows(
    path: Path,
    name: str,
    *,
    sheet: str = "",
    text_columns: Set[str] = frozenset(),
    field_chars: int,
    record_chars: int,
    report: Report,
) -> Iterator[Record | Unreadable]:
    """Yield the rows below the header of one sheet, each as a dict of column name to text.

    Args:
        path: the workbook. `name`: what messages and places call it.
        sheet: name of the sheet; empty for the first one.
        text_columns: columns of keys and EDTF dates, where a cell must be text.
        field_chars, record_chars: characters that one cell and one row may have.
        report: takes findings on header, typed cells and blank rows.

    Raises:
        UsageError: no such file or sheet, not a workbook, too large, no header row.
    """
    _look_inside(path, name)
    try:
        with CalamineWorkbook.from_path(path) as book:
            yield from _Sheet(name, _sheet(book, sheet, name), text_columns).records(
                field_chars, record_chars, report
            )
    except CalamineError as error:
        raise UsageError(
            f"`{name}` cannot be read as a workbook: {error}",
            hint="save it as XLSX, or as CSV in UTF-8",
        ) from None


def _look_inside(path: Path, name: str) -> None:
    """Refuse what is no workbook, or unpacks to more than memory should hold."""
    with open_bytes(path, name) as stream:
        try:
            with zipfile.ZipFile(stream) as parts:
                size = sum(part.file_size for part in parts.infolist())
        except zipfile.BadZipFile:
            raise UsageError(
                f"`{name}` is not an XLSX workbook", hint="save it anew as .xlsx, or as CSV UTF-8"
            ) from None
    if size > MOST_BYTES:
        raise UsageError(
            f"`{name}` unpacks to {size:,} bytes, more than {MOST_BYTES:,}",
            hint="save it as CSV UTF-8, which is read row by row",
        )


def _sheet(book: CalamineWorkbook, sheet: str, name: str) -> CalamineSheet:
    if not sheet:
        return book.get_sheet_by_index(0)
    if sheet not in book.sheet_names:
        raise UsageError(
            f"`{name}` has no sheet `{sheet}`",
            hint=nearest(sheet, book.sheet_names)
            or "it has " + ", ".join(f"`{other}`" for other in book.sheet_names),
        )
    return book.get_sheet_by_name(sheet)


class _Sheet:
    """State of reading one sheet."""

    def __init__(self, name: str, sheet: CalamineSheet, text_columns: Set[str]) -> None:
        self.name, self.sheet, self.text_columns = name, sheet, text_columns

    def records(
        self, field_chars: int, record_chars: int, report: Report
    ) -> Iterator[Record | Unreadable]:
        names: list[str] = []
        record = blank = first_blank = 0
        for line, row in enumerate(self.sheet.iter_rows(), 1):
            texts = [cell if type(cell) is str else text_of(cell) for cell in row]
            if not any(map(str.strip, texts)):
                blank += bool(names)
                first_blank = first_blank or (line if names else 0)
                continue
            place = Place(self.name, line, 0, self.sheet.name)
            if not names:
                names = column_names(texts, place, report)
                continue
            record += 1
            place = Place(self.name, line, record, self.sheet.name)
            if fault := _fault(texts, names, place, field_chars, record_chars):
                yield fault
                continue
            data = dict(zip(names, texts, strict=True))
            for column, cell in zip(names, row, strict=True):  # findings in the order of columns
                if type(cell) is not str and column in self.text_columns:
                    data[column] = _typed(cell, place.at(column), report)
            yield Record(data, place, "table")
        if not names:
            raise UsageError(
                f"the sheet `{self.sheet.name}` of `{self.name}` is empty",
                hint="its first row must name the columns",
            )
        if blank:
            report(blank_rows(blank, Place(self.name, first_blank, 0, self.sheet.name)))


def _fault(
    texts: list[str], names: list[str], place: Place, field_chars: int, record_chars: int
) -> Unreadable | None:
    total = sum(map(len, texts))
    if total <= field_chars:
        return None
    longest = max(range(len(texts)), key=lambda number: len(texts[number]))
    if len(texts[longest]) > field_chars:
        return too_long(place.at(names[longest]), len(texts[longest]), field_chars)
    if total > record_chars:
        return Unreadable(
            place,
            "the record is longer than the limit",
            "raise `record_chars` in `[limits]` if it is right",
            "too-long",
        )
    return None


def _typed(cell: Cell, place: Place, report: Report) -> str:
    """Report a cell that should be text and return its text; none for a date made of it."""
    text = text_of(cell)
    made = isinstance(cell, date | time | timedelta)
    message = (
        f"the spreadsheet program made a {'date' if made else 'number'} of this cell, `{text}`"
    )
    if made:
        message += "; the cell is read as empty, since the day may not be what was typed"
    if isinstance(cell, time):  # a day before 1900 is a negative number, of which a time is left
        message = (
            "the cell holds a time of day, or a day before 1900, which the file format cannot hold "
            "as a date; it is read as empty"
        )
    hint = "format the column as text and type the value again"
    shown = "" if isinstance(cell, time) else text
    report(Finding("typed-cell", message, place, value=shown, hint=hint))
    return "" if made else text


def text_of(cell: Cell) -> str:
    """Return the text of one cell: numbers as a spreadsheet shows them, days as ISO 8601.

    >>> text_of(1873.0), text_of(9.875), text_of(True), text_of(date(1901, 2, 1))
    ('1873', '9.875', 'TRUE', '1901-02-01')
    """
    if isinstance(cell, str):
        return cell
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, int | float):
        return str(int(cell)) if cell == int(cell) else format(cell, ".15g")
    if isinstance(cell, datetime):
        return cell.isoformat() if cell.time() != time() else cell.date().isoformat()
    if isinstance(cell, date | time):
        return cell.isoformat()
    return str(cell)
