"""Beliefs and quoted propositions: what stands beside the triples of a document, and what never."""

import re
from typing import Any

import orjson
import pytest

from lodpipe.publish.linked_art import document_bytes
from lodpipe.publish.nquads import Beliefs, document_lines
from lodpipe.rdf import Emitter
from lodpipe.records import Premise
from lodpipe.terms import concepts

BASE = "https://collections.example.org/"
ITEM = f"{BASE}object/item-0201"
EMITTER = Emitter(BASE, concepts())
BELIEFS = Beliefs(BASE, concepts())
PREFIXES = {
    f"<{ITEM}#": "<#",
    f"<{BASE}": "<",
    "<http://www.cidoc-crm.org/cidoc-crm/": "crm:",
    "<http://www.cidoc-crm.org/extensions/crminf/": "inf:",
    "<http://www.w3.org/ns/prov#": "prov:",
    "<http://www.w3.org/1999/02/22-rdf-syntax-ns#": "rdf:",
    "<http://www.w3.org/2000/01/rdf-schema#": "rdfs:",
}


def short(line: str) -> str:
    for long, instead in PREFIXES.items():
        line = line.replace(long, instead)
    return re.sub(r"(\b(?:crm|inf|prov|rdf|rdfs):[\w-]+)>", r"\1", line)


def reference(path: str, class_name: str) -> dict[str, Any]:
    return {"id": BASE + path, "type": class_name}


def claim(key: str, *types: str, **keys: Any) -> dict[str, Any]:
    return {
        "type": "AttributeAssignment",
        "classified_as": [reference(f"vocab/{path}", "Type") for path in types],
        "identified_by": [
            {
                "type": "Identifier",
                "content": key,
                "classified_as": [reference("vocab/identifier/claim", "Type")],
            }
        ],
        **keys,
    }


def item(*claims: dict[str, Any]) -> dict[str, Any]:
    made = {
        "id": f"{ITEM}#exposure",
        "type": "Production",
        "classified_as": [reference("vocab/role/exposure", "Type")],
        "attributed_by": list(claims),
    }
    return {"id": ITEM, "type": "HumanMadeObject", "produced_by": made}


VEY, DOLEN = reference("person/vey", "Person"), reference("person/dolen", "Person")


def added(*claims: dict[str, Any], **more: Any) -> list[str]:
    return [short(line) for line in BELIEFS.lines(EMITTER.emit(item(*claims)), **more)]


def test_a_claim_in_full() -> None:
    possibly = claim(
        "c1",
        "aspect/maker",
        "standing/proposed",
        "qualifier/possibly",
        carried_out_by=[reference("person/tarrow", "Person")],
        influenced_by=[
            reference("text/diary-3", "LinguisticObject"),
            {"id": f"{ITEM}#claim-c0", "type": "Activity", "_label": "Claim c0"},
        ],
        used_specific_object=[reference("object/item-0202", "HumanMadeObject")],
        assigned_property="carried_out_by",
        assigned=[VEY],
    )
    premise = Premise("w 7", 'Vey was "definitely" at Sorn Pass', (f"{BASE}text/diary-3",))

    assert added(possibly, premises={"c1": [premise], "c2": [premise]}) == [
        "<#claim-c1-belief> crm:P2_has_type <vocab/qualifier/possibly> .",
        "<#claim-c1-belief> inf:J4_that <#claim-c1-proposition> .",
        "<#claim-c1-belief> inf:J5_holds_to_be <vocab/standing/proposed> .",
        "<#claim-c1-belief> rdf:type inf:I2_Belief .",
        "<#claim-c1-belief> prov:wasRevisionOf <#claim-c0-belief> .",
        "<#claim-c1-proposition> rdf:object <person/vey> .",
        "<#claim-c1-proposition> rdf:predicate crm:P14_carried_out_by .",
        "<#claim-c1-proposition> rdf:subject <#exposure> .",
        "<#claim-c1-proposition> rdf:type inf:I4_Proposition_Set .",
        "<#claim-c1-proposition> rdf:type rdf:Statement .",
        "<#claim-c1> inf:J1_used_as_premise <#premise-w%207> .",
        "<#claim-c1> inf:J2_concluded_that <#claim-c1-belief> .",
        "<#claim-c1> rdf:type inf:I5_Inference_Making .",
        "<#claim-c1> prov:generated <#claim-c1-belief> .",
        "<#claim-c1> prov:used <object/item-0202> .",
        "<#claim-c1> prov:used <text/diary-3> .",
        "<#claim-c1> prov:wasAssociatedWith <person/tarrow> .",
        "<#premise-w%207> inf:J5_holds_to_be <vocab/standing/current> .",
        "<#premise-w%207> rdf:type inf:I2_Belief .",
        '<#premise-w%207> rdfs:label "Vey was \\"definitely\\" at Sorn Pass" .',
        "<#premise-w%207> prov:wasDerivedFrom <text/diary-3> .",
    ]


