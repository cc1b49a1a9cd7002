"""Rows of people, places and sources in the evidence folder make documents by shipped mappings."""

from pathlib import Path
from typing import Any

import pytest
from catalogue_help import BASE, write_project

from lodpipe import pipeline
from lodpipe.findings import Finding
from lodpipe.records import Record, Tree

PRIMARY, FORMER = "Primary Name", "Former Name"


def documents(folder: Path, name: str, text: str) -> tuple[list[Tree], list[Finding]]:
    """What the rows of one evidence file make, and what was found wrong."""
    chosen = write_project(folder)
    (folder / f"evidence/{name}.csv").write_text(text, encoding="utf-8")
    shop = pipeline.open_workshop(chosen)
    [source] = [s for s in shop.sources() if s.file == f"evidence/{name}.csv"]
    found: list[Finding] = []
    mapping, context = shop.mapping(source.mapping), shop.context(source, found.append)
    made: list[Tree] = []
    for record in shop.read(source, found.append):
        assert isinstance(record, Record)
        mapped = mapping.map(record, context, found.append)
        if mapped is not None:
            assert (mapped.claims, mapped.layout) == ([], [])
            made.extend(draft.tree for draft in mapped.documents)
    mapping.leftover(found.append)
    return made, [f for f in found if f.code != "column"]


def names(tree: Tree) -> list[tuple[str, str]]:
    return [(n["classified_as"][0]["_label"], n["content"]) for n in tree.get("identified_by", [])]


def span(node: dict[str, Any]) -> tuple[str, ...]:
    """Name, EDTF and ends of a time span."""
    made = node["timespan"]
    ends = ("begin_of_the_begin", "end_of_the_begin", "begin_of_the_end", "end_of_the_end")
    return (
        *(n["content"] for n in made["identified_by"]),
        *(made.get(end, "")[:10] for end in ends),
    )


def test_a_person_has_name_life_and_years_of_work(tmp_path: Path) -> None:
    made, found = documents(
        tmp_path,
        "people",
        "key,name,kind,born,died,active,sources,born_sources,died_sources,notes\n"
        "person/dolen,Mira Dolen,person,1846~,1911-08-03,1868/1885,text/letter,,text/gazette,seen in 1870\n",
    )
    [dolen] = made
    assert (dolen["id"], dolen["type"], dolen["_label"]) == (
        BASE + "person/dolen",
        "Person",
        "Mira Dolen",
    )
    assert names(dolen) == [(PRIMARY, "Mira Dolen")]
    assert span(dolen["born"]) == ("about 1846", "1846~", "1841-01-01", "", "", "1851-12-31")
    assert span(dolen["died"]) == (
        "3 August 1911",
        "1911-08-03",
        "1911-08-03",
        "",
        "",
        "1911-08-03",
    )
    [work] = dolen["carried_out"]
    assert work["classified_as"][0]["id"] == BASE + "vocab/role/active"
    assert span(work) == (
        "1868 to 1885", "1868/1885", "1868-01-01", "1868-12-31", "1885-01-01", "1885-12-31"
    )  # fmt: skip
    assert "seen in 1870" not in str(dolen)
    assert found == []


@pytest.mark.parametrize(
    ("key", "kind", "path", "class_name"),
    [
        ("upper-section", "group", "group/upper-section", "Group"),
        ("group/upper-section", "", "group/upper-section", "Group"),
        ("vey", "person", "person/vey", "Person"),
        ("vey", "", "person/vey", "Person"),
        ("person/vey", "", "person/vey", "Person"),
        ("unnamed 2", "person", "person/unnamed%202", "Person"),
    ],
)
def test_key_and_kind_say_whether_it_is_a_person(
    tmp_path: Path, key: str, kind: str, path: str, class_name: str
) -> None:
    made, found = documents(tmp_path, "people", f"key,name,kind\n{key},Somebody,{kind}\n")
    assert [(tree["id"], tree["type"]) for tree in made] == [(BASE + path, class_name)]
    assert found == []


