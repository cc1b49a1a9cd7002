"""Certain claims about linked things, solved once, against which other claims are held."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from lodpipe.records import Claim
from lodpipe.weigh.case import Case
from lodpipe.weigh.model import DATED, EXPOSURE, MADE_BY, Model
from lodpipe.weigh.network import Limit, Network
from lodpipe.weigh.spans import Spans, both

_ALONE = frozenset((*DATED, *MADE_BY, "depicts", "maker", "sitter"))
"""Aspects that limit one event of the claim's own thing and change nothing else of a case."""


class Held:
    """A claim added to a context: whether it can hold, and the days that are left."""

    def __init__(self, case: Case, network: Network, holds: bool) -> None:
        self.case, self.network, self.holds = case, network, holds

    def days(self, thing: str, event: str) -> Spans:
        """Return the days that an event can have."""
        return self.network.feasible(self.case.index(thing, event))


class Context:
    """Some things and the claims that are taken to hold of them."""

    def __init__(
        self, model: Model, things: Sequence[str], claims: Sequence[Claim], tested: str = ""
    ) -> None:
        self.model, self.things, self.claims, self.tested = model, tuple(things), claims, tested
        self.case = Case(model, things, claims, tested=tested)
        self.holds = self.case.holds()

    def alone(self) -> Held:
        """Return the context without any further claim."""
        return Held(self.case, self.case.network, self.holds)

    def admits(self, claim: Claim) -> bool:
        """Return whether one more claim can hold; the one in question stays what it is."""
        if not self.holds:
            return False
        limits = self._limits(claim, self.tested)
        if limits is None:
            return self.with_claims((claim,), self.tested).holds
        left: dict[int, Spans] = {}
        for limit in limits:
            days = left.get(limit.event) or self.case.network.feasible(limit.event)
            left[limit.event] = both(days, limit.days)
            if not left[limit.event]:
                return False
        return True

    def leaves_all(self, claim: Claim) -> bool:
        """Return whether one more claim, the one in question, takes away no day that is left."""
        limits = self._limits(claim, claim.key) if self.holds else None
        if limits is None:
            return False
        days = self.case.network.feasible
        return all(both(days(limit.event), limit.days) == days(limit.event) for limit in limits)

    def with_claim(self, claim: Claim) -> Held:
        """Return the context with one more claim, which is the one in question."""
        limits = self._limits(claim, claim.key) if self.holds else None
        if limits is None:
            return self.with_claims((claim,), claim.key)
        network = self.case.network.narrowed(limits)
        return Held(self.case, network, all(network.days[limit.event] for limit in limits))

    def with_claims(self, claims: Iterable[Claim], tested: str = "") -> Held:
        """Return the context with more claims, solved as a whole."""
        case = Case(self.model, self.things, [*self.claims, *claims], tested=tested)
        return Held(case, case.network, case.holds())

    def _limits(self, claim: Claim, tested: str) -> list[Limit] | None:
        """Return what a claim limits, None when it does more than limit one event of its thing."""
        if claim.aspect == "place":
            if self.case.sessions.among(claim.about):
                return None
            people = self.case.people_of(claim.about)
            return [limit for who in people if (limit := self.case.meeting(who, claim))]
        if claim.aspect not in _ALONE or (
            # another sitter may make a picture one of several sitters, and then less is known
            claim.aspect == "sitter" and self.case.borrows_sitters
        ):
            return None
        self.case.tested = tested
        limits = list(self.case.limits_of(claim))
        self.case.tested = self.tested
        if self.model.binds(claim):
            places = self.case.places_of(claim.about)
            limits += [limit for place in places if (limit := self.case.meeting(claim, place))]
        return limits


def assumed(claim: Claim) -> Claim:
    """Return a claim as if it were held now and without doubt."""
    return replace(claim, standing="current", effective="current", alternative_to="")


def event_of(model: Model, claim: Claim) -> str:
    """Return the event that a claim is weighed on: of a place and of links too."""
    if claim.aspect in MADE_BY and claim.aspect != "process":
        return ""  # a format bounds the mount, but is not weighed itself
    return model.event(claim) or (EXPOSURE if claim.aspect == "place" and claim.value else "")
