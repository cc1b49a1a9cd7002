"""Image services in other places: their sizes are read from what they say, and never typed."""

import shutil
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, ClassVar

import orjson
import pytest
from click.testing import CliRunner
from conformance.iiif_rules import faults
from conformance.released import REPOSITORY

from lodpipe import pipeline, project
from lodpipe.cli.commands import main
from lodpipe.evidence import Service, ServiceFault, read_service, read_services
from lodpipe.pipeline.progress import Silent
from lodpipe.publish import iiif
from lodpipe.records import Image, Layout, Placed

THREE = "http://iiif.io/api/image/3/context.json"
TWO = "http://iiif.io/api/image/2/context.json"
NOW = "2026-01-31T10:00:00Z"


def told(**more: Any) -> bytes:
    usual = {
        "@context": THREE, "id": "https://p.example.org/77", "type": "ImageService3",
        "protocol": "http://iiif.io/api/image", "profile": "level1", "width": 6000, "height": 4500,
    }  # fmt: skip
    return orjson.dumps({**usual, **more})


@pytest.mark.parametrize(
    ("body", "service"),
    [
        (told(), Service("https://p.example.org/77", 6000, 4500, 3, 1)),
        (told(**{"@context": ["http://example.org/own.json", THREE]}, profile="level0"),
         Service("https://p.example.org/77", 6000, 4500, 3, 0)),
        (orjson.dumps({
            "@context": TWO, "@id": "https://p.example.org/77/", "width": 60, "height": 45,
            "profile": ["http://iiif.io/api/image/2/level2.json", {"formats": ["jpg"]}],
        }), Service("https://p.example.org/77", 60, 45, 2, 2)),
    ],
)  # fmt: skip
def test_what_services_say(body: bytes, service: Service) -> None:
    assert read_service(body) == service


