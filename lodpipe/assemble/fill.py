"""Filling the open slots of a document from the index of the run.

A mapping leaves the label of each link open (`"_label": None`), because the record that it maps
need not know what the other is called. Pass 2 looks it up. A link below our base whose document
does not exist is taken out: a page that cannot be opened is worse than none.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from lodpipe.findings import Finding, Report
from lodpipe.records import Entry, Index, TraceEntry, Tree
from lodpipe.terms import VOCAB


@dataclass(slots=True)
class TakenOut:
    """What `fill` took out of a document, so that the trace can follow what was behind it.

    Attributes:
        gone: JSON Pointers of what left, as the document came.
        lists: pointer of a list that lost items -> old index of each item that stays -> new one.
    """

    gone: set[str] = field(default_factory=set)
    lists: dict[str, dict[str, str]] = field(default_factory=dict)

    def follow(self, trace: Iterable[TraceEntry]) -> list[TraceEntry]:
        """Return a trace as it leads now; entries of what was taken out are left out."""
        moved = ((self.now(entry.path), entry) for entry in trace)
        return [TraceEntry(path, e.field, e.place) for path, e in moved if path is not None]

    def now(self, path: str) -> str | None:
        """Return where what stood at a JSON Pointer stands now, or None if it was taken out."""
        old = new = ""
        for step in path.split("/")[1:]:
            index = self.lists[old].get(step) if old in self.lists else step
            old, new = f"{old}/{step}", f"{new}/{index}"
            if index is None or old in self.gone:
                return None
        return new


def fill(
    tree: Tree, index: Index, report: Report, *, base: str, out: TakenOut | None = None
) -> Tree:
    """Fill every open label of a document, in place, and return it.

    Args:
        tree: a document with open slots.
        base: IRIs below it are ours: their documents must exist, but for concepts (`vocab/`).
        report: takes a `dangling` for each link that leads nowhere; `path` is where it stood.
        out: gets what was taken out.
    """
    open_slots: list[Tree] = []
    _collect(tree, open_slots)
    gone: set[int] = set()
    for node in open_slots:
        uri = node.get("id", "")
        entry = _entry(uri, index)
        if entry is not None:
            node["_label"] = entry.label
            continue
        del node["_label"]
        if node is tree or not uri.startswith(base) or uri.startswith(base + VOCAB):
            continue
        gone.add(id(node))
        report(
            Finding(
                "dangling",
                f"there is no document `{uri.removeprefix(base)}`",
                value=uri,
                hint="the link is left out; map the record that it names, or mend its key",
                uri=tree.get("id", ""),
                path=_pointer(tree, node, ""),
            )
        )
    if gone:
        _prune(tree, gone, "", out or TakenOut())
    return tree


def _entry(uri: str, index: Index) -> Entry | None:
    return index.get(uri.partition("#")[0] if "#" in uri else uri)


def _collect(node: Tree, found: list[Tree]) -> None:
    """Gather the nodes whose label is open; the hot path of pass 2."""
    for value in node.values():
        kind = type(value)
        if kind is str:
            continue
        if kind is list:
            for item in value:
                if type(item) is dict:
                    _collect(item, found)
        elif kind is dict:
            _collect(value, found)
        elif value is None and "_label" in node and node["_label"] is None:
            found.append(node)


def _pointer(above: Any, node: Tree, path: str) -> str:
    """Return the JSON Pointer of a node, by identity; "" when it is not below."""
    if above is node:
        return path
    pairs = above.items() if isinstance(above, dict) else enumerate(above)
    for key, value in pairs:
        if isinstance(value, dict | list) and (found := _pointer(value, node, f"{path}/{key}")):
            return found
    return ""


def _prune(node: Tree, gone: set[int], pointer: str, out: TakenOut) -> None:
    """Take out nodes by identity, and keys that have nothing left."""
    for key in list(node):
        value, path = node[key], f"{pointer}/{key}"
        if type(value) is dict:
            if id(value) in gone:
                out.gone.add(path)
                del node[key]
            else:
                _prune(value, gone, path, out)
        elif type(value) is list:
            _prune_list(node, key, gone, path, out)


def _prune_list(node: Tree, key: str, gone: set[int], path: str, out: TakenOut) -> None:
    kept: list[Any] = []
    stays: dict[str, str] = {}
    for number, item in enumerate(node[key]):
        if id(item) not in gone:
            if type(item) is dict:
                _prune(item, gone, f"{path}/{number}", out)
            stays[str(number)] = str(len(kept))
            kept.append(item)
    if len(kept) < len(node[key]):
        out.lists[path] = stays
        node[key] = kept
    if not kept:
        del node[key]
