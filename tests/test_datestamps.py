"""Datestamps over whole runs of the demo: what moves, and what does not.

A datestamp is that of the last change of the record as it is disseminated in a format
(https://www.openarchives.org/OAI/openarchivesprotocol.html#Record): best practice takes the
crosswalk in, since most faults of incremental harvests come from leaving it out.
"""

import hashlib
from collections.abc import Callable
from pathlib import Path

import pytest

from lodpipe import pipeline, project
from lodpipe.archive import Archive, Harvest
from lodpipe.pipeline import fingerprint
from lodpipe.pipeline.progress import Silent
from lodpipe.pipeline.workshop import open_workshop
from lodpipe.publish.harvest import edm, renditions
from lodpipe.publish.harvest.telling import Told
from lodpipe.publish.iiif import Site

SAMPLE = Path(__file__).parent.parent / "sample"
OBJECT = "https://collections.example.org/object/"
State = dict[tuple[str, str], tuple[int, bool]]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo after its first run."""
    folder = tmp_path_factory.mktemp("demo")
    for path in sorted(SAMPLE.rglob("*")):
        name = path.relative_to(SAMPLE)
        if name.parts[0] in ("archive", "export"):
            continue
        if path.is_dir():
            (folder / name).mkdir()
        else:
            (folder / name).write_bytes(path.read_bytes())
    assert run(folder) == 1
    return folder


def run(folder: Path, *, accept_losses: bool = False) -> int | None:
    options = pipeline.Options("2026-01-31T10:00:00Z", export=False, accept_losses=accept_losses)
    chosen = project.load(folder)
    release = pipeline.run(chosen, options, Silent()).release
    assert live(folder) == told_whole(chosen)
    return release


def live(folder: Path) -> set[tuple[str, str, str]]:
    """Document, format and hash of everything that goes out now."""
    with Archive(folder / "archive" / "archive.sqlite") as archive:
        return set(
            archive.connection.execute(
                "SELECT uri, format, hash FROM disseminations"
                " WHERE to_release IS NULL AND NOT deleted AND format != 'linked-art'"
            )
        )


def told_whole(chosen: project.Project) -> set[tuple[str, str, str]]:
    """The same, told anew from the release as a whole: a run tells only what may have changed."""
    concepts = open_workshop(chosen).concepts
    found = set()
    with Archive(chosen.archive) as archive:
        latest = archive.latest()
        assert latest is not None
        for one in renditions(chosen, concepts, archive, latest.number):
            for made in one.renditions:
                sets = "".join(f" {name}" for name in made.sets) + " " if made.sets else ""
                digest = hashlib.sha256(sets.encode() + b"\n" + made.body).hexdigest()
                found.add((made.uri, made.format, digest))
    return found


def state(folder: Path) -> State:
    """Release and deletion of everything that is disseminated, by document and format."""
    with Archive(folder / "archive" / "archive.sqlite") as archive:
        rows = archive.connection.execute(
            "SELECT uri, format, release, deleted FROM disseminations WHERE to_release IS NULL"
        )
        return {(uri, name): (release, bool(deleted)) for uri, name, release, deleted in rows}


def moved(before: State, after: State, *formats: str) -> set[tuple[str, str]]:
    """What is new or differs, as last part of the document and format."""
    return {
        (uri.rpartition("/")[2], name)
        for (uri, name), row in after.items()
        if name in formats and before.get((uri, name)) != row
    }


def edit(file: Path, change: Callable[[str], str]) -> None:
    text = file.read_text(encoding="utf-8")
    new = change(text)
    assert new != text
    file.write_text(new, encoding="utf-8")


def test_a_run_that_changes_nothing_moves_no_datestamp(folder: Path) -> None:
    before = state(folder)

    assert run(folder) is None
    assert state(folder) == before
    assert {name for _, name in before} == {"linked-art", "oai_dc", "edm", "iiif"}


def test_a_changed_title_moves_one_record_in_the_formats_where_it_shows(folder: Path) -> None:
    before = state(folder)
    edit(
        folder / "catalogue" / "items.csv",
        lambda text: text.replace("The burned snow shed", "The burned shed"),
    )
    assert run(folder) is not None
    after = state(folder)

    assert moved(before, after, "oai_dc", "edm") == {("item-0110", "oai_dc"), ("item-0110", "edm")}
    # the album lists its pictures by title
    assert ("album-1", "iiif") in moved(before, after, "iiif")
    assert ("item-0110", "iiif") in moved(before, after, "iiif")


def test_a_changed_name_moves_the_records_that_show_it(folder: Path) -> None:
    before = state(folder)
    edit(
        folder / "catalogue" / "places.csv",
        lambda text: text.replace("Hessendal", "Hessental"),
    )
    assert run(folder) is not None
    records = moved(before, state(folder), "oai_dc", "edm")

    assert len(records) >= 4
    assert ("item-0101", "edm") not in records


def test_only_what_a_change_touches_is_told_anew(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made, told = edm.record, list[str]()

    def record(one: Told, site: Site) -> bytes:
        told.append(one.uri)
        return made(one, site)

    edit(
        folder / "catalogue" / "items.csv",
        lambda text: text.replace("The burned shed", "The shed, burned"),
    )
    chosen = project.load(folder)
    with monkeypatch.context() as patch:
        patch.setattr(edm, "record", record)
        options = pipeline.Options("2026-01-31T10:00:00Z", export=False)
        assert pipeline.run(chosen, options, Silent()).release is not None

    assert live(folder) == told_whole(chosen)
    assert any(uri.endswith("/item-0110") for uri in told)
    assert len(told) <= 3


def test_a_changed_crosswalk_moves_every_record_of_its_format(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = state(folder)
    made = edm.record
    monkeypatch.setattr(edm, "record", lambda told, site: made(told, site) + b"<!-- new -->")
    monkeypatch.setattr(fingerprint, "code", lambda: "another version of the code")
    number = run(folder)
    after = state(folder)
    of_edm = {row for (_, name), row in after.items() if name == "edm"}

    assert number is not None
    assert of_edm == {(number, False)}
    assert moved(before, after, "oai_dc", "iiif", "linked-art") == set()

    monkeypatch.undo()
    assert run(folder) == number + 1


def test_what_is_withheld_is_deleted_in_every_format(folder: Path) -> None:
    before = state(folder)
    edit(
        folder / "evidence" / "access.csv",
        lambda text: (
            text.rstrip("\n")
            + "\nobject/item-0106,thing,withheld,,group/teveli-council,,asked for,2026-02-01,\n"
        ),
    )
    number = run(folder, accept_losses=True)
    after = state(folder)
    rows = {
        name: after[f"{OBJECT}item-0106", name] for name in ("linked-art", "oai_dc", "edm", "iiif")
    }
    with Archive(folder / "archive" / "archive.sqlite") as archive:
        bytes_of_it = archive.connection.execute(
            "SELECT count(*) FROM disseminations WHERE uri = ? AND body IS NOT NULL",
            (f"{OBJECT}item-0106",),
        ).fetchone()[0]
        assert number is not None
        activities = list(Harvest(archive).activities("iiif", number, 0, 10_000))

    assert number is not None
    assert rows == dict.fromkeys(rows, (number, True))
    assert not any(before[f"{OBJECT}item-0106", name][1] for name in rows)
    assert bytes_of_it == 0
    assert ("Delete", f"{OBJECT}item-0106") in {(a.kind, a.uri) for a in activities}
    assert [a.number for a in activities] == list(range(1, len(activities) + 1))
