"""The examples that every `--help` has, run in the order in which a user meets the commands."""

import re
import shlex
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from test_docs import COMMANDS

from lodpipe.cli import main

ELSEWHERE = ("harvest", "serve", "services", "suggest", "withdraw")
"""Need another house, do not end, or change the demo: test_harvest, test_serve, and so on."""
FILES = {
    "items.csv": "No,Title,Date\n1,Summit cutting,1872\n2,Snow shed,1873\n",
    "objects.xml": "<list><object><no>1</no></object><object><no>2</no></object></list>",
    "dates.txt": "ca. 1872\n1873?\n",
}
PLACE = "lower-camp,Lower camp,,,settlement,,,\n"


def examples(command: click.Command) -> list[str]:
    """The lines of the help that call lodpipe, each with what it goes on with."""
    text = (command.help or "").partition("Example:")[2]
    joined = re.sub(r"\\\n\s*", "", text)
    return [line.strip() for line in joined.splitlines() if line.strip().startswith("lodpipe ")]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("examples")
    for name, text in FILES.items():
        (made / name).write_text(text, encoding="utf-8")
    project = str(made / "sample")
    for words in (["start", project, "--demo"], ["run", project, "--no-export"]):
        assert CliRunner().invoke(main, words).exit_code == 0
    with (made / "sample/catalogue/places.csv").open("a", encoding="utf-8") as places:
        places.write(PLACE)
    assert CliRunner().invoke(main, ["run", project]).exit_code == 0  # two releases to compare
    (made / "bash-completion/completions").mkdir(parents=True)
    return made


@pytest.mark.parametrize("name", [name for name in COMMANDS if name not in ELSEWHERE])
def test_an_example_of_the_help_does_what_it_says(
    folder: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    for line in examples(COMMANDS[name]):
        if "http" in line:  # calls another house
            continue
        line = line.replace("sample --demo", "another --demo").replace("~/.local/share/", "")
        call, _, target = line.partition(" > ")
        call, _, source = call.partition(" < ")
        given = Path(source).read_bytes() if source else None
        done = CliRunner().invoke(main, shlex.split(call)[1:], input=given)
        assert done.exit_code == 0, f"{line}\n{done.output}"
        if target:
            Path(target).write_bytes(done.stdout_bytes)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_an_example(name: str) -> None:
    assert any(line.startswith(f"lodpipe {name}") for line in examples(COMMANDS[name]))
