"""Guesses that a claim cannot hold together with: what a historian has to give up for it."""

import weakref
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from lodpipe.records import Claim
from lodpipe.weigh.conflicts import sets_with
from lodpipe.weigh.context import Context
from lodpipe.weigh.grounds import ground_of_claim
from lodpipe.weigh.model import LINKS, MADE_BY
from lodpipe.weigh.results import CONTRADICTED, NOT_WEIGHED, OPEN, PLACED, Verdict

if TYPE_CHECKING:
    from lodpipe.weigh.verdicts import Group


_MEETING = frozenset(("maker", "sitter", "place"))
_CHANGING = frozenset(("copy_of", "composed_of", "same_session_as", "same_sitter_as"))


@dataclass(slots=True)
class _Guesses:
    """The guesses about a group, and their numbers sorted by what they may clash with.

    Attributes:
        refuted_by: the guesses that a certain claim refutes. `always`: what is refuted, or does
            more than add to the certain claims. `busy`: what takes days away.
        places: and `people`, by session: they bear on each other.
    """

    all: list[Claim]
    refuted_by: dict[str, list[Claim]] = field(default_factory=dict)
    always: list[int] = field(default_factory=list)
    busy: list[int] = field(default_factory=list)
    places: dict[str, list[int]] = field(default_factory=dict)
    people: dict[str, list[int]] = field(default_factory=dict)


