"""Words for how a claim is held, what the evidence makes of it, and the facts that this rests on."""

from typing import Any

import pytest

from lodpipe.records import Claim
from lodpipe.wording import (
    aspect_word,
    days_words,
    fact_words,
    held_kind,
    held_words,
    languages,
    verdict_words,
)

LABELS = {
    "dolen": "Mira Dolen",
    "sorn-pass": "Sorn Pass",
    "section": "Engineers of the Upper Section",
    "shed": "First snow shed",
    "wax": "wax-tone print",
    "item": "Summit cutting",
}


def claim(**values: Any) -> Claim:
    return Claim("c1", "item", **({"aspect": "maker", "value": "dolen"} | values))


HELD = [
    (claim(), 0, "certain"),
    (claim(qualifier="possibly"), 0, "hedged"),
    (claim(qualifier="studio of"), 0, "hedged"),
    (claim(), 2, "alternative"),
    (claim(effective="proposed"), 2, "proposed"),
    (claim(effective="former"), 0, "former"),
    (claim(qualifier="possibly", effective="rejected"), 0, "rejected"),
    (claim(aspect="date", value="1872-02"), 0, "certain"),
    (claim(aspect="date", value="1872?"), 0, "hedged"),
    (claim(aspect="date_printed", value="1872%"), 0, "hedged"),
    (claim(aspect="date", value="1872~"), 0, "certain"),  # the words say `about`
]


@pytest.mark.parametrize(("said", "alternatives", "kind"), HELD)
def test_how_a_claim_is_held(said: Claim, alternatives: int, kind: str) -> None:
    assert held_kind(said, alternatives=alternatives) == kind
    assert all(held_words(kind, language) for language in languages())


def stay(when: str, presence: str = "at") -> dict[str, Any]:
    return {
        "kind": "stay",
        "who": "dolen",
        "where": "sorn-pass",
        "when": when,
        "presence": presence,
    }


FACTS: list[tuple[dict[str, Any], str]] = [
    (stay("1871-12-21/1872-03-05"), "Mira Dolen at Sorn Pass: 21 December 1871 to 5 March 1872"),
    (stay("1872-02-14"), "Mira Dolen at Sorn Pass: 14 February 1872"),
    (stay("1872-02-14", "all day"), "Mira Dolen at Sorn Pass the whole day: 14 February 1872"),
    (stay("1874"), "Mira Dolen at Sorn Pass some time in 1874"),
    (stay("1871-05/1874", "not at"), "Mira Dolen not at Sorn Pass: May 1871 to 1874"),
    (
        {"kind": "life", "who": "dolen", "born": "1846~", "died": ""},
        "Life of Mira Dolen: about 1846 to not known",
    ),
    (
        {"kind": "membership", "who": "dolen", "party": "section", "when": "1868-05-14/1874"},
        "Mira Dolen with Engineers of the Upper Section: 14 May 1868 to 1874",
    ),
    (
        {"kind": "membership", "who": "dolen", "party": "section", "when": ""},
        "Mira Dolen with Engineers of the Upper Section",
    ),
    (
        {"kind": "thing", "thing": "shed", "when": "1872-02-12/1872-03-02"},
        "First snow shed stood: 12 February 1872 to 2 March 1872",
    ),
    (
        {"kind": "process", "process": "wax", "first": "1871-09", "last": "1890"},
        "wax-tone print in use: September 1871 to 1890",
    ),
    ({"kind": "claim", "about": "item", "claim": "c0120"}, "What is held of Summit cutting"),
]


@pytest.mark.parametrize(("fact", "words"), FACTS)
def test_facts_in_words(fact: dict[str, Any], words: str) -> None:
    assert fact_words(fact, LABELS.__getitem__, "en") == words
    for language in languages():
        assert fact_words(fact, LABELS.__getitem__, language)


DAYS = [
    ([["1872-02-14", "1872-02-14"]], "14 February 1872"),
    (
        [["1872-02-01", "1872-02-03"], ["1873-01-01", "1873-01-02"]],
        "1 February 1872 to 3 February 1872 or 1 January 1873 to 2 January 1873",
    ),
    ([[None, "1873-01-02"]], "until 2 January 1873"),
    ([[None, None]], ""),
    ([], ""),
]


@pytest.mark.parametrize(("spans", "words"), DAYS)
def test_days_that_are_left(spans: list[list[str | None]], words: str) -> None:
    assert days_words(spans, "en") == words


def test_a_verdict_never_sounds_like_a_proof() -> None:
    placed = {"verdict": "placed", "feasible": [["1872-02-14", "1872-02-14"]], "clashes_with": []}

    assert verdict_words(claim(), placed, "en") == [
        "Possible: they were there on some of the days that are left. That is opportunity, not proof.",
        "Days left: 14 February 1872",
    ]
    assert verdict_words(claim(aspect="date", value="1872"), placed, "en")[0] == (
        "Possible on some of the days that are left. That is opportunity, not proof."
    )
    against = {"verdict": "contradicted", "feasible": [], "clashes_with": ["c2", "c3"]}
    assert verdict_words(claim(), against, "en") == [
        "The evidence speaks against it: no day is left.",
        "It cannot hold together with c2 and c3.",
    ]


def test_heads_of_rows_name_the_worker_of_the_node() -> None:
    assert aspect_word("maker", "en", node="exposure") == "Photographer"
    assert aspect_word("maker", "de", node="mounting") == "Urheberschaft"
    assert aspect_word("date_printed", "fr") == "Date du tirage"
