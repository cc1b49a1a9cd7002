"""Claims in documents: what is stated, what is only said, and where all of it stands."""

import copy
from itertools import product
from typing import Any

import pytest
from assembling import (
    ALBUMEN,
    BASE,
    DIARY,
    DOLEN,
    ESKER,
    ITEM,
    KORVATH,
    NEGATIVE,
    NODES,
    OTHER,
    PASS,
    PRINT,
    STUDIO,
    TARROW,
    VEY,
    VISUAL,
    attribution_of,
    claim,
    item,
    part,
    said,
    stated,
    world,
)
from hypothesis import given
from hypothesis import strategies as st

from lodpipe.aspects import builtin_aspects
from lodpipe.assemble import Merger, Speaker, brought_by, called_for, sessions, target
from lodpipe.dates import parse
from lodpipe.findings import Finding
from lodpipe.nodes import Nodes
from lodpipe.rdf import Emitter
from lodpipe.records import Claim, Entry, Place, TraceEntry
from lodpipe.terms import concepts
from lodpipe.wording import STANDINGS

ASPECTS = builtin_aspects()
QUALIFIERS = ("", *ASPECTS.qualifiers)
LEDGER = Place("evidence/claims.csv", 5, 4)
CATALOGUE = Place("catalogue/items.csv", 3, 2, column="Maker")

VALUES = {
    "maker": DOLEN,
    "date": "1872-02",
    "place": PASS,
    "process": ALBUMEN,
    "date_printed": "1873",
    "printed_from": NEGATIVE,
    "copy_of": OTHER,
    "composed_of": OTHER,
    "earlier_than": OTHER,
    "later_than": OTHER,
    "same_session_as": OTHER,
    "date_mounted": "1873/1876",
    "date_captioned": "1880~",
    "sitter": VEY,
    "depicts": PASS,
    "same_sitter_as": OTHER,
    "title": "",
    "inscription": "",
    "format": BASE + "vocab/work/lithograph",
    "member_of": STUDIO,
    "same_as": "http://vocab.example.net/agents/17",
}
TEXTS = {"title": "The Great Fall", "inscription": "Sorn, 1872"}
ABOUT = {"member_of": VEY, "same_as": VEY}


def document_of(aspect: str) -> dict[str, Any]:
    """The document that a claim of an aspect goes into, without claims."""
    if ASPECTS.get(aspect).document == "image":
        return {"id": VISUAL, "type": "VisualItem", "_label": "Image of item 0101"}
    if aspect in ABOUT:
        return {"id": VEY, "type": "Person", "_label": "Jonas Vey"}
    return item(ITEM, "exposure", "printing")


def merge(
    tree: dict[str, Any], claims: list[Claim], *, trace: tuple[TraceEntry, ...] = (), **more: Any
) -> tuple[dict[str, Any], list[TraceEntry], list[Finding]]:
    """Merge with everything that the claims call for."""
    index = world()
    for house in called_for(claims, ASPECTS, index, NODES):
        index[house["id"]] = Entry(house["id"], house["type"], house["_label"])
    found: list[Finding] = []
    merger = Merger(NODES, index, sessions=sessions(claims, index, BASE), **more)
    result = merger.merge(copy.deepcopy(tree), claims, found.append, trace)
    return result.tree, result.trace, found


def assigned(tree: dict[str, Any], key: str) -> dict[str, Any]:
    (found,) = [c for c in said(tree) if c["identified_by"][0]["content"] == key]
    return found


@pytest.mark.parametrize("aspect", ASPECTS.by_name)
def test_only_current_certain_claims_outside_alternatives_are_stated(aspect: str) -> None:
    """The truth table of the two kinds of slots, whole: 15 qualifiers x 4 standings x 2."""
    before = document_of(aspect)
    for qualifier, standing, alternative in product(QUALIFIERS, STANDINGS, ("", "c0")):
        line = claim(
            "c1",
            aspect,
            VALUES[aspect],
            value_text=TEXTS.get(aspect, ""),
            about=ABOUT.get(aspect, ITEM),
            qualifier=qualifier,
            standing=standing,
            alternative_to=alternative,
        )

        tree, _, found = merge(before, [line])

        added = stated(tree) - stated(before)
        added = {triple for triple in added if triple[1] not in ("produced_by", "modified_by")}
        added = {t for t in added if not (t[1] == "classified_as" and "/vocab/role/" in t[2])}
        certain = (qualifier, standing, alternative) == ("", "current", "")
        assert len(added) == certain, (qualifier, standing, alternative, added)
        (statement,) = said(tree)
        assert len(statement["assigned"]) == 1
        types = [kind["id"].removeprefix(BASE + "vocab/") for kind in statement["classified_as"]]
        assert types[:2] == [f"aspect/{aspect}", f"standing/{standing}"]
        assert ("standing/alternative" in types) == (
            alternative != "" and standing in ("current", "proposed")
        )
        assert found == []


