"""The commands. Stages are imported where a command needs them: the program starts at once."""

import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import click

from lodpipe import __version__
from lodpipe.cli.claims import claim
from lodpipe.cli.exporting import export
from lodpipe.cli.harvesting import harvest, serve, services
from lodpipe.cli.machine import completion, doctor
from lodpipe.cli.profiling import profile
from lodpipe.cli.starting import start
from lodpipe.cli.suggesting import suggest
from lodpipe.cli.weighing import weigh
from lodpipe.cli.withdrawing import withdraw
from lodpipe.errors import LodpipeError, NotFinishedError, UsageError

STATUS_FINDINGS = 1
AHEAD = 2
"""Seconds from the end of a commit until the release is shown: harvests meanwhile miss nothing."""


class _Commands(click.Group):
    """The group of commands; faults become a message and an exit status, never a traceback."""

    def invoke(self, ctx: click.Context) -> Any:
        from lodpipe.cli import show

        try:
            return super().invoke(ctx)
        except LodpipeError as error:
            show.say(str(error))
            ctx.exit(error.exit_status)
        except OSError as error:
            stopped = NotFinishedError(
                f"{error.strerror or error}",
                hint="make room or mend the permissions; the last release is untouched",
                where=Path(error.filename).name if error.filename else "",
            )
            show.say(str(stopped))
            ctx.exit(stopped.exit_status)
        except KeyboardInterrupt:
            stopped = NotFinishedError(
                "broken off", hint="the newest release is whole, and nothing is left half done"
            )
            show.say(str(stopped))
            ctx.exit(stopped.exit_status)

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="lodpipe")
def main() -> None:
    """From a catalogue and its uncertain attributions to checked linked data.

    Begin with `lodpipe run PROJECT`, the folder that has a lodpipe.toml.
    """


_project = click.argument("folder", metavar="PROJECT", default=".", type=click.Path(path_type=Path))
_FILE = click.Path(path_type=Path, dir_okay=False)
_json = click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout for a program.")


@main.command()
@_project
@click.option(
    "--workers",
    type=click.IntRange(1, 64),
    default=1,
    show_default=True,
    help="Processes that map and check; the outcome is the same.",
)
@click.option(
    "--scheduler",
    default="",
    metavar="ADDRESS",
    help="A Dask cluster that maps and checks instead, e.g. tcp://scheduler.example.org:8786.",
)
@click.option(
    "--accept-losses", is_flag=True, help="Release although more is lost than the project allows."
)
@click.option(
    "--engine",
    type=click.Choice(["compiled", "referee"]),
    default="compiled",
    show_default=True,
    help="What checks: compiled shapes, or pySHACL alone.",
)
@click.option("--no-export", is_flag=True, help="Make the release, write no files.")
@click.option(
    "--now",
    default="",
    metavar="INSTANT",
    help="The time that the release says it was made, e.g. 2026-01-31T10:00:00Z.",
)
@_json
def run(
    folder: Path,
    workers: int,
    scheduler: str,
    accept_losses: bool,
    engine: str,
    no_export: bool,
    now: str,
    as_json: bool,
) -> None:
    """Read, map, check and release a project, then write its export.

    \b
    Example:
      lodpipe run sample
      lodpipe run sample --workers 2
      lodpipe run sample --json > run.json
    """
    from lodpipe import pipeline, project
    from lodpipe.cli import report, show

    if scheduler and workers > 1:
        raise UsageError(
            "`--workers` and `--scheduler` exclude one another",
            hint="on one machine use `--workers`",
        )
    chosen = project.load(folder)
    options = pipeline.Options(
        now=_instant(now),
        accept_losses=accept_losses,
        engine=engine,
        export=not no_export,
        visible=None if now else _soon,
        workers=workers,
        scheduler=scheduler,
    )
    with show.Bars() as bars:
        result = pipeline.run(chosen, options, bars)
    if as_json:
        show.data(report.run_data(result))
    else:
        report.print_run(chosen, result)
    sys.exit(result.status)


@main.command()
@click.argument(
    "paths", metavar="PATH...", nargs=-1, required=True, type=click.Path(path_type=Path)
)
@click.option(
    "--shapes",
    "shapes",
    multiple=True,
    type=click.Path(path_type=Path, exists=True),
    help="A folder or file of SHACL instead of the shipped ones; may be repeated.",
)
@click.option(
    "--engine",
    type=click.Choice(["compiled", "referee"]),
    default="compiled",
    show_default=True,
    help="What checks: compiled shapes, or pySHACL alone.",
)
@click.option(
    "--gate",
    type=click.Choice(["violation", "warning"]),
    default="violation",
    show_default=True,
    help="From which severity on the exit status is 1.",
)
@click.option("--baseline", type=_FILE, help="An earlier --json report: tell only what is new.")
@click.option("--html", type=_FILE, help="Write the report as one HTML page.")
@click.option("--csv", type=_FILE, help="Write the report as a table for a spreadsheet.")
@click.option("--junit", type=_FILE, help="Write the report as JUnit XML.")
@click.option("--turtle", type=_FILE, help="Write the report as a W3C validation report.")
@click.option("--tiers", is_flag=True, help="Of a project: how good its EDM records are instead.")
@_json
def check(
    paths: tuple[Path, ...],
    shapes: tuple[Path, ...],
    engine: str,
    gate: str,
    baseline: Path | None,
    tiers: bool,
    as_json: bool,
    **files: Path | None,
) -> None:
    """Check a project's newest release, an archive, a ledger, manifests, or files of linked data.

    PATH is a project (a folder with lodpipe.toml), an archive.sqlite, an evidence folder or a
    table of it (claims.csv), a folder of exported files, or a file: JSON-LD, Turtle, TriG,
    N-Triples, N-Quads, RDF/XML or a IIIF manifest, each also as .gz or .zst.

    \b
    Example:
      lodpipe check sample
      lodpipe check sample/evidence/claims.csv
      lodpipe check sample/export --json > report.json
      lodpipe check sample --baseline report.json --html report.html
      lodpipe check sample --tiers
    """
    from lodpipe import pipeline
    from lodpipe.cli import report, show

    if tiers:
        _tiers(paths, as_json=as_json)
        return
    with show.Bars() as bars:
        result = pipeline.check(
            paths, shapes, engine=engine, gate=gate, baseline=baseline, watcher=bars
        )
    report.print_check(result, as_json=as_json, files=files)
    sys.exit(result.status)


