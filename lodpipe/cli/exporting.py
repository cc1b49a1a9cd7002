"""A release as files, or into a store."""

from dataclasses import asdict
from pathlib import Path

import click

from lodpipe.errors import UsageError


@click.command()
@click.argument("folder", metavar="PROJECT", default=".", type=click.Path(path_type=Path))
@click.option(
    "--to",
    "target",
    type=click.Path(path_type=Path),
    help="Folder to write to; the project's export folder when left out.",
)
@click.option("--release", "number", type=int, help="Which release; the newest when left out.")
@click.option("--store", "url", metavar="URL", help="Send it to this graph store instead.")
@click.option(
    "--query", metavar="URL", help="With --store: where the store answers SPARQL queries."
)
@click.option(
    "--direct",
    is_flag=True,
    help="With --store: its URL takes the place of the base, no `?graph=`.",
)
@click.option(
    "--all", "whole", is_flag=True, help="With --store: send everything, whatever it has already."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout for a program.")
def export(
    folder: Path,
    target: Path | None,
    number: int | None,
    url: str | None,
    query: str | None,
    direct: bool,
    whole: bool,
    as_json: bool,
) -> None:
    """Write a release as files, or send it to a store of triples.

    Files are Linked Art JSON, N-Quads, IIIF manifests, EDM, pages for readers: what the project
    asks for. A store is one that speaks the SPARQL 1.1 Graph Store Protocol: it gets one named
    graph a document, later only what changed, and loses what was taken back; what arrived is
    counted. A transfer that was broken off goes on. Where the store asks for a user, set
    LODPIPE_STORE_USER and LODPIPE_STORE_PASSWORD, or write them into ~/.netrc.

    \b
    Example:
      lodpipe export sample --to album
      lodpipe export sample --release 1 --to first
      lodpipe export sample --store http://localhost:8890/sparql-graph-crud-auth \\
          --query http://localhost:8890/sparql
    """
    _agree(target, number, url, query, direct=direct, whole=whole)
    if url and query:
        _send(folder, url, query, direct=direct, whole=whole, as_json=as_json)
    else:
        _write(folder, target, number, as_json=as_json)


def _agree(
    target: Path | None,
    number: int | None,
    url: str | None,
    query: str | None,
    *,
    direct: bool,
    whole: bool,
) -> None:
    """Refuse options that do not go together."""
    if url is None and (query or direct or whole):
        raise UsageError(
            "`--query`, `--direct` and `--all` are of a store", hint="add `--store URL`"
        )
    if url is None:
        return
    if target or number is not None:
        raise UsageError("a store gets the newest release", hint="leave out `--to` and `--release`")
    if not query:
        raise UsageError(
            "a store is asked what it has, and what arrived",
            hint="name the address of its SPARQL queries with `--query URL`",
        )


def _write(folder: Path, target: Path | None, number: int | None, *, as_json: bool) -> None:
    from lodpipe import export as exporter
    from lodpipe import pipeline, project
    from lodpipe.cli import show

    chosen = project.load(folder)
    shop = pipeline.open_workshop(chosen)
    where = target or chosen.folder / chosen.export.folder
    with show.Bars() as bars:
        bars.start("export", None)
        written = exporter.export(
            chosen, shop.concepts, where, release=number, advance=bars.advance
        )
        bars.end()
    if as_json:
        show.data(asdict(written))
        return
    show.tell(
        f"release {written.release}: {len(written.written)} files written, "
        f"{written.same} the same as before, {len(written.removed)} taken away"
    )


def _send(folder: Path, url: str, query: str, *, direct: bool, whole: bool, as_json: bool) -> None:
    from lodpipe import pipeline, project
    from lodpipe.cli import show
    from lodpipe.export.graph_store import GraphStore
    from lodpipe.export.store import store
    from lodpipe.patience import Patience

    chosen = project.load(folder)
    shop = pipeline.open_workshop(chosen)
    base = chosen.site.base if direct else ""
    target = GraphStore(url, query, base, Patience(say=show.say))
    with show.Bars() as bars:
        done = store(
            chosen, shop.concepts, target, whole=whole,
            begin=lambda due: bars.start("store", due), advance=bars.advance,
        )  # fmt: skip
        bars.end()
    if as_json:
        show.data(asdict(done))
        return
    since = f" since release {done.since}" if done.since else ""
    show.tell(
        f"release {done.release}: {done.sent} documents sent{since}, {done.deleted} taken away"
        + (", going on from a transfer that was broken off" if done.resumed else "")
    )
    show.tell(f"the store holds {done.documents} documents, as many as the release")