PLACES = [
    # aspect, cells, node, property
    ("maker", {}, "exposure", "carried_out_by"),
    ("maker", {"role": "printer"}, "printing", "carried_out_by"),
    ("maker", {"role": "publisher"}, "publishing", "carried_out_by"),
    ("maker", {"role": "mounter"}, "mounting", "carried_out_by"),
    ("maker", {"role": "architect"}, "exposure", "carried_out_by"),
    ("maker", {"qualifier": "manner-of"}, "exposure", "influenced_by"),
    ("maker", {"qualifier": "copyist-of"}, "exposure", "influenced_by"),
    ("maker", {"about": PRINT}, "drawing", "carried_out_by"),
    ("date", {}, "exposure", "timespan"),
    ("date", {"about": PRINT}, "drawing", "timespan"),
    ("place", {}, "exposure", "took_place_at"),
    ("process", {}, "printing", "technique"),
    ("date_printed", {}, "printing", "timespan"),
    ("printed_from", {}, "printing", "used_specific_object"),
    ("copy_of", {}, "exposure", "used_specific_object"),
    ("copy_of", {"about": PRINT}, "drawing", "influenced_by"),
    ("copy_of", {"qualifier": "after"}, "exposure", "influenced_by"),
    ("composed_of", {}, "pasting", "used_specific_object"),
    ("earlier_than", {}, "exposure", "before"),
    ("later_than", {}, "exposure", "after"),
    ("same_session_as", {}, "exposure", "part_of"),
    ("date_mounted", {}, "mounting", "timespan"),
    ("date_captioned", {}, "captioning", "timespan"),
]


@pytest.mark.parametrize(("aspect", "cells", "node", "key"), PLACES)
def test_a_claim_stands_on_the_node_that_it_is_about(
    aspect: str, cells: dict[str, str], node: str, key: str
) -> None:
    about = cells.get("about", ITEM)
    tree = item(about, *(("drawing",) if about == PRINT else ("exposure", "printing")))

    tree, _, _ = merge(tree, [claim("c1", aspect, VALUES[aspect], **cells)])

    (statement,) = part(tree, node)["attributed_by"]
    assert (statement["id"], statement["assigned_property"]) == (f"{about}#claim-c1", key)


def test_a_claim_brings_its_node_and_nothing_more() -> None:
    tree, _, _ = merge({"id": ITEM, "type": "HumanMadeObject"}, [claim("c1", "date_mounted", "1873~", qualifier="possibly")])  # fmt: skip

    (node,) = tree["modified_by"]
    assert set(node) == {"id", "type", "classified_as", "attributed_by"}
    assert node["id"] == ITEM + "#mounting"
    assert "produced_by" not in tree


def test_a_thing_of_unknown_making_is_claimed_on_its_production() -> None:
    tree, _, _ = merge({"id": ITEM, "type": "HumanMadeObject"}, [claim("c1", "maker", DOLEN)])

    assert tree["produced_by"]["carried_out_by"][0]["id"] == DOLEN
    assert attribution_of(tree) == "Mira Dolen"


def test_claims_of_a_record_have_no_id_in_json_and_say_their_key() -> None:
    tree, _, _ = merge(document_of("sitter"), [claim("c7", "sitter", VEY, qualifier="probably")])

    (statement,) = tree["attributed_by"]
    assert "id" not in statement
    assert [name["content"] for name in statement["identified_by"]] == ["c7", "probably Jonas Vey"]


def test_a_workshop_is_a_group_formed_under_influence() -> None:
    line = claim("c1", "maker", KORVATH, qualifier="studio-of")

    tree, _, _ = merge(document_of("maker"), [line])

    (group,) = called_for([line], ASPECTS, world(), NODES)
    assert part(tree, "exposure")["attributed_by"][0]["assigned"] == [
        {
            "id": BASE + "group/studio-of-korvath",
            "type": "Group",
            "_label": "Studio of Anselm Korvath",
        }
    ]
    assert group["formed_by"] == {
        "id": BASE + "group/studio-of-korvath#formation",
        "type": "Formation",
        "influenced_by": [{"id": KORVATH, "type": "Person", "_label": "Anselm Korvath"}],
    }
    assert attribution_of(tree) == "studio of Anselm Korvath"


def test_the_studio_of_a_firm_is_the_firm() -> None:
    line = claim("c1", "maker", STUDIO, qualifier="studio-of")

    tree, _, _ = merge(document_of("maker"), [line])

    assert called_for([line], ASPECTS, world(), NODES) == []
    assert part(tree, "exposure")["attributed_by"][0]["assigned"][0]["id"] == STUDIO
    assert "carried_out_by" not in part(tree, "exposure")


