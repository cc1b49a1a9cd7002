"""Manifests from documents and layout: what stands where, which words, and what never leaves."""

import random
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import orjson
import pytest
from conformance.iiif_rules import faults, walk
from hypothesis import given
from hypothesis import strategies as st

from lodpipe.publish import iiif
from lodpipe.publish.iiif import described as described_by
from lodpipe.publish.iiif import rows
from lodpipe.publish.iiif.common import region
from lodpipe.publish.iiif.plan import inside
from lodpipe.publish.iiif.saying import safe
from lodpipe.publish.iiif.settings import manifest_iri, phrase, short_key, word
from lodpipe.records import Image, Layout, Placed, Stop, Tree
from lodpipe.terms import concepts

BASE = "https://collections.example.org/"
ENGLISH = {"id": "http://vocab.getty.edu/aat/300388277", "type": "Language", "_label": "English"}
TEVELI = {"id": BASE + "vocab/language/teveli", "type": "Language", "_label": "Teveli"}
TAGS = {**iiif.language_tags(concepts(), BASE), TEVELI["id"]: "qtv"}
SITE = iiif.Site(BASE, {"en": "Highland Railway Library"}, tags=TAGS)


def uri(key: str) -> str:
    return BASE + "object/" + key


def name(text: str, *language: Tree, term: str = rows.PRIMARY_NAME) -> Tree:
    return {
        "type": "Name",
        "content": text,
        "classified_as": [{"id": term, "type": "Type"}],
        **({"language": list(language)} if language else {}),
    }


def statement(text: str, term: str, *language: Tree) -> Tree:
    return {**name(text, *language, term=term), "type": "LinguisticObject"}


def thing(key: str, title: str, **more: Any) -> Tree:
    return {
        "id": uri(key),
        "type": "HumanMadeObject",
        "_label": f"{title} ({key})",
        "identified_by": [name(title, ENGLISH)],
        **more,
    }


def making(role: str, **more: Any) -> Tree:
    return {
        "type": "Production",
        "classified_as": [{"id": f"{BASE}vocab/role/{role}", "type": "Type"}],
        **more,
    }


def span(words: str, edtf: str) -> Tree:
    return {
        "type": "TimeSpan",
        "identified_by": [
            name(words, ENGLISH, term=rows.DISPLAY_NAME),
            {"type": "Identifier", "content": edtf},
        ],
    }


def claim(aspect: str, standing: str, words: str, value: str) -> Tree:
    return {
        "type": "AttributeAssignment",
        "classified_as": [
            {"id": f"{BASE}vocab/aspect/{aspect}"},
            {"id": f"{BASE}vocab/standing/{standing}"},
        ],
        "identified_by": [name(words, ENGLISH, term=rows.DISPLAY_NAME)],
        "assigned": [{"id": value, "type": "Person"}],
    }


DOCUMENTS = {
    tree["id"]: tree
    for tree in (
        thing("album-1", "Album of the Sorn Railway"),
        thing("album-1-p12", "Page 12"),
        thing("album-1-p13", "Page 13"),
        thing("item-0101", "Summit cutting below Sorn Pass"),
        thing("item-0102", "Two men at a camp table"),
        thing("item-0103", "Dorrin viaduct"),
        thing("item-0103-left", "Dorrin viaduct, left half"),
        thing("item-0103-right", "Dorrin viaduct, right half"),
        thing("item-0104", "The cutting at Sorn"),
        thing("item-0105", "The whole party at table"),
        thing("item-0107", "Gathering at Ketta-Rui"),
        thing("ketterholm-77", "Sledge at the snow shed"),
    )
}
THREAD = BASE + "set/thread-snow"
ATTRIBUTION = BASE + "vocab/statement/attribution"
DOCUMENTS[THREAD] = {
    "id": THREAD,
    "type": "Set",
    "identified_by": [name("The winter of 1872", ENGLISH)],
}

POLYGON = (70, 236, 264, 230, 270, 374, 76, 380)
LAYOUT = Layout(
    images=(
        Image(uri("album-1-p12"), "images/p12.jpg", width=600, height=450),
        Image(uri("album-1-p13"), "images/p13.jpg", width=600, height=450),
        Image(uri("item-0104"), "images/0104.jpg", width=300, height=200),
        Image(uri("item-0101"), "images/0101-back.jpg", side="verso", width=280, height=200),
        Image(
            uri("ketterholm-77"), service="https://pictures.example.org/77", width=900, height=700
        ),
    ),
    placed=(
        Placed(uri("album-1-p12"), uri("album-1"), 12, "recto"),
        Placed(uri("album-1-p13"), uri("album-1"), 13, "recto"),
        Placed(uri("item-0104"), uri("album-1"), 14, "loose"),
        Placed(uri("item-0101"), uri("album-1-p12"), 1, region=(42, 38, 284, 207)),
        Placed(uri("item-0102"), uri("album-1-p12"), 2, region=(360, 60, 104, 163)),
        Placed(uri("item-0103"), uri("album-1-p13"), 1, region=(50, 40, 220, 109)),
        Placed(uri("item-0105"), uri("album-1-p13"), 2, region=POLYGON),
        Placed(uri("item-0103-left"), uri("item-0103"), 1, "left", (6, 9, 100, 96)),
        Placed(uri("item-0103-right"), uri("item-0103"), 2, "right", (114, 9, 100, 96)),
        Placed(uri("item-0102"), uri("item-0105"), 1, region=(12, 40, 52, 86)),
    ),
    stops=(
        Stop(THREAD, 1, uri("item-0103"), (), "en", "Six of six"),
        Stop(THREAD, 2, uri("item-0101"), (), "en", "The shed stands. " * 8),
        Stop(THREAD, 2, uri("item-0101"), (), "de", "Der Schuppen steht. " * 8),
        Stop(THREAD, 3, uri("album-1-p12")),
    ),
)


