"""The shipped mappings of two open catalogues: nothing lost, and no doubt published as a fact.

The data are named in the mappings. What a catalogue says is counted with plain Python.
"""

import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from catalogue_help import (
    BASE,
    CMOA_QUALIFIERS,
    NOBODY,
    TATE_QUALIFIERS,
    TATE_TWO,
    Catalogue,
    catalogue,
    lines,
    makers,
    nodes,
    words,
)

from lodpipe.records import Claim

pytestmark = pytest.mark.reference

CMOA_JSONL = ("data/cmoa/objects.jsonl", "cmoa-jsonl.yaml")
CMOA_CSV = ("data/cmoa/objects-derived.csv", "cmoa-csv.yaml")
TATE = ("data/tate/objects.jsonl", "tate-objects.yaml")
ARTISTS = ("data/tate/artists.jsonl", "tate-artists.yaml")
LIDO = ("data/edge/lido/LIDO-Extended-Example.xml", "lido.yaml")
SOURCES = {"cmoa-jsonl": CMOA_JSONL, "cmoa-csv": CMOA_CSV, "tate": TATE}

UNKNOWN = re.compile(r"(unknown|anonymous|unidentified)\b", re.I)
"""Names that say that nobody knows the maker, at their beginning."""
SCHOOL = re.compile(r"\bSchool\b")


def mapped(reference: Path, source: tuple[str, str]) -> Catalogue:
    return catalogue(reference / source[0], source[1])


def nobody(name: str) -> bool:
    return bool(UNKNOWN.match(name) or SCHOOL.search(name))


def said(claim: Claim) -> str:
    """The role as the source writes it: the basis of a mapped claim quotes it."""
    found = re.search(r"“(.*)”$", claim.basis)
    assert found is not None, claim
    return found[1]


def parties(record: dict[str, Any]) -> list[dict[str, Any]]:
    """The makers of a record of either catalogue, in one shape."""
    if "contributors" in record:
        return [
            {"id": str(c["id"]), "name": c["fc"], "role": c["role"]} for c in record["contributors"]
        ]
    return [
        {"id": c["artist_id"].rpartition("/")[2], "name": c["full_name"], "role": c["role"] or ""}
        for c in record["creator"] or []
    ]


@pytest.fixture(params=SOURCES)
def each(request: pytest.FixtureRequest, reference: Path) -> tuple[Catalogue, dict[str, Any]]:
    """A catalogue as it was mapped, and its records by key."""
    file, mapping = SOURCES[request.param]
    rows = lines(reference / file.replace("-derived.csv", ".jsonl"))
    key = "acno" if "tate" in file else "id"
    return mapped(reference, (file, mapping)), {row[key]: row for row in rows}


# --- nothing is lost ----------------------------------------------------------------------


@pytest.mark.parametrize("source", [CMOA_JSONL, CMOA_CSV, TATE, ARTISTS, LIDO], ids=lambda s: s[1])
def test_every_leaf_is_mapped_or_dropped_and_every_term_known(
    reference: Path, source: tuple[str, str]
) -> None:
    found = mapped(reference, source)
    wrong = [f for f in found.findings if f.code in ("unmapped", "term", "no-branch", "key", "iri")]
    assert wrong == []
    assert found.unlabelled == set()
    assert found.codes() <= {"characters", "date", "date-disagrees", "parallel", "size"}


@pytest.mark.slow
@pytest.mark.parametrize(
    "source",
    [("data/cmoa.jsonl.gz", "cmoa-jsonl.yaml"), ("data/tate.jsonl.gz", "tate-objects.yaml")],
    ids=lambda s: s[1],
)
def test_the_whole_catalogues_have_nothing_that_the_selections_lack(
    reference: Path, source: tuple[str, str]
) -> None:
    found = catalogue(reference / source[0], source[1], keep=False)
    assert found.count == (28_258 if "cmoa" in source[0] else 69_202)
    assert found.unlabelled == set()
    assert found.codes() <= {"characters", "date", "date-disagrees", "size"}


