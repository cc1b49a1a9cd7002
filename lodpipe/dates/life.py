"""From the shape of the years of a life to the plan that reads every text of that shape.

A life is an interval from birth to death. Where an end is itself a choice (`1767 or 8-1847`,
`1515 - 1565 or after`), EDTF has no interval for it, and birth and death are handed on as two
events, each with its own date. Years of activity are never taken for those of a life.
"""

import re

from lodpipe.dates.grammar import NO_DATE, event_item, prepare, unread
from lodpipe.dates.items import ONE, OR, RANGE, Item, complete, item, span
from lodpipe.dates.plans import Builder, Piece, Plan, Stuck, template
from lodpipe.dates.points import UNCLEAR, Cursor, marks
from lodpipe.dates.results import Policy
from lodpipe.dates.spans import UNKNOWN_END, Span, interval, within

ONE_YEAR = "one year alone may be that of birth, of death or of activity"

Dated = tuple[tuple[Piece, ...], Span]


def plan(letters: str, policy: Policy) -> Plan:
    """Return the plan for the shape of a life; one that cannot be read has the reason in it."""
    builder = Builder(len(letters))
    shape, places = prepare(letters, builder)
    if not shape or re.fullmatch(r"un?|U|Tn", shape):
        return Plan(reason=NO_DATE, undated=True)
    try:
        return _composed(Cursor(shape, places, builder, policy))
    except Stuck as error:
        return unread(letters, error)


def _composed(cursor: Cursor) -> Plan:
    _places(cursor)
    birth, death, whole = _life(cursor)
    events: list[Dated] = []
    while not cursor.done:
        cursor.take(r"[,;–-]+")
        if not cursor.match(r"[cp?]*v"):
            raise Stuck(UNCLEAR)
        words, entry = event_item(cursor)
        if entry is None:
            raise Stuck(UNCLEAR)
        complete([entry], cursor)
        events.append((words, span(entry, cursor, life=True)))
    if whole is not None:
        if events:
            raise Stuck(UNCLEAR)
        return _plan(cursor, [((), whole)], events=False)
    joined = _joined(birth, death)
    if joined is not None and not events:
        return _plan(cursor, [((), joined)], events=False)
    ends: list[Dated] = [(("born",), birth)] if birth else []
    if death:
        ends.append((("died",), death))
    if not ends and not events:
        raise Stuck(UNCLEAR)
    return _plan(cursor, [*ends, *events], events=True)


def _plan(cursor: Cursor, dated: list[Dated], *, events: bool) -> Plan:
    dates = tuple((template(words or ("",)), template(made.pieces())) for words, made in dated)
    builder = cursor.builder
    return Plan(tuple(builder.steps), dates, tuple(builder.notes), events)


def _places(cursor: Cursor) -> None:
    """Read the words of nationality and place in front, and keep them in the notes."""
    words: list[Piece] = []
    while found := cursor.take(r"\(\?\)|\??[o](?=[^o])?|b(?=o)|\((?=o)|(?<=o)\)|(?<=[o)?])[,/&–-]+"):
        if found[0] in ("(", ")", ",") or found[0][0] in "(),/&–-":
            continue
        place = cursor.places[found.end() - 1]
        words.extend((" ", place) if words else (place,))
    if words:
        cursor.builder.note(*words)


def _life(cursor: Cursor) -> tuple[Span | None, Span | None, Span | None]:
    """Read birth and death, or what else stands for the whole life."""
    if cursor.match(r"[cp?]*v"):
        return None, None, None
    if cursor.take("j"):
        return None, _one_end(cursor), None
    if cursor.take("b"):
        birth = _one_end(cursor)
        return birth, _one_end(cursor) if cursor.take(r"[,;–-]*j") else None, None
    if cursor.take(r"[-–](?=.)"):
        return None, _one_end(cursor), None
    entry = item(cursor)
    complete([entry], cursor)
    if entry.bound or entry.relation not in (RANGE, OR, ONE):
        return _with_choice(entry, cursor)
    if entry.relation != RANGE:
        if entry.relation == ONE and entry.points[0].y is None:
            return None, None, _unit(entry, cursor)
        return _with_choice(entry, cursor)
    if not entry.closed:
        left = _single(entry, 0, cursor, entry.mark)
        if left.simple and entry.missing != UNKNOWN_END:
            return None, None, interval(left.simple, None)
        return left, None, None
    left, right = _single(entry, 0, cursor, entry.mark), _single(entry, 1, cursor, 0)
    if entry.points[0].y is None or entry.points[1].y is None:
        raise Stuck(ONE_YEAR)
    if cursor.take(r"/"):
        raise Stuck(UNCLEAR)
    return left, right, None


def _single(entry: Item, number: int, cursor: Cursor, mark: int) -> Span:
    return span(Item([entry.points[number]]), cursor, life=True).marked(mark)


def _unit(entry: Item, cursor: Cursor) -> Span:
    made = span(entry, cursor, life=True)
    cursor.builder.note("no year of birth or death")
    return made


def _with_choice(entry: Item, cursor: Cursor) -> tuple[Span | None, Span | None, Span | None]:
    """Read a life whose birth is a choice; a dash and the death must follow."""
    birth = span(entry, cursor, life=True)
    if cursor.take(r"[-–](?=.)"):
        return birth, _one_end(cursor), None
    raise Stuck(ONE_YEAR)


def _one_end(cursor: Cursor) -> Span:
    """Read one year of birth or death, which may be a choice."""
    mark = marks(cursor)
    entry = item(cursor)
    entry.mark |= mark
    complete([entry], cursor)
    if not entry.closed:
        if entry.points[0].y is None:
            raise Stuck(UNCLEAR)
        return span(Item(entry.points, mark=entry.mark), cursor, life=True)
    if entry.relation == RANGE and not entry.bound:
        low, high = span(entry, cursor).members[0]
        return within(low, high)
    return span(entry, cursor, life=True)


def _joined(birth: Span | None, death: Span | None) -> Span | None:
    """Return birth and death as one interval, where EDTF has one."""
    ends = [end.simple if end else None for end in (birth, death)]
    if (birth and not ends[0]) or (death and not ends[1]) or not (birth or death):
        return None
    return interval(ends[0], ends[1], UNKNOWN_END)
