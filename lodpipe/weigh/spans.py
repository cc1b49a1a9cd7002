"""Sets of days as sorted intervals: what is feasible may have holes (away and back).

A set is a tuple of pairs (first day, last day), both ends included, in order, neither touching
nor overlapping. `MIN` and `MAX` stand for no bound: day numbers far outside every calendar.
"""

from collections.abc import Iterable

MIN, MAX = -(10**9), 10**9

Spans = tuple[tuple[int, int], ...]

NEVER: Spans = ()
ALWAYS: Spans = ((MIN, MAX),)


def spans_of(pairs: Iterable[tuple[int, int]]) -> Spans:
    """Return the set of all days of some intervals, in any order; those that end first are empty.

    >>> spans_of([(5, 7), (1, 2), (3, 4), (9, 8)])
    ((1, 7),)
    """
    found: list[tuple[int, int]] = []
    for low, high in sorted(pairs):
        if low > high:
            continue
        if found and low <= found[-1][1] + 1:
            if high > found[-1][1]:
                found[-1] = (found[-1][0], high)
        else:
            found.append((low, high))
    return tuple(found)


def union(*sets: Spans) -> Spans:
    """Return the days that lie in any of the sets."""
    return spans_of(pair for spans in sets for pair in spans)


def both(one: Spans, other: Spans) -> Spans:
    """Return the days that lie in both sets.

    >>> both(((1, 5), (8, 9)), ((4, 8),))
    ((4, 5), (8, 8))
    """
    if one == ALWAYS:
        return other
    if other == ALWAYS:
        return one
    found = []
    i = j = 0
    while i < len(one) and j < len(other):
        low = max(one[i][0], other[j][0])
        high = min(one[i][1], other[j][1])
        if low <= high:
            found.append((low, high))
        if one[i][1] < other[j][1]:
            i += 1
        else:
            j += 1
    return tuple(found)


def without(spans: Spans) -> Spans:
    """Return the days that do not lie in a set.

    >>> without(((1, 5),)) == ((MIN, 0), (6, MAX))
    True
    """
    found = []
    start = MIN
    for low, high in spans:
        if low > start:
            found.append((start, low - 1))
        start = high + 1
    if start <= MAX:
        found.append((start, MAX))
    return tuple(found)


def minus(one: Spans, other: Spans) -> Spans:
    """Return the days of one set that do not lie in the other."""
    return both(one, without(other)) if other else one


def dilated(spans: Spans, low: int, high: int) -> Spans:
    """Return the days that lie from `low` to `high` days after some day of a set.

    >>> dilated(((1, 2), (10, 11)), 0, 3)
    ((1, 5), (10, 14))
    """
    return spans_of((shifted(first, low), shifted(last, high)) for first, last in spans)


def shifted(day: int, by: int) -> int:
    """Return a day moved by some days; no bound stays no bound."""
    return day if day in (MIN, MAX) else day + by


def days_in(spans: Spans) -> int | None:
    """Return how many days a set has, None when it has no bound."""
    if spans and (spans[0][0] == MIN or spans[-1][1] == MAX):
        return None
    return sum(high - low + 1 for low, high in spans)
