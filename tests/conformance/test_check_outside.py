"""The check against others: the Linked Art validator's tests, a second engine, SPARQL shapes.

- Linked Art: <https://github.com/linked-art/shacl-validator>, tests of 2022, converted with PyLD
  and the official context.
- The engine `shacl`, written in Rust, shares no code with ours
  and none with pySHACL.
- The SPARQL part of the W3C suite, which is pySHACL's to check.
"""

import json
import random
import re
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pyoxigraph
import pytest
import shacl
from pyld import jsonld
from test_check_parity import MUTANTS, compiled, mutate
from test_check_shapes import RECORDS, TEXTS, record
from test_shacl_suite import CORE_TESTS, expected, part, suite_of

from lodpipe.check import Checker
from lodpipe.check.compile import Compiler, RefusedError
from lodpipe.check.constraints import ShapeFaultError
from lodpipe.check.graph import Graph, canonical
from lodpipe.check.referee import NoAnswerError, Referee
from lodpipe.check.shapes import SHAPE, load_lines
from lodpipe.errors import UsageError

CONTEXT = "https://linked.art/ns/v1/linked-art.json"


@dataclass
class Example:
    lines: list[str]
    nodes: dict[str, str] = field(default_factory=dict)


SKETCHY = {"aggregated-link", "aggregated-rights", "aggregated-title"} | {
    *("object-kind", "object-work", "record-name")
}
"""Shapes that find something in nearly every test, because the tests are sketches of records."""

CAUGHT = {
    # test: the shapes of ours that find its fault
    "bad_destruction": "timespan-end timespan-order",
    "bad_location": "object-place",
    "bad_partremoval": "timespan-end timespan-order",
    "bad_production": "event-how production-part timespan-end timespan-order",
    "current_owner": "object-owner",
    "destruction_wrong_type": "object-destroyed",
    "dimension_wrong_class": "dimension-kind dimension-unit dimension-value object-measure",
    "equivalent_object_wrong_type": "record-same",
    "id_not_resolvable": "record-label",
    "id_not_resolvable_basic_ref": "actor-name record-label",
    "improper_attribute_assignment": "claim-about claim-aspect claim-grounds claim-key "
    "claim-property claim-standing claim-value claim-when claim-who claim-words object-set",
    "improper_timespan": "event-when",
    "linguistic_object_badly_formed": "words-content words-kind",
    "made_of_concept": "object-material term-address",
    "multiple_types_for_entity": "actor-name record-label",
    "part_of_object": "object-whole",
    "part_removal_wrong_type": "object-removed",
    "parts_of_object": "object-parts",
    "production_wrong_type": "object-production",
    "recommended_timespans_for_production": "timespan-begin-inner timespan-name timespan-something",
    "refer_to_nonlinguistic": "record-told",
    "representation_wrong_type": "record-shown",
    "subject_of_wrong_type": "record-subject-of",
    "value_numerical": "dimension-kind dimension-unit dimension-value record-label",
}
NOT_CAUGHT = {
    "artwork_material_type": "its faults are recommendations: AAT terms that are not artworks",
    "basic_reference_too_many_properties": "a mention that says too much is stopped by the "
    "official JSON Schema; as triples it cannot be told from a nested node",
}


@pytest.mark.reference
def test_linked_art_validator_tests(reference: Path) -> None:
    folder = reference / "reference/linked-art"
    context = json.loads((folder / "ns/linked-art.json").read_text(encoding="utf-8"))
    checker = Checker(TEXTS, sample=None)
    found: dict[str, dict[str, set[str]]] = {"valid": {}, "warning": {}, "invalid": {}}
    for kind, tests in found.items():
        for path in sorted((folder / "validator-tests" / kind).glob("*.json")):
            document = json.loads(path.read_text(encoding="utf-8"))
            checked = checker.check([(document["id"], Example(converted(document, context)))])
            names = {result.shape.removeprefix(SHAPE) for result in checked.results}
            tests[path.stem] = names - SKETCHY
            assert checked.findings == []

    assert len(found["valid"]) == len(found["warning"]) == 1
    assert not any(found["valid"].values())
    assert len(found["invalid"]) == 26
    assert found["invalid"] == {
        **{name: set(shapes.split()) for name, shapes in CAUGHT.items()},
        **{name: set() for name in NOT_CAUGHT},
    }


