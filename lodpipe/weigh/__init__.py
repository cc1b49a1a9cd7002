"""Weighing claims against the evidence: pure, and without a word of its own."""

from lodpipe.weigh.answers import to_json
from lodpipe.weigh.findings_ import fits, report_weighing
from lodpipe.weigh.questions import Questions
from lodpipe.weigh.results import (
    CONTRADICTED,
    NOT_WEIGHED,
    OPEN,
    PLACED,
    Conflict,
    EvidenceConflict,
    Span,
    Verdict,
    Weighed,
    Weighing,
)
from lodpipe.weigh.verdicts import weigh

__all__ = [
    "CONTRADICTED",
    "NOT_WEIGHED",
    "OPEN",
    "PLACED",
    "Conflict",
    "EvidenceConflict",
    "Questions",
    "Span",
    "Verdict",
    "Weighed",
    "Weighing",
    "fits",
    "report_weighing",
    "to_json",
    "weigh",
]
