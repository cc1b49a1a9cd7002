"""What the emitter makes of a document: triples, IRIs of nested nodes, and what it refuses."""

import json
import re
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyld import jsonld

from lodpipe.errors import DateError, IriError, LodpipeError, TermError, UsageError, ValueFault
from lodpipe.rdf import (
    CONTEXT_URL,
    Emitter,
    assigned_iri,
    class_iri,
    context,
    loader,
    property_iri,
)
from lodpipe.rdf.text import date_time, number, quoted
from lodpipe.terms import Concept, Concepts, concepts

BASE = "https://collections.example.org/"
ITEM = f"{BASE}object/item-0201"
CRM = "http://www.cidoc-crm.org/cidoc-crm/"
EMITTER = Emitter(BASE, concepts())
PLAIN = Emitter(BASE, concepts(), mint=False)


def item(**keys: Any) -> dict[str, Any]:
    return {"id": ITEM, "type": "HumanMadeObject", **keys}


def kind(path: str) -> list[dict[str, Any]]:
    return [{"id": path if ":" in path else BASE + path, "type": "Type"}]


def name(text: str, *languages: str) -> dict[str, Any]:
    node = {
        "type": "Name",
        "content": text,
        "classified_as": kind("http://vocab.getty.edu/aat/300404670"),
    }
    if languages:
        node["language"] = [{"id": iri, "type": "Language"} for iri in languages]
    return node


def claim(key: str, **keys: Any) -> dict[str, Any]:
    identifier = {
        "type": "Identifier",
        "content": key,
        "classified_as": kind("vocab/identifier/claim"),
    }
    return {"type": "AttributeAssignment", "identified_by": [identifier], **keys}


ENGLISH = "http://vocab.getty.edu/aat/300388277"
GERMAN = "http://vocab.getty.edu/aat/300388344"
TEVELI = f"{BASE}vocab/language/teveli"

SPAN = {"type": "TimeSpan", "end_of_the_end": "1872-02-29T23:59:59Z"}
VEY = {"id": f"{BASE}person/vey", "type": "Person"}

