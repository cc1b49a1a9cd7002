"""How far access reaches: down, sideways, and up into pictures."""

from pathlib import Path

import pytest

from lodpipe.parts import IndexReader, IndexWriter, United
from lodpipe.pipeline import reach
from lodpipe.pipeline.known import entry_of
from lodpipe.records import Claim, Tree


def thing(key: str, part_of: str = "", shows: str = "", **more: object) -> Tree:
    tree: Tree = {"id": key, "type": "HumanMadeObject", **more}
    if part_of:
        tree["part_of"] = [{"id": part_of, "type": "HumanMadeObject"}]
    if shows:
        tree["shows"] = [{"id": shows, "type": "VisualItem"}]
    return tree


def made_from(key: str, role: str, used: str, key_of_it: str = "used_specific_object") -> Tree:
    part = {"id": f"{key}#{role}", key_of_it: [{"id": used, "type": "HumanMadeObject"}]}
    return thing(key, produced_by={"id": f"{key}#production", "part": [part]})


DOCUMENTS = [
    thing("album"),
    thing("p1", "album"),
    thing("p2", "album"),
    thing("item-1", "p1", "image-1"),
    thing("item-2", "p2", "image-1"),
    thing("item-3", "p2", "image-3"),
    {"id": "image-1", "type": "VisualItem", "represents": [{"id": "vey", "type": "Person"}]},
    {"id": "image-3", "type": "VisualItem"},
    made_from("print", "printing", "negative"),
    thing("negative"),
    made_from("lithograph", "drawing", "print", "influenced_by"),
    made_from("collage", "pasting", "cut"),
    made_from("photograph", "exposure", "collage"),
    thing("cut"),
    thing("copy"),
    thing("not-a-copy"),
]
CLAIMS = [
    Claim("c1", "copy", "copy_of", "item-3", standing="proposed", effective="proposed"),
    Claim("c2", "not-a-copy", "copy_of", "item-3", standing="rejected", effective="rejected"),
    Claim("c3", "item-3", "sitter", "dolen"),
    Claim("c4", "collage", "composed_of", "item-3"),
]


@pytest.fixture(scope="module")
def along(tmp_path_factory: pytest.TempPathFactory) -> reach.Links:
    path: Path = tmp_path_factory.mktemp("index") / "index.sqlite"
    writer = IndexWriter(path)
    for tree in DOCUMENTS:
        writer.add(United(tree["id"], tree), entry_of(tree))
    writer.close()
    return reach.links(IndexReader(path), CLAIMS)


ITEMS_2 = {"p2", "item-1", "item-2", "item-3", "image-1", "image-3", "copy"}
WITHHELD: dict[str, tuple[set[str], set[str], set[str]]] = {
    "nothing": (set(), set(), set()),
    "down and sideways": ({"p2"}, set(), ITEMS_2),
    "all of it": ({"album"}, set(), {"album", "p1", *ITEMS_2}),
    "another thing that shows the image": ({"item-1"}, set(), {"item-1", "item-2", "image-1"}),
    "unless that is opened by name": ({"item-1"}, {"item-2"}, {"item-1"}),
    "a page opened by name, with what lies on it": ({"album"}, {"p2"}, {"album", "p1", "item-1", "item-2", "image-1"}),
    "a claim of any standing but rejected": ({"copy"}, set(), {"copy", "item-3", "image-3"}),
    "a print, its negative, and what was drawn after it": (
        {"negative"}, set(), {"negative", "print", "lithograph"},
    ),
    "not the collage that holds it": ({"cut"}, set(), {"cut"}),
    "an image by itself": ({"image-3"}, set(), {"image-3", "item-3", "copy"}),
    "what nobody knows": ({"unknown"}, set(), {"unknown"}),
}  # fmt: skip


@pytest.mark.parametrize("case", WITHHELD)
def test_what_is_withheld_takes_along(case: str, along: reach.Links) -> None:
    named, opened, wanted = WITHHELD[case]

    assert reach.withheld(named, opened, along) == wanted


NOTICED: dict[str, tuple[str, set[str]]] = {
    "an item, other prints, pages, album": (
        "item-1", {"item-1", "item-2", "image-1", "p1", "p2", "album"},
    ),
    "a page, all of it, and what shows the same": ("p2", {*ITEMS_2, "p1", "album", "collage"}),
    "a person, and pictures that show them by record": (
        "vey", {"vey", "item-1", "item-2", "image-1", "p1", "p2", "album"},
    ),
    "a person, by claim": (
        "dolen", {"dolen", "item-3", "image-3", "copy", "p2", "album", "collage"},
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", NOTICED)
def test_a_notice_stands_before_all_that_shows_it(case: str, along: reach.Links) -> None:
    named, wanted = NOTICED[case]

    assert reach.with_notice({named: ["n"]}, along) == dict.fromkeys(sorted(wanted), ("n",))


def test_several_notices_keep_their_order_and_stand_once(along: reach.Links) -> None:
    found = reach.with_notice({"item-1": ["b", "a"], "item-2": ["a"]}, along)

    assert found["album"] == ("b", "a")


def test_a_collage_and_its_print_may_show_a_withheld_component(along: reach.Links) -> None:
    found = reach.carriers(along)

    assert found["cut"] == ("collage",)
    assert found["item-3"] == ("collage", "p2")
    assert found["collage"] == ("photograph",)
