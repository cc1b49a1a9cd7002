"""What the commands print: for people as text, for programs as JSON."""

import sys
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from lodpipe.archive import Change
from lodpipe.cli import show
from lodpipe.findings import INFO
from lodpipe.pipeline import Checked, Explained, Result, Tally
from lodpipe.project import Project


def print_run(project: Project, result: Result) -> None:
    """Say what a run did: books, findings, release, where to look."""
    records = result.books.records
    show.tell(
        f"records    {result.books.read:>7}   "
        + ", ".join(f"{records[state]} {state}" for state in ("mapped", "unreadable", "duplicate"))
    )
    documents = result.books.documents
    show.tell(
        f"documents  {sum(documents.values()):>7}   "
        + ", ".join(f"{count} {state}" for state, count in documents.items())
    )
    print_tally(result.tally)
    stages: dict[str, float] = {}
    for stage, seconds in result.seconds.items():
        name = "map" if stage.startswith("map ") else stage
        stages[name] = stages.get(name, 0.0) + seconds
    took = "; ".join(f"{stage} {seconds:.1f}" for stage, seconds in stages.items())
    show.say(f"seconds    {sum(stages.values()):>7.1f}   {took}")
    for sentence in result.outcome:
        show.tell(sentence)
    if result.written is not None:
        folder = project.folder / project.export.folder
        show.tell(
            f"export: {len(result.written.written)} files written, {result.written.same} the same, "
            f"{len(result.written.removed)} taken away"
        )
        show.tell(f"look into {folder}: {', '.join(project.export.outputs)}")


def print_tally(tally: Tally) -> None:
    """Print findings by kind, worst first, with a few places of each."""
    from lodpipe.check.report import entry_of_finding
    from lodpipe.check.report_text import told_lines, told_of, unused_lines

    unused = []
    for kind, count in tally.worst_first():
        if kind[:2] == (INFO, "shape-unused"):
            unused += [finding.rule for finding in tally.examples[kind]]
            continue
        examples = map(entry_of_finding, tally.examples[kind])
        told = told_of(count, examples, varied=kind in tally.varied)
        show.tell()
        for line in told_lines(told, elsewhere="; all of them stand in archive/report.jsonl"):
            show.tell(line)
    if unused:
        show.tell()
        for line in unused_lines(sorted(unused)):
            show.tell(line)
    if tally.counts:
        show.tell()


def run_data(result: Result) -> dict[str, Any]:
    """Return what a run did, for a program."""
    return {
        "status": result.status,
        "release": result.release,
        "latest": result.latest,
        "outcome": result.outcome,
        "books": result.books.to_json(),
        "findings": tally_data(result.tally),
        "workers": result.workers,
        "seconds": {stage: round(seconds, 3) for stage, seconds in result.seconds.items()},
        "written": len(result.written.written) if result.written else 0,
    }


def tally_data(tally: Tally) -> list[dict[str, Any]]:
    """Return findings by kind: count and a few examples."""
    return [
        {
            "severity": kind[0],
            "code": kind[1],
            "count": count,
            "examples": [show.finding_data(finding) for finding in tally.examples[kind]],
        }
        for kind, count in tally.worst_first()
    ]


def print_check(checked: Checked, *, as_json: bool, files: Mapping[str, Path | None]) -> None:
    """Print what a check found, and write it in every form that was asked for.

    Args:
        files: `html`, `csv`, `junit`, `turtle` -> where to write the report in that form.
    """
    from lodpipe import export
    from lodpipe.check import report as forms
    from lodpipe.check.report_page import as_page
    from lodpipe.check.report_text import as_text
    from lodpipe.check.report_turtle import as_turtle
    from lodpipe.check.report_xml import as_junit

    entries, about = checked.entries, checked.about
    made = {
        "html": lambda: as_page(entries, about).encode(),
        "csv": lambda: forms.as_csv(entries, about),
        "junit": lambda: as_junit(entries, about),
        "turtle": lambda: as_turtle(entries, about).encode(),
    }
    if as_json:
        sys.stdout.buffer.write(forms.as_json(entries, about))
        sys.stdout.buffer.flush()
    else:
        show.tell(as_text(entries, about))
    for form, path in files.items():
        if path is not None:
            export.write_file(path, made[form]())
            show.say(f"{form} report: {path}")