NODES = [
    # where in the document; the nested nodes that get an IRI there: JSON Pointer -> fragment
    ("a name", {"identified_by": [name("Summit cutting")]}, {"/identified_by/0": "name-primary"}),
    ("two names of a kind", {"identified_by": [name("A"), name("B"), name("C")]},
     {"/identified_by/0": "name-primary", "/identified_by/1": "name-primary-2",
      "/identified_by/2": "name-primary-3"}),
    ("names in three languages",
     {"identified_by": [name("A", ENGLISH), name("B", GERMAN), name("C", TEVELI)]},
     {"/identified_by/0": "name-primary", "/identified_by/1": "name-primary-de",
      "/identified_by/2": "name-primary-teveli"}),
    ("a kind without slug", {"identified_by": [{"type": "Identifier", "content": "9",
                                                "classified_as": kind("vocab/identifier/old")}]},
     {"/identified_by/0": "identifier"}),
    ("the second kind has the slug",
     {"dimension": [
         {"type": "Dimension", "value": 142, "classified_as": [
             *kind("vocab/measured/image"), *kind("http://vocab.getty.edu/aat/300055644")]},
         {"type": "Dimension", "value": 195, "classified_as": [
             *kind("vocab/measured/image"), *kind("http://vocab.getty.edu/aat/300055647")]}]},
     {"/dimension/0": "dimension-height", "/dimension/1": "dimension-width"}),
    ("a production", {"produced_by": {"type": "Production", "timespan": SPAN}},
     {"/produced_by": "production", "/produced_by/timespan": "production-timespan"}),
    ("a production with a role",
     {"produced_by": {"type": "Production", "classified_as": kind("vocab/role/compiling")}},
     {"/produced_by": "production"}),
    ("parts are named by their role alone",
     {"produced_by": {"type": "Production", "part": [
         {"type": "Production", "classified_as": kind("vocab/role/exposure"), "timespan": SPAN},
         {"type": "Production", "classified_as": kind("vocab/role/exposure")},
         {"type": "Production"}]}},
     {"/produced_by": "production", "/produced_by/part/0": "exposure",
      "/produced_by/part/0/timespan": "exposure-timespan", "/produced_by/part/1": "exposure-2",
      "/produced_by/part/2": "production-production"}),
    ("a modification",
     {"modified_by": [{"type": "Modification", "classified_as": kind("vocab/role/mounting")},
                      {"type": "Modification"}]},
     {"/modified_by/0": "mounting", "/modified_by/1": "modification"}),
    ("texts, images and files",
     {"referred_to_by": [{"type": "LinguisticObject", "content": "x"}],
      "subject_of": [{"type": "LinguisticObject",
                      "digitally_carried_by": [{"type": "DigitalObject"}]}],
      "representation": [{"type": "VisualItem", "digitally_shown_by": [
          {"type": "DigitalObject", "digitally_available_via": [{"type": "DigitalService"}]}]}]},
     {"/referred_to_by/0": "statement", "/subject_of/0": "subject",
      "/subject_of/0/digitally_carried_by/0": "subject-file", "/representation/0": "image",
      "/representation/0/digitally_shown_by/0": "image-file",
      "/representation/0/digitally_shown_by/0/digitally_available_via/0": "image-file-service"}),
    ("a claim by its key, wherever it stands",
     {"produced_by": {"type": "Production", "attributed_by": [
         claim("c 1", assigned_property="timespan", assigned=[SPAN], timespan=SPAN)]}},
     {"/produced_by": "production", "/produced_by/attributed_by/0": "claim-c%201",
      "/produced_by/attributed_by/0/identified_by/0": "claim-c%201-identifier-claim",
      "/produced_by/attributed_by/0/assigned/0": "claim-c%201-assigned",
      "/produced_by/attributed_by/0/timespan": "claim-c%201-timespan"}),
    ("a name that a claim assigns",
     {"attributed_by": [claim("c2", assigned_property="identified_by", assigned=[name("X")])]},
     {"/attributed_by/0": "claim-c2",
      "/attributed_by/0/identified_by/0": "claim-c2-identifier-claim",
      "/attributed_by/0/assigned/0": "claim-c2-assigned-primary"}),
    ("a claim of somebody else's, without key", {"attributed_by": [{"type": "AttributeAssignment"}]},
     {"/attributed_by/0": "claim"}),
    ("an id in the JSON comes first",
     {"produced_by": {"id": f"{ITEM}#made", "type": "Production", "timespan": SPAN}},
     {"/produced_by/timespan": "made-timespan"}),
    ("an id that a minted one would take",
     {"modified_by": [{"type": "Modification", "classified_as": kind("vocab/role/mounting")},
                      {"id": f"{ITEM}#mounting", "type": "Modification",
                       "classified_as": kind("vocab/role/mounting")}]},
     {"/modified_by/0": "mounting-2"}),
    ("a reference to a minted node is no second one",
     {"attributed_by": [claim("c3"), claim("c4", influenced_by=[
         {"id": f"{ITEM}#claim-c3", "type": "Activity", "_label": "Claim c3"}])]},
     {"/attributed_by/0": "claim-c3", "/attributed_by/0/identified_by/0":
         "claim-c3-identifier-claim", "/attributed_by/1": "claim-c4",
      "/attributed_by/1/identified_by/0": "claim-c4-identifier-claim"}),
    ("nodes inside another record's node",
     {"current_owner": [{"id": f"{BASE}group/library", "type": "Group",
                         "identified_by": [name("Library")]}]},
     {"/current_owner/0/identified_by/0": "group-name-primary"}),
]  # fmt: skip


@pytest.mark.parametrize(("what", "keys", "expected"), NODES, ids=[row[0] for row in NODES])
def test_iris_of_nested_nodes(what: str, keys: dict[str, Any], expected: dict[str, str]) -> None:
    emitted = EMITTER.emit(item(**keys))
    nested = {
        pointer: iri.partition("#")[2]
        for iri, pointer in emitted.nodes.items()
        if iri.startswith(ITEM + "#") and "id" not in at(item(**keys), pointer)
    }

    assert nested == expected
    assert not any("_:" in line for line in emitted.lines)


def at(tree: Any, pointer: str) -> Any:
    for step in pointer.split("/")[1:]:
        tree = tree[int(step)] if isinstance(tree, list) else tree[step]
    return tree


def test_slugs_of_the_project_count() -> None:
    own = Concept("views-number", "vocab/identifier/views", "Type", "views", "No.", "", "", "", "")
    emitter = Emitter(BASE, Concepts([*concepts(), own]))
    tree = item(
        identified_by=[
            {"type": "Identifier", "content": "9", "classified_as": kind("vocab/identifier/views")}
        ]
    )

    assert f"{ITEM}#identifier-views" in emitter.emit(tree).nodes


