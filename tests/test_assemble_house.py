"""Documents that no record makes and that others point at."""

from assembling import BASE, DOLEN, KORVATH, NODES, claim, item, world

from lodpipe.aspects import builtin_aspects
from lodpipe.assemble import called_for, house_documents, house_iris
from lodpipe.nodes import Nodes
from lodpipe.records import Entry
from lodpipe.terms import Concept, Concepts, concepts

NOBODY = BASE + "group/unidentified-photographer"


def test_what_a_document_points_at_is_gathered_once() -> None:
    tree = item(BASE + "object/1", "exposure")
    tree["produced_by"]["part"][0]["carried_out_by"] = [{"id": NOBODY, "type": "Group"}]

    assert house_iris(tree, BASE) == {NOBODY, BASE + "vocab/role/exposure"}


def test_a_concept_is_a_record_with_its_name_and_meaning() -> None:
    (tree,) = house_documents([BASE + "vocab/standing/former"], NODES)

    assert tree == {
        "id": BASE + "vocab/standing/former",
        "type": "Type",
        "_label": "Former",
        "identified_by": [NODES.name("former", language="en")],
        "referred_to_by": [NODES.statement("Once held, given up since.", "description", "en")],
    }


def test_what_house_documents_point_at_is_made_too() -> None:
    documents = house_documents([NOBODY, "http://vocab.example.net/1"], NODES)

    assert [tree["id"] for tree in documents] == [NOBODY, BASE + "vocab/group/unidentified"]
    assert documents[0]["_label"] == "Unidentified photographer"
    assert documents[0]["classified_as"][0]["id"] == BASE + "vocab/group/unidentified"


def test_an_abbreviation_keeps_its_capitals() -> None:
    (tree,) = house_documents([BASE + "vocab/name/edtf"], NODES)

    assert tree["identified_by"][0]["content"] == "EDTF expression"


def test_a_concept_of_the_project_has_a_record_as_well() -> None:
    own = Concept("sledge", "vocab/thing/sledge", "Type", "", "Sledge", "", "", "", "own")
    nodes = Nodes(BASE, Concepts([*concepts(), own]))

    (tree,) = house_documents([BASE + "vocab/thing/sledge"], nodes)

    assert tree["identified_by"][0]["content"] == "sledge"
    assert "referred_to_by" not in tree


def test_each_group_is_called_for_once_and_the_catalogues_own_goes_before() -> None:
    lines = [
        claim("c1", "maker", KORVATH, qualifier="circle-of"),
        claim("c2", "maker", KORVATH, qualifier="circle-of", standing="rejected"),
        claim("c3", "maker", DOLEN, qualifier="pupil-of"),
        claim("c4", "maker", DOLEN, qualifier="attributed-to"),
        claim("c5", "maker", value_text="somebody", qualifier="circle-of"),
    ]
    index = world()

    labels = [tree["_label"] for tree in called_for(lines, builtin_aspects(), index, NODES)]

    assert labels == ["Circle of Anselm Korvath", "Pupils of Mira Dolen"]
    circle = BASE + "group/circle-of-korvath"
    index[circle] = Entry(circle, "Group", "Friends of Korvath")
    labels = [tree["_label"] for tree in called_for(lines, builtin_aspects(), index, NODES)]
    assert labels == ["Pupils of Mira Dolen"]
