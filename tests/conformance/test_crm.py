"""Every crm: IRI that we can write is declared in CIDOC CRM 7.1.3, and used as declared."""

import json
from collections import Counter
from pathlib import Path

import pytest
from conformance.crm import CRM, FILE, Crm, Problem
from conformance.referees import BASE, PREMISES, documents, mended

from lodpipe.publish.nquads import Beliefs, document_lines
from lodpipe.rdf import Emitter
from lodpipe.terms import concepts, keys

pytestmark = pytest.mark.reference


@pytest.fixture(scope="module")
def crm(reference: Path) -> Crm:
    found = Crm(reference / FILE)
    assert len(found.domain) == len(found.range) == 309
    return found


def test_every_iri_of_the_table_is_declared(crm: Crm) -> None:
    ours = {CRM + row.iri[4:] for row in keys() if row.iri.startswith("crm:")}

    assert len(ours) > 100
    # an extension of Linked Art that CRM does not have; six more such keys are not in our table
    assert ours - crm.declared == {CRM + "P199_represents_instance_of_type"}


def test_worked_examples_keep_to_domain_and_range(crm: Crm, reference: Path) -> None:
    emitter, beliefs = Emitter(BASE, concepts()), Beliefs(BASE, concepts())
    found: list[Problem] = []
    checked = 0
    for tree in documents(reference, "examples/linked-art", "examples/claims").values():
        problems, number = crm.problems(document_lines(emitter.emit(tree), beliefs, PREMISES))
        found += problems
        checked += number

    assert [problem for problem in found if not problem.expected] == []
    assert Counter((problem.kind, problem.property) for problem in found) == {
        ("range", "P177_assigned_property_of_type"): 42,
        ("declared", "P199_represents_instance_of_type"): 1,
    }
    assert checked == 2709


def test_official_examples_keep_to_domain_and_range(crm: Crm, reference: Path) -> None:
    emitter = Emitter(BASE, concepts())
    folder = "reference/linked-art/examples-2022"
    unexpected = [
        (name, problem)
        for name, tree in documents(reference, folder).items()
        for problem in crm.problems(emitter.emit(mended(name, tree)).lines)[0]
        if not problem.expected
    ]

    assert unexpected == []


WRONG = [
    # what is done to the album page                          kind of problem, property
    ("shows a person", {"shows": [{"id": f"{BASE}person/dolen", "type": "Person"}]},
     {("range", "P65_shows_visual_item")}),
    ("was born", {"born": {"id": f"{BASE}object/1#birth", "type": "Birth"}},
     {("domain", "P98i_was_born")}),
    ("made by a making", {"produced_by": {"id": f"{BASE}object/1#made", "type": "Birth"}},
     {("range", "P108i_was_produced_by")}),
    ("owned by nobody known", {"current_owner": [f"{BASE}group/library"]},
     {("range", "P52_has_current_owner")}),
]  # fmt: skip


@pytest.mark.parametrize(("what", "addition", "expected"), WRONG, ids=[row[0] for row in WRONG])
def test_a_wrong_class_is_found(
    crm: Crm, what: str, addition: dict[str, object], expected: set[tuple[str, str]]
) -> None:
    tree = {"id": f"{BASE}object/1", "type": "HumanMadeObject", "_label": "Page 1", **addition}
    problems, _ = crm.problems(Emitter(BASE, concepts()).emit(json.loads(json.dumps(tree))).lines)

    assert {(problem.kind, problem.property) for problem in problems} == expected
