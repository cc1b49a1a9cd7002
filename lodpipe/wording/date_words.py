"""Dates in words, from EDTF (https://www.loc.gov/standards/datetime/, levels 0 to 2).

Nothing that the EDTF says is lost on the way: a digit that is not known, an end that is open, a
mark of doubt on the month alone all come out in words. `18XX` is called the 19th century, as
catalogues do, although the century of the calendar begins a year later.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from lodpipe.dates import Edtf, civil, outer_bounds, parse
from lodpipe.wording.tables import joined, language_for, say, table

_PARTS = re.compile(
    r"([?~%]?)(-?[\dX]{4})([?~%]?)"
    r"(?:-([?~%]?)([\dX]{2})([?~%]?)(?:-([?~%]?)([\dX]{2})([?~%]?))?)?(?:T.*)?",
    re.ASCII,
).fullmatch
_LONG = re.compile(r"Y(-?\d+)(?:E(\d+))?([?~%]?)|(-?\d{4})([?~%]?)", re.ASCII).fullmatch
_MARKS = {"?": 1, "~": 2, "%": 3, "": 0, None: 0}
_MARK_WORDS = ("", "perhaps", "about", "perhaps-about")
_ROMAN = (("X", 10), ("IX", 9), ("V", 5), ("IV", 4), ("I", 1))


@dataclass(frozen=True, slots=True)
class _Named:
    """One date: its words, what kind of date it is, the year as words, its marks (one for all of
    it, or one for year, month and day each)."""

    words: str
    kind: str
    year: str = ""
    mark: int = 0
    parts: tuple[int, ...] = ()


@lru_cache(maxsize=8192)
def date_words(edtf: Edtf, language: str, *, lasting: bool = False) -> str:
    """Return a date as a reader sees it.

    Args:
        lasting: whether it is said of something that went on throughout (years of work); an
            interval is then `1868 to 1885`, not `between 1868 and 1885`.

    >>> date_words(parse("1873/1876"), "en"), date_words(parse("1846~"), "en")
    ('between 1873 and 1876', 'about 1846')
    """
    if edtf.form == "interval":
        return _interval(edtf, language, _plain, lasting)
    if edtf.form != "date":
        last = "list.or" if edtf.form == "one of" else "list.and"
        members = [_member(member, language, _plain) for member in edtf.members]
        return joined(language, members, last)
    return _plain(edtf.text, language)


@lru_cache(maxsize=8192)
def date_phrase(edtf: Edtf, language: str) -> str:
    """Return a date as it stands after a verb: `in February 1872`, `on 14 February 1872`.

    >>> "exposed " + date_phrase(parse("187X"), "en")
    'exposed in the 1870s'
    """
    if edtf.form == "interval":
        return _interval(edtf, language, _after_verb)
    if edtf.form != "date":
        last = "list.or" if edtf.form == "one of" else "list.and"
        members = [_member(member, language, _after_verb) for member in edtf.members]
        return joined(language, members, last)
    return _after_verb(edtf.text, language)


def _plain(text: str, language: str) -> str:
    return _marked(_name(text, language), language, "marked")


def _after_verb(text: str, language: str) -> str:
    named = _name(text, language)
    if named.mark:
        return _marked(named, language, "marked")
    key = named.kind if f"at.{named.kind}" in table(language) else "whole"
    return _with_parts(
        say(language, f"at.{key}", date=named.words, year=named.year), named, language
    )


def _within(text: str, language: str) -> str:
    """Words inside `between ... and ...`."""
    named = _name(text, language)
    if named.mark:
        return _marked(named, language, "within")
    key = named.kind if f"within.{named.kind}" in table(language) else "whole"
    words = say(language, f"within.{key}", date=named.words, year=named.year)
    return _with_parts(words, named, language)


def _marked(named: _Named, language: str, where: str) -> str:
    if named.mark:
        return say(language, f"{where}.{_MARK_WORDS[named.mark]}", date=named.words)
    return _with_parts(named.words, named, language)


def _with_parts(words: str, named: _Named, language: str) -> str:
    """Add, in brackets, which parts of a date are in doubt."""
    notes = [
        say(language, f"part.{_MARK_WORDS[mark]}", part=say(language, f"part.{name}"))
        for name, mark in zip(("year", "month", "day"), named.parts, strict=False)
        if mark
    ]
    if not notes:
        return words
    return say(
        language, "marked.parts", date=words, parts=table(language)["list.comma"].join(notes)
    )


def _member(text: str, language: str, one: Callable[[str, str], str]) -> str:
    """A member of a set: one date, or a range `1670..1672` that may be open at an end."""
    if ".." not in text:
        return one(text, language)
    start, _, end = text.partition("..")
    if not start:
        return say(language, "span.open-start", end=_within(end, language))
    if not end:
        return say(language, "span.open-end", start=_within(start, language))
    return say(language, "set.range", start=_within(start, language), end=_within(end, language))


def _interval(
    edtf: Edtf, language: str, alone: Callable[[str, str], str], lasting: bool = False
) -> str:
    """Words for an interval; `alone` words its one date where both ends are the same."""
    start, end = edtf.members
    if start == end and start not in ("", ".."):
        return alone(start, language)
    if start in ("", "..") and end in ("", ".."):
        return say(language, "name.undated")
    key = "span.lasting-" if lasting else "span."
    inside = _plain if lasting else _within
    if start in ("", ".."):
        key += "open-start" if start else "unknown-start"
        return say(language, key, end=inside(end, language))
    if end in ("", ".."):
        key += "open-end" if end else "unknown-end"
        return say(language, key, start=inside(start, language))
    key = "span.lasting" if lasting else "span.between"
    return say(language, key, start=inside(start, language), end=inside(end, language))


def _name(text: str, language: str) -> _Named:
    """Return the words of one date without marks, and its marks."""
    if "S" in text:
        return _estimated(text, language)
    found = _PARTS(text)
    if found is None:
        return _long_year(text, language)
    before_y, year, after_y, before_m, month, after_m, before_d, day, after_d = found.groups()
    marks = (
        _MARKS[before_y] | _MARKS[after_y] | _MARKS[after_m] | _MARKS[after_d],
        _MARKS[before_m] | _MARKS[after_m] | _MARKS[after_d],
        _MARKS[before_d] | _MARKS[after_d],
    )[: 1 + (month is not None) + (day is not None)]
    words, kind, year_words = _unmarked(year, month, day, language)
    if len(set(marks)) == 1:
        return _Named(words, kind, year_words, marks[0])
    return _Named(words, kind, year_words, 0, marks)


def _unmarked(year: str, month: str | None, day: str | None, language: str) -> tuple[str, str, str]:
    """Return words, kind and the year's words of a date that may have `X` in it."""
    if year.endswith("XXXX"):
        return _without_year(year, month, day, language)
    if "X" in year:
        if month is None and (shown := _decade_or_century(year, language)):
            return shown
        return _between(year, month, day, language)
    year_words = _year(int(year), language)
    if month is None:
        return year_words, "year", year_words
    if month == "XX":
        key = "month" if day is None else "month-day"
        if day in (None, "XX"):
            return say(language, f"name.{key}-unknown", date=year_words), "whole", year_words
        return _between(year, month, day, language)
    if month > "12" and "X" not in month:
        return say(language, f"name.{month}", year=year_words), month, year_words
    if "X" in month or (day is not None and day != "XX" and "X" in day):
        return _between(year, month, day, language)
    month_words = say(language, f"month.{month}")
    if day is None:
        return say(language, "name.month", month=month_words, year=year_words), "month", year_words
    if day == "XX":
        date = say(language, "name.month", month=month_words, year=year_words)
        return say(language, "name.day-unknown", date=date), "whole", year_words
    return _day(int(day), month_words, year_words, language), "day", year_words


