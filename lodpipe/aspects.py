"""The table of aspects: what a claim can be about, and where in a document it goes.

`mappings/claims.yaml` ships with lodpipe; a project may have its own. Reading the ledger, weighing
and merging all go by this one table. It is data: faults in it are named with line and column, all
in one run.
"""

import builtins
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap
from ruamel.yaml.error import MarkedYAMLError

from lodpipe.errors import LodpipeError, ManyErrors, TermError, UsageError, nearest
from lodpipe.records import Claim

CLASSES = (
    "Activity", "Event", "Group", "HumanMadeObject", "LinguisticObject", "Person", "Place", "Set",
    "Type", "VisualItem",
)  # fmt: skip
DATE, TEXT, IRI = "date", "text", "iri"
VALUES = (DATE, TEXT, IRI)
"""What a value can be that is no document."""
FAMILIES = ("doubt", "workshop", "influence", "copy")
EVENTS = ("exposure", "print", "mount", "caption", "")
RECORD, MAIN = "record", "main"


@dataclass(frozen=True, slots=True)
class Family:
    """What a family of qualifiers changes: the property, or that a Group stands for the person."""

    property: str = ""
    group: bool = False


@dataclass(frozen=True, slots=True)
class Aspect:
    """One aspect of a thing that claims can be about; the keys are told in claims.yaml.

    `order` is its position in the table: claims on one node stand in this order.
    """

    name: str
    order: int
    most: str
    document: str
    node: str
    property: str
    takes: frozenset[str]
    weighed_on: str = ""
    direct: str = ""
    decides: bool = False
    at: Mapping[str, str] = field(default_factory=dict)
    of: Mapping[str, str] = field(default_factory=dict)
    families: Mapping[str, Family] = field(default_factory=dict)

    @builtins.property  # `property` is a field here
    def one(self) -> bool:
        """Whether a thing has at most one certain current claim of it at a time."""
        return self.most == "one"


@dataclass(frozen=True, slots=True)
class Role:
    """Which node a maker of some role works on, and the event that he is weighed on."""

    node: str
    weighed_on: str


@dataclass(frozen=True, slots=True)
class Aspects:
    """The whole table: aspects by name, roles of makers, families of qualifiers, main nodes."""

    by_name: Mapping[str, Aspect]
    roles: Mapping[str, Role]
    qualifiers: Mapping[str, str]
    main_nodes: tuple[str, ...]

    def get(self, name: str) -> Aspect:
        """Return an aspect, or raise a TermError that names the nearest one."""
        try:
            return self.by_name[name]
        except KeyError:
            raise TermError(
                f"`{name}` is not an aspect", hint=nearest(name, self.by_name)
            ) from None

    def family(self, qualifier: str) -> str:
        """Return the family of a qualifier, empty for none; a TermError names the nearest one.

        >>> builtin_aspects().family("studio-of")
        'workshop'
        """
        if not qualifier:
            return ""
        try:
            return self.qualifiers[slug(qualifier)]
        except KeyError:
            raise TermError(
                f"`{qualifier}` is not a qualifier", hint=nearest(qualifier, self.qualifiers)
            ) from None

    def doubt(self, qualifier: str) -> bool:
        """Return whether a qualifier is empty or a doubt: only then do life and place bind."""
        return not qualifier or self.qualifiers.get(slug(qualifier)) == "doubt"

    def weighed_on(self, aspect: str, role: str = "") -> str:
        """Return the event whose days a claim bounds: exposure, print, mount, caption, or empty."""
        found = self.get(aspect)
        if aspect == "maker" and role in self.roles:
            return self.roles[role].weighed_on
        return found.weighed_on


def slug(qualifier: str) -> str:
    """Return the name of a qualifier in our tables: `studio of` is `studio-of`."""
    return qualifier.strip().replace(" ", "-")


@cache
def builtin_aspects() -> Aspects:
    """Return the table that ships with lodpipe."""
    package = Path(str(files("lodpipe")))
    inside = package / "mappings" / "claims.yaml"
    return load(inside if inside.is_file() else package.parent / "mappings" / "claims.yaml")