@main.command()
@_project
@click.argument("old", type=int, required=False)
@click.argument("new", type=int, required=False)
@_json
def compare(folder: Path, old: int | None, new: int | None, as_json: bool) -> None:
    """Tell in words what changed from one release to another; the last two when left out.

    \b
    Example:
      lodpipe compare sample 1 2
      lodpipe compare sample --json
    """
    from lodpipe import archive, project
    from lodpipe.cli import report, show

    chosen = project.load(folder)
    with archive.Archive(chosen.archive) as opened:
        latest = opened.latest()
        if latest is None:
            raise UsageError("there is no release yet", hint="make one with `lodpipe run`")
        right = opened.release(new).number if new is not None else latest.number
        left = opened.release(old).number if old is not None else right - 1
        if left < 1:
            raise UsageError(
                f"there is no release before {right}", hint="name two releases: OLD NEW"
            )
        changes = list(archive.compare(opened, opened.release(left).number, right))
    if as_json:
        show.data(report.compare_data(left, right, changes))
    else:
        report.print_compare(left, right, changes)


@main.command()
@click.argument("what", metavar="URI|KEY|FILE")
@click.option(
    "--project",
    "folder",
    default=".",
    show_default=True,
    type=click.Path(path_type=Path),
    help="The project that it belongs to.",
)
@click.option("--mapping", "mapping", default="", help="Try a mapping on a FILE, before any run.")
@click.option(
    "--record", "record", default="", help="With --mapping: the key of the record to show."
)
@_json
def explain(what: str, folder: Path, mapping: str, record: str, as_json: bool) -> None:
    """Show the whole way of one document: source cells, document, triples, findings.

    \b
    Example:
      lodpipe explain item-0101 --project sample
      lodpipe explain sample/catalogue/items.csv --project sample \\
          --mapping mappings/item.yaml --record 0101
    """
    from lodpipe import pipeline, project
    from lodpipe.cli import report, show

    chosen = project.load(folder)
    if mapping:
        explained = pipeline.explain_record(chosen, Path(what), mapping, record)
    else:
        explained = pipeline.explain_document(chosen, what)
    if as_json:
        show.data(report.explain_data(explained))
    else:
        report.print_explain(explained)


@main.command()
@click.argument("texts", metavar="TEXT...", nargs=-1)
@click.option(
    "--kind",
    type=click.Choice(["date", "life", "edtf"]),
    default="date",
    show_default=True,
    help="A date, the years of a life, or EDTF.",
)
@click.option(
    "--project",
    "folder",
    type=click.Path(path_type=Path),
    help="Read with the [dates] of this project.",
)
@_json
def date(texts: tuple[str, ...], kind: str, folder: Path | None, as_json: bool) -> None:
    """Show how date texts are read, or why they are not; one text a line from stdin when none is given.

    \b
    Example:
      lodpipe date "ca. 1872" "between 1873 and 1876" "5/6/64"
      lodpipe date --json < dates.txt
    """
    from lodpipe import pipeline, project
    from lodpipe.cli import report, show
    from lodpipe.dates import Policy
    from lodpipe.dates.answers import answer

    policy, circa = Policy(), 5
    if folder is not None:
        chosen = project.load(folder)
        policy, circa = pipeline.open_workshop(chosen).policy, chosen.dates.circa_years
    lines = texts or (line.decode("utf-8", "replace").rstrip("\r\n") for line in sys.stdin.buffer)
    answers = (answer(text, kind=kind, policy=policy, circa_years=circa) for text in lines)
    if as_json:
        for one in answers:
            show.line(one)
    else:
        report.print_dates(answers)


main.add_command(export)
main.add_command(claim)
main.add_command(harvest)
main.add_command(serve)
main.add_command(services)
main.add_command(profile)
main.add_command(start)
main.add_command(suggest)
main.add_command(doctor)
main.add_command(completion)
main.add_command(weigh)
main.add_command(withdraw)


def _tiers(paths: tuple[Path, ...], *, as_json: bool) -> None:
    from lodpipe import pipeline, project
    from lodpipe.cli import show
    from lodpipe.cli import tiers as printed

    if len(paths) != 1:
        raise UsageError("tiers are those of one project", hint="name its folder alone")
    found = pipeline.tiers_of(project.load(paths[0]))
    if as_json:
        show.data(printed.data(found))
    else:
        printed.tell(found)


def _soon() -> str:
    """Return the instant from which a release that ends now is shown, when its commit is over."""
    return _instant((datetime.now(UTC) + timedelta(seconds=AHEAD)).isoformat())


def _instant(text: str) -> str:
    """Return an instant in UTC as `2026-01-31T10:00:00Z`; now when the text is empty."""
    try:
        moment = datetime.fromisoformat(text) if text else datetime.now(UTC)
    except ValueError:
        raise UsageError(
            f"`{text}` is not an instant", hint="write it like 2026-01-31T10:00:00Z"
        ) from None
    if moment.tzinfo is None:
        raise UsageError(f"`{text}` has no time zone", hint="end it with `Z` for UTC")
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
