"""The data types that stages hand to one another: plain, small, without behaviour.

A value of a source knows its place; a document is a plain dict in Linked Art shape; the trace
that leads from a document back to the source stands beside the document, never in it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from hashlib import blake2b
from typing import Any, Protocol

MARK = 12
"""Bytes of the mark of a draft."""

Tree = dict[str, Any]
"""A Linked Art document or node: str keys; values are str, int, float, bool, None, Tree, lists.

`"_label": None` is an open slot: pass 2 fills it from the index, or takes it out.
"""


@dataclass(slots=True, unsafe_hash=True)
class Place:
    """Where something stands in a file of the user's.

    Never changed once made. Not frozen all the same: a record makes dozens of them, and a frozen
    one takes three times as long to make.

    Attributes:
        file: path relative to the project folder, with forward slashes.
        line: physical line, from 1; 0 when the format has none (XLSX) or it is not known.
        record: number of the record in the source, from 1, header and blank rows not counted;
            0 outside records. In XLSX the row of the sheet stands in `line`.
        sheet: worksheet of an XLSX file.
        column: column name, JSON Pointer or XPath; empty for the whole record.
    """

    file: str
    line: int = 0
    record: int = 0
    sheet: str = ""
    column: str = ""

    def __str__(self) -> str:
        text = self.file
        if self.sheet:
            text += f"[{self.sheet}]"
        if self.line:
            text += f":{self.line}"
        if self.record and self.record != self.line:
            text += f" (record {self.record})"
        if self.column:
            text += f" [{self.column}]"
        return text

    def at(self, column: str) -> "Place":
        """Return the same place, at one column (or pointer, or XPath) of the record."""
        return Place(self.file, self.line, self.record, self.sheet, column)


@dataclass(slots=True)
class Record:
    """One row or element of a source.

    Attributes:
        data: `dict[str, str]` for tables (absent cells are ""), any JSON value for JSON, an lxml
            element for XML.
        origin: place of the record; `column` holds the JSON Pointer or XPath of the record in its
            file, and is empty for tables and JSON Lines.
        form: `table`, `json` or `xml`.
    """

    data: Any
    origin: Place
    form: str


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A record that stands in the source and cannot be read: it is counted, named, and left out.

    Attributes:
        reason: what is wrong, in the words of a finding; `hint`: what to do.
        code: code of the finding, `unreadable` or `too-long`.
    """

    place: Place
    reason: str
    hint: str = ""
    code: str = "unreadable"


@dataclass(slots=True, unsafe_hash=True)
class TraceEntry:
    """One step back: the node or value at `path` of a document came from `field` at `place`.

    Never changed once made; not frozen for the reason that Place gives.
    """

    path: str
    field: str
    place: Place


@dataclass(frozen=True, slots=True)
class Input:
    """Something that a document was made from; when its hash changes the document is made again.

    `kind` is one of row, mapping, term, label, fact, claim, access, layout, setting, code.
    """

    kind: str
    key: str
    hash: str


@dataclass(slots=True)
class Draft:
    """One document as one record makes it, before several of one URI are united.

    Attributes:
        uri: the document's IRI.
        tree: Linked Art JSON with open slots; has `id` and `type`, no `@context`. Not to be
            changed: a mapping gives many drafts the same one.
        trace: JSON Pointers into `tree`, each with field and place.
        source: file of the record, relative to the project; `rank` of that source; `key` of the
            record in it: these three decide when records disagree.
        body: the tree as JSON bytes, where they are known; `mark` tells it from other drafts.
    """

    uri: str
    tree: Tree
    trace: Sequence[TraceEntry] = field(default_factory=list)
    inputs: list[Input] = field(default_factory=list)
    source: str = ""
    rank: int = 0
    key: str = ""
    body: bytes = b""
    mark: bytes = b""


