"""`lodpipe claim add`: a line is appended after it was checked, and a faulty one never is."""

from pathlib import Path

import pytest
from test_pipeline import HEADER as ITEMS
from test_pipeline import MAPPING, PROJECT, ROWS, run

from lodpipe import pipeline, project
from lodpipe.errors import ManyErrors, UsageError

LEDGER = "claim,about,aspect,value,standing,by,on,basis,replaces\n"
FIRST = "c0001,4,maker,dolen,current,group/library,2026-01-20,He had left.,\n"
GOOD = {
    "about": "2", "aspect": "date", "value": "1871~", "by": "group/library", "on": "2026-01-21",
    "basis": "The shed was put up then.",
}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "lodpipe.toml").write_text(PROJECT, encoding="utf-8")
    (tmp_path / "items.yaml").write_text(MAPPING, encoding="utf-8")
    (tmp_path / "items.csv").write_text(ITEMS + "".join(ROWS), encoding="utf-8")
    (tmp_path / "evidence").mkdir()
    (tmp_path / "evidence" / "claims.csv").write_text(LEDGER + FIRST, encoding="utf-8")
    return tmp_path


def ledger(folder: Path) -> str:
    return (folder / "evidence" / "claims.csv").read_text(encoding="utf-8")


def test_a_good_claim_is_appended_with_the_next_key(folder: Path) -> None:
    key = pipeline.add_claim(project.load(folder), GOOD)

    assert key == "c0002"
    assert ledger(folder) == (
        LEDGER + FIRST + "c0002,2,date,1871~,,group/library,2026-01-21,The shed was put up then.,\n"
    )


def test_it_is_checked_against_the_newest_release_where_there_is_one(folder: Path) -> None:
    run(folder)

    assert pipeline.add_claim(project.load(folder), GOOD) == "c0002"


def test_a_ledger_is_made_where_there_is_none(folder: Path) -> None:
    (folder / "evidence" / "claims.csv").unlink()

    assert pipeline.add_claim(project.load(folder), GOOD) == "c0001"
    assert ledger(folder).startswith("claim,about,aspect,role,value,value_text,")


def test_a_line_without_end_gets_one_first(folder: Path) -> None:
    (folder / "evidence" / "claims.csv").write_text(LEDGER + FIRST.rstrip("\n"), encoding="utf-8")

    pipeline.add_claim(project.load(folder), GOOD)

    assert ledger(folder).splitlines()[1] == FIRST.rstrip("\n")
    assert len(ledger(folder).splitlines()) == 3


REFUSED = [
    ({"aspect": "dat"}, "`dat` is not a word for `aspect`", "did you mean `date`?"),
    ({"about": "22"}, "no document has the key `22`", None),
    ({"value": "1871-13"}, None, None),
    ({"by": "libary"}, "no document has the key `libary`", None),
    ({"claim": "c0001"}, None, None),
    ({"replaces": "c0009"}, None, None),
]  # fmt: skip


@pytest.mark.parametrize(("change", "message", "hint"), REFUSED, ids=[str(r[0]) for r in REFUSED])
def test_what_breaks_a_rule_is_refused_and_not_written(
    folder: Path, change: dict[str, str], message: str | None, hint: str | None
) -> None:
    before = (folder / "evidence" / "claims.csv").read_bytes()
    with pytest.raises(ManyErrors) as caught:
        pipeline.add_claim(project.load(folder), {**GOOD, **change})

    first = caught.value.errors[0]
    assert first.where.startswith("evidence/claims.csv:3")
    if message is not None:
        assert first.message == message
    if hint is not None:
        assert first.hint == hint
    assert (folder / "evidence" / "claims.csv").read_bytes() == before


def test_a_column_that_the_ledger_lacks_is_told(folder: Path) -> None:
    with pytest.raises(UsageError, match="has no column `qualifier`"):
        pipeline.add_claim(project.load(folder), {**GOOD, "qualifier": "probably"})


def test_old_faults_of_the_ledger_do_not_stop_a_new_line(folder: Path) -> None:
    (folder / "evidence" / "claims.csv").write_text(
        LEDGER + FIRST + "c0002,4,makr,dolen,current,group/library,2026-01-20,x,\n", "utf-8"
    )

    assert pipeline.add_claim(project.load(folder), {**GOOD, "claim": "c0003"}) == "c0003"