def load(path: Path, name: str = "") -> Aspects:
    """Read a table of aspects.

    Args:
        path: the YAML file. `name`: what messages call it, the file's own name by default.

    Raises:
        UsageError: there is no such file, or it is not YAML.
        ManyErrors: every fault in it, each with `file:line:column`.
    """
    name = name or path.name
    try:
        raw = YAML(typ="rt", pure=True).load(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise UsageError(
            f"cannot read the table of aspects: {error.strerror}",
            where=name,
            hint="look whether it is there and may be read",
        ) from None
    except MarkedYAMLError as error:
        mark = error.problem_mark
        where = f"{name}:{mark.line + 1}:{mark.column + 1}" if mark else name
        raise UsageError(
            f"not YAML: {error.problem}",
            where=where,
            hint="look at the indentation, and quote a text that holds `: `",
        ) from None
    reader = _Reader(name)
    table = reader.table(raw)
    if reader.faults:
        raise ManyErrors(reader.faults)
    return table


class _Reader:
    """Reads one file and collects its faults."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.faults: list[LodpipeError] = []

    def fault(self, message: str, at: tuple[int, int], hint: str = "") -> None:
        where = f"{self.name}:{at[0] + 1}:{at[1] + 1}"
        self.faults.append(UsageError(message, hint=hint, where=where))

    def table(self, raw: Any) -> Aspects:
        known = ("main_nodes", "aspects", "roles", "qualifiers")
        top = dict(self.entries(raw, known, (0, 0), "the table"))
        missing = [key for key in known if key not in top]
        for key in missing:
            self.fault(f"the table has no `{key}`", (0, 0))
        qualifiers = {
            key: self.word(value, FAMILIES, at, "family")
            for key, (value, at) in self.entries(top.get("qualifiers", ({}, (0, 0)))[0])
        }
        roles = {
            key: self.role(value, at)
            for key, (value, at) in self.entries(top.get("roles", ({}, (0, 0)))[0])
        }
        aspects = {
            key: self.aspect(key, order, value, at)
            for order, (key, (value, at)) in enumerate(
                self.entries(top.get("aspects", ({}, (0, 0)))[0])
            )
        }
        main = tuple(str(role) for role in top.get("main_nodes", ((), (0, 0)))[0])
        return Aspects(aspects, roles, qualifiers, main)

    def entries(
        self,
        raw: Any,
        known: tuple[str, ...] = (),
        at: tuple[int, int] = (0, 0),
        what: str = "this",
    ) -> Iterator[tuple[str, tuple[Any, tuple[int, int]]]]:
        """Yield key, value and the place of the key; with `known`, report keys not among them."""
        if not isinstance(raw, dict):
            self.fault(f"{what} is not a mapping of keys and values", at)
            return
        for key, value in raw.items():
            place = raw.lc.key(key) if isinstance(raw, CommentedMap) else at
            if known and key not in known:
                self.fault(f"unknown key `{key}`", place, nearest(str(key), known))
            else:
                yield str(key), (value, place)

    def word(self, value: Any, known: tuple[str, ...], at: tuple[int, int], what: str) -> str:
        if value not in known:
            words = [word for word in known if word]
            hint = nearest(str(value), words) or f"known are {', '.join(words)}"
            self.fault(f"`{value}` is not a {what}", at, hint)
        return str(value)

    def role(self, raw: Any, at: tuple[int, int]) -> Role:
        cells = dict(self.entries(raw, ("node", "weighed_on"), at, "the role"))
        if "node" not in cells:
            self.fault("the role has no `node`", at)
        weighed, place = cells.get("weighed_on", ("", at))
        return Role(str(cells.get("node", ("", at))[0]), self.word(weighed, EVENTS, place, "event"))

    def aspect(self, name: str, order: int, raw: Any, at: tuple[int, int]) -> Aspect:
        known = tuple(key for key in Aspect.__dataclass_fields__ if key not in ("name", "order"))
        cells = dict(self.entries(raw, known, at, f"the aspect `{name}`"))
        for key in ("most", "takes", "document", "node", "property"):
            if key not in cells:
                self.fault(f"the aspect `{name}` has no `{key}`", at)

        def cell(key: str, words: tuple[str, ...], what: str, default: str = "") -> str:
            value, place = cells.get(key, (default, at))
            return self.word(value, words, place, what) if key in cells else default

        takes, place = cells.get("takes", ((), at))
        return Aspect(
            name=name,
            order=order,
            most=cell("most", ("one", "many"), "number"),
            document=cell("document", ("about", "image"), "document"),
            node=str(cells.get("node", ("", at))[0]),
            property=str(cells.get("property", ("", at))[0]),
            takes=frozenset(self.word(v, CLASSES + VALUES, place, "kind of value") for v in takes),
            weighed_on=cell("weighed_on", EVENTS, "event"),
            direct=str(cells.get("direct", cells.get("property", ("", at)))[0]),
            decides=cells.get("decides", (False, at))[0] is True,
            at=self.words(cells.get("at")),
            of=self.words(cells.get("of"), CLASSES),
            families=self.families(cells.get("families")),
        )

    def words(
        self, cell: tuple[Any, tuple[int, int]] | None, known: tuple[str, ...] = ()
    ) -> dict[str, str]:
        if cell is None:
            return {}
        return {key: str(value) for key, (value, _) in self.entries(cell[0], known, cell[1])}

    def families(self, cell: tuple[Any, tuple[int, int]] | None) -> dict[str, Family]:
        if cell is None:
            return {}
        found = {}
        for family, (raw, at) in self.entries(cell[0], FAMILIES, cell[1]):
            keys = dict(self.entries(raw, ("property", "group"), at, f"the family `{family}`"))
            group = keys.get("group", (False, at))[0] is True
            found[family] = Family(str(keys.get("property", ("", at))[0]), group)
        return found


def alternatives(claims: Iterable[Claim]) -> dict[str, tuple[str, int]]:
    """Return, for each claim of a set of which one holds, the set's first key and its size."""
    names = {claim.key: claim.alternative_to for claim in claims if claim.alternative_to}
    if not names:
        return {}
    members: dict[str, set[str]] = {}
    for key in sorted(names):
        first, seen = key, {key}
        while first in names and names[first] not in seen:
            first = names[first]
            seen.add(first)
        members.setdefault(first, {first}).update(seen)
    return {key: (first, len(keys)) for first, keys in members.items() for key in keys}


def holds(claim: Claim, apart: Mapping[str, tuple[str, int]]) -> bool:
    """Return whether a claim is current and certain, so that it may be stated directly.

    A date that its EDTF marks with `?` or `%` is not certain either, whatever the ledger says.
    """
    if claim.effective != "current" or claim.qualifier or claim.key in apart:
        return False
    return not (claim.aspect.startswith("date") and ("?" in claim.value or "%" in claim.value))