def test_a_maker_in_words_is_a_group_of_the_claim_alone_and_never_stated() -> None:
    tree, _, found = merge(
        document_of("maker"), [claim("c1", "maker", value_text="unknown highlander")]
    )

    (statement,) = said(tree)
    assert statement["assigned"] == [
        {"id": ITEM + "#claim-c1-assigned", "type": "Group", "_label": "unknown highlander"}
    ]
    assert "carried_out_by" not in part(tree, "exposure")
    assert attribution_of(tree) == "unknown highlander"
    assert found == []


def test_a_role_without_a_node_is_kept_in_words() -> None:
    line = claim("c1", "maker", VEY, qualifier="possibly", role="architect")

    tree, _, _ = merge(document_of("maker"), [line])

    (statement,) = said(tree)
    assert statement["identified_by"][1]["content"] == "possibly by Jonas Vey (architect)"
    assert [text["content"] for text in statement["referred_to_by"]] == ["Seen.", "architect"]
    assert attribution_of(tree) == "possibly by Jonas Vey (architect)"


def test_sources_are_cited_by_what_they_are() -> None:
    line = claim(
        "c1",
        "date",
        "1872",
        sources=(DIARY, NEGATIVE, "w12"),
        locators=(", fol. 3", "Seen at Ketterholm"),
    )

    tree, _, found = merge(document_of("date"), [line])

    (statement,) = said(tree)
    assert [ref["id"] for ref in statement["influenced_by"]] == [DIARY]
    assert [ref["id"] for ref in statement["used_specific_object"]] == [NEGATIVE]
    assert [text["content"] for text in statement["referred_to_by"]] == [
        "Seen.",
        "Diary of the Upper Section, vol. 3, fol. 3",
        "Seen at Ketterholm",
    ]
    assert found == []


def test_a_rejection_is_an_act_of_its_own_linked_to_what_it_rejects() -> None:
    first = claim("c1", "maker", ESKER, effective="rejected", on="1994")
    second = claim("c2", "maker", ESKER, standing="rejected", replaces="c1", basis="No camera.")

    tree, _, _ = merge(document_of("maker"), [first, second])

    one, two = part(tree, "exposure")["attributed_by"]
    assert two["influenced_by"] == [
        {
            "id": ITEM + "#claim-c1",
            "type": "Activity",
            "_label": one["_label"],
        }
    ]
    assert one["_label"] == "Claim c1: rejected: Bruno Esker"
    assert (one["assigned"], one["assigned_property"]) == (
        two["assigned"],
        two["assigned_property"],
    )
    assert [c["classified_as"][1]["_label"] for c in (one, two)] == ["Rejected", "Rejected"]
    assert attribution_of(tree) == ""


def test_an_approximate_date_gets_outer_ends() -> None:
    tree, _, _ = merge(document_of("date"), [claim("c1", "date", "1872~")])

    span = part(tree, "exposure")["timespan"]
    assert (span["begin_of_the_begin"], span["end_of_the_end"]) == (
        "1867-01-01T00:00:00Z",
        "1877-12-31T23:59:59Z",
    )


@pytest.mark.parametrize("date", ["1872?", "1872%", "1872-02?/1873"])
def test_a_date_marked_uncertain_is_not_certain(date: str) -> None:
    tree, _, _ = merge(document_of("date"), [claim("c1", "date", date)])

    assert "timespan" not in part(tree, "exposure")
    assert len(said(tree)) == 1


def with_maker(*makers: str) -> dict[str, Any]:
    tree = document_of("maker")
    refs = [{"id": m, "type": "Person", "_label": world()[m].label} for m in makers]
    part(tree, "exposure")["carried_out_by"] = refs
    return tree


PATH = "/produced_by/part/0/carried_out_by/"


def test_a_ledger_line_makes_plain_values_that_no_line_names_former_claims_of_their_source() -> (
    None
):
    tree, trace, found = merge(
        with_maker(KORVATH, DOLEN),
        [claim("c1", "maker", DOLEN, place=LEDGER)],
        trace=(
            TraceEntry(PATH + "0/id", "maker", CATALOGUE),
            TraceEntry(PATH + "1/id", "maker", CATALOGUE),
        ),
        speakers={"catalogue/items.csv": Speaker(TARROW, "2020")},
    )

    exposure = part(tree, "exposure")
    assert [ref["id"] for ref in exposure["carried_out_by"]] == [DOLEN]
    former = assigned(tree, "catalogue-maker-korvath")
    assert former["identified_by"][1]["content"] == "formerly attributed to Anselm Korvath"
    assert former["carried_out_by"][0]["id"] == TARROW
    assert former["timespan"]["identified_by"][1]["content"] == "2020"
    assert former["assigned"] == [{"id": KORVATH, "type": "Person", "_label": "Anselm Korvath"}]
    assert attribution_of(tree) == "Mira Dolen; formerly attributed to Anselm Korvath"
    claims = "/produced_by/part/0/attributed_by/"
    assert {(entry.path, entry.place) for entry in trace} == {
        (claims + "0", LEDGER),
        (PATH + "0", LEDGER),
        (claims + "1", CATALOGUE),
    }
    assert found == []


