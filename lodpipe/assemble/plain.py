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
from lodpipe.findings import Finding
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


@dataclass(frozen=True, slots=True)
class Doubt:
    """A value that a claim names and does not hold for certain, whoever made the claim.

    Attributes:
        claim: its key. `aspect`: what it is about.
        name: `name_of` the value.
    """

    claim: str
    aspect: str
    name: str

    def takes(self, value: Tree) -> bool:
        """Return whether a plain value is the one in doubt."""
        return name_of(value) == self.name

    def settles(self, value: Tree) -> bool:
        """Return True: the claim itself says what there is to say."""
        return True


class Moves:
    """Where plain values stand now that others were taken off their lists."""

    def __init__(self) -> None:
        self.now: dict[str, str] = {}
        self._before: dict[str, str] = {}

    def before(self, path: str) -> str:
        """Return the JSON Pointer that the value at a pointer had in the document as it came."""
        return self._before.get(path, path)

    def shift(self, steps: Mapping[str, str | None]) -> None:
        """Note where values have gone, by pointers of now; None for one that was taken off."""
        firsts = {path: self.before(path) for path in steps}
        for path in steps:
            self._before.pop(path, None)
        for path, new in steps.items():
            self.now.pop(firsts[path], None)
            if new is not None:
                self.now[firsts[path]] = new
                self._before[new] = firsts[path]


def take_plain(
    node: Tree, pointer: str, key: str, decides: Ledger | Doubt, aspect: Aspect, moves: Moves
) -> list[Taken]:
    """Take plain values off a node, and say where those that stay have moved.

    Args:
        node: the node, changed in place. `pointer`: its JSON Pointer.
        key: the property.
        decides: which values have to leave: what the ledger says of this slot, or one doubt.
        aspect: values of other kinds than it takes stay, whatever the ledger says.
        moves: gets what was taken off and what stays at another index.
    """
    many = isinstance(node.get(key), list)
    values: list[Any] = node[key] if many else [node.get(key)]
    taken: list[Taken] = []
    kept: list[Any] = []
    steps: dict[str, str | None] = {}
    for number, value in enumerate(values):
        path = f"{pointer}/{key}/{number}" if many else f"{pointer}/{key}"
        fits = isinstance(value, dict) and (isinstance(decides, Doubt) or _fits(value, aspect))
        if fits and decides.takes(value):
            taken.append(Taken(value, moves.before(path), decides.settles(value)))
            steps[path] = None
        elif value is not None:
            if len(kept) != number:
                steps[path] = f"{pointer}/{key}/{len(kept)}"
            kept.append(value)
    if taken:
        moves.shift(steps)
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


def doubted(taken: Taken, doubt: Doubt, uri: str, trace: Sequence[TraceEntry]) -> Finding:
    """Return the finding for a plain value that left because a claim doubts it."""
    return Finding(
        "doubted-value",
        f"the catalogue states the {doubt.aspect} as a fact, and the claim `{doubt.claim}` names "
        f"`{doubt.name}` with a doubt",
        place_of(taken.path, trace),
        value=doubt.name,
        hint="the doubt wins, and the value is not stated; if both are right, put the plain value "
        "on the part of the production with the `role` that it is about",
        uri=uri,
        path=taken.path,
    )


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