def test_a_group_is_formed_and_dissolved(tmp_path: Path) -> None:
    [group], _ = documents(
        tmp_path, "people", "key,name,kind,born,died\nupper-section,Engineers,group,1866-05,1874\n"
    )
    assert span(group["formed_by"])[:2] == ("May 1866", "1866-05")
    assert span(group["dissolved_by"])[:2] == ("1874", "1874")
    assert not {"born", "died", "carried_out"} & group.keys()


def test_a_place_has_former_names_a_whole_and_a_point(tmp_path: Path) -> None:
    made, found = documents(
        tmp_path,
        "places",
        "key,name,former_names,within,near,latitude,longitude,sources\n"
        "place/hessendal,Hessendal,Camp Nine; Nine,place/ilvaran-highlands;sorn,place/sorn-pass,61.871,14.302,text/diary-1\n"
        "sorn-pass,Sorn Pass,,,,,,\n",
    )
    hessendal, pass_ = made
    assert names(hessendal) == [(PRIMARY, "Hessendal"), (FORMER, "Camp Nine"), (FORMER, "Nine")]
    assert [p["id"] for p in hessendal["part_of"]] == [
        BASE + "place/ilvaran-highlands", BASE + "place/sorn"
    ]  # fmt: skip
    assert hessendal["defined_by"] == "POINT(14.302 61.871)"
    assert names(pass_) == [(PRIMARY, "Sorn Pass")]
    assert pass_.keys() == {"id", "type", "_label", "identified_by"}
    assert found == []


@pytest.mark.parametrize(("latitude", "longitude"), [("61.871", ""), ("", "14.302"), ("", "")])
def test_half_a_point_is_none(tmp_path: Path, latitude: str, longitude: str) -> None:
    [place], _ = documents(
        tmp_path, "places", f"key,name,latitude,longitude\nx,X,{latitude},{longitude}\n"
    )
    assert "defined_by" not in place


def test_a_source_has_its_citation_kind_day_and_page(tmp_path: Path) -> None:
    made, found = documents(
        tmp_path,
        "sources",
        "key,citation,kind,date,url,withdrawn\n"
        'text/diary-3,"Diary, vol. 3.",diary,1871/1873,https://library.example.org/diary-3,\n'
        "caption-0101,Caption under item 0101,caption,,,yes\n",
    )
    diary, caption = made
    assert (diary["id"], diary["type"]) == (BASE + "text/diary-3", "LinguisticObject")
    assert diary["classified_as"][0]["id"] == BASE + "vocab/source/diary"
    assert [s["content"] for s in diary["referred_to_by"]] == ["Diary, vol. 3."]
    assert span(diary["created_by"])[1:] == (
        "1871/1873", "1871-01-01", "1871-12-31", "1873-01-01", "1873-12-31"
    )  # fmt: skip
    [page] = diary["subject_of"][0]["digitally_carried_by"]
    assert page["access_point"][0]["id"] == "https://library.example.org/diary-3"
    assert caption["id"] == BASE + "text/caption-0101"
    assert not {"created_by", "subject_of"} & caption.keys()
    assert found == []


@pytest.mark.parametrize(
    ("name", "text", "message"),
    [
        (
            "people",
            "key,name,born\nvey,Jonas Vey,about 1838\n",
            "`about 1838` is not an EDTF date",
        ),
        ("sources", "key,citation,kind\nd,A diary,dairy\n", "the table `source-kinds` does not have `dairy`"),
        ("sources", "key,citation,url\nd,A diary,library.example.org\n", "`library.example.org` is not a web address"),
        ("places", "key,name,latitude,longitude\nx,X,61°,14\n", "`61°` is not a number"),
        ("people", "key,name\n,Jonas Vey\n", "the record has no `key`"),
    ],
)  # fmt: skip
def test_a_slip_is_told(tmp_path: Path, name: str, text: str, message: str) -> None:
    _, found = documents(tmp_path, name, text)
    assert message in [f.message for f in found]