def test_a_line_that_doubts_a_plain_value_takes_it_off() -> None:
    line = claim("c1", "maker", DOLEN, qualifier="attributed-to")

    tree, _, _ = merge(with_maker(DOLEN), [line])

    assert "carried_out_by" not in part(tree, "exposure")
    assert len(said(tree)) == 1
    assert attribution_of(tree) == "attributed to Mira Dolen"


def test_mapped_claims_leave_plain_values() -> None:
    line = claim("m1", "maker", VEY, qualifier="attributed-to", standing="former", mapped=True)

    tree, _, _ = merge(with_maker(DOLEN), [line])

    assert [ref["id"] for ref in part(tree, "exposure")["carried_out_by"]] == [DOLEN]
    assert attribution_of(tree) == "Mira Dolen; formerly attributed to Jonas Vey"


def test_after_somebody_leaves_the_maker_of_the_thing_itself() -> None:
    tree, _, _ = merge(with_maker(ESKER), [claim("c1", "maker", DOLEN, qualifier="after")])

    assert [ref["id"] for ref in part(tree, "exposure")["carried_out_by"]] == [ESKER]
    assert attribution_of(tree) == "Bruno Esker, after Mira Dolen"


def test_a_date_of_the_ledger_sets_the_catalogues_aside() -> None:
    tree = document_of("date")
    old = NODES.timespan("1870", None)
    part(tree, "exposure")["timespan"] = old

    tree, _, found = merge(tree, [claim("c1", "date", "1872-02")])

    assert part(tree, "exposure")["timespan"]["identified_by"][1]["content"] == "1872-02"
    former = assigned(tree, "catalogue-date-1870")
    assert former["assigned"] == [old]
    assert former["identified_by"][1]["content"] == "formerly thought to be exposed 1870"
    assert found == []


def test_a_year_of_the_catalogue_is_a_year_as_a_former_claim_too() -> None:
    tree = document_of("date")
    part(tree, "exposure")["timespan"] = NODES.timespan("1870", parse("1870"))

    tree, _, _ = merge(tree, [claim("c1", "date", "1872-02")])

    former = assigned(tree, "catalogue-date-1870")
    assert former["identified_by"][1]["content"] == "formerly thought to be exposed in 1870"


NOBODY = BASE + "group/unidentified-photographer"
UNIDENTIFIED = [
    # standing and qualifier of the line, who is stated, the line of attribution
    ("current", "", [VEY], "Jonas Vey"),
    ("current", "possibly", [], "possibly by Jonas Vey"),
    ("proposed", "possibly", [NOBODY], "photographer not known; possibly by Jonas Vey"),
    ("rejected", "", [NOBODY], "photographer not known"),
]


@pytest.mark.parametrize(("standing", "qualifier", "makers", "line"), UNIDENTIFIED)
def test_nobody_identified_is_no_view_to_be_given_up(
    standing: str, qualifier: str, makers: list[str], line: str
) -> None:
    tree = document_of("maker")
    node = {"id": NOBODY, "type": "Group", "_label": "Unidentified photographer"}
    part(tree, "exposure")["carried_out_by"] = [node]

    tree, _, _ = merge(tree, [claim("c1", "maker", VEY, standing=standing, qualifier=qualifier)])

    exposure = part(tree, "exposure")
    assert [ref["id"] for ref in exposure.get("carried_out_by", [])] == makers
    assert len(said(tree)) == 1
    assert attribution_of(tree) == line


CALLED = [
    ("later_than", OTHER, "exposed after item 0102"),
    ("printed_from", NEGATIVE, "printed from negative 31"),
    ("later_than", BASE + "object/viaduct", "exposed after “Dorrin viaduct”"),
    ("later_than", BASE + "object/77", "exposed after “Camp”"),
]


@pytest.mark.parametrize(("aspect", "value", "words"), CALLED)
def test_things_are_called_by_their_number_or_their_name(
    aspect: str, value: str, words: str
) -> None:
    index = world()
    index.know(BASE + "object/viaduct", "HumanMadeObject", "Dorrin viaduct")
    index.know(BASE + "object/77", "HumanMadeObject", "Camp")

    tree = (
        Merger(NODES, index)
        .merge(document_of(aspect), [claim("c1", aspect, value)], lambda _: None)
        .tree
    )

    assert said(tree)[0]["identified_by"][1]["content"] == words


def test_what_is_seen_is_called_by_its_name() -> None:
    index = world()
    index.know(BASE + "object/viaduct", "HumanMadeObject", "Dorrin viaduct")
    line = claim("c1", "depicts", BASE + "object/viaduct")

    tree = Merger(NODES, index).merge(document_of("depicts"), [line], lambda _: None).tree

    assert said(tree)[0]["identified_by"][1]["content"] == "Dorrin viaduct"


