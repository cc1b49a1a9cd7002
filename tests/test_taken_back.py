"""What is withdrawn, seen by everybody who harvests: nowhere is it still, everywhere is it told."""

from collections.abc import Iterator
from pathlib import Path

import orjson
import pytest
import zstandard
from click.testing import CliRunner
from conformance.released import demo
from lxml import etree
from test_front import read

from lodpipe import pipeline, project
from lodpipe.cli import main
from lodpipe.serve import Settings, create
from lodpipe.serve.front import Front

BASE = "https://collections.example.org/"
THING = "object/item-0104"
O = "{http://www.openarchives.org/OAI/2.0/}"  # noqa: E741


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    found = tmp_path_factory.mktemp("demo")
    demo(found)
    return found


@pytest.fixture(scope="module")
def front(folder: Path) -> Front:
    """The server, which runs since before the withdrawal."""
    chosen = project.load(folder)
    made = create(Settings(chosen, pipeline.open_workshop(chosen).concepts))
    assert isinstance(made, Front)
    return made


@pytest.fixture(scope="module")
def before(folder: Path, front: Front) -> dict[str, bool]:
    """Whether each output has the thing, before and, once this is made, no more."""
    assert read(front, "/" + THING)[0] == 200
    assert read(front, "/" + THING, accept="text/turtle")[0] == 200
    found = {name: b"item-0104" in body for name, body in outputs(folder)}
    done = CliRunner().invoke(
        main,
        ["withdraw", THING, str(folder), "--reason", "Letter of 2 May.", "--by", "Teveli Council"],
    )
    assert done.exit_code == 0, done.output
    return found


def outputs(folder: Path) -> Iterator[tuple[str, bytes]]:
    """Every file of the export by its folder or name, dumps unpacked."""
    root = folder / "export"
    for path in sorted(root.rglob("*")):
        if path.is_file():
            body = path.read_bytes()
            if path.suffix == ".zst":
                reader = zstandard.ZstdDecompressor().stream_reader(body, read_across_frames=True)
                body = reader.read()
            yield path.relative_to(root).as_posix(), body


def test_the_dumps_have_it_no_more(folder: Path, before: dict[str, bool]) -> None:
    had = {name for name, has in before.items() if has}
    after = dict(outputs(folder))
    have = {name for name, body in after.items() if b"item-0104" in body}
    page = after["page/item-0104.html"]

    assert {f"linked-art/{THING}.json", f"edm/{THING}.xml", "nquads.nq.zst", "sitemap-1.xml"} <= had
    # what is left tells that it is gone
    for name in have:
        assert name.startswith(("activity/", "gone", "tombstone")) or name in (
            "gone.json", f"{THING}.json", "page/item-0104.html", "de/page/item-0104.html",
        ), name  # fmt: skip
    assert "nquads.nq.zst" not in have
    assert b"<h1>No longer published</h1>" in page


@pytest.mark.usefixtures("before")
@pytest.mark.parametrize("accept", ["", "text/turtle", "text/html"])
@pytest.mark.parametrize("query", [b"", b"at=2026-02-01"])
def test_its_address_answers_gone(front: Front, accept: str, query: bytes) -> None:
    status, _, body = read(front, "/" + THING, query, accept=accept)

    assert status == 410
    if accept == "text/html":
        assert b"<h1>No longer published</h1>" in body
    else:
        assert orjson.loads(body)["type"] == "Tombstone"


@pytest.mark.usefixtures("before")
@pytest.mark.parametrize("prefix", ["oai_dc", "edm"])
def test_harvesters_get_a_deleted_header(front: Front, prefix: str) -> None:
    arguments = f"identifier=oai:collections.example.org:{THING}&metadataPrefix={prefix}"
    root = etree.fromstring(read(front, "/oai", f"verb=GetRecord&{arguments}".encode())[2])
    (header,) = root.iter(f"{O}header")
    since = str(header.findtext(f"{O}datestamp"))
    listed = read(front, "/oai", f"verb=ListRecords&metadataPrefix={prefix}&from={since}".encode())
    told = {
        str(one.findtext(f"{O}identifier")).rpartition(":")[2]: one.get("status")
        for one in etree.fromstring(listed[2]).iter(f"{O}header")
    }

    assert header.get("status") == "deleted"
    assert root.find(f".//{O}metadata") is None
    assert told[THING] == "deleted"


@pytest.mark.usefixtures("before")
@pytest.mark.parametrize(
    ("stream", "name"), [("changes", "iiif/manifest/item-0104"), ("records", THING)]
)
def test_streams_tell_of_a_deletion(front: Front, stream: str, name: str) -> None:
    head = orjson.loads(read(front, f"/activity/{stream}")[2])
    page = orjson.loads(read(front, head["last"]["id"].removeprefix(BASE[:-1]))[2])
    kinds = [one["type"] for one in page["orderedItems"] if one["object"]["id"] == BASE + name]

    assert kinds[-1] == "Delete"
