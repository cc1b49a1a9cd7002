"""What the index knows of a document, and what may not be seen."""

from pathlib import Path

import pytest

from lodpipe.parts import IndexReader, IndexWriter, United
from lodpipe.pipeline.known import Visible, entry_of, references
from lodpipe.records import Entry

BASE = "https://collections.example.org/"


def test_an_entry_is_read_off_the_tree() -> None:
    item = BASE + "object/item-0101"
    tree = {
        "id": item,
        "type": "HumanMadeObject",
        "_label": "Summit cutting",
        "part_of": {"id": BASE + "object/album-1-p12", "type": "HumanMadeObject"},
        "shows": [{"id": BASE + "visual/0101", "type": "VisualItem"}],
        "produced_by": {
            "id": item + "#production",
            "part": [{"id": item + "#exposure"}, {"id": item + "#printing"}],
        },
        "modified_by": [{"id": item + "#mounting"}],
    }

    assert entry_of(tree) == Entry(
        item,
        "HumanMadeObject",
        "Summit cutting",
        (BASE + "object/album-1-p12",),
        (BASE + "visual/0101",),
        ("production", "exposure", "printing", "mounting"),
    )
    assert sorted(set(references(tree, BASE))) == [
        BASE + "object/album-1-p12",
        BASE + "visual/0101",
    ]


@pytest.fixture
def album(tmp_path: Path) -> IndexReader:
    """An album of two pages with three items; two of the items show one image."""
    writer = IndexWriter(tmp_path / "index.sqlite")
    for key, parents, shows in (
        ("album", (), ()),
        ("p1", ("album",), ()),
        ("p2", ("album",), ()),
        ("item-1", ("p1",), ("image-1",)),
        ("item-2", ("p2",), ("image-1",)),
        ("item-3", ("p2",), ("image-3",)),
        ("image-1", (), ()),
        ("image-3", (), ()),
    ):
        writer.add(United(key, {"id": key}), Entry(key, "HumanMadeObject", key, parents, shows))
    writer.close()
    return IndexReader(tmp_path / "index.sqlite")


def test_to_pass_two_a_withheld_document_is_not_there(album: IndexReader) -> None:
    seen = Visible(album, frozenset({"item-3"}))

    assert seen.get("item-3") is None
    assert seen.get("item-2") is not None
