"""The books of a run: every record and every document in exactly one state."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from lodpipe.errors import NotFinishedError
from lodpipe.findings import SEVERITIES, Finding

RECORD_STATES = ("mapped", "unreadable", "duplicate")


@dataclass(slots=True)
class Books:
    """Counts that must add up.

    `read` is what the readers handed out; `records` books each of those once. `documents` books
    every document of this or the last release, `known` is their number, counted on its own.
    """

    read: int = 0
    records: Counter[str] = field(default_factory=Counter)
    known: int = 0
    documents: dict[str, int] = field(default_factory=dict)

    def balance(self) -> None:
        """Check both sums.

        Raises:
            NotFinishedError: they do not add up, so something was lost on the way; a bug of ours.
        """
        for what, counted, booked in (
            ("records", self.read, sum(self.records.values())),
            ("documents", self.known, sum(self.documents.values())),
        ):
            if counted != booked:
                raise NotFinishedError(
                    f"the books do not balance: {counted} {what}, {booked} of them booked",
                    hint="this is a fault of lodpipe, please report it; nothing was released",
                )

    def to_json(self) -> dict[str, dict[str, int]]:
        """Return the counts by record state and document state."""
        return {
            "records": {state: self.records[state] for state in RECORD_STATES},
            "documents": dict(self.documents),
        }


Kind = tuple[str, str, str]
"""Severity, code, and the message where one code has many: what is told once, with a count."""


@dataclass(slots=True)
class Tally:
    """Findings counted by kind, with a few of each kept as examples: memory stays bounded.

    `varied` are the kinds whose findings do not all say the same.
    """

    examples_each: int = 3
    counts: Counter[Kind] = field(default_factory=Counter)
    examples: dict[Kind, list[Finding]] = field(default_factory=dict)
    varied: set[Kind] = field(default_factory=set)

    def add(self, findings: Iterable[Finding]) -> None:
        """Count findings."""
        for finding in findings:
            kind = (finding.severity, finding.code, finding.message if finding.rule else "")
            self.counts[kind] += 1
            kept = self.examples.setdefault(kind, [])
            if kept and kept[0].message != finding.message:
                self.varied.add(kind)
            if len(kept) < self.examples_each:
                kept.append(finding)

    def worst_first(self) -> list[tuple[Kind, int]]:
        """Return kinds and counts, worst severity first, then most frequent."""
        return sorted(
            self.counts.items(),
            key=lambda row: (SEVERITIES.index(row[0][0]), -row[1], row[0]),
        )

    def of(self, severity: str) -> int:
        """Return how many findings have a severity."""
        return sum(count for (known, _, _), count in self.counts.items() if known == severity)
