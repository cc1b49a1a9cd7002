"""Our table of keys, held against the official JSON Schemas of Linked Art."""

import json
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from lodpipe.mapping.keys import CLASSES, known_keys, takes_list

pytestmark = pytest.mark.reference

ADDED = {"attributed_by"}
"""Claims sit on events inside records, whose definitions the schemas leave open."""
BY_CLAIM = {("AttributeAssignment", "assigned")}
"""The schemas say nothing of how many values it takes: always a list, so that claims have one form."""


class Schemas:
    """The definitions of all files, with references followed."""

    def __init__(self, folder: Path) -> None:
        self.files = {path.name: json.loads(path.read_text()) for path in folder.glob("*.json")}

    def definitions(self) -> Iterator[tuple[Any, Any]]:
        for file in self.files.values():
            yield file, file
            for name, node in file.get("$defs", {}).items():
                if not name.endswith("Ref"):
                    yield node, file

    def classes(self, node: Any) -> Iterator[str]:
        if "const" in node:
            yield node["const"]
        yield from node.get("enum", [])
        for key in ("allOf", "anyOf", "oneOf"):
            for inner in node.get(key, []):
                yield from self.classes(inner)

    def is_list(self, node: Any, file: Any) -> bool:
        if node.get("type") == "array":
            return True
        if "$ref" in node:
            name, _, pointer = node["$ref"].partition("#")
            file = self.files[name] if name else file
            target = file
            for step in pointer.strip("/").split("/"):
                target = target[step]
            return "properties" not in target and self.is_list(target, file)
        return any(
            self.is_list(inner, file)
            for key in ("allOf", "anyOf", "oneOf")
            for inner in node.get(key, [])
        )

    def keys(self) -> dict[str, dict[str, bool]]:
        """Class to key to whether it takes a list."""
        found: dict[str, dict[str, bool]] = defaultdict(dict)
        for node, file in self.definitions():
            properties = node.get("properties", {})
            for name in self.classes(properties.get("type", {})):
                for key, value in properties.items():
                    if key not in ("@context", "id", "type", "_label") and name[:1].isupper():
                        found[name][key] = found[name].get(key, False) or self.is_list(value, file)
        return found


def test_classes_and_keys_are_those_of_the_schemas(reference: Path) -> None:
    theirs = Schemas(reference / "reference" / "linked-art" / "schema").keys()
    ours = {name: known_keys(name) - {"id", "type", "_label"} for name in CLASSES}

    assert len(theirs) >= 35
    assert set(theirs) == set(ours)
    assert {
        n: ours[n] - set(theirs[n]) - ADDED for n in ours if ours[n] - set(theirs[n]) - ADDED
    } == {}
    assert {n: set(theirs[n]) - ours[n] for n in ours if set(theirs[n]) - ours[n]} == {}


def test_lists_are_those_of_the_schemas(reference: Path) -> None:
    theirs = Schemas(reference / "reference" / "linked-art" / "schema").keys()
    differ = {
        (name, key)
        for name, keys in theirs.items()
        for key, many in keys.items()
        if takes_list(name, key) != many
    }

    assert differ - BY_CLAIM == set()
