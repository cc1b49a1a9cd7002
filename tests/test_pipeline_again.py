"""A run after a run: nothing is done where nothing changed, everything else is noticed."""

import importlib
import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest

from lodpipe import archive, pipeline, project
from lodpipe.archive import standing
from lodpipe.pipeline import fingerprint
from lodpipe.pipeline.first_pass import first_pass
from lodpipe.pipeline.pictures import Pictures
from lodpipe.pipeline.progress import Silent
from lodpipe.publish import iiif
from lodpipe.records import Image, Layout
from tests.test_pipeline import BASE, HEADER, MAPPING, NOW, PROJECT, ROWS, everything

LATER = "2026-02-01T10:00:00Z"
LOOK = "look for changes"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "project"
    made.mkdir()
    (made / "lodpipe.toml").write_text(PROJECT, encoding="utf-8")
    (made / "items.yaml").write_text(MAPPING, encoding="utf-8")
    # one title is missing: a finding that has to be told by every later run
    rows = "".join(ROWS).replace("Dorrin viaduct", "")
    (made / "items.csv").write_text(HEADER + rows, encoding="utf-8")
    (made / "evidence").mkdir()
    (made / "evidence" / "images.csv").write_text(
        "thing,file,service,side\n1,,https://example.org/iiif/1,\n", encoding="utf-8"
    )
    return made


def run(folder: Path, now: str = NOW, *, export: bool = True) -> pipeline.Result:
    options = pipeline.Options(now=now, export=export, accept_losses=True)
    return pipeline.run(project.load(folder), options, Silent())


def told(result: pipeline.Result) -> tuple[object, ...]:
    books, tally = result.books, result.tally
    return (
        result.status, result.release, result.latest, result.outcome, result.focus,
        books.read, books.records, books.known, books.documents,
        tally.worst_first(), tally.examples, tally.varied,
        result.written and (result.written.written, result.written.same, result.written.removed),
    )  # fmt: skip


def test_nothing_changed_nothing_done_and_the_same_told(folder: Path) -> None:
    first = run(folder)
    before = everything(folder)

    again = run(folder, LATER)
    standing.forget_standing(project.load(folder).archive)
    worked = run(folder, LATER)
    after_work = run(folder, LATER)

    assert first.tally.counts
    assert list(again.seconds) == list(after_work.seconds) == [LOOK]
    assert "unite" in worked.seconds
    assert told(again) == told(worked) == told(after_work)
    assert everything(folder) == before


def _one_gone(folder: Path) -> None:
    path = folder / "items.csv"
    lines = path.read_text("utf-8").splitlines(keepends=True)
    path.write_text("".join(lines[:-1]).replace("Snow shed", "Snow sheds"), "utf-8")


def _doubt(folder: Path) -> None:
    path = folder / "items.csv"
    path.write_text(path.read_text("utf-8").replace(",possibly,", ",,"), "utf-8")


@pytest.mark.parametrize(("change", "kept"), [(_one_gone, True), (_doubt, False)])
def test_what_a_release_came_to_is_told_as_the_next_run_would_tell_it(
    folder: Path, change: Callable[[Path], None], kept: bool
) -> None:
    run(folder)
    change(folder)
    released = run(folder, LATER)
    assert released.release == 2

    again = run(folder, LATER)
    standing.forget_standing(project.load(folder).archive)
    worked = run(folder, LATER)

    assert (list(again.seconds) == [LOOK]) is kept
    assert "unite" in worked.seconds
    assert told(again) == told(worked)


def _row(folder: Path) -> None:
    path = folder / "items.csv"
    path.write_text(path.read_text("utf-8").replace("Snow shed", "Snow sheds"), "utf-8")


def _mapping(folder: Path) -> None:
    with (folder / "items.yaml").open("a", encoding="utf-8") as file:
        file.write("# a word\n")


def _access(folder: Path) -> None:
    header = "key,kind,access,notice,authority,public_reason,internal_reason,decided,review_on\n"
    path = folder / "evidence" / "access.csv"
    path.write_text(header + "object/2,thing,withheld,,,,,2026-01-01,\n", encoding="utf-8")