@dataclass(frozen=True, slots=True)
class Premise:
    """A fact of the evidence that a claim reasons from.

    Attributes:
        key: of the row of the evidence, `w12`.
        label: the fact in words.
        sources: IRIs of what it was taken from.
    """

    key: str
    label: str
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Claim:
    """What somebody says of one aspect of one thing: one line of the ledger.

    `about`, `by`, `sources` and a `value` that is a key are full IRIs once resolved; a date value
    and `on` are EDTF. `standing` is what the line says, `effective` what holds after later lines
    have replaced it (equal until the ledger has been read whole).

    A value may have words of its own in `value_text`: they stand for it wherever it is named.
    `locators` go with `sources`, one by one, and may be fewer: where in the source (`, fol. 88`,
    put after its name) or a sentence that stands alone (`Compared with the print`). `premises` are
    the keys of facts of the evidence that the claim reasons from, `facts` those of them that may
    leave the house, in words. `written` is a digest of the line, where it goes out without what it
    says of something withheld.
    """

    key: str
    about: str
    aspect: str
    value: str = ""
    value_text: str = ""
    role: str = ""
    part: str = ""
    qualifier: str = ""
    standing: str = "current"
    by: str = ""
    on: str = ""
    basis: str = ""
    sources: tuple[str, ...] = ()
    replaces: str = ""
    alternative_to: str = ""
    effective: str = "current"
    mapped: bool = False
    place: Place | None = None
    locators: tuple[str, ...] = ()
    premises: tuple[str, ...] = ()
    facts: tuple[Premise, ...] = ()
    written: str = ""


@dataclass(frozen=True, slots=True)
class LayoutRow:
    """One row of images.csv, layout.csv or threads.csv, as it was read or mapped.

    `file` is `images`, `layout` or `threads`; `cells` holds the text of each column.
    """

    file: str
    cells: dict[str, str]
    place: Place | None = None


Box = tuple[int, int, int, int]
"""x, y, width, height in pixels."""


@dataclass(frozen=True, slots=True)
class Image:
    """One picture of a thing: a local `file` or an IIIF image `service`; sizes in pixels, 0 unknown.

    `covered` are the areas in which something withheld is seen: whoever makes a picture from the
    file paints them over first, before cutting, scaling or tiling. Without `file` and `service` the
    picture may not leave at all. `version` of the Image API and `level` of compliance are those of
    the service: one of level 0 cannot cut a region out.
    """

    thing: str
    file: str = ""
    service: str = ""
    side: str = ""
    capture: str = ""
    width: int = 0
    height: int = 0
    place: Place | None = field(default=None, compare=False)
    covered: tuple[Box, ...] = ()
    version: int = 3
    level: int = 0


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a thing lies on another: a page in its album, a pasted item on its page.

    `region` holds pixels of the page image: four numbers are x, y, width, height; six or more
    are the corners of a polygon, x before y; empty: not known.
    """

    thing: str
    on: str
    order: int = 0
    side: str = ""
    region: tuple[int, ...] = ()
    capture: str = ""
    place: Place | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of a thread: the thing (or a region of it) that it shows, and the words to it."""

    thread: str
    order: int
    thing: str
    region: tuple[int, ...] = ()
    language: str = ""
    text: str = ""
    place: Place | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Layout:
    """Order of pages, sides, regions, captures and threads; every key a full IRI."""

    images: tuple[Image, ...] = ()
    placed: tuple[Placed, ...] = ()
    stops: tuple[Stop, ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """What the index of a run knows of one document.

    Attributes:
        type: Linked Art class. `label`: its `_label`.
        parents: documents that it is `part_of` or `held_or_supported_by`.
        shows: VisualItems that it `shows`.
        roles: slugs of the productions it has (exposure, printing, drawing, making ...).
    """

    uri: str
    type: str
    label: str
    parents: tuple[str, ...] = ()
    shows: tuple[str, ...] = ()
    roles: tuple[str, ...] = ()


class Index(Protocol):
    """The read-only index that pass 2 looks into; `parts` writes and reads the real one."""

    def get(self, uri: str) -> Entry | None:
        """Return what is known of a document, or None when no document has this IRI."""


@dataclass(slots=True)
class Mapped:
    """Everything that a mapping made of one record.

    `again` are the marks of drafts that a record of a lower key made in the same words before,
    where these are not made again.
    """

    key: str
    documents: list[Draft] = field(default_factory=list)
    claims: list[Claim] = field(default_factory=list)
    layout: list[LayoutRow] = field(default_factory=list)
    again: list[bytes] = field(default_factory=list)


def mark_of(body: bytes) -> bytes:
    """Return what tells a draft that many records may make from all others: a hash of its bytes."""
    return blake2b(body, digest_size=MARK).digest()


def nesting_of(data: Any) -> int:
    """Return how deep the arrays and objects of a JSON value lie in one another.

    >>> nesting_of({"a": [1]}), nesting_of("a")
    (2, 0)
    """
    depth = 0
    level = [data] if isinstance(data, dict | list) else []
    while level:
        depth += 1
        inner = [value.values() if isinstance(value, dict) else value for value in level]
        level = [value for values in inner for value in values if isinstance(value, dict | list)]
    return depth
