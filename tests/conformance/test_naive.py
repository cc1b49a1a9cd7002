"""No naive query over the worked examples meets a doubted value, and planted ones are met."""

from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from conformance.claims import claims
from conformance.crm import FILE, Crm
from conformance.naive import doubted_hits, hits
from conformance.referees import BASE, PREMISES, documents

from lodpipe.publish.nquads import Beliefs, document_lines
from lodpipe.rdf import Emitter
from lodpipe.terms import concepts

pytestmark = pytest.mark.reference


@pytest.fixture(scope="module")
def crm(reference: Path) -> Crm:
    return Crm(reference / FILE)


def quads(tree: dict[str, Any]) -> list[str]:
    emitted = Emitter(BASE, concepts()).emit(tree)
    return document_lines(emitted, Beliefs(BASE, concepts()), PREMISES)


def test_each_document_alone(crm: Crm, reference: Path) -> None:
    trees = documents(reference, "examples/linked-art", "examples/claims")
    met = {name: doubted_hits(quads(tree), crm) for name, tree in trees.items()}
    number = sum(len(hits(quads(tree), crm)) for tree in trees.values())

    assert {name: found for name, found in met.items() if found} == {}
    assert number == 253


def test_all_records_as_one_graph(crm: Crm, reference: Path) -> None:
    trees = documents(reference, "examples/linked-art")
    lines = {line for tree in trees.values() for line in quads(tree)}

    assert doubted_hits(lines, crm) == []
    assert len(hits(lines, crm)) == 116


def test_claims_are_quoted_and_stated_as_they_stand(reference: Path) -> None:
    counts = {True: 0, False: 0}
    for name, tree in documents(reference, "examples/linked-art", "examples/claims").items():
        faults, count = claims(quads(tree))
        counts = {holds: counts[holds] + count[holds] for holds in counts}

        assert faults == [], name

    assert counts == {True: 17, False: 25}


VEY = {"id": f"{BASE}person/vey", "type": "Person", "_label": "Jonas Vey"}
NEGATIVE = {"id": f"{BASE}object/negative-31", "type": "HumanMadeObject", "_label": "Negative 31"}


def exposure(tree: dict[str, Any]) -> dict[str, Any]:
    part: dict[str, Any] = tree["produced_by"]["part"][0]
    return part


def state_maker(tree: dict[str, Any]) -> None:
    exposure(tree)["carried_out_by"] = [VEY]


def state_maker_of_the_whole(tree: dict[str, Any]) -> None:
    tree["produced_by"]["carried_out_by"] = [VEY]


def wrap_maker(tree: dict[str, Any]) -> None:
    claim = exposure(tree)["attributed_by"][2]
    claim["assigned_property"] = "part"
    claim["assigned"] = [{"type": "Production", "carried_out_by": [VEY]}]


def state_source(tree: dict[str, Any]) -> None:
    tree["produced_by"]["part"][1]["used_specific_object"] = [NEGATIVE]


def doubt_day(tree: dict[str, Any]) -> None:
    claim = exposure(tree)["attributed_by"][4]
    for kind in claim["classified_as"]:
        kind["id"] = kind["id"].replace("standing/current", "standing/former")


PLANTED = [
    # a fault                    the naive hit that finds it: property
    (state_maker, "P14_carried_out_by"),
    (state_maker_of_the_whole, "P14_carried_out_by"),
    (wrap_maker, "P14_carried_out_by"),
    (state_source, "P16_used_specific_object"),
    (doubt_day, "P4_has_time-span"),
]


@pytest.mark.parametrize(("plant", "expected"), PLANTED, ids=[row[0].__name__ for row in PLANTED])
def test_a_planted_guess_is_met(
    crm: Crm, reference: Path, plant: Callable[[dict[str, Any]], None], expected: str
) -> None:
    tree = deepcopy(documents(reference, "examples/linked-art")["linked-art/object-item-0101.json"])
    plant(tree)

    assert {key.rpartition("/")[2] for _, key, _ in doubted_hits(quads(tree), crm)} == {expected}


def test_a_claim_that_holds_must_be_stated(reference: Path) -> None:
    tree = deepcopy(documents(reference, "examples/linked-art")["linked-art/object-item-0101.json"])
    del exposure(tree)["took_place_at"]
    state_maker(tree)
    lines = quads(tree)
    stem = f"{BASE}object/item-0101#claim-"

    assert claims(lines)[0] == [
        f"{stem}c0103: is stated directly",
        f"{stem}c0111: is not stated directly",
    ]
    quoted = f"<{stem}c0104-proposition> <http://www.w3.org/1999/02/22-rdf-syntax-ns#object>"
    assert (
        f"{stem}c0104: is not quoted as it stands"
        in claims(
            line.replace("person/korvath", "person/vey") if line.startswith(quoted) else line
            for line in lines
        )[0]
    )
