"""From the shape of the years of a life to the plan that reads every text of that shape.

A life is an interval from birth to death. Where an end is itself a choice (`1767 or 8-1847`,
`1515 - 1565 or after`), EDTF has no interval for it, and birth and death are handed on as two
events, each with its own date. Years of activity are never taken for those of a life.
"""

import re

from lodpipe.dates.grammar import NO_DATE, event_item, prepare, unread
from lodpipe.dates.items import End, Item, complete, end, end_span, span
from lodpipe.dates.plans import Builder, Piece, Plan, StuckError, template
from lodpipe.dates.points import UNCLEAR, Cursor
from lodpipe.dates.results import Policy
from lodpipe.dates.spans import OPEN, UNKNOWN_END, Span, between, interval

ONE_YEAR = "one year alone may be that of birth, of death or of activity"

Dated = tuple[tuple[Piece, ...], Span]


def plan(letters: str, policy: Policy) -> Plan:
    """Return the plan for the shape of a life; one that cannot be read has the reason in it."""
    builder = Builder(len(letters))
    shape, places = prepare(letters, builder)
    if not shape or re.fullmatch(r"un?|U|Tn", shape):
        return Plan(reason=NO_DATE, undated=True)
    try:
        return _composed(Cursor(shape, places, builder, policy, life=True))
    except StuckError as error:
        return unread(letters, error)


def _composed(cursor: Cursor) -> Plan:
    _places(cursor)
    if cursor.match(r"[cp?]*v"):
        return _plan(cursor, _events(cursor), events=True)
    ends, missing = _ends(cursor)
    birth, death = (_year(one, cursor) if one else None for one in ends)
    if cursor.done:
        whole = _whole(birth, death, missing, ends)
        if whole is not None:
            return _plan(cursor, [((), whole)], events=False)
    named: list[Dated] = [(("born",), birth)] if birth else []
    if death:
        named.append((("died",), death))
    if any(one and not _dated(one) for one in ends):
        raise StuckError(UNCLEAR)
    return _plan(cursor, [*named, *_events(cursor)], events=True)


def _events(cursor: Cursor) -> list[Dated]:
    found: list[Dated] = []
    while not cursor.done:
        cursor.take(r"[,;–-]+")
        if cursor.match("I"):
            raise StuckError("several persons")
        if found and cursor.take("j"):
            found.append((("died",), end_span(_completed(end(cursor), cursor), cursor)))
            continue
        if not cursor.match(r"[cp?]*v"):
            raise StuckError(UNCLEAR)
        words, entry = event_item(cursor)
        if entry is None:
            raise StuckError(UNCLEAR)
        complete([entry], cursor)
        found.append((words, span(entry, cursor)))
    return found


def _plan(cursor: Cursor, dated: list[Dated], *, events: bool) -> Plan:
    dates = tuple((template(words or ("",)), template(made.pieces())) for words, made in dated)
    builder = cursor.builder
    return Plan(tuple(builder.steps), dates, tuple(builder.notes), events)


def _places(cursor: Cursor) -> None:
    """Read the words of nationality and place in front, and keep them in the notes."""
    words: list[Piece] = []
    while found := cursor.take(
        r"o|U(?=,)|I(?=o)|[()]|(?<=o)\?(?=[,)vI])|(?<=[oU)?])[,/&–-]+|n(?=o)"
    ):
        if found[0][0] in "(),/&–-?":
            continue
        place = cursor.places[found.end() - 1]
        words.extend((" ", place) if words else (place,))
    if words:
        cursor.builder.note(*words)


def _ends(cursor: Cursor) -> tuple[tuple[End | None, End | None], str]:
    """Read birth and death, and what stands for the one that is not there."""
    if cursor.take("j"):
        return (None, _completed(end(cursor), cursor)), UNKNOWN_END
    if cursor.take("I"):
        birth = _completed(end(cursor), cursor)
        died = cursor.take(r"[,;–-]*j")
        return (birth, _completed(end(cursor), cursor) if died else None), UNKNOWN_END
    if cursor.take(r"[-–](?=.)"):
        return (None, _completed(end(cursor), cursor)), UNKNOWN_END
    birth = end(cursor)
    if cursor.take(r"[-–]U"):
        return (_completed(birth, cursor), None), UNKNOWN_END
    if cursor.take(r"[-–]?G|[-–]+$"):
        return (_completed(birth, cursor), None), OPEN
    if not cursor.take(r"[-–t]"):
        complete([Item([birth])], cursor)
        if birth.points[0].span is None or not cursor.done:
            raise StuckError(ONE_YEAR)
        return (birth, None), ""
    death = end(cursor)
    complete([Item([birth, death])], cursor)
    return (birth, death), UNKNOWN_END


def _completed(one: End, cursor: Cursor) -> End:
    complete([Item([one])], cursor)
    if not _dated(one):
        raise StuckError(UNCLEAR)
    return one


def _dated(one: End) -> bool:
    """Return whether an end has a year or a decade, and so stands for a birth or a death."""
    return one.points[0].y is not None or one.points[0].decade is not None


def _year(one: End, cursor: Cursor) -> Span:
    return end_span(one, cursor)


def _whole(
    birth: Span | None, death: Span | None, missing: str, ends: tuple[End | None, End | None]
) -> Span | None:
    """Return birth and death as one interval, where EDTF has one; centuries as they stand."""
    if birth and ends[0] and not _dated(ends[0]):
        return between(birth, death) if death else birth
    simple = [made.simple if made else None for made in (birth, death)]
    if (birth and not simple[0]) or (death and not simple[1]):
        return None
    return interval(simple[0], simple[1], missing)