def _term(folder: Path) -> None:
    path = folder / "mappings" / "vocab" / "concepts.csv"
    path.parent.mkdir(parents=True)
    shutil.copy(Path(fingerprint.__file__).parents[1] / "concepts.csv", path)


def _same_day_and_size(folder: Path) -> None:
    path = folder / "items.csv"
    stat = path.stat()
    path.write_bytes(path.read_bytes().replace(b"Snow shed", b"Snow SHED"))
    os.utime(path, ns=(stat.st_atime_ns, stat.st_mtime_ns))


def _linked(folder: Path) -> None:
    outside = folder.parent / "elsewhere"
    outside.mkdir()
    (outside / "p.jpg").write_bytes(b"")
    (folder / "pictures").symlink_to(outside, target_is_directory=True)


def _archive(folder: Path) -> None:
    os.utime(folder / "archive" / "archive.sqlite")


def _report(folder: Path) -> None:
    (folder / "archive" / "report.jsonl").unlink()


def _broken(folder: Path) -> None:
    (folder / "archive" / standing.FILE).write_bytes(b'{"finger')


@pytest.mark.parametrize(
    "change",
    [
        _row, _mapping, _access, _term, _same_day_and_size, _linked, _archive, _report, _broken,
    ],
)  # fmt: skip
def test_whatever_a_run_may_read_is_noticed(folder: Path, change: Callable[[Path], None]) -> None:
    run(folder)
    change(folder)

    result = run(folder, LATER)

    assert "unite" in result.seconds


def test_a_day_of_review_that_has_come_is_told_although_nothing_changed(folder: Path) -> None:
    _access(folder)
    path = folder / "evidence" / "access.csv"
    path.write_text(path.read_text("utf-8").replace("2026-01-01,", "2026-01-01,2026-01-31"))
    before = run(folder)
    assert list(run(folder).seconds) == [LOOK]

    result = run(folder, LATER)

    codes = [{code for _, code, _ in found.tally.counts} for found in (before, result)]
    assert ["review-due" in each for each in codes] == [False, True]


