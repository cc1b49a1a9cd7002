"""What is said of sixty typical mistakes, read as a set: `golden/mistakes.txt`.

    python -m pytest tests/test_mistakes.py --write-golden

writes it anew, to be read from beginning to end before it is committed.
"""

import json
import re
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from click.testing import CliRunner
from mistakes import MISTAKES, Mistake, write

from lodpipe.cli import main

GOLDEN = Path(__file__).parent / "golden/mistakes.txt"
Told = tuple[str, str, str, str]
"""Severity and code, message, place, hint."""


def run(mistake: Mistake | None) -> tuple[int, list[Told]]:
    """Run the project with one mistake in it; return the exit status and what is said."""
    with TemporaryDirectory() as scratch:
        folder = Path(scratch) / "project"
        write(folder)
        if mistake is not None:
            mistake.change(folder)
        done = CliRunner().invoke(main, ["run", str(folder), "--no-export"])
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        report = folder / "archive/report.jsonl"
        if not report.is_file():
            return done.exit_code, errors(done.stderr)
        found = [json.loads(line) for line in report.read_text(encoding="utf-8").splitlines()]
    return done.exit_code, [
        (f"{one['severity']}[{one['code']}]", one["message"], one["place"] or "", one["hint"])
        for one in found
    ]


def errors(text: str) -> list[Told]:
    """Take apart what is printed when a run cannot begin."""
    parts = re.split(r"^(?=error\[)", text, flags=re.MULTILINE)[1:]
    told = []
    for part in parts:
        head, *rest = part.strip().splitlines()
        kind, _, message = head.partition(": ")
        lines = {line.strip()[:4]: line.strip() for line in rest}
        place = lines.get("--> ", "").removeprefix("--> ")
        told.append((kind, message, place, lines.get("hint", "").removeprefix("hint: ")))
    return told


@cache
def new() -> dict[str, tuple[int, list[Told]]]:
    """What is said of each mistake and not of the project that is right."""
    _, before = run(None)
    told = {}
    for mistake in MISTAKES:
        status, after = run(mistake)
        told[mistake.name] = status, [one for one in after if one not in before]
    return told


def as_text() -> str:
    parts = []
    for name, (status, told) in new().items():
        lines = [f"{name} (exit status {status})"]
        for kind, message, place, hint in told:
            lines.append(f"  {kind} {message}")
            lines += [f"    --> {place}"] if place else []
            lines += [f"    hint: {hint}"] if hint else []
        parts.append("\n".join(lines))
    return "\n\n".join(parts) + "\n"


def test_the_project_that_is_right_has_no_fault() -> None:
    status, told = run(None)

    assert status == 0
    assert [one for one in told if one[0].startswith("violation")] == []


def test_what_is_said_of_all_of_them(request: pytest.FixtureRequest) -> None:
    if request.config.getoption("--write-golden"):
        GOLDEN.write_text(as_text(), encoding="utf-8")

    assert len(MISTAKES) >= 60
    assert as_text() == GOLDEN.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", [mistake.name for mistake in MISTAKES])
def test_each_is_told_with_its_place_and_its_cure(name: str) -> None:
    _, told = new()[name]

    assert any(
        (place or ".csv`" in message) and (hint or ("[shape]" in kind and ": " in message))
        for kind, message, place, hint in told
    )
    for _, message, _, hint in told:
        for text in filter(None, (message, hint)):
            assert text[0] == text[0].lower() or text[0] == "`" or text.startswith("RE2")
            assert not text.endswith((".", "!"))
            assert not re.search(r"(?i)\b(please|illegal|invalid|sorry)\b", text)
