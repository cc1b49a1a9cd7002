"""The JSON Schema of the mapping language, for editors: made from the tables of `language`.

It completes and checks keys as one types; what it cannot know (fields, tables, terms) the compiler
says. JSON Schema 2020-12, https://json-schema.org/draft/2020-12/schema.
`python -m lodpipe.mapping.schema` writes `schema.json` anew after a change of the language.
"""

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

from lodpipe.mapping import language
from lodpipe.mapping.keys import classes, known_keys, takes_list
from lodpipe.mapping.language import Words
from lodpipe.mapping.sizes import KINDS, UNITS

Schema = dict[str, Any]

_SIMPLE: dict[str, Schema] = {
    "text": {"type": ["string", "number"]},
    "scalar": {"type": ["string", "number", "null"]},
    "uri": {"anyOf": [{"type": ["string", "number"]}, {"$ref": "#/$defs/lookup"}]},
    "bool": {"type": "boolean"},
    "as": {
        "anyOf": [
            {"enum": list(language.AS)},
            {"type": "string", "pattern": "^text@[A-Za-z0-9-]+$"},
        ]
    },
    "kind": {"enum": list(language.DATE_KINDS)},
    "unit": {"enum": list(UNITS)},
    "order": {"type": "array", "items": {"enum": list(KINDS)}},
    "aspect": {"type": "string"},
    "layout_file": {"enum": list(language.LAYOUT_COLUMNS)},
}
_ONE: list[Schema] = [{"type": ["string", "number"]}, {"$ref": "#/$defs/node"}]


def schema() -> Schema:
    """Return the schema of a mapping file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "lodpipe mapping",
        "description": "What a record of a source means, in the shape of the documents it makes.",
        **_closed(language.MAPPING, required=("reads",)),
        "$defs": {
            "reads": _closed(language.READS, required=("key",)),
            "field": _field(),
            "case": _closed(language.CASE, required=("is",)),
            "when": {"type": "object", "additionalProperties": {"$ref": "#/$defs/test"}},
            "test": _test(),
            "lookup": _closed(
                {key: language.NODE[key] for key in language.LOOKUP_KEYS},
                required=("lookup", "from"),
            ),
            "value": {"anyOf": _ONE},
            "values": {"anyOf": [*_ONE, {"type": "array", "items": {"anyOf": _ONE}}]},
            "node": _node(),
            "document": _document(),
            "claim": _closed(language.CLAIM, required=("about", "aspect")),
            "layout": _layout(),
        },
    }


def _value(takes: str) -> Schema:
    """The schema of one form of value, as `language` writes it."""
    if "|" in takes:
        return {"anyOf": [_value(part) for part in takes.split("|")]}
    if takes.endswith("[]"):
        inner = _value(takes.removesuffix("[]"))
        return {"type": "array", "items": inner}
    if takes.endswith("{}"):
        return {"type": "object", "additionalProperties": _value(takes.removesuffix("{}"))}
    return dict(_SIMPLE.get(takes) or {"$ref": f"#/$defs/{takes}"})


def _properties(words: Words) -> Schema:
    return {key: {**_value(word.takes), "description": word.means} for key, word in words.items()}


def _closed(words: Words, required: tuple[str, ...] = ()) -> Schema:
    found: Schema = {
        "type": "object",
        "properties": _properties(words),
        "additionalProperties": False,
    }
    if required:
        found["required"] = list(required)
    return found


def _field() -> Schema:
    """A path, several of them, or a mapping; the cases of `choose` may be those of many names."""
    full = _closed(language.FIELD)
    cases = {"type": "array", "items": {"$ref": "#/$defs/case"}}
    chosen = {
        "type": "object",
        "properties": {"as": {"enum": ["date", "edtf"]}, "choose": cases},
        "required": ["choose"],
        "additionalProperties": False,
    }
    full["properties"]["choose"] = {
        "anyOf": [cases, {"type": "object", "additionalProperties": {"anyOf": [cases, chosen]}}],
        "description": language.FIELD["choose"].means,
    }
    full["properties"]["unit"] = {**_SIMPLE["unit"], "description": language.FIELD["unit"].means}
    full["properties"]["order"] = {**_SIMPLE["order"], "description": language.FIELD["order"].means}
    return {"anyOf": [_value("text"), _value("text[]"), full]}


def _test() -> Schema:
    plain = {"type": ["string", "number", "boolean"]}
    compound = _closed(language.CONDITIONS)
    compound["maxProperties"] = compound["minProperties"] = 1
    words = {"type": "array", "items": _SIMPLE["scalar"]}
    return {"anyOf": [{"enum": ["present", "absent"]}, plain, words, compound]}


def _linked_art() -> Schema:
    """Keys of Linked Art: whether one takes a list depends on the class, so both forms pass."""
    found: Schema = {}
    for key in sorted(known_keys("") | {"part", "part_of", "member", "member_of"}):
        if key in ("id", "type", "_label"):
            continue
        many = takes_list("HumanMadeObject", key) or key == "part_of"
        found[key] = {"$ref": f"#/$defs/{'values' if many else 'value'}"}
    return found


def _node() -> Schema:
    special = _properties(language.NODE)
    special["timespan"] = {
        "anyOf": [special["timespan"], {"$ref": "#/$defs/node"}],
        "description": language.NODE["timespan"].means,
    }
    special["role"] = special["language"] = {
        "anyOf": [
            {"type": "string"},
            {"$ref": "#/$defs/node"},
            {"type": "array", "items": {"$ref": "#/$defs/node"}},
        ]
    }
    own = {
        "id": _SIMPLE["uri"],
        "type": {"anyOf": [{"enum": sorted(classes())}, {"type": "string", "pattern": "[{]"}]},
        "_label": {"anyOf": [{"type": ["string", "number"]}, {"$ref": "#/$defs/lookup"}]},
    }
    return {
        "type": "object",
        "properties": {**_linked_art(), **special, **own},
        "additionalProperties": False,
    }


def _document() -> Schema:
    node = _node()["properties"]
    properties = {key: node[key] for key in _linked_art()}
    for key in ("timespan", "language"):
        properties[key] = node[key]
    properties |= _properties(language.DOCUMENT)
    properties |= {"type": node["type"], "_label": node["_label"]}
    return {
        "type": "object",
        "properties": properties,
        "required": ["id", "type", "_label"],
        "additionalProperties": False,
    }


def _layout() -> Schema:
    columns = sorted(
        {
            ("path" if c == "file" else c)
            for names in language.LAYOUT_COLUMNS.values()
            for c in names
        }
    )
    found = _closed(language.LAYOUT, required=("file",))
    for column in columns:
        found["properties"][column] = _value("text|lookup")
    return found


def text() -> str:
    """Return the schema as it is shipped."""
    return json.dumps(schema(), indent=1, ensure_ascii=False, sort_keys=True) + "\n"


def shipped() -> str:
    """Return the schema that lies beside this module."""
    return (files("lodpipe.mapping") / "schema.json").read_text(encoding="utf-8")


if __name__ == "__main__":
    Path(__file__).with_name("schema.json").write_text(text(), encoding="utf-8")
