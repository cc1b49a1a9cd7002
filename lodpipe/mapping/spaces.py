"""Names and where they lead: fields of a record, of the elements of its lists, one level out.

While a mapping is compiled, a `Space` knows which names there are. While a record is mapped, a
`Scope` holds their values. Names are looked up once, so that a misspelt one is told with its place
in the mapping, and a record costs only the reading of values.
"""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from hashlib import blake2b
from typing import Any

import orjson
from lxml import etree

from lodpipe.errors import nearest
from lodpipe.findings import Finding, Report
from lodpipe.mapping.when import Branches
from lodpipe.records import Input, Place, Record, TraceEntry

TEXT, NUMBER, YEAR, URL, DATE, SIZE, LIST = "text", "number", "year", "url", "date", "size", "list"
DATES = (DATE, YEAR)
PARENT = "parent:"
"""Slot of the scope of the node above, in the nodes of a tree."""

Step = Callable[["Run", "Scope"], None]
"""Reads one field of a record into its scope."""


NOWHERE: dict[str, str] = {}
"""What `Scope.columns` is until a value stands elsewhere than its field says."""


class Scope:
    """The values of one record, or of one element of a list in it.

    Attributes:
        values: by name: text, a number, a date, a list of scopes; empty text or None for nothing.
        columns: columns of values that do not always stand in the same one.
        outer: the scope one level out.
        raw: the row, JSON value or element itself.
        base: what comes before a column: the JSON Pointer or XPath of the element.
        origin: the record that it stands in.
    """

    __slots__ = ("base", "columns", "origin", "outer", "raw", "values")

    def __init__(self, raw: Any, origin: Place, outer: "Scope | None", base: str) -> None:
        self.raw = raw
        self.origin = origin
        self.outer = outer
        self.base = base
        self.values: dict[str, Any] = {}
        self.columns: dict[str, str] = NOWHERE

    def stood(self, slot: str, column: str) -> None:
        """Remember the column of a value that does not always stand in the same one."""
        if self.columns is NOWHERE:
            self.columns = {}
        self.columns[slot] = column


@dataclass(frozen=True, slots=True)
class SourceContext:
    """What a mapping must know of the source that its records come from.

    Attributes:
        source: file of the source, relative to the project.
        rank: rank of the source; by: who speaks in it (a path under base, or an IRI);
            dated: the day of the export, EDTF.
        joins: rows of each joined file, by the text of their key.
        once: whether a document that an earlier record with this very context made in the same
            words is only noted. Without, each record makes all of its documents.
    """

    source: str = ""
    rank: int = 0
    by: str = ""
    dated: str = ""
    joins: Mapping[str, Mapping[str, Sequence[Record]]] = field(default_factory=dict)
    once: bool = False


class Run:
    """What is collected while one record is mapped."""

    __slots__ = (
        "context",
        "inputs",
        "key",
        "origin",
        "places",
        "refused",
        "report",
        "trace",
        "uri",
    )

    def __init__(self, context: SourceContext, origin: Place, report: Report) -> None:
        self.context = context
        self.origin = origin
        self.report = report
        self.key = ""
        self.uri = ""
        self.trace: list[TraceEntry] = []
        self.inputs: dict[tuple[str, str], Input] = {}
        self.places: dict[str, Place] = {}
        self.refused = False  # whether a key or an IRI was told to be one that cannot be published

    def place(self, scope: Scope, column: str) -> Place:
        """Return the place of a column of a scope; one object for each place."""
        return self.place_at(scope, scope.base + column)

    def place_at(self, scope: Scope, column: str) -> Place:
        """Return the place of a column that is written from the record down."""
        if scope.origin is not self.origin:
            return scope.origin.at(column)
        found = self.places.get(column)
        if found is None:
            o = self.origin
            found = self.places[column] = Place(o.file, o.line, o.record, o.sheet, column)
        return found

    def joined(self, name: str, key: str, rows: Sequence[Record]) -> None:
        """Note the rows of a joined file as something that the documents are made from."""
        where = (f"join {name}", key)
        if where not in self.inputs and rows:
            digest = blake2b("".join(map(row_hash, rows)).encode(), digest_size=16).hexdigest()
            self.inputs[where] = Input("row", f"{rows[0].origin.file}#{key}", digest)

    def tell(
        self,
        scope: Scope,
        column: str,
        code: str,
        message: str,
        value: str = "",
        hint: str = "",
        severity: str = "",
    ) -> None:
        """Report a finding at a column of a scope."""
        self.refused = self.refused or code == "iri"
        place = self.place(scope, column)
        self.report(
            Finding(code, message, place, severity=severity, value=value, hint=hint, uri=self.uri)
        )


def row_hash(record: Record) -> str:
    """Return a hash of what a record says, whatever the order of its members."""
    if record.form == "xml":
        data = etree.tostring(record.data, method="c14n", exclusive=True, with_tail=False)
    else:
        try:
            data = orjson.dumps(record.data, default=str, option=orjson.OPT_SORT_KEYS)
        except TypeError:  # whole numbers beyond 64 bits
            data = json.dumps(record.data, default=str, sort_keys=True).encode()
    return blake2b(data, digest_size=16).hexdigest()


