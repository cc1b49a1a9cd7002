"""What a date of the evidence allows and what it makes sure: weighing.md, "What `when` means".

EDTF: https://www.loc.gov/standards/datetime/. Three readings are needed of one date: the days on
which something may have been (`possible`), the days on which it surely was (`definite`), and the
bounds that it sets as the day of one event (`outer`).
"""

from functools import lru_cache

from lodpipe.dates import Edtf, outer_bounds, parse
from lodpipe.weigh.spans import ALWAYS, MAX, MIN, NEVER, Spans, spans_of


def possible(when: Edtf, circa_years: int) -> Spans:
    """Return the days that a date may mean: all from its first to its last, or of each member.

    An end marked `~` or `%` is moved outwards by `circa_years`; an open or unknown end has no
    bound.

    >>> possible(parse("[1872-02-03,1872-02-07]"), 5)
    ((683402, 683402), (683406, 683406))
    """
    if when.form == "one of" or when.form == "all of":
        return spans_of(pair for member in when.members for pair in _member(member, circa_years))
    low, high = outer_bounds(when, circa_years)
    return ((MIN if low is None else low, MAX if high is None else high),)


def _member(member: str, circa_years: int) -> Spans:
    low, dots, high = member.partition("..")
    if not dots:
        return possible(parse(low), circa_years)
    first = possible(parse(low), circa_years)[0][0] if low else MIN
    last = possible(parse(high), circa_years)[-1][1] if high else MAX
    return ((first, last),)


def definite(when: Edtf) -> Spans:
    """Return the days on which something surely went on.

    A day; an interval from the latest start to the earliest end; each day of a set in braces.
    Nothing for a value without `/` that is coarser than a day (some time within), nothing for
    a date with `?`, `~` or `%`, nothing for one of several. `..` goes on without a bound; an
    unknown end makes sure of the last known day only.
    """
    if when.uncertain or when.approximate or when.form == "one of":
        return NEVER
    if when.form == "all of":
        return spans_of(pair for member in when.members for pair in _sure_member(member))
    if when.form == "date":
        if when.earliest is None or when.earliest != when.latest:
            return NEVER
        return ((when.earliest, when.earliest),)
    return _inner(when)


def _inner(when: Edtf) -> Spans:
    start, end = when.latest_start, when.earliest_end
    if when.open_start:
        start = MIN
    if when.open_end:
        end = MAX
    if start is None and end is None:
        return NEVER
    if end is None:  # known to have begun, not known how long it went on
        known = start is not None and start != MIN and start == when.earliest
        return ((start, start),) if known and start is not None else NEVER
    if start is None:
        return ((end, end),) if end == when.latest and end != MAX else NEVER
    return ((start, end),) if start <= end else NEVER


def _sure_member(member: str) -> Spans:
    low, dots, high = member.partition("..")
    if not dots:
        return definite(parse(low))
    first = parse(low).latest_start if low else MIN
    last = parse(high).earliest_end if high else MAX
    assert first is not None
    assert last is not None
    return ((first, last),) if first <= last else NEVER


def outer(when: Edtf | None, circa_years: int) -> Spans:
    """Return the days that bound an event, for a date that may be refuted with: none for `?`.

    What is only supposed (`?`, `%`) refutes nothing, so it bounds nothing.
    """
    if when is None or when.uncertain:
        return ALWAYS
    return possible(when, circa_years)


@lru_cache(maxsize=100_000)
def claimed(text: str, circa_years: int, binding: bool) -> Spans:
    """Return the days of a claim about a date: all that it may mean, or those that bind others."""
    return (outer if binding else possible)(parse(text), circa_years)


@lru_cache(maxsize=100_000)
def is_doubtful(text: str) -> bool:
    """Return whether a date has `?` or `%`."""
    return parse(text).uncertain


def first_day(when: Edtf | None, circa_years: int) -> int:
    """Return the first day that a date may mean, MIN when it sets no bound."""
    return outer(when, circa_years)[0][0]


def last_day(when: Edtf | None, circa_years: int) -> int:
    """Return the last day that a date may mean, MAX when it sets no bound."""
    return outer(when, circa_years)[-1][1]


def trimmed(spans: Spans) -> Spans:
    """Return a stay without its first and last day, on which people travel.

    A stay of one or two days has no other. An end without bound has no last day.

    >>> trimmed(((5, 9), (20, 21)))
    ((6, 8),)
    """
    return spans_of(
        (low if low == MIN else low + 1, high if high == MAX else high - 1) for low, high in spans
    )
