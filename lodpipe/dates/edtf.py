"""EDTF: dates, intervals and sets, and the days that they can mean.

ISO 8601-2:2019 in the profile of the Library of Congress of 4 February 2019
<https://www.loc.gov/standards/datetime/>, levels 0, 1 and 2. What one date is stands in
`single`; here are intervals, sets and the four corners of all of them.

Where public lists of examples disagree, the stricter was taken: no space inside a set (one list
has it among the valid, one among the invalid strings), no `-0000`, no `Y` year and no time of day
at the end of an interval.
"""

import re
from dataclasses import dataclass

from lodpipe.dates.single import APPROXIMATE, UNCERTAIN, Single, single
from lodpipe.errors import DateError

DATE, INTERVAL, ONE_OF, ALL_OF = "date", "interval", "one of", "all of"


@dataclass(frozen=True, slots=True)
class Edtf:
    """What an EDTF string means, as integer days of the proleptic Gregorian calendar.

    Every value is looked at as something that starts and ends: a single date and a `[]` set start
    and end somewhere within, an interval starts within its first date and ends within its second,
    a `{}` set starts within its first member and ends within its last. The four corners follow.
    The marks `?`, `~` and `%` never move them.

    Attributes:
        text: the normal form.
        earliest: first day on which it may have started; None: open or unknown.
        latest_start: last day on which it may have started; None: open or unknown start.
        earliest_end: first day on which it may have ended; None: open or unknown end.
        latest: last day on which it may have ended; None: open or unknown.
        form: `date`, `interval`, `one of` (written with `[]`) or `all of` (with `{}`).
        marks: the marks of all its dates, as bits (see `single.MARKS`).
    """

    text: str
    earliest: int | None
    latest_start: int | None
    earliest_end: int | None
    latest: int | None
    form: str = DATE
    marks: int = 0

    def __str__(self) -> str:
        return self.text

    @property
    def interval(self) -> bool:
        """Whether it is written with a slash."""
        return self.form == INTERVAL

    @property
    def uncertain(self) -> bool:
        """Whether any of its dates has `?` or `%`."""
        return self.marks & UNCERTAIN != 0

    @property
    def approximate(self) -> bool:
        """Whether any of its dates has `~` or `%`."""
        return self.marks & APPROXIMATE != 0

    @property
    def open_start(self) -> bool:
        """Whether it goes back without a bound: `../1872`, `[..1872]`."""
        return self.text.startswith(("../", "[..", "{.."))

    @property
    def open_end(self) -> bool:
        """Whether it goes on without a bound: `1872/..`, `[1872..]`."""
        return self.text.endswith(("/..", "..]", "..}"))

    @property
    def unknown_start(self) -> bool:
        """Whether it has a start that nobody knows: `/1872`."""
        return self.text.startswith("/")

    @property
    def unknown_end(self) -> bool:
        """Whether it has an end that nobody knows: `1872/`."""
        return self.text.endswith("/")

    @property
    def members(self) -> tuple[str, ...]:
        """The dates it is made of, as EDTF; ranges of a set as they stand (`1670..1672`)."""
        if self.form == DATE:
            return (self.text,)
        if self.form == INTERVAL:
            return tuple(self.text.split("/"))
        return tuple(self.text[1:-1].split(","))


def parse(text: str) -> Edtf:
    """Return what an EDTF string of level 0, 1 or 2 means.

    Args:
        text: such as `1872-02`, `187X`, `1846~`, `1873/1876`, `1868/..`, `[1871,1872]`, nothing
            around it.

    Raises:
        DateError: not EDTF, not on the calendar, or an interval that ends before it begins.

    >>> parse("1873/1876~").approximate
    True
    """
    first = text[:1]
    if first == "[" or first == "{":
        return _set(text)
    if "/" in text:
        return _interval(text)
    date = single(text)
    return Edtf(date.text, date.earliest, date.latest, date.earliest, date.latest, DATE, date.marks)


def _interval(text: str) -> Edtf:
    """Return an interval; an end is a date, empty (unknown) or `..` (open)."""
    left, _, right = text.partition("/")
    start, end = _end(left, text), _end(right, text)
    if start is None:
        if end is None:
            if not left and not right:
                raise DateError(f"the interval `{text}` has no date")
            return Edtf(text, None, None, None, None, INTERVAL)
        normal = f"{left}/{end.text}"
        return Edtf(normal, None, None, end.earliest, end.latest, INTERVAL, end.marks)
    if end is None:
        normal = f"{start.text}/{right}"
        return Edtf(normal, start.earliest, start.latest, None, None, INTERVAL, start.marks)
    check_order(start, end, text)
    return Edtf(
        f"{start.text}/{end.text}",
        start.earliest,
        start.latest,
        end.earliest,
        end.latest,
        INTERVAL,
        start.marks | end.marks,
    )


