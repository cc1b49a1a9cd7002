"""Manifests and collections against the musts of IIIF Presentation 3.0, in rules of our own.

The official JSON Schema lets much of them pass (a region outside its canvas, an empty Range, a
`navDate` without zone, the context of the API in the wrong place), and its messages name a branch
and not the fault. Each rule here has the clause that it comes from, tells how many objects it
looked at, and gives results in the form of those of shapes, so that every report can show them.
Specification: <https://iiif.io/api/presentation/3.0/>.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from lodpipe.check.graph import quote
from lodpipe.check.iiif.tables import NOTES, OURS, PRESENTATION, SPECIFICATION
from lodpipe.check.results import Result
from lodpipe.check.shapes import SHAPE
from lodpipe.errors import IriError
from lodpipe.findings import VIOLATION
from lodpipe.iris import check_iri

Tree = dict[str, Any]
Fault = tuple[str, Any]
"""JSON Pointer below the object, and the offending value."""

PREFIX = f"{SHAPE}iiif-"
OLD = ("http://iiif.io/api/presentation/2/", "http://www.shared-canvas.org/")
_CLOSED = frozenset({"service", "services", "navPlace", "stylesheet", "@context"})
"""Keys below which other specifications hold."""


class Document:
    """A document as a whole: what its rules look up again and again."""

    __slots__ = ("canvases", "contexts", "kind")

    def __init__(self, tree: Tree) -> None:
        self.kind = kind_of(tree)
        self.contexts = listed(tree.get("@context"))
        items = tree.get("items") if self.kind == "Manifest" else [tree]
        self.canvases: dict[str, Tree] = {
            one["id"]: one
            for one in listed(items)
            if isinstance(one, dict)
            and one.get("type") == "Canvas"
            and isinstance(one.get("id"), str)
        }


@dataclass(frozen=True, slots=True)
class Spot:
    """One object of a document, and where it stands.

    Attributes:
        pointer: JSON Pointer. `key`: the key that it stands under, "" for the document.
        kind: its `type`, "" when it has none. `above`: the object around it.
    """

    document: Document
    node: Tree
    pointer: str = ""
    key: str = ""
    kind: str = ""
    above: "Spot | None" = None

    def holder(self, kind: str) -> "Spot | None":
        """Return the nearest object around this one that has a class."""
        above = self.above
        while above is not None and above.kind != kind:
            above = above.above
        return above

    @property
    def is_note(self) -> bool:
        """Whether it is an annotation, or a page or collection of them."""
        return self.kind in NOTES

    @property
    def is_embedded(self) -> bool:
        """Whether it stands here with what it holds, and is not only referred to."""
        if self.above is None or self.kind == "Annotation":
            return True
        if self.kind == "Canvas":
            return not self.node.keys().isdisjoint(("height", "width", "duration", "items"))
        return "items" in self.node


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: its name, what it says when it is broken, its clause, how bad it is, what it does.

    `look` returns None for an object that the rule does not concern, else the faults of it.
    """

    name: str
    message: str
    clause: str
    severity: str
    look: "Look"


Look = Callable[[Spot], Iterator[Fault] | None]
RULES: list[Rule] = []


def rule(name: str, clause: str, message: str, severity: str = VIOLATION) -> Callable[[Look], Look]:
    """Enter a function as a rule.

    Args:
        clause: anchor in the specification, or a whole URL.
    """
    url = clause if "://" in clause else f"{SPECIFICATION}#{clause}"

    def enter(look: Look) -> Look:
        RULES.append(Rule(f"{PREFIX}{name}", message, url, severity, look))
        return look

    return enter


@dataclass(slots=True)
class Looked:
    """What the rules found in one document, and how many objects each looked at."""

    results: list[Result] = field(default_factory=list)
    focus: dict[str, int] = field(default_factory=dict)


def is_iiif(tree: Any) -> bool:
    """Return whether a JSON value is a document of the Presentation API, of any version."""
    if not isinstance(tree, dict):
        return False
    contexts = [str(one) for one in listed(tree.get("@context"))]
    if any(one.startswith(("http://iiif.io/api/presentation/", *OLD)) for one in contexts):
        return True
    ours = kind_of(tree) in OURS - {"Agent"}
    return ours and not any("linked.art" in one for one in contexts)


def is_old(tree: Tree) -> bool:
    """Return whether a document is of an earlier version, which these rules do not know."""
    contexts = listed(tree.get("@context"))
    return any(str(one).startswith(OLD) for one in contexts) and PRESENTATION not in contexts


def check(tree: Tree, name: str) -> Looked:
    """Return what breaks a rule in a manifest, collection or page of annotations.

    Args:
        name: stands for the document where it has no `id`.
    """
    found = Looked()
    own = tree.get("id")
    uri = own if isinstance(own, str) and own else name
    for spot in spots(tree):
        for one in RULES:
            faults = one.look(spot)
            if faults is None:
                continue
            found.focus[one.name] = found.focus.get(one.name, 0) + 1
            found.results += [_result(one, spot, uri, *fault) for fault in faults]
    found.results.sort(key=Result.sort_key)
    return found


def spots(tree: Tree) -> Iterator[Spot]:
    """Yield the objects of a document that the specification speaks of, in their order."""
    document = Document(tree)
    stack = [Spot(document, tree, kind=document.kind)]
    while stack:
        spot = stack.pop()
        yield spot
        below: list[Spot] = []
        for key, value in spot.node.items():
            if key in _CLOSED:
                continue
            here = f"{spot.pointer}/{key.replace('~', '~0').replace('/', '~1')}"
            if isinstance(value, dict):
                below.append(Spot(document, value, here, key, kind_of(value), spot))
            elif isinstance(value, list):
                below += [
                    Spot(document, one, f"{here}/{number}", key, kind_of(one), spot)
                    for number, one in enumerate(value)
                    if isinstance(one, dict)
                ]
        stack.extend(reversed(below))


def kind_of(node: Tree) -> str:
    """Return the class of an object, "" when it has none."""
    kind = node.get("type", "")
    return kind if isinstance(kind, str) else ""


def listed(value: Any) -> list[Any]:
    """Return a value as a list."""
    return value if isinstance(value, list) else [value]


def _result(broken: Rule, spot: Spot, uri: str, below: str, value: Any) -> Result:
    own = spot.node.get("id")
    text = "" if value is None else _shown(value)
    return Result(
        uri=uri,
        focus=own if isinstance(own, str) and is_iri(own) else f"_:{spot.pointer}",
        shape=broken.name,
        path="",
        pointer=spot.pointer + below,
        severity=broken.severity,
        component="Iiif",
        message=broken.message,
        value=text,
        rule=broken.clause,
        term=quote(text) if text else "",
    )


def _shown(value: Any) -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, bool | int | float):
        return str(value).lower() if isinstance(value, bool) else str(value)
    return f"a list of {len(value)}" if isinstance(value, list) else "an object"


def is_iri(text: str) -> bool:
    """Return whether a text is an absolute IRI."""
    try:
        check_iri(text)
    except IriError:
        return False
    return True
