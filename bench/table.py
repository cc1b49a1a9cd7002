"""The one table that `make bench` prints."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One line: what was measured, what came out, and what it is held against (a limit, a ratio)."""

    what: str
    measured: str
    against: str = ""


def show(rows: Iterable[Row]) -> None:
    """Print rows as they come: a measurement may take minutes."""
    for row in rows:
        print(f"{row.what:<44} {row.measured:<34} {row.against}", flush=True)
