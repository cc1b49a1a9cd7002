"""`lodpipe weigh` on the demo: the six questions, for people and for programs."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from lodpipe.cli import main

SAMPLE = str(Path(__file__).parent.parent / "sample")


def ask(*words: str, status: int = 0) -> str:
    done = CliRunner().invoke(main, ["weigh", SAMPLE, *words])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code == status, done.output
    return done.output


def data(*words: str) -> Any:
    return json.loads(ask(*words, "--json"))


@pytest.fixture(scope="module")
def whole() -> Any:
    return data()


def test_the_old_attribution_falls_because_he_had_left(whole: Any) -> None:
    (item,) = [thing for thing in whole["things"] if thing["about"] == "object/item-0101"]
    verdicts = {claim["claim"]: claim for claim in item["claims"]}

    assert verdicts["c0104"]["verdict"] == "contradicted"
    assert verdicts["c0104"]["feasible"] == []
    assert verdicts["c0105"]["verdict"] == "placed"
    assert item["spans"]["exposure"]["earliest"] == "1872-02-14"


def test_conflict_sets_name_rows(whole: Any) -> None:
    sets = [c["members"] for c in whole["conflicts"] if c["claim"] == "c0104"]

    assert 1 <= len(sets) <= 3
    files = {member["file"] for members in sets for member in members}
    assert files == {"evidence/claims.csv", "evidence/whereabouts.csv"}


def test_facts_at_odds_are_told(whole: Any) -> None:
    assert [conflict["who"] for conflict in whole["evidence_conflicts"]] == ["person/vey"]


def test_the_argument_fits_on_a_page_that_one_can_print() -> None:
    page = ask("item-0101", "--argument")

    assert page.index("CLAIM") < page.index("COUNTER-CLAIM 1") < page.index("WHAT DECIDES")
    assert "attributed to Mira Dolen" in page
    assert "formerly attributed to Anselm Korvath" in page
    assert "Anselm Korvath not at Ilvaran Highlands, 21 May 1871 to 31 August 1874" in page
    assert "Pay book of the railway" in page
    assert "(printer)" not in page  # whoever printed it is another question


def test_a_thing_tells_who_could_have_made_it_and_who_not() -> None:
    answer = data("item-0101")
    could = {one["who"]: one["verdict"] for one in answer["candidates"]}

    assert could["person/korvath"] == "contradicted"
    assert could["person/dolen"] == "placed"
    assert all(one["because"] for one in answer["candidates"] if one["verdict"] == "contradicted")


def test_without_a_source_verdicts_fall() -> None:
    answer = data("--without-source", "text/diary-3")

    assert answer["rows"]
    assert {"before", "after"} <= set(answer["changes"][0])


def test_an_assumption_is_weighed_and_nothing_is_written() -> None:
    before = (Path(SAMPLE) / "evidence" / "claims.csv").read_bytes()

    assert data("--assume", "item-0101 maker korvath")["verdict"] == "contradicted"
    assert data("--assume", "item-0101 date 1870")["verdict"] in ("open", "contradicted")
    assert (Path(SAMPLE) / "evidence" / "claims.csv").read_bytes() == before


def test_open_questions_name_the_gap() -> None:
    questions = data("--open")

    assert questions
    assert all(question["gaps"] for question in questions)
    assert "open questions" in ask("--open")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("item-9999",), "`item-9999` is the key of no documents"),
        (("--argument",), "`--argument` needs a thing"),
        (("--assume", "item-0101 maker"), "`item-0101 maker` is not an assumption"),
        (("--assume", "item-0101 plce dolen"), "`plce` is not an aspect"),
        (("--without-source", "text/none"), "`text/none` is the key of no documents"),
    ],
)
def test_wrong_use_is_told(words: tuple[str, ...], message: str) -> None:
    assert message in ask(*words, status=2)