def test_each_value_has_its_own_proposition() -> None:
    together = claim(
        "c1", "standing/current", assigned_property="carried_out_by", assigned=[VEY, DOLEN]
    )
    objects = [line for line in added(together) if "rdf:object" in line or "J4" in line]

    assert objects == [
        "<#claim-c1-belief> inf:J4_that <#claim-c1-proposition-2> .",
        "<#claim-c1-belief> inf:J4_that <#claim-c1-proposition> .",
        "<#claim-c1-proposition-2> rdf:object <person/dolen> .",
        "<#claim-c1-proposition> rdf:object <person/vey> .",
    ]


def test_an_alternative_is_held_as_current_is() -> None:
    one = claim(
        "c1",
        "standing/current",
        "standing/alternative",
        assigned_property="carried_out_by",
        assigned=[VEY],
    )

    assert [line for line in added(one) if "J5" in line] == [
        "<#claim-c1-belief> inf:J5_holds_to_be <vocab/standing/current> ."
    ]


NOTHING_HELD = [
    # an AttributeAssignment that is none of our claims, or says nothing
    claim("c1", "aspect/maker", assigned_property="carried_out_by", assigned=[VEY]),
    claim("c1", "standing/current"),
    claim("c1", "standing/alternative", assigned_property="carried_out_by", assigned=[VEY]),
]


@pytest.mark.parametrize("one", NOTHING_HELD)
def test_nothing_is_added(one: dict[str, Any]) -> None:
    emitted = EMITTER.emit(item(one))

    assert BELIEFS.lines(emitted) == []
    assert document_lines(emitted, BELIEFS) == [line[:-1] + f"<{ITEM}> ." for line in emitted.lines]


def test_nothing_is_asserted() -> None:
    guess = claim("c1", "standing/former", assigned_property="carried_out_by", assigned=[VEY])
    for rdf12 in (False, True):
        lines = document_lines(EMITTER.emit(item(guess)), Beliefs(BASE, concepts(), rdf12=rdf12))
        direct = f"<{ITEM}#exposure> <http://www.cidoc-crm.org/cidoc-crm/P14_carried_out_by>"

        assert not any(line.startswith(direct) for line in lines)
        assert all(line.endswith(f" <{ITEM}> .") for line in lines)
        assert lines == sorted(set(lines))


def test_rdf12_quotes_with_a_triple_term() -> None:
    guess = claim("c1", "standing/former", assigned_property="carried_out_by", assigned=[VEY])
    lines = Beliefs(BASE, concepts(), rdf12=True).lines(EMITTER.emit(item(guess)))
    propositions = [short(line) for line in lines if line.startswith(f"<{ITEM}#claim-c1-prop")]

    assert propositions == [
        "<#claim-c1-proposition> rdf:reifies <<( <#exposure> crm:P14_carried_out_by "
        "<person/vey> )>> .",
        "<#claim-c1-proposition> rdf:type inf:I4_Proposition_Set .",
    ]


def test_bytes_are_the_same_whatever_the_order_of_keys() -> None:
    tree = {"shows": None, "_label": "Sörn", "type": "Person", "id": f"{BASE}person/vey",
            "born": {"timespan": {"type": "TimeSpan"}, "type": "Birth", "_label": None}}  # fmt: skip
    turned = dict(reversed(tree.items()))
    made = document_bytes(tree)

    assert (
        made
        == (
            '{"@context":"https://linked.art/ns/v1/linked-art.json",'
            '"id":"https://collections.example.org/person/vey","type":"Person","_label":"Sörn",'
            '"born":{"type":"Birth","timespan":{"type":"TimeSpan"}}}'
        ).encode()
    )
    assert document_bytes(turned) == made
    assert tree["shows"] is None
    assert document_bytes(orjson.loads(made)) == made


def test_notices_stand_before_images() -> None:
    tree = {"id": ITEM, "type": "HumanMadeObject", "representation": [], "referred_to_by": [],
            "subject_of": [], "produced_by": {}}  # fmt: skip

    assert list(orjson.loads(document_bytes(tree))) == [
        "@context", "id", "type", "referred_to_by", "produced_by", "representation", "subject_of",
    ]  # fmt: skip