def made(
    layout: Layout = LAYOUT,
    *,
    site: iiif.Site = SITE,
    documents: dict[str, Tree] = DOCUMENTS,
    **more: Any,
) -> dict[str, Tree]:
    view = iiif.View(documents.get, **more)
    return dict(iiif.manifests(iiif.plan(layout), view, site))


def changed(key: str, **more: Any) -> dict[str, Tree]:
    return {**DOCUMENTS, uri(key): {**DOCUMENTS[uri(key)], **more}}


def metadata(tree: Tree) -> dict[str, str]:
    return {
        next(iter(line["label"].values()))[0]: next(iter(line["value"].values()))[0]
        for line in tree.get("metadata", ())
    }


def described(**more: Any) -> dict[str, str]:
    return metadata(made(documents=changed("item-0102", **more))[uri("item-0102")])


# --- what stands where


def test_the_plan_tells_albums_items_and_single_prints_apart() -> None:
    plan = iiif.plan(LAYOUT)
    assert plan.albums == (uri("album-1"),)
    assert plan.items == tuple(
        uri(f"item-{number}") for number in ("0101", "0102", "0103", "0104", "0105")
    )
    assert plan.singles == (uri("ketterholm-77"),)
    assert plan.unsized == ()
    assert iiif.album_of(plan, uri("item-0103-left")) == uri("album-1")
    assert iiif.album_of(plan, uri("ketterholm-77")) == ""


def test_a_picture_of_unknown_size_makes_no_canvas_and_is_named() -> None:
    remote = Image(uri("ketterholm-77"), service="https://pictures.example.org/77")
    layout = Layout(images=(remote,))
    assert iiif.plan(layout).unsized == (remote,)
    assert made(layout) == {}


def test_what_lies_on_the_picture_of_the_album_itself_is_an_item() -> None:
    sheet = Layout(
        images=(Image(uri("album-1"), "images/sheet.jpg", width=400, height=300),),
        placed=(Placed(uri("item-0101"), uri("album-1"), 1, region=(10, 10, 100, 80)),),
    )
    plan = iiif.plan(sheet)
    assert (plan.albums, plan.items) == ((uri("album-1"),), (uri("item-0101"),))
    assert [canvas["id"] for canvas in made(sheet)[uri("album-1")]["items"]] == [
        BASE + "iiif/manifest/album-1/canvas/album-1"
    ]


def test_an_album_has_a_canvas_for_each_page_in_order() -> None:
    album = made()[uri("album-1")]
    assert [(c["id"].rpartition("/")[2], c["width"], c["height"]) for c in album["items"]] == [
        ("p12", 600, 450),
        ("p13", 600, 450),
        ("item-0104", 300, 200),
    ]


def test_a_pasted_item_is_a_range_a_link_and_a_manifest() -> None:
    manifests = made()
    page = manifests[uri("album-1")]["items"][1]
    links = page["annotations"][0]["items"]
    assert [link["body"]["id"] for link in links] == [
        manifest_iri(BASE, uri("item-0103")),
        manifest_iri(BASE, uri("item-0105")),
    ]
    contents = manifests[uri("album-1")]["structures"][0]["items"][1]["items"]
    assert [part["id"].rpartition("/")[2] for part in contents] == ["p13", "item-0103", "item-0105"]
    assert links[1]["target"]["selector"] == {
        "type": "SvgSelector",
        "value": '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 600 450">'
        '<polygon points="70,236 264,230 270,374 76,380"/></svg>',
    }
    item = manifests[uri("item-0105")]
    assert (item["items"][0]["width"], item["items"][0]["height"]) == (200, 150)
    assert item["partOf"][0]["id"] == manifest_iri(BASE, uri("album-1"))


def test_halves_are_ranges_and_cut_out_figures_link_to_the_print_they_were_cut_from() -> None:
    manifests = made()
    halves = manifests[uri("item-0103")]["structures"][0]["items"]
    assert [half["items"][0]["selector"]["value"] for half in halves] == [
        "xywh=6,9,100,96",
        "xywh=114,9,100,96",
    ]
    canvas = manifests[uri("item-0105")]["items"][0]
    (link,) = canvas["annotations"][0]["items"]
    assert link["body"] == {
        "id": manifest_iri(BASE, uri("item-0102")),
        "type": "Manifest",
        "label": {"en": ["Figure cut from: Two men at a camp table"]},
    }


def test_a_front_that_only_the_page_shows_stands_before_the_back_of_the_thing() -> None:
    canvases = made()[uri("item-0101")]["items"]
    assert [canvas["label"]["en"][0] for canvas in canvases] == [
        "Summit cutting below Sorn Pass",
        "Summit cutting below Sorn Pass, verso",
    ]
    assert canvases[0]["items"][0]["items"][0]["body"]["selector"]["region"] == "42,38,284,207"


def test_a_thread_is_a_further_range_and_its_long_texts_are_comments() -> None:
    album = made()[uri("album-1")]
    contents, thread = album["structures"]
    assert thread["label"] == {"en": ["Thread: The winter of 1872"]}
    assert "behavior" not in thread
    first, second, third = thread["items"]
    assert first["label"] == {"en": ["Six of six"]}
    assert second["label"] == {"en": ["Summit cutting below Sorn Pass"]}
    assert third["items"] == [{"id": album["items"][0]["id"], "type": "Canvas"}]
    comments = album["items"][0]["annotations"][1]["items"]
    assert [comment["body"]["language"] for comment in comments] == ["de", "en"]
    assert {comment["motivation"] for comment in comments} == {"commenting"}
    assert contents["items"][0]["id"].endswith("/range/p12")


