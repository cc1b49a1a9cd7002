"""Weighing in a run: what the evidence makes of each claim, and what the report says of it."""

from typing import Any

from lodpipe import evidence
from lodpipe.dates import iso_day
from lodpipe.findings import VIOLATION, WARNING, Finding
from lodpipe.project import Project
from lodpipe.records import Claim, Place
from lodpipe.weigh import CONTRADICTED, NOT_WEIGHED, Verdict, Weighing, weigh
from lodpipe.weigh.grounds import Ground


def weighing_of(
    project: Project, facts: evidence.Evidence, claims: tuple[Claim, ...]
) -> Weighing | None:
    """Weigh the claims of a project; None where there is nothing to weigh them against."""
    weighable = facts.people or facts.whereabouts or facts.processes or facts.things
    if not weighable and all(claim.mapped for claim in claims):
        return None
    return weigh(facts, claims, evidence.shipped_aspects(), circa_years=project.dates.circa_years)


def verdicts_of(project: Project, weighed: Weighing | None) -> dict[str, dict[str, Any]]:
    """Return the verdict on each weighed claim as JSON values, by the key of the claim."""
    if weighed is None:
        return {}
    return {
        verdict["claim"]: verdict
        for thing in weighed.to_json(project.site.base)["things"]
        for verdict in thing["claims"]
        if verdict["verdict"] != NOT_WEIGHED
    }


def findings_of(project: Project, weighed: Weighing | None) -> list[Finding]:
    """Return what the report says: claims without a day left, facts at odds with one another."""
    if weighed is None:
        return []
    found = []
    apart = evidence.sets_of(
        [verdict.claim for thing in weighed.things for verdict in thing.claims]
    )
    for thing in weighed.things:
        for verdict in thing.claims:
            if verdict.verdict == CONTRADICTED and verdict.claim.effective == "current":
                certain = evidence.certain(verdict.claim, apart)
                found.append(_contradicted(verdict, certain, project.site.base))
    for conflict in weighed.evidence_conflicts:
        days = ", ".join(
            iso_day(first) if first == last else f"{iso_day(first)} to {iso_day(last)}"
            for first, last in conflict.days[:3]
        )
        found.append(
            Finding(
                "evidence-conflict",
                f"the facts about `{conflict.who.removeprefix(project.site.base)}` "
                f"contradict one another on {days}: {_rows(conflict.members)}",
                _place(conflict.members),
                value=conflict.who,
                hint="nothing is concluded from them for these days; look at the sources",
            )
        )
    return found


def _contradicted(verdict: Verdict, certain: bool, base: str) -> Finding:
    claim = verdict.claim
    return Finding(
        "contradicted",
        f"the claim `{claim.key}` ({claim.aspect} "
        f"`{claim.value.removeprefix(base) or claim.value_text}`) cannot hold: "
        + _rows(verdict.because),
        claim.place,
        severity=VIOLATION if certain else WARNING,
        value=claim.value or claim.value_text,
        hint="give it up with a line that replaces it, qualify it, or look at the facts",
        uri=claim.about,
    )


def _rows(members: tuple[Ground, ...]) -> str:
    return ", ".join(f"{ground.file} row {ground.row}" for ground in members)


def _place(members: tuple[Ground, ...]) -> Place | None:
    first = members[0] if members else None
    return Place(first.file, first.row, sheet=first.sheet) if first else None
