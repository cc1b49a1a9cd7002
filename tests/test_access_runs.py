"""What runs tell of access: old addresses, tombstones, dates of review, what is left alone."""

from pathlib import Path

import orjson
import pytest
from test_pipeline import BASE, HEADER, MAPPING, PROJECT, ROWS, edit, published, run, withhold

from lodpipe.archive import Archive
from lodpipe.errors import UsageError
from lodpipe.findings import Finding
from lodpipe.pipeline import Result


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "lodpipe.toml").write_text(PROJECT, encoding="utf-8")
    (tmp_path / "items.yaml").write_text(MAPPING, encoding="utf-8")
    (tmp_path / "items.csv").write_text(HEADER + "".join(ROWS), encoding="utf-8")
    (tmp_path / "evidence").mkdir()
    return tmp_path


def found(result: Result, code: str) -> list[Finding]:
    return [f for kind, fs in result.tally.examples.items() if kind[1] == code for f in fs]


def opened(folder: Path) -> Archive:
    return Archive(folder / "archive" / "archive.sqlite")


def test_what_is_gone_leaves_a_tombstone_and_stands_in_the_lists(folder: Path) -> None:
    run(folder)
    (folder / "items.csv").write_text(HEADER + "".join(r for r in ROWS if r[0] != "3"), "utf-8")

    run(folder, accept_losses=True)

    with opened(folder) as archive:
        since = archive.release(2).visible_from
        assert archive.tombstone(BASE + "object/3") == (2, "gone")
        assert archive.gone(1) == []
    export = folder / "export"
    assert orjson.loads((export / "gone/object/3.json").read_bytes()) == {
        "id": BASE + "object/3", "type": "Tombstone", "status": 410, "gone_since": since,
    }  # fmt: skip
    assert "/object/3 1;\n" in (export / "gone.map").read_text("utf-8")
    listed = orjson.loads((export / "gone.json").read_bytes())
    assert {"id": BASE + "object/3", "since": since} in listed["gone"]
    (folder / "items.csv").write_text(HEADER + "".join(ROWS), "utf-8")

    run(folder)

    assert not (export / "gone/object/3.json").exists()


def test_a_renamed_document_leads_on(folder: Path) -> None:
    run(folder)
    edit(folder, "3,Camp Nine", "33,Camp Nine")
    (folder / "evidence/renamed.csv").write_text("old,new\nobject/3,object/33\n", "utf-8")

    result = run(folder)  # it does not count as lost

    assert (result.status, result.release) == (0, 2)
    with opened(folder) as archive:
        assert archive.tombstone(BASE + "object/3") is None
        assert archive.moved(1) == {}
        assert archive.moved(2) == {BASE + "object/3": BASE + "object/33"}
    assert (folder / "export/moved.map").read_text("utf-8") == "/object/3 /object/33;\n"
    assert run(folder).release is None


def test_a_row_that_comes_later_takes_the_tombstone_away(folder: Path) -> None:
    run(folder)
    edit(folder, "3,Camp Nine", "33,Camp Nine")
    run(folder, accept_losses=True)
    (folder / "evidence/renamed.csv").write_text("old,new\nobject/3,object/33\n", "utf-8")

    assert run(folder).release == 3

    with opened(folder) as archive:
        assert archive.tombstone(BASE + "object/3") is None
    (folder / "evidence/renamed.csv").unlink()
    assert run(folder).release == 4
    with opened(folder) as archive:
        assert archive.moved(4) == {}


RENAMED = {
    "to nothing": ("object/9,object/99", "no document has the path `object/99`, so the old one leads nowhere"),
    "from what is there": ("object/1,object/2", "`object/1` is still there, so it does not lead on"),
}  # fmt: skip


@pytest.mark.parametrize("case", RENAMED)
def test_an_old_address_that_leads_nowhere_is_told(folder: Path, case: str) -> None:
    row, message = RENAMED[case]
    (folder / "evidence/renamed.csv").write_text(f"old,new\n{row}\n", "utf-8")

    result = run(folder)

    assert [finding.message for finding in found(result, "renamed")] == [message]
    with opened(folder) as archive:
        assert archive.moved(1) == {}


def test_nothing_leads_to_what_is_withheld(folder: Path) -> None:
    withhold(folder, "3")
    (folder / "evidence/renamed.csv").write_text("old,new\nobject/8,object/3\n", "utf-8")

    result = run(folder)

    assert found(result, "renamed") == []
    with opened(folder) as archive:
        assert archive.moved(1) == {}