def test_a_figure_cut_from_a_print_without_pictures_leads_to_its_record() -> None:
    layout = replace(
        LAYOUT,
        placed=(
            *LAYOUT.placed,
            Placed(uri("item-0107"), uri("item-0105"), 2, region=(80, 40, 52, 86)),
        ),
    )
    canvas = made(layout)[uri("item-0105")]["items"][0]
    bodies = [note["body"] for note in canvas["annotations"][0]["items"]]
    assert [(body["type"], body["id"].removeprefix(BASE)) for body in bodies] == [
        ("Manifest", "iiif/manifest/item-0102"),
        ("Dataset", "object/item-0107"),
    ]


def test_labels_say_what_folds_out_and_what_lies_loose() -> None:
    layout = replace(
        LAYOUT, placed=(Placed(uri("album-1-p12"), uri("album-1"), 1, "fold-out"), *LAYOUT.placed)
    )
    names = [canvas["label"]["en"] for canvas in made(layout)[uri("album-1")]["items"]]
    assert names == [["Page 12, fold-out"], ["Page 13"], ["The cutting at Sorn, loose insert"]]


# --- collections


def collected(**documents: Tree) -> dict[str, Tree]:
    site = replace(SITE, tiles=True, crops=True, pages=True, languages=("en", "de"))
    everyone = {**DOCUMENTS, DOLEN["id"]: DOLEN, **{uri(key): t for key, t in documents.items()}}
    plan, view = iiif.plan(LAYOUT), iiif.View(everyone.get)
    there = dict(iiif.manifests(plan, view, site))
    found = iiif.collections({"en": ["All"]}, plan, view, site, there)
    return {tree["id"].removeprefix(BASE + "iiif/collection/"): tree for tree in found}


def certain(key: str, **more: Any) -> Tree:
    whole = {"type": "Production", "part": [making("exposure", **more)]}
    return {**DOCUMENTS[uri(key)], "produced_by": whole}


def named(tree: Tree) -> list[str]:
    return [f"{one['type']} {one['id'].rpartition('/')[2]}" for one in tree["items"]]


def test_collections_of_sets_and_of_certain_makers() -> None:
    doubted = claim("maker", "current", "perhaps by Mira Dolen", DOLEN["id"])
    found = collected(
        **{
            "item-0101": certain("item-0101", carried_out_by=[DOLEN]),
            "item-0102": certain("item-0102", attributed_by=[doubted]),
            "item-0105": {**DOCUMENTS[uri("item-0105")], "member_of": [{"id": THREAD}]},
            "album-1": {**DOCUMENTS[uri("album-1")], "member_of": [{"id": THREAD}]},
        }
    )
    assert list(found) == ["all", "set/thread-snow", "person/dolen"]
    assert named(found["all"]) == [
        "Manifest album-1", "Manifest ketterholm-77", "Collection thread-snow", "Collection dolen",
    ]  # fmt: skip
    assert named(found["set/thread-snow"]) == ["Manifest album-1", "Manifest item-0105"]
    assert found["set/thread-snow"]["homepage"][0]["id"] == BASE + "page/set/thread-snow"
    assert named(found["person/dolen"]) == ["Manifest item-0101"]
    assert found["person/dolen"]["label"] == {
        "en": ["Works: Mira Dolen"],
        "de": ["Werke: Mira Dolen"],
    }
    assert found["person/dolen"]["summary"] == {
        "en": ["Works whose attribution is in doubt are not listed here."],
        "de": ["Werke, deren Zuschreibung zweifelhaft ist, stehen hier nicht."],
    }
    assert found["person/dolen"]["seeAlso"][0]["id"] == DOLEN["id"]
    assert [fault for tree in found.values() for fault in faults(tree)] == []


def test_who_may_not_leave_has_no_collection() -> None:
    hidden = {**DOLEN, "id": BASE + "person/secret"}
    found = collected(**{"item-0101": certain("item-0101", carried_out_by=[hidden])})
    assert list(found) == ["all"]


def test_a_notice_stands_before_any_small_picture() -> None:
    site = replace(SITE, tiles=True, crops=True, thumbnail=100)
    told = iiif.Notice({"en": ["Notice"]}, {"en": ["Read this first."]})
    found = made(site=site, notices={uri("item-0102"): told})
    assert "thumbnail" not in found[uri("item-0102")]
    assert found[uri("item-0101")]["thumbnail"] == found[uri("item-0101")]["items"][0]["thumbnail"]


def test_a_thing_in_two_places_has_a_range_for_each() -> None:
    again = Placed(uri("item-0101"), uri("album-1-p13"), 3, region=(300, 40, 90, 70))
    album = made(replace(LAYOUT, placed=(*LAYOUT.placed, again)))[uri("album-1")]
    ids = [n["id"].rpartition("/")[2] for _, n in walk(album["structures"]) if "label" in n]
    assert [key for key in ids if key.startswith("item-0101")] == ["item-0101", "item-0101-2"]
    assert faults(album) == []


def test_two_things_at_one_stop_of_a_thread_have_ids_of_their_own() -> None:
    stops = (Stop(THREAD, 1, uri("item-0101")), Stop(THREAD, 1, uri("item-0102")))
    album = made(replace(LAYOUT, stops=stops))[uri("album-1")]
    ids = [part["id"].rpartition("/")[2] for part in album["structures"][1]["items"]]
    assert ids == ["1", "1-2"]


def test_several_captures_of_one_side_are_a_choice() -> None:
    raking = Image(
        uri("album-1-p12"), "images/p12r.jpg", capture="raking light", width=600, height=450
    )
    layout = replace(LAYOUT, images=(*LAYOUT.images, raking))
    site = replace(SITE, tiles=True, thumbnail=200)
    canvas = made(layout, site=site)[uri("album-1")]["items"][0]
    body = canvas["items"][0]["items"][0]["body"]
    assert body["type"] == "Choice"
    assert [picture["id"] for picture in body["items"]] == [
        BASE + "iiif/image/album-1-p12/full/max/0/default.jpg",
        BASE + "iiif/image/album-1-p12/capture/raking%20light/full/max/0/default.jpg",
    ]
    assert canvas["thumbnail"][0]["id"].endswith("/album-1-p12/full/150,113/0/default.jpg")


