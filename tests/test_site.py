"""The pages for readers: every link, every page valid, every reader served, the same bytes twice."""

import re
import shutil
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urljoin

import orjson
import pytest
from browser import PHONE, PICTURES, WIDE, Browser, invalid
from conformance.released import REPOSITORY

from lodpipe import pipeline, project
from lodpipe.export import export
from lodpipe.pipeline.progress import Silent
from lodpipe.publish.site.linked import script
from lodpipe.publish.site.settings import word, words
from lodpipe.wording import languages

BASE = "https://collections.example.org/"
NOW = "2026-01-31T10:00:00Z"
MOST_BYTES = 100_000
"""Of a page without its pictures."""
TYPES = {
    "start": "index.html",
    "album": "page/album-1.html",
    "leaf": "page/album-1-p12.html",
    "thing": "page/item-0101.html",
    "thing with a notice": "page/item-0102.html",
    "composite": "page/item-0105.html",
    "maker": "page/person/dolen.html",
    "place": "page/place/hessendal.html",
    "source": "page/text/diary-3.html",
    "thread": "page/set/thread-snow.html",
    "session": "page/activity/session-item-0101.html",
    "list": "page/all.html",
    "timeline": "timeline.html",
    "questions": "questions.html",
    "method": "method.html",
}
"""One page of every kind."""
TONGUES = {
    "start in French": "fr/index.html",
    "thing in German": "de/page/item-0102.html",
    "thing in French": "fr/page/item-0101.html",
    "timeline in German": "de/timeline.html",
    "questions in French": "fr/questions.html",
    "several captures": "page/item-0104.html",
}
"""Pages whose words are longer, or other, than those of the first language."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo project after its run, in the three languages that have words."""
    folder = tmp_path_factory.mktemp("site") / "sample"
    shutil.copytree(
        REPOSITORY / "sample", folder, ignore=shutil.ignore_patterns("archive", "export")
    )
    file = folder / "lodpipe.toml"
    text = file.read_text(encoding="utf-8")
    text = text.replace('languages = ["en"]', 'languages = ["en", "de", "fr"]')
    assert '"fr"' in text
    file.write_text(text, encoding="utf-8")
    pipeline.run(project.load(folder), pipeline.Options(now=NOW), Silent())
    return folder


@pytest.fixture(scope="module")
def out(folder: Path) -> Path:
    return folder / "export"


@pytest.fixture(scope="module")
def pages(out: Path) -> dict[str, str]:
    """Path below the export -> text of the page."""
    found = {
        path.relative_to(out).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted(out.rglob("*.html"))
    }
    assert len(found) > 400
    return found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with Browser() as started:
        yield started


