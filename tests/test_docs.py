"""The documentation is true: the README's commands run, every command is told of and has help."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from lodpipe.cli import main
from lodpipe.findings import CODES, SEVERITIES, Finding

REPOSITORY = Path(__file__).parent.parent
README = (REPOSITORY / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


def every(group: click.Group, above: tuple[str, ...] = ()) -> dict[str, click.Command]:
    """All commands by their words: `run`, `claim add`."""
    found: dict[str, click.Command] = {}
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            found |= every(command, (*above, name))
        else:
            found[" ".join((*above, name))] = command
    return found


COMMANDS = every(main)


def block(kind: str) -> str:
    """The first block of a kind."""
    return next(text for name, text in BLOCKS if name == kind)


def commands() -> list[list[str]]:
    """Every line of the README's shell blocks that calls lodpipe."""
    lines = [line for name, text in BLOCKS if name == "sh" for line in text.splitlines()]
    calls = [line.partition("#")[0] for line in lines if line.startswith("lodpipe ")]
    return [[word.strip('"') for word in re.findall(r'"[^"]*"|\S+', call)][1:] for call in calls]


@pytest.fixture(scope="module")
def ten_minutes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that a reader of the first ten minutes has."""
    folder = tmp_path_factory.mktemp("first")
    (folder / "items.csv").write_text(block("csv"), encoding="utf-8")
    (folder / "items.yaml").write_text(block("yaml"), encoding="utf-8")
    (folder / "lodpipe.toml").write_text(block("toml"), encoding="utf-8")
    return folder


def test_the_commands_of_the_readme_run(ten_minutes: Path) -> None:
    assert len(commands()) >= 3
    for call in commands():
        ended = subprocess.run(
            [sys.executable, "-m", "lodpipe", *call],
            cwd=ten_minutes,
            capture_output=True,
            text=True,
        )

        assert ended.returncode == 0, f"{call}\n{ended.stdout}\n{ended.stderr}"


def test_the_readme_says_what_comes_out(ten_minutes: Path) -> None:
    first = (ten_minutes / "export/linked-art/object/1.json").read_text(encoding="utf-8")
    second = (ten_minutes / "export/linked-art/object/2.json").read_text(encoding="utf-8")

    assert "attributed to Mira Dolen" in first
    assert '"assigned_property":"carried_out_by"' in first
    assert "assigned_property" not in second
    assert '"carried_out_by":[{"id":"https://collections.example.org/person/dolen"' in second


def test_the_job_stands_in_one_paragraph_at_the_top() -> None:
    title, paragraph, *_ = README.split("\n\n")

    assert title == "# lodpipe"
    assert "\n" not in paragraph
    assert 60 < len(paragraph.split()) < 200


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_the_readme(command: str) -> None:
    assert f"`lodpipe {command} " in README


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example(command: str) -> None:
    shown = CliRunner().invoke(main, [*command.split(), "--help"])

    assert shown.exit_code == 0
    assert "Example:" in shown.output
    assert f"lodpipe {command} " in shown.output


@pytest.mark.parametrize("command", COMMANDS)
def test_every_option_is_explained(command: str) -> None:
    options = [p for p in COMMANDS[command].params if isinstance(p, click.Option)]

    assert [option.name for option in options if not option.help] == []


def test_the_readme_names_no_command_that_is_not_there() -> None:
    named = set(re.findall(r"`lodpipe (\w+)", README))

    assert named == {command.split()[0] for command in COMMANDS}


def test_every_make_target_that_is_named_is_there() -> None:
    makefile = (REPOSITORY / "Makefile").read_text(encoding="utf-8")
    texts = README + (REPOSITORY / "DEVELOPERS.md").read_text(encoding="utf-8")

    for target in re.findall(r"make (\w+)", texts):
        assert re.search(rf"^{target}:", makefile, re.MULTILINE), target


def test_every_dependency_has_its_reason() -> None:
    pyproject = (REPOSITORY / "pyproject.toml").read_text(encoding="utf-8")
    declared = re.search(r"^dependencies = \[(.*?)^\]", pyproject, re.MULTILINE | re.DOTALL)
    assert declared
    names = re.findall(r'"([\w.-]+)', declared[1])
    text = (REPOSITORY / "DEVELOPERS.md").read_text(encoding="utf-8")

    table = text[text.index("| package | for |") : text.index("In tests only:")]
    assert sorted(re.findall(r"^\| ([\w.-]+) \| (?!for)", table, re.MULTILINE)) == sorted(names)


def test_every_package_is_pinned() -> None:
    pyproject = (REPOSITORY / "pyproject.toml").read_text(encoding="utf-8")
    names = {
        name.lower().replace("_", "-")
        for part in re.findall(r"^(?:dependencies|test) = \[(.*?)^\]", pyproject, re.M | re.S)
        for name in re.findall(r'"([\w.-]+)', part)
    }
    pinned = {
        line.partition("==")[0].lower().replace("_", "-")
        for line in (REPOSITORY / "constraints.txt").read_text(encoding="utf-8").splitlines()
    }

    assert names - pinned == set()


MODULES = {
    path: ast.parse(path.read_text(encoding="utf-8"))
    for path in sorted((REPOSITORY / "lodpipe").rglob("*.py"))
}


def said() -> Iterator[re.Pattern[str]]:
    """Every text of the program, with `.+` where a value is put in."""
    for module in MODULES.values():
        for node in ast.walk(module):
            if isinstance(node, ast.JoinedStr):
                parts = [
                    re.escape(part.value) if isinstance(part, ast.Constant) else "(?:.+)"
                    for part in node.values
                ]
                if len("".join(parts)) > 12 and any(part != "(?:.+)" for part in parts):
                    yield re.compile("".join(parts))
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                yield re.compile(re.escape(node.value))


def test_every_code_is_explained_and_found_by_something() -> None:
    sources = "".join(path.read_text(encoding="utf-8") for path in MODULES)
    for name, code in CODES.items():
        assert code.severity in SEVERITIES
        assert code.meaning.endswith(".")
        assert f'"{name}"' in sources, name


def test_every_finding_has_a_cure() -> None:
    """A finding takes the cure of its code; a message of a shape says what to do after its colon."""
    for name, code in CODES.items():
        assert Finding(name, "x").hint == code.cure
        assert bool(code.cure) == (name != "shape"), name
        if code.cure:
            assert code.cure[0].islower() or code.cure[0] == "`"
            assert not code.cure.endswith(".")
    assert Finding("date", "x", hint="y").hint == "y"


def test_every_error_that_ends_a_command_has_a_cure() -> None:
    names = ("UsageError", "EmptyError", "NotFinishedError")
    lacking = [
        f"{path.name}:{node.lineno}"
        for path, module in MODULES.items()
        for node in ast.walk(module)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in names
        and "hint" not in {keyword.arg for keyword in node.keywords}
    ]

    assert lacking == []


def test_every_message_of_a_shape_says_what_to_do() -> None:
    found = []
    for path in sorted((REPOSITORY / "shapes").glob("*.ttl")):
        for text in re.findall(r'sh:message "([^"]*)"', path.read_text(encoding="utf-8")):
            found.append(text)
            assert re.search(r": [\w`]", text), (path.name, text)
    assert len(found) > 50


@pytest.mark.parametrize("name", [name for name in CODES if name not in ("shape", "date")])
def test_the_example_of_a_code_is_what_the_program_says(name: str) -> None:
    assert any(one.fullmatch(CODES[name].message) for one in SAID), CODES[name].message


SAID = list(said())
