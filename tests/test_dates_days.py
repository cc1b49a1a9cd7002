"""Days as integers, held against the calendar of the standard library and against themselves."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodpipe.dates.days import civil, day_number, first_of_year, is_leap, iso_day, shift_years
from lodpipe.errors import DateError

NUMBERS = [
    # year, month, day, number; the first from datetime, the others from their definition
    ((1, 1, 1), 1),
    ((0, 12, 31), 0),
    ((0, 2, 29), -306),  # 1 BCE is a leap year: 1 March is 306 days before 0001-01-01
    ((-1, 12, 31), -366),
    ((2000, 2, 29), 730_179),
    ((10_000, 1, 1), 3_652_060),
]


@pytest.mark.parametrize(("day", "number"), NUMBERS)
def test_number_of_a_day(day: tuple[int, int, int], number: int) -> None:
    assert day_number(*day) == number
    assert civil(number) == day


def test_julian_day_zero() -> None:
    """Julian Day Number 0 is 24 November -4713 (Gregorian); 0001-01-01 is number 1,721,426."""
    assert day_number(1, 1, 1) - day_number(-4713, 11, 24) == 1_721_426


@pytest.mark.parametrize(
    ("day", "text"),
    [((1900, 2, 29), "1900-02-29"), ((1900, 13, 1), "1900-13-01"), ((-1, 4, 31), "-0001-04-31")],
)
def test_no_such_day(day: tuple[int, int, int], text: str) -> None:
    with pytest.raises(DateError) as caught:
        day_number(*day)

    assert caught.value.message == f"`{text}` is not on the calendar"


@pytest.mark.parametrize("day", [(1900, 0, 1), (1900, 1, 0), (1900, 12, 32), (2023, 2, 29)])
def test_out_of_range(day: tuple[int, int, int]) -> None:
    with pytest.raises(DateError):
        day_number(*day)


@given(st.dates())
def test_the_calendar_of_the_standard_library(day: date) -> None:
    number = day_number(day.year, day.month, day.day)

    assert number == day.toordinal()
    assert civil(number) == (day.year, day.month, day.day)
    assert iso_day(number) == day.isoformat()


@given(st.integers(-(10**12), 10**12))
def test_round_trip(number: int) -> None:
    assert day_number(*civil(number)) == number


@given(st.integers(-(10**9), 10**9))
def test_a_year_has_its_days(year: int) -> None:
    assert first_of_year(year + 1) - first_of_year(year) == 365 + is_leap(year)


SHIFTED = [
    ("1972-02-29", 1, "1973-02-28"),
    ("1973-02-28", -1, "1972-02-29"),  # the end of February stays its end
    ("1973-02-27", -1, "1972-02-27"),
    ("1610-12-31", 5, "1615-12-31"),
    ("1610-01-01", -1615, "-0005-01-01"),
    ("9999-06-15", 5, "+10004-06-15"),
]


@pytest.mark.parametrize(("before", "years", "after"), SHIFTED)
def test_shifted(before: str, years: int, after: str) -> None:
    assert iso_day(shift_years(date.fromisoformat(before).toordinal(), years)) == after
