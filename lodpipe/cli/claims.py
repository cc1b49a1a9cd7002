"""Commands about claims: adding one to the ledger, and weighing them against the evidence."""

from pathlib import Path

import click


@click.group()
def claim() -> None:
    """Work on the ledger of claims.

    \b
    Example:
      lodpipe claim add sample --about item-0101 --aspect maker --value dolen \\
          --by tarrow --on 2024-03-11 --basis "Same camera position as item 0106."
    """


@claim.command("add")
@click.argument("folder", metavar="PROJECT", default=".", type=click.Path(path_type=Path))
@click.option("--about", required=True, help="What it is about: a key such as item-0101.")
@click.option("--aspect", required=True, help="maker, date, place, sitter, process ...")
@click.option("--value", default="", help="A key, or a date in EDTF.")
@click.option("--value-text", default="", help="The value in words, when there is no key.")
@click.option("--role", default="", help="Role of a maker: photographer, printer ...")
@click.option("--part", default="", help="Which sitter, which component.")
@click.option(
    "--qualifier", default="", help="probably, attributed to, possibly, studio of, after ..."
)
@click.option("--standing", default="", help="current (when left out), proposed, former, rejected.")
@click.option("--by", required=True, help="Who says so: a key such as tarrow.")
@click.option("--on", default="", help="On which day, EDTF; today when left out.")
@click.option("--basis", default="", help="On what grounds, a sentence.")
@click.option("--sources", default="", help="Keys of sources, separated by `;`.")
@click.option("--replaces", default="", help="Key of the claim that this one takes the place of.")
@click.option("--alternative-to", default="", help="First claim of a set of which one holds.")
@click.option("--key", default="", help="Key of the line; the next free one when left out.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout for a program.")
def add(folder: Path, key: str, as_json: bool, **values: str) -> None:
    """Append one claim to the ledger, after checking it against the project.

    A line is never changed afterwards: a new view of it is a new line with --replaces.

    \b
    Example:
      lodpipe claim add sample --about item-0101 --aspect maker --value dolen \\
          --qualifier "attributed to" --by tarrow --on 2024-03-11 \\
          --basis "He had left the railway." --sources text/pay-book \\
          --replaces c0105
    """
    from datetime import UTC, datetime

    from lodpipe import pipeline, project
    from lodpipe.cli import show

    values["on"] = values["on"] or datetime.now(UTC).date().isoformat()
    made = pipeline.add_claim(project.load(folder), {"claim": key, **values})
    if as_json:
        show.data({"claim": made})
    else:
        show.tell(f"claim {made} added; `lodpipe run` publishes it")
