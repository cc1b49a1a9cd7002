"""Which values of a source are neither mapped nor dropped.

Every path that holds a value somewhere in the source is mapped, dropped with a reason, or a
finding. Paths are told apart by names alone, so the elements of a list share one; what a path is
is found out once, and after that a record costs one look for each of its values.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from lodpipe.errors import nearest
from lodpipe.findings import Finding, Report
from lodpipe.mapping.paths import ANY, DEEP, JSON, Shape
from lodpipe.records import Place

_SKIP, _LEAF = 1, 2
MOST_NAMES = 500
"""Names below one path: members beyond these (identifiers used as names) are told as one."""

Seen = Sequence[tuple[Shape, int, Place | None, str]]
"""Paths that were met: how often a value was lost there, where first, and an example."""
Met = tuple[str, int, Seen]
"""What a mapping met: form of the records, how many, and their paths."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A place that a mapping reads or drops: its shape, and where the mapping says so.

    `below` is the shape of the list that it is read from the elements of.
    """

    shape: Shape
    written: str
    at: tuple[int, int]
    below: Shape = ()


class Branch:
    """One path of a source; `kind` is _SKIP when all below it is settled, _LEAF when it is read."""

    __slots__ = ("count", "kids", "kind", "path", "place", "value")

    def __init__(self, path: Shape, kind: int) -> None:
        self.path = path
        self.kind = kind
        self.kids: dict[str, Branch] = {}
        self.count = 0
        self.place: Place | None = None
        self.value = ""


class Leaves:
    """The paths of one source, and what becomes of them."""

    def __init__(self, mapped: list[Reading], dropped: list[Reading], lists: list[Reading]) -> None:
        self.mapped = mapped
        self.dropped = dropped
        self.lists = lists
        self.root = Branch((), 0)
        self.records = 0

    def _kind(self, path: Shape) -> int:
        if any(fits(reading.shape, path) for reading in self.dropped):
            return _SKIP
        return _LEAF if any(fits(reading.shape, path) for reading in self.mapped) else 0

    def _add(self, parent: Branch, name: str) -> Branch:
        path = (*parent.path, name)
        if len(parent.kids) < MOST_NAMES:
            made = parent.kids[name] = Branch(path, self._kind(path))
            return made
        kind = self._kind(path)
        if kind:
            return Branch(path, kind)
        rest = parent.kids.get(ANY)
        if rest is None:
            rest = parent.kids[ANY] = Branch((*parent.path, ANY), 0)
        return rest

    def row(self, row: dict[str, str], place: Place) -> None:
        """Look at one row of a table."""
        self.records += 1
        kids = self.root.kids
        for name, text in row.items():
            branch = kids.get(name) or self._add(self.root, name)
            if not branch.kind and text:
                self._lost(branch, text, place)

    def value(self, value: Any, place: Place) -> None:
        """Look at one JSON value."""
        self.records += 1
        self._json(value, self.root, place)

    def _json(self, value: Any, branch: Branch, place: Place) -> None:
        if value.__class__ is list:
            for item in value:
                if item.__class__ is dict or item.__class__ is list:
                    self._json(item, branch, place)
                elif not branch.kind and item is not None and item != "":
                    self._lost(branch, str(item), place)
            return
        if value.__class__ is not dict:
            return
        kids = branch.kids
        for name, item in value.items():
            kid = kids.get(name)
            if kid is None:
                kid = self._add(branch, name)
            kind = kid.kind
            if kind == _SKIP:
                continue
            of = item.__class__
            if of is dict or of is list:
                self._json(item, kid, place)
            elif not kind and item is not None and item != "":
                self._lost(kid, str(item), place)

    def element(
        self, element: Any, names: "Names", place: Place, inner: frozenset[str] = frozenset()
    ) -> None:
        """Look at one XML element; `inner`: tags of elements inside that are records themselves."""
        self.records += 1
        inner = inner | {element.tag} if inner else inner
        self._xml(element, self.root, names, place, inner, False)

    def _xml(
        self,
        element: Any,
        branch: Branch,
        names: "Names",
        place: Place,
        inner: frozenset[str],
        covered: bool,
    ) -> None:
        kids = branch.kids
        for name, text in element.attrib.items():
            key = f"@{names.of(name)}"
            kid = kids.get(key) or self._add(branch, key)
            if not kid.kind and text.strip():
                self._lost(kid, text, place)
        covered = covered or branch.kind == _LEAF
        if not covered and element.text and not element.text.isspace():
            self._lost(branch, element.text.strip(), place)
        for child in element:
            tag = child.tag
            if not covered and child.tail and not child.tail.isspace():
                self._lost(branch, child.tail.strip(), place)
            if tag.__class__ is not str or tag in inner:
                continue
            name = names.of(tag)
            kid = kids.get(name) or self._add(branch, name)
            if kid.kind != _SKIP:
                self._xml(child, kid, names, place, inner, covered)

    def _lost(self, branch: Branch, text: str, place: Place) -> None:
        branch.count += 1
        if branch.count == 1:
            branch.place = place
            branch.value = text[:200]

    # --- after the last record ------------------------------------------------------------

    def seen(self) -> Seen:
        """Return every path that was met, in the order of their names."""
        found: list[tuple[Shape, int, Place | None, str]] = []
        stack = [self.root]
        while stack:
            branch = stack.pop()
            found.append((branch.path, branch.count, branch.place, branch.value))
            stack.extend(branch.kids.values())
        return sorted(found, key=lambda entry: entry[0])

    def forget(self) -> None:
        """Begin anew, as if no record had been met."""
        self.root = Branch((), 0)
        self.records = 0

    def absorb(self, seen: Seen, records: int) -> None:
        """Add what another process has met."""
        self.records += records
        for path, count, place, value in seen:
            branch = self.root
            for name in path:
                branch = branch.kids.get(name) or self._add(branch, name)
            if count and _before(place, branch.place if branch.count else None):
                branch.place, branch.value = place, value
            branch.count += count

    def report(self, report: Report, form: str, mapping: str) -> None:
        """Report what is neither mapped nor dropped, and what the mapping names in vain."""
        if not self.records:
            return
        seen = self.seen()
        for path, count, place, value in seen:
            if count:
                _report_unmapped(report, write(path, form), count, place, value)
        met = [path for path, *_ in seen if path]
        for reading, severity in (
            *((r, "warning") for r in (*self.mapped, *self.lists)),
            *((r, "info") for r in self.dropped),
        ):
            if not self._met(reading, met) and not (
                form == "xml" and _AROUND.match(reading.written)
            ):
                known = [write(path, form) for path in met]
                what = "is read" if severity == "warning" else "is dropped"
                report(
                    Finding(
                        "column",
                        f"`{reading.written}` {what}, and no record has it",
                        Place(mapping, reading.at[0]),
                        severity=severity,
                        value=reading.written,
                        hint=nearest(reading.written, known),
                    )
                )

    def _met(self, reading: Reading, met: list[Shape]) -> bool:
        if not reading.shape:
            return True
        if reading.below and not any(
            len(path) > 1 and any(fits(reading.below, path[:n]) for n in range(1, len(path)))
            for path in met
        ):
            return True  # the list has no elements anywhere: it is told itself
        if any(fits(reading.shape, path) for path in met):
            return True
        return any(
            fits(dropped.shape, reading.shape[:n])
            for dropped in self.dropped
            for n in range(1, len(reading.shape))
        )


_AROUND = re.compile(r"/|\.\.|(?:parent|ancestor|preceding|following)[\w-]*::")
"""Begins an XPath that leads out of the record: the record itself cannot have what is there."""


def _report_unmapped(
    report: Report, name: str, count: int, place: Place | None, value: str
) -> None:
    times = "once" if count == 1 else f"{count:,} times"
    report(
        Finding(
            "unmapped",
            f"`{name}` is neither mapped nor dropped, and holds a value {times}",
            place.at(name) if place is not None else None,
            value=value,
            hint="read it under `fields`, or list it under `dropped` with the reason",
        )
    )


def _before(place: Place | None, other: Place | None) -> bool:
    if place is None or other is None:
        return other is None
    return (place.file, place.record, place.line) < (other.file, other.record, other.line)


class Names:
    """Names of XML elements and attributes with the prefixes of a mapping."""

    def __init__(self, namespaces: dict[str, str]) -> None:
        self._prefixes = {uri: prefix for prefix, uri in namespaces.items()}
        self._known: dict[str, str] = {"{http://www.w3.org/XML/1998/namespace}lang": "xml:lang"}

    def of(self, tag: str) -> str:
        """Return `lido:term` for `{http://www.lido-schema.org}term`; unknown ones stay."""
        found = self._known.get(tag)
        if found is None:
            uri, brace, local = tag[1:].partition("}")
            prefix = self._prefixes.get(uri) if brace and tag[0] == "{" else ""
            found = tag if prefix is None else f"{prefix}:{local}" if prefix else tag
            self._known[tag] = found
        return found


def write(shape: Shape, form: str) -> str:
    """Return a path as a user would write it: a column, a JSON Pointer, an XPath.

    >>> write(("contributors", "fc"), "json"), write(("a", "@b"), "xml")
    ('/contributors/fc', 'a/@b')
    """
    if form == JSON:
        return "".join("/" + name.replace("~", "~0").replace("/", "~1") for name in shape)
    return "/".join(shape)


def fits(shape: Shape, path: Shape) -> bool:
    """Return whether a path has a shape.

    >>> fits(("a", "**", "b"), ("a", "x", "y", "b")), fits(("a", "*"), ("a",))
    (True, True)
    """
    if not shape:
        return not path
    head, rest = shape[0], shape[1:]
    if head == DEEP:
        return any(fits(rest, path[n:]) for n in range(len(path) + 1))
    if head == ANY:
        return fits(rest, path) or (bool(path) and fits(rest, path[1:]))
    if head == "@*":
        return bool(path) and path[0].startswith("@") and fits(rest, path[1:])
    return bool(path) and path[0] == head and fits(rest, path[1:])
