"""Events as points in time: which days each can have, given bounds on days and on differences.

Each event has a set of days, with holes; two events have bounds on their difference. Taking away
days without support until nothing changes decides whether all can hold at once: such bounds keep
the later and the earlier of two solutions, so the latest days left are a solution themselves.
What is left of one event is exact as well while every difference is an order or an equality; with
other windows each piece between two bounds is tried (`feasible`).
"""

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from lodpipe.weigh.distances import nearest
from lodpipe.weigh.grounds import Ground
from lodpipe.weigh.sequence import circle
from lodpipe.weigh.spans import ALWAYS, MAX, MIN, Spans, both, dilated, shifted, without

Piece = tuple[Spans, tuple[Ground, ...]]
"""Days that are shut, and the rows that shut them."""


@dataclass(frozen=True, slots=True)
class Edge:
    """`low` <= day of y - day of x <= `high`; None for no upper bound. `strict`: x came first."""

    x: int
    y: int
    low: int
    high: int | None
    grounds: tuple[Ground, ...] = ()
    strict: bool = False


@dataclass(frozen=True, slots=True)
class Limit:
    """What one claim makes of one event: the days that it leaves, and what shuts the others.

    Attributes:
        grounds: the rows of the claim itself. `pieces`: further rows that each shut some days;
            empty when the days that are shut follow from `grounds` alone.
    """

    event: int
    days: Spans
    grounds: tuple[Ground, ...]
    pieces: tuple[Piece, ...] = ()


class Network:
    """Events 0 to count - 1, what limits each, and what binds them to one another."""

    def __init__(self, count: int) -> None:
        self.days: list[Spans] = [ALWAYS] * count
        self.limits: list[Limit] = []
        self.edges: list[Edge] = []
        self.plain: bool | None = None  # what `_plain` found; the edges do not change after that
        self.touching: list[list[int]] | None = None
        self._exact: dict[int, tuple[Spans, Spans]] = {}

    def limit(self, limit: Limit) -> None:
        """Take days away from one event."""
        self.limits.append(limit)
        self.days[limit.event] = both(self.days[limit.event], limit.days)

    def solve(self) -> bool:
        """Take away every day without support; return whether all events keep a day."""
        days = self.days
        if not all(days):
            return False
        return self._propagate(range(len(self.edges)))

    def _propagate(self, edges: Iterable[int]) -> bool:
        """Take away days without support, starting from some edges, by number."""
        days, touching = self.days, self._touching()
        waiting = deque(edges)
        queued = set(waiting)
        while waiting:
            number = waiting.popleft()
            queued.discard(number)
            for event, new in _narrowed(self.edges[number], days):
                if new != days[event]:
                    days[event] = new
                    if not new:
                        return False
                    for other in touching[event]:
                        if other not in queued:
                            queued.add(other)
                            waiting.append(other)
        return True

    def _touching(self) -> list[list[int]]:
        """Return the numbers of the edges at each event; they do not change once it is solved."""
        if self.touching is None:
            self.touching = [[] for _ in self.days]
            for number, edge in enumerate(self.edges):
                self.touching[edge.x].append(number)
                self.touching[edge.y].append(number)
        return self.touching

    def feasible(self, event: int) -> Spans:
        """Return exactly the days that an event can have; the network must have been solved."""
        if self.plain is None:
            self.plain = self._plain()
        if self.plain:
            return self.days[event]
        left = self.days[event]
        if event not in self._exact or self._exact[event][0] != left:
            self._exact[event] = left, self._tried(event)
        return self._exact[event][1]

    def _tried(self, event: int) -> Spans:
        most, least = self._distances(event)
        # bounds without holes leave a convex set of solutions, and no day of it is without one
        if all(len(self.days[other]) == 1 for other in (*most, *least)):
            return self.days[event]
        found: list[tuple[int, int]] = []
        for low, high in self._pieces(event, most, least):
            trial = Network(0)
            trial.days = list(self.days)
            trial.edges, trial.touching = self.edges, self._touching()
            # feasibility is the same all over a piece, so one day of it decides
            day = low if low != MIN else high
            trial.days[event] = ((day, day),) if day != MAX else ((low, high),)
            if trial._propagate(trial.touching[event]):
                found.append((low, high))
        return _joined(found)

    def _plain(self) -> bool:
        """Return whether every difference is an equality, or an order without circles.

        Then any day that is left of an event goes with the latest days of what must follow it and
        the earliest of what must precede it.
        """
        if not any(edge.grounds for edge in self.edges):
            return True  # the events of single things, one after the other
        same = list(range(len(self.days)))

        def root(event: int) -> int:
            while same[event] != event:
                event = same[event]
            return event

        for edge in self.edges:
            if edge.high == edge.low == 0:
                same[root(edge.x)] = root(edge.y)
            elif edge.high is not None:
                return False
        links: dict[int, set[int]] = {}
        for edge in self.edges:
            x, y = root(edge.x), root(edge.y)
            if edge.high is None and (x != y or edge.low > 0):
                links.setdefault(x, set()).add(y)
        return not circle(links)

    def _pieces(
        self, event: int, most: Mapping[int, int], least: Mapping[int, int]
    ) -> Iterable[tuple[int, int]]:
        """Yield the days left, cut wherever a bound of another event may begin or end to tell."""
        cuts: set[int] = set()
        for other, far in least.items():
            cuts.update(high + far + 1 for _, high in self.days[other] if high != MAX)
        for other, far in most.items():
            cuts.update(low - far for low, _ in self.days[other] if low != MIN)
        ordered = sorted(cuts)
        for low, high in self.days[event]:
            start = low
            for cut in ordered:
                if start < cut <= high:
                    yield start, cut - 1
                    start = cut
            yield start, high

    def _distances(self, event: int) -> tuple[dict[int, int], dict[int, int]]:
        """Return how long after an event each other can be at most, and how long before it."""
        after: dict[int, list[tuple[int, int]]] = {}
        before: dict[int, list[tuple[int, int]]] = {}
        for edge in self.edges:
            for x, y, far in ((edge.y, edge.x, -edge.low), (edge.x, edge.y, edge.high)):
                if far is not None:
                    after.setdefault(x, []).append((y, far))
                    before.setdefault(y, []).append((x, far))
        return nearest(event, after), nearest(event, before)

    def why(self, event: int, *, latest: bool) -> tuple[Ground, ...]:
        """Return the rows that shut all days before the first (after the last) day of an event."""
        return tuple(sorted(set(self._why(event, latest, frozenset()))))

    def _why(self, event: int, latest: bool, seen: frozenset[int]) -> Iterable[Ground]:
        """Cover the days beyond the end with what shuts them, the widest first."""
        if not self.days[event]:
            return
        end = self.days[event][-1][1] if latest else self.days[event][0][0]
        if end in (MIN, MAX):
            return
        shut = list(self._shut(event, latest, seen | {event}))
        day = MAX if latest else MIN
        while (day > end) if latest else (day < end):
            reach, grounds = day, None
            for spans, rows in shut:
                for low, high in spans:
                    if low <= day <= high and (
                        grounds is None or ((low < reach) if latest else (high > reach))
                    ):
                        reach, grounds = (low if latest else high), rows
            if grounds is None:  # shut by a window between events: no single row says it
                return
            yield from grounds
            day = reach - 1 if latest else reach + 1

    def _shut(self, event: int, latest: bool, seen: frozenset[int]) -> Iterable[Piece]:
        for limit in self.limits:
            if limit.event == event:
                if limit.pieces:
                    for spans, grounds in limit.pieces:
                        yield spans, (*limit.grounds, *grounds)
                else:
                    yield without(limit.days), limit.grounds
        for edge in self.edges:
            for other, bound in _bound(edge, event, self.days, latest):
                if other not in seen and bound not in (MIN, MAX):
                    spans = ((bound + 1, MAX),) if latest else ((MIN, bound - 1),)
                    yield spans, (*edge.grounds, *self._why(other, latest, seen))


