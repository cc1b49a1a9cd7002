"""How what stages hand over lies in a part file: plain JSON, places written once."""

import hashlib
import os
import secrets
import shutil
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, overload

import orjson

from lodpipe.errors import NotFinishedError
from lodpipe.findings import Finding
from lodpipe.records import Claim, Place, Premise, TraceEntry

ROWS_AT_ONCE = 500
"""Rows that go to disk together."""


def document_hash(body: bytes) -> str:
    """Return what tells a document from another one with the same IRI."""
    return hashlib.blake2b(body, digest_size=16).hexdigest()


def pack_trace(trace: Iterable[TraceEntry]) -> dict[str, Any]:
    """Return a trace as plain lists: the places of records once, entries pointing at them."""
    places: dict[tuple[str, int, int, str], int] = {}
    entries = []
    for entry in trace:
        place = entry.place
        number = places.setdefault((place.file, place.line, place.record, place.sheet), len(places))
        entries.append((entry.path, entry.field, number, place.column))
    return {"places": list(places), "entries": entries}


def unpack_trace(packed: dict[str, Any]) -> list[TraceEntry]:
    """Return the trace that `pack_trace` packed."""
    places = packed["places"]
    trace = []
    for path, name, number, column in packed["entries"]:
        file, line, record, sheet = places[number]
        trace.append(TraceEntry(path, name, Place(file, line, record, sheet, column)))
    return trace


class Trail(Sequence[TraceEntry]):
    """The way back of one document, kept packed until somebody asks: few ever do in a run."""

    __slots__ = ("_entries", "_packed")

    def __init__(self, entries: Sequence[TraceEntry] | None = None, packed: bytes = b"") -> None:
        self._entries = entries
        self._packed = packed

    def __len__(self) -> int:
        return len(self.entries())

    @overload
    def __getitem__(self, index: int) -> TraceEntry: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[TraceEntry]: ...
    def __getitem__(self, index: int | slice) -> TraceEntry | Sequence[TraceEntry]:
        return self.entries()[index]

    def __repr__(self) -> str:
        return repr(self.entries())

    def entries(self) -> Sequence[TraceEntry]:
        """Return the trace, entry by entry."""
        if self._entries is None:
            self._entries = unpack_trace(orjson.loads(self._packed)) if self._packed else []
        return self._entries

    def packed(self) -> bytes:
        """Return the trace as JSON bytes."""
        if not self._packed:
            self._packed = orjson.dumps(pack_trace(self._entries or []))
        return self._packed

    def first(self) -> Place | None:
        """Return where the document as a whole came from."""
        entries = self.entries()
        return entries[0].place if entries else None


def pack_claim(claim: Claim) -> bytes:
    """Return a claim as JSON bytes."""
    return orjson.dumps(claim)


def unpack_claim(body: bytes) -> Claim:
    """Return the claim that `pack_claim` packed."""
    values = orjson.loads(body)
    values["sources"] = tuple(values["sources"])
    values["locators"] = tuple(values["locators"])
    values["premises"] = tuple(values["premises"])
    values["facts"] = tuple(
        Premise(fact["key"], fact["label"], tuple(fact["sources"]))
        for fact in values.get("facts", ())
    )
    values["place"] = Place(**values["place"]) if values["place"] else None
    return Claim(**values)


def pack_finding(finding: Finding) -> dict[str, Any]:
    """Return a finding as plain values, its place as a list or None."""
    values = {name: getattr(finding, name) for name in Finding.__dataclass_fields__}
    place = finding.place
    values["place"] = (
        [place.file, place.line, place.record, place.sheet, place.column] if place else None
    )
    return values


def unpack_finding(values: dict[str, Any]) -> Finding:
    """Return the finding that `pack_finding` packed."""
    place = values["place"]
    return Finding(**{**values, "place": Place(*place) if place else None})


@contextmanager
def work_folder(path: Path) -> Iterator[None]:
    """Keep an empty folder for the part files of one run, and take it away at its end.

    What a killed run left in it is of no use to another.

    Raises:
        NotFinishedError: the disk is full, or the folder cannot be written.
    """
    shutil.rmtree(path, ignore_errors=True)
    path.mkdir(parents=True)
    try:
        yield
    except sqlite3.Error as error:
        raise NotFinishedError(
            f"the part files of the run could not be written: {error}",
            hint="the last release is untouched; make room beside the archive, then run again",
        ) from error
    finally:
        shutil.rmtree(path, ignore_errors=True)


def mark_of(path: Path) -> list[int]:
    """Return size and time of a file, which tell it from what it was or will be; [] of none."""
    try:
        stat = path.stat()
    except OSError:
        return []
    return [stat.st_size, stat.st_mtime_ns]


def sync(path: Path) -> None:
    """Wait until a file is on disk."""
    with path.open("rb") as handle:
        os.fsync(handle.fileno())


def sync_folder(folder: Path) -> None:
    """Wait until the names in a folder are on disk."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def fresh(stem: Path) -> Path:
    """Return the path of a part file that no other try of the same task writes to.

    A worker that is taken for lost may still be writing.
    """
    return stem.with_name(f"{stem.name}-{secrets.token_hex(8)}.sqlite")


def create(path: Path, schema: str) -> sqlite3.Connection:
    """Make a part file. It lives for one run only, so it need not survive a power cut."""
    path.unlink(missing_ok=True)
    db = sqlite3.connect(path)
    db.executescript("PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; PRAGMA cache_size=-4000;")
    db.executescript(schema)
    return db


def open_part(path: Path, cache_kb: int = 4000) -> sqlite3.Connection:
    """Open a part file for reading, with so much memory for its pages."""
    db = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)
    db.execute(f"PRAGMA cache_size=-{cache_kb}")
    return db
