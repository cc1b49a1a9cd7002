"""Ranges, alternatives and bounds in a shape, and what neighbours lend one another.

In `1862 January 3 - February 28` the second point takes its year from the first, in `August -
September 1941` the first from the second, in `1875-8` the second its first digits. Points are
read first and completed afterwards.
"""

from dataclasses import dataclass

from lodpipe.dates import plans
from lodpipe.dates.plans import StuckError
from lodpipe.dates.points import UNCLEAR, Cursor, century, finish, marks, point, with_era
from lodpipe.dates.spans import (
    OPEN,
    UNKNOWN_END,
    Point,
    Simple,
    Span,
    alternatives,
    between,
    date,
    interval,
    within,
)

ONE, RANGE, SLASH, OR = "one", "range", "slash", "or"
FROM, UNTIL, BETWEEN, ONWARDS, UNKNOWN = "from", "until", "between", "onwards", "unknown"
BEFORE, AFTER = "before", "after"

_YEAR_MONTH = (
    "`{{{y}}}-{{{n}}}` may be month {{{n}}} of {{{y}}} or a range of years that ends in {{{n}}}; "
    "`year_month = true` (a month) or `false` in [dates] decides"
)


@dataclass(slots=True)
class End:
    """A point, or a choice of points, with what bounds it: `before`, `after` or nothing."""

    points: list[Point]
    choice: str = ONE
    bound: str = ""


@dataclass(slots=True)
class Item:
    """One date or range as it stands: one end or two, and how they belong together."""

    ends: list[End]
    relation: str = ONE
    mark: int = 0
    dash: str = ""

    @property
    def points(self) -> list[Point]:
        """All its points, in order."""
        return [p for entry in self.ends for p in entry.points]


_BOUNDS = (
    (r"T[BR]V?", AFTER),  # not before, no earlier than
    (r"T[Al]V?", BEFORE),  # not after, no later than
    (r"B[-–]?t?", BEFORE),
    (r"y", BEFORE),
    (r"A[-–]?", AFTER),
)
_TAILS = (
    (r",?[r&]?l|,?[r&]A", AFTER),  # or later, and after
    (r",?[r&][BR]|R", BEFORE),  # or before, or earlier
)
_RELATIONS = ((r"w", BETWEEN), (r"f", FROM), (r"t", UNTIL))
_OPEN_ENDS = (
    (r"[-–]?G|[-–]+(?=$|[,;&)])", ONWARDS),
    (r"[-–t][U?](?=$|[,;&)])", UNKNOWN),
)


def item(cursor: Cursor) -> Item:
    """Read one date, range or choice with its marks."""
    made = Item([], mark=marks(cursor))
    for pattern, relation in _RELATIONS:
        if cursor.take(pattern):
            made.relation = relation
            made.ends.append(end(cursor))
            break
    if made.relation == BETWEEN:
        if not cursor.take("[&t–-]"):
            raise StuckError(UNCLEAR)
        made.ends.append(end(cursor))
    elif made.relation == FROM:
        if cursor.take(r"[t–-](?=.)"):
            made.ends.append(end(cursor))
        else:
            cursor.take("l")
    elif made.relation == ONE:
        if cursor.take(r"[-–](?=.)"):
            raise StuckError(
                "a year after a dash may be BCE, or the end of a range without its start"
            )
        made.ends.append(end(cursor))
        _to(cursor, made)
    if cursor.life:  # about before the years of a life holds for the first year alone
        for one in made.ends[0].points:
            one.mark |= made.mark
        made.mark = 0
    return made


def end(cursor: Cursor) -> End:
    """Read one end of a range, or a date alone: a point, a choice of points, a bounded point.

    In the years of a life a slash parts two years of which one is meant.
    """
    before = marks(cursor)
    made = End([])
    for pattern, bound in _BOUNDS:
        if cursor.take(pattern):
            made.bound = bound
            break
    made.points.append(point(cursor))
    while not made.bound and cursor.take(r",?r(?=[^lABR])"):
        made.choice = OR
        made.points.append(point(cursor))
    if cursor.life and made.choice == ONE and not made.bound and cursor.take("/"):
        made.choice = SLASH
        made.points.append(point(cursor))
    for pattern, bound in _TAILS:
        if not made.bound and cursor.take(pattern):
            made.bound = bound
    for one in made.points:
        one.mark |= before
    return made