def test_the_table_and_the_json_lines_make_the_same(reference: Path) -> None:
    """One known difference: a nationality holds the sign of the columns (told in the mappings)."""
    table, json_lines = mapped(reference, CMOA_CSV), mapped(reference, CMOA_JSONL)

    def made(found: Catalogue) -> dict[str, Any]:
        return {
            one.key: (
                [(d.uri, d.tree) for d in one.documents],
                [
                    (c.key, c.about, c.value, c.value_text, c.qualifier, c.standing, c.role)
                    for c in one.claims
                ],
            )
            for one in found.mapped
        }

    assert made(table) == made(json_lines)
    assert [(f.code, f.value) for f in table.findings if f.code == "parallel"] == [
        ("parallel", "Austrian|French|Swiss")
    ]
    others = Counter((f.code, f.value) for f in table.findings if f.code != "parallel")
    assert others == Counter((f.code, f.value) for f in json_lines.findings)


# --- doubts are claims, never facts -------------------------------------------------------


def test_each_qualifier_of_the_source_is_one_claim(each: tuple[Catalogue, dict[str, Any]]) -> None:
    found, rows = each
    expected: Counter[tuple[str, ...]] = Counter()
    for row in rows.values():
        for party in parties(row):
            role = party["role"]
            qualified = (TATE_QUALIFIERS if "acno" in row else CMOA_QUALIFIERS).get(role)
            if qualified is not None:
                expected[role, *qualified] += 1
            if "acno" in row and role in TATE_TWO:
                expected[role, "", "current", ""] += 1
                if TATE_TWO[role]:
                    expected[role, TATE_TWO[role], "current", ""] += 1
    made = Counter(
        (said(c), c.qualifier, c.standing, c.role) for one in found.mapped for c in one.claims
    )
    assert made == expected
    assert sum(made.values()) > 1_000


def test_a_claim_names_its_maker_the_day_and_the_speaker(
    each: tuple[Catalogue, dict[str, Any]],
) -> None:
    found, rows = each
    for one in found.mapped:
        named = {party["id"]: party["name"] for party in parties(rows[one.key])}
        for claim in one.claims:
            assert (claim.aspect, claim.by, claim.on) == (
                "maker",
                BASE + "group/museum",
                "2017-03-17",
            )
            assert bool(claim.value) != bool(claim.value_text)
            assert claim.value.rpartition("/")[2] in {"", *named}
            if claim.value_text:
                assert claim.value_text.endswith(tuple(named.values()))


def test_no_qualified_maker_is_stated_as_maker(each: tuple[Catalogue, dict[str, Any]]) -> None:
    found, rows = each
    met = 0
    for one in found.mapped:
        row = rows[one.key]
        qualifiers = TATE_QUALIFIERS if "acno" in row else CMOA_QUALIFIERS
        free = {p["id"] for p in parties(row) if p["role"] not in (*qualifiers, *TATE_TWO)}
        doubted = {p["id"] for p in parties(row)} - free
        stated = {iri.rpartition("/")[2] for iri in makers(one.documents[0].tree)}
        assert not stated & doubted
        assert not one.documents[0].tree.get("produced_by", {}).get("influenced_by")
        met += len(doubted)
    assert met > 1_000


def test_nobody_in_particular_never_becomes_a_person(
    each: tuple[Catalogue, dict[str, Any]],
) -> None:
    found, rows = each
    for draft in found.drafts():
        if draft.tree["type"] in ("Person", "Group"):
            assert not nobody(draft.tree["_label"]), draft.uri
    kept = 0
    for one in found.mapped:
        row, thing = rows[one.key], one.documents[0].tree
        unknown = [p for p in parties(row) if nobody(p["name"])]
        if not unknown:
            continue
        told = [*words(thing, "statement/makers"), *(c.value_text for c in one.claims)]
        for party in unknown:
            assert any(party["name"] in text for text in told), (one.key, party)
            kept += 1
    names = Counter(p["name"] for row in rows.values() for p in parties(row))
    assert names["unknown American, PA, Pittsburgh"] or names["British (?) School"] > 300
    assert kept == sum(n for name, n in names.items() if nobody(name))


