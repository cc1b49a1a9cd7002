"""Ranges, alternatives and bounds in a shape, and what neighbours lend one another.

In `1862 January 3 - February 28` the second point takes its year from the first, in `August -
September 1941` the first from the second, in `1875-8` the second its first digits. Points are
read first and completed afterwards.
"""

from dataclasses import dataclass

from lodpipe.dates import plans
from lodpipe.dates.plans import Stuck
from lodpipe.dates.points import UNCLEAR, Cursor, century, finish, marks, parted, point, with_era
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
BEFORE, AFTER, FROM, UNTIL, BETWEEN = "before", "after", "from", "until", "between"

_YEAR_MONTH = (
    "`{{{y}}}-{{{n}}}` may be month {{{n}}} of {{{y}}} or a range of years that ends in {{{n}}}; "
    "`year_month` in [dates] decides"
)


@dataclass(slots=True)
class Item:
    """One date, range or choice as it stands: its points, and how they belong together."""

    points: list[Point]
    relation: str = ONE
    mark: int = 0
    bound: str = ""
    missing: str = OPEN
    dash: str = ""
    closed: bool = True


_BOUNDS = (
    (r"T[BR]V?", AFTER),  # not before, no earlier than
    (r"T[Al]V?", BEFORE),  # not after, no later than
    (r"B[-–]?t?", BEFORE),
    (r"y", BEFORE),
    (r"A[-–]?", AFTER),
    (r"w", BETWEEN),
    (r"f", FROM),
    (r"t", UNTIL),
)
_TAILS = ((r",?[r&]?l|,?[r&]A", AFTER), (r",?[r&][BR]|R", BEFORE))


def item(cursor: Cursor) -> Item:
    """Read one date, range or choice with its marks."""
    mark = marks(cursor)
    made = Item([], mark=mark)
    cursor.take("r(?=[^lABR])")  # either
    for pattern, bound in _BOUNDS:
        if cursor.take(pattern):
            made.bound = bound
            break
    if not made.bound and cursor.take(r"[-–](?=.)"):
        raise Stuck("a year after a dash may be BCE, or the end of a range without its start")
    made.points.append(point(cursor))
    if made.bound == BETWEEN:
        _second(cursor, made, "[&t–-]")
    elif made.bound == FROM:
        if cursor.take(r"[t–-](?=.)"):
            made.points.append(point(cursor))
        else:
            cursor.take("l")
    elif not made.bound:
        _rest(cursor, made)
    return made


def _second(cursor: Cursor, made: Item, pattern: str) -> None:
    if not cursor.take(pattern):
        raise Stuck(UNCLEAR)
    made.points.append(point(cursor))


def _rest(cursor: Cursor, made: Item) -> None:
    """Read what follows the first point of a range, a choice or an open end."""
    for pattern, bound in _TAILS:
        if cursor.take(pattern):
            made.bound = bound
            return
    while cursor.take(r",?r(?=[^lABR])"):
        made.relation = OR
        made.points.append(point(cursor))
    if cursor.take(r"[-–]?G|[-–]+(?=$|[,;&)])"):
        made.relation, made.closed = RANGE, False
    elif cursor.take(r"[-–t]U"):
        made.relation, made.closed, made.missing = RANGE, False, UNKNOWN_END
    elif cursor.match(r"[-–t]P"):
        _present(cursor, made)
    elif dash := cursor.take(r"[-–/]t?|t"):
        _to(cursor, made, dash[0])


def _present(cursor: Cursor, made: Item) -> None:
    present = cursor.policy.present
    if present is None:
        raise Stuck(
            "`present` is the day of writing, which the text does not say, or an open end; "
            "`present` in [dates] decides"
        )
    cursor.at += 2
    cursor.builder.note(f"present = {present}")
    made.relation = RANGE
    if present == "open":
        made.closed = False
    else:
        made.points.append(Point(span=date(Simple((present,)))))


def _to(cursor: Cursor, made: Item, dash: str) -> None:
    if made.relation == OR:
        raise Stuck(UNCLEAR)
    made.relation = SLASH if dash == "/" else RANGE
    made.dash = dash
    made.points.append(point(cursor))
    left, right = made.points
    if left.y is None and left.d is not None and right.number and right.number[1] in "abd":
        year = cursor.take(r",?(Y)")  # June 9-11, 1953
        if year:
            left.y = cursor.place(year, 1)
    for pattern, bound in _TAILS:
        if cursor.take(pattern):
            made.bound = bound


# What points lend one another.


