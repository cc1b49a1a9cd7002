"""Documents against the official Linked Art JSON Schemas (https://linked.art/api/1.0/schema_docs/).

The schemas leave three doors open, which are closed here: keys that they do not know inside
Production, Modification and other events; claims inside these; and the value of a claim, which
must be valid where the direct statement would stand. Dates count only with a format checker, and
that only with rfc3339-validator installed.
"""

import json
from collections.abc import Iterator
from copy import deepcopy
from functools import cached_property
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError
from referencing import Registry, Resource

from lodpipe.errors import TermError
from lodpipe.rdf import CONTEXT_URL, property_iri
from lodpipe.terms import keys

FOLDER = "reference/linked-art/schema"
RECORDS = {
    # class of a record -> schemas, the first valid one counts
    "Activity": ("event", "provenance"),
    "Currency": ("concept",),
    "DigitalObject": ("digital",),
    "Event": ("event",),
    "Group": ("group",),
    "HumanMadeObject": ("object",),
    "Language": ("concept",),
    "LinguisticObject": ("text",),
    "Material": ("concept",),
    "MeasurementUnit": ("concept",),
    "Period": ("event",),
    "Person": ("person",),
    "Place": ("place",),
    "PropositionalObject": ("abstract",),
    "Set": ("set",),
    "Type": ("concept",),
    "VisualItem": ("image",),
}
OPEN = {
    # class of a node that the schema leaves open -> file that defines it
    "Birth": "person",
    "Creation": "core",
    "Death": "person",
    "Dissolution": "group",
    "Formation": "group",
    "Modification": "object",
    "Production": "object",
}
Pointed = Iterator[tuple[str, dict[str, Any]]]


class Schemas:
    """The official schemas, compiled once."""

    def __init__(self, reference: Path) -> None:
        files = sorted((reference / FOLDER).glob("*.json"))
        assert len(files) == 14
        self._schemas = {file.stem: json.loads(file.read_text(encoding="utf-8")) for file in files}
        self._registry: Registry[Any] = Registry().with_resources(
            (schema["$id"], Resource.from_contents(schema)) for schema in self._schemas.values()
        )
        self._compiled: dict[str, Draft202012Validator] = {}

    def errors(self, document: dict[str, Any]) -> list[str]:
        """Return what is wrong in a document, each as `JSON Pointer: message`; [] when valid.

        Args:
            document: as published; an absent `@context` is added.
        """
        document = {"@context": CONTEXT_URL, **document}
        found = self._record(document)
        for pointer, node in _nodes(document, ""):
            if pointer and node.get("type") in OPEN and _more_than_reference(node):
                found += _messages(self._open(node["type"]), node, pointer)
            for number, claim in enumerate(node.get("attributed_by", ())):
                found += self._claim(node, claim, f"{pointer}/attributed_by/{number}", not pointer)
        return sorted(set(found))

    def _record(self, document: dict[str, Any]) -> list[str]:
        names = RECORDS.get(document["type"])
        if names is None:
            return [f"/type: no record has the class {document['type']}"]
        every = [_messages(self._validator(name, self._schemas[name]), document) for name in names]
        return min(every, key=len)

    def _open(self, class_name: str) -> Draft202012Validator:
        file = self._schemas[OPEN[class_name]]["$id"]
        schema = {
            "$ref": f"{file}#/$defs/{class_name}",
            "properties": {"id": {"type": "string", "format": "iri"}, "attributed_by": {}},
            "unevaluatedProperties": False,
        }
        return self._validator(f"open {class_name}", schema)

    @cached_property
    def _assignment(self) -> Draft202012Validator:
        file = self._schemas["core"]["$id"]
        return self._validator("claim", {"$ref": f"{file}#/$defs/AttributeAssignment"})

    def _claim(
        self, carrier: dict[str, Any], claim: dict[str, Any], pointer: str, top: bool
    ) -> list[str]:
        """Check a claim as such, and its value where the direct statement would stand."""
        bare = {key: value for key, value in claim.items() if key != "id"}
        found = _messages(self._assignment, bare, pointer)
        if "assigned_property" not in claim:
            return found
        if not top and carrier["type"] not in OPEN:
            return [*found, f"{pointer}: no claim is known on an inner {carrier['type']}"]
        key = _direct_key(carrier["type"], claim["assigned_property"])
        if key is None:
            return [*found, f"{pointer}/assigned_property: no key of {carrier['type']}"]
        values = claim.get("assigned")
        if not isinstance(values, list) or not values:
            return [*found, f"{pointer}/assigned: is not a list with a value"]
        plain = deepcopy({k: v for k, v in carrier.items() if k != "attributed_by"})
        forms = [{**plain, key: values}] + [{**plain, key: values[0]}] * (len(values) == 1)
        checks = [
            self._record(form) if top else _messages(self._open(carrier["type"]), form)
            for form in forms
        ]
        if all(any(error.startswith(f"/{key}") for error in errors) for errors in checks):
            found.append(f"{pointer}/assigned: is not valid as `{key}` of {carrier['type']}")
        return found

    def _validator(self, name: str, schema: dict[str, Any]) -> Draft202012Validator:
        if name not in self._compiled:
            self._compiled[name] = Draft202012Validator(
                schema, registry=self._registry, format_checker=Draft202012Validator.FORMAT_CHECKER
            )
        return self._compiled[name]


def _messages(validator: Draft202012Validator, node: Any, start: str = "") -> list[str]:
    return [
        f"{start}{_pointer(deepest)}: {deepest.message}"
        for error in validator.iter_errors(node)
        for deepest in [_deepest(error, node)]
    ]


def _deepest(error: ValidationError, node: Any) -> ValidationError:
    """Return the error of the branch whose `type` fits, of an anyOf or oneOf."""
    while error.context:
        branches: dict[Any, list[ValidationError]] = {}
        for inner in error.context:
            branches.setdefault(inner.relative_schema_path[0], []).append(inner)
        fitting = [
            errors
            for errors in branches.values()
            if not any(list(inner.relative_path)[-1:] == ["type"] for inner in errors)
        ]
        error = (fitting or list(branches.values()))[0][0]
    return error


def _pointer(error: ValidationError) -> str:
    return "".join(f"/{step}" for step in error.absolute_path)


def _nodes(value: Any, pointer: str) -> Pointed:
    if isinstance(value, dict):
        yield pointer, value
        for key, item in value.items():
            yield from _nodes(item, f"{pointer}/{key}")
    elif isinstance(value, list):
        for number, item in enumerate(value):
            yield from _nodes(item, f"{pointer}/{number}")


def _more_than_reference(node: dict[str, Any]) -> bool:
    return not node.keys() <= {"id", "type", "_label"}


def _direct_key(class_name: str, word: str) -> str | None:
    """Return the key that states directly, on a class, what `assigned_property` names."""
    names = {row.key for row in keys() if row.key[0].islower()}
    if not word.startswith(("http:", "https:", "crm:")):
        return word if word in names else None
    full = word.replace("crm:", "http://www.cidoc-crm.org/cidoc-crm/", 1)
    for name in sorted(names):
        try:
            if property_iri(class_name, name) == full:
                return name
        except TermError:
            continue
    return None
