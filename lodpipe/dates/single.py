"""One EDTF date: no interval, no set.

The rules are those of ISO 8601-2:2019, clauses 4 to 9, in the profile of the Library of Congress
<https://www.loc.gov/standards/datetime/> (4 February 2019), levels 0, 1 and 2. Where the profile
is silent, this module decides, and says so beside the rule:

- a season of no stated hemisphere (21 to 24) has the months of the northern year, and winter is
  the one that begins in the year that is written;
- significant digits (`1950S2`) are a mark like `~`: the plain days are those of the estimate,
  `bounds.outer_bounds` has the wider ones;
- a time of day says nothing about the day: the day is that of the place where it was written;
- a year has at most 18 digits.
"""

import re
from collections.abc import Iterator
from itertools import product
from typing import NamedTuple

from lodpipe.dates.days import day_number, first_of_year, is_leap, month_length
from lodpipe.errors import DateError

MARKS = {"": 0, None: 0, "?": 1, "~": 2, "%": 3}
"""The marks as bits: uncertain 1, approximate 2. The year holds bits 0 and 1 of `Single.marks`,
the month bits 2 and 3, the day bits 4 and 5."""
SIGNS = ("", "?", "~", "%")
UNCERTAIN, APPROXIMATE = 0b010101, 0b101010

MOST_DIGITS = 18

_GROUPS = {
    # code: first month, number of months, counted from January of the year that is written
    **{21: (3, 3), 22: (6, 3), 23: (9, 3), 24: (12, 3)},  # no hemisphere stated: northern
    **{25: (3, 3), 26: (6, 3), 27: (9, 3), 28: (12, 3)},  # northern
    **{29: (9, 3), 30: (12, 3), 31: (3, 3), 32: (6, 3)},  # southern
    **{33: (1, 3), 34: (4, 3), 35: (7, 3), 36: (10, 3)},  # quarters
    **{37: (1, 4), 38: (5, 4), 39: (9, 4), 40: (1, 6), 41: (7, 6)},  # thirds, halves
}
"""Sub-year groups of ISO 8601-2:2019, 4.8."""

_PLAIN = re.compile(r"((?!-0000)-?\d{4})(?:-(\d\d)(?:-(\d\d))?)?([?~%]?)", re.ASCII).fullmatch
_DECADE = re.compile(r"(?=.{4}[?~%]?$)(\d\d\d?)(XX?)([?~%]?)", re.ASCII).fullmatch
_PARTS = re.compile(
    r"([?~%]?)(-?)([\dX]{4})([?~%]?)"
    r"(?:-([?~%]?)([\dX]{2})([?~%]?)(?:-([?~%]?)([\dX]{2})([?~%]?))?)?",
    re.ASCII,
).fullmatch
_TIMED = re.compile(
    r"(-?\d{4}-\d\d-\d\d)T(?:[01]\d|2[0-3]):[0-5]\d:[0-5]\d"
    r"(?:Z|[+-](?:[01]\d|2[0-3])(?::[0-5]\d)?)?",
    re.ASCII,
).fullmatch
_LONG = re.compile(
    r"(?:Y(-?[1-9]\d{4,17})|Y(-?[1-9]\d{0,17})E([1-9]\d?)|(-?\d{4}))(?:S([1-9]\d?))?([?~%]?)",
    re.ASCII,
).fullmatch