def test_the_first_language_is_the_projects() -> None:
    tree = item(identified_by=[name("A", ENGLISH), name("B", GERMAN)])
    emitted = Emitter(BASE, concepts(), language="de").emit(tree)

    assert {f"{ITEM}#name-primary-en", f"{ITEM}#name-primary"} <= emitted.nodes.keys()


LINES = [
    # keys of the document; the triples beside its class, shortened
    ({"_label": 'A "tall" view\nof the cutting'},
     [r'<> rdfs:label "A \"tall\" view\nof the cutting" .']),
    ({"_label": None, "shows": None, "_complete": False}, []),
    ({"@context": CONTEXT_URL}, []),
    ({"part_of": {"id": f"{BASE}object/page-2", "type": "HumanMadeObject"}},
     ["<> crm:P46i_forms_part_of <object/page-2> .",
      "<object/page-2> rdf:type crm:E22_Human-Made_Object ."]),
    ({"current_location": f"{BASE}place/depot"}, ["<> crm:P55_has_current_location <place/depot> ."]),
    ({"equivalent": [{"id": "la:x", "type": "HumanMadeObject"}]},
     ["<> la:equivalent la:x .", "la:x rdf:type crm:E22_Human-Made_Object ."]),
    ({"number_of_parts": 1}, TermError("`number_of_parts` is not a key in HumanMadeObject, "
                                       "at `/number_of_parts`")),
]  # fmt: skip
SHORT = {
    f"<{ITEM}>": "<>",
    f"<{BASE}": "<",
    "<http://www.w3.org/1999/02/22-rdf-syntax-ns#": "rdf:",
    "<http://www.w3.org/2000/01/rdf-schema#": "rdfs:",
    "<https://linked.art/ns/terms/": "la:",
    f"<{CRM}": "crm:",
}


def short(line: str) -> str:
    for long, instead in SHORT.items():
        line = line.replace(long, instead)
    return re.sub(r"(\b(?:rdf|rdfs|la|crm):[\w-]+)>", r"\1", line)


@pytest.mark.parametrize(("keys", "expected"), LINES)
def test_lines(keys: dict[str, Any], expected: list[str] | LodpipeError) -> None:
    if isinstance(expected, LodpipeError):
        with pytest.raises(type(expected)) as caught:
            EMITTER.emit(item(**keys))
        assert caught.value.message == expected.message
        return
    lines = [short(line) for line in EMITTER.emit(item(**keys)).lines]

    assert sorted(lines) == sorted(["<> rdf:type crm:E22_Human-Made_Object .", *expected])


