"""The command that begins a project: from a catalogue file, or as a copy of the demo."""

import shlex
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lodpipe.cli.profiling import options_of, reading, tell_some

if TYPE_CHECKING:
    from lodpipe.findings import Finding
    from lodpipe.pipeline import Started


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option(
    "--from",
    "source",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The catalogue file; it is copied in.",
)
@click.option("--demo", is_flag=True, help="The demo project instead: an invented album.")
@reading
@click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout for a program.")
def start(folder: Path, source: Path | None, demo: bool, as_json: bool, **values: str) -> None:
    """Make a working project from a catalogue file: mapping, tables of terms, evidence to fill in.

    \b
    Example:
      lodpipe start highlands --from items.csv
      lodpipe start survey --from objects.xml --records /list/object
      lodpipe start sample --demo
    """
    from lodpipe.cli import show
    from lodpipe.errors import UsageError

    if demo == (source is not None):
        raise UsageError(
            "a project begins with one thing: a catalogue file, or the demo",
            hint="add `--from FILE` with a catalogue of your own, or `--demo`",
        )
    told, lines = _copied(folder) if source is None else _made(folder, source, values)
    if as_json:
        show.data(told)
        return
    for line in lines:
        show.tell(line)


Told = tuple[dict[str, Any], list[str]]
"""What was made, for a program and for a person."""


def _made(folder: Path, source: Path, values: dict[str, str]) -> Told:
    """Make a project of a file of the user's own."""
    from lodpipe import pipeline
    from lodpipe.cli import show

    found: list[Finding] = []
    today = datetime.now(UTC).date().isoformat()
    try:
        with show.Bars() as bars:
            made = pipeline.start(
                folder, source, options_of(values), found.append, bars, today=today
            )
    finally:  # also where there is no project: they may say why
        tell_some(found)
    told = {
        "folder": str(folder),
        "files": list(made.files),
        "records": made.profile.records,
        "shipped_mapping": made.shipped or None,
        "mapped": made.draft.mapped if made.draft else None,
        "undecided": made.draft.undecided if made.draft else None,
        "open_terms": made.draft.open_terms if made.draft else None,
        "findings": len(found),
    }
    return told, _lines(folder, source, made)


def _lines(folder: Path, source: Path, made: "Started") -> list[str]:
    from lodpipe.check.report import counted

    shown = folder.as_posix()
    files, records = counted(len(made.files), "file"), counted(made.profile.records, "record")
    lines = [f"{shown} has {files} for {records}"]
    if made.draft is None:
        lines.append(f"  mapped by a copy of builtin:{made.shipped}, which reads this format whole")
    else:
        tables = sorted(name for name in made.files if "/vocab/" in name)
        lines += [
            f"  mapped     {counted(made.draft.mapped, 'column')}, as words",
            f"  to decide  {counted(made.draft.undecided, 'column')}, left out for now",
        ]
        if made.draft.open_terms:
            lines.append(
                f"  to fill in {counted(made.draft.open_terms, 'term')} of {', '.join(tables)}"
            )
    if made.profile.cautions:
        odd = len({caution.kind for caution in made.profile.cautions})
        lines.append(
            f"  to look at {counted(odd, 'odd thing')} that `lodpipe profile {source}` shows"
        )
    record = f" --record {shlex.quote(made.draft.example)}" if made.draft else ""
    return [
        *lines,
        "",
        "next:",
        f"  lodpipe run {shown}",
        f"  lodpipe check {shown} --html report.html",
        f"  lodpipe explain {shown}/{made.files[0]} --project {shown} \\",
        f"      --mapping {made.files[2]}{record}",
    ]


def _copied(folder: Path) -> Told:
    """Make a copy of the demo."""
    from lodpipe import pipeline

    files = pipeline.start_demo(folder)
    shown = folder.as_posix()
    return {"folder": str(folder), "files": list(files)}, [
        f"{shown} has the {len(files)} files of the demo, an album of invented photographs:",
        f"  {shown}/README.md says what lies where, and what is not certain",
        "",
        "next:",
        f"  lodpipe run {shown}",
        f"  lodpipe weigh {shown} item-0101",
        f"  lodpipe explain item-0101 --project {shown}",
    ]
