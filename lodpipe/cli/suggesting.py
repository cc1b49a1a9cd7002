"""Commands that hold a project's names against authority files."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from lodpipe.project import Project
    from lodpipe.suggest import Candidate


@click.command()
@click.argument("folder", metavar="PROJECT", default=".", type=click.Path(path_type=Path))
@click.option(
    "--against",
    "files",
    multiple=True,
    type=click.Path(path_type=Path, dir_okay=False),
    help="An authority file on this machine: SKOS, or a CSV with uri and label; may be repeated.",
)
@click.option("--kind", "kinds", multiple=True, help="Only these: person, group, place, term.")
@click.option("--accept", is_flag=True, help="Make claims of the rows that say yes.")
@click.option("--by", default="", help="With --accept: who decided, a key such as tarrow.")
@click.option("--on", default="", help="With --accept: on which day, EDTF; today when left out.")
@click.option("--source", default="", help="With --accept: key of the file among your sources.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout for a program.")
def suggest(
    folder: Path,
    files: tuple[Path, ...],
    kinds: tuple[str, ...],
    accept: bool,
    by: str,
    on: str,
    source: str,
    as_json: bool,
) -> None:
    """Hold names of the newest release against authority files, for a person to decide.

    Candidates go to suggestions.csv in the project. Write yes or no under `decision`; --accept
    then makes a claim of each yes, with who decided and from which source.

    \b
    Example:
      lodpipe suggest sample --against people.ttl --kind person
      lodpipe suggest sample --accept --by tarrow --source highland-names
    """
    from lodpipe import pipeline, project
    from lodpipe.check.report import counted
    from lodpipe.cli import show
    from lodpipe.errors import UsageError

    chosen = project.load(folder)
    if accept:
        made = _accepted(chosen, by, on, source)
        if as_json:
            show.data({"claims": made})
        else:
            show.tell(f"{counted(len(made), 'claim')} added to the ledger" + _keys(made))
            if made:
                show.tell("`lodpipe run` publishes what was added")
        return
    if not files:
        raise UsageError("nothing to hold the names against", hint="add --against FILE")
    found = pipeline.suggest(chosen, files, kinds)
    if as_json:
        show.data({"candidates": [_data(one) for one in found]})
        return
    _tell(folder, found)


def _tell(folder: Path, found: "list[Candidate]") -> None:
    """Show the candidates, and what to do with them."""
    from lodpipe.check.report import counted
    from lodpipe.cli import show
    from lodpipe.pipeline import SUGGESTIONS

    if found:
        show.table(
            ("ours", "candidate", "score", "why"),
            ((one.label, one.heading.names[0], f"{one.score:g}", one.why) for one in found),
        )
    table = (folder / SUGGESTIONS).as_posix()
    show.tell(f"{counted(len(found), 'new candidate')} to decide in {table}")
    if found:
        show.tell("write yes or no under `decision`, then:")
        show.tell(f"  lodpipe suggest {folder.as_posix()} --accept --by WHO --source KEY")


def _accepted(chosen: "Project", by: str, on: str, source: str) -> list[str]:
    from datetime import UTC, datetime

    from lodpipe import pipeline
    from lodpipe.errors import UsageError

    if not by or not source:
        raise UsageError(
            "an accepted candidate needs who decided and a source", hint="add --by and --source"
        )
    return pipeline.accept(chosen, by, on or datetime.now(UTC).date().isoformat(), source)


def _data(one: "Candidate") -> dict[str, Any]:
    return {
        "about": one.key,
        "label": one.label,
        "candidate": one.heading.uri,
        "candidate_label": one.heading.names[0],
        "score": one.score,
        "why": one.why,
        "file": one.heading.source,
    }


def _keys(made: list[str]) -> str:
    return ": " + ", ".join(made) if made else ""