REFUSED = [
    # keys of the document, class and whole message of the error, its hint
    ({"titel": "x"}, TermError, "`titel` is not a key in HumanMadeObject, at `/titel`", ""),
    ({"produced_by": {"type": "Production", "carried_out_buy": []}}, TermError,
     "`carried_out_buy` is not a key in Production, at `/produced_by/carried_out_buy`",
     "did you mean `carried_out_by` or `carried_out` or `referred_to_by`?"),
    ({"born": {"type": "Birth", "part_off": []}}, TermError,
     "`part_off` is not a key in Birth, at `/born/part_off`", "did you mean `part_of` or `part`?"),
    ({"current_owner": [{"id": f"{BASE}group/library", "type": "Group", "lable": "x"}]}, TermError,
     "`lable` is not a key in Group, at `/current_owner/0/lable`", "did you mean `_label` or `value`?"),
    ({"shows": [{"type": "VisualItm"}]}, TermError,
     "`VisualItm` is not a Linked Art class, at `/shows/0/type`", "did you mean `VisualItem`?"),
    ({"shows": [{"type": ["VisualItem"]}]}, ValueFault,
     "`['VisualItem']` is not one text, at `/shows/0/type`", ""),
    ({"shows": [{"id": f"{BASE}visual/1", "type": "VisualItem", "@context": {}}]}, TermError,
     "`@context` is not a key in VisualItem, at `/shows/0/@context`", "did you mean `content`?"),
    ({"shows": [{"id": "visual/1", "type": "VisualItem"}]}, IriError,
     "`visual/1` is not an absolute IRI: it does not begin with a scheme such as `https:`, "
     "at `/shows/0/id`", ""),
    ({"shows": [{"id": f"{BASE}visual/a b", "type": "VisualItem"}]}, IriError,
     f"`{BASE}visual/a b` is not an IRI: U+0020 space at character 41, at `/shows/0/id`",
     "write %20 for it"),
    ({"shows": [7]}, ValueFault, "`7` is not a node or an IRI, at `/shows/0`", ""),
    ({"shows": [{"id": ["x"], "type": "VisualItem"}]}, ValueFault,
     "`['x']` is not one text, at `/shows/0/id`", ""),
    ({"_label": {"@value": "x", "@language": "en"}}, ValueFault,
     "`{'@value': 'x', '@language': 'en'}` is not a text or number, at `/_label`", ""),
    ({"_label": "\ud800"}, ValueFault, "'\\ud800' has half a character, at `/_label`",
     "the text was damaged before"),
    ({"dimension": [{"type": "Dimension", "value": float("nan")}]}, ValueFault,
     "`nan` is not a number that can be published, at `/dimension/0/value`", ""),
    ({"produced_by": {"type": "Production", "timespan": {
        "type": "TimeSpan", "begin_of_the_begin": "1872-02"}}}, DateError,
     "`1872-02` is not a moment of RFC 3339, at `/produced_by/timespan/begin_of_the_begin`",
     "write `1872-02-01T00:00:00Z`"),
    ({"produced_by": {"type": "Production", "timespan": {
        "type": "TimeSpan", "end_of_the_end": ["1872-02-01T00:00:00Z"]}}}, ValueFault,
     "`['1872-02-01T00:00:00Z']` is not one text, at `/produced_by/timespan/end_of_the_end`", ""),
    ({"attributed_by": [{"type": "AttributeAssignment", "assigned_property": "student_of"}]},
     TermError,
     "`student_of` is not a property that can be assigned, at `/attributed_by/0/assigned_property`",
     "did you mean `subject_of` or `subject_to`?"),
    ({"attributed_by": [{"type": "AttributeAssignment", "assigned_property": 14}]}, ValueFault,
     "`14` is not one text, at `/attributed_by/0/assigned_property`", ""),
    # parts of an object are P46, but JSON-LD reads `part` in a claim as the part of an activity
    ({"attributed_by": [{"type": "AttributeAssignment", "assigned_property": "part"}]}, TermError,
     f"`part` in `assigned_property` of a claim on HumanMadeObject means <{CRM}P9_consists_of>, "
     "at `/attributed_by/0/assigned_property`", f"write <{CRM}P46_is_composed_of>"),
]  # fmt: skip


@pytest.mark.parametrize(("keys", "error", "message", "hint"), REFUSED)
def test_refused(keys: dict[str, Any], error: type[LodpipeError], message: str, hint: str) -> None:
    with pytest.raises(error) as caught:
        EMITTER.emit(item(**keys))

    assert (caught.value.message, caught.value.hint) == (message, hint)
    assert type(caught.value) is error


def test_a_document_without_id() -> None:
    with pytest.raises(ValueFault) as caught:
        EMITTER.emit({"type": "Person"})

    assert caught.value.message == "the document has no `id`"


def test_order_of_keys_does_not_matter() -> None:
    tree = item(
        _label="x",
        identified_by=[name("A"), name("B")],
        attributed_by=[claim("c1", assigned_property="identified_by", assigned=[name("X")])],
    )
    turned = json.loads(json.dumps(tree), object_pairs_hook=lambda pairs: dict(reversed(pairs)))

    assert EMITTER.emit(turned).lines == EMITTER.emit(tree).lines
    assert EMITTER.emit(turned).nodes.keys() == EMITTER.emit(tree).nodes.keys()


def test_order_of_keys_does_not_number_nodes() -> None:
    owners = {
        key: [{"id": f"{BASE}group/{key}", "type": "Group", "identified_by": [name(key)]}]
        for key in ("current_owner", "current_custodian")
    }
    first, second = item(**owners), item(**dict(reversed(owners.items())))
    emitted = EMITTER.emit(first)

    assert emitted.lines == EMITTER.emit(second).lines
    assert emitted.nodes == EMITTER.emit(second).nodes
    assert emitted.nodes[f"{ITEM}#group-name-primary-2"] == "/current_owner/0/identified_by/0"