def test_a_title_of_the_ledger_leaves_the_catalogues() -> None:
    tree = document_of("title")
    tree["identified_by"] = [NODES.name("Summit cutting", language="en")]

    tree, _, _ = merge(tree, [claim("c1", "title", value_text="The Great Fall")])

    assert [name["content"] for name in tree["identified_by"]] == [
        "Summit cutting",
        "The Great Fall",
    ]


def test_a_second_certain_value_where_one_fits_is_reported_and_not_stated() -> None:
    tree = document_of("date")
    part(tree, "exposure")["timespan"] = NODES.timespan("1870", None)
    line = claim("m1", "date", "1872-02", mapped=True, place=CATALOGUE)

    tree, _, (finding,) = merge(tree, [line])

    assert part(tree, "exposure")["timespan"]["identified_by"][0]["content"] == "1870"
    assert (finding.code, finding.message, finding.place) == (
        "disagreement",
        "the claim `m1` and another certain statement of the date differ: `February 1872`, `1870`",
        CATALOGUE,
    )


REFUSED = [
    (
        claim("c1", "maker", PASS),
        "ledger",
        "the maker `place/sorn-pass` is a Place",
        "the value of this aspect is a Group or Person",
    ),
    (
        claim("c1", "maker", BASE + "person/nobody"),
        "dangling",
        "the claim `c1` names `person/nobody`, which no document has",
        "map the record that it names, or mend its key; until then the claim is left out",
    ),
]


@pytest.mark.parametrize(("line", "code", "message", "hint"), REFUSED)
def test_a_claim_that_cannot_be_placed_is_reported_and_left_out(
    line: Claim, code: str, message: str, hint: str
) -> None:
    before = document_of("maker")

    tree, _, (finding,) = merge(before, [line])

    assert (finding.code, finding.message, finding.hint) == (code, message, hint)
    assert tree == before


WRONG_DOCUMENTS = [
    (claim("c1", "maker", DOLEN, about=VEY), "Person", "HumanMadeObject"),
    (claim("c1", "member_of", STUDIO), "HumanMadeObject", "Person or Group"),
]


@pytest.mark.parametrize(("line", "kind", "wanted"), WRONG_DOCUMENTS)
def test_a_claim_about_the_wrong_kind_of_document_is_reported(
    line: Claim, kind: str, wanted: str
) -> None:
    before = {"id": line.about, "type": kind, "_label": "Something"}

    tree, _, (finding,) = merge(before, [line])

    assert tree == before
    assert finding.message == f"the claim `c1` on the {line.aspect} is about a {kind}"
    assert finding.hint == f"claims of this aspect are about a {wanted}"


def test_plain_values_of_another_kind_stay_and_their_trace_moves_with_them() -> None:
    tree = document_of("sitter")
    tree["represents"] = [
        {"id": DOLEN, "type": "Person", "_label": "Mira Dolen"},
        {"id": PASS, "type": "Place", "_label": "Sorn Pass"},
    ]
    trace = tuple(
        TraceEntry(f"/represents/{n}/id", "subject", CATALOGUE.at(name))
        for n, name in enumerate(("Sitter", "View"))
    )

    tree, trail, _ = merge(tree, [claim("c1", "sitter", VEY, place=LEDGER)], trace=trace)

    assert [node["id"] for node in tree["represents"]] == [PASS, VEY]
    assert {(entry.path, entry.place.column) for entry in trail} == {
        ("/attributed_by/0", ""),
        ("/represents/1", ""),
        ("/attributed_by/1", "Sitter"),
        ("/represents/0/id", "View"),
    }


def test_a_group_of_unidentified_makers_is_told_as_not_known() -> None:
    nobody = BASE + "group/unidentified-photographer"
    tree = document_of("maker")
    node = {"id": nobody, "type": "Group", "_label": "Unidentified photographer"}
    part(tree, "exposure")["carried_out_by"] = [node]
    line = claim("m1", "maker", VEY, standing="former", mapped=True)

    tree, _, _ = merge(tree, [line])

    assert attribution_of(tree) == "photographer not known; formerly attributed to Jonas Vey"


def test_makers_of_several_nodes_are_told_with_their_roles() -> None:
    lines = [
        claim("c1", "maker", DOLEN, qualifier="attributed-to"),
        claim("c2", "maker", STUDIO, role="printer"),
    ]

    tree, _, _ = merge(document_of("maker"), lines)

    assert attribution_of(tree) == "attributed to Mira Dolen; printer: Korvath & Daughters"


def test_a_key_that_cannot_be_part_of_an_iri_is_reported() -> None:
    before = document_of("maker")

    tree, _, (finding,) = merge(before, [claim("..", "maker", DOLEN, place=LEDGER)])

    assert (finding.code, finding.place) == ("ledger", LEDGER)
    assert tree == before


def test_a_speaker_or_source_without_document_is_reported_and_the_claim_stays() -> None:
    line = claim("c1", "maker", DOLEN, by=BASE + "person/gone", sources=(BASE + "text/gone",))

    tree, _, found = merge(document_of("maker"), [line])

    assert [f.message for f in found] == [
        "the claim `c1` names `person/gone`, which no document has",
        "the claim `c1` names `text/gone`, which no document has",
    ]
    assert len(said(tree)) == 1


