"""Taking something back: it is gone from every release, and stays away."""

import csv
from pathlib import Path

import orjson
import pytest
from click.testing import CliRunner
from test_pipeline import BASE, HEADER, MAPPING, NOW, PROJECT, ROWS, edit, plain, run

from lodpipe import archive, pipeline, project
from lodpipe.archive import Archive
from lodpipe.cli.commands import main
from lodpipe.errors import ManyErrors, UsageError
from lodpipe.pipeline.progress import Silent

LATER = "2026-02-01T10:00:00Z"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The small project, released twice: in the second release thing 3 has another date."""
    (tmp_path / "lodpipe.toml").write_text(PROJECT, encoding="utf-8")
    (tmp_path / "items.yaml").write_text(MAPPING, encoding="utf-8")
    (tmp_path / "items.csv").write_text(HEADER + "".join(ROWS), encoding="utf-8")
    (tmp_path / "evidence").mkdir()
    (tmp_path / "evidence/claims.csv").write_text(
        "claim,about,aspect,value,standing,by,on,basis\n"
        "c1,4,later_than,3,current,group/library,2026-01-20,The scaffold.\n",
        "utf-8",
    )
    assert run(tmp_path).release == 1
    edit(tmp_path, "3,Camp Nine,1871,", "3,Camp Nine,1872,")
    assert run(tmp_path).release == 2
    return tmp_path


def withdraw(folder: Path, key: str, **more: str) -> pipeline.Done:
    asked = pipeline.Asked(key, reason="asked for", by="Teveli Council", on="2026-02-01", **more)
    return pipeline.withdraw(project.load(folder), asked, pipeline.Options(now=LATER), Silent())


def lines(folder: Path) -> list[dict[str, str]]:
    with (folder / "evidence/withdrawals.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def opened(folder: Path) -> Archive:
    return Archive(folder / "archive" / "archive.sqlite")


@pytest.mark.parametrize("key", ["3", "object/3"])
def test_what_is_withdrawn_is_in_no_release(folder: Path, key: str) -> None:
    done = withdraw(folder, key, review_on="2031")

    assert (done.key, done.kind, done.documents) == ("object/3", "thing", (BASE + "object/3",))
    assert (done.release, done.published) == (3, (1, NOW, 2))
    assert (done.removed.bodies, done.removed.naming) == (2, 1)
    assert lines(folder) == [
        {
            "key": "object/3", "kind": "thing", "reason": "asked for", "by": "Teveli Council",
            "on": "2026-02-01", "review_on": "2031",
        }
    ]  # fmt: skip
    with opened(folder) as found:
        for release in (1, 2, 3):
            assert found.document(BASE + "object/3", release) is None
            assert BASE + "object/3" not in found.uris(release)
        assert found.tombstone(BASE + "object/3") == (3, "withdrawn")
        assert found.document(BASE + "object/4", 1) is None  # it named the thing
        assert found.document(BASE + "object/4", 3) is not None
    assert "linked-art/object/3.json" in done.files
    assert b"Camp Nine" not in (folder / "archive/archive.sqlite").read_bytes()
    assert all(b"object/3" not in body for body in plain(folder).values())


def test_compare_answers_with_a_tombstone(folder: Path) -> None:
    withdraw(folder, "3")

    with opened(folder) as found:
        changes = {
            change.uri.removeprefix(BASE): (change.state, change.label, change.details)
            for change in archive.compare(found, 1, 3)
        }

    assert changes["object/3"] == ("withdrawn", "", ())
    assert changes["object/4"] == ("changed", "Dorrin viaduct", ())
    assert "object/1" not in changes


def test_it_stays_away_whatever_the_catalogue_says(folder: Path) -> None:
    withdraw(folder, "3")
    edit(folder, "3,Camp Nine,1872,", "3,Camp Nine,1873,")

    result = run(folder)

    assert result.books.documents["withheld"] == 1
    assert all(b"Camp Nine" not in body for body in plain(folder).values())
    assert b"Camp Nine" not in (folder / "archive/archive.sqlite").read_bytes()


def test_a_claim_is_taken_out_of_every_release(folder: Path) -> None:
    done = withdraw(folder, "c1")

    assert (done.kind, done.documents, done.claims) == ("claim", (), ("c1",))
    with opened(folder) as found:
        assert [
            line.key for n in (1, 2, 3) for _, line in found.claims(n) if line.key == "c1"
        ] == []
    assert b"The scaffold." not in (folder / "archive/archive.sqlite").read_bytes()
    assert run(folder).release is None


def test_a_person_is_taken_out_of_texts_too(folder: Path) -> None:
    edit(folder, "Snow shed", "Snow shed, by korvath")
    run(folder)

    withdraw(folder, "person/korvath")

    assert "by [name withheld]" in str(
        orjson.loads((folder / "export/linked-art/object/2.json").read_bytes())
    )
    assert all(b"korvath" not in body for body in plain(folder).values())
    with opened(folder) as found:
        assert all(b"by korvath" not in d.body for n in (1, 2, 3, 4) for d in found.documents(n))


def test_it_goes_although_the_catalogue_cannot_be_read(folder: Path) -> None:
    (folder / "items.yaml").write_text("makes: [", "utf-8")

    done = withdraw(folder, "3")

    assert "items.yaml" in done.problem
    assert done.release == 3
    with opened(folder) as found:
        kept = {uri.removeprefix(BASE) for uri in found.uris(3)}
    assert "object/3" not in kept
    assert "object/4" not in kept  # it named the thing, and is made again by the next run
    assert "object/2" in kept
    (folder / "items.yaml").write_text(MAPPING, "utf-8")

    result = run(folder)

    assert result.release == 4
    assert (folder / "export/linked-art/object/4.json").is_file()
    assert all(b"object/3" not in body for body in plain(folder).values())


def test_asking_twice_writes_one_line(folder: Path) -> None:
    withdraw(folder, "3")
    done = withdraw(folder, "3")

    assert len(lines(folder)) == 1
    assert done.removed.bodies == 0


REFUSED = {
    "unknown": ("33", "no release ever had anything of the key `33`"),
    "another kind": ("object/3", "no release ever had a person of the key `object/3`"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_was_never_published_cannot_be_withdrawn(folder: Path, case: str) -> None:
    key, message = REFUSED[case]
    kind = "person" if case == "another kind" else ""

    with pytest.raises(UsageError) as refused:
        withdraw(folder, key, kind=kind)

    assert refused.value.message == message
    assert not (folder / "evidence/withdrawals.csv").exists()


def test_a_day_that_cannot_be_read_is_refused(folder: Path) -> None:
    with pytest.raises(UsageError, match="--review-on"):
        withdraw(folder, "3", review_on="soon")


def test_a_run_refuses_a_withdrawal_that_is_only_written(folder: Path) -> None:
    (folder / "evidence/withdrawals.csv").write_text("key,kind\nobject/3,thing\n", "utf-8")

    with pytest.raises(ManyErrors) as refused:
        run(folder)

    (fault,) = refused.value.errors
    assert (fault.message, fault.hint, fault.exit_status) == (
        "`object/3` is to be withdrawn, and releases of the archive still hold it",
        "finish it with `lodpipe withdraw object/3`, which takes it out of all of them",
        2,
    )


def test_a_run_refuses_when_the_line_is_gone(folder: Path) -> None:
    withdraw(folder, "3")
    (folder / "evidence/withdrawals.csv").unlink()

    with pytest.raises(ManyErrors) as refused:
        run(folder)

    (fault,) = refused.value.errors
    assert fault.message == "`object/3` was withdrawn on 2026-02-01, and no line says so any more"


def test_the_command_tells_what_it_cannot_reach(folder: Path) -> None:
    answer = CliRunner().invoke(
        main,
        [
            "withdraw",
            "3",
            str(folder),
            "--reason",
            "x",
            "--by",
            "y",
            "--on",
            "2026-02-01",
            "--json",
        ],
    )

    assert answer.exit_code == 0, answer.output
    data = orjson.loads(answer.stdout)
    assert (data["key"], data["release"]) == ("object/3", 3)
    assert data["published"] == {"first": 1, "since": NOW, "last": 2}
    assert len(data["beyond"]) == 5
