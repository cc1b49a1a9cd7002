"""Weighing by enumeration: the rules written a second time, day by day, without intervals.

Nothing here is shared with `lodpipe.weigh`. A case has few things and few days, every assignment
of days to events is tried, and a fact is a set of days. Day 0 is the first of January 1872; facts
lie on the days 2 to 6 of a calendar of nine, so that its first and last days stand for all days
before and after.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import product

DAYS = range(9)
LAST = DAYS[-1]
EPOCH = date(1872, 1, 1)
Row = tuple[str, int]
"""File and line."""


def text(day: int) -> str:
    return (EPOCH + timedelta(days=day)).isoformat()


@dataclass(frozen=True)
class When:
    """A date by its meaning: `day`, `span`, `doubtful` (a span with `?`), `one of`, `all of`, `from`."""

    kind: str
    first: int
    last: int

    def edtf(self) -> str:
        a, b = text(self.first), text(self.last)
        return {
            "day": a, "span": f"{a}/{b}", "doubtful": f"{a}?/{b}", "one of": f"[{a},{b}]",
            "all of": f"{{{a},{b}}}", "from": f"{a}/..",
        }[self.kind]  # fmt: skip

    def possible(self) -> set[int]:
        if self.kind == "day":
            return {self.first}
        if self.kind in ("one of", "all of"):
            return {self.first, self.last}
        if self.kind == "from":
            return set(range(self.first, LAST + 1))
        return set(range(self.first, self.last + 1))

    def definite(self) -> set[int]:
        return set() if self.kind in ("doubtful", "one of") else self.possible()

    def outer(self) -> set[int]:
        return set(DAYS) if self.kind == "doubtful" else self.possible()


@dataclass(frozen=True)
class Stay:
    row: Row
    who: str
    where: str
    when: When
    presence: str


@dataclass(frozen=True)
class Member:
    row: Row
    who: str
    party: str
    when: When


@dataclass(frozen=True)
class Life:
    row: Row
    who: str
    born: When | None
    died: When | None


@dataclass(frozen=True)
class Bound:
    """A row of things.csv or processes.csv."""

    row: Row
    what: str
    when: When


@dataclass(frozen=True)
class Said:
    """A claim; `value` is a name, or a When for a date."""

    row: Row
    key: str
    about: str
    aspect: str
    value: str | When
    part: str = ""
    qualifier: str = ""
    standing: str = "current"

    @property
    def certain(self) -> bool:
        return self.standing == "current" and not self.qualifier


ONE = ("date", "date_printed", "place", "process")
PRINTED = ("date_printed", "process", "printed_from")
DOUBT = ("", "possibly", "probably")


@dataclass(frozen=True)
class World:
    """All facts and claims of a case."""

    within: dict[str, str]
    near: frozenset[frozenset[str]]
    lives: tuple[Life, ...] = ()
    stays: tuple[Stay, ...] = ()
    members: tuple[Member, ...] = ()
    bounds: tuple[Bound, ...] = ()
    claims: tuple[Said, ...] = field(default=())

    # --- places ---
    def inside(self, place: str, other: str) -> bool:
        return place == other or (place in self.within and self.inside(self.within[place], other))

    def agree(self, one: str, other: str) -> bool:
        return (
            self.inside(one, other)
            or self.inside(other, one)
            or frozenset((one, other)) in self.near
        )

    # --- people ---
    def sure(self, who: str) -> Iterator[tuple[Stay, set[int], set[int], frozenset[Row]]]:
        """Stays of a person and of the parties: days there, days that exclude, rows."""
        for stay in self.stays:
            if stay.who == who:
                days = stay.when.definite()
                yield stay, days, closing(stay, days), frozenset({stay.row})
        for member in self.members:
            if member.who == who:
                for stay in self.stays:
                    if stay.who == member.party:
                        days = stay.when.definite() & member.when.definite()
                        yield stay, days, closing(stay, days), frozenset({stay.row, member.row})

    def alive(self, life: Life) -> set[int]:
        first = min(life.born.outer()) if life.born else 0
        last = max(life.died.outer()) if life.died else LAST
        return set(range(first, last + 1))

    def doubtful(self, who: str) -> set[int]:
        """Days on which the facts about somebody contradict one another."""
        found: set[int] = set()
        known = list(self.sure(who))
        for life in self.lives:
            if life.who == who:
                for stay, days, _, _ in known:
                    if stay.presence != "not at":
                        found |= days - self.alive(life)
        for one, days, shut, _ in known:
            for other, other_days, other_shut, _ in known:
                if one.presence == "not at":
                    continue
                if other.presence == "not at":
                    if self.inside(one.where, other.where):
                        found |= tolerated(days, other_days)
                elif not self.agree(one.where, other.where):
                    found |= (shut & other_days) | (days & other_shut)
        return found

    def shut(self, who: str, place: str, rows: frozenset[Row]) -> set[int]:
        """Days on which somebody cannot have been at a place, by some of the rows."""
        found: set[int] = set()
        for stay, _, closed, used in self.sure(who):
            if used <= rows:
                if stay.presence == "not at":
                    excluded = self.inside(place, stay.where)
                else:
                    excluded = not self.agree(stay.where, place)
                if excluded:
                    found |= closed - self.crossing(who, stay)
        return found - self.doubtful(who)

    def crossing(self, who: str, absence: Stay) -> set[int]:
        """Days on which somebody was still, or again, where a source says they were not."""
        found: set[int] = set()
        for one, days, _, _ in self.sure(who):
            for other, absent, _, _ in self.sure(who):
                meets = other is absence and absence.presence == "not at" != one.presence
                if meets and self.inside(one.where, other.where):
                    found |= (days & absent) - tolerated(days, absent)
        return found

    # --- claims ---
    def binding(self, said: Said) -> bool:
        return said.aspect in ("maker", "sitter") and said.qualifier in DOUBT

    def days(
        self, claims: list[Said], rows: frozenset[Row], tested: str, shape: list[Said]
    ) -> Iterator[dict[tuple[str, str], int]]:
        """Every assignment of days to exposures and prints under which the claims hold."""
        things = sorted({c.about for c in claims} | {c.value for c in claims if linked(c)})  # type: ignore[type-var]
        copies = {c.about for c in shape if c.aspect == "copy_of"}
        printed = {c.about for c in claims if c.aspect in PRINTED}
        printed |= {str(c.value) for c in claims if "print" in c.part or c.aspect == "composed_of"}
        allowed = {(thing, "exposure"): set(DAYS) for thing in things}
        allowed |= {(thing, "print"): set(DAYS) for thing in sorted(printed)}
        sessions = session_of(claims)
        for said in claims:
            exposure = allowed[said.about, "exposure"]
            if said.aspect in ("date", "date_printed"):
                assert isinstance(said.value, When)
                days = said.value.possible() if said.key == tested else said.value.outer()
                allowed[said.about, "exposure" if said.aspect == "date" else "print"] &= days
            elif said.aspect in ("process", "depicts"):
                found = [b for b in self.bounds if b.what == said.value]
                if found and {b.row for b in found} <= rows:
                    union: set[int] = set().union(*(b.when.outer() for b in found))
                    if said.aspect == "process":
                        allowed[said.about, "print"] &= union
                    elif said.about not in copies:
                        exposure &= union
            elif self.binding(said) and not (said.aspect == "sitter" and said.about in copies):
                if not (said.aspect == "sitter" and "post-mortem" in said.part):
                    for life in self.lives:
                        if life.who == said.value and life.row in rows:
                            exposure &= self.alive(life)
                for place in claims:
                    if place.aspect == "place" and place.about in sessions(said.about):
                        assert isinstance(said.value, str)
                        assert isinstance(place.value, str)
                        exposure -= self.shut(said.value, place.value, rows)
        for place in claims:
            for other in claims:
                if (
                    place.aspect == other.aspect == "place"
                    and place.about != other.about
                    and other.about in sessions(place.about)
                    and not self.agree(str(place.value), str(other.value))
                ):
                    allowed[place.about, "exposure"].clear()
        if circular(claims, things):
            return
        names = list(allowed)
        for chosen in product(*(sorted(allowed[name]) for name in names)):
            day = dict(zip(names, chosen, strict=True))
            if all(day[t, "exposure"] <= day[t, "print"] for t in printed) and all(
                holds(said, day) for said in claims
            ):
                yield day

    def feasible(self, claim: Said, others: list[Said], rows: frozenset[Row]) -> set[int]:
        """Days left for the event of a claim, with others."""
        event = "print" if claim.aspect in PRINTED else "exposure"
        everything = [*others, claim]
        return {
            day[claim.about, event] for day in self.days(everything, rows, claim.key, everything)
        }


def closing(stay: Stay, days: set[int]) -> set[int]:
    """Days of a stay that exclude other places: not those of coming and going."""
    if stay.presence in ("all day", "not at"):
        return set(days)
    open_end = stay.when.kind == "from"
    return {
        day for day in days
        if day - 1 in days and (day + 1 in days or (open_end and day == LAST))
    }  # fmt: skip


def tolerated(stay: set[int], absence: set[int]) -> set[int]:
    """Common days of a stay and an absence, but not one that only joins them end to end."""
    common = stay & absence
    return {
        day for day in common
        if not (day - 1 not in common and day + 1 not in common
                and ((day - 1 not in absence and day + 1 not in stay and day != LAST)
                     or (day + 1 not in absence and day - 1 not in stay and day != LAST)))
    }  # fmt: skip


def linked(said: Said) -> bool:
    return said.aspect in (
        "copy_of", "printed_from", "same_session_as", "earlier_than", "later_than", "composed_of"
    )  # fmt: skip


def holds(said: Said, day: dict[tuple[str, str], int]) -> bool:
    if not linked(said):
        return True
    assert isinstance(said.value, str)
    mine, other = day[said.about, "exposure"], day[said.value, "exposure"]
    if said.aspect == "copy_of":
        return mine >= (day[said.value, "print"] if "print" in said.part else other)
    if said.aspect == "printed_from":
        return day[said.about, "print"] >= other
    if said.aspect == "same_session_as":
        return abs(mine - other) <= (int(said.part.split()[0]) if said.part else 0)
    return mine <= other if said.aspect == "earlier_than" else mine >= other


def session_of(claims: list[Said]):  # type: ignore[no-untyped-def]
    groups: list[set[str]] = []
    for said in claims:
        if said.aspect == "same_session_as":
            new = {said.about, str(said.value)}
            apart = [group for group in groups if not group & new]
            groups = [*apart, new.union(*(group for group in groups if group & new))]
    return lambda thing: next((group for group in groups if thing in group), {thing})


def circular(claims: list[Said], things: list[str]) -> bool:
    """Whether an exposure would have to come before itself."""
    before: set[tuple[tuple[str, str], tuple[str, str], bool]] = set()
    for thing in things:
        before.add(((thing, "exposure"), (thing, "print"), False))
    for said in claims:
        if linked(said) and said.aspect != "same_session_as":
            mine, other = (said.about, "exposure"), (str(said.value), "exposure")
            if said.aspect == "copy_of":
                before.add(
                    ((str(said.value), "print") if "print" in said.part else other, mine, False)
                )
            elif said.aspect == "printed_from":
                before.add((other, (said.about, "print"), False))
            elif said.aspect == "earlier_than":
                before.add((mine, other, True))
            else:
                before.add((other, mine, True))
    after = {(x, y): strict for x, y, strict in sorted(before)}
    for x, y, strict in before:
        after[x, y] = after[x, y] or strict
    grown = True
    while grown:
        grown = False
        for (x, y), first in list(after.items()):
            for (z, w), second in list(after.items()):
                if y == z and (first or second) > after.get((x, w), -1):
                    after[x, w] = first or second
                    grown = True
    return any(x == y and strict for (x, y), strict in after.items())
