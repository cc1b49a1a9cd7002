"""What a mapping says of one field: where it stands, and how it is read."""

from dataclasses import dataclass
from dataclasses import field as attribute
from typing import Any

from lodpipe.errors import LodpipeError
from lodpipe.iris import check_language
from lodpipe.mapping import language
from lodpipe.mapping.compiler import Compiler, Pattern
from lodpipe.mapping.sizes import KINDS, UNITS
from lodpipe.mapping.spaces import Field, Ref
from lodpipe.mapping.texts import Text
from lodpipe.mapping.uris import Uri
from lodpipe.mapping.when import Condition
from lodpipe.mapping.yaml_nodes import Node


@dataclass(frozen=True, slots=True)
class Source:
    """One `from`: the path as written, and its place in the mapping."""

    path: str
    at: tuple[int, int]


@dataclass(slots=True)
class Spec:
    """How one field is read.

    Attributes:
        field: the name that it fills. sources: where it may stand, the first non-empty counts.
        empty: texts that mean nothing. reads_as: `as` without a language, or "".
        members: for `together`, the spec of each column; for `each`, `walk` and `join`, those of
            the fields that are declared for an element.
        cases: for `choose`.
        needs: ids of the fields that must be read before it.
        implicit: a member of an element that no `fields` declares.
        options: everything else that the mapping says, by key.
    """

    field: Field
    sources: list[Source] = attribute(default_factory=list)
    empty: frozenset[str] = frozenset({""})
    reads_as: str = ""
    pattern: Pattern | None = None
    split: str = ""
    members: "list[Spec]" = attribute(default_factory=list)
    cases: list["Case"] = attribute(default_factory=list)
    needs: set[int] = attribute(default_factory=set)
    implicit: bool = False
    options: dict[str, Any] = attribute(default_factory=dict)


@dataclass(slots=True)
class Case:
    """One case of `choose`: its value as a text; as a path, encoded, once `{+field}` asks for it."""

    when: Condition | None
    node: Node
    text: Text
    tested: list[Ref]
    uri: Uri | None = None


def reads_as(node: Node | None, compiler: Compiler) -> tuple[str, str]:
    """Return what `as` says: the way to read a value, and the language of `text@en`."""
    if node is None:
        return "", ""
    word = compiler.text(node, "`as`")
    kind, at_sign, tag = word.partition("@")
    if kind == "text" and at_sign:
        try:
            tag = check_language(tag)
            compiler.nodes.language(tag)
        except LodpipeError as error:
            compiler.faults.add(node, error.message, error.hint)
        return "", tag
    return compiler.one_of(node, language.AS, "a way to read a value"), ""


_GO_WITH = {"kind": "date", "compare": "date", "unit": "size", "order": "size", "what": "size"}
_OF_LISTS = ("lead", "children", "root", "on", "by", "fields")


def read_options(spec: Spec, node: Node, compare: list[Source], compiler: Compiler) -> None:
    """Read the keys of a field that go with one way of reading it only."""
    keys, faults, options = node.value, compiler.faults, spec.options
    for key in keys:
        if key in _GO_WITH and spec.reads_as != _GO_WITH[key]:
            faults.add(node, f"`{key}` goes with `as: {_GO_WITH[key]}` only", key=key)
        elif key in _OF_LISTS:
            faults.add(node, f"`{key}` goes with a list only", key=key)
    if "kind" in keys:
        options["kind"] = compiler.one_of(keys["kind"], language.DATE_KINDS, "a kind of date")
    if "compare" in keys:
        if len(compare) != 2:
            faults.add(keys["compare"], "`compare` takes two places", "the first day and the last")
        options["compare"] = compare
    if "unit" in keys:
        options["unit"] = compiler.one_of(keys["unit"], UNITS, "a unit of length")
    if "order" in keys:
        items = keys["order"].value if keys["order"].is_list else [keys["order"]]
        options["order"] = tuple(
            compiler.one_of(item, KINDS, "a kind of dimension") for item in items
        )
    if "what" in keys:
        what = compiler.text(keys["what"], "`what`")
        if what and compiler.term(keys["what"], f"measured-{what}"):
            options["what"] = what


def empty_words(node: Node, compiler: Compiler) -> frozenset[str]:
    """Return the texts that mean nothing, from a list of the mapping; "" is always one."""
    items = node.value if node.is_list else [node]
    words = {""}
    for item in items:
        if isinstance(item.value, dict | list | bool):
            compiler.faults.add(item, "a value that means nothing is a text or a number")
        elif item.value is not None:
            words.add(str(item.value))
    return frozenset(words)
