"""The mappings for MARC 21 and EAD, on records and a finding aid of the demo's world."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import orjson
import pymarc
import pytest
from catalogue_help import NOW

from lodpipe import pipeline, project
from lodpipe.archive import Archive
from lodpipe.pipeline.progress import Silent

DATA = Path(__file__).parent / "data"
BASE = "https://collections.example.org/"
PROJECT = """
[site]
base = "https://collections.example.org/"
name = {{en = "Highland Railway Library"}}
publisher = "group/highland-railway-library"
[access]
default = "open"
[[source]]
file = "{file}"
mapping = "builtin:{mapping}"
by = "group/highland-railway-library"
dated = "2024-03-01"
"""


def released(folder: Path, file: str, mapping: str) -> tuple[dict[str, Any], pipeline.Result]:
    """Run a source of one file; its documents by key, and what the run said."""
    (folder / "lodpipe.toml").write_text(PROJECT.format(file=file, mapping=mapping), "utf-8")
    options = pipeline.Options(NOW, export=False)
    result = pipeline.run(project.load(folder), options, Silent())
    with Archive(folder / "archive" / "archive.sqlite") as archive:
        trees = [orjson.loads(document.body) for document in archive.documents(1)]
    return {tree["id"].removeprefix(BASE): tree for tree in trees}, result


def contents(tree: Any, kind: str) -> list[str]:
    """Contents of the nodes of a key."""
    return [node["content"] for node in tree.get(kind, ())]


def parts(tree: Any) -> dict[str, Any]:
    return {part["id"].partition("#")[2]: part for part in tree["produced_by"]["part"]}


@pytest.fixture(scope="module")
def marc(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, Any], pipeline.Result]:
    folder = tmp_path_factory.mktemp("marc")
    body = (DATA / "marc" / "pictures.xml").read_bytes()
    (folder / "pictures.xml").write_bytes(body)
    return released(folder, "pictures.xml", "marc21.yaml")


def test_a_picture_of_marc(marc: tuple[dict[str, Any], pipeline.Result]) -> None:
    trees, result = marc
    tree = trees["object/hrl-0106"]
    roles = parts(tree)
    span = roles["making"]["timespan"]

    assert {name for name in result.tally.counts if name[0] != "info"} == set()
    assert contents(tree, "identified_by") == ["Sledge below Sorn Pass", "Iri sor hal", "hrl-0106"]
    assert contents(tree, "referred_to_by") == [
        "Title from the diary of the section.", "Public domain.", "albumen", "paper",
        "1 photograph", "15 x 20 cm",
    ]  # fmt: skip
    assert [kind["_label"] for kind in tree["classified_as"]] == ["Albumen Print"]
    assert span["identified_by"][1]["content"] == "1872-02-14"
    assert roles["exposure"]["carried_out_by"][0]["_label"] == "Dolen, Mira"
    assert roles["printing"]["carried_out_by"][0]["_label"] == "Korvath, Anselm"
    page = tree["subject_of"][0]["digitally_carried_by"][0]["access_point"][0]["id"]
    assert page == "https://library.example.org/0106"
    assert contents(trees["person/Dolen%2C%20Mira%2C%201846-1911"], "identified_by") == [
        "Dolen, Mira, 1846-1911", "Dolen, Mira", "Dol En, Mira",
    ]  # fmt: skip


def test_what_a_picture_is_about(marc: tuple[dict[str, Any], pipeline.Result]) -> None:
    trees, _ = marc
    (image,) = trees["object/hrl-0106"]["shows"]
    about = trees[image["id"].removeprefix(BASE)]["about"]

    assert [(ref["type"], ref["_label"]) for ref in about] == [
        ("Person", "Dolen, Mira"), ("Type", "Sledges"), ("Place", "Sorn Pass"),
    ]  # fmt: skip
    assert "shows" not in trees["object/hrl-0101"]


def test_years_of_008_count_where_nothing_else_tells_any(
    marc: tuple[dict[str, Any], pipeline.Result],
) -> None:
    years = {
        key: parts(marc[0][f"object/{key}"])["making"]["timespan"]["identified_by"][1]["content"]
        for key in ("hrl-0101", "hrl-0107")
    }
    assert years == {"hrl-0101": "1872?", "hrl-0107": "[1872..1875]"}


def test_who_is_only_attributed_is_a_claim(marc: tuple[dict[str, Any], pipeline.Result]) -> None:
    tree = marc[0]["object/hrl-0101"]
    making = parts(tree)["making"]

    assert "carried_out_by" not in making
    assert contents(tree["produced_by"], "referred_to_by") == ["attributed to Dolen, Mira"]
    assert making["attributed_by"][0]["assigned"][0]["_label"] == "Dolen, Mira"
    assert making["timespan"]["identified_by"][1]["content"] == "1872?"
    assert "collector: Sorn Railway Company" in contents(tree, "referred_to_by")


def test_iso_2709_makes_the_same_documents(
    marc: tuple[dict[str, Any], pipeline.Result], tmp_path: Path
) -> None:
    records = pymarc.parse_xml_to_array(str(DATA / "marc" / "pictures.xml"))
    (tmp_path / "pictures.mrc").write_bytes(b"".join(one.as_marc() for one in records))
    trees, _ = released(tmp_path, "pictures.mrc", "marc21.yaml")
    text = orjson.dumps(trees).replace(b"pictures.mrc", b"pictures.xml")

    assert orjson.loads(text) == marc[0]


def numbered(aid: str) -> str:
    """The same finding aid with components that are numbered by their level."""
    level, parts = 0, []
    for part in re.split(r"(<c |</c>)", aid):
        level += part == "<c "
        parts.append({"<c ": f"<c{level:02} ", "</c>": f"</c{level:02}>"}.get(part, part))
        level -= part == "</c>"
    return "".join(parts)


@pytest.mark.parametrize("form", [str, numbered])
def test_a_finding_aid_of_three_levels(tmp_path: Path, form: Callable[[str], str]) -> None:
    aid = form((DATA / "ead" / "railway.xml").read_text(encoding="utf-8"))
    assert ("<c03 id=" in aid) is (form is numbered)
    (tmp_path / "railway.xml").write_text(aid, encoding="utf-8")
    trees, result = released(tmp_path, "railway.xml", "ead.yaml")
    above = {
        key: [ref["id"].removeprefix(BASE) for ref in tree.get("member_of", ())]
        for key, tree in trees.items()
        if key.startswith(("set/", "object/"))
    }
    item = trees["object/sr-1-2-5"]

    assert {name for name in result.tally.counts if name[0] != "info"} == set()
    assert above == {
        "set/sorn-railway": [],
        "set/sr-1": ["set/sorn-railway"],
        "set/sr-1-2": ["set/sr-1"],
        "set/sr-2": ["set/sorn-railway"],
        "object/sr-1-2-5": ["set/sr-1-2"],
        "object/sr-1-2-6": ["set/sr-1-2"],
    }
    assert contents(item, "identified_by") == ["First snow shed from the north", "SR 1/2/5"]
    assert "photographer: Mira Dolen" in contents(item, "referred_to_by")
    assert parts(item)["making"]["timespan"]["identified_by"][1]["content"] == "1872-02"
    assert contents(trees["set/sorn-railway"], "identified_by") == [
        "Papers of the Sorn Railway", "sorn-railway",
    ]  # fmt: skip
    assert "4 boxes" in contents(trees["set/sr-1"], "referred_to_by")
