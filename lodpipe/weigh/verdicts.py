"""Weighing: which days are still possible, which claims hold, clash or stay open, and why."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence

from lodpipe.aspects import Aspects
from lodpipe.evidence import Evidence, certain, sets_of
from lodpipe.records import Claim
from lodpipe.weigh.case import shape_of
from lodpipe.weigh.clashes import Clashes
from lodpipe.weigh.conflicts import MOST_SETS, Question, sets_with, smallest
from lodpipe.weigh.context import Context, Held, event_of
from lodpipe.weigh.grounds import Ground, ground_of, ground_of_claim
from lodpipe.weigh.model import DATED, EVENTS, EXPOSURE, LINKS, MADE_BY, Model
from lodpipe.weigh.results import (
    CONTRADICTED,
    NOT_WEIGHED,
    OPEN,
    PLACED,
    Conflict,
    Span,
    Verdict,
    Weighed,
    Weighing,
)
from lodpipe.weigh.spans import MAX, MIN, NEVER, Spans, both, days_in, union
from lodpipe.weigh.when import is_doubtful


def weigh(
    evidence: Evidence,
    claims: Iterable[Claim],
    aspects: Aspects,
    *,
    circa_years: int = 5,
    withdrawn: Iterable[str] = (),
    only: Collection[str] | None = None,
) -> Weighing:
    """Weigh claims against the evidence and against the certain current claims.

    Args:
        evidence: resolved facts. `claims`: settled claims, written and mapped.
        circa_years: how far approximate dates reach.
        withdrawn: sources to do without, besides those that are withdrawn.
        only: things to weigh, with all that is linked to them; None for all.
    """
    weigher = Weigher(Model(evidence, aspects, circa_years, withdrawn), claims)
    return weigher.all(only)


MOST_KEPT = 64
"""Groups that are kept for guesses that lead from one group to another; others are made again."""


class Weigher:
    """Weighs the claims of a project, thing by thing."""

    def __init__(self, model: Model, claims: Iterable[Claim]) -> None:
        self.model = model
        self.sets = sets_of(claims := tuple(claims))
        self.claims: defaultdict[str, list[Claim]] = defaultdict(list)
        for claim in claims:
            self.claims[claim.about].append(claim)
        for several in self.claims.values():
            several.sort(key=ground_of_claim)
        self.base = {thing: self._certain(several) for thing, several in self.claims.items()}
        self._linked: defaultdict[str, set[str]] = defaultdict(set)
        for several in self.base.values():
            for claim in several:
                if claim.aspect in LINKS:
                    self._linked[claim.about].add(claim.value)
                    self._linked[claim.value].add(claim.about)
        self.guessed: defaultdict[str, list[Claim]] = defaultdict(list)
        for several in self.claims.values():
            for claim in several:
                if claim.aspect in LINKS and claim.value and self.guess(claim):
                    self.guessed[claim.value].append(claim)
        self._groups: dict[str, tuple[str, ...]] = {}
        self._grouped: dict[tuple[str, ...], Group] = {}
        self._clean: dict[tuple[str, ...], Sequence[Claim]] = {}

    def _certain(self, several: Sequence[Claim]) -> list[Claim]:
        """Return the certain current claims about a thing that others are weighed with.

        A date with `?` refutes nothing. Of an aspect that takes one value, claims that differ are all left out: the ledger itself
        is at odds there (reported by its own rules), and neither of them refutes anything.
        """
        held = [
            claim
            for claim in several
            if claim.value
            and certain(claim, self.sets)
            and not self.model.groundless(claim)
            and not (claim.aspect in DATED and is_doubtful(claim.value))
            and (event_of(self.model, claim) or claim.aspect in MADE_BY or claim.aspect in LINKS)
        ]
        values: defaultdict[tuple[str, str], set[str]] = defaultdict(set)
        for claim in held:
            if self.one(claim):
                values[claim.aspect, claim.part].add(claim.value)
        return [claim for claim in held if len(values[claim.aspect, claim.part]) < 2]

    def guess(self, claim: Claim) -> bool:
        """Return whether a claim is current but not certain."""
        return claim.effective == "current" and not certain(claim, self.sets)

    def guesses_of(self, thing: str) -> list[Claim]:
        """Return the current claims about a thing that are not certain."""
        return [claim for claim in self.claims.get(thing, ()) if self.guess(claim)]

    def one(self, claim: Claim) -> bool:
        """Return whether the aspect of a claim takes one value only."""
        return self.model.aspects.by_name[claim.aspect].one

    def group(self, thing: str) -> tuple[str, ...]:
        """Return the things that certain current claims link to a thing, itself among them."""
        if thing not in self._groups:
            found = {thing}
            waiting = [thing]
            while waiting:
                more = self._linked.get(waiting.pop(), set()) - found
                found |= more
                waiting.extend(more)
            whole = tuple(sorted(found))
            self._groups.update(dict.fromkeys(whole, whole))
        return self._groups[thing]

    def held_of(self, things: tuple[str, ...], *, clean: bool = False) -> list[Claim]:
        """Return the certain current claims about a group of things, in the order of their rows.

        Args:
            clean: without those that contradict one another.
        """
        if clean:
            if things not in self._clean:
                self._clean[things] = Group(self, things).clean.claims
            return list(self._clean[things])
        found = [claim for thing in things for claim in self.base.get(thing, ())]
        return sorted(found, key=ground_of_claim)

    def grouped(self, thing: str) -> "Group":
        """Return a thing with all that certain claims link to it, ready to weigh claims about it."""
        things = self.group(thing)
        if things not in self._grouped:
            while len(self._grouped) >= MOST_KEPT:
                del self._grouped[next(iter(self._grouped))]  # the one kept longest
            self._grouped[things] = Group(self, things)
        return self._grouped[things]

    def refuting(self, guess: Claim) -> Collection[str] | None:
        """Return the claims that refute a guess with the evidence, None when it may hold."""
        group = self.grouped(guess.about)  # held here for as long as it is asked
        return group.clashes.refuting(guess)

    def all(self, only: Collection[str] | None = None) -> Weighing:
        """Return the verdicts on all claims, or on those about some things and their group."""
        things: list[Weighed] = []
        conflicts: list[Conflict] = []
        wanted = self.claims if only is None else [t for t in only if t in self.claims]
        done: set[str] = set()
        for thing in sorted(wanted):
            if thing in done:
                continue
            group = self.group(thing)
            done.update(group)
            weighed, found = self.grouped(thing).weigh()
            things.extend(weighed)
            conflicts.extend(found)
        things.sort(key=lambda thing: thing.about)
        people = sorted(self._people(things) if only is not None else self.model.presence.known())
        return Weighing(
            tuple(things),
            tuple(sorted(conflicts, key=lambda c: (c.claim, len(c.members), c.members))),
            tuple(conflict for who in people for conflict in self.model.presence.clashes(who)),
        )

    def _people(self, things: Iterable[Weighed]) -> set[str]:
        known = self.model.presence.known()
        return {v.claim.value for thing in things for v in thing.claims} & known


class Group:
    """Weighs the claims about things that are linked to one another."""

    def __init__(self, weigher: Weigher, things: tuple[str, ...]) -> None:
        self.weigher, self.model, self.things = weigher, weigher.model, things
        self.base = weigher.held_of(things)
        self.keys = {claim.key for claim in self.base}
        self.full = Context(self.model, things, self.base)
        self.conflicts: dict[str, list[tuple[Ground, ...]]] = {}
        self.clean = self.full if self.full.holds else self._without_culprits()
        self._contexts: dict[tuple[tuple[str, ...], frozenset[str]], Context] = {}
        self._verdicts: dict[str, Verdict] = {}
        self.clashes = Clashes(self)

    def weigh(self) -> tuple[list[Weighed], list[Conflict]]:
        """Return the verdicts thing by thing, and the conflict sets."""
        weighed = []
        for thing in self.things:
            claims = self.weigher.claims.get(thing, ())
            if claims:
                verdicts = tuple(self.clashes.told(self.first(claim)) for claim in claims)
                weighed.append(Weighed(thing, self.spans(thing), verdicts))
        conflicts = [
            Conflict(key, members)
            for key, several in self.conflicts.items()
            if key not in self._verdicts  # what is only assumed
            or self._verdicts[key].verdict == CONTRADICTED  # a format is not weighed itself
            for members in several
        ]
        return weighed, conflicts

    # --- certain claims that contradict one another ---------------------------------------

    def _without_culprits(self) -> Context:
        """Find which certain claims contradict one another, and return the others' context."""
        question = self.question(self.things, self.base, "")
        left = frozenset(question.rows)
        while not question.holds(left):
            members = smallest(sorted(left), frozenset(), question.holds)
            for member in members:
                if member.claim:
                    self.conflicts.setdefault(member.claim, []).append(tuple(sorted(members)))
            left = left - {member for member in members if member.claim}
        for claim in self.base:
            ground = ground_of_claim(claim)
            found = sets_with(ground, question.rows, question.holds)
            if found:
                self.conflicts[claim.key] = found
        self._tell_every_member()
        clean = [claim for claim in self.base if claim.key not in self.conflicts]
        return Context(self.model, self.things, clean)

    def _tell_every_member(self) -> None:
        """Let every claim that is a member of a set be contradicted by it, also by another's.

        The search for the sets of one claim ends after some tries; what it has not found for a
        claim itself may have been found for its neighbour.
        """
        told = {members for several in self.conflicts.values() for members in several}
        for members in sorted(told, key=lambda members: (len(members), members)):
            for member in members:
                own = self.conflicts.setdefault(member.claim, []) if member.claim else []
                if members not in own and len(own) < MOST_SETS:
                    own.append(members)

    def question(self, things: Sequence[str], claims: Sequence[Claim], tested: str) -> Question:
        """Return the question whether claims about some things can hold, and which rows not."""
        return Question(self.model, things, claims, shape_of(claims), tested)

    # --- one claim ------------------------------------------------------------------------

    def first(self, claim: Claim) -> Verdict:
        """Return the verdict on a claim about a thing of the group, without its clashes, kept."""
        if claim.key not in self._verdicts:
            self._verdicts[claim.key] = self.verdict(claim)
        return self._verdicts[claim.key]

    def verdict(self, claim: Claim) -> Verdict:
        """Return the verdict on one claim, without its clashes."""
        event = event_of(self.model, claim)
        if not event:
            return Verdict(claim, NOT_WEIGHED)
        if claim.key in self.keys:
            if claim.key in self.conflicts:
                return self._contradicted(claim, event)
            return self._possible(claim, event, self.clean, self.clean.alone())
        context = self.context(claim, clean=False)
        held = context.with_claim(claim)
        if not held.holds:
            question = self.question(context.things, [*context.claims, claim], claim.key)
            found = sets_with(ground_of_claim(claim), question.rows, question.holds)
            if found or context.holds:
                self.conflicts[claim.key] = found
                return self._contradicted(claim, event)
            context = self.context(claim, clean=True)
            held = context.with_claim(claim)
        return self._possible(claim, event, context, held)

    def aside(self, claim: Claim) -> frozenset[str]:
        """Return the keys of certain claims that a claim is weighed without."""
        if not self.weigher.one(claim):
            return frozenset((claim.key,))
        return frozenset(
            other.key
            for other in self.weigher.base.get(claim.about, ())
            if other.aspect == claim.aspect and other.part == claim.part
        ) | {claim.key}

    def context(self, claim: Claim, *, clean: bool) -> Context:
        """Return the certain claims that a claim is weighed with, of its own and linked things."""
        things = self.things
        base = [c for c in self.base if not clean or c.key not in self.conflicts]
        if claim.aspect in LINKS and claim.value not in things:
            other = self.weigher.group(claim.value)
            things = tuple(sorted((*things, *other)))
            base = sorted([*base, *self.weigher.held_of(other, clean=clean)], key=ground_of_claim)
        out = self.aside(claim) & {c.key for c in base}
        if not out and things == self.things:
            return self.clean if clean else self.full
        key = (things, out | {"clean"} if clean else out)
        if key not in self._contexts:
            left = [c for c in base if c.key not in out]
            self._contexts[key] = Context(self.model, things, left)
        return self._contexts[key]

    def _contradicted(self, claim: Claim, event: str) -> Verdict:
        because = sorted({row for members in self.conflicts[claim.key] for row in members})
        return Verdict(claim, CONTRADICTED, event, because=tuple(because))

    def _possible(self, claim: Claim, event: str, context: Context, held: Held) -> Verdict:
        number = held.case.index(claim.about, event)
        days = held.days(claim.about, event)
        because = {
            *held.network.why(number, latest=False),
            *held.network.why(number, latest=True),
        }
        placed, rows = self._placed(claim, context, days)
        disputed = self._disputed(claim, context)
        verdict, share = OPEN, None
        if placed:
            verdict = PLACED
            because |= rows
            whole, part = days_in(days), days_in(placed)
            share = round(part / whole, 4) if whole and part is not None else None
        return Verdict(
            claim, verdict, event, days, share, (), tuple(sorted(because)), tuple(disputed)
        )

    def _placed(self, claim: Claim, context: Context, days: Spans) -> tuple[Spans, set[Ground]]:
        """Return the feasible days on which somebody concerned was surely at the place."""
        case = context.case
        if claim.aspect == "place":
            pairs = [(who.value, claim.value) for who in case.people_of(claim.about)]
        elif self.model.binds(claim) and case.bound_to_place(claim):
            pairs = [(claim.value, place.value) for place in case.places_of(claim.about)]
        else:
            return NEVER, set()
        presence = self.model.presence
        found = both(union(*(presence.placed(who, place) for who, place in pairs)), days)
        rows: set[Ground] = set()
        for who, place in pairs if found else ():
            for sure in presence.all_sure(who):
                if (
                    not sure.absent
                    and self.model.geography.inside(sure.where, place)
                    and both(sure.days, found)
                ):
                    rows.update(sure.grounds)
        return found, rows

    def _disputed(self, claim: Claim, context: Context) -> list[Ground]:
        """Return rows of a process or format that do not fit, where others of it do."""
        if claim.aspect not in DATED and claim.aspect not in MADE_BY:
            return []
        made = [c for c in (*context.claims, claim) if c.aspect in MADE_BY and c.value]
        made = [c for c in made if c.about == claim.about]
        several = {c.key: c for c in made if len(self.model.processes.get(c.value, ())) > 1}
        if not several:
            return []
        extra = () if any(c.key == claim.key for c in context.claims) else (claim,)
        held = context.with_claims(extra, claim.key)
        return sorted(
            ground_of(row)
            for c in several.values()
            for row in self.model.processes[c.value]
            if not both(held.days(c.about, MADE_BY[c.aspect]), self.model.range_of(row))
        )

    # --- things ---------------------------------------------------------------------------

    def spans(self, thing: str) -> tuple[Span, ...]:
        """Return the events of a thing that the evidence bounds, by the certain claims."""
        case = self.clean.case
        found = []
        for event in EVENTS:
            number = case.index(thing, event)
            days = case.network.feasible(number)
            if days and (days[0][0] != MIN or days[-1][1] != MAX):
                because = {
                    *case.network.why(number, latest=False),
                    *case.network.why(number, latest=True),
                }
                name = "making" if event == EXPOSURE and thing in case.shape.composites else event
                found.append(Span(name, days, tuple(sorted(because))))
        return tuple(found)