def test_an_item_named_like_a_page_keeps_the_ids_apart() -> None:
    documents = {**DOCUMENTS, uri("p12"): thing("p12", "A print")}
    extra = Placed(uri("p12"), uri("album-1-p12"), 3, region=(0, 0, 10, 10))
    album = made(replace(LAYOUT, placed=(*LAYOUT.placed, extra)), documents=documents)[
        uri("album-1")
    ]
    assert album["items"][0]["id"].endswith("/canvas/album-1-p12")
    assert faults(album) == []


# --- pictures


def body_of(site: iiif.Site, key: str) -> Tree:
    body = made(site=site)[uri(key)]["items"][0]["items"][0]["items"][0]["body"]
    assert isinstance(body, dict)
    return body


def test_an_item_is_painted_by_a_region_of_its_page() -> None:
    assert body_of(SITE, "item-0102") == {
        "id": BASE + "iiif/manifest/item-0102/crop",
        "type": "SpecificResource",
        "source": {
            "id": BASE + "iiif/image/album-1-p12/full/max/0/default.jpg",
            "type": "Image",
            "format": "image/jpeg",
            "width": 600,
            "height": 450,
        },
        "selector": {"type": "ImageApiSelector", "region": "360,60,104,163"},
    }


def test_an_item_is_painted_by_a_cropped_picture_where_the_export_has_one() -> None:
    assert body_of(replace(SITE, crops=True, tiles=True), "item-0102") == {
        "id": BASE + "iiif/image/item-0102/full/max/0/default.jpg",
        "type": "Image",
        "format": "image/jpeg",
        "width": 104,
        "height": 163,
        "service": [
            {"id": BASE + "iiif/image/item-0102", "type": "ImageService3", "profile": "level0"}
        ],
    }


def test_a_remote_picture_keeps_its_service() -> None:
    body = body_of(replace(SITE, crops=True), "ketterholm-77")
    assert body["service"][0]["id"] == "https://pictures.example.org/77"


@pytest.mark.parametrize(
    ("image", "key"),
    [
        (Image(uri("album-1-p12"), "x.jpg"), "album-1-p12"),
        (Image(uri("item-0101"), "x.jpg", side="recto"), "item-0101"),
        (Image(uri("item-0101"), "x.jpg", side="verso"), "item-0101/verso"),
        (Image(uri("item-0101"), "x.jpg", side="verso", capture="2"), "item-0101/verso/capture/2"),
    ],
)
def test_picture_keys(image: Image, key: str) -> None:
    assert iiif.picture_key(image, SITE) == key


@pytest.mark.parametrize(
    ("area", "box"),
    [
        ((1, 2, 3, 4), (1, 2, 3, 4)),
        ((0, 5, 10, 0, 10, 20), (0, 0, 10, 20)),
        (POLYGON, (70, 230, 200, 150)),
    ],
)
def test_boxes(area: tuple[int, ...], box: tuple[int, int, int, int]) -> None:
    assert iiif.box(area) == box


@pytest.mark.parametrize(
    ("box", "good"),
    [
        ((0, 0, 600, 450), True),
        ((0, 0, 601, 450), False),
        ((-1, 0, 10, 10), False),
        ((0, 0, 0, 10), False),
        ((599, 449, 1, 1), True),
    ],
)
def test_inside(box: tuple[int, int, int, int], good: bool) -> None:
    assert inside(box, LAYOUT.images[0]) is good


def test_a_region_outside_the_page_makes_no_link_and_no_picture() -> None:
    outside = Placed(uri("item-0107"), uri("album-1-p12"), 3, region=(590, 0, 20, 20))
    manifests = made(replace(LAYOUT, placed=(*LAYOUT.placed, outside)))
    assert uri("item-0107") not in manifests
    assert b"0107" not in iiif.to_bytes(manifests[uri("album-1")])


def test_a_fragment_names_the_form_it_conforms_to() -> None:
    selector = region("https://c.example/canvas", (1, 2, 3, 4), LAYOUT.images[0])["selector"]
    assert selector == {
        "type": "FragmentSelector",
        "conformsTo": "http://www.w3.org/TR/media-frags/",
        "value": "xywh=1,2,3,4",
    }


# --- words


@pytest.mark.parametrize(
    ("part", "lines"),
    [
        (making("exposure"), {"Photographer": "not recorded"}),
        (
            making("exposure", timespan=span("February 1872", "1872-02")),
            {"Photographer": "not recorded", "Date": "February 1872"},
        ),
        (
            making("exposure", carried_out_by=[{"id": BASE + "person/dolen", "type": "Person", "_label": "Mira Dolen"}]),
            {"Photographer": "Mira Dolen"},
        ),
        (
            making("drawing", carried_out_by=[{"id": BASE + "person/esker", "type": "Person", "_label": "Bruno Esker"}]),
            {"Drawn by": "Bruno Esker"},
        ),
        (
            making("exposure", attributed_by=[claim("date", "current", "probably November 1871", "")]),
            {"Photographer": "not recorded", "Date": "probably November 1871"},
        ),
        (
            making("exposure", attributed_by=[claim("date", "former", "formerly dated 1869", "")]),
            {"Photographer": "not recorded"},
        ),
    ],
)  # fmt: skip
def test_lines_of_metadata(part: Tree, lines: dict[str, str]) -> None:
    assert described(produced_by={"type": "Production", "part": [part]}) == lines


def test_an_attribution_statement_stands_for_the_maker_and_no_bare_name_beside_it() -> None:
    line = "attributed to Mira Dolen; formerly attributed to Anselm Korvath"
    exposure = making(
        "exposure",
        attributed_by=[
            claim("maker", "current", "attributed to Mira Dolen", BASE + "person/dolen")
        ],
    )
    whole = {
        "type": "Production",
        "referred_to_by": [statement(line, ATTRIBUTION, ENGLISH)],
        "part": [exposure],
    }
    assert described(produced_by=whole) == {"Photographer": line}


