"""Two releases told apart: which documents are new, changed or gone, and what changed in them."""

import heapq
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import orjson

from lodpipe.archive.read import Archive


@dataclass(frozen=True, slots=True)
class Change:
    """What happened to one document between two releases.

    `state` is new, changed, gone or withdrawn; `details` tells a changed one's values: JSON Pointer
    of a list or value, what it no longer holds, what it holds now. Of what was withdrawn nothing is
    told but that; of another one whose earlier text named it, that it changed.
    """

    uri: str
    kind: str
    label: str
    state: str
    details: tuple[tuple[str, str, str], ...] = ()


def compare(archive: Archive, old: int, new: int) -> Iterator[Change]:
    """Yield the changes that lead from one release to another, in URI order."""
    emptied = archive.emptied(old)
    told = _told(archive, old, new)
    taken_back = (
        Change(uri, archive.kind_of(uri), "", "withdrawn")
        for uri in sorted(archive.emptied(old) | archive.emptied(new))
        if archive.tombstone(uri) is not None
    )
    for change in heapq.merge(told, taken_back, key=lambda change: change.uri):
        known = change.state == "new" and change.uri in emptied
        yield replace(change, state="changed") if known else change


def _told(archive: Archive, old: int, new: int) -> Iterator[Change]:
    before = archive.documents(old)
    left = next(before, None)
    for right in archive.documents(new):
        while left and left.uri < right.uri:
            yield _one(left.uri, left.kind, left.body, "gone")
            left = next(before, None)
        if left and left.uri == right.uri:
            if left.hash != right.hash:
                details = tuple(_differences(orjson.loads(left.body), orjson.loads(right.body), ""))
                change = _one(right.uri, right.kind, right.body, "changed")
                yield Change(change.uri, change.kind, change.label, "changed", details)
            left = next(before, None)
        else:
            yield _one(right.uri, right.kind, right.body, "new")
    while left:
        yield _one(left.uri, left.kind, left.body, "gone")
        left = next(before, None)


def _one(uri: str, kind: str, body: bytes, state: str) -> Change:
    return Change(uri, kind, orjson.loads(body).get("_label", ""), state)


def _differences(old: Any, new: Any, path: str) -> Iterator[tuple[str, str, str]]:
    """Walk two trees side by side; members of lists are told apart by what they say, not by place."""
    if old == new:
        return
    if isinstance(old, dict) and isinstance(new, dict) and old.get("id") == new.get("id"):
        for key in sorted(old.keys() | new.keys()):
            yield from _differences(old.get(key), new.get(key), f"{path}/{key}")
        return
    if isinstance(old, list) or isinstance(new, list):
        old, new = (value if isinstance(value, list) else [] for value in (old, new))
        less = [member for member in old if member not in new]
        more = [member for member in new if member not in old]
        if len(less) == len(more) == 1:
            yield from _differences(less[0], more[0], f"{path}/{new.index(more[0])}")
            return
        for member in less:
            yield path, _words(member), ""
        for member in more:
            yield path, "", _words(member)
        return
    yield path, _words(old), _words(new)


def _words(value: Any) -> str:
    """What a node says, short enough for one line: its text, its label, or its JSON."""
    if value is None:
        return ""
    if isinstance(value, dict):
        for key in ("content", "_label", "value", "id"):
            if value.get(key) not in (None, ""):
                return str(value[key])
        return orjson.dumps(value).decode()[:120]
    return str(value)
