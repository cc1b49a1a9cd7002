"""Ledger -> documents -> N-Quads -> ledger, over whole releases: nothing is lost.

No published source. The dump alone is read; each line that comes back is held against the line of
the archive, field by field.
"""

from collections.abc import Callable
from dataclasses import fields, replace
from typing import Any

import pyoxigraph as ox
import pytest
from conformance.released import Released

from lodpipe.archive import Archive
from lodpipe.aspects import builtin_aspects
from lodpipe.publish.ledger import read_back
from lodpipe.records import Claim
from lodpipe.terms import concepts
from lodpipe.wording import USUAL_ROLES

BASE = "https://collections.example.org/"
NAMES = ["demo", *(pytest.param(name, marks=pytest.mark.reference) for name in ("tate", "nga"))]
LEAST = {"demo": 110, "tate": 2_300, "nga": 3_070}

NOT_PUBLISHED = {
    "mapped": "whether a person or a mapping wrote a line stays in the house",
    "place": "so do files and rows",
}


def settled(line: Claim, node: str) -> dict[str, Any]:
    """A line of the ledger as far as it can come back.

    - a replaced line shows the standing that holds now;
    - an empty role is the usual one of the node;
    - the sources of a claim have no order in RDF; each keeps its locator.
    """
    role = line.role or (USUAL_ROLES.get(node, "") if line.aspect == "maker" else "")
    locators = [*line.locators, *[""] * len(line.sources)]
    told = replace(line, standing=line.effective, role=role, sources=(), locators=())
    values = {field.name: getattr(told, field.name) for field in fields(Claim)}
    values["sources"] = sorted(zip(line.sources, locators, strict=False))
    return {key: value for key, value in values.items() if key not in NOT_PUBLISHED}


@pytest.fixture(scope="module", params=NAMES)
def released(request: pytest.FixtureRequest, releases: Callable[[str], Released]) -> Released:
    return releases(request.param)


def ledger(released: Released) -> dict[str, tuple[str, Claim]]:
    with Archive(released.folder / "archive" / "archive.sqlite") as archive:
        lines = list(archive.claims(released.result.latest))
    return {line.key: (document, line) for document, line in lines}


def carriers(lines: list[str]) -> dict[str, str]:
    """The role of the node that each claim is about, by the claim's key."""
    start = "<http://www.cidoc-crm.org/cidoc-crm/P140i_was_attributed_by>"
    found = {}
    for line in lines:
        if f" {start} " in line:
            node, _, claim, *_ = line.split(" ")
            found[claim[1:-1].partition("#claim-")[2]] = node[1:-1].partition("#")[2]
    return found


def back(lines: list[str]) -> dict[str, tuple[str, Claim]]:
    quads = ox.parse("\n".join(lines).encode(), format=ox.RdfFormat.N_QUADS)
    return {line.key: (uri, line) for uri, line in read_back(quads, BASE, concepts())}


def differences(written: dict[str, tuple[str, Claim]], lines: list[str]) -> list[str]:
    """Every field of a line that does not come back from a dump as it was written."""
    read, nodes = back(lines), carriers(lines)
    found = [f"{key} is not in the dump" for key in written.keys() - read.keys()]
    for key in sorted(written.keys() & read.keys()):
        (document, line), (graph, again) = written[key], read[key]
        if document != graph:
            found.append(f"{key} is in {graph}")
        old, new = settled(line, nodes[key]), settled(again, nodes[key])
        found += [
            f"{key}.{name}: {old[name]} | {new[name]}" for name in old if old[name] != new[name]
        ]
    for key in sorted(read.keys() - written.keys()):
        former = read[key][1]
        if not (key.startswith("catalogue-") and former.effective == "former" and former.basis):
            found.append(f"{key} is not in the ledger")
    return found


def test_the_ledger_comes_back_from_the_dump(released: Released) -> None:
    written = ledger(released)

    assert differences(written, released.quads) == []
    assert len(written) >= LEAST[released.name]
    decided = [line for _, line in written.values() if not line.mapped]
    assert (len(decided) >= 100) == (released.name == "demo")


def test_the_demo_has_every_aspect_that_could_be_lost(
    releases: Callable[[str], Released],
) -> None:
    lines = [line for _, line in ledger(releases("demo")).values()]

    assert {line.aspect for line in lines} >= set(builtin_aspects().by_name) - {"same_sitter_as"}
    assert sum(bool(line.facts) for line in lines) >= 8
    assert sum(bool(line.replaces) for line in lines) >= 8
    assert sum(bool(line.alternative_to) for line in lines) >= 2
    assert sum(bool(line.locators) for line in lines) >= 12
    assert sum(bool(line.part) for line in lines) >= 5
    assert sum(bool(line.value_text) for line in lines) >= 4


LOST = [
    # what is taken out of the dump: what no longer comes back
    ("item-0101#claim-c0105-timespan-identifier-edtf> <http://www.cidoc-crm.org/cidoc-crm/P190", "c0105.on"),
    ("item-0101#claim-c0105> <http://www.cidoc-crm.org/cidoc-crm/P14_carried_out_by", "c0105.by"),
    ("item-0101#claim-c0105> <http://www.cidoc-crm.org/extensions/crminf/J1_used_as_premise", "c0105.facts"),
    ("item-0101#premise-w12> <http://www.w3.org/ns/prov#wasDerivedFrom", "c0105.facts"),
    ("item-0101#claim-c0105> <http://www.cidoc-crm.org/cidoc-crm/P15_was_influenced_by", "c0105.replaces"),
    ("item-0101#claim-c0105> <http://www.cidoc-crm.org/cidoc-crm/P67i_is_referred_to_by", "c0105.basis"),
    ("item-0101#claim-c0105> <http://www.cidoc-crm.org/cidoc-crm/P2_has_type> <https://collections.example.org/vocab/qualifier/attributed-to", "c0105.qualifier"),
    ("item-0101#exposure> <http://www.cidoc-crm.org/cidoc-crm/P140i_was_attributed_by> <https://collections.example.org/object/item-0101#claim-c0105", "c0105 is not in the dump"),
]  # fmt: skip


@pytest.mark.parametrize(("line", "difference"), LOST, ids=[row[1] for row in LOST])
def test_what_a_dump_lacks_is_missed(
    line: str, difference: str, releases: Callable[[str], Released]
) -> None:
    demo = releases("demo")
    whole = demo.quads
    rest = [quad for quad in whole if line not in quad]
    found = differences(ledger(demo), rest)

    assert len(rest) < len(whole)
    assert any(one.startswith(difference) for one in found), found
