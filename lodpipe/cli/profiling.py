"""The first command of a new user: looking into a source."""

import sys
import textwrap
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from lodpipe.findings import Finding
    from lodpipe.profile import Caution, ColumnProfile, Profile
    from lodpipe.read import ReadOptions

WIDTH = 78
MOST_TOLD = 20
_FILE = click.Path(path_type=Path, dir_okay=False)


def reading(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that say how a source is to be read."""
    for option in (
        click.option(
            "--format", "form", default="", help="csv, tsv, xlsx, json, jsonl, xml, marc."
        ),
        click.option("--encoding", default="", help="Of a text file, such as cp1252."),
        click.option("--delimiter", default="", help="What parts the cells of a table."),
        click.option("--sheet", default="", help="The worksheet; else the first."),
        click.option("--records", default="", help="Where the records are: JSONPath or XPath."),
    ):
        command = option(command)
    return command


def options_of(values: dict[str, str]) -> "ReadOptions":
    """Return the reading options that were given on the command line."""
    from lodpipe.read import ReadOptions

    return ReadOptions(
        format=values["form"],
        encoding=values["encoding"],
        delimiter=values["delimiter"],
        sheet=values["sheet"],
        records=values["records"],
    )


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@reading
@click.option("--html", type=_FILE, help="Write the profile as one HTML page.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout for a program.")
def profile(file: Path, html: Path | None, as_json: bool, **values: str) -> None:
    """Look into a source before anything is mapped: how full, how varied, what looks odd.

    \b
    Example:
      lodpipe profile items.csv
      lodpipe profile objects.xml --records /list/object
      lodpipe profile items.csv --html profile.html --json > profile.json
    """
    from lodpipe import pipeline
    from lodpipe.cli import show
    from lodpipe.export import write_file

    found: list[Finding] = []
    with show.Bars() as bars:
        seen = pipeline.profile(file, options_of(values), found.append, bars)
    tell_some(found)
    if html is not None:
        from lodpipe.profile.page import as_page

        write_file(html, as_page(seen).encode())
        show.say(f"html page: {html}")
    if as_json:
        show.data(seen.data())
    else:
        for line in lines_of(seen):
            show.tell(line)
    sys.exit(0)


def tell_some(found: "list[Finding]") -> None:
    """Say the first findings about single records, and how many more there are."""
    from lodpipe.cli import show

    for one in found[:MOST_TOLD]:
        show.say(show.finding(one))
    if len(found) > MOST_TOLD:
        show.say(f"and {len(found) - MOST_TOLD:,} findings more")


def lines_of(seen: "Profile") -> list[str]:
    """Return a profile as lines of at most 78 characters."""
    lines = [_clip(f"{seen.file}: {seen.records:,} records, {len(seen.columns)} columns")]
    if seen.unreadable:
        lines.append(f"records that cannot be read: {seen.unreadable:,}")
    if seen.repeated:
        lines.append(f"records that repeat an earlier one in every value: {seen.repeated:,}")
    read_with = {**seen.options, **{f"xmlns:{p}": iri for p, iri in seen.namespaces.items() if p}}
    lines += [_clip(f"read with {name}: {value}") for name, value in read_with.items()]
    lines += ["", f"{'column':<28}{'filled':>7}{'different':>11}  looks like"]
    for column in seen.columns:
        lines += _column(column, seen.records)
    for sign, names in seen.parallels:
        lines += ["", f"parts of these belong together, parted by {sign.strip() or 'line ends'}:"]
        lines += _wrapped(", ".join(names), "    ")
    if seen.cautions:
        lines += ["", "look at these before you map:"]
        for kind in dict.fromkeys(caution.kind for caution in seen.cautions):
            lines += _cautions([one for one in seen.cautions if one.kind == kind])
    return lines


def _column(column: "ColumnProfile", records: int) -> list[str]:
    filled = column.records / records
    share = "0 %" if not column.records else f"{max(filled, 0.001):.1%}".replace("%", " %")
    share = "all" if column.records == records else share
    distinct = f"{column.distinct:,}" + ("+" if column.more else "")
    looks = ", ".join(look.words for look in column.looks) or "text"
    name = column.name if len(column.name) <= 27 else column.name + "\n" + " " * 27
    head = f"{name:<28}{share:>7}{distinct:>11}  {looks}"
    samples = " · ".join(
        _one_line(value) + (f" ×{count:,}" if count > 1 else "") for value, count in column.samples
    )
    lines = head.split("\n")
    lines[-1] = lines[-1] if len(lines[-1]) <= WIDTH else lines[-1][: WIDTH - 1] + "…"
    return [*lines, *([_clip("    " + samples)] if samples else [])]


def _cautions(same: list["Caution"]) -> list[str]:
    """All of one kind: what it is, where and how often, an example, what to do."""
    worst = max(same, key=lambda caution: caution.count)
    columns = ", ".join(f"{caution.column} ({caution.count:,})" for caution in same)
    return [
        *_wrapped(f"{worst.message}:", "- "),
        *_wrapped(columns, "  "),
        *([_clip(f"  such as {_one_line(worst.value)}")] if worst.value else []),
        *([_clip(f"  --> {worst.place}")] if worst.place is not None else []),
        *_wrapped(f"hint: {worst.hint}", "  "),
    ]


def _one_line(text: str) -> str:
    return " ".join(text.split()) if text.strip() else repr(text)


def _clip(text: str) -> str:
    return text if len(text) <= WIDTH else text[: WIDTH - 1] + "…"


def _wrapped(text: str, begin: str) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=begin,
        subsequent_indent=" " * len(begin),
        break_on_hyphens=False,
    )
