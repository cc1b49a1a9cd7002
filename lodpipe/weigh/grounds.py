"""Rows that a verdict rests on: ledger lines and rows of the evidence, by file and row."""

from dataclasses import dataclass
from typing import Protocol

from lodpipe.records import Claim, Place


class Sourced(Protocol):
    """A row of the evidence that names its sources."""

    @property
    def place(self) -> Place:
        """Return where it stands."""

    @property
    def sources(self) -> tuple[str, ...]:
        """Return what it was taken from."""


@dataclass(frozen=True, slots=True, order=True)
class Ground:
    """One row: `file` relative to the project, `row` its line there, the claim's key if it is one.

    Rows are in the order of file and row; that is also the order of conflict sets.
    """

    file: str
    row: int
    sheet: str = ""
    claim: str = ""
    sources: tuple[str, ...] = ()


def ground_of(fact: Sourced) -> Ground:
    """Return the row of a fact."""
    place = fact.place
    return Ground(place.file, place.line, place.sheet, "", fact.sources)


def ground_of_claim(claim: Claim) -> Ground:
    """Return the row of a claim; a claim that a mapping made stands where its record stands."""
    place = claim.place or Place("")
    return Ground(place.file, place.line, place.sheet, claim.key, claim.sources)
