"""A case: some claims about linked things, made into a network of events by the rules.

The rules are those of weighing.md, by number. A case is built anew for every set of claims and
rows that is looked at, so that what a set means never depends on what was asked before.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from lodpipe.records import Claim
from lodpipe.weigh.grounds import Ground, ground_of_claim
from lodpipe.weigh.model import (
    DATED,
    EVENTS,
    EXPOSURE,
    LINKS,
    MADE_BY,
    PRINT,
    Model,
)
from lodpipe.weigh.network import Edge, Limit, Network
from lodpipe.weigh.sequence import knots
from lodpipe.weigh.spans import NEVER, without
from lodpipe.weigh.when import claimed

Active = Callable[[Ground], bool]
POST_MORTEM = "post-mortem"


@dataclass(frozen=True, slots=True)
class Shape:
    """What things are, taken for granted in a case: sitters of copies and composites bind nothing.

    Fewer claims must never bind more; so this is settled once, by all claims of the case.
    """

    copies: frozenset[str]
    composites: frozenset[str]
    groups: frozenset[str]


def shape_of(claims: Iterable[Claim]) -> Shape:
    """Return which things the claims call copies, composites, or pictures of several sitters."""
    claims = [claim for claim in claims if claim.value]
    sitters = Counter(claim.about for claim in claims if claim.aspect == "sitter")
    return Shape(
        frozenset(claim.about for claim in claims if claim.aspect == "copy_of"),
        frozenset(claim.about for claim in claims if claim.aspect == "composed_of"),
        frozenset(thing for thing, count in sitters.items() if count > 1),
    )


def everything(_: Ground) -> bool:
    """Count every row."""
    return True


class Case:
    """The network of some things under some claims.

    Args:
        things: all things whose events are to be in it. `claims`: those that are to hold.
        shape: what the things are, by default by these claims.
        tested: key of the claim that is weighed: a date with `?` bounds nothing, unless it is the
            one in question.
        active: which rows of the evidence count.
    """

    def __init__(
        self,
        model: Model,
        things: Sequence[str],
        claims: Sequence[Claim],
        *,
        shape: Shape | None = None,
        tested: str = "",
        active: Active = everything,
    ) -> None:
        self.model, self.claims, self.tested, self.active = model, claims, tested, active
        self.shape = shape or shape_of(claims)
        self.first = {thing: 4 * number for number, thing in enumerate(things)}
        self.network = Network(4 * len(self.first))
        for first in self.first.values():  # rule 1
            for step in range(3):
                self.network.edges.append(Edge(first + step, first + step + 1, 0, None))
        self.sessions = _Sessions(claims)
        self.borrows_sitters = any(claim.aspect == "same_sitter_as" for claim in claims)
        self._places: defaultdict[str, list[Claim]] = defaultdict(list)
        self._people: defaultdict[str, list[Claim]] = defaultdict(list)
        for claim in claims:  # by the session of their things
            if claim.aspect == "place" and claim.value:
                self._places[self.sessions.root(claim.about)].append(claim)
            elif self.model.binds(claim) and self.bound_to_place(claim):
                self._people[self.sessions.root(claim.about)].append(claim)
        for claim in claims:
            for edge in self.edges_of(claim):
                self.network.edges.append(edge)
        for claim in claims:
            for limit in self.limits_of(claim):
                self.network.limit(limit)
        self._places_against_people()

    def index(self, thing: str, event: str) -> int:
        """Return the number that an event of a thing has in the network."""
        return self.first[thing] + EVENTS.index(event)

    def holds(self) -> bool:
        """Return whether all claims of the case can hold together."""
        return self.network.solve() and not self.strict_circle()

    def strict_circle(self) -> bool:
        """Return whether an order that is strict leads back to itself: A before B before A.

        Days alone do not show it, since several exposures may have one day.
        """
        strict = [edge for edge in self.network.edges if edge.strict]
        if not strict:
            return False
        links: dict[int, list[int]] = {}
        for edge in self.network.edges:
            if edge.high is None:
                links.setdefault(edge.x, []).append(edge.y)
        part = knots(links)
        return any(part[edge.x] == part[edge.y] for edge in strict)

    # --- single claims -------------------------------------------------------------------

    def edges_of(self, claim: Claim) -> Iterable[Edge]:
        """Yield what a claim that links two things says of the order of their events."""
        if claim.aspect not in LINKS or not claim.value or claim.value not in self.first:
            return
        grounds = (ground_of_claim(claim),)
        mine = self.index(claim.about, LINKS[claim.aspect])
        other = self.index(claim.value, EXPOSURE)
        match claim.aspect:  # rule 5
            case "copy_of":
                if "print" in claim.part.lower():
                    other = self.index(claim.value, PRINT)
                yield Edge(other, mine, 0, None, grounds)
            case "printed_from" | "composed_of":
                if claim.aspect == "composed_of":
                    other = self.index(claim.value, PRINT)
                yield Edge(other, mine, 0, None, grounds)
            case "same_session_as":
                days = self.model.window(claim)
                yield Edge(other, mine, -days, days, grounds)
            case "earlier_than":
                yield Edge(mine, other, 0, None, grounds, strict=True)
            case "later_than":
                yield Edge(other, mine, 0, None, grounds, strict=True)

    def limits_of(self, claim: Claim) -> Iterable[Limit]:
        """Yield what a claim by itself leaves of the days of an event.

        Only the limits that follow from the shape of the case; the claim need not be in it.
        """
        grounds = (ground_of_claim(claim),)
        if not claim.value:
            return
        if claim.aspect in DATED:
            days = claimed(claim.value, self.model.circa_years, claim.key != self.tested)
            yield Limit(self.index(claim.about, DATED[claim.aspect]), days, grounds)
        elif claim.aspect in MADE_BY:  # rule 4
            days, rows = self.model.in_use(claim.value)
            if rows and all(map(self.active, rows)):
                event = self.index(claim.about, MADE_BY[claim.aspect])
                yield Limit(event, days, (*grounds, *rows))
        elif claim.aspect == "depicts":
            if self._shows_its_own_time(claim.about):
                days, rows = self.model.stood(claim.value)
                if rows and all(map(self.active, rows)):
                    event = self.index(claim.about, EXPOSURE)
                    yield Limit(event, days, (*grounds, *rows))
        elif self.model.binds(claim):
            yield from self._lives(claim, claim.about, grounds)
        elif claim.aspect == "same_sitter_as":
            yield from self._same_sitter(claim, grounds)

    def _shows_its_own_time(self, thing: str) -> bool:
        """Return whether what is seen in a thing was there when it was exposed."""
        return thing not in self.shape.copies and thing not in self.shape.composites

    def _lives(self, claim: Claim, thing: str, grounds: tuple[Ground, ...]) -> Iterable[Limit]:
        """Rule 2: a maker of the exposure and a sitter live at the exposure."""
        if claim.aspect == "sitter" and (
            POST_MORTEM in claim.part.lower() or not self._shows_its_own_time(thing)
        ):
            return
        rows = self.model.presence.life_grounds(claim.value)
        if rows and all(map(self.active, rows)):
            life = self.model.presence.life(claim.value)
            yield Limit(self.index(thing, EXPOSURE), life, (*grounds, *rows))

    def _same_sitter(self, claim: Claim, grounds: tuple[Ground, ...]) -> Iterable[Limit]:
        """Yield what follows when another picture's only known sitter is in this one too."""
        for here, there in ((claim.about, claim.value), (claim.value, claim.about)):
            if there in self.shape.groups or here not in self.first:
                continue
            for known in self.claims:
                if known.about == there and self._sits(known):
                    rows = (*grounds, ground_of_claim(known))
                    yield from self._lives(known, here, rows)

    def _sits(self, claim: Claim) -> bool:
        return claim.aspect == "sitter" and self.model.binds(claim)

    # --- claims with one another ---------------------------------------------------------

    def _places_against_people(self) -> None:
        """Rule 3: who was surely elsewhere than the claimed place cannot have been there."""
        for root, places in self._places.items():
            for number, place in enumerate(places):
                for claim in self._people.get(root, ()):
                    limit = self.meeting(claim, place)
                    if limit:
                        self.network.limit(limit)
                for other in places[number + 1 :]:
                    self._one_place(place, other)

    def bound_to_place(self, claim: Claim) -> bool:
        """Return whether somebody was there, when: the sitter of a copy need not have been."""
        return claim.aspect == "maker" or self._shows_its_own_time(claim.about)

    def places_of(self, thing: str) -> Sequence[Claim]:
        """Return the claims on where a thing, or another of its session, was exposed."""
        return self._places.get(self.sessions.root(thing), ())

    def people_of(self, thing: str) -> Sequence[Claim]:
        """Return the claims on who was there when a thing, or its session, was exposed."""
        return self._people.get(self.sessions.root(thing), ())

    def meeting(self, claim: Claim, place: Claim) -> Limit | None:
        """Return what the whereabouts of a person leave of an exposure at a place."""
        pieces = self.model.presence.closing(claim.value, place.value)
        if self.active is not everything:
            pieces = tuple(piece for piece in pieces if all(map(self.active, piece[1])))
        if not pieces:
            return None
        if self.active is everything:
            shut = self.model.presence.closed(claim.value, place.value)
        else:
            shut = self.model.presence.closed(claim.value, place.value, self.active)
        grounds = (
            ground_of_claim(claim),
            ground_of_claim(place),
            *self.sessions.path(claim.about, place.about),
        )
        return Limit(self.index(claim.about, EXPOSURE), without(shut), grounds, pieces)

    def _one_place(self, place: Claim, other: Claim) -> None:
        """Rule 5: what was exposed in one session was exposed at one place."""
        if place.about != other.about and not self.model.geography.agree(place.value, other.value):
            grounds = (
                ground_of_claim(place),
                ground_of_claim(other),
                *self.sessions.path(place.about, other.about),
            )
            self.network.limit(Limit(self.index(place.about, EXPOSURE), NEVER, grounds))


