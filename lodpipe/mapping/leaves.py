"""Which values of a source are neither mapped nor dropped.

Every path that holds a value somewhere in the source is mapped, dropped with a reason, or a
finding. Paths are told apart by names alone, so the elements of a list share one; what a path is
is found out once, and after that a record costs one look for each of its values.
"""

from typing import Any

from lodpipe.findings import Finding, Report
from lodpipe.mapping.paths import ANY, DEEP, Shape
from lodpipe.records import Place

_SKIP, _LEAF = 1, 2


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
    """The paths of one source, and what becomes of them.

    Args:
        mapped: shapes of everything that a mapping reads.
        dropped: shapes of what it leaves out, with everything below.
    """

    def __init__(self, mapped: list[Shape], dropped: list[Shape]) -> None:
        self.mapped = mapped
        self.dropped = dropped
        self.root = Branch((), 0)
        self.records = 0
        self.met: set[Shape] = set()

    def _add(self, parent: Branch, name: str) -> Branch:
        path = (*parent.path, name)
        kind = 0
        if any(fits(shape, path) for shape in self.dropped):
            kind = _SKIP
        elif any(fits(shape, path) for shape in self.mapped):
            kind = _LEAF
        made = parent.kids[name] = Branch(path, kind)
        return made

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

    def element(self, element: Any, names: "Names", place: Place) -> None:
        """Look at one XML element; what lies in records of its own is theirs."""
        self.records += 1
        self._xml(element, self.root, names, place, element)

    def _xml(self, element: Any, branch: Branch, names: "Names", place: Place, top: Any) -> None:
        kids = branch.kids
        for name, text in element.attrib.items():
            key = f"@{names.of(name)}"
            kid = kids.get(key) or self._add(branch, key)
            if not kid.kind and text.strip():
                self._lost(kid, text, place)
        if not branch.kind:
            text = element.text or ""
            if text and not text.isspace() and element is not top:
                self._lost(branch, text.strip(), place)
        for child in element:
            tag = child.tag
            if tag.__class__ is not str:
                continue
            name = names.of(tag)
            kid = kids.get(name) or self._add(branch, name)
            if kid.kind != _SKIP:
                self._xml(child, kid, names, place, top)

    def _lost(self, branch: Branch, text: str, place: Place) -> None:
        branch.count += 1
        if branch.count == 1:
            branch.place = place
            branch.value = text[:200]

    def seen(self) -> list[tuple[Shape, int, Place | None, str]]:
        """Return what was met and not mapped: path, how often, where first, an example."""
        found: list[tuple[Shape, int, Place | None, str]] = []
        stack = [self.root]
        while stack:
            branch = stack.pop()
            if branch.count:
                found.append((branch.path, branch.count, branch.place, branch.value))
            stack.extend(branch.kids.values())
        return sorted(found)

    def absorb(self, seen: list[tuple[Shape, int, Place | None, str]]) -> None:
        """Add what another worker has met."""
        for path, count, place, value in seen:
            branch = self.root
            for name in path:
                branch = branch.kids.get(name) or self._add(branch, name)
            first = branch.place is None or (
                place is not None
                and (place.record, place.line) < (branch.place.record, branch.place.line)
            )
            if first:
                branch.place, branch.value = place, value
            branch.count += count

    def report(self, report: Report, written: "Written") -> None:
        """Report every path that is neither mapped nor dropped, once."""
        for path, count, place, value in self.seen():
            name = written(path)
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


class Written:
    """Writes a shape as the user would: a column, a JSON Pointer, an XPath."""

    def __init__(self, form: str) -> None:
        self.form = form

    def __call__(self, shape: Shape) -> str:
        """Return the path of a shape."""
        if self.form == "json":
            return "/" + "/".join(name.replace("~", "~0").replace("/", "~1") for name in shape)
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
