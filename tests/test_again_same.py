"""A run that takes over what did not change says and makes what a run that makes all anew would.

The demo project is edited at random. Each time it is run twice: as it stands, and as a copy that
has the archive and nothing else of the runs before. Every table of the archive, the report, the
books, what is told and every file of the export have to be the same.
"""

import csv
import importlib
import io
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lodpipe import export, pipeline, project, terms
from lodpipe.errors import LodpipeError
from lodpipe.pipeline import anew as passes
from lodpipe.pipeline.first_pass import first_pass
from lodpipe.pipeline.progress import Silent

NOW, BASE = "2026-01-31T10:00:00Z", "https://collections.example.org/"
SAMPLE = Path(__file__).parents[1] / "sample"
TABLES = [
    *(f"catalogue/{name}.csv" for name in (
        "items", "albums", "groups", "pages", "people", "places", "related", "texts", "threads",
    )),
    *(f"evidence/{name}.csv" for name in (
        "access", "claims", "images", "layout", "membership", "notices", "order", "people",
        "places", "processes", "renamed", "sources", "things", "threads", "whereabouts",
    )),
    *(f"mappings/vocab/{name}.csv" for name in (
        "concepts", "group-kinds", "kinds", "occupations", "place-kinds", "processes", "subjects",
    )),
]  # fmt: skip
SHAPE = """
@prefix sh: <http://www.w3.org/ns/shacl#> .
@prefix crm: <http://www.cidoc-crm.org/cidoc-crm/> .
<urn:x:mine> a sh:NodeShape ; sh:targetClass crm:E21_Person ; sh:severity sh:Warning ;
  sh:property [ sh:path crm:P67i_is_referred_to_by ; sh:minCount 1 ; sh:message "say more" ] .
"""
TEXTS = {
    "circa": ("lodpipe.toml", "circa_years = 5", "circa_years = 6"),
    "publisher": ("lodpipe.toml", "Highland Railway Library", "Highland Line Library"),
    "gate": ("lodpipe.toml", 'gate = "violation"', 'gate = "warning"'),
    "speaker": ("lodpipe.toml", 'dated = "2024-03-01"', 'dated = "2024-03-02"'),
    "outputs": ("lodpipe.toml", '"linked-art", "nquads", "edm"', '"linked-art", "iiif", "edm"'),
    "shapes": ("lodpipe.toml", 'shapes = ["builtin"]', 'shapes = ["builtin", "mine.ttl"]'),
    "mapping": ("mappings/person.yaml", "makes:", "makes:  # a word"),
}


@dataclass(frozen=True)
class Edit:
    """One edit: of a `text`, by its name in TEXTS; or of a table, its rows and columns by number."""

    file: str
    what: str
    row: int = 0
    other: int = 0
    column: int = 0

    def do(self, folder: Path) -> None:
        """Make it."""
        if self.what == "text":
            name, old, new = TEXTS[self.file]
            text = (folder / name).read_text("utf-8")
            there = (old, new) if old in text and new not in text else (new, old)
            (folder / name).write_text(text.replace(*there), "utf-8")
            return
        path = folder / self.file
        header, *rows = list(csv.reader(io.StringIO(path.read_text("utf-8"))))
        if not rows:
            return
        row, other = self.row % len(rows), self.other % len(rows)
        column = self.column % len(header)
        if self.what == "cell":
            rows[row][column] = rows[other][column]
        elif self.what == "word":
            rows[row][column] += " x"
        elif self.what == "drop":
            del rows[row]
        elif self.what == "double":
            rows.append(list(rows[row]))
            rows[-1][0] += "-2"
        else:
            rows[row], rows[other] = rows[other], rows[row]
        with path.open("w", encoding="utf-8", newline="") as handle:
            csv.writer(handle).writerows([header, *rows])


numbers = st.integers(0, 200)
edits = st.one_of(
    st.builds(Edit, st.sampled_from(sorted(TEXTS)), st.just("text")),
    st.builds(
        Edit,
        st.sampled_from(TABLES),
        st.sampled_from(["cell", "word", "drop", "double", "swap"]),
        numbers,
        numbers,
        numbers,
    ),
)


@pytest.fixture(autouse=True)
def small_and_fast(monkeypatch: pytest.MonkeyPatch) -> None:
    """The referee takes longer than all the rest, and takes part in no document."""
    monkeypatch.setattr(passes, "sample_of", lambda *_: frozenset())
    module = importlib.import_module("lodpipe.pipeline.run")
    monkeypatch.setattr(module, "first_pass", partial(first_pass, size=7))


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo project after its first release."""
    folder = tmp_path_factory.mktemp("first") / "demo"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("archive", "export", "drawing"))
    outputs = '["linked-art", "nquads", "iiif", "edm", "dataset", "site"]'
    _replace(folder / "lodpipe.toml", outputs, '["linked-art", "nquads", "edm"]')
    (folder / "mine.ttl").write_text(SHAPE, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(passes, "sample_of", lambda *_: frozenset())
        assert isinstance(run(folder), dict)
    return folder


def _replace(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def run(folder: Path) -> dict[str, Any] | str:
    """Run a project; return what it came to, or the fault that ended it."""
    options = pipeline.Options(now=NOW, accept_losses=True, export=False)
    try:
        result = pipeline.run(project.load(folder), options, Silent())
    except LodpipeError as error:
        return str(error)
    return {
        "told": (result.status, result.release, result.latest, result.outcome),
        "books": result.books,
        "focus": result.focus,
        "tally": (result.tally.worst_first(), result.tally.examples, result.tally.varied),
        "report": (folder / "archive" / "report.jsonl").read_bytes().split(b"\n"),
        "archive": _archive(folder),
    }


def _archive(folder: Path) -> dict[str, list[Any]]:
    with closing(sqlite3.connect(folder / "archive" / "archive.sqlite")) as db:
        tables = [
            name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        ]
        return {name: sorted(db.execute(f"SELECT * FROM {name}"), key=repr) for name in tables}


def _export(folder: Path) -> dict[str, bytes]:
    chosen = project.load(folder)
    out = folder.parent / f"{folder.name}-export"
    export.export(chosen, terms.concepts(chosen.folder / "mappings/vocab/concepts.csv"), out)
    found = {p.relative_to(out).as_posix(): p.read_bytes() for p in out.rglob("*") if p.is_file()}
    shutil.rmtree(out)
    return found


def anew(folder: Path) -> Path:
    """A copy of a project, its archive with it, without all that spares work."""
    copy = folder.parent / "anew"
    shutil.rmtree(copy, ignore_errors=True)
    kept = shutil.ignore_patterns("drafts", "work", "standing.json", "finished.*")
    shutil.copytree(folder, copy, ignore=kept)
    return copy


@settings(
    max_examples=4, deadline=None, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip
@given(st.lists(edits, min_size=4, max_size=6))
def test_whatever_is_edited_a_run_comes_to_what_a_run_from_nothing_does(
    first: Path, chosen: list[Edit]
) -> None:
    folder = first.parent / "again"
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(first, folder)
    for edit in chosen:
        edit.do(folder)
        copy = anew(folder)

        ours, theirs = run(folder), run(copy)

        if isinstance(ours, str) or isinstance(theirs, str):
            assert ours == theirs, edit
            continue
        for name, value in theirs.items():
            assert ours[name] == value, (edit, name)
    if "iiif" not in project.load(folder).export.outputs:  # pictures take too long
        assert _export(folder) == _export(anew(folder))
