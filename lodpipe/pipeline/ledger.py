"""`lodpipe claim add`: one line more for the ledger, checked against the project before it is written."""

import shutil
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path, PurePath

from lodpipe import evidence, workspace
from lodpipe.archive import Archive
from lodpipe.aspects import builtin_aspects
from lodpipe.errors import ManyErrors, UsageError
from lodpipe.findings import VIOLATION, Finding
from lodpipe.pipeline.gather import gather
from lodpipe.pipeline.workshop import Workshop, open_workshop
from lodpipe.project import Project
from lodpipe.records import Claim, Entry

LEDGER = "claims.csv"
COLUMNS = (
    "claim", "about", "aspect", "role", "value", "value_text", "part", "qualifier", "standing",
    "by", "on", "basis", "sources", "replaces", "alternative_to",
)  # fmt: skip


def add_claim(project: Project, values: Mapping[str, str]) -> str:
    """Append one claim to the ledger of a project.

    Args:
        values: by column of the ledger; without `claim` the line gets the next free key.

    Returns:
        The key of the line.

    Raises:
        ManyErrors: the line breaks rules; nothing was written.
        UsageError: the ledger cannot be read.
        NotFinishedError: it cannot be written.
    """
    shop = open_workshop(project)
    path = project.folder / project.evidence.folder / LEDGER
    line = {name: value for name, value in values.items() if value}
    line.setdefault("claim", _free_key(shop))
    text = workspace.ledger_text(path, COLUMNS, line)
    faults = [
        UsageError(finding.message, hint=finding.hint, where=str(finding.place or ""))
        for finding in _findings_of(shop, path, text, line["claim"])
    ]
    if faults:
        raise ManyErrors(faults)
    workspace.append_line(path, COLUMNS, line)
    return line["claim"]


def _findings_of(shop: Workshop, path: Path, text: str, key: str) -> Iterator[Finding]:
    """Yield the violations that the ledger has with the new line and did not have without it."""
    with tempfile.TemporaryDirectory() as folder:
        trial = Path(folder) / path.parent.name
        if path.parent.is_dir():
            shutil.copytree(path.parent, trial)
        trial.mkdir(exist_ok=True)
        before = set(map(_mark, _check(shop, trial)))
        (trial / LEDGER).write_text(text, encoding="utf-8", newline="")
        for finding in _check(shop, trial):
            if _mark(finding) not in before:
                yield finding


def _mark(finding: Finding) -> tuple[str, str, str]:
    return finding.code, finding.message, str(finding.place or "")


def _check(shop: Workshop, folder: Path) -> list[Finding]:
    found: list[Finding] = []
    aspects = builtin_aspects()
    loaded = evidence.load(
        folder,
        shop.project.evidence.folder,
        aspects=aspects,
        qualifiers=shop.table("qualifiers"),
        limits=shop.project.limits,
        report=found.append,
    )
    entries, mapped = _known(shop)
    resolved = evidence.resolve(
        loaded.evidence,
        shop.project.site.base,
        lambda: entries,
        shop.concepts,
        aspects,
        found.append,
        declare=not shop.project.sources,
    )
    keys = {claim.key for claim in resolved.claims}
    mapped = [claim for claim in mapped if claim.key not in keys]
    evidence.settle((*resolved.claims, *mapped), aspects, found.append)
    return [finding for finding in found if finding.severity == VIOLATION]


def _known(shop: Workshop) -> tuple[list[Entry], list[Claim]]:
    """Return the documents, and the claims that mappings made of records.

    Those of the newest release; of the sources as they stand where there is none.
    """
    if shop.project.archive.is_file():
        with Archive(shop.project.archive) as archive:
            latest = archive.latest()
            if latest is not None:
                return (
                    [Entry(d.uri, d.kind, "") for d in archive.documents(latest.number)],
                    _mapped(shop, (claim for _, claim in archive.claims(latest.number))),
                )
    with gather(shop) as gathered:
        return list(gathered.index.entries()), _mapped(shop, gathered.claims)


def _mapped(shop: Workshop, claims: Iterable[Claim]) -> list[Claim]:
    """Those that do not stand in the ledger: a line of it may replace one of them."""
    ledger = f"{shop.project.evidence.folder}/{PurePath(LEDGER).stem}."
    return [
        claim for claim in claims if claim.place is None or not claim.place.file.startswith(ledger)
    ]


def _free_key(shop: Workshop) -> str:
    """The next key in the fashion of the ledger: after `c0121` comes `c0122`."""
    loaded = evidence.load(
        shop.project.folder / shop.project.evidence.folder,
        shop.project.evidence.folder,
        aspects=builtin_aspects(),
        qualifiers=shop.table("qualifiers"),
        limits=shop.project.limits,
        report=lambda finding: None,
    )
    keys = [claim.key for claim in loaded.evidence.claims]
    numbers = [key[1:] for key in keys if key[:1] == "c" and key[1:].isdigit()]
    width = max((len(number) for number in numbers), default=4)
    return f"c{max((int(number) for number in numbers), default=0) + 1:0{width}d}"