def test_documents_do_not_influence_one_another() -> None:
    emitter = Emitter(BASE, concepts())
    owner = {"id": f"{BASE}group/library", "type": "Group", "_label": "Library"}
    first = item(current_owner=[owner])
    emitter.emit(first)
    owner["_label"] = "Highland Railway Library"  # the caller goes on using its own dict
    second = emitter.emit(item(current_owner=[owner]))

    assert second == Emitter(BASE, concepts()).emit(item(current_owner=[owner]))
    assert second.nodes[f"{BASE}group/library"] == "/current_owner/0"


def test_a_known_node_leads_to_where_it_stands_here() -> None:
    emitter = Emitter(BASE, concepts())
    photograph = {**kind("vocab/work/drawing")[0], "classified_as": kind("vocab/work/any")}
    emitter.emit(item(classified_as=[photograph]))
    nodes = emitter.emit(item(classified_as=[*kind("vocab/work/page"), photograph])).nodes

    assert nodes[f"{BASE}vocab/work/drawing"] == "/classified_as/1"
    assert nodes[f"{BASE}vocab/work/any"] == "/classified_as/1/classified_as/0"


def test_a_node_that_says_two_things_says_both() -> None:
    both = [
        {"id": f"{BASE}person/vey", "type": "Person", "_label": label}
        for label in ("Jonas Vey", "J. Vey", "Jonas Vey")
    ]
    production = {"type": "Production", "carried_out_by": both}
    emitter = Emitter(BASE, concepts())
    lines = emitter.emit(item(produced_by=deepcopy(production))).lines

    assert sum("Vey" in line for line in lines) == 2
    assert emitter.emit(item(produced_by=production)).lines == lines


def test_assignments() -> None:
    claims = [
        claim("c1", assigned_property="carried_out_by", assigned=[VEY]),
        claim("c2", assigned_property="timespan", assigned=[SPAN]),
        claim("c3"),
    ]
    tree = item(produced_by={"type": "Production", "attributed_by": claims})
    found = EMITTER.emit(tree).assignments

    assert [(one.iri, one.carrier, one.property, one.values) for one in found] == [
        (f"{ITEM}#claim-c1", f"{ITEM}#production", f"{CRM}P14_carried_out_by", (VEY["id"],)),
        (f"{ITEM}#claim-c2", f"{ITEM}#production", f"{CRM}P4_has_time-span",
         (f"{ITEM}#claim-c2-assigned",)),
        (f"{ITEM}#claim-c3", f"{ITEM}#production", "", ()),
    ]  # fmt: skip
    assert found[0].tree is claims[0]


PROPERTIES = [
    ("HumanMadeObject", "part_of", "P46i_forms_part_of"),
    ("Production", "part_of", "P9i_forms_part_of"),
    ("Place", "part_of", "P89_falls_within"),
    ("LinguisticObject", "part_of", "P106i_forms_part_of"),
    ("Person", "member_of", "P107i_is_current_or_former_member_of"),
    ("Person", "born", "P98i_was_born"),
    ("", "identified_by", "P1_is_identified_by"),
]


@pytest.mark.parametrize(("class_name", "key", "expected"), PROPERTIES)
def test_property(class_name: str, key: str, expected: str) -> None:
    assert property_iri(class_name, key) == CRM + expected


NO_PROPERTIES = [
    ("Persn", "born", "`Persn` is not a Linked Art class"),
    ("Person", "part_of", "`part_of` is not a key in Person"),
    ("", "part", "`part` is not a key in a node without `type`"),
    ("Person", "_complete", "`_complete` is not a key in Person"),
]


@pytest.mark.parametrize(("class_name", "key", "message"), NO_PROPERTIES)
def test_no_property(class_name: str, key: str, message: str) -> None:
    with pytest.raises(TermError) as caught:
        property_iri(class_name, key)

    assert caught.value.message == message


ASSIGNED = [
    # class that carries the claim, word, below an outer attributed_by
    ("Production", "carried_out_by", None, "P14_carried_out_by"),
    ("Production", "part_of", None, "P9i_forms_part_of"),
    ("Production", "part", None, "P9_consists_of"),
    ("HumanMadeObject", "part_of", None, "P46i_forms_part_of"),
    ("VisualItem", "represents", None, "P138_represents"),
    ("Person", f"{CRM}P107i_is_current_or_former_member_of", None,
     "P107i_is_current_or_former_member_of"),
    ("Person", "crm:P107i_is_current_or_former_member_of", None,
     "P107i_is_current_or_former_member_of"),
]  # fmt: skip


