"""Open slots filled from the index, and links that lead nowhere taken out."""

import copy
from typing import Any

from assembling import BASE, DOLEN, ITEM, PASS, VISUAL, item, world

from lodpipe.assemble import TakenOut, fill
from lodpipe.findings import Finding
from lodpipe.records import Place, TraceEntry

GONE = BASE + "person/gone"


def filled(tree: dict[str, Any]) -> tuple[dict[str, Any], list[Finding]]:
    found: list[Finding] = []
    return fill(copy.deepcopy(tree), world(), found.append, base=BASE), found


def link(uri: str, kind: str = "Person", label: str | None = None) -> dict[str, Any]:
    return {"id": uri, "type": kind, "_label": label}


def test_open_labels_are_filled_at_every_depth() -> None:
    tree = item(ITEM, "exposure")
    tree["shows"] = [link(VISUAL, "VisualItem")]
    tree["produced_by"]["part"][0]["took_place_at"] = [link(PASS, "Place")]
    tree["produced_by"]["part"][0]["carried_out_by"] = [link(DOLEN, label="M. D.")]

    tree, found = filled(tree)

    assert tree["shows"] == [link(VISUAL, "VisualItem", "Image of item 0101")]
    (exposure,) = tree["produced_by"]["part"]
    assert exposure["took_place_at"] == [link(PASS, "Place", "Sorn Pass")]
    assert exposure["carried_out_by"] == [link(DOLEN, label="M. D.")]
    assert found == []


def test_a_link_to_a_node_is_called_after_its_document() -> None:
    tree, _ = filled({**item(), "about": [link(ITEM + "#exposure", "Activity")]})

    assert tree["about"][0]["_label"] == "Summit cutting (item 0101)"


def test_a_link_that_leads_nowhere_is_taken_out_and_reported() -> None:
    tree = item(ITEM, "exposure")
    (exposure,) = tree["produced_by"]["part"]
    exposure["carried_out_by"] = [link(GONE), link(DOLEN)]
    exposure["took_place_at"] = [link(BASE + "place/gone", "Place")]
    tree["part_of"] = link(BASE + "object/gone", "HumanMadeObject")

    tree, found = filled(tree)

    (exposure,) = tree["produced_by"]["part"]
    assert exposure["carried_out_by"] == [link(DOLEN, label="Mira Dolen")]
    assert "took_place_at" not in exposure
    assert "part_of" not in tree
    assert sorted(finding.message for finding in found) == [
        "there is no document `object/gone`",
        "there is no document `person/gone`",
        "there is no document `place/gone`",
    ]
    assert {(finding.code, finding.uri) for finding in found} == {("dangling", ITEM)}


def test_what_is_not_ours_stays_without_label() -> None:
    outside = {"id": "http://vocab.example.net/1", "type": "Type", "_label": None}
    concept = {"id": BASE + "vocab/work/unheard", "type": "Type", "_label": None}

    tree, found = filled({**item(), "classified_as": [outside, concept]})

    assert [set(node) for node in tree["classified_as"]] == [{"id", "type"}] * 2
    assert found == []


def test_an_open_label_of_the_document_itself_comes_from_the_index() -> None:
    tree, _ = filled({"id": DOLEN, "type": "Person", "_label": None})

    assert tree["_label"] == "Mira Dolen"


def test_the_trace_follows_what_stood_behind_a_link_that_was_taken_out() -> None:
    tree = item(ITEM, "exposure")
    (exposure,) = tree["produced_by"]["part"]
    exposure["carried_out_by"] = [link(GONE), link(DOLEN), link(GONE + "2"), link(PASS, "Place")]
    tree["produced_by"]["part"] = [link(BASE + "object/gone", "Production"), exposure]
    tree["part_of"] = link(BASE + "object/gone", "HumanMadeObject")
    tree["shows"] = [link(BASE + "visual/gone", "VisualItem")]
    within = "/produced_by/part/1/carried_out_by"
    paths = [
        "/id", "/part_of", "/part_of/id", "/shows/0", "/produced_by/part/0/id",
        "/produced_by/part/1/id", f"{within}/0", f"{within}/1/id", f"{within}/2/id", f"{within}/3",
    ]  # fmt: skip
    place = Place("catalogue/items.csv", 3, 2)
    trace = [TraceEntry(path, str(n), place) for n, path in enumerate(paths)]
    out = TakenOut()
    found: list[Finding] = []

    fill(tree, world(), found.append, base=BASE, out=out)

    assert {finding.path for finding in found} == {
        "/part_of", "/shows/0", "/produced_by/part/0", f"{within}/0", f"{within}/2",
    }  # fmt: skip
    assert tree["produced_by"]["part"][0]["carried_out_by"][0]["id"] == DOLEN
    assert [(entry.path, entry.field) for entry in out.follow(trace)] == [
        ("/id", "0"),
        ("/produced_by/part/0/id", "5"),
        ("/produced_by/part/0/carried_out_by/0/id", "7"),
        ("/produced_by/part/0/carried_out_by/1", "9"),
    ]
