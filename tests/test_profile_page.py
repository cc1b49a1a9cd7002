"""The page of a profile in a real browser: wide and on a phone, light and dark."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from browser import PHONE, PICTURES, WIDE, Browser, invalid
from click.testing import CliRunner

from lodpipe.cli import main

ODD = (
    "No;Title of the picture as it stands on the mount;Maker;Date\n"
    "1;Summit cutting;Dolen, Mira (?);1872-01-01\n"
    "2;Snow shed, with a caption that goes on for longer than a phone is wide;n/a;26299\n"
    "Total;<b>Schneed\u00c3\u00a4cher</b>;unknown;ca. 1872\n"
)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("profile")
    (folder / "items.csv").write_text(ODD, encoding="utf-8")
    path = folder / "profile.html"
    done = CliRunner().invoke(main, ["profile", str(folder / "items.csv"), "--html", str(path)])
    assert done.exit_code == 0, done.output
    return path


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with Browser() as started:
        yield started


@pytest.mark.parametrize("width", [WIDE, PHONE])
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_the_profile_breaks_no_rule_of_wcag(
    browser: Browser, page: Path, width: int, dark: bool
) -> None:
    browser.open(page, width=width, dark=dark)
    browser.screenshot(PICTURES / f"profile-{width}-{'dark' if dark else 'light'}.png")

    assert browser.violations() == []
    assert browser.overflow() == 0


def test_the_profile_is_valid_html(page: Path) -> None:
    assert invalid([page]) == []
