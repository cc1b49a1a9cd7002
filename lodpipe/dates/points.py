"""One point of time in the shape of a text: a day, month, year, decade, century, or a part of one.

Each form is a pattern over the letters of `tokens`; the first that fits is taken, so longer forms
stand before the shorter ones that they begin with.
"""

import re
from collections.abc import Callable
from re import Match

from lodpipe.dates import plans
from lodpipe.dates.plans import Builder, StuckError
from lodpipe.dates.results import Policy
from lodpipe.dates.spans import Point, Simple, Span, date, within

NORTHERN = "a season without a hemisphere; its days are those of the northern year"
UNCLEAR = "the words are known, but not what they mean together"


class Cursor:
    """A place in a shape: its letters, the places of their values, and what was collected."""

    def __init__(
        self,
        letters: str,
        places: list[int],
        builder: Builder,
        policy: Policy,
        *,
        life: bool = False,
    ) -> None:
        self.letters = letters
        self.places = places
        self.builder = builder
        self.policy = policy
        self.life = life
        self.year_first = False
        self.at = 0

    def match(self, pattern: str) -> Match[str] | None:
        """Return the match of a pattern here, without moving."""
        return re.compile(pattern).match(self.letters, self.at)

    def take(self, pattern: str) -> Match[str] | None:
        """Return the match of a pattern here and move behind it."""
        found = self.match(pattern)
        if found:
            self.at = found.end()
        return found

    def place(self, found: Match[str], group: str | int = 0) -> int:
        """Return the place of the value where a group of a match begins."""
        return self.places[found.start(group)]

    @property
    def done(self) -> bool:
        """Whether the shape is read to its end."""
        return self.at >= len(self.letters)


Form = Callable[[Cursor, Match[str]], Point]


def marks(cursor: Cursor) -> int:
    """Read `circa`, `probably` and question marks; return their bits."""
    found = 0
    while taken := cursor.take("[cp?]"):
        found |= 2 if taken[0] == "c" else 1
    return found


def point(cursor: Cursor) -> Point:
    """Read one point with the marks before and behind it.

    Raises:
        StuckError: there is none here, or what is here can mean several things.
    """
    before = marks(cursor)
    before |= bare_c(cursor)
    for pattern, form in FORMS:
        found = cursor.take(pattern)
        if found:
            made = form(cursor, found)
            break
    else:
        raise StuckError(UNCLEAR)
    while after := cursor.take(r"[?~]|[cp](?![-YSXQHO1Mqabde3hgx])"):
        before |= 2 if after[0] in "c~" else 1
        made.about_behind |= after[0] == "c"
    made.mark |= before
    return made


def bare_c(cursor: Cursor) -> int:
    """Read a `c` right before digits: circa before a decade or century, else as declared."""
    if not cursor.take("C"):
        return 0
    if cursor.match("[SXQHOs1]"):
        return 2
    if cursor.policy.c_years == "circa":
        cursor.builder.note("c_years = circa")
        return 2
    raise StuckError(
        f"`c{{{cursor.places[cursor.at] if not cursor.done else 0}}}` may be a copyright date or "
        "circa; `c_years` in [dates] decides"
    )


def finish(made: Point, cursor: Cursor) -> Span:
    """Return the span of a point that must be complete by itself."""
    if made.span is not None:
        return made.span.marked(made.mark)
    if made.decade is not None:
        return date(Simple((made.decade,), made.mark))
    if made.hundreds is not None:
        return _hundreds(made, cursor).marked(made.mark)
    if made.y is None:
        raise StuckError(UNCLEAR)
    y: int = made.y
    if made.season is not None:
        return season(cursor, made.season, y).marked(made.mark)
    if made.part is not None:
        low = cursor.builder.step(plans.part_of_year, y, made.part, "0")
        high = cursor.builder.step(plans.part_of_year, y, made.part, "1")
        return within(Simple((low,)), Simple((high,))).marked(made.mark)
    if made.m is None:
        return date(Simple((y,), made.mark))
    if made.d is None:
        return date(Simple((y, "-", made.m), made.mark))
    return date(Simple((y, "-", made.m, "-", made.d), made.mark))


def _hundreds(made: Point, cursor: Cursor) -> Span:
    place = made.hundreds
    assert place is not None
    wanted = cursor.policy.hundreds
    if wanted is None or (made.part is not None and wanted == "decade"):
        raise StuckError(
            f"`{{{place}}}` (with s) may be a decade or a century; `hundreds` in [dates] decides"
        )
    cursor.builder.note(f"hundreds = {wanted}")
    if wanted == "decade":
        return date(Simple((place,)))
    mask = cursor.builder.step(plans.hundreds, place)
    return date(Simple((mask,))) if made.part is None else parted(mask, made.part, cursor)


def parted(mask: int, part: int, cursor: Cursor, era: str = "") -> Span:
    """Return early, mid or late in a decade or century."""
    low = cursor.builder.step(plans.part, mask, part, "0", era)
    high = cursor.builder.step(plans.part, mask, part, "1", era)
    cursor.builder.note(part, " is read widely; its ends are not exact")
    return within(Simple((low,)), Simple((high,)))


