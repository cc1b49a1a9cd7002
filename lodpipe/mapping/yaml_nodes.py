"""YAML 1.2 with the place of every key and value, so that a fault can name line and column.

Plain scalars follow the core schema of YAML 1.2 (https://yaml.org/spec/1.2.2/#103-core-schema):
`no` and `on` are words, not booleans. A mapping is data, so tags are refused; anchors are kept for
authors who repeat themselves, and what they unfold to is bounded.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
    StreamStartEvent,
)

from lodpipe.errors import LodpipeError, ManyErrors, UsageError

MOST_NODES = 50_000
"""Nodes of one file, with everything that its aliases repeat."""
DEEPEST = 64

_NULLS = ("", "~", "null", "Null", "NULL")
_TRUE = ("true", "True", "TRUE")
_FALSE = ("false", "False", "FALSE")
_INT = re.compile(r"[-+]?[0-9]+", re.ASCII)
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", re.ASCII)


@dataclass(slots=True)
class Node:
    """One value of a YAML file.

    Attributes:
        value: `dict[str, Node]`, `list[Node]`, text, number, bool or None.
        line, column: where it begins, both from 1.
        keys: for a mapping, where each key begins.
        quoted: whether a scalar stands in quotes.
    """

    value: Any
    line: int
    column: int
    keys: dict[str, tuple[int, int]] = field(default_factory=dict)
    quoted: bool = False

    @property
    def is_map(self) -> bool:
        """Whether the value has keys."""
        return isinstance(self.value, dict)

    @property
    def is_list(self) -> bool:
        """Whether the value is a list."""
        return isinstance(self.value, list)

    def get(self, key: str) -> "Node | None":
        """Return what stands under a key of a mapping, or None."""
        found: Node | None = self.value.get(key) if isinstance(self.value, dict) else None
        return found

    def plain(self) -> Any:
        """Return the value without places, as dicts, lists and scalars."""
        if isinstance(self.value, dict):
            return {key: node.plain() for key, node in self.value.items()}
        if isinstance(self.value, list):
            return [node.plain() for node in self.value]
        return self.value


class Faults:
    """Collects the faults of one file, each with its place."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.errors: list[LodpipeError] = []

    def add(
        self, at: Node | tuple[int, int], message: str, hint: str = "", *, key: str = ""
    ) -> None:
        """Note a fault at a node, at one of its keys, or at a line and column."""
        line, column = (at.line, at.column) if isinstance(at, Node) else at
        if key and isinstance(at, Node) and key in at.keys:
            line, column = at.keys[key]
        where = f"{self.name}:{line}:{column}"
        if not any(e.where == where and e.message == message for e in self.errors):
            self.errors.append(UsageError(message, hint=hint, where=where))

    def stop(self) -> None:
        """Raise everything that was noted, in the order of the file."""
        if self.errors:
            raise ManyErrors(sorted(self.errors, key=_position))


def _position(error: LodpipeError) -> tuple[int, int]:
    _, line, column = error.where.rsplit(":", 2)
    return int(line), int(column)


def read_yaml(text: str, faults: Faults) -> Node:
    """Return the one document of a YAML file; what is not allowed goes to `faults`.

    Raises:
        ManyErrors: the text is not YAML, so that nothing more can be said of it.
    """
    try:
        return _Builder(YAML(typ="safe", pure=True).parse(text), faults).document()
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        at = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        faults.add(at, f"not YAML: {error.problem or error.context}", _yaml_hint(str(error)))
    except YAMLError as error:
        faults.add((1, 1), f"not YAML: {' '.join(str(error).split())}")
    except (AssertionError, ValueError, OverflowError) as error:
        # of versions, escapes and numbers that it does not know ruamel.yaml says so in this way
        faults.add((1, 1), f"not YAML: {error}")
    except RecursionError:
        faults.add((1, 1), f"nested deeper than {DEEPEST} levels")
    faults.stop()
    raise AssertionError("unreachable: stop() raises")


