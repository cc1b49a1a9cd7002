"""Guesses that a claim cannot hold together with: what a historian has to give up for it."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from lodpipe.records import Claim
from lodpipe.weigh.conflicts import sets_with
from lodpipe.weigh.context import Context
from lodpipe.weigh.grounds import ground_of_claim
from lodpipe.weigh.model import LINKS, MADE_BY
from lodpipe.weigh.results import CONTRADICTED, NOT_WEIGHED, OPEN, PLACED, Verdict

if TYPE_CHECKING:
    from lodpipe.weigh.verdicts import Group


class Clashes:
    """Finds them for the claims about a group of linked things."""

    def __init__(self, group: "Group") -> None:
        self._group = group
        self._refuting: dict[str, set[str] | None] = {}
        self._beside_key: tuple[str, frozenset[str], tuple[str, ...]] | None = None
        self._beside = group.clean

    def told(self, verdict: Verdict) -> Verdict:
        """Return a verdict with the guesses that its claim cannot hold together with."""
        if verdict.verdict not in (OPEN, PLACED):
            return verdict
        claim = verdict.claim
        keys = tuple(
            other.key
            for other in self._guesses_near(claim)
            if self._may_clash(claim, other) and self._clash(claim, other)
        )
        return replace(verdict, clashes_with=keys) if keys else verdict

    def _guesses_near(self, claim: Claim) -> Iterable[Claim]:
        """Yield guesses about the things that a claim bears on, or that lead to one of these."""
        things = self._group.context(claim, clean=True).things
        for thing in things:
            yield from self._group.weigher.guesses_of(thing)
        for thing in things:
            for other in self._group.weigher.guessed.get(thing, ()):
                if other.about not in things:
                    yield other

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
        refuting = self._group.weigher.grouped(other.about).clashes.refuting(other)
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
