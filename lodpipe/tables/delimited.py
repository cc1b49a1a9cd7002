"""Rows of CSV and TSV files, as RFC 4180 has them (https://www.rfc-editor.org/rfc/rfc4180).

The csv module parses; what it does not give is added here: the physical line of a record whose
cells hold line breaks, limits, and a way to go on after a record that cannot be parsed. Such a
record is left out, and reading goes on at the physical line after the one that it began on.
"""

import csv
from collections import deque
from collections.abc import Callable, Iterator
from pathlib import Path

from lodpipe.errors import UsageError
from lodpipe.findings import Finding, Report
from lodpipe.records import Place, Record, Unreadable
from lodpipe.tables.files import DAMAGED, open_text, undecodable
from lodpipe.tables.header import column_names

_OTHER_DELIMITERS = {";": ";", "\t": "\\t", "|": "|", ",": ","}


def csv_rows(
    path: Path,
    name: str,
    *,
    delimiter: str = ",",
    encoding: str = "",
    field_chars: int,
    record_chars: int,
    report: Report,
) -> Iterator[Record | Unreadable]:
    """Yield the rows below the header, each as a dict of column name to verbatim text.

    Args:
        path: the file. `name`: what messages and places call it.
        encoding: declared encoding; empty for what the byte order mark says, or UTF-8.
        field_chars, record_chars: characters that one cell and one row may have.
        report: takes findings on header, ragged and blank rows.

    Raises:
        UsageError: no such file, wrong encoding, no header row.
    """
    if len(delimiter) != 1 or delimiter in '"\r\n':
        raise UsageError(
            f"`{delimiter}` cannot be the delimiter of `{name}`",
            hint='write one character, such as `delimiter = ";"` or `delimiter = "\\t"`',
        )
    csv.field_size_limit(max(csv.field_size_limit(), record_chars + 1))  # ours is the limit
    text, codec = open_text(path, name, encoding)
    with text:
        rows = _Rows(_Lines(text.readline, record_chars), name, delimiter, field_chars)
        try:
            yield from rows.records(report)
        except UnicodeDecodeError:
            raise undecodable(path, name, codec) from None
        except DAMAGED as error:
            yield rows.broken(f"the compressed file is damaged here: {error}", "unpack it anew")
    rows.report_blank(report)


class _TooLongError(Exception):
    """The lines of the current record are longer than a record may be."""


class _Lines:
    """Physical lines for the csv module; keeps those of the current record, takes some back."""

    def __init__(self, readline: Callable[[int], str], limit: int) -> None:
        self.held: list[str] = []
        self._readline, self._limit = readline, limit
        self._back: deque[str] = deque()
        self._size = 0

    def __iter__(self) -> "_Lines":
        return self

    def __next__(self) -> str:
        line = self._back.popleft() if self._back else self._readline(self._limit + 1)
        if not line:
            raise StopIteration
        self.held.append(line)
        self._size += len(line)
        if self._size > self._limit:
            raise _TooLongError
        return line

    def begin(self) -> None:
        """Forget the lines of the record before."""
        self.held.clear()
        self._size = 0

    @property
    def size(self) -> int:
        """Return how many characters the current record has taken."""
        return self._size

    def give_up(self) -> None:
        """Leave the current record: go on behind its first physical line."""
        first, *rest = self.held
        self._back.extendleft(reversed(rest))
        while not first.endswith(("\n", "\r")) and (more := self._readline(self._limit)):
            first = more