def test_things_of_one_session_are_part_of_it_on_both_sides() -> None:
    lines = [
        claim("c1", "same_session_as", OTHER),
        claim("c2", "same_session_as", NEGATIVE, about=OTHER),
    ]
    index = world()

    assert set(sessions(lines, index, BASE).values()) == {BASE + "activity/session-item-0101"}
    (session,) = called_for(lines, ASPECTS, index, NODES)
    assert session["_label"] == "Session of item 0101"
    brought = brought_by(lines, ASPECTS, index, BASE)
    assert {uri: [b.role for b in needs] for uri, needs in brought.items()} == {
        OTHER: ["exposure"],
        NEGATIVE: ["production"],
    }
    index[session["id"]] = Entry(session["id"], "Activity", session["_label"])
    merger = Merger(NODES, index, brought=brought)
    tree = merger.merge(item(OTHER, "exposure"), [], lambda _: None).tree
    assert part(tree, "exposure")["part_of"]["id"] == session["id"]


def test_a_node_that_a_claim_elsewhere_points_at_is_brought() -> None:
    lines = [claim("c1", "later_than", NEGATIVE), claim("c2", "earlier_than", OTHER)]
    index = world()

    brought = brought_by(lines, ASPECTS, index, BASE)

    assert list(brought) == [NEGATIVE]  # the other has its exposure
    tree = Merger(NODES, index, brought=brought).merge(item(NEGATIVE), [], lambda _: None).tree
    assert tree["produced_by"] == {"type": "Production", "id": NEGATIVE + "#production"}
    pointing, _, _ = merge(document_of("later_than"), lines)
    assert part(pointing, "exposure")["after"][0]["id"] == NEGATIVE + "#production"


def test_a_doubted_session_joins_nothing() -> None:
    lines = [claim("c1", "same_session_as", OTHER, qualifier="possibly")]

    assert sessions(lines, world(), BASE) == {
        ITEM: BASE + "activity/session-item-0101",
        OTHER: BASE + "activity/session-item-0102",
    }


def test_a_sitter_known_from_another_picture_is_one_person() -> None:
    line = claim("c1", "same_sitter_as", OTHER)

    tree, _, _ = merge(document_of("sitter"), [line])

    assert tree["represents"] == [
        {
            "id": BASE + "person/sitter-of-item-0102",
            "type": "Person",
            "_label": "Sitter of item 0102",
        }
    ]


TARGETS = [
    (claim("c1", "maker", DOLEN), ITEM),
    (claim("c1", "sitter", VEY), VISUAL),
    (claim("c1", "sitter", VEY, about=VISUAL), VISUAL),
    (claim("c1", "sitter", VEY, about=OTHER), ""),
    (claim("c1", "member_of", STUDIO, about=VEY), VEY),
    (claim("c1", "maker", DOLEN, about=BASE + "object/none"), ""),
]


@pytest.mark.parametrize(("line", "uri"), TARGETS)
def test_a_claim_finds_its_document(line: Claim, uri: str) -> None:
    assert target(line, ASPECTS, world()) == uri


def test_words_follow_the_language_of_the_project() -> None:
    nodes = Nodes(BASE, concepts(), "de-AT")
    line = claim("c1", "maker", DOLEN, qualifier="attributed-to")

    tree = Merger(nodes, world()).merge(document_of("maker"), [line], lambda _: None).tree

    (text,) = tree["produced_by"]["referred_to_by"]
    assert (text["content"], text["language"][0]["_label"]) == (
        "Mira Dolen zugeschrieben",
        "German",
    )


MAKERS = st.sampled_from([DOLEN, KORVATH, VEY, ESKER])


@st.composite
def ledgers(draw: st.DrawFn) -> list[Claim]:
    """Several lines about one thing, of all standings, qualifiers, sets and chains."""
    lines: list[Claim] = []
    for number in range(draw(st.integers(1, 6))):
        aspect = draw(st.sampled_from(["maker", "maker", "place", "date", "copy_of"]))
        value = draw(MAKERS) if aspect == "maker" else VALUES[aspect]
        earlier = [c.key for c in lines if c.aspect == aspect]
        lines.append(
            claim(
                f"c{number}",
                aspect,
                value,
                qualifier=draw(st.sampled_from(QUALIFIERS)),
                standing=draw(st.sampled_from(STANDINGS)),
                replaces=draw(st.sampled_from(["", *earlier])),
                alternative_to=draw(st.sampled_from(["", *earlier])),
                mapped=draw(st.booleans()),
            )
        )
    return lines


