"""What is installed, and completion of what is typed."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from lodpipe.cli import machine, main

PYPROJECT = Path(__file__).parent.parent / "pyproject.toml"


def test_everything_that_is_declared_is_told_with_what_it_is_for() -> None:
    told = json.loads(CliRunner().invoke(main, ["doctor", "--json"]).stdout)
    declared = re.search(
        r"^dependencies = \[(.*?)^\]", PYPROJECT.read_text(), re.MULTILINE | re.DOTALL
    )
    assert declared is not None

    names = set(re.findall(r'"([\w.-]+)', declared[1]))
    assert {one["name"] for one in told["packages"]} == names
    assert [one["name"] for one in told["packages"] if not one["for"]] == []
    assert told["missing"] == []


def test_a_package_that_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(machine, "_needed", lambda: ["lxml", "no-such-package"])
    done = CliRunner().invoke(main, ["doctor"])

    assert done.exit_code == 2
    assert done.stdout.endswith(
        "no-such-package does not work: missing: no-such-package\n"
        "  hint: pip install no-such-package\n"
    )


def features() -> dict[str, dict[str, object]]:
    done = CliRunner().invoke(main, ["doctor", "--json"])
    told = {one["name"]: one for one in json.loads(done.stdout)["features"]}
    assert done.exit_code == 2 * any(one["needed"] and not one["works"] for one in told.values())
    return told


def test_what_works_is_told_with_its_version() -> None:
    told = features()

    assert all(one["works"] for name, one in told.items() if one["needed"])
    assert str(told["archive"]["seen"]).startswith("SQLite 3.")
    assert re.fullmatch(r"libvips 8\.\d+\.\d+", str(told["pictures"]["seen"]))


@pytest.mark.parametrize("name", ["pyvips", "lxml", "starlette", "pymarc", "python-calamine"])
def test_what_does_not_work_without_a_package(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    there = machine._installed
    monkeypatch.setattr(machine, "_installed", lambda one: "" if one == name else there(one))
    told = features()

    assert told[machine.FOR[name]]["fault"] == f"missing: {name}"
    assert told[machine.FOR[name]]["cure"] == f"pip install {name}"


def test_pictures_without_their_library(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyvips", None)
    told = features()["pictures"]

    assert str(told["fault"]).startswith("they cannot be read: ")
    assert told["cure"] == "pip install 'pyvips[binary]'"


def test_pictures_with_an_old_library(monkeypatch: pytest.MonkeyPatch) -> None:
    import pyvips

    monkeypatch.setattr(pyvips, "at_least_libvips", lambda *_: False)

    assert "is older than 8.13" in str(features()["pictures"]["fault"])


def test_an_archive_on_an_old_sqlite(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(machine.sqlite3, "sqlite_version_info", (3, 7, 17))

    assert not features()["archive"]["works"]


def test_a_terminal_that_knows_few_letters() -> None:
    done = CliRunner(charset="latin-1").invoke(main, ["doctor"])

    assert done.exit_code == 0
    assert "letters of all languages is not needed for a run: the terminal takes" in done.stdout
    assert "  hint: set PYTHONUTF8=1" in done.stdout


def test_an_extra_that_was_not_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    there = machine._installed
    monkeypatch.setattr(machine, "_installed", lambda one: "" if one == "mkdocs" else there(one))
    told = features()["lodpipe[test]"]

    assert (told["fault"], told["needed"]) == ("missing: mkdocs", False)
    assert told["cure"] == "pip install 'lodpipe[test]'"


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_for_each_shell(shell: str) -> None:
    done = CliRunner().invoke(main, ["completion", shell])

    assert done.exit_code == 0
    assert "_LODPIPE_COMPLETE" in done.stdout


BASH = r"""
eval "$(lodpipe completion bash)"
complete -p lodpipe > /dev/null || exit 9
try() {
  COMP_WORDS=("$@"); COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); COMPREPLY=()
  _lodpipe_completion lodpipe
  printf '%s\n' "${COMPREPLY[*]}"
}
try lodpipe st
try lodpipe start --
try lodpipe claim ""
try lodpipe suggest sample --k
"""


def test_bash_completes_commands_and_options(tmp_path: Path) -> None:
    """The script is run as bash runs it: the words typed so far in COMP_WORDS."""
    program = tmp_path / "lodpipe"
    program.write_text(f"#!{sys.executable}\nfrom lodpipe.cli import main\nmain()\n")
    program.chmod(0o755)
    environment = {
        **os.environ,
        "PATH": f"{tmp_path}:{os.environ['PATH']}",
        "PYTHONPATH": str(PYPROJECT.parent),
    }
    done = subprocess.run(
        ["bash", "--norc", "-c", BASH], capture_output=True, text=True, env=environment
    )
    assert done.returncode == 0, done.stderr
    commands, options, claims, kinds = done.stdout.splitlines()

    assert commands == "start"
    assert {"--from", "--demo", "--encoding", "--json"} <= set(options.split())
    assert claims == "add"
    assert kinds == "--kind"
