"""Change streams (https://iiif.io/api/discovery/1.0/), sitemaps (https://www.sitemaps.org) and the
description of the dataset, over the demo and over archives made by hand."""

import hashlib
import re
from pathlib import Path
from typing import Any

import orjson
import pytest
from conformance.released import Released, demo
from harvesting import BASE, instant, release
from lxml import etree
from rdflib import PROV, RDF, VOID, Graph, URIRef

from lodpipe.archive import Activity, Archive, Harvest
from lodpipe.publish.harvest import changes, sitemap
from lodpipe.publish.harvest.dataset import DCAT
from lodpipe.publish.iiif import Site

SITE = Site(BASE, {"en": "Library"})
INSTANTS = {number: instant(number) for number in range(1, 10)}


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Released:
    return demo(tmp_path_factory.mktemp("demo"))


def activities(count: int) -> list[Activity]:
    kinds = ("Create", "Update", "Delete")
    return [
        Activity(n, kinds[n % 3], f"{BASE}object/{n}", 1 + n // 400) for n in range(1, count + 1)
    ]


def stream_of(count: int) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    every = activities(count)
    head = changes.collection(changes.MANIFEST_CHANGES, count, SITE, "http://x.example/")
    return head, [
        changes.page(
            changes.MANIFEST_CHANGES, number, every[number * changes.PAGE :][: changes.PAGE],
            count, SITE, INSTANTS,
        )
        for number in range(changes.pages(count))
    ]  # fmt: skip


@pytest.mark.parametrize("count", [1, changes.PAGE, changes.PAGE + 1, 3 * changes.PAGE])
def test_pages_are_linked_and_told_oldest_first(count: int) -> None:
    head, pages = stream_of(count)
    ids = [page["id"] for page in pages]
    told = [item for page in pages for item in page["orderedItems"]]

    assert (head["first"]["id"], head["last"]["id"]) == (ids[0], ids[-1])
    assert head["totalItems"] == len(told) == count
    assert [page.get("prev", {}).get("id") for page in pages] == [None, *ids[:-1]]
    assert [page.get("next", {}).get("id") for page in pages] == [*ids[1:], None]
    assert [page["startIndex"] for page in pages] == [n * changes.PAGE for n in range(len(pages))]
    assert [item["endTime"] for item in told] == sorted(item["endTime"] for item in told)
    assert len({item["id"] for item in told}) == count


def musts(head: dict[str, Any], pages: list[dict[str, Any]]) -> None:
    """Every MUST of https://iiif.io/api/discovery/1.0/#activity-streams."""
    context = "http://iiif.io/api/discovery/1/context.json"
    assert head["@context"] == context
    assert head["type"] == "OrderedCollection"
    assert head["last"].keys() == {"id", "type"}
    for number, page in enumerate(pages):
        assert page["@context"] == context
        assert page["type"] == "OrderedCollectionPage"
        assert page["orderedItems"]
        assert ("prev" in page) == (number > 0)
        assert page["partOf"]["id"] == head["id"]
        for item in page["orderedItems"]:
            assert item["type"] in ("Create", "Update", "Delete")
            assert item["object"]["id"].startswith("https://")
            assert item["object"]["type"]
            assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", item["endTime"])


def test_what_is_deleted_is_told_by_its_iri_alone() -> None:
    _, pages = stream_of(10)
    for item in pages[0]["orderedItems"]:
        assert ("seeAlso" in item["object"]) == (item["type"] != "Delete")


def test_the_streams_of_the_demo_keep_every_must(exported: Released) -> None:
    folder = exported.folder / "export" / "activity"
    for name, kind, least in (("changes", "Manifest", 60), ("records", None, 300)):
        head = orjson.loads((folder / f"{name}.json").read_bytes())
        pages = [orjson.loads(f.read_bytes()) for f in sorted((folder / name / "page").iterdir())]
        musts(head, pages)
        items = [item for page in pages for item in page["orderedItems"]]

        assert len(items) == head["totalItems"] >= least
        assert {item["type"] for item in items} == {"Create"}
        if kind:
            assert {item["object"]["type"] for item in items} == {kind}
            manifests = exported.folder / "export" / "iiif" / "manifest"
            ids = {item["object"]["id"].rpartition("/")[2] for item in items}
            assert ids == {file.stem for file in manifests.glob("*.json")}
        else:
            assert {"HumanMadeObject", "Person", "Place"} <= {i["object"]["type"] for i in items}


def test_nothing_of_what_was_withheld_from_the_start_is_told(exported: Released) -> None:
    folder = exported.folder / "export"
    told = [
        folder / "dataset.ttl",
        folder / "sitemap-1.xml",
        *(folder / "activity").rglob("*.json"),
    ]

    assert len(told) >= 6
    assert [file.name for file in told if b"0107" in file.read_bytes()] == []


def test_activities_follow_the_releases(tmp_path: Path) -> None:
    path = tmp_path / "archive.sqlite"
    for titles in ({"a": "1", "b": "1"}, {"a": "2", "b": "1"}, {"b": "1"}, {"a": "3", "b": "1"}):
        release(path, {"iiif": titles})
    with Archive(path) as opened:
        harvest = Harvest(opened)
        told = [(a.kind, a.uri[-1], a.release) for a in harvest.activities("iiif", 4, 0, 100)]
        early = list(harvest.activities("iiif", 2, 0, 100))
        middle = [a.number for a in harvest.activities("iiif", 4, 1, 2)]

    assert told == [
        ("Create", "a", 1), ("Create", "b", 1), ("Update", "a", 2), ("Delete", "a", 3),
        ("Create", "a", 4),
    ]  # fmt: skip
    assert len(early) == 3
    assert middle == [2, 3]


# --- sitemaps --------------------------------------------------------------------------------

SITEMAP = "{http://www.sitemaps.org/schemas/sitemap/0.9}"


@pytest.mark.parametrize(
    ("count", "address", "files"),
    [
        (0, "", 0),
        (1, "https://c.example/a?b&c", 1),
        (50_000, "https://c.example/{}", 1),
        (50_001, "https://c.example/{}", 2),
        (11_000, "https://c.example/" + "x" * 1_000 + "{}", 2),  # by size
    ],
)
def test_sitemaps_keep_the_limits(count: int, address: str, files: int) -> None:
    addresses = [(address.format(number), instant(1)) for number in range(count)]
    made = list(sitemap.sitemaps(addresses))
    told = [node.text for body in made for node in etree.fromstring(body).iter(f"{SITEMAP}loc")]

    assert len(made) == files
    assert told == [uri for uri, _ in addresses]
    assert all(len(body) <= 10_000_000 for body in made)
    assert all(body.count(b"<url>") <= 50_000 for body in made)


def test_the_sitemaps_of_the_demo_name_its_documents_and_pages(exported: Released) -> None:
    folder = exported.folder / "export"
    index = etree.fromstring((folder / "sitemap.xml").read_bytes())
    files = [str(node.text).removeprefix(BASE) for node in index.iter(f"{SITEMAP}loc")]
    told = {
        node.text
        for name in files
        for node in etree.fromstring((folder / name).read_bytes()).iter(f"{SITEMAP}loc")
    }
    documents = {tree["id"] for tree in exported.documents()}

    pages = {BASE + path.relative_to(folder).as_posix() for path in folder.rglob("*.html")}

    assert told == {uri for uri in documents if not uri.startswith(f"{BASE}vocab/")} | pages
    assert f"{BASE}page/item-0101.html" in pages
    assert (folder / "robots.txt").read_text(encoding="utf-8") == (
        f"User-agent: *\nDisallow: /oai\nDisallow: /activity/\n\nSitemap: {BASE}sitemap.xml\n"
    )


# --- the dataset -----------------------------------------------------------------------------


def test_the_description_of_the_dataset_reads_back(exported: Released) -> None:
    folder = exported.folder / "export"
    graph = Graph().parse(folder / "dataset.ttl", format="turtle")
    whole = URIRef(f"{BASE}dataset")
    [version] = graph.objects(whole, DCAT.hasCurrentVersion)
    [dump] = graph.objects(version, DCAT.distribution)
    [checksum] = graph.objects(dump, URIRef("http://spdx.org/rdf/terms#checksum"))
    [digest] = graph.objects(checksum, URIRef("http://spdx.org/rdf/terms#checksumValue"))
    body = (folder / "nquads.nq.zst").read_bytes()
    counts = {
        str(graph.value(part, VOID["class"])): int(str(graph.value(part, VOID.entities)))
        for part in graph.objects(version, VOID.classPartition)
    }
    crm = "http://www.cidoc-crm.org/cidoc-crm/"
    typed = [line.split(" ")[2] for line in exported.quads if "#type> <" in line]

    assert (whole, RDF.type, DCAT.Dataset) in graph
    assert str(digest) == hashlib.sha256(body).hexdigest()
    assert int(str(graph.value(dump, DCAT.byteSize))) == len(body)
    assert int(str(graph.value(version, VOID.triples))) == len(exported.quads)
    assert int(str(graph.value(version, VOID.documents))) == len(list(exported.documents()))
    assert counts[f"{crm}E13_Attribute_Assignment"] == typed.count(
        f"<{crm}E13_Attribute_Assignment>"
    )
    assert counts[f"{crm}E22_Human-Made_Object"] == len(
        [tree for tree in exported.documents() if tree["type"] == "HumanMadeObject"]
    )
    [run] = graph.objects(version, PROV.wasGeneratedBy)
    assert len(list(graph.objects(run, PROV.used))) >= 15


@pytest.mark.reference
def test_every_term_of_the_description_is_declared(exported: Released, reference: Path) -> None:
    """Against DCAT 3, VoID and PROV-O as W3C publishes them."""
    declared = Graph()
    for name in ("ns/dcat3.ttl", "ns/prov-o.ttl", "void/void.ttl"):
        declared.parse(reference / "reference" / "w3c" / name, format="turtle")
    graph = Graph().parse(exported.folder / "export" / "dataset.ttl", format="turtle")
    spaces = (str(DCAT), str(PROV), str(VOID))
    used = {
        str(term)
        for _, prop, value in graph
        for term in (prop, value)
        if str(term).startswith(spaces)
    }

    assert {term for term in used if (URIRef(term), None, None) not in declared} == set()
    assert len(used) >= 25


@pytest.mark.reference
def test_a_page_has_the_structure_of_the_examples(exported: Released, reference: Path) -> None:
    """Keys of https://iiif.io/api/discovery/1.0/ as its own examples have them."""
    folder = reference / "reference" / "iiif" / "spec-examples" / "discovery-1.0"
    examples = [
        orjson.loads(f.read_bytes())
        for f in sorted(folder.glob("*.json"))
        if f.name != "_index.json"
    ]
    keys: dict[str, set[str]] = {}
    for example in examples:
        collect(example, keys)
    ours: dict[str, set[str]] = {}
    for file in sorted((exported.folder / "export" / "activity").rglob("*.json")):
        collect(orjson.loads(file.read_bytes()), ours)
    keys["Create"] |= keys["Update"]  # of activities only some examples have an id
    wanted = ("OrderedCollection", "OrderedCollectionPage", "Create", "Manifest")

    for kind in wanted:
        assert ours[kind] - keys[kind] == set(), kind
    assert len(examples) > 20


def collect(node: Any, keys: dict[str, set[str]]) -> None:
    if isinstance(node, dict):
        kind = node.get("type")
        if isinstance(kind, str):
            keys.setdefault(kind, set()).update(node)
        for value in node.values():
            collect(value, keys)
    elif isinstance(node, list):
        for value in node:
            collect(value, keys)
