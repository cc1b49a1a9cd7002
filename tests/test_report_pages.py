"""The pages to send to a colleague in a real browser: wide or on a phone, light or dark."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from browser import PHONE, PICTURES, WIDE, Browser, invalid
from click.testing import CliRunner
from test_check_report import ABOUT, TWO

from lodpipe.check.report_page import as_page
from lodpipe.cli import main

ODD = (
    "No;Title of the picture as it stands on the mount;Maker;Date\n"
    "1;Summit cutting;Dolen, Mira (?);1872-01-01\n"
    "2;Snow shed, with a caption that goes on for longer than a phone is wide;n/a;26299\n"
    "Total;<b>Schneed\u00c3\u00a4cher</b>;unknown;ca. 1872\n"
)


@pytest.fixture(scope="module", params=["report", "profile"])
def page(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report of a check, and the profile of a table in which much is odd."""
    path = tmp_path_factory.mktemp("page") / f"{request.param}.html"
    if request.param == "report":
        path.write_text(as_page(TWO, ABOUT), encoding="utf-8")
        return path
    table = path.with_name("items.csv")
    table.write_text(ODD, encoding="utf-8")
    done = CliRunner().invoke(main, ["profile", str(table), "--html", str(path)])
    assert done.exit_code == 0, done.output
    return path


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with Browser() as started:
        yield started


@pytest.mark.parametrize("width", [WIDE, PHONE])
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_it_breaks_no_rule_of_wcag(browser: Browser, page: Path, width: int, dark: bool) -> None:
    browser.open(page, width=width, dark=dark)
    browser.screenshot(PICTURES / f"{page.stem}-{width}-{'dark' if dark else 'light'}.png")

    assert browser.violations() == []
    assert browser.overflow() == 0


def test_the_harness_sees_a_fault(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "bad.html"
    path.write_text(
        "<!doctype html><html><title>x</title><p style='color:#ccc;width:3000px'>pale<img src='x'>",
        encoding="utf-8",
    )
    browser.open(path)

    found = {each.rule for each in browser.violations()}
    assert {"color-contrast", "html-has-lang", "image-alt"} <= found
    assert browser.overflow() > 1000


def test_it_is_valid_html(page: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.html"
    bad.write_text("<!doctype html><html lang=en><title>x</title><p><b>x</p>", encoding="utf-8")

    found = invalid([page, bad])
    assert [line for line in found if line.startswith("bad.html")]
    assert [line for line in found if line.startswith(page.name)] == []
