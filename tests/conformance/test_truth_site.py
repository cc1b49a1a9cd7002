"""Truth in words, over every page of the demo's site.

No published source: it is what this project is for. A reader who sees only the site cannot take a
guess for a fact, and neither can a machine that reads its pages.
"""

import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from conformance import site_truth, truth
from conformance.released import Released
from conformance.test_truth import Reading

from lodpipe.wording import FREE_OF_CLAIMS, TEXT_SLOTS, VALUE_ONLY_SLOTS

ITEM = "https://collections.example.org/object/item-0101"


@pytest.fixture(scope="module")
def demo(releases: Callable[[str], Released]) -> Reading:
    return Reading(releases("demo"))


@pytest.fixture(scope="module")
def out(demo: Reading) -> Path:
    return demo.released.folder / "export"


@pytest.fixture(scope="module")
def files(out: Path) -> list[Path]:
    found = sorted(out.rglob("*.html"))
    assert len(found) >= 140
    return found


def faults(demo: Reading, pieces: list[site_truth.Piece]) -> list[str]:
    return [
        fault
        for piece in pieces
        for fault in site_truth.piece_faults(piece, demo.ledger, demo.apart, demo.own_words)
    ]


def test_no_page_states_what_is_in_doubt(demo: Reading, files: list[Path], out: Path) -> None:
    pieces = [piece for file in files for piece in site_truth.pieces(file, out)]
    told = [words for group in truth.HEDGES.values() for words in group]
    told += [words for group in truth.STANDINGS.values() for words in group]
    hedged = sum(any(word in piece.text.lower() for word in told) for piece in pieces)

    assert faults(demo, pieces) == []
    assert len(pieces) >= 8_000
    assert hedged >= 600


def test_no_value_slot_of_a_page_states_what_is_in_doubt(
    demo: Reading, files: list[Path], out: Path
) -> None:
    filled: Counter[str] = Counter()
    found = []
    for file in files:
        data = site_truth.linked_data(file)
        filled.update(data.keys())
        if "schema:@id" in data:
            found += site_truth.slot_faults(data["schema:@id"], data, demo.ledger)

    assert found == []
    assert filled["schema:creator"] >= 20
    assert filled["schema:dateCreated"] >= 20
    assert filled["schema:creditText"] >= 40


def test_every_key_of_a_page_is_a_slot_or_declared_free_of_claims(files: list[Path]) -> None:
    slots = {s.path for s in (*VALUE_ONLY_SLOTS, *TEXT_SLOTS) if s.output == "site"} - {"text"}
    free = FREE_OF_CLAIMS["site"].keys()
    met = {key for file in files for key in site_truth.linked_data(file)}

    assert met - slots - free == set()
    assert slots - met == set()
    assert slots.isdisjoint(free)


def test_every_claim_of_the_ledger_is_told_on_a_page(demo: Reading, files: list[Path]) -> None:
    """With its words, whoever makes it, and its standing: nothing that was given up is hidden."""
    told = {
        key for file in files for key in re.findall(r'<tr id="claim-([^"]+)"', file.read_text())
    }
    lines = {
        claim.key
        for uri, claim in demo.lines
        if demo.documents[uri]["type"] in ("HumanMadeObject", "VisualItem", "Person", "Place")
    }

    assert len(lines) >= 110
    assert lines - told == set()


# --- faults put in on purpose ----------------------------------------------------------------

PIECES = [
    ("Mira Dolen", "", ""),
    ("Photographer: Mira Dolen; formerly attributed to Anselm Korvath", "", ""),
    ("attributed to Mira Dolen; Anselm Korvath", "", ""),
    ("Bruno Esker", "c0107", "rejected"),
    ("titled “The Great Fall”", "", ""),
    ("attributed to Mira Dolen", "c0105", "certain"),
]


@pytest.mark.parametrize(("text", "claim", "kind"), PIECES)
def test_a_guess_that_is_told_as_a_fact_is_found(
    demo: Reading, text: str, claim: str, kind: str
) -> None:
    assert faults(demo, [site_truth.Piece(text, ITEM, claim, kind)])


@pytest.mark.parametrize(
    ("slot", "value"),
    [
        ("schema:creator", [{"@id": "https://collections.example.org/person/dolen"}]),
        ("schema:name", "The Great Fall"),
        ("og:title", "The Great Fall"),
    ],
)
def test_a_guess_in_a_value_slot_is_found(demo: Reading, slot: str, value: object) -> None:
    assert list(site_truth.slot_faults(ITEM, {slot: value}, demo.ledger))
