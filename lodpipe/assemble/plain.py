"""Plain values of the catalogue under a ledger that decides.

A catalogue states its makers, dates and places without saying who says so. As soon as the ledger
has a line for that thing and aspect, its lines decide. A plain value that a line names is stated
again only if that line holds; one that no line names becomes a claim of the source that it came
from, with the standing `former`. Claims that a mapping makes decide nothing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from lodpipe.aspects import Aspect
from lodpipe.records import Claim, Place, TraceEntry, Tree
from lodpipe.wording import say

SINGLE = frozenset({"timespan", "part_of"})
"""Keys that take one value on a production or modification."""


@dataclass(frozen=True, slots=True)
class Speaker:
    """Who speaks in a source, and on which day: what its plain values say as claims."""

    by: str = ""
    on: str = ""


@dataclass(slots=True)
class Ledger:
    """What the lines of the ledger say of one slot.

    Attributes:
        named: the values that they name: IRIs, or EDTF texts for dates.
        held: whether any of them is held now.
        nobody: what the IRI of a Group of unidentified makers begins with. Such a Group is no
            view of anybody: it stays until a line that is held names somebody, and then goes.
    """

    nobody: str
    named: set[str] = field(default_factory=set)
    held: bool = False

    def takes(self, value: Tree) -> bool:
        """Return whether a plain value has to leave its slot."""
        return self.held or not name_of(value).startswith(self.nobody)

    def settles(self, value: Tree) -> bool:
        """Return whether nothing has to be said of a plain value that leaves."""
        name = name_of(value)
        return name in self.named or name.startswith(self.nobody)


@dataclass(frozen=True, slots=True)
class Taken:
    """A plain value taken off its node, and whether a line of the ledger names it.

    `path` is the JSON Pointer that it had.
    """

    value: Tree
    path: str
    named: bool


def take_plain(
    node: Tree, pointer: str, key: str, aspect: Aspect, ledger: Ledger, moves: dict[str, str]
) -> list[Taken]:
    """Take the plain values of an aspect off a node, and say where those that stay have moved.

    Args:
        node: the node, changed in place. `pointer`: its JSON Pointer.
        key: the property. Values of other kinds than the aspect takes stay.
        ledger: what its lines say of this slot.
        moves: gets old pointer to new one for each value that stays at another index.
    """
    values: list[Any] = node[key] if isinstance(node.get(key), list) else [node.get(key)]
    taken: list[Taken] = []
    kept: list[Any] = []
    for number, value in enumerate(values):
        path = (
            f"{pointer}/{key}/{number}" if isinstance(node.get(key), list) else f"{pointer}/{key}"
        )
        if isinstance(value, dict) and _fits(value, aspect) and ledger.takes(value):
            taken.append(Taken(value, path, ledger.settles(value)))
        elif value is not None:
            if len(kept) != number:
                moves[path] = f"{pointer}/{key}/{len(kept)}"
            kept.append(value)
    if taken:
        if kept:
            node[key] = kept
        else:
            node.pop(key, None)
    return taken


def name_of(value: Tree) -> str:
    """Return what two statements of one value have in common: its IRI, its EDTF, or its text."""
    if "id" in value:
        return str(value["id"])
    edtf = _edtf(value)
    if edtf:
        return edtf
    names = value.get("identified_by") or [value]
    return str(names[0].get("content", ""))


def as_former(
    taken: Taken, about: str, aspect: Aspect, trace: Sequence[TraceEntry],
    speakers: Mapping[str, Speaker], used: set[str], language: str,
) -> Claim:  # fmt: skip
    """Return a plain value that the ledger has set aside, as a former claim of its source.

    Args:
        about: IRI of the document.
        trace: of the document as the catalogue made it.
        speakers: by file of the source; the empty name stands for all others.
        used: keys of claims that are taken; gets the new one.
        language: of the words that say on what grounds.
    """
    entry = next((e for e in trace if _leads(e.path, taken.path)), None)
    file = entry.place.file if entry else ""
    speaker = speakers.get(file) or speakers.get("") or Speaker()
    name = name_of(taken.value)
    words = "" if "id" in taken.value else _words(taken.value)
    key = _free(f"catalogue-{aspect.name}-{_short(name)}", used)
    edtf = _edtf(taken.value)
    return Claim(
        key=key,
        about=about,
        aspect=aspect.name,
        value=str(taken.value.get("id", "")) or edtf,
        value_text=words,
        standing="former",
        effective="former",
        by=speaker.by,
        on=speaker.on,
        basis=say(language, "basis.catalogue"),
        mapped=True,
        place=entry.place if entry else None,
    )


def moved_trace(
    trace: Sequence[TraceEntry], gone: Mapping[str, str], moves: Mapping[str, str]
) -> list[TraceEntry]:
    """Return a trace after values were taken off or moved.

    Args:
        gone: old pointer of a value to the pointer of the claim that holds it now, or empty.
        moves: old pointer to new pointer.
    """
    if not gone and not moves:
        return list(trace)
    kept = []
    for entry in trace:
        path: str | None = entry.path
        for old, new in (*gone.items(), *moves.items()):
            if _leads(entry.path, old):
                path = (new if old in gone else new + entry.path[len(old) :]) or None
                break
        if path is not None:
            kept.append(TraceEntry(path, entry.field, entry.place))
    return kept


def place_of(path: str, trace: Sequence[TraceEntry]) -> Place | None:
    """Return the place of the value at a pointer, or of something in it."""
    return next((entry.place for entry in trace if _leads(entry.path, path)), None)


def _leads(path: str, whole: str) -> bool:
    return path == whole or path.startswith(whole + "/")


def _fits(value: Tree, aspect: Aspect) -> bool:
    kind = value.get("type")
    return kind in aspect.takes or (kind == "TimeSpan" and "date" in aspect.takes)


def _edtf(value: Tree) -> str:
    """The EDTF of a time span; empty for one in words and for everything else."""
    for name in value.get("identified_by", ()):
        if name.get("type") == "Identifier":
            return str(name.get("content", ""))
    return ""


def _words(value: Tree) -> str:
    for name in value.get("identified_by", ()):
        if name.get("type") == "Name":
            return str(name.get("content", ""))
    return str(value.get("content", ""))


def _short(name: str) -> str:
    """The last segment of an IRI; slashes of an EDTF interval would read like a path."""
    last = name.rpartition("/")[2] if ":" in name else name
    return last.replace("/", "--") or "undated"


def _free(key: str, used: set[str]) -> str:
    free, number = key, 2
    while free in used:
        free, number = f"{key}-{number}", number + 1
    used.add(free)
    return free
