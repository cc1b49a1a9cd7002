"""Whereabouts as a release keeps them: what leaves, and that it comes back as it was."""

from dataclasses import replace

from lodpipe.dates import parse
from lodpipe.evidence import Evidence, rows_of_stays, stays_of_rows
from lodpipe.evidence.facts import Authority, Stay
from lodpipe.records import LayoutRow, Place

HERE = Place("evidence/whereabouts.csv", 2)
STAY = Stay(
    "w1", "dolen", "sorn-pass", parse("1872-02-14"), "at", "", ("diary", "letter"), "", HERE
)


def evidence(*stays: Stay, withdrawn: str = "") -> Evidence:
    sources = tuple(
        Authority(key, key, "diary", None, "", key == withdrawn, HERE)
        for key in ("diary", "letter")
    )
    return Evidence(whereabouts=stays, sources=sources)


def test_a_fact_comes_back_with_all_its_sources() -> None:
    rows = list(rows_of_stays(evidence(STAY), ()))

    assert len(rows) == 2
    assert stays_of_rows(rows) == (replace(STAY, place=Place("")),)
    assert stays_of_rows(reversed(rows)) == stays_of_rows(rows)


def test_other_rows_are_left_aside() -> None:
    assert stays_of_rows([LayoutRow("threads", {"thread": "snow"})]) == ()


def test_what_is_withheld_or_withdrawn_is_not_named() -> None:
    only_letter = replace(STAY, sources=("letter",), place=Place(""))

    assert stays_of_rows(rows_of_stays(evidence(STAY), {"diary"})) == (only_letter,)
    assert stays_of_rows(rows_of_stays(evidence(STAY, withdrawn="diary"), ())) == (only_letter,)
    assert list(rows_of_stays(evidence(STAY, withdrawn="diary"), {"letter"})) == []


def test_a_fact_without_sources_is_told() -> None:
    bare = replace(STAY, sources=())

    assert stays_of_rows(rows_of_stays(evidence(bare), ())) == (replace(bare, place=Place("")),)