def _to(cursor: Cursor, made: Item) -> None:
    """Read what follows the first end: the second, or that there is none."""
    for pattern, relation in _OPEN_ENDS:
        if cursor.take(pattern):
            made.relation = relation
            return
    if cursor.match(r"[-–t]P"):
        _present(cursor, made)
        return
    dash = cursor.take(r"[-–/]t?(?![cp?]*[vIj])|t")
    if not dash:
        return
    made.relation = SLASH if dash[0] == "/" else RANGE
    made.dash = dash[0]
    made.ends.append(end(cursor))
    if made.ends[1].points[0].about_behind:  # 1903-1904 ca.
        made.mark |= 2
    if made.ends[1].choice == OR:
        raise StuckError("`or` after a range may belong to its end or to the whole range")
    left, right = made.ends[0].points[-1], made.ends[1].points[0]
    if left.y is None and left.d is not None and right.number and right.number[1] in "abd":
        year = cursor.take(r",?(Y)")  # June 9-11, 1953
        if year:
            left.y = cursor.place(year, 1)


def _present(cursor: Cursor, made: Item) -> None:
    present = cursor.policy.present
    if present is None:
        raise StuckError(
            "`present` is the day of writing, which the text does not say, or an open end; "
            "`present` in [dates] decides"
        )
    cursor.at += 2
    cursor.builder.note(f"present = {present}")
    if present == "open":
        made.relation = ONWARDS
    else:
        made.relation = RANGE
        made.ends.append(End([Point(span=date(Simple((present,))))]))


# What points lend one another.


def complete(items: list[Item], cursor: Cursor) -> None:
    """Give each point what it lacks, from the one before it, else from the one after it."""
    if not cursor.year_first:
        _shared_year(items)
    flat = [(entry, p) for entry in items for p in entry.points]
    for number in range(1, len(flat)):
        entry, here = flat[number]
        within_item = flat[number - 1][0] is entry
        _from_before(here, flat[number - 1][1], entry, within_item, cursor)
    for number in range(len(flat) - 2, -1, -1):
        _from_after(flat[number][1], flat[number + 1][1], cursor)


def _shared_year(items: list[Item]) -> None:
    """Give a year that stands last to what is before it: `May 17 & 18, 1914`, `May, c. 1914`."""
    for number in range(len(items) - 1, 0, -1):
        alone, before = items[number].points, items[number - 1].points[-1]
        year = alone[0]
        if len(alone) > 1 or year.y is None or year.m is not None or year.season is not None:
            continue
        lacks_year = before.m is not None and before.y is None
        if not lacks_year and (before.number is None or before.number[1] not in "abd"):
            continue
        items[number - 1].mark |= items[number].mark | year.mark
        for entry in reversed(items[:number]):
            for one in entry.points:
                if one.m is not None and one.y is None:
                    one.y = year.y
        if any(one.m is not None and one.y == year.y for e in items[:number] for one in e.points):
            del items[number]


def _from_before(here: Point, before: Point, entry: Item, inside: bool, cursor: Cursor) -> None:
    if (here.m is not None or here.season is not None) and here.y is None:
        here.y = before.y
    if here.number is None:
        return
    place, letter = here.number
    if letter in "abd" and before.d is not None:
        here.d, here.m, here.y, here.number = place, before.m, before.y, None
    elif letter in "abde" and before.y is not None and before.m is None and not before.era:
        if before.part is None and (inside or letter == "e"):
            _elided(here, before.y, entry, place, letter, cursor)
    elif letter == "s":
        base = before.y if before.decade is None else before.decade
        if base is not None:
            here.decade = cursor.builder.step(plans.elided_decade, base, place)
            here.number = None
    elif letter == "3" and before.number and before.number[1] == "3" and inside:
        here.y = with_era(cursor, place, "F")
        before.y, before.number = with_era(cursor, before.number[0], "F"), None
        here.number = None
    elif before.era == "F" and letter in "3abde":
        here.y, here.number = with_era(cursor, place, "F"), None


