"""Merged claims against the official Linked Art schemas, and mapped claims of real catalogues.

Sources: JSON Schemas of https://linked.art/api/1.0/schema_docs/; the open collections of the
Carnegie Museum of Art (github.com/cmoa/collection) and of Tate (github.com/tategallery/collection).
"""

from collections import Counter
from itertools import islice, product
from pathlib import Path
from typing import Any

import pytest
from assembling import BASE, ITEM, NODES, claim, world
from conformance.schemas import Schemas
from test_assemble_merge import ABOUT, ASPECTS, TEXTS, VALUES, document_of, merge

from lodpipe.assemble import Merger, called_for, fill, house_documents, unite
from lodpipe.dates import Policy
from lodpipe.findings import Finding
from lodpipe.iris import key_of
from lodpipe.mapping import SourceContext, load
from lodpipe.nodes import Nodes
from lodpipe.project import Limits, builtin
from lodpipe.rdf import Emitter
from lodpipe.read import ReadOptions, records
from lodpipe.records import Claim, Draft, Entry, Record
from lodpipe.terms import concepts, read_table

pytestmark = pytest.mark.reference

ONE_OF_EACH_FAMILY = ("", "possibly", "studio-of", "manner-of", "copyist-of")


@pytest.fixture(scope="module")
def schemas(reference: Path) -> Schemas:
    return Schemas(reference)


@pytest.mark.parametrize("aspect", ASPECTS.by_name)
def test_merged_claims_are_valid_linked_art(aspect: str, schemas: Schemas) -> None:
    emitter = Emitter(BASE, NODES.concepts)
    for qualifier, standing in product(ONE_OF_EACH_FAMILY, ("current", "rejected")):
        line = claim(
            "c 1/é",
            aspect,
            VALUES[aspect],
            value_text=TEXTS.get(aspect, ""),
            about=ABOUT.get(aspect, ITEM),
            qualifier=qualifier,
            standing=standing,
            part="left",
        )

        tree, _, _ = merge(document_of(aspect), [line])

        assert schemas.errors(tree) == [], (qualifier, standing)
        emitted = emitter.emit(tree)
        (statement,) = emitted.assignments
        assert statement.iri == f"{tree['id']}#claim-c%201%2F%C3%A9"
        assert len(statement.values) == 1


@pytest.mark.parametrize("aspect", sorted(set(ASPECTS.by_name) - set(TEXTS) - {"same_as"}))
def test_values_in_words_are_valid_too(aspect: str, schemas: Schemas) -> None:
    line = claim("c1", aspect, value_text="somebody, or something", about=ABOUT.get(aspect, ITEM))

    tree, _, _ = merge(document_of(aspect), [line])

    assert schemas.errors(tree) == []
    (statement,) = Emitter(BASE, NODES.concepts).emit(tree).assignments
    assert statement.values[0].startswith(f"{tree['id']}#claim-c1-assigned")


def test_house_documents_are_valid(schemas: Schemas) -> None:
    lines = [
        *(claim(f"c{n}", "maker", VALUES["maker"], qualifier=q) for n, q in enumerate(ASPECTS.qualifiers)),
        claim("s1", "same_session_as", VALUES["same_session_as"]),
        claim("s2", "same_sitter_as", VALUES["same_sitter_as"]),
    ]  # fmt: skip
    own = [NODES.absolute(concept.iri) for concept in concepts()]
    documents = [
        *called_for(lines, ASPECTS, world(), NODES),
        *house_documents([*own, BASE + "group/unidentified-photographer"], NODES),
    ]

    kinds = Counter(tree["type"] for tree in documents)
    assert kinds["Group"] == 5 + 1
    assert (kinds["Activity"], kinds["Person"]) == (1, 1)
    assert [error for tree in documents for error in schemas.errors(tree)] == []


CATALOGUES = [
    # mapping, file below data/, how many records are looked at, joins
    ("cmoa-jsonl.yaml", "cmoa/objects.jsonl"),
    ("tate-objects.yaml", "tate/objects.jsonl"),
]
MOST = 4000


