"""Names that are not said: those of withheld persons, places, sources and threads, in any text."""

import re
from collections.abc import Iterable
from dataclasses import replace

from lodpipe.evidence.facts import Evidence
from lodpipe.findings import Finding
from lodpipe.parts import IndexReader
from lodpipe.records import Layout, Tree

SHORTEST = 5
"""Characters of a name from which on it is taken out of texts: shorter ones are words as well."""
NAMED = frozenset({"Person", "Group", "Place", "LinguisticObject", "Set"})
TEXTS = ("content", "_label")
"""Keys of nodes that hold words."""


class Unsaid:
    """Takes names out of texts that leave.

    Args:
        names: what is not said, compared as whole words, case ignored.
        mark: what stands in their place.
    """

    def __init__(self, names: Iterable[str], mark: str) -> None:
        longest_first = sorted({n for n in names if len(n) >= SHORTEST}, key=lambda n: (-len(n), n))
        either = "|".join(map(re.escape, longest_first))
        self._pattern = re.compile(rf"(?<!\w)(?:{either})(?!\w)", re.IGNORECASE) if either else None
        self._mark = mark

    def __bool__(self) -> bool:
        """Whether there is any name to look for."""
        return self._pattern is not None

    @property
    def names(self) -> str:
        """What is looked for, as one text."""
        return self._pattern.pattern if self._pattern is not None else ""

    def text(self, text: str) -> str:
        """Return a text without the names."""
        if self._pattern is None or not text:
            return text
        return self._pattern.sub(lambda _: self._mark, text)

    def tree(self, tree: Tree) -> list[str]:
        """Take the names out of a document, in place; return the JSON Pointers of what changed."""
        if self._pattern is None:
            return []
        changed: list[str] = []
        stack: list[tuple[object, str]] = [(tree, "")]
        while stack:
            node, pointer = stack.pop()
            if isinstance(node, dict):
                for key, value in node.items():
                    path = f"{pointer}/{key}"
                    if key in TEXTS and isinstance(value, str):
                        node[key] = self.text(value)
                        changed += [path] if node[key] != value else []
                    else:
                        stack.append((value, path))
            elif isinstance(node, list):
                stack.extend((value, f"{pointer}/{n}") for n, value in enumerate(node))
        return sorted(changed)


def names_of(index: IndexReader, facts: Evidence, hidden: frozenset[str]) -> frozenset[str]:
    """Return what withheld persons, places, sources and threads are called, in all their names.

    What withheld things are called is not among them: titles are words of everyday.
    """
    found: set[str] = set()
    for uri in hidden:
        entry = index.get(uri)
        if entry is None or entry.type not in NAMED:
            continue
        found.add(entry.label)
        for node in (index.tree(uri) or {}).get("identified_by", ()):
            found.add(node.get("content", ""))
    found.update(row.name for row in facts.people if row.key in hidden)
    found.update(row.citation for row in facts.sources if row.key in hidden)
    for place in facts.places:
        if place.key in hidden:
            found.update((place.name, *place.former_names))
    return frozenset(found)


def name_taken_out(pointer: str) -> Finding:
    """Return the finding for a text out of which a name was taken."""
    return Finding(
        "names-withheld",
        "the text named somebody or something withheld: the name is taken out",
        hint="write the text so that it needs no such name",
        path=pointer,
    )


def without_names(layout: Layout, unsaid: Unsaid) -> Layout:
    """Return a layout whose threads do not say the names."""
    if not unsaid:
        return layout
    stops = (replace(stop, text=unsaid.text(stop.text)) for stop in layout.stops)
    return replace(layout, stops=tuple(stops))