class _Rows:
    """State of reading one file: where we are, and what was met."""

    def __init__(self, lines: _Lines, name: str, delimiter: str, field_chars: int) -> None:
        self.lines, self.name, self.delimiter = lines, name, delimiter
        self.field_chars = field_chars
        self.line, self.record = 1, 0
        self.header_line = 0
        self.blank, self.first_blank = 0, 0

    def records(self, report: Report) -> Iterator[Record | Unreadable]:
        names = self._header(report)
        width = len(names)
        lines, limit = self.lines, self.field_chars
        for row in self._parsed():
            if isinstance(row, Unreadable):
                yield row
                continue
            if not any(map(str.strip, row)):
                self.blank += 1
                self.first_blank = self.first_blank or self.line
                continue
            self.record += 1
            place = Place(self.name, self.line, self.record)
            if lines.size > limit and (fault := self._fault(row, names, place)):
                yield fault
                continue
            if len(row) != width:
                row = _fitted(row, width, place, report)
            yield Record(dict(zip(names, row, strict=True)), place, "table")

    def _parsed(self) -> Iterator[list[str] | Unreadable]:
        """Yield parsed rows; `self.line` is the first physical line of the row yielded."""
        lines = self.lines
        reader = csv.reader(lines, delimiter=self.delimiter, strict=True)
        while True:
            lines.begin()
            try:
                row = next(reader, None)
            except csv.Error as error:
                yield self._given_up(*_quotes(str(error)))
            except _TooLongError:
                yield self._given_up(
                    "the record is longer than the limit",
                    "look for a quote that is not closed, or raise `record_chars` in `[limits]`",
                    "too-long",
                )
            else:
                if row is None:
                    return
                if any("\0" in line for line in lines.held):
                    yield self._given_up(
                        "the row holds a NUL character",
                        "the file is damaged here, or in another encoding than the one declared",
                    )
                else:
                    yield row
                    self.line += len(lines.held)
                    continue
            reader = csv.reader(lines, delimiter=self.delimiter, strict=True)
            self.line += 1

    def _given_up(self, reason: str, hint: str, code: str = "unreadable") -> Unreadable:
        self.lines.give_up()
        return self.broken(reason, hint, code)

    def broken(self, reason: str, hint: str, code: str = "unreadable") -> Unreadable:
        """Return the record at the current line as one that cannot be read."""
        self.record += 1
        return Unreadable(Place(self.name, self.line, self.record), reason, hint, code)

    def _header(self, report: Report) -> list[str]:
        for row in self._parsed():
            place = Place(self.name, self.line)
            if isinstance(row, Unreadable):
                raise UsageError(
                    f"the header row cannot be read: {row.reason}", hint=row.hint, where=str(place)
                )
            if any(map(str.strip, row)):
                self.line += len(self.lines.held)
                if len(row) == 1:
                    self._look_for_delimiter(row[0], place, report)
                return column_names(row, place, report)
        raise UsageError(f"`{self.name}` is empty", hint="its first row must name the columns")

    def _look_for_delimiter(self, text: str, place: Place, report: Report) -> None:
        for other, shown in _OTHER_DELIMITERS.items():
            if other in text and other != self.delimiter:
                report(
                    Finding(
                        "header",
                        f"the header row is one column, `{text.strip()}`",
                        place,
                        value=text,
                        hint=f'if `{shown}` divides the columns, declare `delimiter = "{shown}"`',
                    )
                )
                return

    def _fault(self, row: list[str], names: list[str], place: Place) -> Unreadable | None:
        longest = max(range(len(row)), key=lambda number: len(row[number]))
        size = len(row[longest])
        if size <= self.field_chars:
            return None
        at = place.at(names[longest] if longest < len(names) else f"column {longest + 1}")
        return too_long(at, size, self.field_chars)

    def report_blank(self, report: Report) -> None:
        """Report all blank rows of the file in one finding."""
        if self.blank:
            report(blank_rows(self.blank, Place(self.name, self.first_blank)))


def too_long(place: Place, size: int, limit: int) -> Unreadable:
    """Return the record that has one value longer than the limit."""
    return Unreadable(
        place,
        f"a value of {size:,} characters is longer than the limit of {limit:,}",
        "raise `field_chars` in `[limits]` if the value is right",
        "too-long",
    )


def blank_rows(count: int, first: Place) -> Finding:
    """Return the one finding on all blank rows of a table."""
    if count == 1:
        return Finding("blank-row", "a blank row is passed over", first)
    return Finding("blank-row", f"{count} blank rows are passed over, this is the first", first)


def _quotes(error: str) -> tuple[str, str]:
    if error.startswith("unexpected end"):
        return "a quote is opened here and never closed", "close it, or double it if it is text"
    return (
        "text follows the closing quote of a cell",
        "double each quote that is text and put quotes around the whole cell",
    )


def _fitted(row: list[str], width: int, place: Place, report: Report) -> list[str]:
    """Return a row of the right width; report what was missing or left over."""
    surplus = row[width:]
    if len(row) < width:
        message = f"the row has {len(row)} cells of {width}; the others are read as empty"
    elif any(map(str.strip, surplus)):
        over = ", ".join(f"`{cell}`" for cell in surplus)
        message = f"the row has {len(row)} cells for {width} columns; left over: {over}"
    else:
        return row[:width]  # only empty cells are left over: nothing is lost
    report(Finding("ragged", message, place, hint="look for a delimiter that is text, or was lost"))
    return row[:width] + [""] * (width - len(row))