class Clashes:
    """Finds them for the claims about a group of linked things."""

    def __init__(self, group: "Group") -> None:
        # a weak one: in a circle of references a hundred thousand groups would wait for the
        # garbage collector
        self._group: Group = weakref.proxy(group)
        self._refuting: dict[str, set[str] | None] = {}
        self._beside_key: tuple[str, frozenset[str], tuple[str, ...]] | None = None
        self._beside = group.clean
        self._first = group.clean.case.first
        self._known: _Guesses | None = None

    def told(self, verdict: Verdict) -> Verdict:
        """Return a verdict with the guesses that its claim cannot hold together with."""
        if verdict.verdict not in (OPEN, PLACED):
            return verdict
        claim = verdict.claim
        keys = tuple(
            other.key
            for other in self._near(claim)
            if self._may_clash(claim, other) and self._clash(claim, other)
        )
        return replace(verdict, clashes_with=keys) if keys else verdict

    # --- which guesses are worth a look ----------------------------------------------------

    def _near(self, claim: Claim) -> Iterable[Claim]:
        """Return the guesses that may clash with a claim, in order.

        A guess that can hold with all certain claims can hold with each of them. And of two
        claims that only add to the certain ones, one that takes no day away does not keep the
        other from holding, unless they bear on each other: a person and a place of one session.
        """
        if claim.aspect in LINKS and claim.value not in self._first:
            return self._guesses(self._group.context(claim, clean=True).things)
        sorted_out = self._sorted_out()
        if claim.key in self._group.keys:
            return sorted_out.refuted_by.get(claim.key, ())
        if not self._adds(claim):
            return sorted_out.all
        root = self._root(claim)
        numbers = set(sorted_out.always)
        if claim.aspect in _MEETING:
            numbers.update(sorted_out.places.get(root, ()))
        if claim.aspect == "place":
            numbers.update(sorted_out.people.get(root, ()))
        if not self._idle(claim):
            numbers.update(sorted_out.busy)
        return [sorted_out.all[number] for number in sorted(numbers)]

    def _guesses(self, things: Collection[str]) -> list[Claim]:
        """Return the guesses about things, and those that lead to one of these from outside."""
        weigher = self._group.weigher
        here = [other for thing in things for other in weigher.guesses_of(thing)]
        leading = [other for thing in things for other in weigher.guessed.get(thing, ())]
        return [*here, *(other for other in leading if other.about not in set(things))]

    def _sorted_out(self) -> "_Guesses":
        if self._known is None:
            self._known = known = _Guesses(self._guesses(self._group.things))
            for number, guess in enumerate(known.all):
                refuting = self._group.weigher.refuting(guess)
                for key in refuting or ():
                    known.refuted_by.setdefault(key, []).append(guess)
                if refuting is not None or not self._adds(guess):
                    known.always.append(number)
                elif not self._idle(guess):
                    known.busy.append(number)
                if guess.aspect in _MEETING:
                    meeting = known.places if guess.aspect == "place" else known.people
                    meeting.setdefault(self._root(guess), []).append(number)
        return self._known

    def _root(self, claim: Claim) -> str:
        return self._group.clean.case.sessions.root(claim.about)

    def _adds(self, claim: Claim) -> bool:
        """Return whether a claim adds to the certain ones about the group and sets none aside.

        What makes something a copy, or a picture of one session or sitter, changes what others
        mean.
        """
        return (
            claim.about in self._first
            and claim.aspect not in _CHANGING
            and not (claim.aspect == "sitter" and self._group.clean.case.borrows_sitters)
            and not self._group.aside(claim) & self._group.keys
            and (claim.aspect not in LINKS or claim.value in self._first)
        )

    def _idle(self, claim: Claim) -> bool:
        """Return whether a claim that adds takes away no day that the certain ones leave."""
        return self._group.clean.leaves_all(claim)

    def _may_clash(self, claim: Claim, other: Claim) -> bool:
        """Return whether a guess is neither the claim itself nor a rival of it by nature."""
        if other.key == claim.key:
            return False
        rivals = (
            claim.about == other.about
            and claim.aspect == other.aspect
            and claim.part == other.part
            and self._group.weigher.one(claim)
        )
        sets = self._group.weigher.sets
        alternatives = claim.key in sets and sets[claim.key] == sets.get(other.key)
        return not rivals and not alternatives

    def _clash(self, claim: Claim, other: Claim) -> bool:
        refuting = self._group.weigher.refuting(other)
        if refuting is not None:  # what is refuted anyway clashes with what refutes it
            return claim.key in refuting
        return not self._together(claim, other)

    def refuting(self, guess: Claim) -> set[str] | None:
        """Return the claims that refute a guess with the evidence, None when it may hold."""
        if guess.key not in self._refuting:
            self._refuting[guess.key] = self._find_refuting(guess)
        return self._refuting[guess.key]

    def _find_refuting(self, guess: Claim) -> set[str] | None:
        verdict = self._group.first(guess).verdict
        sets = self._group.conflicts.get(guess.key, [])
        if verdict == NOT_WEIGHED:
            if guess.aspect not in MADE_BY or not guess.value:
                return set()
            context = self._group.context(guess, clean=True)
            if context.with_claim(guess).holds:
                return None
            question = self._group.question(context.things, [*context.claims, guess], guess.key)
            sets = sets_with(ground_of_claim(guess), question.rows, question.holds)
        elif verdict != CONTRADICTED:
            return None
        return {member.claim for members in sets for member in members if member.claim}

    def _together(self, claim: Claim, other: Claim) -> bool:
        """Return whether two claims can hold at once, with the certain ones."""
        context = self._group.context(claim, clean=True)
        out = self._group.aside(other) & {c.key for c in context.claims}
        more = [
            thing
            for thing in (other.about, other.value if other.aspect in LINKS else other.about)
            if thing not in context.things
        ]
        key = (claim.key, out, tuple(more))
        if key != self._beside_key:
            self._beside_key = key
            self._beside = self._with_first(claim, context, out, more)
        return self._beside.admits(other)

    def _with_first(
        self, claim: Claim, context: Context, out: frozenset[str], more: Sequence[str]
    ) -> Context:
        """Return what the first of two claims is held with, and the claim itself."""
        things = set(context.things)
        left = [c for c in context.claims if c.key not in out]
        for thing in more:
            if thing not in things:
                group = self._group.weigher.group(thing)
                things.update(group)
                left.extend(self._group.weigher.held_of(group, clean=True))
        left = [*sorted(left, key=ground_of_claim), claim]
        return Context(self._group.model, sorted(things), left, tested=claim.key)
