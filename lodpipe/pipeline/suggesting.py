"""Names of a release held against authority files, and what a person decided about them."""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import orjson

from lodpipe import workspace
from lodpipe.archive import Archive
from lodpipe.check.report import harmless
from lodpipe.errors import LodpipeError, ManyErrors, UsageError, nearest
from lodpipe.pipeline.ledger import add_claim
from lodpipe.project import Project
from lodpipe.suggest import Candidate, Named, candidates, headings
from lodpipe.suggest.authority import year_of

SUGGESTIONS = "suggestions.csv"
COLUMNS = ("about", "label", "candidate", "candidate_label", "score", "why", "file", "decision")
DECISIONS = ("", "yes", "no")
KINDS = {"person": ("Person",), "group": ("Group",), "place": ("Place",), "term": ("Type",)}


def suggest(project: Project, files: Sequence[Path], kinds: Sequence[str]) -> list[Candidate]:
    """Compare the names in the newest release with authority files; write what is new to decide.

    Rows of an earlier call stay, with their decisions; a pair that stands there is not told again.

    Args:
        files: authority files. `kinds`: of `KINDS`; all when empty.

    Returns:
        The candidates that were added.

    Raises:
        UsageError: no release, a file that cannot be read, a kind that there is not.
        NotFinishedError: the table cannot be written.
    """
    for kind in kinds:
        if kind not in KINDS:
            raise UsageError(
                f"`{kind}` is no kind of thing that has names here",
                hint=nearest(kind, KINDS) or "one of " + ", ".join(KINDS),
            )
    classes = {name for kind in kinds or KINDS for name in KINDS[kind]}
    entries = [heading for file in files for heading in headings(file)]
    rows = _rows(project.folder / SUGGESTIONS)
    known = {(row["about"], row["candidate"]) for row in rows}
    found = [
        one
        for one in candidates(list(_named(project, classes)), entries)
        if (one.key, one.heading.uri) not in known
    ]
    rows += [_row(one) for one in found]
    if found:
        workspace.replace_file(project.folder / SUGGESTIONS, _text(rows))
    return found


def _row(one: Candidate) -> dict[str, str]:
    return {
        "about": one.key,
        "label": harmless(one.label),
        "candidate": one.heading.uri,
        "candidate_label": harmless(one.heading.names[0]),
        "score": f"{one.score:g}",
        "why": one.why,
        "file": one.heading.source,
        "decision": "",
    }


def accept(project: Project, by: str, on: str, source: str) -> list[str]:
    """Make a claim of every row that says `yes` and is not one yet.

    Args:
        by: key of who decided. `on`: the day, EDTF. `source`: key of the authority file among the
            project's sources.

    Returns:
        The keys of the new claims.

    Raises:
        ManyErrors: rows that break a rule of the ledger; the others were added.
        UsageError: no table of suggestions, or a decision that is neither yes nor no.
    """
    path = project.folder / SUGGESTIONS
    rows = _rows(path)
    if not rows:
        raise UsageError(
            f"there is no `{SUGGESTIONS}` yet",
            hint="make it: lodpipe suggest PROJECT --against FILE",
        )
    _check(rows)
    made: list[str] = []
    faults: list[LodpipeError] = []
    there = _accepted(project)
    for row in rows:
        if row["decision"] != "yes" or (row["about"], row["candidate"]) in there:
            continue
        line = {
            "about": row["about"],
            "aspect": "same_as",
            "value": row["candidate"],
            "by": by,
            "on": on,
            "basis": f"{row['file']} has {row['candidate_label']}: {row['why']}.",
            "sources": source,
        }
        try:
            made.append(add_claim(project, line))
        except ManyErrors as error:
            faults += error.errors
    if faults:
        raise ManyErrors(faults)
    return made


def _check(rows: list[dict[str, str]]) -> None:
    faults: list[LodpipeError] = [
        UsageError(
            f"`{row['decision']}` is no decision",
            hint="write `yes` or `no`, or leave it empty",
            where=f"{SUGGESTIONS}:{number} [decision]",
        )
        for number, row in enumerate(rows, 2)
        if row["decision"] not in DECISIONS
    ]
    if faults:
        raise ManyErrors(faults)


def _accepted(project: Project) -> set[tuple[str, str]]:
    """Pairs of the ledger that are claimed already, whatever became of them."""
    path = project.folder / project.evidence.folder / "claims.csv"
    if not path.is_file():
        return set()
    with path.open(encoding="utf-8-sig", newline="") as handle:
        return {
            (row.get("about") or "", row.get("value") or "")
            for row in csv.DictReader(handle)
            if row.get("aspect") == "same_as"
        }


def _named(project: Project, classes: set[str]) -> Iterator[Named]:
    base = project.site.base
    with Archive(project.archive) as archive:
        latest = archive.latest()
        if latest is None:
            raise UsageError("there is no release yet", hint="make one with `lodpipe run`")
        for document in archive.documents(latest.number):
            tree = orjson.loads(document.body)
            if tree["type"] not in classes or not document.uri.startswith(base):
                continue
            names = [tree.get("_label", "")]
            names += [
                one["content"]
                for one in tree.get("identified_by", ())
                if one["type"] == "Name" and "content" in one
            ]
            yield Named(
                document.uri.removeprefix(base),
                tree.get("_label", ""),
                tuple(dict.fromkeys(filter(None, names))),
                _year(tree.get("born")),
                _year(tree.get("died")),
            )


def _year(event: Mapping[str, Any] | None) -> int | None:
    """The year of a birth or death, where its first and last day lie in one."""
    span = (event or {}).get("timespan", {})
    begin = year_of(str(span.get("begin_of_the_begin", "")))
    return begin if begin == year_of(str(span.get("end_of_the_end", ""))) else None


def _rows(path: Path) -> list[dict[str, str]]:
    if not path.is_file():
        return []
    with path.open(encoding="utf-8-sig", newline="") as handle:
        reader = csv.DictReader(handle)
        missing = [name for name in COLUMNS if name not in (reader.fieldnames or ())]
        if missing:
            raise UsageError(
                f"`{path.name}` has no column `{missing[0]}`",
                hint="its columns are " + ", ".join(COLUMNS),
            )
        return [{name: (row.get(name) or "").strip() for name in COLUMNS} for row in reader]


def _text(rows: list[dict[str, str]]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()
