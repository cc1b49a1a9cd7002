"""The check report in a real browser: whoever reads it, wide or on a phone, light or dark."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from browser import PHONE, PICTURES, WIDE, Browser, invalid
from test_check_report import ABOUT, TWO

from lodpipe.check.report_page import as_page


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(as_page(TWO, ABOUT), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with Browser() as started:
        yield started


@pytest.mark.parametrize("width", [WIDE, PHONE])
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_the_report_breaks_no_rule_of_wcag(
    browser: Browser, page: Path, width: int, dark: bool
) -> None:
    browser.open(page, width=width, dark=dark)
    browser.screenshot(PICTURES / f"report-{width}-{'dark' if dark else 'light'}.png")

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


def test_the_report_is_valid_html(page: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.html"
    bad.write_text("<!doctype html><html lang=en><title>x</title><p><b>x</p>", encoding="utf-8")

    found = invalid([page, bad])
    assert [line for line in found if line.startswith("bad.html")]
    assert [line for line in found if line.startswith("report.html")] == []
