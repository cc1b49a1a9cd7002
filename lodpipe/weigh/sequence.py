"""What came before what, without days: circles, and the shortest list that says it all.

Partial orders as stratigraphers draw them, E. C. Harris, "Principles of Archaeological
Stratigraphy" (1989): of "A before B, B before C, A before C" the last says nothing new.
"""

from collections.abc import Hashable, Iterable, Mapping
from typing import TypeVar

N = TypeVar("N", bound=Hashable)


def circle(links: Mapping[N, Iterable[N]]) -> tuple[N, ...]:
    """Return one circle of a directed graph, empty when there is none.

    >>> circle({1: [2], 2: [3], 3: [1]})
    (1, 2, 3)
    """
    done: set[N] = set()
    for start in links:
        if start in done:
            continue
        path: list[N] = []
        on_path: set[N] = set()
        waiting: list[tuple[N, bool]] = [(start, True)]
        while waiting:
            node, entering = waiting.pop()
            if not entering:
                on_path.discard(path.pop())
                done.add(node)
            elif node in on_path:
                return tuple(path[path.index(node) :])
            elif node not in done:
                path.append(node)
                on_path.add(node)
                waiting.append((node, False))
                waiting.extend((other, True) for other in links.get(node, ()))
    return ()


def knots(links: Mapping[N, Iterable[N]]) -> dict[N, int]:
    """Return a number for each node: two have the same one if each can be reached from the other.

    Two passes, the second against the links in the order in which the first was done with them
    (S. R. Kosaraju, from memory); linear in nodes and links.

    >>> knots({1: [2], 2: [3], 3: [2]})
    {1: 0, 2: 1, 3: 1}
    """
    back: dict[N, list[N]] = {}
    done: dict[N, None] = {}
    seen: set[N] = set()
    for start in links:
        waiting = [(start, True)]
        while waiting:
            node, entering = waiting.pop()
            if not entering:
                done[node] = None
            elif node not in seen:
                seen.add(node)
                waiting.append((node, False))
                for other in links.get(node, ()):
                    back.setdefault(other, []).append(node)
                    waiting.append((other, True))
    found: dict[N, int] = {}
    for number, start in enumerate(reversed(done)):
        left = [start]
        while left:
            node = left.pop()
            if node not in found:
                found[node] = number
                left.extend(other for other in back.get(node, ()) if other not in found)
    return found


def closure(links: Mapping[N, Iterable[N]]) -> dict[N, set[N]]:
    """Return everything that can be reached from each node by one link or more."""
    found: dict[N, set[N]] = {}
    for start in links:
        reached: set[N] = set()
        waiting = list(links[start])
        while waiting:
            node = waiting.pop()
            if node not in reached:
                reached.add(node)
                waiting.extend(links.get(node, ()))
        found[start] = reached
    return found


def reduction(links: Mapping[N, Iterable[N]]) -> dict[N, set[N]]:
    """Return the fewest links of a graph without circles that reach the same.

    >>> reduction({"a": ["b", "c"], "b": ["c"]})
    {'a': {'b'}, 'b': {'c'}}
    """
    reached = closure(links)
    return {
        node: {
            other
            for other in others
            if not any(other in reached.get(third, ()) for third in set(others) - {other})
        }
        for node, others in ((node, set(others)) for node, others in links.items())
    }