LINES = [
    # the line of attribution, lines of metadata
    (
        "attributed to Mira Dolen; formerly attributed to Jonas Vey; printer: probably by Korvath & "
        "Daughters; formerly attributed to Bruno Esker",
        {
            "Photographer": "attributed to Mira Dolen; formerly attributed to Jonas Vey",
            "Printed by": "probably by Korvath & Daughters; formerly attributed to Bruno Esker",
        },
    ),
    (
        "printer: probably by Korvath & Daughters",
        {"Photographer": "not recorded", "Printed by": "probably by Korvath & Daughters"},
    ),
    (
        "photographer not known; possibly by Jonas Vey",
        {"Photographer": "not known; possibly by Jonas Vey"},
    ),
    ("photographer not known", {"Photographer": "not known"}),
]


@pytest.mark.parametrize(("line", "lines"), LINES)
def test_a_line_of_attribution_is_told_by_role_and_says_nothing_twice(
    line: str, lines: dict[str, str]
) -> None:
    whole = {
        "type": "Production",
        "referred_to_by": [statement(line, ATTRIBUTION, ENGLISH)],
        "part": [making("exposure"), making("printing")],
    }
    assert described(produced_by=whole) == lines


def test_who_was_rejected_was_recorded() -> None:
    exposure = making(
        "exposure",
        attributed_by=[claim("maker", "rejected", "rejected: Mira Dolen", BASE + "person/dolen")],
    )
    assert described(produced_by={"type": "Production", "part": [exposure]}) == {
        "Photographer": "not known"
    }


DOLEN = {"id": BASE + "person/dolen", "type": "Person", "_label": "Mira Dolen"}


def test_a_maker_stated_on_the_whole_is_named_beside_the_parts() -> None:
    """The source names a maker and does not tell what he did; no claim speaks of it."""
    whole = {
        "type": "Production",
        "carried_out_by": [DOLEN],
        "part": [making("exposure"), making("printing")],
    }
    assert described(produced_by=whole) == {"Maker": "Mira Dolen"}
    line = statement("perhaps by Mira Dolen", ATTRIBUTION, ENGLISH)
    told = described(produced_by={**whole, "referred_to_by": [line]})
    assert told == {"Photographer": "perhaps by Mira Dolen"}


def test_a_certain_maker_is_not_named_twice() -> None:
    dolen = {"id": BASE + "person/dolen", "type": "Person", "_label": "Mira Dolen"}
    whole = {
        "type": "Production",
        "referred_to_by": [statement("Mira Dolen", ATTRIBUTION, ENGLISH)],
        "part": [making("exposure", carried_out_by=[dolen])],
    }
    tree = made(documents=changed("item-0102", produced_by=whole))[uri("item-0102")]
    assert [line["value"] for line in tree["metadata"]] == [{"en": ["Mira Dolen"]}]


def test_a_certain_sitter_is_not_named_twice() -> None:
    guide = {"id": BASE + "person/unnamed-0102-2", "type": "Person", "_label": "Unnamed 0102-2"}
    visual = {
        "id": BASE + "visual/0102",
        "type": "VisualItem",
        "attributed_by": [claim("sitter", "current", "a guide, name not recorded", guide["id"])],
        "represents": [guide],
    }
    documents = changed("item-0102", shows=[{"id": visual["id"], "type": "VisualItem"}])
    documents[BASE + "visual/0102"] = visual
    tree = made(documents=documents)[uri("item-0102")]
    assert metadata(tree) == {"Sitters": "a guide, name not recorded"}


def test_sitters_keep_their_hedge() -> None:
    visual = {
        "id": BASE + "visual/0102",
        "type": "VisualItem",
        "attributed_by": [
            claim("sitter", "current", "probably Jonas Vey", BASE + "person/vey"),
            claim("sitter", "former", "formerly taken for Bruno Esker", BASE + "person/esker"),
            claim("sitter", "proposed", "possibly Tobias Renn", BASE + "person/renn"),
        ],
        "represents": [{"id": BASE + "person/arle", "type": "Person", "_label": "Edmund Arle"}],
    }
    documents = changed("item-0102", shows=[{"id": visual["id"], "type": "VisualItem"}])
    documents[BASE + "visual/0102"] = visual
    tree = made(documents=documents)[uri("item-0102")]
    assert metadata(tree) == {"Sitters": "probably Jonas Vey; Edmund Arle"}
    for bare in ("Bruno Esker", "Tobias Renn"):
        assert bare not in iiif.to_bytes(tree).decode()


def test_the_caller_may_give_the_lines() -> None:
    lines: Callable[[str, Tree], list[iiif.Row]] = lambda _, __: [  # noqa: E731
        ({"en": ["Date"]}, {"en": ["February 1872"], "de": ["Februar 1872"]}),
        ({"en": ["Place"]}, {}),
    ]
    tree = made(describe=lines)[uri("item-0102")]
    assert tree["metadata"] == [
        {"label": {"en": ["Date"]}, "value": {"en": ["February 1872"], "de": ["Februar 1872"]}}
    ]


@pytest.mark.parametrize(
    ("edtf", "day"),
    [
        ("1872-02-14", "1872-02-14T00:00:00Z"),
        ("1872-02", "1872-02-01T00:00:00Z"),
        ("1872", None),
        ("1872-02~", None),
        ("1872-02-14?", None),
        ("1872-02/1872-03", None),
        ("187X", None),
        ("..", None),
    ],
)
def test_nav_date_is_a_day_or_a_month_and_never_a_placeholder(edtf: str, day: str | None) -> None:
    part = making("exposure", timespan=span("words", edtf))
    documents = changed("item-0102", produced_by={"type": "Production", "part": [part]})
    assert made(documents=documents)[uri("item-0102")].get("navDate") == day


