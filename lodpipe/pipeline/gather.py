"""The first half of a run without the rest: documents united, evidence resolved, claims settled.

Weighing and the checks of a new claim need the project as it stands, not a release.
"""

import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from lodpipe import evidence
from lodpipe.findings import Finding
from lodpipe.parts import IndexReader
from lodpipe.pipeline.barrier import Barrier, barrier
from lodpipe.pipeline.books import Books
from lodpipe.pipeline.first_pass import first_pass
from lodpipe.pipeline.progress import Clock, Silent, Watcher
from lodpipe.pipeline.workshop import Workshop
from lodpipe.records import Claim


@dataclass(frozen=True, slots=True)
class Gathered:
    """A project as it stands.

    Attributes:
        facts: resolved evidence. `claims`: settled claims, written and mapped.
        index: of all documents. `findings`: what was found on the way.
        middle: everything else that the barrier left, such as finished documents.
    """

    facts: evidence.Evidence
    claims: tuple[Claim, ...]
    index: IndexReader
    findings: tuple[Finding, ...]
    middle: Barrier


@contextmanager
def gather(shop: Workshop, watcher: Watcher | None = None) -> Iterator[Gathered]:
    """Read, map and unite a project in a temporary folder; the index lives as long as the block."""
    shop.check_mappings()
    clock = Clock(watcher or Silent())
    books = Books()
    found: list[Finding] = []
    with tempfile.TemporaryDirectory() as folder:
        loaded = shop.evidence(found.append)
        first = first_pass(shop, Path(folder), books, clock)
        path = Path(folder) / "index.sqlite"
        today = datetime.now(UTC).date().isoformat()  # nothing of this is released
        middle = barrier(shop, loaded, found, first.parts, path, books, clock, today)
        findings = (*first.findings, *middle.findings)
        with closing(IndexReader(middle.index)) as index:
            yield Gathered(middle.facts, middle.claims, index, findings, middle)