_Ways = dict[str, tuple[str, Ground] | None]
"""From each thing of a session the one before it on the way, and the claim that joins them."""


class _Sessions:
    """Which things were exposed in one session, and the claims that say so."""

    def __init__(self, claims: Iterable[Claim]) -> None:
        self._links: defaultdict[str, list[tuple[str, Ground]]] = defaultdict(list)
        self._root: dict[str, str] = {}
        self._came: dict[str, _Ways] = {}
        for claim in claims:
            if claim.aspect == "same_session_as" and claim.value:
                ground = ground_of_claim(claim)
                self._links[claim.about].append((claim.value, ground))
                self._links[claim.value].append((claim.about, ground))
        for thing in self._links:
            if thing not in self._root:
                waiting = [thing]
                while waiting:
                    one = waiting.pop()
                    if one not in self._root:
                        self._root[one] = thing
                        waiting.extend(other for other, _ in self._links[one])

    def root(self, thing: str) -> str:
        """Return the thing that stands for the session of a thing, itself when it has none."""
        return self._root.get(thing, thing)

    def among(self, thing: str) -> bool:
        """Return whether a thing belongs to a session."""
        return thing in self._root

    def path(self, start: str, end: str) -> tuple[Ground, ...]:
        """Return the fewest claims that put two things into one session."""
        if start == end:
            return ()
        if start not in self._came:
            self._came[start] = self._ways(start)
        came = self._came[start]
        found = []
        step = came[end]
        while step:
            found.append(step[1])
            step = came[step[0]]
        return tuple(found)

    def _ways(self, start: str) -> _Ways:
        came: _Ways = {start: None}
        waiting = [start]
        for one in waiting:
            for other, ground in self._links[one]:
                if other not in came:
                    came[other] = (one, ground)
                    waiting.append(other)
        return came
