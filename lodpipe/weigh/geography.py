"""Which places agree with one another: the same, one in the other, or said to be near.

Places are background, not evidence that a conflict can name: a missing row would make more
places disagree, not fewer.
"""

from collections.abc import Iterable

from lodpipe.evidence.facts import Location


class Geography:
    """The places of a project, by IRI. Circles of places (reported elsewhere) do no harm."""

    def __init__(self, places: Iterable[Location]) -> None:
        self._within: dict[str, set[str]] = {}
        self._near: set[tuple[str, str]] = set()
        for place in places:
            self._within.setdefault(place.key, set()).update(place.within)
            for other in place.near:
                self._near.update(((place.key, other), (other, place.key)))
        self._above: dict[str, frozenset[str]] = {}

    def above(self, place: str) -> frozenset[str]:
        """Return all places that contain a place."""
        if place not in self._above:
            found: set[str] = set()
            waiting = [place]
            while waiting:
                more = self._within.get(waiting.pop(), set()) - found
                found |= more
                waiting.extend(more)
            self._above[place] = frozenset(found - {place})
        return self._above[place]

    def inside(self, place: str, other: str) -> bool:
        """Return whether a place is another one or lies in it."""
        return place == other or other in self.above(place)

    def agree(self, one: str, other: str) -> bool:
        """Return whether somebody at one place may be said to be at the other."""
        return self.inside(one, other) or self.inside(other, one) or (one, other) in self._near
