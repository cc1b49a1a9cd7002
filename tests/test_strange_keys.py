"""Keys with slashes, colons and worse: every page, picture and manifest is where its links lead."""

import csv
from collections.abc import Sequence
from pathlib import Path
from urllib.parse import unquote, urljoin

import orjson
import pytest
import pyvips
from test_site import BASE, Links, iris

from lodpipe import pipeline, project
from lodpipe.iris import file_link, file_name, segment
from lodpipe.pipeline.progress import Silent
from lodpipe.serve.files import file_of

KEYS = ("HRL 1866/1", "HRL 1866/1.12", "Fj\u00e4rd: 4?", "a#b%20c", 'q"<&>', "\u00e4/1'")
"""An album, its page, and what lies on it or alone."""
PROJECT = """
[site]
base = "https://collections.example.org/"
name = {en = "Library"}
publisher = "group/library"
languages = ["en", "de"]
[[source]]
file = "items.csv"
mapping = "items.yaml"
[access]
default = "open"
[export]
outputs = ["linked-art", "iiif", "site"]
"""
MAPPING = """
reads: {key: key, fields: {key: Key, title: Title}}
makes:
  - id: "object/{key}"
    type: HumanMadeObject
    _label: "{title}"
    identified_by: {type: Name, content: "{title}", classified_as: {term: primary-name}}
"""


def table(path: Path, *rows: Sequence[object]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The export of a small album whose keys are strange."""
    folder = tmp_path_factory.mktemp("strange")
    (folder / "evidence").mkdir()
    (folder / "lodpipe.toml").write_text(PROJECT, encoding="utf-8")
    (folder / "items.yaml").write_text(MAPPING, encoding="utf-8")
    table(folder / "items.csv", ("Key", "Title"), *((key, f"Thing {key}") for key in KEYS))
    pyvips.Image.black(900, 700, bands=3).write_to_file(str(folder / "page.jpg"))
    album, page, *items, back, last = (f"object/{segment(key)}" for key in KEYS)
    table(
        folder / "evidence/images.csv",
        ("thing", "file", "side", "capture"),
        (page, "page.jpg", "", ""),
        (page, "page.jpg", "", "raking/light \u00fc"),
        (back, "page.jpg", "verso", ""),
    )
    table(
        folder / "evidence/layout.csv",
        ("thing", "on", "order", "region"),
        (page, album, 1, ""),
        *((thing, page, n, f"{300 * n},10,200,100") for n, thing in enumerate((*items, last))),
    )
    assert pipeline.run(project.load(folder), pipeline.Options("2026-01-31T10:00:00Z"), Silent()).release == 1  # fmt: skip
    return folder / "export"


def test_every_link_of_every_page_leads_to_a_file_from_the_disk(out: Path) -> None:
    followed = 0
    for page in out.rglob("*.html"):
        for link in Links(page.read_text(encoding="utf-8")).links:
            path = unquote(link.partition("#")[0])
            if path and "://" not in link:
                followed += 1
                assert page.parent.joinpath(path).is_file(), f"{page.name}: {link}"
    assert followed > 300
    for key in KEYS:
        assert (out / file_name(f"page/{segment(key)}.html")).is_file()


def test_every_link_is_answered_by_the_server_too(out: Path) -> None:
    for page in sorted((out / "page").rglob("*.html")):
        name = page.relative_to(out).as_posix()
        for link in Links(page.read_text(encoding="utf-8")).links:
            if not link.startswith(("../page/", "../iiif/")):
                continue
            address = urljoin(BASE + name.replace("%", "%25").replace("#", "%23"), link)
            found = file_of(out, address.partition("#")[0].removeprefix(BASE))
            assert found is not None, f"{name}: {link}"


def test_every_address_in_a_manifest_is_answered(out: Path) -> None:
    followed = 0
    for file in (out / "iiif").rglob("*.json"):
        tree = orjson.loads(file.read_bytes())
        for iri in iris(tree) if file.name != "info.json" else ():
            path = iri.partition("#")[0].removeprefix(BASE)
            if path.startswith(("iiif/image/", "page/")) or (path.startswith("iiif/manifest/") and path.count("/") == 2):  # fmt: skip
                followed += 1
                found = file_of(out, path) or file_of(out, f"{path}/info.json")
                assert found is not None, iri
    assert followed > 50


@pytest.mark.parametrize(
    ("path", "link"),
    [
        ("page/item-0101.html", "page/item-0101.html"),
        ("page/HRL%201866.html", "page/HRL%201866.html"),
        ("page/HRL%2F1.html", "page/HRL%252F1.html"),
        ("page/a%2520c.html", "page/a%252520c.html"),
    ],
)
def test_a_link_decodes_to_the_name_of_the_file(path: str, link: str) -> None:
    assert file_link(path) == link
    assert unquote(link) == file_name(path)
