"""Days as integers: the proleptic Gregorian calendar without an end in either direction.

`datetime.date` stops at the years 1 and 9999; catalogues do not. Day 1 is 1 January of the year
1, as in `date.toordinal`, and years are astronomical: 0 is 1 BCE, -1 is 2 BCE (ISO 8601-1:2019,
4.3.2). Within the years 1 to 9999 the numbers are those of `datetime`.
"""

from lodpipe.errors import DateError

_BEFORE = (0, 0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334)
_LENGTHS = (0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)

DAYS_IN_400_YEARS = 146_097


def is_leap(year: int) -> bool:
    """Return whether the astronomical year has a 29 February.

    >>> [year for year in (-4, 0, 1900, 2000) if is_leap(year)]
    [-4, 0, 2000]
    """
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


def month_length(year: int, month: int) -> int:
    """Return the number of days of a month, 1 to 12.

    >>> month_length(2016, 2)
    29
    """
    return 29 if month == 2 and is_leap(year) else _LENGTHS[month]


def first_of_year(year: int) -> int:
    """Return the number of 1 January of an astronomical year.

    >>> first_of_year(1), first_of_year(0)
    (1, -365)
    """
    past = year - 1
    return 365 * past + past // 4 - past // 100 + past // 400 + 1


def day_number(year: int, month: int, day: int) -> int:
    """Return the number of a day; 0001-01-01 is 1.

    Args:
        year: astronomical, any size.
        month: 1 to 12.
        day: 1 to the length of the month.

    Raises:
        DateError: no such day.

    >>> day_number(1, 1, 1), day_number(-44, 3, 15)
    (1, -16362)
    """
    if not 1 <= month <= 12 or not 1 <= day <= month_length(year, month):
        raise DateError(f"`{_iso(year, month, day)}` is not on the calendar")
    after_february = month > 2 and is_leap(year)
    return first_of_year(year) + _BEFORE[month] + after_february + day - 1


def civil(number: int) -> tuple[int, int, int]:
    """Return year, month and day of a day number.

    >>> civil(1), civil(0)
    ((1, 1, 1), (0, 12, 31))
    """
    cycles, rest = divmod(number - 1, DAYS_IN_400_YEARS)
    centuries = min(rest // 36_524, 3)  # the last day of a cycle would start a fifth century
    rest -= centuries * 36_524
    leaps, rest = divmod(rest, 1_461)
    years = min(rest // 365, 3)  # likewise the last day of a leap year
    year = 400 * cycles + 100 * centuries + 4 * leaps + years + 1
    day = number - first_of_year(year)
    month = min(day // 28 + 1, 12)
    while day < _BEFORE[month] + (month > 2 and is_leap(year)):
        month -= 1
    return year, month, day - _BEFORE[month] - (month > 2 and is_leap(year)) + 1


def iso_day(number: int) -> str:
    """Return the day as ISO 8601 writes it: sign before year 0, at least four digits.

    A year of more than four digits gets a sign as well (ISO 8601-1:2019, 4.3.2: expanded).

    >>> iso_day(1), iso_day(-16362), iso_day(day_number(12000, 1, 1))
    ('0001-01-01', '-0044-03-15', '+12000-01-01')
    """
    return _iso(*civil(number))


def shift_years(number: int, years: int) -> int:
    """Return the same day in another year; the last day of a month stays its last day.

    >>> iso_day(shift_years(day_number(1972, 2, 29), 1))
    '1973-02-28'
    """
    year, month, day = civil(number)
    there = month_length(year + years, month)
    if day == month_length(year, month) or day > there:
        day = there
    return day_number(year + years, month, day)


def _iso(year: int, month: int, day: int) -> str:
    sign = "-" if year < 0 else "+" if year > 9999 else ""
    return f"{sign}{abs(year):04}-{month:02}-{day:02}"