def test_a_date_of_review_that_has_passed_is_told(folder: Path) -> None:
    (folder / "evidence/access.csv").write_text(
        "key,kind,access,review_on\n3,thing,withheld,2026-01-30\n2,thing,open,2026-01-31\n", "utf-8"
    )

    result = run(folder)

    assert [(f.message, str(f.place)) for f in found(result, "review-due")] == [
        (
            "the access of `3` was to be looked at again by 2026-01-30",
            "evidence/access.csv:2 (record 1) [review_on]",
        )
    ]
    with opened(folder) as archive:
        assert [f for f in archive.findings(1) if f.code == "review-due"] == []


def test_a_maker_whom_only_a_withheld_thing_names_is_told(folder: Path) -> None:
    edit(folder, "4,Dorrin viaduct,1870-06-01,korvath", "4,Dorrin viaduct,1870-06-01,esker")
    with (folder / "lodpipe.toml").open("a", encoding="utf-8") as file:
        file.write('[[source]]\nfile = "people.csv"\nmapping = "people.yaml"\n')
    (folder / "people.csv").write_text("Key\nkorvath\nvey\n", "utf-8")
    (folder / "people.yaml").write_text(
        "reads:\n  key: key\n  fields: {key: Key}\n"
        'makes:\n  - {id: "person/{key}", type: Person, _label: "{key}", identified_by: '
        '[{type: Name, content: "{key}", classified_as: {term: primary-name}}]}\n',
        "utf-8",
    )
    withhold(folder, "3")

    result = run(folder)

    assert [f.message for f in found(result, "left-alone")] == [
        f"only something withheld points at `{BASE}person/korvath`"
    ]


def test_a_claim_that_its_source_states_no_longer_is_former(folder: Path) -> None:
    run(folder)
    with opened(folder) as archive:
        (before,) = [c for _, c in archive.claims(1) if c.about == BASE + "object/3"]
    edit(folder, "korvath,possibly", "esker,")

    result = run(folder)

    assert (result.status, result.release) == (0, 2)
    with opened(folder) as archive:
        (after,) = [c for _, c in archive.claims(2) if c.about == BASE + "object/3"]
    assert (before.standing, after.key) == ("current", before.key)
    assert (after.standing, after.effective) == ("former", "former")
    assert after.basis == (
        "items.csv, record 3: “possibly”. No longer stated by Highland Railway Library, 2026-01-31."
    )
    assert "korvath" not in str(
        published(folder, "object/3")["produced_by"]["part"][0]["carried_out_by"]
    )  # type: ignore[index]
    assert run(folder).release is None


def test_a_doubt_that_the_source_gives_up_is_no_claim_any_more(folder: Path) -> None:
    run(folder)
    edit(folder, "korvath,possibly", "korvath,")

    run(folder)

    with opened(folder) as archive:
        assert [c for _, c in archive.claims(2) if c.about == BASE + "object/3"] == []
    made = published(folder, "object/3")["produced_by"]["part"][0]  # type: ignore[index]
    assert made["carried_out_by"][0]["id"] == BASE + "person/korvath"


def test_what_is_renamed_in_a_circle_stops_the_run(folder: Path) -> None:
    (folder / "evidence/renamed.csv").write_text("old,new\na,b\nb,a\n", "utf-8")

    with pytest.raises(UsageError, match="renamed in a circle"):
        run(folder)


LEDGER = (
    "claim,about,aspect,value,qualifier,standing,by,on,basis\n"
    "c1,4,maker,person/dolen,possibly,proposed,group/library,2026-01-20,The hand of the caption.\n"
    "c2,4,date,1869,probably,current,group/library,2026-01-20,The piers.\n"
)


def test_going_back_in_time_does_not_bring_back_a_withheld_claim(folder: Path) -> None:
    (folder / "evidence/claims.csv").write_text(LEDGER, "utf-8")
    run(folder)
    with opened(folder) as archive:
        assert {line.key for _, line in archive.claims(1)} >= {"c1", "c2"}
    (folder / "evidence/access.csv").write_text("key,kind,access\nc1,claim,withheld\n", "utf-8")

    assert run(folder).release == 2

    with opened(folder) as archive:
        for release in (1, 2):
            assert "c1" not in {line.key for _, line in archive.claims(release)}
            assert all(b"The hand of" not in made.body for made in archive.documents(release))
        assert archive.document(BASE + "object/4", 1) is None  # its text had the claim
        assert "c2" in {line.key for _, line in archive.claims(2)}
        assert archive.document(BASE + "object/2", 1) is not None
