"""Manifests and collections against the official JSON Schema, and against what it does not check.

Schema: github.com/IIIF/presentation-validator, schema/iiif_3_0.json (draft-07). At its root
`oneOf` reports one misleading message for any fault, so documents are checked by their class.
It accepts much that the specification forbids; `faults` has a rule of our own for each case, with
the clause of https://iiif.io/api/presentation/3.0/ that it comes from.
"""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from jsonschema import Draft7Validator

PRESENTATION = "http://iiif.io/api/presentation/3/context.json"
NAV_PLACE = "http://iiif.io/api/extension/navplace/context.json"
RIGHTS = ("http://creativecommons.org/", "http://rightsstatements.org/vocab/")
INSTANT = re.compile(r"-?\d{4,}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d)")
CLASSES = {"Manifest": "manifest", "Collection": "collection", "AnnotationPage": "annotationPage"}
TEXTS = ("label", "summary", "value")

Tree = dict[str, Any]


class Schema:
    """The official schema, one validator a class."""

    def __init__(self, reference: Path) -> None:
        text = (reference / "reference/iiif/schema/iiif_3_0.json").read_text(encoding="utf-8")
        whole = json.loads(text)
        self._validators = {
            name: Draft7Validator(
                {**{k: v for k, v in whole.items() if k != "oneOf"}, "$ref": f"#/classes/{part}"}
            )
            for name, part in CLASSES.items()
        }

    def faults(self, tree: Tree) -> list[str]:
        """Return what the schema finds, as `path: message`, sorted."""
        return sorted(
            f"{error.json_path}: {error.message[:200]}"
            for error in self._validators[tree["type"]].iter_errors(tree)
        )


def faults(tree: Tree) -> list[str]:
    """Return what breaks a rule that the schema does not check, as `path: rule`, sorted."""
    return sorted(_Rules(tree).all())


class _Rules:
    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.canvases = {
            node["id"]: node
            for _, node in walk(tree)
            if node.get("type") == "Canvas" and "height" in node
        }

    def all(self) -> Iterator[str]:
        yield from self.context()
        yield from self.ids()
        for path, node in walk(self.tree):
            yield from self.texts(path, node)
            yield from self.node(path, node)
            yield from self.target(path, node)

    def context(self) -> Iterator[str]:
        """#46-linked-data-context-and-extensions: once, at the top, that of the API last."""
        context = self.tree.get("@context")
        several = context if isinstance(context, list) else [context]
        if several[-1] != PRESENTATION:
            yield "$: the context of the Presentation API is not the last"
        uses_place = any("navPlace" in node for _, node in walk(self.tree))
        if uses_place != (NAV_PLACE in several):
            yield "$: navPlace without its context, or its context without navPlace"
        if any("@context" in node for path, node in walk(self.tree) if path != "$"):
            yield "$: a context inside the document"

    def ids(self) -> Iterator[str]:
        """#id: every resource its own; a reference repeats the id of what it names."""
        seen: dict[str, str] = {}
        for path, node in walk(self.tree):
            owns = node.get("type") in ("Annotation", "AnnotationPage", "Range", "Manifest") or (
                node.get("type") == "Canvas" and "height" in node
            )
            refers = node.get("type") == "Manifest" and path != "$"
            if owns and not refers:
                if not re.match(r"https?://", node.get("id", "")):
                    yield f"{path}: no http id"
                if node.get("id") in seen:
                    yield f"{path}: the id of {seen[node['id']]} again"
                seen[node.get("id", "")] = path

    def texts(self, path: str, node: Tree) -> Iterator[str]:
        """#44-language-of-property-values: language maps with at least one text that says something."""
        for key in TEXTS:
            value = node.get(key)
            if not isinstance(value, dict):
                continue
            texts = [text for several in value.values() for text in several]
            if not texts or not all(text.strip() for text in texts):
                yield f"{path}.{key}: empty"
            if key != "label" and any(
                text.startswith("<") and text.endswith(">") for text in texts
            ):
                yield f"{path}.{key}: would be read as HTML"

    def node(self, path: str, node: Tree) -> Iterator[str]:
        kind = node.get("type")
        if kind in ("Manifest", "Range", "Collection") and "items" in node and not node["items"]:
            yield f"{path}: {kind} without items"  # #items
        if "navDate" in node and not INSTANT.fullmatch(node["navDate"]):
            yield f"{path}: navDate is no instant with a zone"  # #navdate
        if "rights" in node and not node["rights"].startswith(RIGHTS):
            yield f"{path}: rights is no http URI of a known house"  # #rights
        if kind == "Canvas":
            for key, motivation in (("items", "painting"), ("annotations", "other")):
                for page in node.get(key, ()):
                    for annotation in page.get("items", ()):
                        if (annotation["motivation"] == "painting") != (motivation == "painting"):
                            yield f"{path}.{key}: {annotation['motivation']} there"  # #items, #annotations
        if any(value in ({}, [], "", None) for key, value in node.items() if key != "items"):
            yield f"{path}: an empty value"

    def target(self, path: str, node: Tree) -> Iterator[str]:
        """#56-annotation, #54-range: regions lie on a canvas of this document."""
        if (
            node.get("type") == "Canvas"
            and "height" not in node
            and node["id"] not in self.canvases
        ):
            yield f"{path}: no canvas of this document"
        if node.get("type") != "SpecificResource":
            return
        selector, source = node["selector"], node["source"]
        source_id = source if isinstance(source, str) else source["id"]
        if selector["type"] == "ImageApiSelector":
            width, height = source["width"], source["height"]
            corners = _box(selector["region"])
        else:
            canvas = self.canvases.get(source_id)
            if canvas is None:
                yield f"{path}: a region of no canvas of this document"
                return
            width, height = canvas["width"], canvas["height"]
            corners = _corners(selector)
        if not all(0 <= x <= width and 0 <= y <= height for x, y in corners):
            yield f"{path}: a region outside its canvas"


def _corners(selector: Tree) -> list[tuple[float, float]]:
    if selector["type"] == "FragmentSelector":
        return _box(selector["value"].removeprefix("xywh="))
    root = ElementTree.fromstring(selector["value"])
    polygon = root.find("{http://www.w3.org/2000/svg}polygon")
    assert polygon is not None
    return [
        (float(x), float(y))
        for x, y in (point.split(",") for point in polygon.get("points", "").split())
    ]


def _box(text: str) -> list[tuple[float, float]]:
    x, y, width, height = (float(number) for number in text.split(","))
    return [(x, y), (x + width, y + height)] if width > 0 and height > 0 else [(-1, -1)]


def walk(value: Any, path: str = "$") -> Iterator[tuple[str, Tree]]:
    """Yield every object of a document with its path."""
    if isinstance(value, dict):
        yield path, value
        for key, inner in value.items():
            yield from walk(inner, f"{path}.{key}")
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from walk(inner, f"{path}[{number}]")