def century(
    cursor: Cursor, ordinal: int, *, first: bool, part: int | None = None, era: str = ""
) -> Span:
    """Return a century, or a part of one; the first has no year 0, so it is a range."""
    if first:
        if part is not None:
            raise StuckError(UNCLEAR)
        ends = ("-0099", "0000") if era == "E" else ("0001", "0099")
        return within(Simple((ends[0],)), Simple((ends[1],)))
    mask = cursor.builder.step(plans.century, ordinal)
    if part is not None:
        return parted(mask, part, cursor, era)
    return date(Simple(("-", mask) if era == "E" else (mask,)))


# The forms.


def _ymd(cursor: Cursor, found: Match[str]) -> Point:
    groups = found.re.groupindex
    y, m, d = (
        cursor.place(found, name) if name in groups and found[name] else None for name in "ymd"
    )
    return Point(y=y, m=m, d=d)


def _year_month(cursor: Cursor, found: Match[str]) -> Point:
    """Return a date that begins with its year, and remember that this text writes dates so."""
    cursor.year_first = True
    return _ymd(cursor, found)


def _month_year(cursor: Cursor, found: Match[str]) -> Point:
    """Return a month, or a month and day, with a comma and a year behind.

    In a text that writes the year first, the comma parts two dates: in `1963 March-April, 1972`
    the last year is a date of its own.
    """
    if not cursor.year_first:
        return _ymd(cursor, found)
    if found["d"]:
        raise StuckError(UNCLEAR)
    cursor.at = found.end("m")
    return Point(m=cursor.place(found, "m"))


def _number(cursor: Cursor, found: Match[str]) -> Point:
    return Point(number=(cursor.place(found), found[0]))


def _three(cursor: Cursor, found: Match[str]) -> Point:
    return Point(number=(cursor.place(found), "3"))


def _era(cursor: Cursor, found: Match[str]) -> Point:
    era = "F" if "F" in found[0] else "E"
    return Point(y=with_era(cursor, cursor.place(found, "n"), era), era=era)


def with_era(cursor: Cursor, place: int, era: str) -> int:
    """Return the place of the astronomical year of a number before or after Christ."""
    return cursor.builder.step(plans.before_christ if era == "E" else plans.after_christ, place)


def _decade(cursor: Cursor, found: Match[str]) -> Point:
    place = cursor.place(found, "s")
    if found["s"] == "H":
        part = cursor.place(found, "q") if found["q"] else None
        return Point(hundreds=place, part=part)
    if found["s"] == "Y":
        place = cursor.builder.step(plans.decade_of, place)
    if found["q"]:
        return Point(span=parted(place, cursor.place(found, "q"), cursor))
    return Point(decade=place)


def _short_decade(cursor: Cursor, found: Match[str]) -> Point:
    return Point(number=(cursor.place(found), "s"))


def _century(cursor: Cursor, found: Match[str]) -> Point:
    era = found["e"] or ""
    part = cursor.place(found, "q") if found["q"] else None
    first = found["o"] == "1"
    span = century(cursor, cursor.place(found, "o"), first=first, part=part, era=era)
    return Point(span=span, era=era, century=cursor.place(found, "o"), first_century=first)


def _ordinal(cursor: Cursor, found: Match[str]) -> Point:
    part = cursor.place(found, "q") if found["q"] else None
    return Point(ordinal=cursor.place(found, "o"), part=part, first_century=found["o"] == "1")


def _part_alone(cursor: Cursor, found: Match[str]) -> Point:
    return Point(part=cursor.place(found))


def _part_of_year(cursor: Cursor, found: Match[str]) -> Point:
    return Point(y=cursor.place(found, "y"), part=cursor.place(found, "q"))


def _double(cursor: Cursor, found: Match[str]) -> Point:
    raise StuckError(
        "a year with a slash may be one year in two calendars (Old and New Style), or two"
    )


_DIVISION = {"h": "2", "x": "3", "g": "4"}


def _fraction(cursor: Cursor, found: Match[str]) -> Point:
    if found["o"] == "1":
        raise StuckError(UNCLEAR)  # the first century has no year 0
    parts, era = _DIVISION[found["f"]], found["e"] or ""
    place = -1 if found["n"] == "L" else cursor.place(found, "n")
    mask = cursor.builder.step(plans.century, cursor.place(found, "o"))
    low = cursor.builder.step(plans.fraction, mask, place, parts, "0", era)
    high = cursor.builder.step(plans.fraction, mask, place, parts, "1", era)
    return Point(span=within(Simple((low,)), Simple((high,))))


def _season(cursor: Cursor, found: Match[str]) -> Point:
    return Point(y=cursor.place(found, "y"), season=cursor.place(found, "n"))


def _season_alone(cursor: Cursor, found: Match[str]) -> Point:
    return Point(season=cursor.place(found))


