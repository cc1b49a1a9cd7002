"""Where people were: on which days they were surely somewhere, and which places that excludes."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from lodpipe.evidence.facts import ALL_DAY, NOT_AT, Being, Evidence, Membership, Stay
from lodpipe.weigh.geography import Geography
from lodpipe.weigh.grounds import Ground, ground_of
from lodpipe.weigh.results import EvidenceConflict
from lodpipe.weigh.spans import ALWAYS, MAX, MIN, NEVER, Spans, both, minus, union, without
from lodpipe.weigh.when import definite, first_day, last_day, trimmed

Active = Callable[[Ground], bool]
"""Whether a row of the evidence counts in the case at hand."""


@dataclass(frozen=True, slots=True)
class Sure:
    """A definite stay of one person, their own or that of a party they belonged to.

    Attributes:
        days: on which they surely were there, or for `not at` surely were not.
        closed: on which that excludes other places.
        grounds: the rows that it rests on.
    """

    where: str
    days: Spans
    closed: Spans
    absent: bool
    grounds: tuple[Ground, ...]


class Presence:
    """The whereabouts and lives of all people, worked out person by person when asked for.

    Args:
        evidence: resolved facts. `void`: tells rows whose sources no longer count.
        circa_years: how far an approximate date reaches.
    """

    def __init__(
        self,
        evidence: Evidence,
        geography: Geography,
        circa_years: int,
        void: Callable[[Iterable[str]], bool],
    ) -> None:
        self.geography, self.circa_years = geography, circa_years
        self._void = void
        self._stays: defaultdict[str, list[Stay]] = defaultdict(list)
        for stay in evidence.whereabouts:
            if not void(stay.sources):
                self._stays[stay.who].append(stay)
        self._parties: defaultdict[str, list[Membership]] = defaultdict(list)
        for membership in evidence.membership:
            if not void(membership.sources):
                self._parties[membership.who].append(membership)
        self.beings: dict[str, Being] = {being.key: being for being in evidence.people}
        self._sure: dict[str, tuple[Sure, ...]] = {}
        self._clashes: dict[str, tuple[EvidenceConflict, ...]] = {}
        self._doubtful: dict[str, Spans] = {}
        self._closing: dict[tuple[str, str], tuple[tuple[Spans, tuple[Ground, ...]], ...]] = {}
        self._closed: dict[tuple[str, str], Spans] = {}

    def known(self) -> set[str]:
        """Return everybody of whom the evidence says where they were, or whose they were."""
        return {
            who for rows in (self._stays, self._parties) for who, found in rows.items() if found
        }

    # --- lives ---------------------------------------------------------------------------

    def life(self, who: str) -> Spans:
        """Return the days on which a person may have lived, or a group have existed."""
        being = self.beings.get(who)
        if being is None:
            return ALWAYS
        born = None if self._void(being.born_sources or being.sources) else being.born
        died = None if self._void(being.died_sources or being.sources) else being.died
        low, high = first_day(born, self.circa_years), last_day(died, self.circa_years)
        return ((low, high),) if low <= high else NEVER

    def life_grounds(self, who: str) -> tuple[Ground, ...]:
        """Return the row that says when somebody lived."""
        being = self.beings.get(who)
        return (ground_of(being),) if being else ()

    # --- whereabouts ---------------------------------------------------------------------

    def all_sure(self, who: str) -> tuple[Sure, ...]:
        """Return all definite stays and absences of a person, whatever contradicts them."""
        if who not in self._sure:
            self._sure[who] = tuple(self._collect(who, ALWAYS, (), frozenset({who})))
        return self._sure[who]

    def _collect(
        self, who: str, days: Spans, grounds: tuple[Ground, ...], seen: frozenset[str]
    ) -> Iterator[Sure]:
        for stay in self._stays.get(who, ()):
            there = both(definite(stay.when), days)
            if not there:
                continue
            absent = stay.presence == NOT_AT
            closed = there if absent or stay.presence == ALL_DAY else trimmed(there)
            yield Sure(stay.where, there, closed, absent, (*grounds, ground_of(stay)))
        for membership in self._parties.get(who, ()):
            if membership.party not in seen:
                # without `when` nobody says on which days: nothing follows from a blank cell
                during = both(days, definite(membership.when)) if membership.when else NEVER
                if during:
                    yield from self._collect(
                        membership.party,
                        during,
                        (*grounds, ground_of(membership)),
                        seen | {membership.party},
                    )

    def closed(self, who: str, place: str, active: Active | None = None) -> Spans:
        """Return the days on which somebody was surely elsewhere than at a place.

        Days on which the facts about them contradict one another are none of these, whichever
        rows count: otherwise fewer rows could exclude more.

        Args:
            active: which rows count; None for all.
        """
        if active is not None:
            return union(
                *(days for days, grounds in self.closing(who, place) if all(map(active, grounds)))
            )
        key = (who, place)
        if key not in self._closed:
            self._closed[key] = union(*(days for days, _ in self.closing(who, place)))
        return self._closed[key]

    def closing(self, who: str, place: str) -> tuple[tuple[Spans, tuple[Ground, ...]], ...]:
        """Return what keeps somebody from a place: each the days, and the rows that say so."""
        key = (who, place)
        if key not in self._closing:
            doubtful = self.doubtful(who)
            self._closing[key] = tuple(
                (days, sure.grounds)
                for sure in self.all_sure(who)
                if sure.closed
                and self.excludes(sure, place)
                and (days := minus(minus(sure.closed, doubtful), self._crossing(who, sure)))
            )
        return self._closing[key]

    def _crossing(self, who: str, absence: Sure) -> Spans:
        """Return the days on which a stay and an absence meet: somebody was there before leaving."""
        if not absence.absent:
            return NEVER
        return union(
            *(
                _meeting(both(stay.days, absence.days), stay.days, absence.days)
                for stay in self.all_sure(who)
                if not stay.absent and self.geography.inside(stay.where, absence.where)
            )
        )

    def excludes(self, sure: Sure, place: str) -> bool:
        """Return whether a definite stay or absence excludes a place."""
        if sure.absent:
            return self.geography.inside(place, sure.where)
        return not self.geography.agree(sure.where, place)

    def placed(self, who: str, place: str) -> Spans:
        """Return the days on which somebody was surely at a place or inside it."""
        days = union(
            *(
                sure.days
                for sure in self.all_sure(who)
                if not sure.absent and self.geography.inside(sure.where, place)
            )
        )
        return minus(days, self.doubtful(who))

    # --- what contradicts itself ---------------------------------------------------------

    def doubtful(self, who: str) -> Spans:
        """Return the days on which facts about somebody contradict one another."""
        if who not in self._doubtful:
            self._doubtful[who] = union(*(clash.days for clash in self.clashes(who)))
        return self._doubtful[who]

    def clashes(self, who: str) -> tuple[EvidenceConflict, ...]:
        """Return the facts about somebody that contradict one another."""
        if who not in self._clashes:
            self._clashes[who] = tuple(self._clashing(who))
        return self._clashes[who]

    def _clashing(self, who: str) -> Iterator[EvidenceConflict]:
        sure = sorted(self.all_sure(who), key=lambda one: (one.days[0][0], one.grounds))
        grounds = self.life_grounds(who)
        if grounds:
            outside = without(self.life(who))
            for one in sure:
                days = both(one.days, outside) if not one.absent else NEVER
                if days:
                    yield EvidenceConflict(who, days, _merged(grounds, one.grounds))
        for number, one in enumerate(sure):
            for other in sure[number + 1 :]:
                if other.days[0][0] > one.days[-1][1]:
                    break
                days = self._contradiction(one, other)
                if days:
                    yield EvidenceConflict(who, days, _merged(one.grounds, other.grounds))

    def _contradiction(self, one: Sure, other: Sure) -> Spans:
        """Return the days on which two facts about somebody cannot both hold."""
        if one.absent and other.absent:
            return NEVER
        if one.absent or other.absent:
            stay, absence = (other, one) if one.absent else (one, other)
            if not self.geography.inside(stay.where, absence.where):
                return NEVER
            common = both(stay.days, absence.days)
            return minus(common, _meeting(common, stay.days, absence.days))
        if self.geography.agree(one.where, other.where):
            return NEVER
        return union(both(one.closed, other.days), both(one.days, other.closed))


def _meeting(common: Spans, stay: Spans, absence: Spans) -> Spans:
    """Return the common days of a stay and an absence that only join them end to end.

    A source may call the day of departure the last day there and the first day away.
    """
    ends = {(low, low) for low, _ in absence if low != MIN} & {(high, high) for _, high in stay}
    ends |= {(high, high) for _, high in absence if high != MAX} & {(low, low) for low, _ in stay}
    return tuple(pair for pair in common if pair in ends)


def _merged(one: tuple[Ground, ...], other: tuple[Ground, ...]) -> tuple[Ground, ...]:
    return tuple(sorted({*one, *other}))