def test_the_unidentified_are_one_group(each: tuple[Catalogue, dict[str, Any]]) -> None:
    found, rows = each
    for one in found.mapped:
        row = rows[one.key]
        qualifiers = TATE_QUALIFIERS if "acno" in row else CMOA_QUALIFIERS
        direct = [p for p in parties(row) if nobody(p["name"]) and p["role"] not in qualifiers]
        stated = makers(one.documents[0].tree)
        assert (NOBODY in stated) == bool(direct), one.key


def test_maker_of_each_record_is_the_one_of_the_source(
    each: tuple[Catalogue, dict[str, Any]],
) -> None:
    """A role that is empty, or `artist`, is a plain maker: all of them are stated, nobody else."""
    found, rows = each
    for one in found.mapped:
        plain = {
            p["id"]
            for p in parties(rows[one.key])
            if p["role"] in ("", "artist") and not nobody(p["name"])
        }
        stated = {iri.rpartition("/")[2] for iri in makers(one.documents[0].tree)}
        assert plain <= stated <= {p["id"] for p in parties(rows[one.key])} | {"unidentified-maker"}


# --- values -------------------------------------------------------------------------------


def test_inches_become_millimetres_and_zero_means_unknown(reference: Path) -> None:
    rows = {row["id"]: row for row in lines(reference / CMOA_JSONL[0])}
    for one in mapped(reference, CMOA_JSONL).mapped:
        row, got = rows[one.key], one.documents[0].tree.get("dimension", [])
        want = {
            kind: row[f"item_{kind}"] * 25.4
            for kind in ("width", "height", "depth", "diameter")
            if row[f"item_{kind}"]
        }
        made = {node["classified_as"][0]["_label"].lower(): node["value"] for node in got}
        assert made.keys() == want.keys()
        assert all(abs(made[kind] - want[kind]) <= 0.0501 for kind in want), one.key


def test_height_comes_first_in_the_text_of_dimensions(reference: Path) -> None:
    """The members `width` and `height` are swapped in the data: the text is right (README)."""
    rows = {row["acno"]: row for row in lines(reference / TATE[0])}
    met = 0
    for one in mapped(reference, TATE).mapped:
        plain = re.fullmatch(
            r"(support|image): (\d+) x (\d+) mm", rows[one.key]["dimensions"] or ""
        )
        if plain is None:
            continue
        met += 1
        made = [
            ([kind["_label"] for kind in node["classified_as"]], node["value"])
            for node in one.documents[0].tree["dimension"]
        ]
        assert made == [
            (["Height", plain[1]], int(plain[2])),
            (["Width", plain[1]], int(plain[3])),
        ]
    assert met > 3_000


def test_first_of_january_is_a_year_in_lives(reference: Path) -> None:
    rows = {row["id"]: row for row in lines(reference / CMOA_JSONL[0])}
    born: Counter[int] = Counter()
    for one in mapped(reference, CMOA_JSONL).mapped:
        dates = {
            c["artist_id"].rpartition("/")[2]: c["birth_date"]
            for c in rows[one.key]["creator"] or []
        }
        for draft in one.documents:
            span = draft.tree.get("born", draft.tree.get("formed_by", {})).get("timespan")
            if draft.tree["type"] not in ("Person", "Group"):
                continue
            date = dates[draft.uri.rpartition("/")[2]]
            assert (span is None) == (date is None)
            if span is not None and date is not None:
                edtf = span["identified_by"][1]["content"]
                assert edtf == (date[:4] if date.endswith("-01-01") else date)
                born[len(edtf)] += 1
    assert born[4] > 1_000
    assert born[10] > 10


@pytest.mark.parametrize(
    ("acno", "parts"),
    [
        # text of the date in the data, and what it is a date of
        ("A00005", {"making": "1826/1827", "reprinting": "1892"}),  # 1826–7, reprinted 1892
        ("D04158", {}),  # exhibited ?1811
        ("P11942", {"making": "1978"}),
    ],
)
def test_a_date_goes_to_what_it_is_a_date_of(
    reference: Path, acno: str, parts: dict[str, str]
) -> None:
    [one] = [one for one in mapped(reference, TATE).mapped if one.key == acno]
    made = {
        part["id"].partition("#")[2]: part["timespan"]["identified_by"][1]["content"]
        for part in one.documents[0].tree.get("produced_by", {}).get("part", [])
        if "timespan" in part
    }
    assert made == parts


