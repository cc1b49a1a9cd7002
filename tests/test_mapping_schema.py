"""The JSON Schema of the language: up to date, and of one mind with the compiler."""

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from mapping_help import compiled

from lodpipe.errors import ManyErrors
from lodpipe.mapping import schema
from lodpipe.mapping.yaml_nodes import Faults, read_yaml

ROOT = Path(__file__).parent.parent
VALIDATOR = Draft202012Validator(schema.schema())
FILES = [
    path
    for folder in ("mappings", "sample/mappings")
    for path in sorted((ROOT / folder).glob("*.yaml"))
    if path.name != "claims.yaml"
]


def faults(text: str) -> list[str]:
    """Where the schema finds a fault, as a path of keys."""
    tree = read_yaml(text, Faults("m.yaml")).plain()
    return sorted(
        {"/".join(map(str, error.absolute_path)) for error in VALIDATOR.iter_errors(tree)}
    )


def test_the_shipped_schema_is_up_to_date() -> None:
    assert schema.shipped() == schema.text(), "run `python -m lodpipe.mapping.schema`"
    Draft202012Validator.check_schema(json.loads(schema.shipped()))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_mapping_that_ships_is_valid(path: Path) -> None:
    assert faults(path.read_text(encoding="utf-8")) == []


def test_the_mappings_that_ship_are_many() -> None:
    assert len(FILES) >= 10


GOOD = """
reads:
  key: no
  fields: {no: no, t: T}
makes:
  - id: "object/{no}"
    type: HumanMadeObject
    _label: "{t}"
    identified_by: {type: Name, content: "{t}"}
"""

BAD = [
    # what is changed, into what; where the schema says so
    ("  key: no", "  keys: no", "reads"),
    ("t: T", "t: {form: T}", "reads/fields/t"),
    ("t: T", "t: {from: T, as: dat}", "reads/fields/t"),
    ("t: T", "t: {from: T, as: size, unit: miles}", "reads/fields/t"),
    ("t: T", "t: {choose: [{is: a, wenn: {no: b}}]}", "reads/fields/t"),
    ("type: HumanMadeObject", "type: Thing", "makes/0/type"),
    ("identified_by", "identfied_by", "makes/0"),
    ('content: "{t}"', 'contents: "{t}"', "makes/0/identified_by"),
    ('    _label: "{t}"\n', "", "makes/0"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "where"), BAD)
def test_the_schema_and_the_compiler_refuse_the_same(old: str, new: str, where: str) -> None:
    assert GOOD.count(old) >= 1
    text = GOOD.replace(old, new, 1)

    assert faults(GOOD) == []
    assert faults(text) == [where]
    with pytest.raises(ManyErrors):
        compiled(text)


def test_every_key_has_a_description() -> None:
    def lacking(node: Any, path: str) -> list[str]:
        if not isinstance(node, dict):
            return []
        found = []
        for key, value in node.get("properties", {}).items():
            if "description" not in value:
                found.append(f"{path}/{key}")
        return found

    defs = schema.schema()["$defs"]
    for name in ("reads", "case", "claim", "lookup"):
        assert lacking(defs[name], name) == []