def _end(text: str, whole: str) -> Single | None:
    if text in ("", ".."):
        return None
    date = single(text)
    if not date.in_interval:
        raise DateError(f"`{text}` cannot stand in the interval `{whole}`")
    return date


def check_order(start: Single, end: Single, whole: str) -> None:
    """Refuse an interval that ends before it begins.

    The start is held against the first day of the end (`0000-02/0000` is refused: the public list
    of invalid intervals), but against the last one when the end has an `X`, which is one of
    several dates and not a period (`1919-12-02/1919-XX-04` is in the list of valid ones).

    Raises:
        DateError: it does.
    """
    if start.earliest > (end.latest if end.masked else end.earliest):
        raise DateError(f"the interval `{whole}` ends before it begins")


def _set(text: str) -> Edtf:
    """Return `[one of]` or `{all of}` several dates (profile, level 2, "set representation")."""
    if text[-1:] != ("]" if text[0] == "[" else "}"):
        raise DateError(f"`{text}` is not an EDTF date")
    members = text[1:-1].split(",")
    spans: list[tuple[Single | None, Single | None]] = []
    normal = []
    for position, member in enumerate(members):
        low, dots, high = member.partition("..")
        if not dots:
            date = single(low)
            spans.append((date, date))
            normal.append(date.text)
            continue
        if (not low and (position or not high)) or (not high and position < len(members) - 1):
            raise DateError(
                f"`{text}` is not an EDTF date",
                hint="`..` without a date stands only at the start or the end of a set",
            )
        first = single(low) if low else None
        last = single(high) if high else None
        if first and last:
            check_order(first, last, member)
        spans.append((first, last))
        normal.append(f"{first.text if first else ''}..{last.text if last else ''}")
    return _corners(f"{text[0]}{','.join(normal)}{text[-1]}", spans)


def _corners(text: str, spans: list[tuple[Single | None, Single | None]]) -> Edtf:
    firsts = [low for low, _ in spans if low is not None]
    lasts = [high for _, high in spans if high is not None]
    open_start, open_end = len(firsts) < len(spans), len(lasts) < len(spans)
    earliest = None if open_start else min(low.earliest for low in firsts)
    latest = None if open_end else max(high.latest for high in lasts)
    marks = 0
    for date in (*firsts, *lasts):
        marks |= date.marks
    if text[0] == "[":
        return Edtf(text, earliest, latest, earliest, latest, ONE_OF, marks)
    latest_start = None if open_start else min(low.latest for low in firsts)
    earliest_end = None if open_end else max(high.earliest for high in lasts)
    return Edtf(text, earliest, latest_start, earliest_end, latest, ALL_OF, marks)


_LEVEL_0 = re.compile(
    r"\d{4}(-(0\d|1[0-2])(-\d\d)?)?(/\d{4}(-(0\d|1[0-2])(-\d\d)?)?)?"
    r"|\d{4}-\d\d-\d\dT.*",
    re.ASCII,
).fullmatch
_LEVEL_1_END = r"-?\d{4}(?:-(?:0\d|1[0-2]|2[1-4])(?:-\d\d)?)?[?~%]?"
_LEVEL_1 = re.compile(
    rf"-?\d{{4}}(?:-(?:0\d|1[0-2])(?:-\d\d)?)?[?~%]?|-?\d{{4}}-2[1-4]|-?\d{{3}}X[?~%]?|-?\d\dXX[?~%]?|-?\d{{4}}-(?:\d\d-)?XX|-?\d{{4}}-XX-XX"
    rf"|Y-?\d+|-\d{{4}}-\d\d-\d\dT.*|(?:{_LEVEL_1_END}|\.\.|)/(?:{_LEVEL_1_END}|\.\.|)",
    re.ASCII,
).fullmatch


def level(text: str) -> int:
    """Return the lowest level, 0 to 2, whose rules are enough for a valid EDTF string.

    >>> level("1872-02"), level("1872~"), level("?1872-02")
    (0, 1, 2)
    """
    return 0 if _LEVEL_0(text) else 1 if _LEVEL_1(text) else 2