def test_pages_are_parts_of_their_sketchbook_in_their_order(reference: Path) -> None:
    rows = {row["acno"]: row for row in lines(reference / TATE[0])}
    found = mapped(reference, TATE)
    for one in found.mapped:
        row = rows[one.key]
        group = row["catalogueGroup"]
        book = BASE + f"object/sketchbook-{group.get('id')}"
        if group.get("groupType") != "Turner Sketchbook":
            assert "part_of" not in one.documents[0].tree
            assert one.layout == []
            continue
        assert one.documents[0].tree["part_of"]["id"] == book
        number = row.get("pageNumber")
        assert [r.cells for r in one.layout] == (
            [{"thing": BASE + f"object/{one.key}", "on": book, "order": str(number)}]
            if number
            else []
        )


def test_only_the_ends_of_the_subject_tree_are_seen(reference: Path) -> None:
    rows = {row["acno"]: row for row in lines(reference / TATE[0])}

    def ends(node: dict[str, Any]) -> set[str]:
        below = node.get("children", [])
        return {str(node["id"])} if not below else set().union(*map(ends, below))

    for one in mapped(reference, TATE).mapped:
        subjects = rows[one.key].get("subjects")
        seen = {
            value["id"].rpartition("/")[2].removeprefix("subject-")
            for draft in one.documents
            if draft.tree["type"] == "VisualItem"
            for key in ("represents", "represents_instance_of_type", "about")
            for value in draft.tree.get(key, [])
        }
        assert seen == (ends(subjects) if subjects else set())


def test_no_picture_is_published(each: tuple[Catalogue, dict[str, Any]]) -> None:
    """The licences of both catalogues leave the pictures out; the pages that show them are linked."""
    found, _ = each
    for draft in found.drafts("HumanMadeObject"):
        assert "representation" not in draft.tree
    pages = Counter(
        node["access_point"][0]["id"].split("?")[0].rpartition(".")[2]
        for draft in found.drafts("HumanMadeObject")
        for node in nodes(draft.tree)
        if node.get("type") == "DigitalObject" and "access_point" in node
    )
    assert not set(pages) & {"jpg", "png", "tif"}
    assert sum(pages.values()) == len(found.mapped)


def test_artists_who_are_nobody_in_particular_make_no_person(reference: Path) -> None:
    """10 of the 3,538 records make nothing, 6 only the movement that they are counted to."""
    found = mapped(reference, ARTISTS)
    names = {str(row["id"]): row["fc"] for row in lines(reference / ARTISTS[0])}
    without = {
        one.key
        for one in found.mapped
        if not any(draft.tree["type"] in ("Person", "Group") for draft in one.documents)
    }
    assert without == {key for key, name in names.items() if nobody(name)}
    assert len(without) == 16
    assert sum(not one.documents for one in found.mapped) == 10


def test_events_of_lido_keep_apart_who_designed_and_who_made(reference: Path) -> None:
    found = mapped(reference, LIDO)
    assert [one.key for one in found.mapped] == [
        "DE-Mb112/lido-obj20344012", "DE-Mb112/lido-obj20344012,T,001", "DE-Mb112/lido-obj20344012,T,002"
    ]  # fmt: skip
    assert found.findings == []
    group = found.mapped[2].documents[0].tree
    assert [
        (part["id"].partition("#")[2], [who["id"] for who in part["carried_out_by"]], _span(part))
        for part in group["produced_by"]["part"]
    ] == [
        ("designing", [BASE + "person/10124810"], ""),
        ("making", [BASE + "person/08120274"], "1654/1654"),
    ]
    assert [(n["content"], n["language"][0]["_label"]) for n in group["identified_by"][:2]] == [
        ("Fontana del Moro — Ethiopian fighting a dolphin", "English"),
        ("Fontana del Moro — Äthiopier im Kampf gegen einen Delphin", "German"),
    ]
    assert group["part_of"]["id"] == BASE + "object/20344012"


def _span(node: dict[str, Any]) -> str:
    names = node.get("timespan", {}).get("identified_by", [{}, {"content": ""}])
    return str(names[1]["content"])
