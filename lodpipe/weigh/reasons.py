"""Why an event cannot have a day: the rows that shut the days beyond its first and its last."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from weakref import proxy

from lodpipe.weigh.grounds import Ground
from lodpipe.weigh.spans import MAX, MIN, Spans, shifted, without

if TYPE_CHECKING:
    from lodpipe.weigh.network import Edge, Limit, Network


@dataclass(frozen=True, slots=True)
class Shut:
    """Days that an event cannot have: by rows, or by what the end of another event leaves."""

    days: Spans
    grounds: tuple[Ground, ...]
    other: int | None = None


class Reasons:
    """Finds the rows behind the ends of the events of one network.

    Args:
        wider: those of the same network before some events were limited further. What explains
            the end of another event is the same in both, as it never rests on the event asked of.
        limited: these events.
    """

    def __init__(
        self,
        network: "Network",
        wider: "Reasons | None" = None,
        limited: Collection[int] = (),
    ) -> None:
        # weak, so that what is weighed is let go of at once: there are as many networks as claims
        self._network: Network = proxy(network)
        self._wider, self._limited = wider, limited
        self._known: dict[tuple[int, bool], Sequence[Shut]] = {}
        self._at: dict[int, list[Limit]] | None = None

    def of(self, event: int, latest: bool) -> tuple[Ground, ...]:
        """Return the rows that shut all days before the first (after the last) day of an event."""
        found: set[Ground] = set()
        path: set[int] = set()  # what is being explained explains nothing
        done: set[int] = set()
        waiting = [(event, True)]
        while waiting:
            one, entering = waiting.pop()
            if not entering:
                path.discard(one)
            elif one not in done:
                done.add(one)
                path.add(one)
                waiting.append((one, False))
                for shut in self._covering(one, latest, path):
                    found.update(shut.grounds)
                    if shut.other is not None:
                        waiting.append((shut.other, True))
        return tuple(sorted(found))

    def _covering(self, event: int, latest: bool, path: Collection[int]) -> Sequence[Shut]:
        if self._wider and event not in self._limited:
            return self._wider._covering(event, latest, path)
        key = (event, latest)
        if key not in self._known:
            self._known[key] = self._cover(event, latest, (event,))
        known = self._known[key]
        if any(shut.other in path for shut in known):
            return self._cover(event, latest, path)
        return known

    def _cover(self, event: int, latest: bool, path: Collection[int]) -> Sequence[Shut]:
        """Cover the days beyond the end with what shuts them, the widest first."""
        days = self._network.days[event]
        end = (days[-1][1] if latest else days[0][0]) if days else MIN
        if end in (MIN, MAX):
            return ()
        shut = [one for one in self._shut(event, latest) if one.other not in path]
        found: list[Shut] = []
        day = MAX if latest else MIN
        while (day > end) if latest else (day < end):
            reach, chosen = day, None
            for one in shut:
                for low, high in one.days:
                    if low <= day <= high and (
                        chosen is None or ((low < reach) if latest else (high > reach))
                    ):
                        reach, chosen = (low if latest else high), one
            if chosen is None:  # shut by a window between events: no single row says it
                break
            found.append(chosen)
            day = reach - 1 if latest else reach + 1
        return found

    def _shut(self, event: int, latest: bool) -> Iterable[Shut]:
        for limit in self._limits_of(event):
            if limit.pieces:
                for spans, grounds in limit.pieces:
                    yield Shut(spans, (*limit.grounds, *grounds))
            else:
                yield Shut(without(limit.days), limit.grounds)
        for edge in self._network.edges_at(event):
            for other, bound in _bound(edge, event, self._network.days, latest):
                if bound not in (MIN, MAX):
                    spans = ((bound + 1, MAX),) if latest else ((MIN, bound - 1),)
                    yield Shut(spans, edge.grounds, other)

    def _limits_of(self, event: int) -> Iterable["Limit"]:
        if self._wider:
            return (limit for limit in self._network.limits if limit.event == event)
        if self._at is None:
            self._at = {}
            for limit in self._network.limits:
                self._at.setdefault(limit.event, []).append(limit)
        return self._at.get(event, ())


def _bound(
    edge: "Edge", event: int, days: Sequence[Spans], latest: bool
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