def test_a_claim_gives_no_nav_date() -> None:
    part = making("exposure", attributed_by=[claim("date", "current", "probably 1872-02", "")])
    documents = changed("item-0102", produced_by={"type": "Production", "part": [part]})
    assert "navDate" not in made(documents=documents)[uri("item-0102")]


def test_a_certain_place_with_a_point_is_nav_place() -> None:
    place = {"id": BASE + "place/sorn-pass", "type": "Place", "defined_by": "POINT(14.32 61.88)"}
    part = making("exposure", took_place_at=[{"id": place["id"], "type": "Place"}])
    documents = changed("item-0102", produced_by={"type": "Production", "part": [part]})
    documents[BASE + "place/sorn-pass"] = place
    tree = made(documents=documents)[uri("item-0102")]
    assert tree["navPlace"]["features"][0]["geometry"]["coordinates"] == [14.32, 61.88]
    assert tree["@context"][0].endswith("/navplace/context.json")
    assert faults(tree) == []


NOTICE = BASE + "vocab/statement/community-notice"
NUMBER = {
    "type": "Identifier",
    "content": "1866.1.5",
    "classified_as": [{"id": described_by.ACCESSION, "type": "Type"}],
}


def test_a_notice_stands_before_everything_else_in_the_words_of_the_community_first() -> None:
    notices = [
        statement("Please read this first.", NOTICE, ENGLISH),
        statement("Teve sorru na hal.", NOTICE, TEVELI),
    ]
    documents = changed("item-0102", referred_to_by=notices)
    tree = made(documents=documents)[uri("item-0102")]
    assert list(tree)[:6] == ["@context", "id", "type", "label", "summary", "requiredStatement"]
    assert list(tree["summary"]) == ["qtv", "en"]
    assert tree["requiredStatement"]["value"]["qtv"] == ["Teve sorru na hal."]


def test_a_notice_is_read_in_every_language_before_the_credit() -> None:
    """A viewer shows the texts of one language: whoever reads German must not miss the notice."""
    site = replace(SITE, languages=("en", "de"))
    notices = [
        statement("Please read this first.", NOTICE, ENGLISH),
        statement("Teve sorru na hal.", NOTICE, TEVELI),
    ]
    documents = changed("item-0102", referred_to_by=notices)
    tree = made(site=site, documents=documents)[uri("item-0102")]
    house = "Highland Railway Library"
    assert tree["requiredStatement"]["value"] == {
        "qtv": ["Teve sorru na hal."],
        "en": ["Please read this first.", house],
        "de": ["Teve sorru na hal.", "Please read this first.", house],
    }


@pytest.mark.parametrize(
    ("more", "credit"),
    [
        ({}, "Highland Railway Library"),
        (
            {"identified_by": [NUMBER, name("Two men", ENGLISH)]},
            "Highland Railway Library, 1866.1.5",
        ),
        (
            {"produced_by": making("exposure", carried_out_by=[{"id": BASE + "person/vey", "_label": "Jonas Vey"}])},
            "Jonas Vey. Highland Railway Library",
        ),
        (
            {"produced_by": making("printing", carried_out_by=[{"id": BASE + "person/vey", "_label": "Jonas Vey"}])},
            "Highland Railway Library",
        ),
        (
            {"produced_by": {"referred_to_by": [statement("possibly by Jonas Vey", ATTRIBUTION, ENGLISH)]}},
            "possibly by Jonas Vey. Highland Railway Library",
        ),
    ],
)  # fmt: skip
def test_every_manifest_names_makers_with_their_hedge_and_the_house(
    more: dict[str, Any], credit: str
) -> None:
    """https://iiif.io/api/presentation/3.0/#requiredstatement"""
    tree = made(documents=changed("item-0102", **more))[uri("item-0102")]
    assert tree["requiredStatement"] == {"label": {"en": ["Credit"]}, "value": {"en": [credit]}}


def test_a_summary_is_the_description_else_the_first_lines_of_metadata() -> None:
    whole = {
        "referred_to_by": [statement("possibly by Jonas Vey", ATTRIBUTION, ENGLISH)],
        "part": [making("exposure", timespan=span("February 1872", "1872-02"))],
    }
    site = replace(SITE, languages=("en", "de"))
    documents = changed("item-0102", produced_by=whole)
    assert made(site=site, documents=documents)[uri("item-0102")]["summary"] == {
        "en": ["Photographer: possibly by Jonas Vey. Date: February 1872."],
        "de": ["Fotografie: possibly by Jonas Vey. Datum: Februar 1872."],
    }
    told = [statement("Found loose.", rows.DESCRIPTION, ENGLISH)]
    documents = changed("item-0102", produced_by=whole, referred_to_by=told)
    assert made(documents=documents)[uri("item-0102")]["summary"] == {"en": ["Found loose."]}


def test_a_collection_says_the_notices_of_all_that_it_names() -> None:
    told = {
        uri("album-1"): iiif.Notice({"en": ["Notice: A"]}, {"qtv": ["Teve."], "en": ["Read A."]}),
        uri("ketterholm-77"): iiif.Notice({"en": ["Notice: B"]}, {"en": ["Read B.", "Read A."]}),
    }
    view = iiif.View(DOCUMENTS.get, notices=told)
    whole = iiif.collection("all", {"en": ["All"]}, iiif.plan(LAYOUT), view, SITE)
    assert whole is not None
    assert whole["requiredStatement"] == {
        "label": {"en": ["Notices"]},
        "value": {"qtv": ["Teve."], "en": ["Read A.", "Read B.", "Highland Railway Library"]},
    }
    assert whole["summary"]["en"][:2] == ["Read A.", "Read B."]
    assert list(whole).index("summary") < list(whole).index("items")


def test_the_caller_may_give_the_notice() -> None:
    given_notice = iiif.Notice({"en": ["Notice of the Teveli Council"]}, {"qtv": ["Teve sorru."]})
    tree = made(notices={uri("item-0102"): given_notice})[uri("item-0102")]
    assert tree["requiredStatement"]["label"] == {"en": ["Notice of the Teveli Council"]}