class Everything(dict[str, Entry]):
    """An index in which every document that is pointed at exists."""

    def get(self, uri: str, default: Any = None) -> Entry | None:  # type: ignore[override]
        key = key_of(BASE, uri)
        if uri not in self and key and not key.startswith("vocab/"):
            kind = {
                "person": "Person",
                "group": "Group",
                "place": "Place",
                "object": "HumanMadeObject",
            }
            self[uri] = Entry(uri, kind.get(key.partition("/")[0], "Type"), key.rpartition("/")[2])
        return super().get(uri)


@pytest.mark.parametrize(("mapping_name", "file"), CATALOGUES)
def test_no_qualified_maker_of_a_real_catalogue_is_stated(
    mapping_name: str, file: str, reference: Path
) -> None:
    drafts, claims = mapped(mapping_name, reference / "data" / file)
    index = Everything()
    for draft in drafts:
        roles = tuple(
            part["id"].partition("#")[2]
            for part in draft.tree.get("produced_by", {}).get("part", [])
            if "id" in part
        )
        shows = tuple(ref["id"] for ref in draft.tree.get("shows", ()))
        index[draft.uri] = Entry(draft.uri, draft.tree["type"], str(draft.tree.get("_label")), shows=shows, roles=roles)  # fmt: skip
    merger = Merger(NODES, index)
    by_document: dict[str, list[Claim]] = {}
    for one in claims:
        by_document.setdefault(one.about, []).append(one)
    met = Counter[str]()

    for draft in drafts:
        mine = by_document.pop(draft.uri, [])
        makers = [c for c in mine if c.aspect == "maker"]
        if not makers:
            continue
        found: list[Finding] = []
        tree = fill(unite([draft], found.append).tree, index, found.append, base=BASE)
        merger.merge(tree, mine, found.append)
        doubted = {c.value for c in makers if c.qualifier or c.effective != "current"} - {""}
        certain = {c.value for c in makers if c.value} - doubted
        direct = set(_direct(tree["produced_by"]))
        met["doubted"] += len(doubted)
        for uri in doubted & direct:
            # somebody may be both: the certain painter and, in a second line, the possible framer
            assert any(c.value == uri and not c.qualifier for c in makers) or uri in stated_by(
                draft
            ), uri
        assert certain <= direct
        assert not [f for f in found if f.code in ("ledger", "claim-homeless")]

    assert by_document == {}
    assert met["doubted"] > 20


def stated_by(draft: Draft) -> set[str]:
    """The makers that the catalogue itself states without doubt."""
    return set(_direct(draft.tree.get("produced_by", {})))


def _direct(production: dict[str, Any]) -> list[str]:
    own = [maker["id"] for maker in production.get("carried_out_by", ())]
    return own + [uri for part in production.get("part", ()) for uri in _direct(part)]


def mapped(name: str, path: Path) -> tuple[list[Draft], list[Claim]]:
    """Everything that a shipped mapping makes of the first records of a catalogue: one draft a
    thing, and the claims."""
    folder = builtin("mappings")
    found: list[Finding] = []
    mapping = load(
        folder / name,
        name,
        nodes=Nodes(BASE, concepts()),
        tables=lambda table: read_table(table, folder / "vocab" / f"{table}.csv"),
        policy=Policy(),
        circa_years=5,
        limits=Limits(),
    )
    context = SourceContext(path.name, 0, "group/publisher", "2020", {})
    drafts: dict[str, Draft] = {}
    claims: list[Claim] = []
    options = ReadOptions(records=mapping.reads.records)
    for record in islice(records(path, path.name, options, Limits(), found.append), MOST):
        assert isinstance(record, Record)
        made = mapping.map(record, context, found.append)
        if made is None:
            continue
        for draft in made.documents:
            if "produced_by" in draft.tree or draft.tree["type"] == "HumanMadeObject":
                drafts.setdefault(draft.uri, draft)
        claims += made.claims
    return list(drafts.values()), claims