def _yaml_hint(text: str) -> str:
    if "cannot start any token" in text:
        return "tabs do not indent in YAML; quote a text that begins with `@` or a backtick"
    if "could not find expected ':'" in text or "mapping values are not allowed" in text:
        return "quote a text that holds `: ` or begins with `{`, `[`, `*`, `&`, `!` or `%`"
    return ""


class _Builder:
    """Builds nodes from events: no constructor of any tag is ever called."""

    def __init__(self, events: Iterator[Any], faults: Faults) -> None:
        self.events = events
        self.faults = faults
        self.anchors: dict[str, tuple[Node, int]] = {}
        self.count = 0

    def document(self) -> Node:
        for event in self.events:
            if not isinstance(event, StreamStartEvent | DocumentStartEvent):
                break
        else:
            event = None
        if event is None or not isinstance(
            event, MappingStartEvent | SequenceStartEvent | ScalarEvent
        ):
            self.faults.add((1, 1), "the file is empty")
            self.faults.stop()
        node = self._node(event, 0)
        if any(isinstance(rest, DocumentStartEvent) for rest in self.events):
            self.faults.add(node, "the file holds more than one document", "remove the `---`")
        return node

    def _node(self, event: Any, depth: int) -> Node:
        at = (event.start_mark.line + 1, event.start_mark.column + 1)
        if depth > DEEPEST:
            self.faults.add(at, f"nested deeper than {DEEPEST} levels")
            self.faults.stop()
        if isinstance(event, AliasEvent):
            return self._alias(event, at)
        before = self.count
        self.count += 1
        self._bounded(at)
        if event.tag is not None and str(event.tag) not in ("!", ""):
            self.faults.add(at, f"the tag `{event.tag}` is not allowed", "leave the tag out")
        if isinstance(event, ScalarEvent):
            node = Node(_scalar(event), *at, quoted=event.style in ("'", '"'))
        elif isinstance(event, SequenceStartEvent):
            node = Node(self._items(depth), *at)
        else:
            node = self._mapping(at, depth)
        if event.anchor is not None:
            self.anchors[event.anchor] = (node, self.count - before)
        return node

    def _alias(self, event: Any, at: tuple[int, int]) -> Node:
        found = self.anchors.get(event.anchor)
        if found is None:
            self.faults.add(at, f"there is no anchor `&{event.anchor}` before this alias")
            return Node(None, *at, quoted=True)
        node, size = found
        self.count += size
        self._bounded(at)
        return node

    def _bounded(self, at: tuple[int, int]) -> None:
        if self.count > MOST_NODES:
            self.faults.add(at, f"more than {MOST_NODES:,} values, aliases unfolded")
            self.faults.stop()

    def _items(self, depth: int) -> list[Node]:
        items = []
        for event in self.events:
            if isinstance(event, SequenceEndEvent):
                break
            items.append(self._node(event, depth + 1))
        return items

    def _mapping(self, at: tuple[int, int], depth: int) -> Node:
        values: dict[str, Node] = {}
        places: dict[str, tuple[int, int]] = {}
        for event in self.events:
            if isinstance(event, MappingEndEvent):
                break
            key_node = self._node(event, depth + 1)
            value = self._node(next(self.events), depth + 1)
            place = (key_node.line, key_node.column)
            if value.value is None and not value.quoted:
                value.line, value.column = place  # nothing stands there: the parser is further on
            if isinstance(key_node.value, dict | list):
                self.faults.add(place, "a key that is not a word", "quote the placeholder")
                continue
            key = event.value if isinstance(event, ScalarEvent) else str(key_node.value)
            if key in values:
                self.faults.add(place, f"the key `{key}` stands twice", "keep one of them")
            values[key], places[key] = value, place
        return Node(values, *at, keys=places)


def _scalar(event: ScalarEvent) -> Any:
    text: str = event.value
    if event.style is not None:
        return text
    if text in _NULLS:
        return None
    if text in _TRUE or text in _FALSE:
        return text in _TRUE
    if _INT.fullmatch(text):
        return int(text)
    if _FLOAT.fullmatch(text):
        return float(text)
    return text