@dataclass(slots=True, eq=False)
class Field:
    """One name of a space.

    Attributes:
        label: what the trace calls it: `title`, `makers.name`.
        kind: TEXT, NUMBER, YEAR, URL, DATE, SIZE or LIST.
        at: line and column in the mapping.
        slot: the key of its value in `Scope.values`.
        element: for a list, the space of its elements.
        language: of a text that is known to be in one.
        chosen: made by `choose`; `plus` is set once its IRI form is asked for.
        column: relative column, known once the form of the source is.
        above: of the node above in a tree, so that it stands there.
        placed: put into a document, so that its place must be known.
        branches: tests that the mapping makes of it.
    """

    name: str
    label: str
    kind: str
    at: tuple[int, int]
    slot: str = ""
    element: "Space | None" = None
    language: str = ""
    chosen: bool = False
    plus: bool = False
    used: bool = False
    as_list: bool = False
    above: bool = False
    placed: bool = False
    column: str = ""
    branches: Branches = field(default_factory=Branches)

    def __post_init__(self) -> None:
        self.slot = self.slot or self.name

    def column_in(self, scope: Scope) -> str:
        """Return where the value stood, in this scope."""
        if scope.columns:
            return scope.columns.get(self.slot, self.column)
        return self.column


@dataclass(slots=True, eq=False)
class Space:
    """The names that can be used at one place of a mapping.

    `open` spaces are elements whose members are known only from the data: a name that is not
    declared is a member of the element. `add` makes a field of one.
    """

    label: str
    outer: "Space | None" = None
    open: bool = False
    fields: dict[str, Field] = field(default_factory=dict)
    add: Callable[[str, tuple[int, int]], Field | None] | None = None
    steps: list[Step] = field(default_factory=list)
    tested: list[Field] = field(default_factory=list)

    def declare(self, name: str, kind: str, at: tuple[int, int], **more: Any) -> Field:
        """Add a name and return its field."""
        label = f"{self.label}.{name}" if self.label and name != "." else (self.label or name)
        made = Field(name, label, kind, at, **more)
        self.fields[name] = made
        return made

    def read(self, run: Run, scope: Scope) -> None:
        """Read all fields of a record or element into its scope, and tell what no branch takes."""
        for step in self.steps:
            step(run, scope)
        for tested in self.tested:
            text = as_text(scope.values[tested.slot])
            if text:
                severity = tested.branches.verdict(text)
                if severity:
                    _no_branch(run, scope, tested, text, severity)


def _no_branch(run: Run, scope: Scope, tested: Field, text: str, severity: str) -> None:
    run.tell(
        scope,
        tested.column_in(scope),
        "no-branch",
        f"no branch takes up `{text}` of `{tested.label}`",
        text,
        nearest(text, tested.branches.words) or "add it to a `when` that fits, or to a table"
        if severity == "warning"
        else "left out by `not`",
        severity,
    )


def as_text(value: Any) -> str:
    """Return a value as text: a date in the words of its source."""
    if value.__class__ is str:
        return str(value)
    if value is None:
        return ""
    verbatim = getattr(value, "verbatim", None)
    return str(value) if verbatim is None else str(verbatim)


@dataclass(frozen=True, slots=True)
class Ref:
    """A name as it is used at one place: its field, and how many levels out it lies."""

    field: Field
    level: int

    @property
    def is_list(self) -> bool:
        """Whether it is a list of elements."""
        return self.field.kind in (LIST, SIZE)

    def scope(self) -> Callable[[Scope], Scope]:
        """Return what leads from the scope at hand to the one whose columns the field has."""
        climb = self._climb()
        if not self.field.above:
            return climb

        def over(scope: Scope) -> Scope:
            parent: Scope = climb(scope).values[PARENT]
            return parent

        return over

    def _climb(self) -> Callable[[Scope], Scope]:
        level = self.level
        if level == 0:
            return lambda scope: scope

        def climb(scope: Scope) -> Scope:
            for _ in range(level):
                assert scope.outer is not None, "names are looked up when a mapping is compiled"
                scope = scope.outer
            return scope

        return climb

    def value(self) -> Callable[[Scope], Any]:
        """Return what gets the value."""
        slot = self.field.slot
        if self.level == 0:
            return lambda scope: scope.values[slot]
        if self.level == 1:
            return lambda scope: scope.outer.values[slot]  # type: ignore[union-attr]
        climb = self._climb()
        return lambda scope: climb(scope).values[slot]

    def text(self) -> Callable[[Scope], str]:
        """Return what gets the value as text; empty for nothing."""
        get = self.value()
        if self.field.kind in (TEXT, URL):
            return get
        if self.field.kind == SIZE:
            words, climb = f"{self.field.slot}:text", self._climb()
            return lambda scope: str(climb(scope).values[words])
        return lambda scope: as_text(get(scope))

    def note(self) -> Callable[[Run, Scope, str], None]:
        """Return what writes a step of the trace: value at a path, from this field."""
        field, label, slot = self.field, self.field.label, self.field.slot
        field.placed = True
        climb = self.scope() if self.level or field.above else None

        def note(run: Run, scope: Scope, path: str) -> None:
            if climb is not None:
                scope = climb(scope)
            columns = scope.columns
            column = scope.base + (columns.get(slot, field.column) if columns else field.column)
            place = run.places.get(column) if scope.origin is run.origin else None
            if place is None:
                place = run.place_at(scope, column)
            run.trace.append(TraceEntry(path, label, place))

        return note