def season(cursor: Cursor, name: int, year: int) -> Span:
    """Return a season of a year; whether it goes over New Year is known only with its value."""
    policy = cursor.policy.seasons or ""
    cursor.builder.note(f"seasons = {policy}" if policy else NORTHERN)
    place = cursor.builder.step(_season_text, name, year, policy)
    return date(Simple((place,)))


def _season_text(values: list[str], name: int, year: int, policy: str) -> str:
    code, y = int(values[name]), values[year]
    south, begins, ends = "south" in policy, "begins" in policy, "ends" in policy
    over_new_year = code == (22 if south else 24)
    if over_new_year and not begins and not ends:
        before, after = int(y) - 1, int(y) + 1
        raise StuckError(
            f"this season of {y} may be that of {before} to {y} or of {y} to {after}; "
            "`seasons` in [dates] decides"
        )
    if not policy:
        return f"{y}-{code}"
    shift = -1 if over_new_year and ends else 0
    return f"{int(y) + shift:04}-{code + (8 if south else 4)}"


def _numeric(cursor: Cursor, found: Match[str]) -> Point:
    """Return a date of numbers alone, day and month first."""
    one, two, y = (cursor.place(found, name) for name in ("one", "two", "y"))
    year = y
    if found["y"] != "Y":
        start = cursor.policy.two_digit_years
        if start is None:
            raise StuckError(
                f"`{{{one}}}/{{{two}}}/{{{y}}}` has a year of two digits; `two_digit_years` in "
                "[dates] says of which hundred"
            )
        year = cursor.builder.step(plans.two_digit_year, y, str(start))
        cursor.builder.note(f"two_digit_years = {start}: the year is ", year)
    if found["one"] == "b" and found["two"] == "b":
        raise StuckError(UNCLEAR)
    if found["one"] == "b" or found["two"] == "b":
        day_first = found["one"] == "b"
    elif cursor.policy.day_first is None:
        same = cursor.builder.step(plans.same_number, one, two, year)
        return Point(y=year, m=same, d=same)
    else:
        day_first = cursor.policy.day_first
        cursor.builder.note(f"day_first = {str(day_first).lower()}")
    return Point(y=year, m=two if day_first else one, d=one if day_first else two)


_NOT_DATED = r"(?![-–](?:M[abd]?+|[abd]),?Y)"
_CENTURY = r"(?P<o>[O1])-?[JCc](?P<e>[EF]?)"

FORMS: list[tuple[str, Form]] = [
    (r"(?P<y>Y)(?P<s>[-/.])(?P<m>[ad])(?P=s)(?P<d>[abd])(?![-/.][abde])", _ymd),
    (r"(?P<y>Y)(?P<s>[-/])(?P<m>[ad])(?P=s)0", _ymd),
    (r"(?P<y>Y)(?P<s>[-/])0(?P=s)0", _ymd),
    (r"Y/[de]M|M[abd]?,?Y/[de](?![abdeY])", _double),
    (r"(?P<m>[ad])/(?P<y>Y)", _ymd),
    (r"(?P<one>[abd])(?P<s>[-/.])(?P<two>[abd])(?P=s)(?P<y>Y|[abe0])(?![-/.]?[abdeY])", _numeric),
    (r"(?P<y>Y)(?P<m>M)(?P<d>[abdO1]?)(?![abdeJ])", _year_month),
    (rf"(?P<y>Y)[,;](?P<m>M)(?P<d>[abdO1]?+)(?![,]?Y){_NOT_DATED}", _year_month),
    (r"(?P<m>M)(?P<d>[abdO1]?)(?P<y>Y)(?!/[ad])", _ymd),
    (r"(?P<m>M)(?P<d>[abdO1]?),(?P<y>Y)(?!/[ad]|M)", _month_year),
    (r"(?P<d>[abdO1])(?P<m>M),?(?P<y>Y)", _ymd),
    (r"(?P<d>[abdO1])(?P<m>M)", _ymd),
    (r"(?P<m>M)(?P<d>[abdO1]?)(?![abde3])", _ymd),
    (r"(?P<n>N),?(?P<y>Y)", _season),
    (r"(?P<y>Y),?(?P<n>N)", _season),
    (r"N", _season_alone),
    (rf"(?P<n>[O1xL])(?P<f>[hgx])-?{_CENTURY}", _fraction),
    (rf"(?P<q>q?)[-–]?{_CENTURY}", _century),
    (r"(?P<q>q?)[-–]?(?P<s>[SXH])D?", _decade),
    (r"(?P<q>q?)D(?P<s>Y)", _decade),
    (r"(?P<y>Q)", _ymd),
    (r"(?P<q>q)[-–]?(?P<y>Y)(?![EF])", _part_of_year),
    (r"(?P<q>q?)[-–]?(?P<o>[O1])", _ordinal),
    (r"q[-–]?(?=[t–-])", _part_alone),
    (r"(?P<n>[Y3abde])[EF]", _era),
    (r"F(?P<n>[Y3abde])", _era),
    (r"(?P<y>Y)", _ymd),
    (r"3", _three),
    (r"s", _short_decade),
    (r"[abde]", _number),
]
