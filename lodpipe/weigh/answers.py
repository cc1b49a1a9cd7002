"""The answers to a historian's questions as JSON values."""

from collections.abc import Callable
from functools import partial
from typing import Any

from lodpipe.iris import key_of
from lodpipe.weigh.questions import (
    About,
    Argument,
    Assumption,
    Change,
    Gap,
    OpenQuestion,
    WithoutSource,
)
from lodpipe.weigh.results import because_json, days_json, members_of, verdict_json

Shorten = Callable[[str], str]
Answer = About | Argument | WithoutSource | Assumption | tuple[OpenQuestion, ...]


def to_json(answer: Answer, base: str) -> Any:
    """Return an answer as JSON values; documents under `base` by their path."""
    short = partial(_short, base)
    match answer:
        case About():
            return _about(answer, short)
        case Argument():
            return _argument(answer, short)
        case WithoutSource():
            return _without_source(answer, short)
        case Assumption():
            return _assumption(answer, short)
    return [_open(question, short) for question in answer]


def _short(base: str, iri: str) -> str:
    return key_of(base, iri) or iri


def _about(answer: About, short: Shorten) -> dict[str, Any]:
    return {
        "about": short(answer.about),
        "spans": {
            span.event: {
                "days": days_json(span.days),
                "because": because_json(span.because, short),
            }
            for span in answer.spans
        },
        "claims": [verdict_json(verdict, short) for verdict in answer.claims],
        "candidates": [
            {"who": short(one.who), **_without_key(verdict_json(one.verdict, short))}
            for one in answer.candidates
        ],
    }


def _argument(answer: Argument, short: Shorten) -> dict[str, Any]:
    return {
        "about": short(answer.about),
        "claim": verdict_json(answer.claim, short),
        "counter": [verdict_json(verdict, short) for verdict in answer.counter],
        "deciding": because_json(answer.deciding, short),
        "excluded": {
            key: [members_of(members) for members in sets] for key, sets in answer.excluded.items()
        },
        "gaps": [_gap(gap, short) for gap in answer.gaps],
    }


def _without_source(answer: WithoutSource, short: Shorten) -> dict[str, Any]:
    return {
        "source": short(answer.source),
        "rows": members_of(answer.rows),
        "groundless": list(answer.groundless),
        "changes": [_change(change, short) for change in answer.changes],
    }


def _assumption(answer: Assumption, short: Shorten) -> dict[str, Any]:
    return {
        **_without_key(verdict_json(answer.verdict, short)),
        "conflicts": [members_of(members) for members in answer.conflicts],
        "changes": [_change(change, short) for change in answer.changes],
    }


def _open(question: OpenQuestion, short: Shorten) -> dict[str, Any]:
    return {
        "about": short(question.verdict.claim.about),
        **verdict_json(question.verdict, short),
        "gaps": [_gap(gap, short) for gap in question.gaps],
    }


def _without_key(found: dict[str, Any]) -> dict[str, Any]:
    del found["claim"]
    return found


def _gap(gap: Gap, short: Shorten) -> dict[str, Any]:
    found: dict[str, Any] = {"kind": gap.kind, "days": days_json(gap.days)}
    if gap.who:
        found["who"] = short(gap.who)
    if gap.where:
        found["place"] = short(gap.where)
    return found


def _change(change: Change, short: Shorten) -> dict[str, Any]:
    return {
        "claim": change.claim,
        "about": short(change.about),
        "before": change.before and change.before.verdict,
        "after": change.after and change.after.verdict,
        "feasible": days_json(change.after.feasible) if change.after else [],
    }
