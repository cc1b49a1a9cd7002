"""The official Linked Art schemas hold for the worked examples, and what they let pass is caught."""

import json
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import orjson
import pytest
from conformance.referees import documents
from conformance.schemas import Schemas

from lodpipe.publish.linked_art import document_bytes

pytestmark = pytest.mark.reference
ITEM = "linked-art/object-item-0101.json"


@pytest.fixture(scope="module")
def schemas(reference: Path) -> Schemas:
    return Schemas(reference)


@pytest.fixture(scope="module")
def worked(reference: Path) -> dict[str, dict[str, Any]]:
    return documents(reference, "examples/linked-art", "examples/claims")


def test_worked_examples_are_valid_as_published(
    schemas: Schemas, worked: dict[str, dict[str, Any]]
) -> None:
    published = {name: orjson.loads(document_bytes(tree)) for name, tree in worked.items()}
    wrong = {name: schemas.errors(tree) for name, tree in published.items()}

    assert len(wrong) == 70
    assert {name: errors for name, errors in wrong.items() if errors} == {}
    assert published == worked


def test_official_examples_as_measured(schemas: Schemas, reference: Path) -> None:
    # sketches of patterns: most lack ids and labels; the number shows that the schemas are applied
    trees = documents(reference, "reference/linked-art/examples-2022")
    invalid = [name for name, tree in trees.items() if schemas.errors(tree)]

    assert len(invalid) == 117


def test_official_invalid_examples_are_refused(schemas: Schemas, reference: Path) -> None:
    folder = reference / "reference/linked-art/validator-tests"
    verdicts = {"invalid": set(), "valid": set(), "warning": set()}
    for file in sorted(folder.glob("*/*.json")):
        tree = json.loads(file.read_text(encoding="utf-8"))
        tree.pop("note", None)
        verdicts[file.parent.name].add((file.stem, bool(schemas.errors(tree))))

    assert {name for name, wrong in verdicts["invalid"] if not wrong} == {
        # what the older rules called wrong and the schemas of 1.0 do not
        "artwork_material_type",
        "linguistic_object_badly_formed",
        "recommended_timespans_for_production",
    }
    assert len(verdicts["invalid"]) == 26


def put(*steps: str | int, value: Any) -> Callable[[dict[str, Any]], None]:
    """Return a change that sets one value at a path; a value of None takes the key away."""

    def change(tree: dict[str, Any]) -> None:
        node: Any = tree
        for step in steps[:-1]:
            node = node[step]
        if value is None:
            del node[steps[-1]]
        else:
            node[steps[-1]] = value

    return change


EXPOSURE = ("produced_by", "part", 0)
CLAIM = (*EXPOSURE, "attributed_by")
REFUSED = [
    # change to a valid document; one of the messages
    (put("_label", value=None), ": '_label' is a required property"),
    (put("attributed_by", 0, "id", value="https://c.example/1#claim-1"),
     "/attributed_by/0: Additional properties are not allowed ('id' was unexpected)"),
    (put(*EXPOSURE, "timespan", "begin_of_the_begin", value="1872-02-01"),
     "/produced_by/part/0/timespan/begin_of_the_begin: '1872-02-01' is not a 'date-time'"),
    (put(*EXPOSURE, "timespan", "begin_of_the_begin", value="-0046-01-01T00:00:00Z"),
     "/produced_by/part/0/timespan/begin_of_the_begin: '-0046-01-01T00:00:00Z' is not a 'date-time'"),
    (put(*EXPOSURE, "timespan", "end_of_the_end", value="1872-02-30T23:59:59Z"),
     "/produced_by/part/0/timespan/end_of_the_end: '1872-02-30T23:59:59Z' is not a 'date-time'"),
    (put("dimension", 0, "value", value="142"),
     "/dimension/0/value: '142' is not of type 'number'"),
    (put("dimension", 0, "unit", value=None), "/dimension/0: 'unit' is a required property"),
    # what the schemas themselves let pass
    (put(*EXPOSURE, "carried_out_buy", value=[]),
     "/produced_by/part/0: Unevaluated properties are not allowed ('carried_out_buy' was unexpected)"),
    (put(*CLAIM, 0, "used_specific_object",
         value=[{"id": "https://c.example/t", "type": "LinguisticObject", "_label": "Diary"}]),
     "/produced_by/part/0/attributed_by/0/used_specific_object/0/type: 'HumanMadeObject' was expected"),
    (put(*CLAIM, 4, "assigned",
         value=[{"id": "https://c.example/p", "type": "Person", "_label": "Mira Dolen"}]),
     "/produced_by/part/0/attributed_by/4/assigned: is not valid as `timespan` of Production"),
    (put(*CLAIM, 0, "assigned",
         value={"id": "https://c.example/p", "type": "Person", "_label": "Mira Dolen"}),
     "/produced_by/part/0/attributed_by/0/assigned: is not a list with a value"),
    (put(*CLAIM, 4, "assigned_property", value="time_span"),
     "/produced_by/part/0/attributed_by/4/assigned_property: no key of Production"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "message"), REFUSED, ids=[row[1][:60] for row in REFUSED])
def test_what_is_wrong_is_found(
    schemas: Schemas,
    worked: dict[str, dict[str, Any]],
    change: Callable[[dict[str, Any]], None],
    message: str,
) -> None:
    tree = deepcopy(worked[ITEM])
    change(tree)

    assert message in schemas.errors(tree)
