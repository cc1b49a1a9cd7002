"""Outer bounds: how far `about` may reach, which is a choice and never part of EDTF.

EDTF gives `~` no width. What is published as the first and last possible day of an approximate
date is wider by a number of years that the project declares (`circa_years`; 5 unless it says
otherwise, as in the published example of CCO 4.2.3.2, where "ca. 1610" is 1605 to 1615).
"""

from lodpipe.dates.days import civil, day_number, month_length, shift_years
from lodpipe.dates.edtf import INTERVAL, Edtf
from lodpipe.dates.single import Single, significant_years, single

CIRCA_YEARS = 5


def outer_bounds(edtf: Edtf, circa_years: int = CIRCA_YEARS) -> tuple[int | None, int | None]:
    """Return first and last day with every approximate end moved outwards.

    A year marked `~` or `%` moves by `circa_years` years. Where only the month is marked, the
    bounds are those of its year; where only the day is, those of its month. Significant digits
    (`1950S2`) reach to the years that share them. An open or unknown end stays None.

    >>> from lodpipe.dates.edtf import parse
    >>> from lodpipe.dates.days import iso_day
    >>> [iso_day(day) for day in outer_bounds(parse("1610~"))]
    ['1605-01-01', '1615-12-31']
    """
    if not edtf.approximate and "S" not in edtf.text:
        return edtf.earliest, edtf.latest
    first, last = edtf.earliest, edtf.latest
    members = edtf.members
    for position, member in enumerate(members):
        low, dots, high = member.partition("..")
        if not dots:
            high = low
        if first is not None and low and not (edtf.form == INTERVAL and position):
            first = min(first, _wide(single(low), circa_years)[0])
        if last is not None and high and not (edtf.form == INTERVAL and not position):
            last = max(last, _wide(single(high), circa_years)[1])
    return first, last


def _wide(date: Single, circa_years: int) -> tuple[int, int]:
    first, last = date.earliest, date.latest
    if date.digits:
        low, high = significant_years(date.text, date.digits)
        first, last = day_number(low, 1, 1), day_number(high, 12, 31)
    if date.marks & 0b10:
        return shift_years(first, -circa_years), shift_years(last, circa_years)
    if date.marks & 0b1000:
        return day_number(civil(first)[0], 1, 1), day_number(civil(last)[0], 12, 31)
    if date.marks & 0b100000:
        year, month, _ = civil(first)
        last_year, last_month, _ = civil(last)
        end = month_length(last_year, last_month)
        return day_number(year, month, 1), day_number(last_year, last_month, end)
    return first, last
