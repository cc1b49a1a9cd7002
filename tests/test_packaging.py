"""What is installed is what lies in the repository: packages, and the data beside them."""

import tomllib
from pathlib import Path

REPOSITORY = Path(__file__).parent.parent
SETTINGS = tomllib.loads((REPOSITORY / "pyproject.toml").read_text(encoding="utf-8"))["tool"]
TOPS = {"lodpipe": "lodpipe", "mappings": "lodpipe.mappings", "shapes": "lodpipe.shapes"}


def folders() -> dict[str, set[str]]:
    """Package name -> endings of the files in its folder."""
    found: dict[str, set[str]] = {}
    for top, package in TOPS.items():
        for path in sorted((REPOSITORY / top).rglob("*")):
            if path.is_file() and "__pycache__" not in path.parts:
                inner = path.parent.relative_to(REPOSITORY / top).parts
                found.setdefault(".".join((package, *inner)), set()).add(path.suffix)
    return found


def test_every_folder_is_a_package_that_is_installed() -> None:
    assert sorted(SETTINGS["setuptools"]["packages"]) == sorted(folders())


def test_every_kind_of_file_is_installed() -> None:
    patterns = SETTINGS["setuptools"]["package-data"]["*"]
    endings = {pattern.removeprefix("*") for pattern in patterns if pattern.startswith("*")}
    there = {ending for kinds in folders().values() for ending in kinds} - {".py", ".typed"}

    assert there <= endings
