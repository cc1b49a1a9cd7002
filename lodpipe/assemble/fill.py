"""Filling the open slots of a document from the index of the run.

A mapping leaves the label of each link open (`"_label": None`), because the record that it maps
need not know what the other is called. Pass 2 looks it up. A link below our base whose document
does not exist is taken out: a page that cannot be opened is worse than none.
"""

from typing import Any

from lodpipe.findings import Finding, Report
from lodpipe.records import Entry, Index, Tree
from lodpipe.terms import VOCAB


def fill(tree: Tree, index: Index, report: Report, *, base: str) -> Tree:
    """Fill every open label of a document, in place, and return it.

    Args:
        tree: a document with open slots.
        base: IRIs below it are ours: their documents must exist, but for concepts (`vocab/`).
        report: takes a `dangling` for each link that leads nowhere; `path` is where it stood.
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
        _prune(tree, gone)
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


def _prune(node: Tree, gone: set[int]) -> None:
    """Take out nodes by identity, and keys that have nothing left."""
    for key in list(node):
        value: Any = node[key]
        if type(value) is dict:
            if id(value) in gone:
                del node[key]
            else:
                _prune(value, gone)
        elif type(value) is list:
            kept = [item for item in value if id(item) not in gone]
            for item in kept:
                if type(item) is dict:
                    _prune(item, gone)
            if not kept:
                del node[key]
            elif len(kept) < len(value):
                node[key] = kept