def test_other_code_and_other_wishes_are_noticed(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run(folder)
    options = pipeline.Options(now=NOW, engine="referee", accept_losses=True)
    assert "unite" in pipeline.run(project.load(folder), options, Silent()).seconds
    assert list(pipeline.run(project.load(folder), options, Silent()).seconds) == [LOOK]

    monkeypatch.setattr(fingerprint, "code", lambda: "another")

    assert "unite" in pipeline.run(project.load(folder), options, Silent()).seconds


def test_an_export_that_was_touched_is_mended(folder: Path) -> None:
    run(folder)
    before = everything(folder)
    (folder / "export" / "linked-art" / "object" / "2.json").unlink()

    result = run(folder)

    assert list(result.seconds) == [LOOK, "export"]
    assert result.written is not None
    assert result.written.written == ["linked-art/object/2.json"]
    assert everything(folder) == before
    assert list(run(folder).seconds) == [LOOK]


def test_a_first_export_follows_later(folder: Path) -> None:
    run(folder, export=False)

    result = run(folder)

    assert list(result.seconds) == [LOOK, "export"]
    assert result.written is not None
    assert result.written.written


def test_nothing_withheld_stays_in_what_is_kept(folder: Path) -> None:
    run(folder)
    kept = folder / "archive" / standing.FILE
    before = kept.read_bytes()
    _access(folder)

    run(folder, LATER)

    assert kept.read_bytes() != before
    assert b"Snow shed" not in kept.read_bytes()


def test_what_waited_at_the_gate_and_is_gone_makes_one_release(folder: Path) -> None:
    first = run(folder)
    assert any("object/4" in line for line in first.outcome)
    _one_gone(folder)

    second, third = run(folder, LATER), run(folder, LATER)

    assert (second.release, third.release) == (2, None)
    assert not any("object/4" in line for line in second.outcome)


def test_a_copy_that_does_not_stand_as_it_stood_is_of_no_use(folder: Path) -> None:
    run(folder)
    path = project.load(folder).archive
    assert archive.read_standing(path) != {}

    path.write_bytes(path.read_bytes() + b"\0")

    assert archive.read_standing(path) == {}


def test_pictures_of_what_lies_nowhere_are_planned_alone(folder: Path) -> None:
    text = PROJECT + '[export]\noutputs = ["linked-art", "iiif"]\n'
    (folder / "lodpipe.toml").write_text(text, encoding="utf-8")
    chosen = project.load(folder)
    images = (
        Image("https://a.example/object/1", service="https://b.example/1", width=30, height=20),
        Image("https://a.example/object/1", "v.jpg", side="verso", width=30, height=20),
        Image("https://a.example/object/2", service="https://b.example/2"),
        Image("https://a.example/object/3"),
    )
    whole = Pictures(chosen, Layout(images), frozenset())
    alone = Pictures(chosen, Layout(), frozenset()).beside(
        lambda uri: [image for image in images if image.thing == uri]
    )

    assert whole.manifest(images[0].thing) == iiif.manifest_iri(BASE, images[0].thing)
    for uri in (*(image.thing for image in images), "https://a.example/object/4"):
        assert alone.manifest(uri) == whole.manifest(uri)
        assert alone.of(uri) == whole.of(uri)


def mapped(result: pipeline.Result) -> list[str]:
    return sorted(stage for stage in result.seconds if stage.startswith("map "))


SECOND = '[[source]]\nfile = "{file}"\nmapping = "items.yaml"\ndated = "2026-01-30"\n'


def _more(folder: Path) -> None:
    """A second source with the same mapping, and a table of evidence that makes documents."""
    text = (folder / "lodpipe.toml").read_text("utf-8")
    (folder / "lodpipe.toml").write_text(text + SECOND.format(file="more.csv"), "utf-8")
    (folder / "more.csv").write_text(HEADER + "9,Depot,1873,dolen,possibly,album\n", "utf-8")


def _label(folder: Path) -> None:
    path = folder / "items.csv"
    path.write_text(
        path.read_text("utf-8").replace("Album of the Sorn", "Album of a Sorn"), "utf-8"
    )


def _added(folder: Path) -> None:
    with (folder / "items.csv").open("a", encoding="utf-8") as file:
        file.write("12,Water tower,1872,dolen,,album\n")


def _removed(folder: Path) -> None:
    path = folder / "more.csv"
    path.write_text(HEADER + "8,Depot,1873,dolen,possibly,album\n", "utf-8")


def _doubled(folder: Path) -> None:
    with (folder / "more.csv").open("a", encoding="utf-8") as file:
        file.write("9,Depot again,1874,korvath,,album\n9,Depot,1873,dolen,,album\n")


def _term_of_ours(folder: Path) -> None:
    path = folder / "mappings" / "vocab" / "qualifiers.csv"
    path.parent.mkdir(parents=True)
    shipped = project.builtin("mappings") / "vocab" / "qualifiers.csv"
    path.write_text(shipped.read_text("utf-8").replace("possibly,possibly", "possibly,probably"))


def _setting(folder: Path) -> None:
    path = folder / "lodpipe.toml"
    path.write_text(path.read_text("utf-8").replace("Highland Railway", "Highlands Railway"))


def _dropped(folder: Path) -> None:
    path = folder / "lodpipe.toml"
    path.write_text(path.read_text("utf-8").replace(SECOND.format(file="more.csv"), ""))


def _picture(folder: Path) -> None:
    with (folder / "evidence" / "images.csv").open("a", encoding="utf-8") as file:
        file.write("2,,https://example.org/iiif/2,\n")


BOTH = ["map items.csv", "map more.csv"]
EDITS: list[tuple[Callable[[Path], None], list[str]]] = [
    (_row, BOTH[:1]), (_label, BOTH[:1]), (_added, BOTH[:1]), (_removed, BOTH[1:]),
    (_doubled, BOTH[1:]), (_mapping, BOTH), (_term_of_ours, BOTH), (_setting, BOTH),
    (_access, []), (_picture, []), (_dropped, BOTH[:1]),
]  # fmt: skip


def test_a_source_that_did_not_change_is_not_read_and_the_outcome_is_the_same(
    folder: Path,
) -> None:
    """Edit after edit; each time the release is held against one made from nothing."""
    _more(folder)
    run(folder)
    for edit, read_anew in EDITS:
        edit(folder)

        result = run(folder, LATER)

        fresh = folder.parent / "fresh"
        shutil.copytree(folder, fresh, ignore=shutil.ignore_patterns("archive", "export"))
        from_nothing = run(fresh, LATER)
        assert mapped(result) == read_anew, edit
        assert result.books.records == from_nothing.books.records, edit
        assert _current(folder) == _current(fresh), edit
        assert _files(folder) == _files(fresh), edit
        shutil.rmtree(fresh)


def _current(folder: Path) -> dict[str, object]:
    """The newest release: documents, claims with verdicts, layout, findings, focus, inputs."""
    db = sqlite3.connect(folder / "archive" / "archive.sqlite")
    now = "WHERE to_release IS NULL"
    queries = {
        "documents": f"SELECT uri, kind, owner, hash, beside, body FROM documents {now}",
        "stopped": f"SELECT uri, hash, beside FROM stopped {now}",
        "claims": f"SELECT key, document, line, verdict FROM claims {now}",
        "layout": f"SELECT kind, row FROM layout {now}",
        "findings": f"SELECT uri, code, severity, message, path FROM findings {now}",
        "focus": f"SELECT uri, counts FROM focus {now}",
    }
    with closing(db):
        return {name: sorted(db.execute(query)) for name, query in queries.items()}


def _files(folder: Path) -> dict[str, bytes]:
    """The export, but for what tells of releases before: its number, and what is gone."""
    return {
        name: body
        for name, body in everything(folder).items()
        if name != "release.json" and not name.startswith("gone")
    }


@pytest.mark.parametrize("damage", [b"", b"SQLite format 3\0", None])
def test_a_part_that_is_damaged_is_made_anew(folder: Path, damage: bytes | None) -> None:
    run(folder)
    (part,) = (folder / "archive" / "drafts").glob("*.sqlite")
    if damage is None:
        part.unlink()
    else:
        part.write_bytes(damage)
    _picture(folder)

    assert mapped(run(folder)) == ["map items.csv"]
    _access(folder)
    assert mapped(run(folder)) == []


def _why(folder: Path) -> dict[str, list[tuple[str, str]]]:
    """Why each document of the last run was made anew, by its path."""
    with closing(sqlite3.connect(folder / "archive" / "finished.sqlite")) as db:
        uris = [uri.removeprefix(BASE) for (uri,) in db.execute("SELECT uri FROM document")]
    chosen = project.load(folder)
    with closing(sqlite3.connect(chosen.archive)) as db:
        live = {u for (u,) in db.execute("SELECT uri FROM documents WHERE to_release IS NULL")}
    return {
        uri: pipeline.explain_document(chosen, BASE + uri).why
        for uri in uris
        if BASE + uri in live and not uri.startswith("vocab/")
    }


def _claim_line(folder: Path) -> None:
    header = "claim,about,aspect,value,standing,by,on,basis\n"
    line = "c1,object/2,maker,person/korvath,current,group/library,2026-01-30,His hand.\n"
    (folder / "evidence" / "claims.csv").write_text(header + line, encoding="utf-8")


def _access_notice(folder: Path) -> None:
    (folder / "evidence" / "notices.csv").write_text(
        "notice,language,text,authority,contact\nn,en,Ask before use.,,\n", encoding="utf-8"
    )
    header = "key,kind,access,notice,authority,public_reason,internal_reason,decided,review_on\n"
    path = folder / "evidence" / "access.csv"
    path.write_text(header + "object/2,thing,notice,n,,,,2026-01-01,\n", encoding="utf-8")


ALBUM = "object/album"
WHY: list[tuple[Callable[[Path], None], dict[str, list[tuple[str, str]]]]] = [
    (_row, {"object/2": [("row", "items.csv#2")]}),
    (_label, {
        ALBUM: [("row", "items.csv#album")],
        "person/vey": [("row", "items.csv#album")],
        **{f"object/{n}": [("label", BASE + ALBUM)] for n in (1, 2, 3)},
    }),
    (_claim_line, {  # from now on there is something to weigh
        "object/1": [("fact", "")],
        "object/2": [("claim", ""), ("fact", "")],
        "object/3": [("fact", "")],
    }),
    (_picture, {"object/2": [("layout", "")]}),
    (_access_notice, {"object/2": [("access", "")], ALBUM: [("access", "")]}),  # it shows it
]  # fmt: skip


def test_only_that_is_made_anew_for_which_something_changed_and_explain_says_what(
    folder: Path,
) -> None:
    rows = "".join(ROWS[:-1])
    (folder / "items.csv").write_text(HEADER + rows, encoding="utf-8")
    text = PROJECT + '[export]\noutputs = ["linked-art", "iiif"]\n'
    (folder / "lodpipe.toml").write_text(text, encoding="utf-8")
    run(folder, export=False)
    before = _why(folder)
    assert set(map(tuple, before.values())) == {(("first", ""),)}
    for edit, wanted in WHY:
        edit(folder)

        run(folder, LATER, export=False)

        now = _why(folder)
        assert {uri: why for uri, why in now.items() if before[uri] != why} == wanted, edit
        before = now


class Counting(Silent):
    """A watcher that counts the steps of each stage."""

    def __init__(self) -> None:
        self.steps: dict[str, int] = {}
        self._stage = ""

    def start(self, stage: str, total: int | None) -> None:
        self._stage = stage
        self.steps[stage] = self.steps.get(stage, 0)

    def advance(self, steps: int) -> None:
        self.steps[self._stage] += steps


def _one_more(folder: Path) -> None:
    with (folder / "items.csv").open("a", encoding="utf-8") as file:
        file.write("13,Turntable,1872,dolen,,album\n")


def _one_on_top(folder: Path) -> None:
    path = folder / "items.csv"
    path.write_text(path.read_text("utf-8").replace(HEADER, HEADER + "14,Quarry,1872,vey,,album\n"))


def _spaces(folder: Path) -> None:
    with (folder / "items.csv").open("a", encoding="utf-8") as file:
        file.write("\n")


def _one_cell_more(folder: Path) -> None:
    path = folder / "items.csv"
    path.write_text(
        path.read_text("utf-8").replace(
            "Camp Nine,1871,korvath,possibly,album", "Camp Nine,1871,korvath,possibly,album,x"
        )
    )


@pytest.mark.parametrize(
    ("edit", "mapped_records"),
    [(_row, 2), (_one_more, 2), (_one_on_top, 6), (_spaces, 0), (_one_cell_more, 2)],
)
def test_of_a_source_only_the_partitions_are_mapped_that_changed(
    folder: Path, edit: Callable[[Path], None], mapped_records: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Five records, in partitions of two; a row on top moves all others."""
    module = importlib.import_module("lodpipe.pipeline.run")
    monkeypatch.setattr(module, "first_pass", partial(first_pass, size=2))
    run(folder, export=False)
    edit(folder)
    fresh = folder.parent / "fresh"
    shutil.copytree(folder, fresh, ignore=shutil.ignore_patterns("drafts", "finished.*"))
    watcher = Counting()
    options = pipeline.Options(now=LATER, export=False, accept_losses=True)

    pipeline.run(project.load(folder), options, watcher)

    pipeline.run(project.load(fresh), options, Silent())
    assert watcher.steps["map items.csv"] == mapped_records
    assert _current(folder) == _current(fresh)
    reports = [(each / "archive" / "report.jsonl").read_bytes() for each in (folder, fresh)]
    assert reports[0] == reports[1]