@pytest.mark.parametrize(
    ("stated", "published"),
    [
        ("http://creativecommons.org/publicdomain/mark/1.0/", "http://creativecommons.org/publicdomain/mark/1.0/"),
        ("https://rightsstatements.org/vocab/NKC/1.0/", "http://rightsstatements.org/vocab/NKC/1.0/"),
        ("https://example.org/our-terms", None),
        ("public domain", None),
    ],
)  # fmt: skip
def test_rights_are_one_http_uri_of_a_known_house(stated: str, published: str | None) -> None:
    right = {"type": "Right", "classified_as": [{"id": stated, "type": "Type"}]}
    documents = changed("item-0102", shows=[{"id": BASE + "visual/0102", "type": "VisualItem"}])
    documents[BASE + "visual/0102"] = {
        "id": BASE + "visual/0102",
        "type": "VisualItem",
        "subject_to": [right],
    }
    assert made(documents=documents)[uri("item-0102")].get("rights") == published


@pytest.mark.parametrize(
    ("texts", "kept"),
    [
        ({"en": ["a < b"]}, {"en": ["a < b"]}),
        ({"en": ["<b>bold</b>"]}, {"en": ["\u200b<b>bold</b>"]}),
        ({"en": ["", "a"], "de": [""]}, {"en": ["a"]}),
    ],
)
def test_no_text_of_a_catalogue_is_taken_for_html(
    texts: iiif.LanguageMap, kept: iiif.LanguageMap
) -> None:
    assert safe(texts) == kept


def test_a_title_that_looks_like_html_is_shown_as_it_is() -> None:
    documents = changed("item-0102", identified_by=[name("<untitled>", ENGLISH)])
    tree = made(documents=documents)[uri("item-0102")]
    assert faults(tree) == []


def test_words_in_the_languages_of_the_site() -> None:
    assert word("contents", ("en", "de", "fr")) == {
        "en": ["Contents"],
        "de": ["Inhalt"],
        "fr": ["Table des matières"],
    }
    assert word("contents", ("sv",)) == {"en": ["Contents"]}
    assert phrase("page", ("en", "de"), number={"none": ["12"]}) == {
        "en": ["Page 12"],
        "de": ["Seite 12"],
    }


def test_a_page_without_a_name_is_called_by_its_place() -> None:
    documents = {
        **DOCUMENTS,
        uri("album-1-p12"): {"id": uri("album-1-p12"), "type": "HumanMadeObject"},
    }
    assert made(documents=documents)[uri("album-1")]["items"][0]["label"] == {"en": ["Page 12"]}


@pytest.mark.parametrize(
    ("iri", "key"),
    [
        (uri("item-0101"), "item-0101"),
        (BASE + "set/thread-snow", "set/thread-snow"),
        ("https://museum.example.com/77", "https%3A%2F%2Fmuseum.example.com%2F77"),
    ],
)
def test_short_keys(iri: str, key: str) -> None:
    assert short_key(BASE, iri) == key


# --- what never leaves


def test_what_may_not_leave_is_nowhere() -> None:
    secret = Placed(uri("item-0107"), uri("album-1-p13"), 3, region=(301, 303, 77, 79))
    stops = (*LAYOUT.stops, Stop(THREAD, 4, uri("item-0107"), (), "en", "The gathering"))
    layout = replace(LAYOUT, placed=(*LAYOUT.placed, secret), stops=stops)
    documents = {key: tree for key, tree in DOCUMENTS.items() if key != uri("item-0107")}
    manifests = made(layout, documents=documents)
    assert uri("item-0107") not in manifests
    everything = b"".join(iiif.to_bytes(tree) for tree in manifests.values()).decode()
    for canary in ("0107", "Gathering", "gathering", "301,303", "77,79"):
        assert canary not in everything
    assert "0107" in iiif.to_bytes(made(layout)[uri("album-1")]).decode()


@pytest.mark.parametrize(
    ("secret", "seen_from"),
    [("item-0103-left", "item-0103"), ("item-0102", "item-0105"), ("album-1", "item-0101")],
)
def test_nothing_points_at_what_may_not_leave(secret: str, seen_from: str) -> None:
    documents = {key: tree for key, tree in DOCUMENTS.items() if key != uri(secret)}
    manifests = made(documents=documents)
    tree = iiif.to_bytes(manifests[uri(seen_from)]).decode()
    region_of = {"item-0103-left": "6,9,100,96", "item-0102": "12,40,52,86"}.get(secret, secret)
    assert region_of in iiif.to_bytes(made()[uri(seen_from)]).decode()
    assert region_of not in tree.replace("image/album-1-p12", "")
    assert DOCUMENTS[uri(secret)]["identified_by"][0]["content"] not in tree


def test_a_hidden_page_keeps_its_canvas_and_shows_nothing() -> None:
    hidden = frozenset({uri("album-1-p13")})
    manifests = made(hidden=hidden)
    page = manifests[uri("album-1")]["items"][1]
    assert page["items"] == []
    assert page["requiredStatement"]["value"] == {
        "en": ["The image of this page is not published."]
    }
    assert "annotations" not in page
    assert uri("item-0103") not in manifests
    assert uri("item-0105") not in manifests
    everything = b"".join(iiif.to_bytes(tree) for tree in manifests.values()).decode()
    assert "image/album-1-p13" not in everything
    assert "xywh=50,40,220,109" not in everything
    assert faults(manifests[uri("album-1")]) == []


