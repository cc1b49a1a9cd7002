"""The command that takes something back."""

from pathlib import Path
from typing import Any

import click


@click.command()
@click.argument("key")
@click.argument("folder", metavar="PROJECT", default=".", type=click.Path(path_type=Path))
@click.option(
    "--kind",
    type=click.Choice(["thing", "person", "place", "claim", "source", "thread"]),
    help="What it is; found out when left out.",
)
@click.option("--reason", required=True, help="Why, a sentence; it stays in the house.")
@click.option("--public-reason", default="", help="What is told in its place.")
@click.option("--lift", is_flag=True, help="End a withdrawal: a later run may publish it again.")
@click.option("--by", required=True, help="At whose wish: a key or a name.")
@click.option("--on", default="", help="On which day, EDTF; today when left out.")
@click.option("--review-on", default="", help="When to ask again whether it still holds.")
@click.option("--no-export", is_flag=True, help="Leave the export folder as it is for now.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout for a program.")
def withdraw(
    key: str,
    folder: Path,
    kind: str | None,
    reason: str,
    public_reason: str,
    lift: bool,
    by: str,
    on: str,
    review_on: str,
    no_export: bool,
    as_json: bool,
) -> None:
    """Take something back: out of every release, out of the export, and it stays away.

    KEY is the path of what is withdrawn, or the key of a claim. What shows the same image, what
    lies on it and what is copied from it goes with it. Writes a line into withdrawals.csv, makes a
    release, and removes the bodies of all earlier ones. Prints what it cannot reach.

    \b
    Example:
      lodpipe withdraw object/item-0107 sample --by "Teveli Council" \\
          --reason "Letter of 2 May 2023." --review-on 2028-05-02

    With --lift it ends a withdrawal, on record in lifted.csv. Only the next run publishes again.
    """
    from datetime import UTC, datetime

    from lodpipe import pipeline, project
    from lodpipe.cli import show

    now = datetime.now(UTC)
    chosen = project.load(folder)
    asked = pipeline.Asked(
        key, kind or "", reason, by, on or now.date().isoformat(), review_on, public_reason
    )
    if lift:
        _lift(chosen, asked, as_json)
        return
    options = pipeline.Options(now=now.strftime("%Y-%m-%dT%H:%M:%SZ"), export=not no_export)
    with show.Bars() as bars:
        done = pipeline.withdraw(chosen, asked, options, bars)
    show.data(_data(done)) if as_json else _tell(done)


def _lift(chosen: Any, asked: Any, as_json: bool) -> None:
    from lodpipe import pipeline
    from lodpipe.cli import show
    from lodpipe.errors import UsageError

    for given, option in (
        (asked.review_on, "--review-on"),
        (asked.public_reason, "--public-reason"),
    ):
        if given:
            raise UsageError(
                f"{option} says nothing about a withdrawal that is lifted",
                hint="leave it out: `--reason` and `--by` go on record",
            )
    done = pipeline.lift(chosen, asked)
    if as_json:
        show.data({"key": done.key, "kind": done.kind, "documents": list(done.documents)})
        return
    show.tell(f"lifted: the {done.kind} {done.key} is withdrawn no longer")
    for uri in done.documents:
        show.tell(f"  {uri}")
    show.tell(
        "nothing is published by this; the next run publishes what the catalogue still has and "
        "nothing else withholds, as something new: earlier releases stay without it"
    )


def _beyond(done: Any) -> list[str]:
    """Say what nobody can take back from here."""
    found = []
    if done.published:
        first, since, last = done.published
        found = [
            f"whatever was handed out since {since} (releases {first} to {last}): dumps, exports in "
            "other folders, records and manifests that others have saved",
            "harvesters and aggregators: the next harvest tells them that it is deleted; ask those "
            "who never come again",
            "caches and search engines: ask them to forget these addresses",
        ]
    return [*found, "copies and backups of the archive", "the catalogue and the evidence folder"]


def _data(done: Any) -> dict[str, Any]:
    first, since, last = done.published or (None, None, None)
    return {
        "key": done.key,
        "kind": done.kind,
        "documents": list(done.documents),
        "claims": list(done.claims),
        "release": done.release,
        "published": {"first": first, "since": since, "last": last},
        "removed": {"bodies": done.removed.bodies, "naming": done.removed.naming},
        "files": list(done.files),
        "problem": done.problem,
        "beyond": _beyond(done),
    }


def _tell(done: Any) -> None:
    from lodpipe.cli import show

    show.tell(f"withdrawn: the {done.kind} {done.key}")
    for uri in done.documents:
        show.tell(f"  {uri}")
    show.tell(
        f"{done.removed.bodies} bodies taken out of all releases, and {done.removed.naming} earlier "
        f"ones that named it; release {done.release} is the newest; {len(done.files)} files taken "
        "out of the export"
    )
    if done.problem:
        show.tell(
            "the catalogue could not be mapped, so the archive made the release by itself; what "
            f"only named it is made again by the next run that works:\n{done.problem}"
        )
    show.tell("\nbeyond reach:")
    for line in _beyond(done):
        show.tell(f"- {line}")
    for name in done.files:
        show.tell(f"  {name}")