def _narrowed(edge: Edge, days: Sequence[Spans]) -> Iterable[tuple[int, Spans]]:
    """Yield what an edge leaves of its two events."""
    x, y = days[edge.x], days[edge.y]
    if edge.high is None:
        first = shifted(x[0][0], edge.low)
        if y[0][0] < first:
            y = both(y, ((first, MAX),))
            yield edge.y, y
        if y and x[-1][1] > (last := shifted(y[-1][1], -edge.low)):
            yield edge.x, both(x, ((MIN, last),))
        return
    y = both(y, dilated(x, edge.low, edge.high))
    yield edge.y, y
    yield edge.x, both(x, dilated(y, -edge.high, -edge.low))


def _bound(
    edge: Edge, event: int, days: Sequence[Spans], latest: bool
) -> Iterable[tuple[int, int]]:
    """Yield the event at the other end of an edge, and the bound that follows from its days."""
    if edge.y == event and days[edge.x]:
        if not latest:
            yield edge.x, shifted(days[edge.x][0][0], edge.low)
        elif edge.high is not None:
            yield edge.x, shifted(days[edge.x][-1][1], edge.high)
    if edge.x == event and days[edge.y]:
        if latest:
            yield edge.y, shifted(days[edge.y][-1][1], -edge.low)
        elif edge.high is not None:
            yield edge.y, shifted(days[edge.y][0][0], -edge.high)


def _joined(pairs: Sequence[tuple[int, int]]) -> Spans:
    found: list[tuple[int, int]] = []
    for low, high in pairs:
        if found and found[-1][1] + 1 == low:
            found[-1] = (found[-1][0], high)
        else:
            found.append((low, high))
    return tuple(found)