@pytest.mark.parametrize(("class_name", "word", "below", "expected"), ASSIGNED)
def test_assigned(class_name: str, word: str, below: str | None, expected: str) -> None:
    assert assigned_iri(class_name, word, below) == CRM + expected


NOT_ASSIGNED = [
    ("Person", "member_of",
     "`member_of` in `assigned_property` of a claim on Person means "
     "<https://linked.art/ns/terms/member_of>",
     f"write <{CRM}P107i_is_current_or_former_member_of>"),
    ("Production", "carried_out_buy", "`carried_out_buy` is not a property that can be assigned",
     "did you mean `carried_out_by` or `carried_out` or `referred_to_by`?"),
    ("Production", f"{CRM}P14_carried_out",
     f"<{CRM}P14_carried_out> is not a property of our table",
     f"did you mean `{CRM}P14_carried_out_by` or `{CRM}P128_carries` or `{CRM}P141_assigned`?"),
]  # fmt: skip


@pytest.mark.parametrize(("class_name", "word", "message", "hint"), NOT_ASSIGNED)
def test_not_assigned(class_name: str, word: str, message: str, hint: str) -> None:
    with pytest.raises(TermError) as caught:
        assigned_iri(class_name, word)

    assert (caught.value.message, caught.value.hint) == (message, hint)


def test_class() -> None:
    assert class_iri("Name") == CRM + "E33_E41_Linguistic_Appellation"
    assert class_iri("Set") == "https://linked.art/ns/terms/Set"


def test_a_claim_inside_a_claim_keeps_the_outer_scope() -> None:
    # https://www.w3.org/TR/json-ld11/#scoped-contexts: what `attributed_by` of an object brings in
    # stays in force further down, also for a claim on an activity
    inner = {"type": "AttributeAssignment", "assigned_property": f"{CRM}P9i_forms_part_of"}
    made = {"type": "Production", "attributed_by": [inner]}
    tree = item(attributed_by=[{"type": "AttributeAssignment", "assigned": [made]}])

    assert EMITTER.emit(tree).assignments[1].property == f"{CRM}P9i_forms_part_of"
    inner["assigned_property"] = "part_of"
    with pytest.raises(TermError, match="in `assigned_property` of a claim on Production means"):
        EMITTER.emit(tree)


def test_context_is_ours_to_give_away() -> None:
    given_away = context()
    given_away["@context"].clear()

    assert context()["@context"]["Person"]["@id"] == "crm:E21_Person"
    assert json.loads(json.dumps(context())) == context()


def test_loader_answers_from_memory_only() -> None:
    tree = {"@context": CONTEXT_URL, **item(_label="x")}
    quads = jsonld.to_rdf(tree, {"documentLoader": loader(), "format": "application/n-quads"})

    assert sorted(quads.splitlines()) == EMITTER.emit(item(_label="x")).lines
    with pytest.raises(UsageError) as caught:
        loader()("https://elsewhere.example.org/context.json", {})
    assert caught.value.message == (
        "the context `https://elsewhere.example.org/context.json` is not one that we have, "
        "and none is fetched"
    )


LITERALS = [
    ("plain", '"plain"'),
    ("Fjärd – 14.2 × 19.5", '"Fjärd – 14.2 × 19.5"'),
    ('"\\', r'"\"\\"'),
    ("a\tb\nc\rd\be\ff", r'"a\tb\nc\rd\be\ff"'),
    ("\x00\x0b\x1f\x7f\x80", '"\\u0000\\u000B\\u001F\\u007F\x80"'),
    (r"\u0041 \n", r'"\\u0041 \\n"'),
    ("\N{LINE SEPARATOR}", '"\N{LINE SEPARATOR}"'),
]


@pytest.mark.parametrize(("text", "expected"), LITERALS)
def test_quoted(text: str, expected: str) -> None:
    assert quoted(text) == expected
    assert EMITTER.emit(item(_label=text)).lines[1].endswith(f"label> {expected} .")


NUMBERS = [
    (142, "142", "integer"),
    (-3, "-3", "integer"),
    (142.0, "142", "integer"),
    (19.5, "1.95E1", "double"),
    (0.77, "7.7E-1", "double"),
    (8.8, "8.800000000000001E0", "double"),  # 15 digits behind the point, JSON-LD section 8.6
    (-1.5e-7, "-1.5E-7", "double"),
    (1e21, "1.0E21", "double"),
    (True, "true", "boolean"),
]


