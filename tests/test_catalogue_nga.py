"""Former attributions and titles of an art museum: every row that says something is one former claim.

Data: github.com/NationalGalleryOfArt/opendata, commit e98485bc, objects_historical_data.csv, CC0.
"""

import csv
import re
from collections import Counter
from pathlib import Path

import pytest
from catalogue_help import BASE, Catalogue, catalogue

from lodpipe.records import Claim

pytestmark = pytest.mark.reference

FILE = "data/edge/nga-attributions/objects_historical_data.csv"
QUALIFIERS = {
    # words at the beginning of a text, as the museum writes them: ours, and how many rows; the
    # words count only where they cover the whole text
    "attributed to": ("attributed-to", 106),
    "follower of": ("follower-of", 18),
    "after": ("after", 16),
    "style of": ("style-of", 16),
    "probably": ("probably", 16),
    "circle of": ("circle-of", 15),
    "manner of": ("manner-of", 15),
    "school of": ("school-of", 14),
    "workshop of": ("workshop-of", 9),
    "possibly": ("possibly", 5),
    "studio of": ("studio-of", 1),
    "neighborhood of": ("circle-of", 0),
}


@pytest.fixture(scope="module", name="made")
def _made(reference: Path) -> Catalogue:
    return catalogue(reference / FILE, "nga-history.yaml")


@pytest.fixture(scope="module", name="rows")
def _rows(reference: Path) -> list[dict[str, str]]:
    with (reference / FILE).open(encoding="utf-8-sig", newline="") as handle:
        return [
            {key: value.strip() for key, value in row.items()} for row in csv.DictReader(handle)
        ]


def claims(made: Catalogue) -> list[Claim]:
    return [claim for one in made.mapped for claim in one.claims]


def test_every_row_is_read_and_nothing_is_passed_over(
    made: Catalogue, rows: list[dict[str, str]]
) -> None:
    assert made.count == len(rows) == 3_103
    assert made.findings == []
    assert made.unlabelled == set()
    assert {draft.uri for draft in made.drafts()} == {
        f"{BASE}object/{row['objectid']}" for row in rows
    }


def test_every_text_is_one_former_claim(made: Catalogue, rows: list[dict[str, str]]) -> None:
    said = Counter(
        (row["datatype"], row["objectid"])
        for row in rows
        if row["forwardtext"] or row["invertedtext"]
    )
    kinds = {"maker": "previous_attribution", "title": "previous_title"}

    assert (
        Counter(
            (kinds[claim.aspect], claim.about.removeprefix(f"{BASE}object/"))
            for claim in claims(made)
        )
        == said
    )
    assert said.total() == 3_077  # 26 rows have no text at all
    assert {(c.standing, c.effective, c.value, c.by) for c in claims(made)} == {
        ("former", "former", "", BASE + "group/museum")
    }
    assert len({claim.key for claim in claims(made)}) == 3_077


def test_remark_and_date_are_kept(made: Catalogue, rows: list[dict[str, str]]) -> None:
    dates = Counter(row["effectivedate"] for row in rows if row["effectivedate"])
    told = Counter(c.on for c in claims(made) if c.on != "2017-03-17")
    remarks = [row["remarks"] for row in rows if row["remarks"]]
    bases = [c.basis.partition(" (objects_historical_data.csv, record ")[0] for c in claims(made)]

    assert told == dates
    assert dates.total() == 206
    assert Counter(b for b in bases if not b.startswith("objects_historical_data.csv")) == Counter(
        remarks
    )
    assert len(remarks) == 1_101


def test_qualifiers_are_read_where_the_table_has_them_and_they_cover_all(
    made: Catalogue, rows: list[dict[str, str]]
) -> None:
    expected: Counter[tuple[str, str]] = Counter()
    for row in rows:
        text = row["forwardtext"] or row["invertedtext"]
        if row["datatype"] != "previous_attribution" or not text:
            continue
        lead = next((w for w in QUALIFIERS if text.lower().startswith(w + " ")), "")
        rest = text[len(lead) + 1 :] if lead else text
        if lead and re.search(r"\bor\b|;|\(|formerly|attributed", rest, re.IGNORECASE):
            lead, rest = "", text
        expected[QUALIFIERS[lead][0] if lead else "", rest] += 1
    made_of = Counter((c.qualifier, c.value_text) for c in claims(made) if c.aspect == "maker")

    assert made_of == expected
    numbers = Counter(c.qualifier for c in claims(made) if c.aspect == "maker" and c.qualifier)
    assert numbers == {ours: number for ours, number in QUALIFIERS.values() if number}
