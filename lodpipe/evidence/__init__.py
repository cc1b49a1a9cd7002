"""The evidence folder: the ledger, the facts, the layout, and what may be seen.

`load` reads the files as they stand; `resolve` makes IRIs of their keys once the documents of a
run are known; `settle` works out what lines of the ledger make of one another.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from lodpipe.aspects import Aspects
from lodpipe.evidence.access import CLAIM, WITHHELD, Access, Named, NoticeText, named, read_access
from lodpipe.evidence.columns import FILES, Folder
from lodpipe.evidence.facts import Evidence
from lodpipe.evidence.keys import Entries, candidates
from lodpipe.evidence.layout import check_layout, read_layout
from lodpipe.evidence.layout_rows import layout_of_rows, rows_of_images, rows_of_layout
from lodpipe.evidence.ledger import certain, claims, compare, sets_of, settle, written
from lodpipe.evidence.read_facts import circles, read_facts
from lodpipe.evidence.resolving import resolve
from lodpipe.evidence.services import Service, ServiceFault, read_service, read_services
from lodpipe.evidence.stays import rows_of_stays, stays_of_rows
from lodpipe.findings import Report
from lodpipe.project import Limits
from lodpipe.records import LayoutRow
from lodpipe.terms import Table

__all__ = [
    "CLAIM",
    "FILES",
    "WITHHELD",
    "Access",
    "Entries",
    "Evidence",
    "Loaded",
    "Named",
    "NoticeText",
    "Service",
    "ServiceFault",
    "candidates",
    "certain",
    "check_layout",
    "circles",
    "compare",
    "layout_of_rows",
    "load",
    "named",
    "read_service",
    "read_services",
    "resolve",
    "rows_of_images",
    "rows_of_layout",
    "rows_of_stays",
    "sets_of",
    "settle",
    "stays_of_rows",
    "written",
]


@dataclass(frozen=True, slots=True)
class Loaded:
    """What the evidence folder holds, keys as written."""

    evidence: Evidence
    access: Access
    layout: tuple[LayoutRow, ...]
    services: Mapping[str, Service] = field(default_factory=dict)


def load(
    path: Path, name: str, *, aspects: Aspects, qualifiers: Table, limits: Limits, report: Report
) -> Loaded:
    """Read all files of the evidence folder; report everything that is wrong with them.

    Args:
        path: the folder; without it there is no evidence. `name`: its path in the project.
        aspects: the table of aspects. `qualifiers`: the table of terms and qualifiers.

    Raises:
        UsageError: a file cannot be read at all.
    """
    folder = Folder(path, name, limits, report)
    folder.report_unknown_files()
    facts = read_facts(folder)
    return Loaded(
        replace(facts, claims=claims(folder, aspects, qualifiers)),
        read_access(folder),
        read_layout(folder),
        read_services(path, name, report),
    )
