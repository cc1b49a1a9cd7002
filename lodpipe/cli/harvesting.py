"""Harvesting from other houses, and being harvested."""

from pathlib import Path
from typing import Any

import click

from lodpipe.errors import ManyErrors


@click.command()
@click.argument("url", metavar="URL")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--prefix", required=True, help="The format to ask for: oai_dc, marcxml, edm ...")
@click.option("--set", "spec", default="", help="Only this set of the repository.")
@click.option("--all", "whole", is_flag=True, help="Ask for everything, not only for what changed.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout for a program.")
def harvest(url: str, file: Path, prefix: str, spec: str, whole: bool, as_json: bool) -> None:
    """Harvest a repository by OAI-PMH into FILE, a source for `xml`.

    The same command asks later only for what changed, takes out what was deleted, and goes on
    where a harvest was broken off. What it needs for that lies beside the file. Where a
    repository does not tell of deletions, `--all` finds them.

    \b
    Example:
      lodpipe harvest https://collections.example.org/oai records.xml \\
          --prefix oai_dc
    """
    from lodpipe import harvest as harvesting
    from lodpipe.cli import show
    from lodpipe.patience import Patience

    client = harvesting.Client(url, Patience(say=show.say))
    query = harvesting.Query(prefix, spec)
    with show.Bars() as bars:
        bars.start("harvest", None)
        found = harvesting.harvest(client, query, file, whole=whole, advance=bars.advance)
        bars.end()
    if as_json:
        show.data(_data(found))
        return
    since = f" since {found.since}" if found.since else ""
    show.tell(
        f"{found.changed} came or changed{since}, {found.deleted} were deleted"
        + (", going on from a harvest that was broken off" if found.resumed else "")
    )
    show.tell(f"{found.records} records in {file}")


@click.command()
@click.argument("folder", metavar="PROJECT", default=".", type=click.Path(path_type=Path))
@click.option("--again", is_flag=True, help="Ask also the services that are known already.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout for a program.")
def services(folder: Path, again: bool, as_json: bool) -> None:
    """Ask image services in other places how large their pictures are.

    Asks each service that the newest release names for its info.json and keeps the answer in
    evidence/services; the next run reads sizes from there. A copy that is put there by hand does
    as well.

    \b
    Example:
      lodpipe services sample
    """
    from lodpipe import harvest as harvesting
    from lodpipe import project
    from lodpipe.cli import show
    from lodpipe.patience import Patience
    from lodpipe.pipeline.services import keep_services

    client = harvesting.Services(Patience(say=show.say))
    with show.Bars() as bars:
        bars.start("services", None)
        found = keep_services(project.load(folder), client, again=again, advance=bars.advance)
        bars.end()
    if as_json:
        faults = [fault.message for fault in found.faults]
        show.data({"kept": found.kept, "known": found.known, "faults": faults})
    else:
        show.tell(f"{found.kept} kept now, {found.known} known already")
    if found.faults:
        raise ManyErrors(found.faults)


@click.command()
@click.argument("folder", metavar="PROJECT", default=".", type=click.Path(path_type=Path))
@click.option("--host", default="127.0.0.1", show_default=True, help="Where to listen.")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8000,
    show_default="8000",
    metavar="NUMBER",
    help="On which port.",
)
@click.option("--workers", default=1, show_default=True, help="Processes that answer.")
def serve(folder: Path, host: str, port: int, workers: int) -> None:
    """Serve the releases of a project over HTTP, read-only, until it is stopped.

    Documents stand at their own addresses as Linked Art, Turtle or N-Triples, whichever is asked
    for; `/oai` answers OAI-PMH, `/activity/changes` and `/activity/records` tell what changed,
    `/health` which release is shown. Files of the export are given out as they lie there. A new
    release appears by itself. Listens on this machine only unless told otherwise: put a web
    server that speaks TLS before it.

    \b
    Example:
      lodpipe serve sample --port 8080
    """
    from lodpipe import serve as serving
    from lodpipe.cli import show

    show.say(f"serving {folder} at http://{host}:{port}/, stop with Ctrl-C")
    serving.listen(folder, host=host, port=port, workers=workers)


def _data(found: Any) -> dict[str, Any]:
    return {
        "changed": found.changed,
        "deleted": found.deleted,
        "records": found.records,
        "resumed": found.resumed,
        "since": found.since,
    }