class Links(HTMLParser):
    """Everything in a page that leads somewhere, and every id."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.ids: set[str] = set()
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name in ("href", "src") and value is not None:
                self.links.append(value)
            elif name == "srcset" and value:
                self.links += [part.split()[0] for part in value.split(", ")]
            elif name == "id" and value:
                self.ids.add(value)


def file_of(address: str, out: Path) -> Path | None:
    """The file that a web server set up as the README says has for a path below the base."""
    path = unquote(address.removeprefix(BASE))
    tries = [path, f"{path}.json", f"{path}.html", f"linked-art/{path}.json"]
    if path == "":
        tries = ["index.html"]
    return next((out / name for name in tries if (out / name).is_file()), None)


# --- links ---------------------------------------------------------------------------------------


def test_every_link_of_every_page_resolves_inside_the_export(
    pages: dict[str, str], out: Path
) -> None:
    parsed = {name: Links(text) for name, text in pages.items()}
    dead, followed = [], 0
    for name, page in parsed.items():
        for link in page.links:
            if link.startswith(("mailto:", "http://creativecommons.org/")):
                continue
            address, _, anchor = urljoin(BASE + name, link).partition("#")
            target = file_of(address, out)
            followed += 1
            if target is None:
                dead.append(f"{name}: {link}")
            elif anchor and anchor not in parsed[target.relative_to(out).as_posix()].ids:
                dead.append(f"{name}: {link} (no such id)")
    assert followed > 10_000
    assert dead == []


def test_every_page_works_from_the_disk(pages: dict[str, str], out: Path) -> None:
    """Ways are relative, so that a reader can open a copy on a stick."""
    for name, text in pages.items():
        for link in Links(text).links:
            if link.startswith(("mailto:", "http://creativecommons.org/", "#")):
                continue
            path = unquote(link.partition("#")[0])
            assert (out / name).parent.joinpath(path).is_file(), f"{name}: {link}"


def iris(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key in ("id", "source", "target") and isinstance(inner, str):
                yield inner
            else:
                yield from iris(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from iris(inner)


def test_what_manifests_lead_to_is_in_the_export(out: Path) -> None:
    """Parts of a manifest have ids below its own; everything else below the base is a file."""
    dead, followed = [], 0
    for file in sorted((out / "iiif").rglob("*.json")):
        manifest = orjson.loads(file.read_bytes())
        if file.name == "info.json":
            continue
        own = manifest["id"]
        for iri in iris(manifest):
            address = iri.partition("#")[0]
            if not address.startswith(BASE) or address.startswith(f"{own}/"):
                continue
            followed += 1
            service = (out / unquote(address.removeprefix(BASE)) / "info.json").is_file()
            if not service and file_of(address, out) is None:
                dead.append(f"{file.name}: {iri}")
    assert followed > 500
    assert dead == []


def test_pages_in_other_languages_have_the_same_names(pages: dict[str, str]) -> None:
    own = {name for name in pages if not name.startswith(("de/", "fr/"))}

    assert {name.removeprefix("de/") for name in pages if name.startswith("de/")} == own
    assert {name.removeprefix("fr/") for name in pages if name.startswith("fr/")} == own
    assert '<html lang="de">' in pages["de/page/item-0101.html"]
    assert "Mira Dolen zugeschrieben" in pages["de/page/item-0101.html"]
    assert "attribution à Mira Dolen" in pages["fr/page/item-0101.html"]


# --- whoever reads -------------------------------------------------------------------------------


def test_every_page_is_valid_html(pages: dict[str, str], out: Path) -> None:
    assert invalid(out / name for name in pages) == []


@pytest.mark.parametrize("name", TYPES | TONGUES)
def test_no_page_breaks_a_rule_of_wcag(browser: Browser, out: Path, name: str) -> None:
    for width in (WIDE, PHONE):
        for dark in (False, True):
            browser.open(out / (TYPES | TONGUES)[name], width=width, dark=dark)
            browser.screenshot(
                PICTURES / f"site-{name.replace(' ', '-')}-{width}{'-dark' if dark else ''}.png"
            )
            assert browser.violations() == [], (name, width, dark)
            assert browser.overflow() == 0, (name, width, dark)


def test_the_keyboard_reaches_every_region_and_follows_it(browser: Browser, out: Path) -> None:
    browser.open(out / TYPES["leaf"])
    regions = browser.run("[...document.querySelectorAll('.spotted svg a')].length")
    assert regions == 2
    reached = []
    for _ in range(40):
        browser.press("Tab")
        reached.append(
            browser.run("document.activeElement.closest('.spotted') ? "
                        "document.activeElement.getAttribute('aria-label') : ''")
        )  # fmt: skip
        if len([label for label in reached if label]) == regions:
            break
    assert [label for label in reached if label] == [
        "Summit cutting below Sorn Pass",
        "Two men at a camp table",
    ]
    assert browser.run("getComputedStyle(document.activeElement.firstElementChild.nextElementSibling).strokeWidth") == "5px"  # fmt: skip
    browser.press("Enter")
    browser.call("Page.enable")
    for _ in range(50):
        if browser.run("location.pathname").endswith("/page/item-0102.html"):
            break
    assert browser.run("location.pathname").endswith("/page/item-0102.html")


def test_paper_shows_what_the_screen_shows(browser: Browser, out: Path) -> None:
    browser.open(out / TYPES["thing"], width=800, paper=True)
    browser.screenshot(PICTURES / "site-thing-print.png")

    assert browser.run("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    for told in ("attributed to Mira Dolen", "rejected: Bruno Esker", "To cite this page"):
        assert browser.run(f"document.body.innerText.includes({told!r})")


def test_every_capture_of_a_side_is_shown_and_called(pages: dict[str, str]) -> None:
    """`object/item-0104` has a second picture under raking light."""
    text = pages["page/item-0104.html"]

    assert "iiif/image/item-0104/full/max/" in text
    assert "iiif/image/item-0104/capture/raking%20light/full/max/" in text
    assert "<figcaption>raking light</figcaption>" in text


def test_a_page_of_an_album_leads_to_the_manifest_of_the_album(pages: dict[str, str]) -> None:
    assert 'href="../iiif/manifest/album-1.json"' in pages["page/album-1-p12.html"]


def test_nothing_needs_a_script(pages: dict[str, str]) -> None:
    for name, text in pages.items():
        assert set(re.findall(r"<script[^>]*>", text)) <= {'<script type="application/ld+json">'}
        assert not re.search(r"\son[a-z]+=", text), name


def test_a_page_is_small(out: Path) -> None:
    sizes = {path.name: path.stat().st_size for path in out.rglob("*.html")}
    assert max(sizes.values()) < MOST_BYTES, max(sizes, key=lambda name: sizes[name])
    assert (out / "site.css").stat().st_size < MOST_BYTES / 5


def test_the_same_release_gives_the_same_bytes(folder: Path, out: Path) -> None:
    again = folder.parent / "again"
    shop = pipeline.open_workshop(project.load(folder))
    export(shop.project, shop.concepts, again)

    written = sorted(path.relative_to(again) for path in again.rglob("*.html"))
    assert len(written) > 400
    assert [n for n in written if (again / n).read_bytes() != (out / n).read_bytes()] == []


# --- what must and must not be told --------------------------------------------------------------


def test_a_notice_stands_before_every_picture_of_a_thing(pages: dict[str, str]) -> None:
    """`object/item-0102` has a notice; page 12 and the album show it."""
    met = 0
    for name, text in pages.items():
        for match in re.finditer(r'src="[^"]*iiif/image/(item-0102|album-1-p12)/', text):
            met += 1
            assert '<div class="notice"' in text[: match.start()], name
    assert met >= 6


def test_withheld_things_leave_no_trace(pages: dict[str, str]) -> None:
    """`object/item-0107` is withheld by access.csv; its number and title stand in items.csv."""
    for name, text in pages.items():
        assert "item-0107" not in text, name
        assert "1866.1.14a" not in text, name


def test_a_verdict_names_the_facts_that_it_rests_on(pages: dict[str, str]) -> None:
    text = pages["page/item-0101.html"]
    found = re.search(r'id="claim-c0105".*?</tr>', text, re.DOTALL)
    assert found

    assert "That is opportunity, not proof." in found[0]
    assert "Mira Dolen at Sorn Pass: 21 December 1871 to 5 March 1872" in found[0]
    assert 'href="../page/text/diary-3.html"' in found[0]


def test_the_timeline_leaves_out_what_a_withdrawn_source_says(pages: dict[str, str]) -> None:
    """`text/memoir-renn` is withdrawn by sources.csv; one row of whereabouts.csv rests on it."""
    assert "page/text/memoir-renn.html" in pages
    assert "memoir-renn" not in pages["timeline.html"]
    assert pages["timeline.html"].count("page/text/diary-3.html") >= 5


def test_corrections_are_letters_that_name_thing_and_claim(pages: dict[str, str]) -> None:
    letters = [
        unquote(link) for link in Links(pages["page/item-0101.html"]).links if "mailto" in link
    ]

    assert letters[0] == (
        "mailto:library@example.org?subject=Correction: Summit cutting below Sorn Pass"
        "&body=Claim: c0105\r\nRecord: https://collections.example.org/object/item-0101 (release 1)"
    )
    assert len(letters) == 17


@pytest.mark.parametrize("name", TYPES)
def test_every_page_offers_record_manifest_and_citation(pages: dict[str, str], name: str) -> None:
    text = pages[TYPES[name]]
    about_one = TYPES[name].startswith("page/") and name != "list"

    assert "To cite this page" in text
    assert ("/linked-art/" in text) == about_one
    if name in ("album", "thing", "thing with a notice", "composite"):
        assert "iiif/manifest/" in text
    assert 'property="og:title"' in text


def linked_data(text: str) -> dict[str, object]:
    found = re.search(r'<script type="application/ld\+json">(.*?)</script>', text)
    assert found
    data = orjson.loads(found[1])
    assert isinstance(data, dict)
    return data


SLOTS = [
    # a thing, and what machines are told of its making: c0105 is hedged, c0101 is not
    ("item-0101", {"dateCreated": "1872-02"}, {"creator"}),
    ("item-0106", {"dateCreated": "1872-02-14"}, set()),
    ("item-0081", {"dateCreated": "1869-08"}, {"creator"}),
    ("item-0102", {}, {"dateCreated", "creator"}),
]


@pytest.mark.parametrize(("key", "stated", "empty"), SLOTS)
def test_machines_are_told_only_what_is_certain(
    pages: dict[str, str], key: str, stated: dict[str, str], empty: set[str]
) -> None:
    data = linked_data(pages[f"page/{key}.html"])

    assert {name: data[name] for name in stated} == stated
    assert not empty & data.keys()
    if key == "item-0106":
        assert data["creator"] == [
            {"@id": f"{BASE}person/dolen", "@type": "Person", "name": "Mira Dolen"}
        ]
    if key == "item-0101":
        assert (
            data["creditText"] == "attributed to Mira Dolen; formerly attributed to Anselm Korvath"
        )


def test_no_value_ends_a_script() -> None:
    made = script({"name": "</script><script>alert(1)</script>&"})

    assert not set("<>&") & set(made)
    assert orjson.loads(made) == {"name": "</script><script>alert(1)</script>&"}


@pytest.mark.parametrize("key", words())
def test_every_word_is_there_in_every_language_with_the_same_places(key: str) -> None:
    texts = {tag: word(tag, key) for tag in languages()}

    assert all(texts.values())
    places = {tag: sorted(re.findall(r"{\w+}", text)) for tag, text in texts.items()}
    assert len({tuple(found) for found in places.values()}) == 1, places
