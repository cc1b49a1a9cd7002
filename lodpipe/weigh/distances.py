"""Simple temporal networks: the minimal network of bounds on differences.

Dechter, Meiri and Pearl, "Temporal constraint networks", Artificial Intelligence 49 (1991): a set
of bounds on differences is consistent if and only if its distance graph has no negative cycle,
and the shortest paths of that graph are the tightest bounds.
"""

from collections.abc import Iterable, Mapping, Sequence
from heapq import heappop, heappush

INFINITE = 10**12

Bound = tuple[int, int, int]
"""(x, y, most): y - x is at most `most`."""


def minimal(count: int, bounds: Iterable[Bound]) -> list[list[int]] | None:
    """Return the matrix of the tightest bounds, None when they cannot all hold.

    Args:
        count: number of points, 0 to count - 1. `bounds`: on their differences.

    Returns:
        `matrix[x][y]` is the most that y - x can be, INFINITE for no bound.

    >>> minimal(2, [(0, 1, 20), (1, 0, -10)])
    [[0, 20], [-10, 0]]
    """
    matrix = [[0 if x == y else INFINITE for y in range(count)] for x in range(count)]
    for x, y, most in bounds:
        matrix[x][y] = min(matrix[x][y], most)
    for middle in range(count):
        through = matrix[middle]
        for row in matrix:
            first = row[middle]
            if first == INFINITE:
                continue
            for y in range(count):
                if through[y] != INFINITE and first + through[y] < row[y]:
                    row[y] = first + through[y]
    if any(matrix[point][point] < 0 for point in range(count)):
        return None
    return matrix


def nearest(start: int, links: Mapping[int, Sequence[tuple[int, int]]]) -> dict[int, int]:
    """Return the tightest bound from one point to each that has one, when no bound is negative.

    >>> nearest(0, {0: [(1, 5), (2, 1)], 2: [(1, 2)]})
    {0: 0, 2: 1, 1: 3}
    """
    found: dict[int, int] = {}
    waiting = [(0, start)]
    while waiting:
        far, point = heappop(waiting)
        if point not in found:
            found[point] = far
            for other, more in links.get(point, ()):
                if other not in found:
                    heappush(waiting, (far + more, other))
    return found
