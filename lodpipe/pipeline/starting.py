"""A working project made from one source file, for somebody who has none yet."""

import csv
import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lodpipe import workspace
from lodpipe.errors import UsageError
from lodpipe.evidence.columns import FILES
from lodpipe.findings import Report
from lodpipe.pipeline.profiling import profile
from lodpipe.pipeline.progress import Watcher
from lodpipe.pipeline.workshop import VOCAB
from lodpipe.profile import Profile
from lodpipe.profile.draft import Draft, draft
from lodpipe.project import PROJECT_FILE, builtin
from lodpipe.read import ReadOptions
from lodpipe.terms import concepts, read_table

TEMPLATES = ("claims", "people", "whereabouts", "sources", "access")
"""Tables of evidence that a new project gets with their headers and nothing below."""

DEMO = ("README.md", "lodpipe.toml", "catalogue", "evidence", "images", "mappings")
"""What makes up the demo project, in the folder that ships; a run of it leaves more there."""

_PROJECT = """\
# What this project publishes, and from what. Change what is marked `to decide`.
[site]
base = "https://collections.example.org/"   # to decide: every address begins with this, for good
name = {{en = "{name}"}}                       # to decide: the name of the house
publisher = "group/publisher"                # to decide: who speaks in the catalogue
languages = ["en"]

[[source]]
file = "{file}"
mapping = "mappings/{stem}.yaml"
{options}
[evidence]
folder = "evidence"

[check]
shapes = ["builtin"]
gate = "violation"
most_losses = "2 %"

[access]
default = "open"                             # to decide: what is withheld stands in evidence/access.csv

[export]
outputs = ["linked-art", "nquads"]
"""


_KNOWN = {
    "http://www.loc.gov/MARC21/slim": "marc21.yaml",
    "urn:isbn:1-931666-22-9": "ead.yaml",
}
"""Namespace of a format that a shipped mapping reads whole -> that mapping."""


@dataclass(frozen=True, slots=True)
class Started:
    """A project that was made: its files, and what its mapping does with the source.

    Attributes:
        shipped: the mapping that was copied, where the format of the source is one that ships.
    """

    folder: Path
    files: tuple[str, ...]
    profile: Profile
    draft: Draft | None
    shipped: str = ""


def start(
    folder: Path,
    source: Path,
    options: ReadOptions,
    report: Report,
    watcher: Watcher,
    *,
    today: str,
) -> Started:
    """Make a project in a folder that is empty or not there yet.

    Args:
        folder: where to. `source`: the catalogue file; it is copied in, unless it is there already.
        options: how to read it, as far as that is known.
        today: ISO 8601; the day of the copy, for mappings that make claims.

    Raises:
        UsageError: the folder holds a project; the file cannot be read; nothing in it tells its
            records apart.
        NotFinishedError: the folder cannot be written.
    """
    _refuse_project(folder)
    seen = profile(source, options, report, watcher)
    name = f"catalogue/{source.name}"
    stem = re.sub(r"\W+", "-", source.name.removesuffix(".gz").rpartition(".")[0]).strip("-")
    shipped = _KNOWN.get(seen.space, "")
    made = None if shipped else draft(seen, name, _shipped())
    declared = _declared(seen.options)
    if shipped:
        declared += f'dated = "{today}"                         # to decide: day of the export\n'
    files = {
        PROJECT_FILE: _PROJECT.format(name=stem, file=name, stem=stem, options=declared),
        **_mapped(stem, made, shipped),
        **{f"evidence/{name}.csv": ",".join(FILES[name].names) + "\n" for name in TEMPLATES},
    }
    written = workspace.new_project(folder, files, {name: source})
    return Started(folder, written, seen, made, shipped)


def start_demo(folder: Path) -> tuple[str, ...]:
    """Make a copy of the demo project in a folder that is empty or not there yet.

    Returns:
        The paths that were written, in order.

    Raises:
        UsageError: the folder holds one of the files. NotFinishedError: it cannot be written.
    """
    _refuse_project(folder)
    shipped = builtin("sample")
    files = [
        path
        for name in DEMO
        for path in (shipped / name, *sorted((shipped / name).rglob("*")))
        if path.is_file()
    ]
    return workspace.new_project(
        folder, {}, {path.relative_to(shipped).as_posix(): path for path in files}
    )


def _refuse_project(folder: Path) -> None:
    if (folder / PROJECT_FILE).exists():
        raise UsageError(
            f"`{folder.resolve().name}` is a project already",
            hint="name another folder, or add a `[[source]]` to its lodpipe.toml",
        )


def _mapped(stem: str, made: Draft | None, shipped: str) -> dict[str, str]:
    """The mapping and its tables: those that were made, or the mapping that ships."""
    mapping = f"mappings/{stem}.yaml"
    if made is None:
        return {mapping: (builtin("mappings") / shipped).read_text(encoding="utf-8")}
    tables = {f"{VOCAB.as_posix()}/{name}.csv": _table(rows) for name, rows in made.tables.items()}
    return {mapping: made.mapping, **tables}


def _declared(options: dict[str, str]) -> str:
    """What a source must say of its file beside its name; records and sheet stand in the mapping."""
    return "".join(
        f"{key} = {_toml(options[key])}\n"
        for key in ("format", "encoding", "delimiter")
        if key in options
    )


def _toml(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\t", "\\t") + '"'


def _table(rows: list[tuple[str, str, str]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("term", "concept", "source"))
    writer.writerows(rows)
    return out.getvalue()


def _shipped() -> Callable[[str], tuple[str, str]]:
    """Return what finds the concept that the shipped tables of kinds have for exactly a term."""
    ours = concepts()
    tables = [
        read_table(path.stem, path)
        for path in sorted((builtin("mappings") / "vocab").glob("*classification.csv"))
    ]

    def find(term: str) -> tuple[str, str]:
        for table in tables:
            for line in table.get(term):
                if line.get("concept", "") in ours:
                    return line["concept"], table.name
        return "", ""

    return find
