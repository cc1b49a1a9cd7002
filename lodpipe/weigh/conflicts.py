"""Smallest sets of rows that cannot all hold: why a claim is contradicted.

A set is found by taking rows away from the last to the first and keeping the few without which
the rest could hold (a deletion filter). Instead of trying every row, the last one that matters is
looked for by halving, which takes away the same rows. Further sets are found by doing without one
member of a set that was found (the tree of hitting sets: R. Reiter, "A theory of diagnosis from
first principles", Artificial Intelligence 32, 1987, from memory).
"""

from collections import deque
from collections.abc import Callable, Sequence

from lodpipe.records import Claim
from lodpipe.weigh.case import Case, Shape
from lodpipe.weigh.grounds import Ground, ground_of_claim
from lodpipe.weigh.model import Model

MOST_SETS = 3
MOST_TRIES = 24

Holds = Callable[[frozenset[Ground]], bool]


class Question:
    """Whether a set of rows can hold, for some claims about some things."""

    def __init__(
        self,
        model: Model,
        things: Sequence[str],
        claims: Sequence[Claim],
        shape: Shape,
        tested: str,
    ) -> None:
        self._model, self._things, self._shape = model, things, shape
        self._claims = [(ground_of_claim(claim), claim) for claim in claims]
        self._tested = tested
        self._known: dict[frozenset[Ground], bool] = {}
        case = self._case(None)
        rows = {ground for ground, _ in self._claims}
        for limit in case.network.limits:
            rows.update(limit.grounds)
            rows.update(row for _, grounds in limit.pieces for row in grounds)
        self.rows: tuple[Ground, ...] = tuple(sorted(rows))

    def holds(self, rows: frozenset[Ground]) -> bool:
        """Return whether these rows can all hold."""
        if rows not in self._known:
            self._known[rows] = self._case(rows).holds()
        return self._known[rows]

    def _case(self, rows: frozenset[Ground] | None) -> Case:
        claims = [claim for ground, claim in self._claims if rows is None or ground in rows]
        return Case(
            self._model,
            self._things,
            claims,
            shape=self._shape,
            tested=self._tested,
            active=(lambda ground: True) if rows is None else rows.__contains__,
        )


def smallest(rows: Sequence[Ground], kept: frozenset[Ground], holds: Holds) -> frozenset[Ground]:
    """Return a smallest set that cannot hold: `kept` and as few of `rows` as it takes.

    Args:
        rows: in order, without those of `kept`; all of them with `kept` cannot hold.

    >>> cannot = lambda found: not found >= {1, 3}
    >>> sorted(smallest((1, 2, 3, 4), frozenset(), cannot))
    [1, 3]
    """
    found = kept
    end = len(rows)
    while holds(found):
        low, high = 1, end  # the fewest rows from the start that suffice lie in low..high
        while low < high:
            middle = (low + high) // 2
            if holds(found | set(rows[:middle])):
                low = middle + 1
            else:
                high = middle
        found = found | {rows[low - 1]}
        end = low - 1
    return found


def sets_with(row: Ground, rows: Sequence[Ground], holds: Holds) -> list[tuple[Ground, ...]]:
    """Return smallest sets that cannot hold and of which a row is a member, at most three.

    They come smallest first, then by file and row of their members. There is none when the
    others cannot hold without it in every way, or all can hold with it.
    """
    must = frozenset((row,))
    found: set[frozenset[Ground]] = set()
    seen = {frozenset[Ground]()}
    waiting: deque[frozenset[Ground]] = deque(seen)
    tries = 0
    while waiting and tries < MOST_TRIES:
        out = waiting.popleft()
        tries += 1
        left = [other for other in rows if other != row and other not in out]
        if holds(must | set(left)):
            continue
        members = smallest(left, must, holds)
        if holds(members - must):
            found.add(members)
        for member in sorted(members - must, reverse=True):
            more = out | {member}
            if more not in seen:
                seen.add(more)
                waiting.append(more)
    ordered = sorted((tuple(sorted(members)) for members in found), key=lambda m: (len(m), m))
    return ordered[:MOST_SETS]
