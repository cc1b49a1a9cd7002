"""What the index knows of a document, read off its tree, and the index as pass 2 sees it."""

from collections.abc import Iterator
from typing import Any

from lodpipe.parts import IndexReader
from lodpipe.records import Entry, Tree
from lodpipe.terms import Concepts

_UP = ("part_of", "held_or_supported_by")


def entry_of(tree: Tree) -> Entry:
    """Return what the index keeps of a document."""
    parents = tuple(node["id"] for key in _UP for node in _listed(tree.get(key)) if "id" in node)
    shows = tuple(node["id"] for node in _listed(tree.get("shows")) if "id" in node)
    return Entry(tree["id"], tree["type"], tree.get("_label") or "", parents, shows, _roles(tree))


def _roles(tree: Tree) -> tuple[str, ...]:
    """The last words of the IRIs of productions and modifications: exposure, printing, mounting."""
    start = tree["id"] + "#"
    production = tree.get("produced_by") or {}
    nodes = [production, *_listed(production.get("part")), *_listed(tree.get("modified_by"))]
    return tuple(
        node["id"].removeprefix(start)
        for node in nodes
        if str(node.get("id", "")).startswith(start)
    )


def references(tree: Tree, base: str) -> Iterator[str]:
    """Yield the documents below base that a document points at, itself left out, with repeats."""
    own = tree["id"]
    stack: list[Any] = [tree]
    while stack:
        node = stack.pop()
        if isinstance(node, list):
            stack.extend(node)
            continue
        if not isinstance(node, dict):
            continue
        iri = node.get("id")
        if iri and iri.startswith(base) and iri != own and "#" not in iri:
            yield iri
        stack.extend(value for value in node.values() if isinstance(value, (dict, list)))


class Visible:
    """The index without what is withheld: to pass 2 such a document is not there.

    `asked` gathers what was asked for, found or not, until somebody empties it.
    """

    def __init__(self, index: IndexReader, withheld: frozenset[str]) -> None:
        self._index = index
        self._withheld = withheld
        self.asked: set[str] = set()

    def get(self, uri: str) -> Entry | None:
        """Return what is known of a document that may be seen."""
        self.asked.add(uri)
        return None if uri in self._withheld else self._index.get(uri)


class Labels:
    """Names for IRIs, for what is printed: of documents, of our own concepts, else the path."""

    def __init__(self, index: IndexReader, concepts: Concepts, base: str) -> None:
        self._index, self._base = index, base
        self._concepts = {
            concept.iri if ":" in concept.iri else base + concept.iri: concept.label
            for concept in concepts
        }

    def of(self, iri: str) -> str:
        """Return a name."""
        entry = self._index.get(iri)
        if entry is not None and entry.label:
            return entry.label
        return self._concepts.get(iri) or iri.removeprefix(self._base)


def _listed(value: Any) -> list[Any]:
    if value is None:
        return []
    return value if isinstance(value, list) else [value]
