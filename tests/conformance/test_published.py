"""Everything that the demo and three open catalogues publish, against published standards.

- the official Linked Art JSON Schemas (https://linked.art/api/1.0/schema_docs/)
- PyLD and rdflib under the official context, after RDFC-1.0 (https://www.w3.org/TR/rdf-canon/)
- CIDOC CRM 7.1.3 in RDFS (https://www.cidoc-crm.org/html/cidoc_crm_v7.1.3.html)
- the JSON Schema of IIIF Presentation 3 (https://iiif.io/api/presentation/3.0/)
- what a plain query must never meet: no published source, it is what this project is for
"""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema_rs
import orjson
import pyoxigraph as ox
import pytest
import rdflib
from conformance.crm import FILE, Crm
from conformance.iiif_rules import Schema, faults
from conformance.naive import doubted_hits
from conformance.referees import BASE, by_pyld, by_rdflib, canonical, official_context
from conformance.released import CATALOGUES, Released
from conformance.schemas import FOLDER, RECORDS, Schemas

from lodpipe.archive import Archive
from lodpipe.rdf import Emitter, context
from lodpipe.terms import concepts

pytestmark = pytest.mark.reference
LEAST = {"demo": 360, "cmoa-csv": 7_300, "tate": 16_000, "nga": 2_600}
"""Documents that each must publish, so that a run of nothing does not pass."""


@pytest.fixture(scope="module", params=["demo", *CATALOGUES])
def released(request: pytest.FixtureRequest, releases: Callable[[str], Released]) -> Released:
    return releases(request.param)


def test_every_record_and_document_is_in_the_books(released: Released) -> None:
    books = released.result.books

    assert books.read == sum(books.records.values())
    assert books.known == sum(books.documents.values())
    assert books.documents["new"] >= LEAST[released.name]


def test_at_least_99_in_a_hundred_are_published(released: Released) -> None:
    books = released.result.books
    lost = books.records["unreadable"] + books.documents["stopped"]

    assert lost <= books.read / 100
    with Archive(released.folder / "archive" / "archive.sqlite") as archive:
        stopped = [uri for uri, _ in archive.stopped(released.result.latest)]
        reasons = {uri: list(archive.findings(released.result.latest, uri)) for uri in stopped}
    assert len(stopped) == books.documents["stopped"]
    assert all(reasons.values())


def test_no_field_is_lost_without_a_word(released: Released) -> None:
    codes = {code for _, code, _ in released.result.tally.counts}

    assert "unmapped" not in codes
    assert "no-branch" not in codes


def test_every_document_is_valid(released: Released, reference: Path) -> None:
    schemas = {
        file.stem: json.loads(file.read_text(encoding="utf-8"))
        for file in sorted((reference / FOLDER).glob("*.json"))
    }
    registry = jsonschema_rs.Registry([(schema["$id"], schema) for schema in schemas.values()])
    compiled = {
        name: jsonschema_rs.Draft202012Validator(schema, registry=registry, validate_formats=True)
        for name, schema in schemas.items()
    }
    checked, invalid = 0, []
    for document in released.documents():
        checked += 1
        if not any(compiled[name].is_valid(document) for name in RECORDS[document["type"]]):
            invalid.append(document["id"])

    assert invalid == []
    assert checked >= LEAST[released.name]


def test_what_the_schemas_leave_open_is_valid_too(released: Released, reference: Path) -> None:
    schemas = Schemas(reference)
    wrong = {doc["id"]: errors for doc in released.sample if (errors := schemas.errors(doc))}

    assert wrong == {}


DOUBLE = re.compile(r'"([^"]+)"\^\^<http://www\.w3\.org/2001/XMLSchema#double>')


def same_doubles(triples: str | list[str]) -> list[str]:
    """The canonical form with every double spelled one way.

    rdflib writes a double as Python does (194.9), JSON-LD 1.1 section 8.6 wants 1.949E2.
    """
    text = triples if isinstance(triples, str) else "\n".join(triples)
    return canonical(DOUBLE.sub(lambda match: f'"{float(match[1])!r}"', text))


def bare(document: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in document.items() if key != "@context"}


@pytest.mark.filterwarnings("ignore::DeprecationWarning:rdflib.*")  # between its own modules
def test_the_emitter_says_what_two_processors_say(released: Released, reference: Path) -> None:
    official, own = official_context(reference), context()
    emitter = Emitter(BASE, concepts(), mint=False)
    differ = set()
    for document in released.sample:
        tree = bare(document)
        ours = canonical(emitter.emit(tree).lines)
        if ours != canonical(by_pyld(tree, official)) or ours != canonical(by_pyld(tree, own)):
            differ.add(("PyLD", tree["id"]))
        if same_doubles(emitter.emit(tree).lines) != same_doubles(by_rdflib(tree, official)):
            differ.add(("rdflib", tree["id"]))

    assert differ == set()


