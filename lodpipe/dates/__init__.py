"""Dates: EDTF exactly, and what catalogues write, never guessed."""

from lodpipe.dates.answers import answer, compare
from lodpipe.dates.bounds import outer_bounds
from lodpipe.dates.days import civil, day_number, iso_day
from lodpipe.dates.edtf import Edtf, parse
from lodpipe.dates.reading import read
from lodpipe.dates.results import Events, Policy, Reading, Unread

__all__ = [
    "Edtf",
    "Events",
    "Policy",
    "Reading",
    "Unread",
    "answer",
    "civil",
    "compare",
    "day_number",
    "iso_day",
    "outer_bounds",
    "parse",
    "read",
]
