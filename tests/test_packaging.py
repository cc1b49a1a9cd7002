"""What is installed is what lies in the repository; who has only the wheel has the demo too."""

import json
import os
import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from lodpipe.pipeline.starting import DEMO

REPOSITORY = Path(__file__).parent.parent
PYPROJECT = tomllib.loads((REPOSITORY / "pyproject.toml").read_text(encoding="utf-8"))
SETTINGS = PYPROJECT["tool"]
TOPS = {
    "lodpipe": "lodpipe",
    "mappings": "lodpipe.mappings",
    "sample": "lodpipe.sample",
    "shapes": "lodpipe.shapes",
}
LEFT = {"sample/archive", "sample/export", "sample/drawing"}
"""What a run of the demo makes, and what draws its pages."""
NOT_COPIED = (".git", ".venv", "build", "*.egg-info", ".*_cache", ".hypothesis", "__pycache__")


def data_files() -> Iterator[Path]:
    for top in TOPS:
        for path in sorted((REPOSITORY / top).rglob("*")):
            inner = path.relative_to(REPOSITORY)
            left = any(inner.is_relative_to(other) for other in LEFT)
            if path.is_file() and not left and "__pycache__" not in path.parts:
                yield inner


def folders() -> dict[str, set[str]]:
    """Package name -> endings of the files in its folder."""
    found: dict[str, set[str]] = {}
    for path in data_files():
        top, *inner = path.parent.parts
        found.setdefault(".".join((TOPS[top], *inner)), set()).add(path.suffix)
    return found


def test_every_folder_is_a_package_that_is_installed() -> None:
    assert sorted(SETTINGS["setuptools"]["packages"]) == sorted(folders())


def test_every_kind_of_file_is_installed() -> None:
    patterns = SETTINGS["setuptools"]["package-data"]["*"]
    endings = {pattern.removeprefix("*") for pattern in patterns if pattern.startswith("*")}
    there = {ending for kinds in folders().values() for ending in kinds} - {".py", ".typed"}

    assert there <= endings


def outside(command: list[str | Path], folder: Path, *, status: int = 0) -> str:
    """Run a command as somebody who has no checkout."""
    names = ("PYTHONPATH", "PIP_REQUIRE_VIRTUALENV", "VIRTUAL_ENV")
    environment = {key: value for key, value in os.environ.items() if key not in names}
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True)
    assert done.returncode == status, done.stdout + done.stderr
    return done.stdout


def pip(python: Path, *arguments: str | Path) -> None:
    """Install, or skip where no index can be reached: the only step that may need a network."""
    command = [python, "-m", "pip", "install", "--quiet", "--no-compile", *arguments]
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode and not os.environ.get("LODPIPE_INDEX_REQUIRED"):
        pytest.skip("pip cannot reach a package index: " + done.stderr.strip().splitlines()[-1])
    assert done.returncode == 0, done.stderr


def environment_in(folder: Path) -> Path:
    """Make an empty virtual environment; return the folder of its programs."""
    subprocess.run([sys.executable, "-m", "venv", folder], check=True)
    return folder / "bin"


def wheel_of(tree: Path, python: Path, into: Path) -> Path:
    """Build a wheel as pip would, with the build tools of an environment."""
    build = "import sys; from setuptools import build_meta as b; b.build_wheel(sys.argv[1])"
    into.mkdir()
    outside([python, "-c", build, into], tree)
    return next(into.glob("*.whl"))


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, Path]:
    """Wheel, sdist, and the wheel that the sdist gives, made from a copy of the checkout."""
    folder = tmp_path_factory.mktemp("packages")
    bin_ = environment_in(folder / "tools")
    pip(bin_ / "python", *PYPROJECT["build-system"]["requires"])
    tree = folder / "tree"
    shutil.copytree(REPOSITORY, tree, ignore=shutil.ignore_patterns(*NOT_COPIED))
    for name in ("archive", "export"):
        (tree / "sample" / name).mkdir(exist_ok=True)
        (tree / "sample" / name / "left.csv").write_text("of a run")
    wheel = wheel_of(tree, bin_ / "python", folder / "wheel")
    shutil.rmtree(tree / "build")
    build = "import sys; from setuptools import build_meta as b; b.build_sdist(sys.argv[1])"
    outside([bin_ / "python", "-c", build, folder], tree)
    sdist = next(folder.glob("*.tar.gz"))
    with tarfile.open(sdist) as archive:
        archive.extractall(folder / "unpacked", filter="data")
    again = wheel_of(next((folder / "unpacked").iterdir()), bin_ / "python", folder / "again")
    return wheel, sdist, again


@pytest.mark.slow
def test_the_sdist_is_the_repository_and_gives_the_same_wheel(
    built: tuple[Path, Path, Path],
) -> None:
    wheel, sdist, again = built
    with zipfile.ZipFile(wheel) as one, zipfile.ZipFile(again) as other:
        ours = {name: one.read(name) for name in one.namelist()}
        theirs = {name: other.read(name) for name in other.namelist()}
    with tarfile.open(sdist) as archive:
        carried = {name.partition("/")[2] for name in archive.getnames()}

    assert ours == theirs
    assert not [name for name in {*ours, *carried} if "left.csv" in name]
    assert not [name for name in ours if name.startswith("lodpipe/sample/drawing")]
    for path in data_files():
        name = "/".join(path.parts) if path.parts[0] == "lodpipe" else f"lodpipe/{path.as_posix()}"
        assert name in ours, name
    for top in ("bench", "docs", "lodpipe", "mappings", "sample", "shapes", "tests"):
        for path in (REPOSITORY / top).rglob("*"):
            inner = path.relative_to(REPOSITORY)
            if path.is_file() and "__pycache__" not in path.parts:
                made = inner.parts[:2] in (("sample", "archive"), ("sample", "export"))
                assert made or inner.as_posix() in carried, inner
    for path in REPOSITORY.glob("[!.]*.*"):
        assert path.is_dir() or path.name in carried, path


@pytest.mark.slow
def test_who_has_only_the_wheel_runs_the_demo(
    built: tuple[Path, Path, Path], tmp_path: Path
) -> None:
    """In an empty environment, in a folder where no checkout is, with the pinned versions."""
    bin_ = environment_in(tmp_path / "clean")
    pip(bin_ / "python", "-c", REPOSITORY / "constraints.txt", built[0])
    here = tmp_path / "here"
    here.mkdir()
    lodpipe = bin_ / "lodpipe"
    doctor = json.loads(outside([lodpipe, "doctor", "--json"], here))
    told = outside([lodpipe, "start", "sample", "--demo"], here)
    ran = json.loads(outside([lodpipe, "run", "sample", "--json"], here))

    assert doctor["missing"] == []
    assert "lodpipe run sample" in told
    assert {path.name for path in (here / "sample").iterdir()} == {*DEMO, "archive", "export"}
    assert ran["status"] == 0
    assert ran["books"]["documents"]["new"] > 300
    assert ran["written"] > 1_000
    assert (here / "sample/export/index.html").is_file()