@pytest.mark.parametrize(("value", "lexical", "datatype"), NUMBERS)
def test_number(value: float, lexical: str, datatype: str) -> None:
    assert number(value) == f'"{lexical}"^^<http://www.w3.org/2001/XMLSchema#{datatype}>'


MOMENTS = [
    "1872-02-29T00:00:00Z",
    "0001-01-01T00:00:00Z",
    "9999-12-31T23:59:59Z",
    "1990-12-31T15:59:59.25-08:00",
    "1937-01-01T12:00:27.87+00:20",
]

NO_MOMENTS = [
    ("1872", "`1872` is not a moment of RFC 3339"),
    ("1872-02-29", "`1872-02-29` is not a moment of RFC 3339"),
    ("1872-02-29T00:00:00", "`1872-02-29T00:00:00` is not a moment of RFC 3339"),
    ("1872-02-29t00:00:00z", "`1872-02-29t00:00:00z` is not a moment of RFC 3339"),
    ("-0046-01-01T00:00:00Z", "`-0046-01-01T00:00:00Z` is not a moment of RFC 3339"),
    ("١٨٧٢-02-01T00:00:00Z", "`١٨٧٢-02-01T00:00:00Z` is not a moment of RFC 3339"),
    ("1872-02-01T00:00:00Z\n", "`1872-02-01T00:00:00Z\n` is not a moment of RFC 3339"),
    ("1873-02-29T00:00:00Z", "`1873-02-29T00:00:00Z` is not on the calendar"),
    ("1873-13-01T00:00:00Z", "`1873-13-01T00:00:00Z` is not on the calendar"),
    ("0000-01-01T00:00:00Z", "`0000-01-01T00:00:00Z` is not on the calendar"),
    ("1990-12-31T23:59:60Z", "`1990-12-31T23:59:60Z` is not on the calendar"),
    ("1990-12-31T24:00:00Z", "`1990-12-31T24:00:00Z` is not on the calendar"),
    ("1990-12-31T00:00:00+05:60", "`1990-12-31T00:00:00+05:60` has no zone that there is"),
    ("1990-12-31T00:00:00+14:30", "`1990-12-31T00:00:00+14:30` has no zone that there is"),
]


@pytest.mark.parametrize("text", MOMENTS)
def test_moment(text: str) -> None:
    assert date_time(text) == text


@pytest.mark.parametrize(("text", "message"), NO_MOMENTS)
def test_no_moment(text: str, message: str) -> None:
    with pytest.raises(DateError) as caught:
        date_time(text)

    assert caught.value.message == message


TEXTS = st.text('aé"\\\n_:b', max_size=4)
IDS = st.sampled_from([f"{ITEM}#name", f"{ITEM}#name-2", f"{BASE}person/vey"])
TREES = st.recursive(
    st.fixed_dictionaries({"type": st.sampled_from(["Name", "TimeSpan"]), "_label": TEXTS})
    | st.fixed_dictionaries({"type": st.just("Name"), "id": IDS, "content": TEXTS}),
    lambda inner: st.fixed_dictionaries(
        {"type": st.sampled_from(["Name", "Production", "HumanMadeObject"])},
        optional={
            "identified_by": st.lists(inner, max_size=3),
            "part": st.lists(inner, max_size=2),
            "timespan": inner,
        },
    ),
    max_leaves=8,
)


@given(st.lists(TREES, max_size=4))
def test_minting_is_one_to_one(trees: list[dict[str, Any]]) -> None:
    minting, plain = EMITTER.emit(item(identified_by=trees)), PLAIN.emit(item(identified_by=trees))
    minted = [iri for iri in minting.nodes if iri not in plain.nodes]
    labels = [label for label in plain.nodes if label.startswith("_:")]
    pointers = {pointer: label for label, pointer in plain.nodes.items()}
    names = {pointers[minting.nodes[iri]]: iri for iri in minted}
    replaced = {
        re.sub(r"_:b\d+(?= )", lambda label: f"<{names[label.group()]}>", line)
        for line in plain.lines
    }

    assert len(names) == len(minted) == len(labels)
    assert replaced == set(minting.lines)
    assert minting.lines == sorted(set(minting.lines))
