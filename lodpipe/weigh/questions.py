"""The questions that a historian asks of the evidence, answered as data.

Who could have made it, and who not, by which fact. What speaks for a claim and what against it,
and what would decide if it were known. What falls without one source. What would follow if
something held. Which questions are open, and where the gap is that leaves them open.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from lodpipe.aspects import Aspects
from lodpipe.evidence import Evidence
from lodpipe.records import Claim
from lodpipe.weigh.context import event_of
from lodpipe.weigh.grounds import Ground, ground_of
from lodpipe.weigh.model import EXPOSURE, Model
from lodpipe.weigh.results import (
    CONTRADICTED,
    OPEN,
    PLACED,
    Span,
    Verdict,
)
from lodpipe.weigh.spans import Spans, minus
from lodpipe.weigh.verdicts import Weigher

ASSUMED = "assumed"
_PEOPLE = ("maker", "sitter")


@dataclass(frozen=True, slots=True)
class Gap:
    """What is not known and would decide a claim if it were.

    Attributes:
        kind: `whereabouts` (where `who` was on these days), `place` (where it was exposed) or
            `date` (when).
        where: the place that it would be held against.
    """

    kind: str
    who: str = ""
    where: str = ""
    days: Spans = ()


@dataclass(frozen=True, slots=True)
class Candidate:
    """Somebody who could have made a thing, or could not; `because` names the rows."""

    who: str
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class About:
    """What the evidence says of one thing."""

    about: str
    spans: tuple[Span, ...]
    claims: tuple[Verdict, ...]
    candidates: tuple[Candidate, ...]


@dataclass(frozen=True, slots=True)
class Argument:
    """Claim and counter-claims, the rows that decide, and what would decide if it were known.

    `excluded` leads from a counter-claim's key to its smallest sets of rows that cannot all hold.
    """

    about: str
    claim: Verdict
    counter: tuple[Verdict, ...]
    deciding: tuple[Ground, ...]
    excluded: dict[str, tuple[tuple[Ground, ...], ...]]
    gaps: tuple[Gap, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """How the verdict on a claim changes; None where the claim is not there."""

    claim: str
    about: str
    before: Verdict | None
    after: Verdict | None


@dataclass(frozen=True, slots=True)
class WithoutSource:
    """What falls without a source: rows that no longer count, claims without grounds, verdicts."""

    source: str
    rows: tuple[Ground, ...]
    groundless: tuple[str, ...]
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Assumption:
    """What follows if something held: the verdict on it, and on what it changes."""

    verdict: Verdict
    conflicts: tuple[tuple[Ground, ...], ...]
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """A claim that the evidence leaves open, and the gaps that leave it open."""

    verdict: Verdict
    gaps: tuple[Gap, ...]


class Questions:
    """Answers about the things of a project.

    Args:
        evidence: resolved facts. `claims`: settled claims.
    """

    def __init__(
        self, evidence: Evidence, claims: Iterable[Claim], aspects: Aspects, circa_years: int = 5
    ) -> None:
        self.evidence, self.claims = evidence, tuple(claims)
        self.aspects, self.circa_years = aspects, circa_years
        self.weigher = self._weigher(self.claims)

    def _weigher(self, claims: Iterable[Claim], withdrawn: Iterable[str] = ()) -> Weigher:
        return Weigher(Model(self.evidence, self.aspects, self.circa_years, withdrawn), claims)

    def thing(self, about: str) -> About:
        """Return what can be said of a thing: its days, its claims, and who could have made it."""
        weighing = self.weigher.all((about,))
        weighed = next((thing for thing in weighing.things if thing.about == about), None)
        people = sorted(being.key for being in self.evidence.people if being.kind == "person")
        group = self.weigher.grouped(about)
        candidates = []
        for who in people:
            asked = Claim(ASSUMED, about, "maker", who, role="photographer", by=who)
            verdict = group.verdict(asked)
            rows = tuple(row for row in verdict.because if row.file)
            candidates.append(Candidate(who, replace(verdict, because=rows)))
        return About(
            about,
            weighed.spans if weighed else (),
            weighed.claims if weighed else (),
            tuple(candidates),
        )

    def argument(self, about: str, aspect: str = "maker") -> Argument | None:
        """Return the case for the view that is held of a thing, None when nobody holds one.

        The claim is the certain current one, or else the first that is current or proposed.
        """
        weighing = self.weigher.all((about,))
        verdicts = [
            verdict
            for thing in weighing.things
            if thing.about == about
            for verdict in thing.claims
            if verdict.claim.aspect == aspect
        ]
        order = {"current": 0, "proposed": 2}
        held = sorted(
            (v for v in verdicts if v.claim.effective in order),
            key=lambda v: (order[v.claim.effective] + bool(v.claim.qualifier), v.claim.key),
        )
        if not held:
            return None
        claim = held[0]
        counter = tuple(v for v in verdicts if v is not claim and v.event == claim.event)
        sets = {
            v.claim.key: tuple(c.members for c in weighing.conflicts if c.claim == v.claim.key)
            for v in verdicts
            if v.verdict == CONTRADICTED
        }
        deciding = {row for v in (claim, *counter) if v.verdict != OPEN for row in v.because}
        gaps = dict.fromkeys(gap for v in (claim, *counter) for gap in self.gaps(v))
        return Argument(about, claim, counter, tuple(sorted(deciding)), sets, tuple(gaps))

    def without_source(self, source: str) -> WithoutSource:
        """Return what falls when a source no longer counts."""
        before = self.weigher.all().verdicts()
        other = self._weigher(self.claims, (source,))
        after = other.all().verdicts()
        rows = {
            ground_of(row)
            for rows in (
                self.evidence.people, self.evidence.membership, self.evidence.whereabouts,
                self.evidence.things, self.evidence.processes,
            )
            for row in rows
            if source in row.sources and other.model.void(row.sources)
        }  # fmt: skip
        groundless = [
            claim.key
            for claim in self.claims
            if source in claim.sources and other.model.groundless(claim)
        ]
        changes = tuple(_changes(before, after))
        return WithoutSource(source, tuple(sorted(rows)), tuple(groundless), changes)

    def assume(self, about: str, aspect: str, value: str) -> Assumption:
        """Return what follows if a thing had this value of an aspect, certainly and now.

        Of an aspect that takes one value, the claims that are held now are set aside.
        """
        asked = Claim(ASSUMED, about, aspect, value, by=about, basis=ASSUMED)
        one = self.aspects.by_name[aspect].one
        others = [
            replace(claim, effective="former")
            if one and claim.about == about and claim.aspect == aspect
            else claim
            for claim in self.claims
        ]
        other = self._weigher([*others, asked])
        group = other.group(about)
        weighing = other.all(group)
        before = self.weigher.all(group).verdicts()
        after = weighing.verdicts()
        verdict = after.pop(ASSUMED)
        return Assumption(
            replace(verdict, because=tuple(row for row in verdict.because if row.file)),
            tuple(
                tuple(row for row in conflict.members if row.file)
                for conflict in weighing.conflicts
                if conflict.claim == ASSUMED
            ),
            tuple(_changes(before, after)),
        )

    def open(self) -> tuple[OpenQuestion, ...]:
        """Return the claims held or proposed now that the evidence leaves open, with the gaps."""
        found = []
        for thing in self.weigher.all().things:
            for verdict in thing.claims:
                held = verdict.claim.effective in ("current", "proposed")
                if held and verdict.verdict == OPEN and verdict.claim.aspect in (*_PEOPLE, "place"):
                    gaps = self.gaps(verdict)
                    if gaps:
                        found.append(OpenQuestion(verdict, gaps))
        return tuple(found)

    def gaps(self, verdict: Verdict) -> tuple[Gap, ...]:
        """Return what would decide a claim if it were known; nothing for one that is decided."""
        claim, model = verdict.claim, self.weigher.model
        if verdict.verdict not in (OPEN, PLACED) or event_of(model, claim) != EXPOSURE:
            return ()
        case = self.weigher.grouped(claim.about).clean.case
        if claim.aspect == "place":
            pairs = [(who.value, claim.value) for who in case.people_of(claim.about)]
        elif model.binds(claim):
            pairs = [(claim.value, place.value) for place in case.places_of(claim.about)]
        else:
            return ()
        found = [
            Gap("whereabouts", who, place, days)
            for who, place in pairs
            if (days := minus(verdict.feasible, model.presence.placed(who, place)))
        ]
        if claim.aspect != "place" and not pairs:
            found.append(Gap("place", claim.value, "", verdict.feasible))
        if not any(c.aspect == "date" for c in case.claims if c.about == claim.about):
            found.append(Gap("date", "", "", verdict.feasible))
        return tuple(found)


def _changes(before: dict[str, Verdict], after: dict[str, Verdict]) -> Iterator[Change]:
    for key in sorted({*before, *after}):
        old, new = before.get(key), after.get(key)
        if _said(old) != _said(new):
            claim = (new or old).claim  # type: ignore[union-attr]  # one of them is there
            yield Change(key, claim.about, old, new)


def _said(verdict: Verdict | None) -> Any:
    return verdict and (verdict.verdict, verdict.feasible, verdict.share, verdict.clashes_with)
