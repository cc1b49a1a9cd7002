"""What is installed, and completion of what is typed."""

import json
import re
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
    assert "missing: no-such-package" in done.stdout


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_for_each_shell(shell: str) -> None:
    done = CliRunner().invoke(main, ["completion", shell])

    assert done.exit_code == 0
    assert "_LODPIPE_COMPLETE" in done.stdout