def converted(document: dict[str, Any], context: dict[str, Any]) -> list[str]:
    def load(url: str, options: dict[str, Any]) -> dict[str, Any]:
        assert url == CONTEXT
        return {
            "contentType": "application/ld+json",
            "contextUrl": None,
            "documentUrl": url,
            "document": context,
        }

    document.pop("note", None)
    quads = jsonld.to_rdf(document, {"format": "application/n-quads", "documentLoader": load})
    return canonical(pyoxigraph.parse(quads, format=pyoxigraph.RdfFormat.N_QUADS))


def second_opinion(shapes: "shacl.Shapes", data: Graph) -> Counter[tuple[str, str, str]]:
    report = shapes.validate_text("\n".join(data.lines()), "ntriples")
    return Counter(
        (bare(result.focus_node), result.component, bare(result.value or ""))
        for result in report.results
    )


def ours(found: list[Any]) -> Counter[tuple[str, str, str]]:
    return Counter(
        (bare(raw.focus), f"{raw.component}ConstraintComponent", bare(raw.value)) for raw in found
    )


def bare(node: str) -> str:
    """Return a node without the label that an engine gives to it when it is blank."""
    return "_:" if node.startswith("_:") else node


def test_a_second_engine_finds_the_same_in_broken_records() -> None:
    lines = Checker(TEXTS).shapes.graph.lines()
    set_of_shapes = load_lines(lines)
    second = shacl.Shapes.from_text("\n".join(lines), "ntriples")
    spare = [line for other in RECORDS for line in record(other)[1]]
    chance = random.Random(20)
    compared = 0
    for name in RECORDS:
        _, triples = record(name)
        for _ in range(MUTANTS // 2 // len(RECORDS)):
            data = Graph(mutate(triples, spare, chance))
            found = compiled(set_of_shapes, data)
            compared += len(found)

            assert second_opinion(second, data) == ours(found)
    assert compared > 500


SPARQL_TESTS = 23
NOT_PYSHACL = {
    "pre-binding/shapesGraph-001": "$shapesGraph is optional in SHACL, and pySHACL has it not",
}


@pytest.mark.reference
def test_sparql_shapes_are_refused_and_pyshacl_checks_them(reference: Path) -> None:
    suite = suite_of(reference / "reference/w3c/shacl-tests/sparql")
    wrong = {}
    for name, (path, graph, test) in suite.items():
        shapes = load_lines(part(path, graph, test, "shapesGraph").lines())
        data = part(path, graph, test, "dataGraph")
        prefixes = dict(PREFIX.findall(path.read_text(encoding="utf-8")))
        compiler = Compiler(shapes)
        refused = 0
        for shape in shapes.targets():
            try:
                compiler.compile(shape.node)
            except (RefusedError, ShapeFaultError):
                refused += 1
        assert refused, name
        wants_failure = bool(graph.objects(test, MANIFEST_RESULT)) and (
            graph.objects(test, MANIFEST_RESULT)[0].endswith("Failure>")
        )
        try:
            found = Counter(
                (r.focus, r.value) for r in Referee(shapes.graph, prefixes=prefixes).check(data)
            )
        except (NoAnswerError, UsageError):
            if not wants_failure:
                wrong[name] = "no answer"
            continue
        if wants_failure:
            wrong[name] = "an answer"
        elif found != Counter((k[0], k[3]) for k in expected(graph, test).elements()):
            wrong[name] = f"found {found}"

    assert len(suite) == SPARQL_TESTS
    assert set(wrong) == set(NOT_PYSHACL)


PREFIX = re.compile(r"@prefix (\w+): <([^>]+)>")
MANIFEST_RESULT = "<http://www.w3.org/2001/sw/DataAccess/tests/test-manifest#result>"


@pytest.mark.reference
def test_the_second_engine_passes_the_core_suite_with_us(reference: Path) -> None:
    """That the second engine is worth asking: it gives our answers on the suite too."""
    suite = suite_of(reference / "reference/w3c/shacl-tests/core")
    same = 0
    for path, graph, test in suite.values():
        shapes = load_lines(part(path, graph, test, "shapesGraph").lines())
        data = part(path, graph, test, "dataGraph")
        second = shacl.Shapes.from_text("\n".join(shapes.graph.lines()), "ntriples")
        same += second_opinion(second, data) == ours(compiled(shapes, data))

    assert same == len(suite) == CORE_TESTS
