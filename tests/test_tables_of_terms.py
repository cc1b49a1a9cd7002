"""The shipped tables of terms: complete, in one form, and no identifier without a source."""

import csv
import re
from pathlib import Path

import pytest
from catalogue_help import CMOA_QUALIFIERS, TATE_QUALIFIERS, TATE_TWO

from lodpipe import project
from lodpipe.aspects import FAMILIES, builtin_aspects
from lodpipe.terms import Table, concepts, read_table

VOCAB = project.builtin("mappings") / "vocab"
TABLES = sorted(path.stem for path in VOCAB.glob("*.csv"))
AAT = "http://vocab.getty.edu/aat/"
STANDINGS = ("", "proposed", "former")


def table(name: str) -> Table:
    return read_table(name, VOCAB / f"{name}.csv")


def rows(name: str) -> list[dict[str, str]]:
    return [line for lines in table(name).lines.values() for line in lines]


@pytest.mark.parametrize("name", TABLES)
def test_a_table_names_known_concepts_and_roles_and_its_source(name: str) -> None:
    known = concepts()
    found = rows(name)
    assert found
    for line in found:
        term = next(iter(line.values()))
        assert "concept" not in line or line["concept"] in known, term
        assert line.get("part", "main") in ("main", "words") or f"role/{line['part']}" in known, (
            term
        )
        assert line.get("source") or name == "qualifiers", term
    texts = (VOCAB / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    assert len(found) == len(texts) - 1
    assert len(set(texts)) == len(texts)


def test_qualifiers_agree_with_the_table_of_aspects() -> None:
    families = builtin_aspects().qualifiers
    for line in rows("qualifiers"):
        qualifier = line["qualifier"]
        assert line["family"] == families.get(qualifier, ""), line
        assert line["family"] in ("", *FAMILIES)
        assert line["standing"] in STANDINGS
        assert line["iri"] == (f"vocab/qualifier/{qualifier}" if qualifier else "")
        assert not line["aat"] or (line["aat"].startswith(AAT) and line["aat_seen_in"])
        if qualifier:
            concept = concepts().get(f"qualifier/{qualifier}")
            assert (concept.iri, concept.equivalent) == (line["iri"], line["aat"])


def test_each_qualifier_can_be_written_as_the_ledger_writes_it() -> None:
    found = table("qualifiers")
    for qualifier in builtin_aspects().qualifiers:
        for written in (
            qualifier,
            qualifier.replace("-", " "),
            qualifier.replace("-", " ").upper(),
        ):
            [line] = found.get(written)
            assert (line["qualifier"], line["standing"], line["role"]) == (qualifier, "", "")


@pytest.mark.parametrize(
    ("term", "lines"),
    [
        ("and a pupil", [("", ""), ("pupil-of", "")]),
        ("and studio", [("", ""), ("studio-of", "")]),
        ("and assistants", [("", ""), ("workshop-of", "")]),
        ("and other artists", [("", "")]),
        ("formerly attributed to", [("attributed-to", "former")]),
        ("pseudo", [("", "proposed")]),
        ("associated with", [("", "proposed")]),
        ("Possibly by", [("possibly", "")]),
        ("photographer", []),
        ("copyist", []),
        ("", []),
    ],
)
def test_what_a_term_means(term: str, lines: list[tuple[str, str]]) -> None:
    assert [(x["qualifier"], x["standing"]) for x in table("qualifiers").get(term)] == lines


def test_a_role_is_a_part_of_the_making_or_a_qualifier_never_both() -> None:
    qualifiers, roles = table("qualifiers"), table("maker-roles")
    assert not qualifiers.lines.keys() & roles.lines.keys()
    for role in (*CMOA_QUALIFIERS, *TATE_QUALIFIERS, *TATE_TWO):
        assert qualifiers.get(role), role


# --- against what others have published ---------------------------------------------------


@pytest.mark.reference
def test_every_qualifier_among_the_makers_of_five_catalogues_is_known(reference: Path) -> None:
    """makers.tsv: the column `qualifier_or_role` of two catalogues, and phrases of a third."""
    qualifiers, roles = table("qualifiers"), table("maker-roles")
    unknown = re.compile(r"unknown |unidentified |photographer unknown")
    with (reference / "data/makers.tsv").open(encoding="utf-8") as handle:
        lines = list(csv.DictReader(handle, delimiter="\t", quoting=csv.QUOTE_NONE))
    met = 0
    for line in lines:
        role = line["qualifier_or_role"]
        if line["source"] in ("cmoa", "tate") and role not in ("", "artist"):
            assert qualifiers.get(role) or roles.get(role), role
            met += 1
        elif role == "phrase":
            words = line["string"].split()
            known = any(qualifiers.get(" ".join(words[:n])) for n in range(1, 6))
            assert known or unknown.match(line["string"]), line
            met += 1
        elif role == "supposed printers.":
            assert qualifiers.get(role)
            met += 1
    assert met > 900


@pytest.mark.reference
def test_every_aat_number_stands_in_a_source(reference: Path) -> None:
    """No Getty dump was at hand: a number counts only where a published list or text has it."""
    seen: set[str] = set()
    for name in ("aat_linked_art", "aat_attribution_qualifiers", "aat_photographic"):
        with (reference / f"reference/vocab/{name}.csv").open(encoding="utf-8") as handle:
            seen |= {line["aat_id"] for line in csv.DictReader(handle)}
    used = {concept.iri for concept in concepts()} | {c.equivalent for c in concepts()}
    used |= {line["aat"] for line in rows("qualifiers")}
    numbers = {iri.removeprefix(AAT) for iri in used if iri.startswith(AAT)}
    assert len(numbers) > 80
    assert numbers - seen == set()


@pytest.mark.reference
def test_every_relator_is_one_of_marc(reference: Path) -> None:
    with (reference / "reference/vocab/marc_relators.csv").open(encoding="utf-8") as handle:
        known = {line["code"] for line in csv.DictReader(handle)}
    relators = {line["relator"] for line in rows("maker-roles")} - {""}
    assert len(relators) > 15
    assert relators <= known