def print_compare(old: int, new: int, changes: Sequence[Change]) -> None:
    """Tell two releases apart in words."""
    states = ("new", "changed", "gone", "withdrawn")
    counts = {state: sum(c.state == state for c in changes) for state in states}
    show.tell(
        f"from release {old} to {new}: "
        + ", ".join(f"{n} {state}" for state, n in counts.items() if n or state != "withdrawn")
    )
    for change in changes:
        show.tell(f"\n{change.state}: {change.label or change.kind}\n  {change.uri}")
        for path, before, after in change.details:
            if not before:
                show.tell(f"  {path}: now also says `{after}`")
            elif not after:
                show.tell(f"  {path}: no longer says `{before}`")
            else:
                show.tell(f"  {path}: `{before}` became `{after}`")


def compare_data(old: int, new: int, changes: Sequence[Change]) -> dict[str, Any]:
    """Return what changed, for a program."""
    return {
        "from": old,
        "to": new,
        "changes": [
            {
                "uri": change.uri,
                "type": change.kind,
                "label": change.label,
                "state": change.state,
                "details": [
                    {"path": path, "before": before, "after": after}
                    for path, before, after in change.details
                ],
            }
            for change in changes
        ],
    }


_WHY = {
    "access": "access, notices, terms in them",
    "claim": "its claims, terms in them",
    "code": "lodpipe itself, or a library",
    "fact": "what the evidence makes of it",
    "first": "no earlier run to hold it against",
    "label": "what this is called, or that it is there",
    "layout": "its pictures",
    "mapping": "the mapping",
    "new": "it is new",
    "row": "its record, or where that stands",
    "setting": "settings of the project",
    "shapes": "the shapes",
    "term": "a term",
    "waiting": "it points at what waits for its first release",
}
"""In words, what a document was made anew for."""


def print_explain(explained: Explained) -> None:
    """Show the way of one document from its cells to its triples."""
    show.tell(explained.uri)
    if explained.release:
        show.tell(f"in release {explained.release}, {explained.state}")
    show.table(
        ("where in the document", "field", "from"),
        [(entry.path, entry.field, str(entry.place)) for entry in explained.trace],
        title="\nfrom the source",
    )
    show.table(
        ("kind", "key", "hash"), [tuple(row) for row in explained.inputs], title="\nmade from"
    )
    if explained.why:
        rows = [(_WHY.get(kind, kind), key) for kind, key in explained.why]
        show.table(("what", "which"), rows, title="\nmade anew the last time because of")
    show.tell("\ndocument")
    show.tell(explained.document)
    show.tell(f"\n{len(explained.triples)} triples")
    for line in explained.triples:
        show.tell(line)
    show.tell(f"\n{len(explained.findings)} findings")
    for finding in explained.findings:
        show.tell(show.finding(finding))


def explain_data(explained: Explained) -> dict[str, Any]:
    """Return the way of one document, for a program."""
    import orjson

    return {
        "uri": explained.uri,
        "release": explained.release,
        "state": explained.state,
        "trace": [
            {"path": entry.path, "field": entry.field, "place": str(entry.place)}
            for entry in explained.trace
        ],
        "inputs": [
            {"kind": kind, "key": key, "hash": digest} for kind, key, digest in explained.inputs
        ],
        "why": [{"kind": kind, "key": key} for kind, key in explained.why],
        "document": orjson.loads(explained.document),
        "triples": explained.triples,
        "findings": [show.finding_data(finding) for finding in explained.findings],
    }


def print_dates(answers: Iterable[dict[str, Any]]) -> None:
    """Show how texts were read, one a row."""
    rows = []
    for one in answers:
        if one["events"]:
            for event in one["events"]:
                words = event["event"] or "(no word)"
                rows.append(
                    (
                        one["verbatim"],
                        event["edtf"],
                        event["earliest"] or "..",
                        event["latest"] or "..",
                        words,
                    )
                )
        elif one["unread"] is not None:
            rows.append((one["verbatim"], "", "", "", f"not read: {one['unread']}"))
        else:
            notes = "; ".join(one["notes"])
            outer = (one["outer_earliest"], one["outer_latest"])
            if outer != (one["earliest"], one["latest"]):
                notes = f"published as {outer[0] or '..'} to {outer[1] or '..'}" + (
                    f"; {notes}" if notes else ""
                )
            rows.append(
                (
                    one["verbatim"],
                    one["edtf"],
                    one["earliest"] or "..",
                    one["latest"] or "..",
                    notes,
                )
            )
    show.table(("text", "EDTF", "earliest", "latest", ""), rows)
