"""Events as points in time: which days each can have, given bounds on days and on differences.

Each event has a set of days, with holes; two events have bounds on their difference. Taking away
days without support until nothing changes decides whether all can hold at once: such bounds keep
the later and the earlier of two solutions, so the latest days left are a solution themselves.
What is left of one event is exact as well in most networks (`_is_exact`); in the others each piece
between two bounds is tried (`_tried`).
"""

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from lodpipe.weigh.distances import nearest
from lodpipe.weigh.grounds import Ground
from lodpipe.weigh.reasons import Reasons
from lodpipe.weigh.sequence import circle
from lodpipe.weigh.spans import ALWAYS, MAX, MIN, Spans, both, dilated, shifted

Steps = dict[int, list[tuple[int, int]]]
"""From each event to others, and how many days that can be."""

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
        self.touching: list[list[int]] | None = None  # the edges do not change after that
        self._exact: dict[int, Spans] = {}
        self._inexact: dict[int, tuple[Steps, Steps]] = {}
        self._reasons = Reasons(self)

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
        if event not in self._exact and event not in self._inexact:
            part = self._part(event)
            if self._is_exact(part):
                self._exact.update((other, self.days[other]) for other in part)
            else:
                self._inexact.update(dict.fromkeys(part, self._steps(part)))
        if event not in self._exact:
            self._exact[event] = self._tried(event)
        return self._exact[event]

    def narrowed(self, limits: Sequence[Limit]) -> "Network":
        """Return a solved network with more limits, exact for the events that they limit.

        What limits no other event needs no new solving, since the days of one event are exact;
        those of other events are not looked at again.
        """
        if not limits:
            return self
        network = Network(0)
        network.days, network.edges = list(self.days), self.edges
        network.touching = self._touching()
        network.limits = [*self.limits, *limits]
        events = {limit.event for limit in limits}
        for event in events:
            network.days[event] = self.feasible(event)
        for limit in limits:
            network.days[limit.event] = both(network.days[limit.event], limit.days)
            network._exact[limit.event] = network.days[limit.event]
        network._reasons = Reasons(network, self._reasons, events)
        return network

    def _part(self, event: int) -> list[int]:
        """Return the events that edges lead to from an event, itself among them."""
        touching = self._touching()
        found, seen = [event], {event}
        for one in found:
            for number in touching[one]:
                edge = self.edges[number]
                other = edge.y if edge.x == one else edge.x
                if other not in seen:
                    seen.add(other)
                    found.append(other)
        return found

    def _is_exact(self, part: Sequence[int]) -> bool:
        """Return whether the days left of linked events are all exact.

        They are where no set of days has a hole: then the solutions are a convex set. They are
        where the edges make no circle, whichever way they point (E. C. Freuder, "A sufficient
        condition for backtrack-free search", Journal of the ACM 29, 1982, from memory). And they
        are where every difference is an equality, or an order without circles: then any day that
        is left goes with the latest days of what must follow and the earliest of what precedes.
        """
        if all(len(self.days[event]) == 1 for event in part):
            return True
        touching = self._touching()
        ends = sum(len(touching[event]) for event in part)  # each edge has two
        if ends == 2 * (len(part) - 1):
            return True
        numbers = {number for event in part for number in touching[event]}
        return self._plain([self.edges[number] for number in numbers])

    def _plain(self, edges: Iterable[Edge]) -> bool:
        """Return whether every difference is an equality, or an order without circles."""
        same: dict[int, int] = {}

        def root(event: int) -> int:
            while same.get(event, event) != event:
                event = same[event]
            return event

        edges = list(edges)
        for edge in edges:
            if edge.high == edge.low == 0:
                same[root(edge.x)] = root(edge.y)
            elif edge.high is not None:
                return False
        links: dict[int, set[int]] = {}
        for edge in edges:
            x, y = root(edge.x), root(edge.y)
            if edge.high is None and (x != y or edge.low > 0):
                links.setdefault(x, set()).add(y)
        return not circle(links)

    def _tried(self, event: int) -> Spans:
        after, before = self._inexact[event]
        most, least = nearest(event, after), nearest(event, before)
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

    def _steps(self, part: Sequence[int]) -> tuple[Steps, Steps]:
        """Return how far linked events can lie after one another at most, and how far before."""
        after: Steps = {}
        before: Steps = {}
        touching = self._touching()
        for number in {number for event in part for number in touching[event]}:
            edge = self.edges[number]
            for x, y, far in ((edge.y, edge.x, -edge.low), (edge.x, edge.y, edge.high)):
                if far is not None:
                    after.setdefault(x, []).append((y, far))
                    before.setdefault(y, []).append((x, far))
        return after, before

    def why(self, event: int, *, latest: bool) -> tuple[Ground, ...]:
        """Return the rows that shut all days before the first (after the last) day of an event."""
        return self._reasons.of(event, latest)

    def edges_at(self, event: int) -> Iterable[Edge]:
        """Yield the edges of an event."""
        return (self.edges[number] for number in self._touching()[event])


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


def _joined(pairs: Sequence[tuple[int, int]]) -> Spans:
    found: list[tuple[int, int]] = []
    for low, high in pairs:
        if found and found[-1][1] + 1 == low:
            found[-1] = (found[-1][0], high)
        else:
            found.append((low, high))
    return tuple(found)
