"""The cells of one row, read as what their column holds; what cannot be read is reported."""

import math
import unicodedata
from collections.abc import Iterable

from lodpipe.dates import Edtf, Reading, parse, read
from lodpipe.errors import DateError, nearest
from lodpipe.findings import Finding, Report
from lodpipe.records import Place, Record


class Cells:
    """One row of the evidence.

    Args:
        record: the row. `report`: takes its faults.
        code: code of the findings, `fact`, `ledger` or `layout`.

    Attributes:
        bad: whether a cell was found that makes the row unusable.
    """

    def __init__(self, record: Record, report: Report, code: str) -> None:
        self.data: dict[str, str] = record.data
        self.place: Place = record.origin
        self.bad = False
        self._report, self._code = report, code

    def fault(self, message: str, column: str = "", hint: str = "", code: str = "") -> None:
        """Report a fault that makes the row unusable."""
        self.bad = True
        self.remark(message, column, hint, code)

    def remark(
        self, message: str, column: str = "", hint: str = "", code: str = "", severity: str = ""
    ) -> None:
        """Report a fault that leaves the row usable."""
        place = self.place.at(column) if column else self.place
        value = self.data.get(column, "")
        self._report(Finding(code or self._code, message, place, severity, value=value, hint=hint))

    def text(self, column: str) -> str:
        """Return the text of a cell, trimmed, in NFC; empty when there is none."""
        return unicodedata.normalize("NFC", self.data.get(column, "").strip())

    def needed(self, column: str) -> str:
        """Return the text of a cell that must not be empty."""
        text = self.text(column)
        if not text:
            self.fault(f"the row has no `{column}`", column, hint="fill it in, or take the row out")
        return text

    def keys(self, column: str) -> tuple[str, ...]:
        """Return the keys of a cell, which `;` separates."""
        return tuple(key for part in self.text(column).split(";") if (key := part.strip()))

    def word(self, column: str, known: Iterable[str], default: str = "") -> str:
        """Return a word of a list; `default` for an empty cell."""
        text = self.text(column)
        if not text:
            return default
        word = " ".join(text.lower().split())
        if word in known:
            return word
        words = list(known)
        hint = nearest(word, words) or "one of " + ", ".join(f"`{word}`" for word in words)
        self.fault(f"`{text}` is not a word for `{column}`", column, hint, "unknown-word")
        return default

    def edtf(self, column: str) -> Edtf | None:
        """Return the date of a cell, None for an empty one; other text than EDTF is a fault."""
        text = self.text(column)
        if not text:
            return None
        try:
            return parse(text)
        except DateError as error:
            self.fault(error.message, column, _offer(text) or error.hint)
            return None

    def number(self, column: str, low: float, high: float = math.inf) -> float | None:
        """Return the number of a cell between two bounds, None for an empty cell."""
        text = self.text(column)
        if not text:
            return None
        try:
            number = float(text)
        except ValueError:
            number = math.nan
        if not low <= number <= high:
            bounds = f"from {low:g} to {high:g}" if high < math.inf else f"of at least {low:g}"
            self.fault(f"`{text}` is not a number {bounds}", column)
            return None
        return number

    def whole(self, column: str, low: int) -> int | None:
        """Return the whole number of a cell, None for an empty cell."""
        number = self.number(column, low)
        if number is not None and number != int(number):
            self.fault(f"`{self.text(column)}` is not a whole number", column)
            return None
        return None if number is None else int(number)


def _offer(text: str) -> str:
    """Return the EDTF that a text may mean, for the writer to accept: never taken by itself."""
    reading = read(text)
    if isinstance(reading, Reading):
        return f"write `{reading.edtf}` if that is what it means"
    return "write it in EDTF, such as `1871-05-20`, `1872-02`, `1873/1876`, `1868~`"