@pytest.mark.parametrize(
    ("body", "message"),
    [
        (b"<html>", "this is no JSON"),
        (b"[]", "this describes no image service that we know"),
        (told(**{"@context": "http://library.stanford.edu/iiif/image-api/1.1/context.json"}),
         "this describes no image service that we know"),
        (told(profile="http://example.org/mine"), "it says no id, or no level of compliance"),
        (told(id=77), "it says no id, or no level of compliance"),
        (told(width="6000"), "`https://p.example.org/77` says no width and height in pixels"),
        (told(height=0), "`https://p.example.org/77` says no width and height in pixels"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_said(body: bytes, message: str) -> None:
    with pytest.raises(ServiceFault) as raised:
        read_service(body)
    assert raised.value.message == message


BASE = "https://collections.example.org/"
PAGE, ITEM = f"{BASE}object/p1", f"{BASE}object/item-1"


def item_of(**service: int) -> dict[str, Any] | None:
    """The painting body of an item on a page whose picture is at a service, and the page's."""
    page = Image(PAGE, service="https://p.example.org/77", width=6000, height=4500, **service)
    layout = Layout(
        (page,),
        (Placed(PAGE, f"{BASE}object/a", 1), Placed(ITEM, PAGE, 1, region=(10, 20, 300, 200))),
    )
    trees = {uri: {"id": uri, "type": "HumanMadeObject", "_label": uri} for uri in (PAGE, ITEM)}
    trees[f"{BASE}object/a"] = {"id": f"{BASE}object/a", "type": "HumanMadeObject", "_label": "a"}
    site = iiif.Site(BASE, {"en": "Library"}, tiles=True, crops=True, thumbnail=400)
    made = dict(iiif.manifests(iiif.plan(layout), iiif.View(trees.get), site))
    assert [fault for tree in made.values() for fault in faults(tree)] == []
    album = made[f"{BASE}object/a"]
    body: dict[str, Any] = album["items"][0]["items"][0]["items"][0]["body"]
    small = album["items"][0].get("thumbnail", [{"id": ""}])[0]["id"]
    item = made.get(ITEM)
    crop = item["items"][0]["items"][0]["items"][0]["body"] if item else None
    return {"whole": body, "small": small, "crop": crop}


def test_a_service_of_level_one_gives_regions_and_small_pictures() -> None:
    made = item_of(level=1)

    assert made is not None
    assert made["whole"]["service"] == [
        {"id": "https://p.example.org/77", "type": "ImageService3", "profile": "level1"}
    ]
    assert made["small"] == "https://p.example.org/77/full/400,/0/default.jpg"
    assert made["crop"]["selector"] == {"type": "ImageApiSelector", "region": "10,20,300,200"}


def test_a_service_of_version_two_is_called_by_its_own_words() -> None:
    """https://iiif.io/api/presentation/3.0/#service: `@id` and `@type` for older services."""
    made = item_of(level=2, version=2)

    assert made is not None
    assert made["whole"]["id"] == "https://p.example.org/77/full/full/0/default.jpg"
    assert made["whole"]["service"] == [
        {
            "@id": "https://p.example.org/77",
            "@type": "ImageService2",
            "profile": "http://iiif.io/api/image/2/level2.json",
        }
    ]


def test_a_service_of_level_zero_is_asked_for_nothing_that_it_may_not_have() -> None:
    assert item_of() == {
        "whole": {
            "id": "https://p.example.org/77/full/max/0/default.jpg", "type": "Image",
            "format": "image/jpeg", "width": 6000, "height": 4500,
            "service": [
                {"id": "https://p.example.org/77", "type": "ImageService3", "profile": "level0"}
            ],
        },
        "small": "",
        "crop": None,
    }  # fmt: skip


# --- asked for by the user, and by nobody else


class Answers(BaseHTTPRequestHandler):
    """One good service, one that calls itself otherwise, and nothing else."""

    asked: ClassVar[list[str]] = []

    def do_GET(self) -> None:
        self.asked.append(self.path)
        host = f"http://127.0.0.1:{self.server.server_address[1]}"
        names = {"/good/info.json": f"{host}/good", "/moved/info.json": f"{host}/elsewhere"}
        body = told(id=names[self.path]) if self.path in names else b"nothing here"
        self.send_response(200 if self.path in names else 404)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *args: object) -> None:
        pass


@pytest.fixture
def host() -> Iterator[str]:
    Answers.asked.clear()
    with ThreadingHTTPServer(("127.0.0.1", 0), Answers) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{server.server_address[1]}"
        server.shutdown()


@pytest.mark.loopback
def test_sizes_come_with_the_run_after_somebody_has_asked(tmp_path: Path, host: str) -> None:
    folder = tmp_path / "demo"
    shutil.copytree(
        REPOSITORY / "sample", folder, ignore=shutil.ignore_patterns("archive", "export")
    )
    with (folder / "evidence/images.csv").open("a", encoding="utf-8") as file:
        file.write(f"object/dorrin-viaduct,,{host}/good/,,\n")
        file.write(f"object/negative-30,,{host}/moved,,\nobject/maquette-0105,,{host}/none,,\n")

    def run() -> pipeline.Result:
        return pipeline.run(project.load(folder), pipeline.Options(now=NOW), Silent())

    first = run()
    manifest = folder / "export/iiif/manifest/dorrin-viaduct.json"
    assert sum(n for (_, code, _), n in first.tally.counts.items() if code == "no-size") == 3
    assert not manifest.exists()
    assert Answers.asked == []

    answer = CliRunner().invoke(main, ["services", str(folder), "--json"])

    assert answer.exit_code == 2
    assert orjson.loads(answer.stdout) == {
        "kept": 1, "known": 0,
        "faults": [
            f"the service at `{host}/moved` calls itself `{host}/elsewhere`",
            f"{host}/none/info.json answers 404",
        ],
    }  # fmt: skip
    again = run()
    body = orjson.loads(manifest.read_bytes())["items"][0]
    assert (body["width"], body["height"]) == (6000, 4500)
    assert sum(n for (_, code, _), n in again.tally.counts.items() if code == "no-size") == 2
    asked = len(Answers.asked)
    assert "1 known already" in CliRunner().invoke(main, ["services", str(folder)]).stdout
    assert len(Answers.asked) == asked + 2  # not again the one that is kept


def test_a_kept_copy_that_cannot_be_used_is_a_finding(tmp_path: Path) -> None:
    folder = tmp_path / "services"
    folder.mkdir()
    (folder / "a.json").write_bytes(told())
    (folder / "b.json").write_bytes(b"<html>")
    found: list[Any] = []

    kept = read_services(tmp_path, "evidence", found.append)

    assert list(kept) == ["https://p.example.org/77"]
    assert [(f.code, str(f.place)) for f in found] == [("image", "evidence/services/b.json")]