@given(ledgers(), st.lists(MAKERS, unique=True, max_size=2), st.randoms(use_true_random=False))
def test_a_plain_query_meets_no_value_in_doubt(
    lines: list[Claim], plain: list[str], random: Any
) -> None:
    before = with_maker(*plain)
    tree, _, _ = merge(before, lines)

    joined = {c.key for c in lines if c.alternative_to} | {c.alternative_to for c in lines}
    certain = {
        c.value
        for c in lines
        if c.effective == "current" and not c.qualifier and c.key not in joined
    }
    decided = any(
        c.aspect == "maker"
        and not c.mapped
        and ASPECTS.family(c.qualifier) in ("", "doubt", "workshop")
        for c in lines
    )
    allowed = certain | (set() if decided else set(plain))
    found = {v for kind, key, v in stated(tree) if kind == "Production" and key in SLOTS}
    assert found <= allowed
    assert {c.value for c in lines if c.value in certain and c.aspect == "maker"} <= found
    shuffled = list(lines)
    random.shuffle(shuffled)
    assert merge(before, shuffled)[0] == tree
    told = attribution_of(tree)
    for line in lines:
        if line.aspect == "maker" and line.effective == "current":
            assert world()[line.value].label in told


SLOTS = ("carried_out_by", "influenced_by", "timespan", "took_place_at", "used_specific_object")


def test_merging_shares_no_node_between_documents() -> None:
    line = claim("c1", "date", "1872")
    first, _, _ = merge(document_of("date"), [line])
    second, _, _ = merge(document_of("date"), [line])

    direct = part(first, "exposure")["timespan"]
    assert direct is not said(first)[0]["assigned"][0]
    direct["begin_of_the_begin"] = "spoilt"
    assert "spoilt" not in str(second) + str(said(first))


def test_without_claims_nothing_changes() -> None:
    before = with_maker(DOLEN)
    entry = TraceEntry(PATH + "0", "maker", CATALOGUE)

    tree, trace, found = merge(before, [], trace=(entry,))

    assert (tree, trace, found) == (before, [entry], [])


WHOLE, INNER = "/produced_by", "/produced_by/part/0"
NAMELESS = "/produced_by/part/2"
PLACEMENTS = [(WHOLE,), (INNER,), (NAMELESS,), (WHOLE, INNER), (WHOLE, INNER, NAMELESS)]


def node_at(tree: dict[str, Any], pointer: str) -> dict[str, Any]:
    node: Any = tree
    for step in pointer.split("/")[1:]:
        node = node[int(step)] if isinstance(node, list) else node[step]
    assert isinstance(node, dict)
    return node


def with_plain(key: str, value: Any, *pointers: str) -> dict[str, Any]:
    """Item 0101 with exposure, printing and a part without a role, and plain values on nodes."""
    tree = item(ITEM, "exposure", "printing")
    tree["produced_by"]["part"].append({"type": "Production"})
    for pointer in pointers:
        node_at(tree, pointer)[key] = copy.deepcopy(value)
    return tree


def person(uri: str) -> dict[str, Any]:
    return {"id": uri, "type": "Person", "_label": world()[uri].label}


PLAIN_VALUES = {
    "maker": ("carried_out_by", [person(DOLEN)]),
    "date": ("timespan", NODES.timespan("1872-02", parse("1872-02"))),
    "place": ("took_place_at", [{"id": PASS, "type": "Place", "_label": "Sorn Pass"}]),
}


@pytest.mark.parametrize("mapped", [False, True])
@pytest.mark.parametrize("aspect", PLAIN_VALUES)
@pytest.mark.parametrize("pointers", PLACEMENTS)
def test_a_doubt_about_the_exposure_takes_the_value_off_wherever_it_reads_like_a_fact(
    pointers: tuple[str, ...], aspect: str, mapped: bool
) -> None:
    key, value = PLAIN_VALUES[aspect]
    before = with_plain(key, value, *pointers)
    paths = [f"{p}/{key}/0" if isinstance(value, list) else f"{p}/{key}" for p in pointers]
    trace = tuple(TraceEntry(path, "cell", CATALOGUE) for path in paths)
    line = claim("c1", aspect, VALUES[aspect], qualifier="possibly", mapped=mapped, place=LEDGER)

    tree, trail, found = merge(before, [line], trace=trace)

    assert stated(before) - stated(tree) == {("Production", key, VALUES[aspect])}
    assert len(said(tree)) == 1
    assert [entry.place for entry in trail] == [LEDGER]
    assert {f.path for f in found} == (set(paths) if mapped else set())
    assert {f.place for f in found} <= {CATALOGUE}
    assert {f.code for f in found} <= {"doubted-value"}


