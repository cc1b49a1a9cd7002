"""The guide to mappings is true: each of its examples is compiled, run, and gives what it says."""

import csv
import json
import re
from pathlib import Path
from typing import Any

import pytest
from mapping_help import BASE, compiled, js, mapped, row

from lodpipe.findings import Finding
from lodpipe.mapping import language
from lodpipe.records import Mapped, Record

GUIDE = (Path(__file__).parent.parent / "mappings" / "README.md").read_text(encoding="utf-8")
SECTIONS = {
    part.partition("\n")[0]: dict(
        re.findall(r"^```(\w+)\n(.*?)^```", part, re.MULTILINE | re.DOTALL)
    )
    for part in GUIDE.split("\n## ")[1:]
}
EXAMPLES = {title: blocks for title, blocks in SECTIONS.items() if "yaml" in blocks}


def record(blocks: dict[str, str]) -> Record:
    if "json" in blocks:
        return js(json.loads(blocks["json"]))
    [cells] = csv.DictReader(blocks["csv"].splitlines())
    return row(**cells)


def leads_to(tree: Any, pointer: str) -> Any:
    for step in pointer.split("/")[1:]:
        try:
            tree = tree[int(step)] if isinstance(tree, list) else tree[step]
        except (KeyError, IndexError):
            return "nothing"
    return tree


def result(made: Mapped, told: list[Finding], line: str) -> str:
    """What the example gives, for a line that says what it should give."""
    where, _, rest = line.partition(" ")
    if where == "finding":
        return next((f"finding {f.code}" for f in told if f.code == rest), "no such finding")
    if where == "claim":
        claims = [
            f"claim {c.about.removeprefix(BASE)} {c.aspect} {c.value.removeprefix(BASE)} {c.qualifier} {c.standing}"
            for c in made.claims
        ]
        return "; ".join(claims)
    pointer, _, wanted = rest.partition(" = ")
    if where == "layout":
        file, column = pointer.split()
        texts = [r.cells.get(column, "") for r in made.layout if r.file == file]
        return f"{where} {pointer} = {wanted if wanted in texts else texts}"
    [draft] = [d for d in made.documents if d.uri == BASE + where]
    return f"{where} {pointer} = {leads_to(draft.tree, pointer)}"


@pytest.mark.parametrize("title", EXAMPLES)
def test_an_example(title: str) -> None:
    blocks = EXAMPLES[title]
    mapping = compiled(blocks["yaml"])
    one = record(blocks)
    made, told = mapped(mapping, one)
    left: list[Finding] = []
    mapping.leftover(left.append)
    assert made is not None
    lines = blocks["result"].splitlines()

    assert [result(made, told, line) for line in lines] == lines
    assert {f.code for f in told} == {
        line.split()[1] for line in lines if line.startswith("finding")
    }
    assert [f.message for f in left if f.code == "unmapped" and "json" not in blocks] == []


def test_the_guide_has_an_example_of_each_part() -> None:
    assert len(EXAMPLES) >= 9


def test_every_key_of_the_language_is_in_the_guide() -> None:
    words = {
        *language.MAPPING, *language.READS, *language.FIELD, *language.CASE, *language.CONDITIONS,
        *language.NODE, *language.DOCUMENT, *language.AS,
    }  # fmt: skip

    assert {word for word in words if not re.search(rf"\b{word}\b", GUIDE)} == set()
