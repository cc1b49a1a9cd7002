"""Each shape that ships with lodpipe: an example that it passes and one that it stops.

`tests/shapes/<record>.ttl` are records that every shape passes; `<record>.yaml` says, for each
shape, which triples to take out and put in so that this shape, and only it, finds something.
"""

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pyoxigraph
import pytest
from ruamel.yaml import YAML

from lodpipe.check import Checker
from lodpipe.check.graph import canonical
from lodpipe.check.rules import RULES
from lodpipe.check.shapes import SHAPE, load
from lodpipe.check.words import sh

ROOT = Path(__file__).parent.parent
EXAMPLES = Path(__file__).parent / "shapes"
PREFIXES = (EXAMPLES / "prefixes.ttl").read_text(encoding="utf-8")
RECORDS = sorted(path.stem for path in EXAMPLES.glob("*.yaml"))
TEXTS = {
    path.name: path.read_text(encoding="utf-8") for path in sorted((ROOT / "shapes").glob("*.ttl"))
}


@dataclass
class Example:
    """A document as the emitter would make it."""

    lines: list[str]
    nodes: dict[str, str] = field(default_factory=dict)


def lines(turtle: str, base: str) -> list[str]:
    text = PREFIXES + turtle
    return canonical(pyoxigraph.parse(text, format=pyoxigraph.RdfFormat.TURTLE, base_iri=base))


def record(name: str) -> tuple[str, list[str]]:
    text = (EXAMPLES / f"{name}.ttl").read_text(encoding="utf-8")
    match = re.match(r"@base <(.*)> \.", text)
    assert match is not None
    return match.group(1), lines(text, match.group(1))


def breaks() -> list[Any]:
    found = []
    for name in RECORDS:
        cases = YAML(typ="safe").load((EXAMPLES / f"{name}.yaml").read_text(encoding="utf-8"))
        for shape, edits in cases.items():
            for number, edit in enumerate(edits, 1):
                found.append(pytest.param(name, shape, edit, id=f"{name}-{shape}-{number}"))
    return found


BREAKS = breaks()


@pytest.fixture(scope="module")
def checker() -> Checker:
    return Checker(TEXTS, sample=None)


@pytest.mark.parametrize("name", RECORDS)
def test_the_record_passes_every_shape(name: str, checker: Checker) -> None:
    uri, triples = record(name)
    found = checker.check([(uri, Example(triples))])

    assert [(r.shape, r.component, r.focus, r.value) for r in found.results] == []
    assert found.refereed == [uri]
    assert found.findings == []


@pytest.mark.parametrize(("name", "shape", "edit"), BREAKS)
def test_the_shape_finds_the_fault(
    name: str, shape: str, edit: dict[str, Any], checker: Checker
) -> None:
    uri, triples = record(name)
    take, put = (lines(edit.get(word, ""), uri) for word in ("take", "put"))
    assert set(take) <= set(triples)
    changed = sorted((set(triples) - set(take)) | set(put))
    if "as" in edit:
        changed = [line.replace(f"<{uri}", f"<{edit['as']}") for line in changed]
        uri = edit["as"]
    found = checker.check([(uri, Example(changed))])

    assert {r.shape.removeprefix(SHAPE) for r in found.results} == {shape, *edit.get("also", ())}
    assert found.findings == []


PRINTER = (
    "<#production> crm:P9_consists_of <#printing> . <#printing> a crm:E12_Production ; "
    "crm:P2_has_type </vocab/role/printing> ; crm:P14_carried_out_by </person/vey> ."
)
CERTAIN_PRINTER = (
    "<#printing> crm:P140i_was_attributed_by <#claim-c0203> . "
    "<#claim-c0203> a crm:E13_Attribute_Assignment ; crm:P2_has_type </vocab/standing/current> ; "
    "crm:P177_assigned_property_of_type crm:P14_carried_out_by ; crm:P141_assigned </person/vey> ."
)
MOUNTER = (
    "<> crm:P31i_was_modified_by <#mounting> . <#mounting> a crm:E11_Modification ; "
    "crm:P2_has_type </vocab/role/mounting> ; crm:P14_carried_out_by </person/vey> ."
)


@pytest.mark.parametrize(
    "more",
    [
        PRINTER,
        PRINTER + CERTAIN_PRINTER + "<#production> crm:P14_carried_out_by </person/vey> .",
        MOUNTER,
    ],
)
def test_who_is_doubted_in_one_role_may_be_certain_in_another(more: str, checker: Checker) -> None:
    """Jonas Vey is possibly the photographer; that he printed or mounted the picture is certain."""
    uri, triples = record("object")
    found = checker.check([(uri, Example(sorted({*triples, *lines(more, uri)})))])

    assert [r.focus for r in found.results if r.shape == f"{SHAPE}claim-not-stated"] == []


def test_every_shape_has_an_example_that_it_stops() -> None:
    shapes = load(TEXTS)
    checking = {
        shape.name.removeprefix(SHAPE)
        for shape in shapes.shapes.values()
        if shape.node.startswith("<") and shape.message
    } | {rule.shape.name.removeprefix(SHAPE) for rule in RULES}

    assert {case.values[1] for case in BREAKS} == checking
    assert len(checking) >= 80


def test_every_shape_says_what_is_wrong_how_bad_and_by_which_rule() -> None:
    shapes = load(TEXTS)
    for shape in shapes.shapes.values():
        held = shapes.graph.objects(shape.node, sh("property"))
        if not shape.node.startswith("<") or (held and not shape.message):
            continue
        if shape.name == f"{SHAPE}production-role":  # only read by production-part
            continue

        assert shape.message[:1].islower(), shape.name
        assert not re.search(r"[^.]\.$", shape.message), shape.name
        assert len(shape.message) <= 220, shape.name
        assert shape.rule.startswith("https://"), shape.name
        assert shape.severity in ("violation", "warning", "info")


def test_every_shape_with_a_target_meets_a_node_of_the_examples(checker: Checker) -> None:
    met: set[str] = set()
    for name in RECORDS:
        uri, triples = record(name)
        met.update(checker.check([(uri, Example(triples))]).focus[uri])

    assert checker.unused(met) == []


def test_no_shape_reaches_inside_what_a_claim_assigns() -> None:
    """What a claim assigns is not said of the thing: a path may end there, never go on."""
    for shape in load(TEXTS).shapes.values():
        steps = [str(part) for part in shape.path.parts] if shape.path else []

        assert "crm:P141_assigned" not in steps[:-1], shape.name


def test_nothing_is_wrong_with_the_shapes_that_ship(checker: Checker) -> None:
    assert checker.shape_findings() == []


def test_the_example_of_the_readme_finds_what_it_says() -> None:
    readme = (ROOT / "shapes" / "README.md").read_text(encoding="utf-8")
    text = "\n".join(
        line[4:] for line in readme.splitlines() if line.startswith("    ") or not line
    )
    turtle = text[text.index("@prefix") :]
    own = Checker({"own.ttl": turtle}, sample=None)
    uri, triples = record("object")
    without = [line for line in triples if "P52_has_current_owner" not in line]

    assert own.check([(uri, Example(triples))]).results == []
    (found,) = own.check([(uri, Example(without))]).results
    assert found.message == "the thing has no owner: fill the column `owner`"
    assert own.shape_findings() == []