def complete(items: list[Item], cursor: Cursor) -> None:
    """Give each point what it lacks, from the one before it, else from the one after it."""
    flat = [(entry, p) for entry in items for p in entry.points]
    for number in range(1, len(flat)):
        entry, here = flat[number]
        within_item = flat[number - 1][0] is entry
        _from_before(here, flat[number - 1][1], entry, within_item, cursor)
    for number in range(len(flat) - 2, -1, -1):
        _from_after(flat[number][1], flat[number + 1][1], cursor)


def _from_before(here: Point, before: Point, entry: Item, inside: bool, cursor: Cursor) -> None:
    if here.m is not None and here.y is None:
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


def _elided(
    here: Point, year: int, entry: Item, place: int, letter: str, cursor: Cursor
) -> None:
    """Complete the end of a year range whose first digits are left out."""
    if letter == "a" and entry.dash in ("-", "/") and not entry.mark:
        chosen = cursor.policy.year_month
        if chosen is None:
            raise Stuck(_YEAR_MONTH.format(y=year, n=place))
        cursor.builder.note(f"year_month = {str(chosen).lower()}")
        if chosen:
            entry.points.pop()
            entry.relation = ONE
            entry.points[0].m = place
            return
    digits = "1" if letter == "d" else "2"
    here.y, here.number = cursor.builder.step(plans.elided, year, place, digits), None


def _from_after(here: Point, after: Point, cursor: Cursor) -> None:
    if here.m is not None and here.y is None:
        here.y = after.y
    if here.number is not None and here.number[1] in "abd" and after.d is not None:
        here.d, here.m, here.y, here.number = here.number[0], after.m, after.y, None
    if here.number is not None and after.era and after.y is not None:
        here.y, here.number = with_era(cursor, here.number[0], after.era), None
        here.era = after.era
    elif here.number is not None and here.number[1] == "3" and after.y is not None:
        here.y, here.number = with_era(cursor, here.number[0], "F"), None
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


def span(entry: Item, cursor: Cursor, *, life: bool = False) -> Span:
    """Return what an item means; its points must be complete.

    A mark before a range holds for both ends; before the years of a life, for the first alone.
    """
    return _unmarked(entry, cursor, life).marked(entry.mark, end=not life or entry.relation != RANGE)


def _unmarked(entry: Item, cursor: Cursor, life: bool) -> Span:
    _settle_hundreds(entry)
    spans = [finish(p, cursor) for p in entry.points]
    first = spans[0]
    if entry.bound == BEFORE:
        return within(None, _last(spans))
    if entry.bound == AFTER:
        return within(first.members[0][0], None)
    if entry.bound == BETWEEN:
        return within(first.members[0][0], _last(spans))
    if entry.bound in (FROM, UNTIL):
        return _open(entry, spans)
    if entry.relation == OR:
        return alternatives(spans)
    if entry.relation == ONE:
        return first
    if not entry.closed:
        return interval(first.simple, None, entry.missing) if first.simple else _from_on(first)
    left, right = spans
    if entry.relation == SLASH:
        return _slash(entry, cursor, left, right, life)
    return between(left, right)


def _last(spans: list[Span]) -> Simple | None:
    return spans[-1].members[-1][1]


def _from_on(first: Span) -> Span:
    return within(first.members[0][0], None)


def _open(entry: Item, spans: list[Span]) -> Span:
    if len(spans) == 2:
        return between(*spans)
    simple = spans[0].simple
    if simple is None:
        low, high = spans[0].members[0]
        return within(low, None) if entry.bound == FROM else within(None, high)
    return interval(simple, None) if entry.bound == FROM else interval(None, simple)


def _slash(entry: Item, cursor: Cursor, left: Span, right: Span, life: bool) -> Span:
    """Return two dates with a slash between: a range, in a life one of the years between."""
    one, two = entry.points
    if one.y is not None and two.y is not None and one.m is None and two.m is None and right.simple:
        checked = cursor.builder.step(plans.no_double_date, one.y, two.y)
        right = date(Simple((checked,), right.simple.mark))
    if not life:
        return between(left, right)
    return within(left.members[0][0], _last([right]))


def _settle_hundreds(entry: Item) -> None:
    """Read `1900s` beside a decade as the decade, where only one of the two can be meant.

    As the end of a range that starts with another decade it is a decade; as the start of a range
    the first year is the same either way, so only that is kept.
    """
    if entry.relation != RANGE or len(entry.points) != 2:
        return
    left, right = entry.points
    if right.hundreds is not None and right.part is None and left.decade is not None:
        right.decade, right.hundreds = right.hundreds, None
    if left.hundreds is not None and left.part is None and right.hundreds is None:
        left.span = within(Simple((left.hundreds,)), Simple((left.hundreds,)))
        left.hundreds = None
