"""Facts that claims reason from: told in words, and only as far as they may leave the house."""

from pathlib import Path

import pytest

from lodpipe.dates import parse
from lodpipe.evidence.facts import Stay
from lodpipe.parts.index import IndexReader, IndexWriter, United
from lodpipe.pipeline.known import Visible
from lodpipe.pipeline.premises import with_premises
from lodpipe.records import Claim, Entry, Place, Premise

BASE = "https://collections.example.org/"
DOLEN, PASS, DIARY, CARD = (
    BASE + key for key in ("person/dolen", "place/sorn-pass", "text/diary-3", "text/card")
)
LABELS = {DOLEN: "Mira Dolen", PASS: "Sorn Pass", DIARY: "Diary 3", CARD: "Card"}
HERE = Place("evidence/whereabouts.csv", 2, 1)


@pytest.fixture(name="index")
def _index(tmp_path: Path) -> IndexReader:
    writer = IndexWriter(tmp_path / "index")
    for uri, label in LABELS.items():
        writer.add(United(uri, {"id": uri}), Entry(uri, "Person", label))
    writer.flush()
    writer.close()
    return IndexReader(tmp_path / "index")


def stay(when: str, presence: str = "at") -> Stay:
    return Stay("w1", DOLEN, PASS, parse(when), presence, "", (DIARY, CARD), "", HERE)


def facts(row: Stay, index: IndexReader, *withheld: str, language: str = "en") -> list[Premise]:
    claim = Claim("c1", BASE + "object/1", "maker", DOLEN, premises=("w1", "w9"))
    seen = Visible(index, frozenset(withheld))
    [found] = with_premises([claim], [row], seen, language)
    return list(found.facts)


WORDS = [
    (stay("1871-12-21/1872-03-05"), "en", "Mira Dolen at Sorn Pass: 21 December 1871 to 5 March 1872 (whereabouts w1)"),
    (stay("1872-02-14"), "en", "Mira Dolen at Sorn Pass: 14 February 1872 (whereabouts w1)"),
    (stay("1872-02-14", "all day"), "en", "Mira Dolen at Sorn Pass the whole day: 14 February 1872 (whereabouts w1)"),
    (stay("1872-02"), "en", "Mira Dolen at Sorn Pass some time in February 1872 (whereabouts w1)"),
    (stay("[1872-02-14,1872-02-15]"), "en", "Mira Dolen at Sorn Pass some time on 14 February 1872 or on 15 February 1872 (whereabouts w1)"),
    (stay("1872-02-14?"), "en", "Mira Dolen at Sorn Pass: perhaps 14 February 1872 (whereabouts w1)"),
    (stay("1871-05-21/..", "not at"), "en", "Mira Dolen not at Sorn Pass: from 21 May 1871 (whereabouts w1)"),
    (stay("1872-02"), "fr", "Mira Dolen, Sorn Pass, à un moment donné en février 1872 (présence w1)"),
    (stay("1872-02-14", "not at"), "de", "Mira Dolen, nicht am Ort Sorn Pass: 14. Februar 1872 (Aufenthalt w1)"),
]  # fmt: skip


@pytest.mark.parametrize(("row", "language", "words"), WORDS)
def test_a_fact_is_told_no_surer_than_it_is(
    row: Stay, language: str, words: str, index: IndexReader
) -> None:
    assert facts(row, index, language=language) == [Premise("w1", words, (DIARY, CARD))]


@pytest.mark.parametrize("withheld", [DOLEN, PASS])
def test_a_fact_about_what_is_withheld_does_not_leave(withheld: str, index: IndexReader) -> None:
    assert facts(stay("1872"), index, withheld) == []


def test_a_source_that_is_withheld_is_not_named(index: IndexReader) -> None:
    [fact] = facts(stay("1872"), index, CARD)

    assert fact.sources == (DIARY,)
