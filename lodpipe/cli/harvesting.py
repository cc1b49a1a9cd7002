"""Harvesting from other houses."""

from pathlib import Path
from typing import Any

import click


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
      lodpipe harvest https://collections.example.org/oai catalogue/records.xml --prefix oai_dc
    """
    from lodpipe import harvest as harvesting
    from lodpipe.cli import show

    client = harvesting.Client(url, say=show.say)
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


def _data(found: Any) -> dict[str, Any]:
    return {
        "changed": found.changed,
        "deleted": found.deleted,
        "records": found.records,
        "resumed": found.resumed,
        "since": found.since,
    }
