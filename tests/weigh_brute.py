"""The rules of weighing as plain questions about days, asked of every day: nothing is inferred.

A world has a calendar of sixteen days in February 1872. Facts lie on the middle ones, sessions
reach four days further, so the first and the last stand for all days before and after. Whether some rows can hold together is found by
trying days for every event of every thing. Nothing here is shared with `lodpipe.weigh`.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, pairwise, product

DAYS = range(16)
FIRST, LAST = DAYS[0], DAYS[-1]
EVENTS = ("exposure", "print", "mount")
Event = tuple[str, str]
"""Thing and event."""

WITHIN = {"hut": {"pass", "valley"}, "pass": {"valley"}}
NEAR = ({"town", "ford"},)
PLACES = ("hut", "pass", "valley", "town", "ford")


def day_text(day: int) -> str:
    return f"1872-02-{day + 5:02}"


@dataclass(frozen=True)
class When:
    """EDTF text, the days that it may mean, those that are sure, and whether it is only supposed."""

    text: str
    possible: frozenset[int]
    sure: frozenset[int]
    supposed: bool = False

    @property
    def bounding(self) -> frozenset[int]:
        """Return the days that may refute something else."""
        return frozenset(DAYS) if self.supposed else self.possible


def when(kind: str, a: int, b: int) -> When:
    """Return a date from day `a` to day `b` of one of the kinds that a source may give."""
    x, y = day_text(a), day_text(b)
    both, ends = frozenset(range(a, b + 1)), frozenset({a, b})
    none, on, before = frozenset[int](), frozenset(range(a, LAST + 1)), frozenset(range(b + 1))
    return {
        "day": lambda: When(x, frozenset({a}), frozenset({a})),
        "span": lambda: When(f"{x}/{y}", both, both),
        "from": lambda: When(f"{x}/..", on, on),
        "until": lambda: When(f"../{y}", before, before),
        "unknown end": lambda: When(f"{x}/", on, frozenset({a})),
        "unknown start": lambda: When(f"/{y}", before, frozenset({b})),
        "one of": lambda: When(f"[{x},{y}]", ends, none),
        "one within": lambda: When(f"[{x}..{y}]", both, none),
        "each of": lambda: When(f"{{{x},{y}}}", ends, ends),
        "each within": lambda: When(f"{{{x}..{y}}}", both, both),
        "supposed": lambda: When(f"{x}?/{y}", both, none, True),
        "some day": lambda: When("1872-02", frozenset(DAYS), none),
    }[kind]()


@dataclass(frozen=True)
class Fact:
    """A row: `name` as the rulebook names it."""

    name: str
    who: str = ""
    what: str = ""
    when: When | None = None
    until: When | None = None
    presence: str = ""


@dataclass(frozen=True)
class Said:
    """A claim: `days` for a date; `effective` as written, for nothing is replaced here."""

    key: str
    about: str
    aspect: str
    value: str
    days: When | None = None
    role: str = ""
    part: str = ""
    qualifier: str = ""
    standing: str = "current"
    alternative_to: str = ""

    @property
    def name(self) -> str:
        return f"claims.{self.key}"


EVENT_OF = {
    "date": "exposure", "date_printed": "print", "date_mounted": "mount", "process": "print",
    "printed_from": "print", "place": "exposure", "maker": "exposure", "sitter": "exposure",
    "depicts": "exposure", "copy_of": "exposure", "composed_of": "exposure",
    "same_session_as": "exposure", "earlier_than": "exposure", "later_than": "exposure",
    "format": "",
}  # fmt: skip
LINKS = {"copy_of", "printed_from", "composed_of", "same_session_as", "earlier_than", "later_than"}
ONE = {"date", "date_printed", "date_mounted", "place", "process"}
DOUBTS = {"", "probably", "possibly", "attributed to"}


def event_of(said: Said) -> str:
    return "print" if said.role in ("printer", "publisher") else EVENT_OF[said.aspect]


def inside(one: str, other: str) -> bool:
    return one == other or other in WITHIN.get(one, ())


def agree(one: str, other: str) -> bool:
    return inside(one, other) or inside(other, one) or {one, other} in NEAR


def runs(days: Iterable[int]) -> Iterator[list[int]]:
    run: list[int] = []
    for day in sorted(days):
        if run and day != run[-1] + 1:
            yield run
            run = []
        run.append(day)
    if run:
        yield run


@dataclass(frozen=True)
class Stay:
    """What rows make sure of: the person was (or was not) at a place on some days."""

    where: str
    days: frozenset[int]
    presence: str
    rows: frozenset[str]

    @cached_property
    def shut(self) -> frozenset[int]:
        """Return the days on which other places (the place itself, when `not at`) are excluded."""
        if self.presence:
            return self.days
        kept: set[int] = set()
        for run in runs(self.days):
            start = run[0] if run[0] == FIRST else run[0] + 1
            end = run[-1] if run[-1] == LAST else run[-1] - 1
            kept.update(range(start, end + 1))
        return frozenset(kept)

    def excludes(self, place: str) -> bool:
        if self.presence == "not at":
            return inside(place, self.where)
        return not agree(self.where, place)

    __hash__ = object.__hash__  # a slotless cache needs one that does not look at the sets


def crossing(there: Stay, absence: Stay) -> frozenset[int]:
    """Return the days on which a stay and an absence only meet, end to end."""
    ends = [(run[0], run[-1]) for run in runs(there.days)]
    away = [(run[0], run[-1]) for run in runs(absence.days)]
    return frozenset(
        {b for a, b in ends for c, _ in away if b == c and b not in (FIRST, LAST)}
        | {a for a, b in ends for _, d in away if a == d and a not in (FIRST, LAST)}
    )


class World:
    """Facts by kind and claims, and what the rules say of them."""

    def __init__(
        self,
        people: tuple[Fact, ...],
        membership: tuple[Fact, ...],
        whereabouts: tuple[Fact, ...],
        things: tuple[Fact, ...],
        processes: tuple[Fact, ...],
        claims: tuple[Said, ...],
    ) -> None:
        self.people, self.membership, self.whereabouts = people, membership, whereabouts
        self.things, self.processes, self.claims = things, processes, claims
        facts = (*people, *membership, *whereabouts, *things, *processes)
        self.facts = frozenset(fact.name for fact in facts)
        self._stays: dict[str, list[Stay]] = {}
        self._unknown: dict[str, frozenset[int]] = {}

    # --- people ---

    def stays(self, who: str) -> list[Stay]:
        if who not in self._stays:
            self._stays[who] = list(self._all_stays(who, frozenset(DAYS), frozenset()))
        return self._stays[who]

    def _all_stays(self, who: str, days: frozenset[int], rows: frozenset[str]) -> Iterator[Stay]:
        for row in self.whereabouts:
            assert row.when
            if row.who == who and row.when.sure & days:
                yield Stay(row.what, row.when.sure & days, row.presence, rows | {row.name})
        for row in self.membership:
            assert row.when
            if row.who == who:
                yield from self._all_stays(row.what, days & row.when.sure, rows | {row.name})

    def alive(self, row: Fact) -> set[int]:
        born = min(row.when.bounding) if row.when else FIRST
        died = max(row.until.bounding) if row.until else LAST
        return {day for day in DAYS if born <= day <= died}

    def contradictions(self, who: str) -> Iterator[tuple[frozenset[int], frozenset[str]]]:
        """Yield days on which facts about somebody contradict one another, and the rows."""
        stays = self.stays(who)
        for row in self.people:
            for stay in stays:
                days = stay.days - self.alive(row)
                if row.who == who and stay.presence != "not at" and days:
                    yield frozenset(days), stay.rows | {row.name}
        for one, other in combinations(stays, 2):
            absent = [stay for stay in (one, other) if stay.presence == "not at"]
            if len(absent) == 2:
                continue
            if absent:
                there = other if absent == [one] else one
                days = there.days & absent[0].days - crossing(there, absent[0])
                days = days if inside(there.where, absent[0].where) else None
            elif agree(one.where, other.where):
                continue
            else:
                days = one.shut & other.days | one.days & other.shut
            if days:
                yield frozenset(days), one.rows | other.rows

    def unknown(self, who: str) -> frozenset[int]:
        if who not in self._unknown:
            days = frozenset[int]().union(*(days for days, _ in self.contradictions(who)))
            self._unknown[who] = days
        return self._unknown[who]

    def elsewhere(self, who: str, place: str, day: int, rows: frozenset[str]) -> bool:
        return day not in self.unknown(who) and any(
            stay.rows <= rows
            and day in stay.shut
            and stay.excludes(place)
            and not self._still_there(who, stay, day)
            for stay in self.stays(who)
        )

    def there(self, who: str, place: str, day: int) -> bool:
        return day not in self.unknown(who) and any(
            stay.presence != "not at" and day in stay.days and inside(stay.where, place)
            for stay in self.stays(who)
        )

    def _still_there(self, who: str, absence: Stay, day: int) -> bool:
        """Return whether a stay ends, or begins, on a day that a source counts to an absence."""
        return absence.presence == "not at" and any(
            there.presence != "not at"
            and inside(there.where, absence.where)
            and day in crossing(there, absence)
            for there in self.stays(who)
        )

    # --- whether claims can hold ---

    def holds(
        self, claims: Iterable[Said], rows: frozenset[str], tested: str, shape: Iterable[Said]
    ) -> bool:
        return self.case(claims, rows, tested, shape).any_days()

    def case(
        self, claims: Iterable[Said], rows: frozenset[str], tested: str, shape: Iterable[Said]
    ) -> "Possible":
        return Possible(self, tuple(claims), rows, tested, tuple(shape))

    # --- which claims count ---

    def sets(self) -> dict[str, str]:
        found = {}
        for said in self.claims:
            if said.alternative_to:
                found[said.key] = found[said.alternative_to] = said.alternative_to
        return found

    @cached_property
    def base(self) -> list[Said]:
        sets = self.sets()
        held = [
            said for said in self.claims
            if said.standing == "current" and not said.qualifier and said.key not in sets
            and not (said.days and said.days.supposed)
        ]  # fmt: skip
        return [
            said for said in held
            if said.aspect not in ONE or all(
                other.value == said.value for other in held
                if (other.about, other.aspect) == (said.about, said.aspect)
            )
        ]  # fmt: skip

    def linked(self, said: Said) -> set[str]:
        things = {said.about} | ({said.value} if said.aspect in LINKS else set())
        while True:
            more = {
                thing for other in self.base if other.aspect in LINKS
                and {other.about, other.value} & things for thing in (other.about, other.value)
            }  # fmt: skip
            if more <= things:
                return things
            things |= more

    def others(self, said: Said) -> list[Said]:
        things = self.linked(said)
        return [
            other for other in self.base
            if other.about in things and other.key != said.key and not self.set_aside(said, other)
        ]  # fmt: skip

    def set_aside(self, said: Said, other: Said) -> bool:
        return said.aspect in ONE and (other.about, other.aspect) == (said.about, said.aspect)


class Possible:
    """Which days the events of some things can have, if some claims and facts hold."""

    def __init__(
        self,
        world: World,
        claims: tuple[Said, ...],
        rows: frozenset[str],
        tested: str,
        shape: tuple[Said, ...],
    ) -> None:
        self.world, self.claims, self.rows, self.tested = world, claims, rows, tested
        self.borrowed = {s.about for s in shape if s.aspect in ("copy_of", "composed_of")}
        self.things = sorted(
            {s.about for s in claims} | {s.value for s in claims if s.aspect in LINKS}
        )
        self.events = [(thing, event) for thing in self.things for event in EVENTS]
        self.relations = list(self._relations())
        self.session = self._sessions()
        self.free = {event: [d for d in DAYS if self._allowed(event, d)] for event in self.events}

    def any_days(self) -> bool:
        """Return whether every event can have a day so that everything holds."""
        return self._sound() and self._search(self.free, self.events)

    def days(self, event: Event) -> set[int]:
        """Return every day that an event can have."""
        if not self._sound():
            return set()
        return {
            day
            for day in self.free[event]
            if self._search({**self.free, event: [day]}, self.events)
        }

    def _sound(self) -> bool:
        return not self._circle() and self._one_place()

    def _search(self, free: dict[Event, list[int]], left: list[Event]) -> bool:
        """Try the days of one event after the other; those left always fit the chosen ones."""
        if not all(free.values()):
            return False
        if not left:
            return True
        event = min(left, key=lambda one: len(free[one]))
        rest = [one for one in left if one != event]
        return any(self._search(self._fitting(free, event, day), rest) for day in free[event])

    def _fitting(
        self, free: dict[Event, list[int]], event: Event, day: int
    ) -> dict[Event, list[int]]:
        fitting = {**free, event: [day]}
        for x, y, test, _ in self.relations:
            if x == event:
                fitting[y] = [other for other in fitting[y] if test(day, other)]
            if y == event:
                fitting[x] = [other for other in fitting[x] if test(other, day)]
        return fitting

    # --- between two events ---

    def _relations(self) -> Iterator[tuple[Event, Event, Callable[[int, int], bool], str]]:
        def not_after(x: int, y: int) -> bool:
            return x <= y

        for thing in self.things:
            for one, other in pairwise(EVENTS):
                yield (thing, one), (thing, other), not_after, "order"
        for said in self.claims:
            mine, other = (said.about, "exposure"), (said.value, "exposure")
            if said.aspect == "copy_of":
                first = (said.value, "print") if "print" in said.part else other
                yield first, mine, not_after, "order"
            elif said.aspect == "composed_of":
                yield (said.value, "print"), mine, not_after, "order"
            elif said.aspect == "printed_from":
                yield other, (said.about, "print"), not_after, "order"
            elif said.aspect == "earlier_than":
                yield mine, other, not_after, "strict"
            elif said.aspect == "later_than":
                yield other, mine, not_after, "strict"
            elif said.aspect == "same_session_as":
                most = int(said.part.split()[0]) if said.part else 0
                yield mine, other, lambda x, y, most=most: abs(x - y) <= most, "window"  # type: ignore[misc]

    def _circle(self) -> bool:
        """Return whether an event would have to come before itself."""
        links = {(x, y, kind == "strict") for x, y, _, kind in self.relations if kind != "window"}
        while True:
            more = {
                (x, w, strict or also)
                for (x, y, strict), (z, w, also) in product(links, links)
                if y == z
            }
            if more <= links:
                return any(x == y and strict for x, y, strict in links)
            links |= more

    def _sessions(self) -> dict[str, set[str]]:
        found = {thing: {thing} for thing in self.things}
        for said in self.claims:
            if said.aspect == "same_session_as":
                whole = found[said.about] | found[said.value]
                for thing in whole:
                    found[thing] = whole
        return found

    def _one_place(self) -> bool:
        places = [said for said in self.claims if said.aspect == "place"]
        return all(
            one.about == other.about
            or other.about not in self.session[one.about]
            or agree(one.value, other.value)
            for one, other in combinations(places, 2)
        )

    # --- one event ---

    def _allowed(self, event: Event, day: int) -> bool:
        return all(
            self._permits(said, event, day) for said in self.claims if said.about == event[0]
        )

    def _permits(self, said: Said, event: Event, day: int) -> bool:
        """Return whether a claim, with the facts, lets an event be on a day."""
        here = event == (said.about, "exposure")
        match said.aspect:
            case "date" | "date_printed" | "date_mounted" if event == (said.about, event_of(said)):
                assert said.days
                return day in (
                    said.days.possible if said.key == self.tested else said.days.bounding
                )
            case "process" if event == (said.about, "print"):
                return self._in_use(self.world.processes, said.value, day)
            case "format" if event == (said.about, "mount"):
                return self._in_use(self.world.processes, said.value, day)
            case "depicts" if here and said.about not in self.borrowed:
                return self._in_use(self.world.things, said.value, day)
            case "maker" | "sitter" if here and self.binds(said):
                return self._alive(said, day) and self._not_elsewhere(said, day)
        return True

    def _in_use(self, facts: tuple[Fact, ...], what: str, day: int) -> bool:
        rows = [row for row in facts if row.what == what]
        if not rows or not {row.name for row in rows} <= self.rows:
            return True
        return any(row.when and day in row.when.bounding for row in rows)

    def binds(self, said: Said) -> bool:
        if said.aspect == "sitter":
            return said.qualifier in DOUBTS and said.about not in self.borrowed
        return said.aspect == "maker" and not said.role and said.qualifier in DOUBTS

    def _alive(self, said: Said, day: int) -> bool:
        if said.part == "post-mortem":
            return True
        return all(
            day in self.world.alive(row)
            for row in self.world.people
            if row.who == said.value and row.name in self.rows
        )

    def _not_elsewhere(self, said: Said, day: int) -> bool:
        return not any(
            self.world.elsewhere(said.value, place.value, day, self.rows)
            for place in self.places(said.about)
        )

    def places(self, thing: str) -> list[Said]:
        return [s for s in self.claims if s.aspect == "place" and s.about in self.session[thing]]

    def there(self, said: Said, day: int) -> bool:
        """Return whether somebody concerned was surely at the claimed place on a day."""
        if said.aspect == "place":
            near = [s for s in self.claims if s.about in self.session[said.about] and self.binds(s)]
            return any(self.world.there(who.value, said.value, day) for who in near)
        return self.binds(said) and any(
            self.world.there(said.value, place.value, day) for place in self.places(said.about)
        )