def _elided(here: Point, year: int, entry: Item, place: int, letter: str, cursor: Cursor) -> None:
    """Complete the end of a year range whose first digits are left out."""
    if letter == "a" and entry.dash in ("-", "/") and not entry.mark:
        chosen = cursor.policy.year_month
        if chosen is None:
            raise StuckError(_YEAR_MONTH.format(y=year, n=place))
        cursor.builder.note(f"year_month = {str(chosen).lower()}")
        if chosen:
            entry.ends.pop()
            entry.relation = ONE
            entry.points[0].m = place
            return
    digits = "1" if letter == "d" else "2"
    here.y, here.number = cursor.builder.step(plans.elided, year, place, digits), None


def _from_after(here: Point, after: Point, cursor: Cursor) -> None:
    if (here.m is not None or here.season is not None) and here.y is None:
        here.y = after.y
    if here.number is not None and here.number[1] in "abd" and after.d is not None:
        here.d, here.m, here.y, here.number = here.number[0], after.m, after.y, None
    if here.number is not None and after.era and after.y is not None:
        here.y, here.number = with_era(cursor, here.number[0], after.era), None
        here.era = after.era
    elif here.y is not None and here.m is None and not here.era and after.era == "E":
        here.y, here.era = with_era(cursor, here.y, "E"), "E"
    if after.century is None or here.span is not None:
        return
    if here.ordinal is not None or (here.part is not None and here.y is None):
        own = here.ordinal if here.ordinal is not None else after.century
        first = here.first_century if here.ordinal is not None else after.first_century
        here.span = century(cursor, own, first=first, part=here.part, era=after.era)
        here.century, here.first_century, here.era = own, first, after.era


# From points to a span.


def span(entry: Item, cursor: Cursor) -> Span:
    """Return what an item means; its points must be complete.

    A mark before a range holds for both ends.
    """
    _settle_hundreds(entry, cursor)
    spans = [end_span(one, cursor) for one in entry.ends]
    return _related(entry, spans, cursor).marked(entry.mark)


def end_span(entry: End, cursor: Cursor) -> Span:
    """Return what one end of a range means."""
    spans = [finish(p, cursor) for p in entry.points]
    low, high = spans[0].members[0][0], spans[-1].members[-1][1]
    if entry.bound == BEFORE:
        return within(None, high)
    if entry.bound == AFTER:
        return within(low, None)
    if entry.choice == SLASH:
        return within(low, high)
    return alternatives(spans) if entry.choice == OR else spans[0]


def _related(entry: Item, spans: list[Span], cursor: Cursor) -> Span:
    first, last = spans[0], spans[-1]
    low, high = first.members[0][0], last.members[-1][1]
    if entry.relation == BETWEEN:
        return within(low, high)
    if entry.relation in (ONWARDS, UNKNOWN) or (entry.relation == FROM and len(spans) == 1):
        missing = UNKNOWN_END if entry.relation == UNKNOWN else OPEN
        return interval(first.simple, None, missing) if first.simple else within(low, None)
    if entry.relation == UNTIL:
        return interval(None, first.simple) if first.simple else within(None, high)
    if entry.relation == ONE:
        return first
    if entry.relation == SLASH:
        _no_double_date(entry, cursor)
    return between(first, last)


def _no_double_date(entry: Item, cursor: Cursor) -> None:
    one, two = entry.points[0], entry.points[-1]
    if one.y is not None and two.y is not None and one.m is None and two.m is None:
        cursor.builder.step(plans.no_double_date, one.y, two.y)


def _settle_hundreds(entry: Item, cursor: Cursor) -> None:
    """Read `1900s` beside a decade as the decade, where only one of the two can be meant.

    As the end of a range that starts with another decade it is a decade; as the start of a range
    the first year is the same either way, so only that is kept.
    """
    if entry.relation != RANGE or [len(one.points) for one in entry.ends] != [1, 1]:
        return
    left, right = entry.points
    if right.hundreds is not None and right.part is None and left.decade is not None:
        right.decade, right.hundreds = right.hundreds, None
    if left.hundreds is not None and left.part is None and right.hundreds is None:
        year = Simple((cursor.builder.step(plans.first_year, left.hundreds),))
        left.span = within(year, year)
        left.hundreds = None