_BEFORE = (0, 0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334)
_LONGEST = (0, 31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_LENGTHS = (0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def _patterns(most: int) -> dict[str, tuple[int, ...]]:
    """Return, for two places of digits or `X`, the numbers from 1 to `most` that fit."""
    places = "0123456789X"
    return {
        a + b: tuple(
            n for n in range(1, most + 1) if a in ("X", str(n // 10)) and b in ("X", str(n % 10))
        )
        for a in places
        for b in places
    }


_MONTHS, _DAYS = _patterns(12), _patterns(31)
_GROUP_CODES = frozenset(str(code) for code in _GROUPS)


class Single(NamedTuple):
    """One date as its normal form and its first and last possible day, marks left aside."""

    text: str
    earliest: int
    latest: int
    marks: int = 0
    masked: bool = False  # has an X: any of several dates, not one period
    in_interval: bool = True  # whether the profile lets it end an interval
    digits: int = 0  # significant digits, 0 when not said


def single(text: str) -> Single:
    """Return one EDTF date, such as `1872`, `1872-02-14~`, `187X`, `1872-21` or `Y-12000`.

    Raises:
        DateError: not an EDTF date, or not on the calendar.
    """
    match = _PLAIN(text)
    if match is None:
        return _other(text)
    year_text, month_text, day_text, mark = match.groups()
    year = int(year_text)
    past = year - 1
    before = 365 * past + past // 4 - past // 100 + past // 400
    leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
    if month_text is None:
        return Single(text, before + 1, before + 365 + leap, MARKS[mark])
    month = int(month_text)
    if not 1 <= month <= 12:
        return _group(text, year, month, day_text, MARKS[mark])
    if month > 2:
        before += leap
    before += _BEFORE[month]
    length = 29 if leap and month == 2 else _LENGTHS[month]
    if day_text is None:
        return Single(text, before + 1, before + length, MARKS[mark] * 0b101)
    day = int(day_text)
    if not 1 <= day <= length:
        raise _no_such_day(text)
    return Single(text, before + day, before + day, MARKS[mark] * 0b10101)


def _other(text: str) -> Single:
    """Return a date that is not four plain digits, month, day and one mark at the end."""
    match = _DECADE(text)
    if match is not None:
        digits, xs, mark = match.groups()
        low = int(digits) * 10 ** len(xs)
        past, until = low - 1, low + 10 ** len(xs) - 1
        return Single(
            text,
            365 * past + past // 4 - past // 100 + past // 400 + 1,
            365 * until + until // 4 - until // 100 + until // 400,
            MARKS[mark],
            masked=True,
        )
    match = _PARTS(text)
    if match is not None:
        return _from_parts(text, *match.groups(""))
    match = _TIMED(text)
    if match is not None:
        day = single(match[1])
        return Single(text, day.earliest, day.latest, in_interval=False)
    match = _LONG(text)
    if match is not None:
        return _long(text, *match.groups(""))
    hint = ""
    if re.search(r"[u?]{2}|\du|[()]|unknown|open|^y-?\d", text):
        hint = "this looks like the draft of 2012; write `X` for a digit that is not known"
    raise DateError(f"`{text}` is not an EDTF date", hint=hint)


def _group(text: str, year: int, code: int, day: str | None, marks: int) -> Single:
    if code not in _GROUPS or day:
        raise _no_such_day(text)
    first, months = _GROUPS[code]
    last = first + months - 1
    last_year, last = (year + 1, last - 12) if last > 12 else (year, last)
    earliest = day_number(year, first, 1)
    latest = day_number(last_year, last, month_length(last_year, last))
    return Single(text, earliest, latest, marks * 0b101)


def _from_parts(
    text: str,
    before_year: str,
    sign: str,
    year: str,
    after_year: str,
    before_month: str,
    month: str,
    after_month: str,
    before_day: str,
    day: str,
    after_day: str,
) -> Single:
    """Return a date with a sign, an `X` or marks on its parts.

    A mark to the right of a part holds for it and all to its left, one to its left for it alone
    (profile, level 2, "qualification of a group of components" and "of individual components").
    """
    if sign and year == "0000":
        raise DateError(f"`{text}` is not an EDTF date", hint="the year 0 has no sign")
    right = MARKS[after_day]
    days_marks = MARKS[before_day] | right
    right |= MARKS[after_month]
    month_marks = MARKS[before_month] | right
    right |= MARKS[after_year]
    year_marks = MARKS[before_year] | right
    marks = year_marks | month_marks << 2 | days_marks << 4
    normal = _print(sign + year, month, day, year_marks, month_marks, days_marks) if marks else text
    if "X" not in text:
        number = -int(year) if sign else int(year)
        if month and not 1 <= int(month) <= 12:
            return _group(normal, number, int(month), day, year_marks)._replace(marks=marks)
        try:
            earliest = day_number(number, int(month or 1), int(day or 1))
            last = int(month or 12)
            latest = day_number(number, last, int(day or month_length(number, last)))
        except DateError:
            raise _no_such_day(text) from None
        return Single(normal, earliest, latest, marks)
    low = _edge(sign, year, month, day, up=True)
    high = _edge(sign, year, month, day, up=False)
    if low is None or high is None:
        raise _no_such_day(text)
    return Single(normal, low, high, marks, masked=True)


def _print(year: str, month: str, day: str, of_year: int, of_month: int, of_day: int) -> str:
    """Return the normal form: a mark that several parts share stands once, to their right.

    `?2016-?05-31` is `2016-05?-31` (README of the public edtf.js, which prints it so).
    """
    if not month:
        return year + SIGNS[of_year]
    if not day:
        both = of_year & of_month
        alone = SIGNS[of_month & ~both]
        return f"{year}{SIGNS[of_year & ~both]}-{alone}{month}{SIGNS[both]}"
    every = of_year & of_month & of_day
    both = of_year & of_month & ~every
    of_year &= ~every & ~both
    of_month &= ~every & ~both
    return (
        f"{year}{SIGNS[of_year]}-{SIGNS[of_month]}{month}{SIGNS[both]}"
        f"-{SIGNS[of_day & ~every]}{day}{SIGNS[every]}"
    )


def _edge(sign: str, year: str, month: str, day: str, *, up: bool) -> int | None:
    """Return the first (`up`) or the last day that a date with `X` can be; None: there is none."""
    months, days = _MONTHS.get(month or "XX", ()), _DAYS.get(day or "XX", ())
    if not months and not day and month in _GROUP_CODES:
        number = next(_years(sign, year, up=up))
        group = _group("", number, int(month), None, 0)
        return group.earliest if up else group.latest
    if not months or not days or days[0] > max([_LONGEST[m] for m in months]):
        return None
    if not up:
        months, days = months[::-1], days[::-1]
    if not sign:  # nearly always the first to be looked at is a day of the calendar
        number, m = int(year.replace("X", "0" if up else "9")), months[0]
        length = month_length(number, m)
        d = days[0] if days[0] <= length or day not in ("", "XX") else length
        if d <= length:
            return first_of_year(number) + _BEFORE[m] + (m > 2 and is_leap(number)) + d - 1
    for number in _years(sign, year, up=up):
        for m in months:
            length = month_length(number, m)
            for d in days:
                if d <= length:
                    return day_number(number, m, d)
    return None


def _years(sign: str, pattern: str, *, up: bool) -> Iterator[int]:
    """Yield the years of a pattern such as `19X5`, upwards or downwards."""
    if "X" not in pattern:
        yield -int(pattern) if sign else int(pattern)
        return
    digits = "0123456789" if up != bool(sign) else "9876543210"
    for chosen in product(*(digits if c == "X" else c for c in pattern)):
        number = int("".join(chosen))
        if not sign:
            yield number
        elif number:  # there is no year -0
            yield -number


def _long(
    text: str, plain: str, base: str, exponent: str, four: str, digits: str, mark: str
) -> Single:
    """Return a year with `Y`, with an exponent or with significant digits (level 1 and 2)."""
    if base and len(base.lstrip("-")) + int(exponent) > MOST_DIGITS:
        raise DateError(f"the year of `{text}` has more than {MOST_DIGITS} digits")
    year = int(base) * 10 ** int(exponent) if base else int(plain or four)
    if four and (not digits or four == "-0000"):
        raise DateError(f"`{text}` is not an EDTF date")
    if base and abs(year) < 10_000:
        raise DateError(f"`{text}` is not an EDTF date", hint="write four digits without `Y`")
    earliest, latest = day_number(year, 1, 1), day_number(year, 12, 31)
    return Single(text, earliest, latest, MARKS[mark], in_interval=False, digits=int(digits or 0))


def significant_years(text: str, digits: int) -> tuple[int, int]:
    """Return the first and last year that a year with significant digits may be.

    >>> significant_years("1950S2", 2)
    (1900, 1999)
    """
    base, _, exponent = text.lstrip("Y").partition("S")[0].partition("E")
    year = int(base) * 10 ** int(exponent or 0)
    unit = 10 ** max(0, len(str(abs(year)).zfill(4)) - digits)
    low = abs(year) // unit * unit
    return (low, low + unit - 1) if year >= 0 else (-(low + unit - 1), -low)


def _no_such_day(text: str) -> DateError:
    return DateError(f"`{text}` is not on the calendar")