def _day(day: int, month: str, year: str, language: str) -> str:
    key = "name.first-day" if day == 1 else "name.day"
    return say(language, key, day=str(day), month=month, year=year)


def _without_year(
    year: str, month: str | None, day: str | None, language: str
) -> tuple[str, str, str]:
    if month is None or "X" in month or month > "12" or (day and "X" in day and day != "XX"):
        return say(language, "name.undated"), "whole", ""
    month_words = say(language, f"month.{month}")
    if day is not None and day != "XX":
        date = say(language, "name.day-of-month", day=str(int(day)), month=month_words)
    else:
        date = month_words
    return say(language, "name.year-unknown", date=date), "whole", ""


def _decade_or_century(year: str, language: str) -> tuple[str, str, str] | None:
    """Words for `187X` and `18XX`; None for other masks and for years that reach before 1."""
    digits = year.rstrip("X")
    if "X" in digits or len(digits) < 2 or year.startswith(("-", "00")):
        return None
    if len(digits) == 3:
        first = str(int(digits) * 10)
        return say(language, "name.decade", year=first), "decade", first
    ordinal = _ordinal(int(digits) + 1, language)
    return say(language, "name.century", ordinal=ordinal), "century", ordinal


def _between(year: str, month: str | None, day: str | None, language: str) -> tuple[str, str, str]:
    """The first and last day that a date with unknown digits can mean."""
    text = "-".join(part for part in (year, month, day) if part is not None)
    edtf = parse(text)
    assert edtf.earliest is not None and edtf.latest is not None
    ends = []
    for number in (edtf.earliest, edtf.latest):
        y, m, d = civil(number)
        if month is None:
            ends.append(_year(y, language))
            continue
        month_words, year_words = say(language, f"month.{m:02}"), _year(y, language)
        words = _day(d, month_words, year_words, language)
        ends.append(say(language, "within.day", date=words))
    return say(language, "span.between", start=ends[0], end=ends[1]), "whole", ""


def _estimated(text: str, language: str) -> _Named:
    """`1950S2`: a year of which only the first digits count."""
    number, _, rest = text.partition("S")
    mark = _MARKS[rest[-1]] if rest[-1] in "?~%" else 0
    low, high = outer_bounds(parse(text.rstrip("?~%")), 0)
    assert low is not None and high is not None
    words = say(
        language,
        "name.estimated",
        year=_year(_year_number(number), language),
        start=_year(civil(low)[0], language),
        end=_year(civil(high)[0], language),
    )
    return _Named(words, "whole", "", mark)


def _long_year(text: str, language: str) -> _Named:
    mark = _MARKS[text[-1]] if text[-1] in "?~%" else 0
    words = _year(_year_number(text.rstrip("?~%")), language)
    return _Named(words, "year", words, mark)


def _year_number(text: str) -> int:
    digits, _, power = text.removeprefix("Y").partition("E")
    return int(digits + "0" * int(power or 0))


def _year(year: int, language: str) -> str:
    """A year of the astronomical count: 0 is 1 BCE."""
    if year > 0:
        return str(year)
    return say(language, "name.bce", year=str(1 - year))


def _ordinal(number: int, language: str) -> str:
    language = language_for(language)
    if language == "de":
        return f"{number}."
    if language == "fr":
        return "Ier" if number == 1 else f"{_roman(number)}e"
    tail = "th" if 10 <= number % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{tail}"


def _roman(number: int) -> str:
    letters = ""
    for letter, value in _ROMAN:
        count, number = divmod(number, value)
        letters += letter * count
    return letters
