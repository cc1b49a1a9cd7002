"""Taking something back: it is gone from every release, and stays away."""

import csv
from pathlib import Path

import orjson
import pytest
from click.testing import CliRunner
from test_pipeline import BASE, HEADER, MAPPING, NOW, PROJECT, ROWS, edit, everything, plain, run

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
            "on": "2026-02-01", "review_on": "2031", "public_reason": "",
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


# --- a withdrawal that is lifted


def lift(folder: Path, key: str) -> pipeline.Done:
    asked = pipeline.Asked(key, reason="They agreed.", by="Teveli Council", on="2026-03-01")
    return pipeline.lift(project.load(folder), asked)


def test_what_is_lifted_comes_back_with_the_next_run_only_and_is_told(folder: Path) -> None:
    withdraw(folder, "3")

    done = lift(folder, "3")

    assert (done.key, done.kind, done.documents) == ("object/3", "thing", (BASE + "object/3",))
    assert (folder / "evidence/lifted.csv").read_text("utf-8") == (
        "key,reason,by,on\nobject/3,They agreed.,Teveli Council,2026-03-01\n"
    )
    with opened(folder) as found:
        assert found.document(BASE + "object/3", 3) is None
    assert all(b"object/3" not in body for body in plain(folder).values())

    result = run(folder)

    (told,) = [f for some in result.tally.examples.values() for f in some if f.code == "lifted"]
    assert told.message == (
        "`object/3` may be published again: `Teveli Council` lifted its withdrawal on 2026-03-01"
    )
    with opened(folder) as found:
        assert found.document(BASE + "object/3", 4) is not None
        assert found.tombstone(BASE + "object/3") is None
        assert [found.document(BASE + "object/3", release) for release in (1, 2, 3)] == [None] * 3
        assert all(f.code != "lifted" for f in found.findings(4))
    assert run(folder).release is None


def test_a_withdrawal_after_a_lift_holds_again(folder: Path) -> None:
    withdraw(folder, "3")
    lift(folder, "3")
    withdraw(folder, "3")
    run(folder)

    assert len(lines(folder)) == 2
    assert all(b"Camp Nine" not in body for body in plain(folder).values())
    lift(folder, "3")
    run(folder)
    assert any(b"Camp Nine" in body for body in plain(folder).values())


def test_what_another_row_withholds_stays_away_although_it_is_lifted(folder: Path) -> None:
    withdraw(folder, "3")
    (folder / "evidence/access.csv").write_text("key,access\n3,withheld\n", "utf-8")
    lift(folder, "3")

    result = run(folder)

    assert all(b"Camp Nine" not in body for body in plain(folder).values())
    assert not [one for one in result.tally.counts if one[1] == "lifted"]


def test_only_a_withdrawal_can_be_lifted(folder: Path) -> None:
    with pytest.raises(UsageError, match="`object/3` is not withdrawn"):
        lift(folder, "3")


def test_a_run_refuses_a_lift_that_is_only_written_and_asking_finishes_it(folder: Path) -> None:
    withdraw(folder, "3")
    (folder / "evidence/lifted.csv").write_text("key,by\nobject/3,somebody\n", "utf-8")

    with pytest.raises(ManyErrors) as raised:
        run(folder)
    (error,) = raised.value.errors
    assert error.message == (
        "the withdrawal of `object/3` is lifted, and the archive does not know of it"
    )
    assert error.hint == "finish it with `lodpipe withdraw object/3 --lift`"

    lift(folder, "3")
    run(folder)
    assert any(b"Camp Nine" in body for body in plain(folder).values())
    assert len((folder / "evidence/lifted.csv").read_text("utf-8").splitlines()) == 2


def test_the_command_lifts(folder: Path) -> None:
    withdraw(folder, "3")
    asked = ["withdraw", "3", str(folder), "--lift", "--by", "Teveli Council", "--reason", "Yes."]

    answer = CliRunner().invoke(main, [*asked, "--json"])
    refused = CliRunner().invoke(main, [*asked, "--public-reason", "No."])

    assert answer.exit_code == 0
    assert orjson.loads(answer.stdout)["documents"] == [BASE + "object/3"]
    assert refused.exit_code == 2
    assert "--public-reason says nothing about a withdrawal that is lifted" in refused.stderr


# --- what is told in the place of what is gone


def test_a_public_reason_stands_in_its_place_and_no_other_does(folder: Path) -> None:
    with (folder / "lodpipe.toml").open("a", encoding="utf-8") as file:
        file.write('[export]\noutputs = ["linked-art", "dataset", "site"]\n')
    asked = pipeline.Asked(
        "3", reason="internal: letter", by="Teveli Council", on="2026-02-01",
        public_reason="At the wish of the <Teveli Council>.",
    )  # fmt: skip
    pipeline.withdraw(project.load(folder), asked, pipeline.Options(now=LATER), Silent())

    written = everything(folder)
    stone = orjson.loads(written["gone/object/3.json"])
    assert stone["reason"] == "At the wish of the <Teveli Council>."
    assert orjson.loads(written["gone.json"])["gone"][0]["reason"] == stone["reason"]
    deleted = [
        one
        for name, body in written.items()
        if name.startswith("activity")
        for one in orjson.loads(body).get("orderedItems", ())
        if one["type"] == "Delete" and one["object"]["id"] == BASE + "object/3"
    ]
    assert {one.get("summary") for one in deleted} == {stone["reason"]}
    assert "<p>At the wish of the &lt;Teveli Council&gt;.</p>" in written["page/3.html"].decode()
    assert all(b"internal: letter" not in body for body in written.values())


def test_a_public_reason_that_changes_makes_a_release(folder: Path) -> None:
    file = folder / "evidence/access.csv"
    file.write_text("key,access,public_reason\n3,withheld,At their wish.\n", "utf-8")
    run(folder)
    file.write_text("key,access,public_reason\n3,withheld,Their wish.\n", "utf-8")

    assert run(folder).release == 4
    assert orjson.loads(everything(folder)["gone/object/3.json"])["reason"] == "Their wish."
    assert run(folder).release is None
