"""Weighing as one step of a run: verdicts for the archive, findings for the report."""

from typing import Any

from lodpipe import evidence
from lodpipe.aspects import builtin_aspects
from lodpipe.findings import Finding
from lodpipe.project import Project
from lodpipe.records import Claim
from lodpipe.weigh import NOT_WEIGHED, Weighing, report_weighing, weigh


def weighing_of(
    project: Project, facts: evidence.Evidence, claims: tuple[Claim, ...]
) -> Weighing | None:
    """Weigh the claims of a project; None where there is nothing to weigh them against."""
    weighable = facts.people or facts.whereabouts or facts.processes or facts.things
    if not weighable and all(claim.mapped for claim in claims):
        return None
    return weigh(facts, claims, builtin_aspects(), circa_years=project.dates.circa_years)


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


def findings_of(weighed: Weighing | None) -> list[Finding]:
    """Return what the report says: claims without a day left, facts at odds with one another."""
    found: list[Finding] = []
    if weighed is not None:
        report_weighing(weighed, found.append)
    return found