@pytest.mark.parametrize(
    ("withheld", "hidden"),
    [
        ((), set()),
        (("item-0101",), {"album-1-p12", "album-1"}),
        (("item-0103-left",), {"item-0103", "album-1-p13", "album-1"}),
        (("item-0102",), {"album-1-p12", "item-0105", "album-1-p13", "album-1"}),
    ],
)
def test_pictures_that_show_something_withheld_are_hidden(
    withheld: tuple[str, ...], hidden: set[str]
) -> None:
    found = iiif.hidden(LAYOUT, {uri(key) for key in withheld})
    assert found == {uri(key) for key in hidden}


def test_a_file_that_pictures_two_things_is_hidden_with_either() -> None:
    twin = Image(uri("ketterholm-77"), "images/0104.jpg", width=300, height=200)
    layout = replace(LAYOUT, images=(*LAYOUT.images[:4], twin))
    assert uri("ketterholm-77") in iiif.hidden(layout, {uri("item-0104")})


def test_no_document_no_manifest() -> None:
    plan = iiif.plan(LAYOUT)
    view = iiif.View(lambda _: None)
    assert dict(iiif.manifests(plan, view, SITE)) == {}
    assert iiif.collection("all", {"en": ["All"]}, plan, view, SITE) is None


# --- rules that every manifest keeps


def everything(layout: Layout, site: iiif.Site) -> list[Tree]:
    plan, view = iiif.plan(layout), iiif.View(DOCUMENTS.get)
    made = dict(iiif.manifests(plan, view, site))
    return [*made.values(), *iiif.collections({"en": ["All"]}, plan, view, site, made)]


SITES = [
    SITE,
    replace(SITE, tiles=True, crops=True, thumbnail=100, pages=True, languages=("en", "de")),
]


@pytest.mark.parametrize("site", SITES, ids=["plain", "full"])
def test_all_manifests_keep_the_rules(site: iiif.Site) -> None:
    trees = everything(LAYOUT, site)
    assert len(trees) == 8
    assert [fault for tree in trees for fault in faults(tree)] == []


@pytest.mark.parametrize("site", SITES, ids=["plain", "full"])
def test_every_link_to_a_manifest_leads_to_one(site: iiif.Site) -> None:
    trees = everything(LAYOUT, site)
    there = {tree["id"] for tree in trees}
    asked = {
        node["id"] for tree in trees for _, node in walk(tree) if node.get("type") == "Manifest"
    }
    assert asked <= there
    assert len(asked) == 7


def test_the_order_of_rows_changes_no_byte() -> None:
    def shuffled(seed: int) -> list[bytes]:
        rng = random.Random(seed)
        layout = Layout(
            *(
                tuple(rng.sample(rows_, len(rows_)))
                for rows_ in (LAYOUT.images, LAYOUT.placed, LAYOUT.stops)
            )
        )
        return [iiif.to_bytes(tree) for tree in everything(layout, SITES[1])]

    first = shuffled(0)
    assert all(shuffled(seed) == first for seed in range(1, 6))
    assert orjson.loads(first[0])["type"] == "Manifest"


KEYS = st.sampled_from([*DOCUMENTS][:-1])
NUMBERS = st.integers(-20, 700)


@given(
    placed=st.lists(
        st.builds(
            Placed,
            KEYS,
            KEYS,
            st.integers(0, 3),
            st.sampled_from(["", "recto", "verso", "loose", "left", "right"]),
            st.one_of(
                st.just(()),
                st.tuples(NUMBERS, NUMBERS, NUMBERS, NUMBERS),
                st.tuples(NUMBERS, NUMBERS, NUMBERS, NUMBERS, NUMBERS, NUMBERS),
            ),
        ).filter(lambda row: row.thing != row.on),
        max_size=8,
    ),
    images=st.lists(
        st.builds(
            Image,
            KEYS,
            st.sampled_from(["a.jpg", "b.jpg"]),
            st.just(""),
            st.sampled_from(["", "verso"]),
            st.just(""),
            st.integers(0, 600),
            st.integers(0, 600),
        ),
        max_size=6,
    ),
    full=st.booleans(),
)
def test_any_layout_gives_manifests_that_keep_the_rules(
    placed: list[Placed], images: list[Image], full: bool
) -> None:
    layout = Layout(tuple(images), tuple(placed), LAYOUT.stops)
    for tree in everything(layout, SITES[full]):
        assert faults(tree) == []


# --- the rules themselves find what they are for


def _spoil(change: Callable[[Tree], object]) -> list[str]:
    tree = orjson.loads(iiif.to_bytes(made()[uri("album-1")]))
    change(tree)
    return faults(tree)


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (lambda t: t.update({"@context": [t["@context"], "x"]}), "$: the context of the Presentation API is not the last"),
        (lambda t: t.update(navPlace={"id": "x"}), "$: navPlace without its context, or its context without navPlace"),
        (lambda t: t["items"].append(t["items"][0]), "$.items[3]: the id of $.items[0] again"),
        (lambda t: t["structures"][0].update(items=[]), "$.structures[0]: Range without items"),
        (lambda t: t.update(navDate="1872"), "$: navDate is no instant with a zone"),
        (lambda t: t.update(navDate="1872-02-01T00:00:00"), "$: navDate is no instant with a zone"),
        (lambda t: t.update(rights="https://creativecommons.org/publicdomain/mark/1.0/"), "$: rights is no http URI of a known house"),
        (lambda t: t.update(summary={}), "$.summary: empty"),
        (lambda t: t.update(label={"en": [" "]}), "$.label: empty"),
        (lambda t: t.update(metadata=[]), "$: an empty value"),
        (lambda t: t["items"][0].update(annotations=t["items"][1]["items"]), "$.items[0].annotations: painting there"),
        (lambda t: t["items"][0].update(width=10), "$.items[0].annotations[0].items[0].target: a region outside its canvas"),
        (lambda t: t["structures"][0]["items"][0]["items"][0].update(id="https://c.example/other"), "$.structures[0].items[0].items[0]: no canvas of this document"),
    ],
)  # fmt: skip
def test_each_rule_fires(change: Callable[[Tree], object], fault: str) -> None:
    assert fault in _spoil(change)