def test_what_a_doubt_takes_off_is_told_with_the_cell_and_what_to_do() -> None:
    line = claim("m1", "maker", DOLEN, qualifier="possibly", mapped=True)
    trace = (TraceEntry(WHOLE + "/carried_out_by/0/id", "maker", CATALOGUE),)

    _, _, (finding,) = merge(
        with_plain("carried_out_by", [person(DOLEN)], WHOLE), [line], trace=trace
    )

    assert finding == Finding(
        "doubted-value",
        f"the catalogue states the maker as a fact, and the claim `m1` names `{DOLEN}` with a doubt",
        CATALOGUE,
        value=DOLEN,
        hint="the doubt wins, and the value is not stated; if both are right, put the plain value "
        "on the part of the production with the `role` that it is about",
        uri=ITEM,
        path=WHOLE + "/carried_out_by/0",
    )


def test_other_values_on_the_whole_become_former_views_of_the_exposure_under_a_ledger() -> None:
    before = with_plain("carried_out_by", [person(KORVATH)], WHOLE)

    tree, _, found = merge(before, [claim("c1", "maker", DOLEN, qualifier="possibly")])

    assert "carried_out_by" not in tree["produced_by"]
    assert attribution_of(tree) == "possibly by Mira Dolen; formerly attributed to Anselm Korvath"
    assert found == []


def test_what_a_claim_of_a_mapping_does_not_name_stays_on_the_whole_and_is_told() -> None:
    before = with_plain("carried_out_by", [person(KORVATH), person(DOLEN)], WHOLE)
    trace = (TraceEntry(WHOLE + "/carried_out_by/0", "maker", CATALOGUE.at("First")),)
    line = claim("m1", "maker", DOLEN, qualifier="possibly", mapped=True)

    tree, trail, _ = merge(before, [line], trace=trace)

    assert tree["produced_by"]["carried_out_by"] == [person(KORVATH)]
    assert attribution_of(tree) == "Anselm Korvath; possibly by Mira Dolen"
    assert trail == list(trace)


LEGITIMATE = [
    # aspect cells of the doubt, cells of a certain claim or None, node of the plain value
    ({}, None, "/produced_by/part/1"),
    ({"role": "mounter"}, None, WHOLE),
    ({"role": "printer"}, None, INNER),
    ({"role": "printer"}, {"role": "photographer"}, WHOLE),
]


@pytest.mark.parametrize(("doubt", "certain", "pointer"), LEGITIMATE)
def test_a_doubt_about_one_role_leaves_what_is_certain_of_another(
    doubt: dict[str, str], certain: dict[str, str] | None, pointer: str
) -> None:
    """The printer is known, and may have been the photographer too."""
    lines = [claim("m1", "maker", DOLEN, qualifier="possibly", mapped=True, **doubt)]
    if certain is not None:
        lines.append(claim("m2", "maker", DOLEN, mapped=True, **certain))
    before = with_plain("carried_out_by", [person(DOLEN)], pointer)

    tree, _, found = merge(before, lines)

    assert node_at(tree, pointer)["carried_out_by"] == [person(DOLEN)]
    assert found == []


def test_a_trace_survives_values_that_leave_one_list_one_after_another() -> None:
    makers = [person(uri) for uri in (DOLEN, KORVATH, VEY, ESKER)]
    before = with_plain("carried_out_by", makers, WHOLE)
    trace = tuple(
        TraceEntry(f"{WHOLE}/carried_out_by/{n}/id", "maker", CATALOGUE.at(str(n)))
        for n in range(4)
    )
    lines = [
        claim(f"m{n}", "maker", uri, qualifier="possibly", mapped=True)
        for n, uri in enumerate((KORVATH, DOLEN))
    ]

    tree, trail, found = merge(before, lines, trace=trace)

    assert tree["produced_by"]["carried_out_by"] == [person(VEY), person(ESKER)]
    assert [(e.path, e.place.column) for e in trail] == [
        (WHOLE + "/carried_out_by/0/id", "2"),
        (WHOLE + "/carried_out_by/1/id", "3"),
    ]
    assert sorted(f.path for f in found) == [f"{WHOLE}/carried_out_by/{n}" for n in (0, 1)]


@pytest.mark.parametrize("mapped", [False, True])
def test_a_maker_of_the_catalogue_who_is_rejected_leaves_nobody_known(mapped: bool) -> None:
    line = claim("c1", "maker", DOLEN, standing="rejected", mapped=mapped)

    tree, _, _ = merge(with_maker(DOLEN), [line])

    assert "carried_out_by" not in part(tree, "exposure")
    assert attribution_of(tree) == "photographer not known"


def test_no_node_of_a_document_has_two_labels() -> None:
    lines = [
        claim("c1", "maker", ESKER, effective="former"),
        claim("c2", "maker", DOLEN, qualifier="possibly", replaces="c1"),
        claim("c3", "title", value_text="Fall", effective="former"),
        claim("c4", "title", value_text="The Great Fall", replaces="c3"),
    ]
    tree, _, _ = merge(document_of("maker"), lines)

    triples = Emitter(BASE, concepts()).emit(tree).lines
    labelled = [line.partition(" ")[0] for line in triples if "/rdf-schema#label>" in line]
    assert len(labelled) > 20
    assert len(labelled) == len(set(labelled))
