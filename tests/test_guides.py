"""The guides: their files and commands, in their order, and a site without a dead link."""

import json
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from lodpipe.cli import main
from lodpipe.findings import CODES

ROOT = Path(__file__).parent.parent
BLOCK = re.compile(r"^```(\w+) ?([^\n]*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
GUIDES = sorted(
    path.name for path in (ROOT / "docs").glob("*.md") if path.name not in ("mapping.md",)
)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("guides")
    ignore = shutil.ignore_patterns("archive", "export")
    shutil.copytree(ROOT / "sample", folder / "sample", ignore=ignore)
    assert CliRunner().invoke(main, ["run", str(folder / "sample")]).exit_code == 0
    return folder


@pytest.mark.parametrize("guide", GUIDES)
def test_a_guide_does_what_it_says(demo: Path, guide: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(demo)
    for kind, name, body in BLOCK.findall((ROOT / "docs" / guide).read_text(encoding="utf-8")):
        if name:
            assert Path(name).parent.is_dir()
            Path(name).write_text(body, encoding="utf-8")
        for line in body.splitlines() if kind == "sh" else ():
            command, _, target = line.partition(" > ")
            words = shlex.split(command)
            assert words[0] == "lodpipe"
            done = CliRunner().invoke(main, words[1:])
            assert done.exit_code == 0, f"{line}\n{done.output}"
            if target:
                Path(target).write_text(done.stdout, encoding="utf-8")


def test_what_the_tutorial_says_of_its_outcome(demo: Path) -> None:
    """Runs after the guide itself, in the same folder."""
    made = {
        number: (demo / f"album/export/linked-art/object/{number}.json").read_text("utf-8")
        for number in (11, 12, 13)
    }
    weighed = CliRunner().invoke(main, ["weigh", str(demo / "album"), "13"]).stdout

    assert '"carried_out_by":[{"id":"https://collections.example.org/person/dolen"' in made[11]
    assert "attributed to Mira Dolen" in made[12]
    assert "assigned_property" in made[12]
    assert "evidence/whereabouts.csv:2" in weighed
    assert "contradicted" in weighed
    # date and maker stand in one row of the catalogue, and are told apart
    assert "made on 1 October 1869 (no source; catalogue/items.csv:4)" in weighed
    assert not (demo / "album/export/linked-art/object/14.json").exists()
    # from a candidate to a claim with its source
    dolen = json.loads((demo / "album/export/linked-art/person/dolen.json").read_text("utf-8"))
    (same,) = [one for one in dolen["attributed_by"] if "names.example.org/41" in json.dumps(one)]
    assert same["carried_out_by"][0]["_label"] == "Ines Tarrow"
    assert "text/highland-names" in json.dumps(same)
    ledger = (demo / "album/evidence/claims.csv").read_text("utf-8").splitlines()
    assert [line for line in ledger if "same_as" in line and "/41" in line and "/77" not in line]
    for path in (demo / "album/export").rglob("*.json"):
        assert "Camp Nine" not in path.read_text(encoding="utf-8"), path


def test_the_site_of_the_guides_builds_without_a_dead_link(tmp_path: Path) -> None:
    built = subprocess.run(
        [
            sys.executable,
            "-m",
            "mkdocs",
            "build",
            "--strict",
            "--quiet",
            "--site-dir",
            str(tmp_path),
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )

    assert built.returncode == 0, built.stderr
    for code in CODES:
        assert (tmp_path / f"findings/{code}/index.html").is_file()
    assert not (tmp_path / "hooks.py").exists()