def test_every_property_is_declared_and_keeps_to_domain_and_range(
    released: Released, reference: Path
) -> None:
    crm, emitter = Crm(reference / FILE), Emitter(BASE, concepts())
    unexpected, checked = [], 0
    for document in released.sample:
        problems, number = crm.problems(emitter.emit(bare(document)).lines)
        unexpected += [problem for problem in problems if not problem.expected]
        checked += number

    assert unexpected == []
    assert checked > 20 * len(released.sample)


def test_no_plain_query_meets_a_doubted_value(released: Released, reference: Path) -> None:
    wanted = {document["id"] for document in released.sample}
    lines = [line for line in released.quads if line.rsplit(" ", 2)[1][1:-1] in wanted]

    assert doubted_hits(lines, Crm(reference / FILE)) == []


MAKES = re.compile(
    r"<(?P<node>[^>]+)> <http://www\.cidoc-crm\.org/cidoc-crm/P14_carried_out_by> <(?P<who>[^>]+)> "
)


def test_no_maker_is_stated_whom_a_claim_doubts(released: Released) -> None:
    """Over all documents, in the JSON and in the N-Quads: the main promise of the program."""
    standing = {
        f"{BASE}vocab/standing/{word}" for word in ("proposed", "former", "rejected", "alternative")
    }
    doubted: set[tuple[str, str]] = set()
    for document in released.documents():
        production = document.get("produced_by", {})
        for node in (production, *production.get("part", ())):
            for claim in node.get("attributed_by", ()):
                types = {kind["id"] for kind in claim["classified_as"]}
                hedged = any(kind.startswith(f"{BASE}vocab/qualifier/") for kind in types)
                if claim["assigned_property"] == "carried_out_by" and (hedged or types & standing):
                    doubted.update((node["id"], value["id"]) for value in claim["assigned"])
            stated = {(node.get("id"), who["id"]) for who in node.get("carried_out_by", ())}

            assert stated.isdisjoint(doubted), document["id"]
    in_quads = {
        (match["node"], match["who"]) for line in released.quads if (match := MAKES.match(line))
    }

    assert in_quads.isdisjoint(doubted)
    assert len(doubted) >= {"demo": 15, "cmoa-csv": 750, "tate": 200, "nga": 1_600}[released.name]


def test_quads_are_read_back_alike_and_without_blank_nodes(released: Released) -> None:
    lines = released.quads
    quads = list(ox.parse("\n".join(lines).encode(), format=ox.RdfFormat.N_QUADS))

    assert len(quads) == len(lines) == len(set(lines))
    assert not any(
        isinstance(term, ox.BlankNode)
        for quad in quads
        for term in (quad.subject, quad.object, quad.graph_name)
    )


@pytest.mark.filterwarnings("ignore::DeprecationWarning:rdflib.*")
def test_rdflib_reads_as_many_quads(released: Released) -> None:
    lines = released.quads[:40_000]
    dataset = rdflib.Dataset()
    dataset.parse(data="\n".join(lines) + "\n", format="nquads")

    assert sum(1 for _ in dataset.quads()) == len(lines)


def test_every_link_below_our_base_leads_to_a_document(released: Released) -> None:
    known: set[str] = set()
    wanted: dict[str, str] = {}
    other = (f"{BASE}iiif/", f"{BASE}page/")
    for document in released.documents():
        known.add(document["id"])
        for node in _nodes(document):
            iri = str(node.get("id", "")).partition("#")[0]
            if iri.startswith(BASE) and not iri.startswith(other):
                wanted.setdefault(iri, document["id"])

    # a document that was stopped at the gate is named in the report, and waits for its mending
    with Archive(released.folder / "archive" / "archive.sqlite") as archive:
        known.update(uri for uri, _ in archive.stopped(released.result.latest))

    assert {iri: where for iri, where in wanted.items() if iri not in known} == {}


def _nodes(value: Any) -> list[dict[str, Any]]:
    found = [value] if isinstance(value, dict) else []
    for item in value.values() if isinstance(value, dict) else value:
        if isinstance(item, (dict, list)):
            found += _nodes(item)
    return found


def test_manifests_are_valid(released: Released, reference: Path) -> None:
    if released.name != "demo":
        assert not (released.folder / "export" / "iiif").exists()  # no pictures, no manifests
        return
    schema = Schema(reference)
    files = [
        path
        for path in sorted((released.folder / "export" / "iiif").rglob("*.json"))
        if path.name != "info.json"  # of the Image API: tests/test_pictures.py
    ]
    wrong = {}
    for file in files:
        tree = orjson.loads(file.read_bytes())
        if found := [*schema.faults(tree), *faults(tree)]:
            wrong[file.name] = found

    assert wrong == {}
    assert len(files) > 60
