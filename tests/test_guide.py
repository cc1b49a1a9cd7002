"""The guide to the mapping language: every example runs, and every word of the language has one."""

import csv
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from ruamel.yaml import YAML

from lodpipe.archive import Archive
from lodpipe.cli import main
from lodpipe.mapping import language

GUIDE = Path(__file__).parent.parent / "docs/mapping.md"
BLOCK = re.compile(r"^```(\w+) ?([^\n]*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
BASE = "https://collections.example.org/"
PROJECT = """\
[site]
base = "https://collections.example.org/"
name = {{en = "Highland Railway Library"}}
publisher = "group/library"
[[source]]
file = "{file}"
mapping = "{mapping}"
dated = "2026-01-30"
{more}
[access]
default = "open"
[export]
outputs = ["linked-art"]
"""


@dataclass
class Example:
    """One example: the files of a source, a mapping, and parts of what comes out."""

    heading: str
    files: dict[str, str] = field(default_factory=dict)
    more: str = ""
    mapping: tuple[str, str] = ("", "")
    results: list[Any] = field(default_factory=list)


def examples() -> Iterator[Example]:
    """A mapping closes the files before it; what is shown after it is its result."""
    text = GUIDE.read_text(encoding="utf-8")
    made: Example | None = None
    for match in BLOCK.finditer(text):
        kind, name, body = match.groups()
        heading = re.findall(r"^## (.*)$", text[: match.start()], re.MULTILINE)[-1]
        if made is None or (made.mapping[0] and (name or kind == "toml")):
            if made is not None:
                yield made
            made = Example(heading)
        if kind == "yaml":
            made.mapping = (name, body)
        elif kind == "toml":
            made.more = body
        elif name:
            made.files[name] = body
        else:
            made.results.append(json.loads(body))
    assert made is not None
    yield made


EXAMPLES = list(examples())


def write(folder: Path, example: Example) -> None:
    for name, body in example.files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        if name.endswith(".xlsx"):
            book = openpyxl.Workbook()
            sheet = book.active
            assert sheet is not None
            for row in csv.reader(body.splitlines()):
                sheet.append(row)
            book.save(folder / name)
        else:
            (folder / name).write_text(body, encoding="utf-8")
    mapping, text = example.mapping
    (folder / mapping).write_text(text, encoding="utf-8")
    project = PROJECT.format(file=next(iter(example.files)), mapping=mapping, more=example.more)
    (folder / "lodpipe.toml").write_text(project, encoding="utf-8")


def holds(whole: Any, part: Any) -> bool:
    """Whether a document has everything that is shown of it, lists in their order."""
    if isinstance(part, dict):
        return isinstance(whole, dict) and all(
            name in whole and holds(whole[name], value) for name, value in part.items()
        )
    if isinstance(part, list):
        rest = iter(whole)
        return all(any(holds(one, wanted) for one in rest) for wanted in part)
    return bool(whole == part)


@pytest.mark.parametrize(
    "example", EXAMPLES, ids=[f"{n}-{example.heading}" for n, example in enumerate(EXAMPLES)]
)
def test_an_example_runs_and_gives_what_is_shown(tmp_path: Path, example: Example) -> None:
    write(tmp_path, example)
    done = CliRunner().invoke(main, ["run", str(tmp_path)])

    assert done.exit_code == 0, done.output
    for shown in example.results:
        name = shown["id"].removeprefix(BASE)
        made = json.loads((tmp_path / f"export/linked-art/{name}.json").read_text("utf-8"))
        assert holds(made, shown), json.dumps(made, indent=1)
    rows = len(YAML().load(example.mapping[1]).get("layout", ()))
    with Archive(tmp_path / "archive/archive.sqlite") as archive:
        assert any(archive.layout(1)) == bool(rows)


def words_of(value: Any) -> Iterator[str]:
    """Every key of a mapping, and the words among its values."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield str(name)
            yield from words_of(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from words_of(inner)
    else:
        yield str(value)


TABLES = (
    language.MAPPING, language.READS, language.FIELD, language.CASE, language.CONDITIONS,
    language.NODE, language.DOCUMENT, language.CLAIM, language.LAYOUT,
    dict.fromkeys(language.AS), dict.fromkeys(language.LAYOUT_COLUMNS),
    dict.fromkeys(("present", "absent", "life")),
)  # fmt: skip


def test_every_word_of_the_language_has_an_example() -> None:
    used = {word for one in EXAMPLES for word in words_of(YAML().load(one.mapping[1]))}
    known = {word for table in TABLES for word in table}

    assert len(EXAMPLES) >= 15
    assert known - used == set()


def test_every_form_of_placeholder_has_an_example() -> None:
    text = " ".join(one.mapping[1] for one in EXAMPLES)

    for form in ("{title}", "{.}", "{^no}", "{+page}", "{parent.id}", "{item.year}"):
        assert form in text
