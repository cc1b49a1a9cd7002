"""What pass 1 made of its records: drafts, claims of mappings, layout rows."""

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path
from typing import Any

import orjson

from lodpipe.findings import Finding
from lodpipe.parts.pack import (
    ROWS_AT_ONCE,
    create,
    open_part,
    pack_claim,
    pack_finding,
    pack_trace,
    unpack_claim,
    unpack_finding,
    unpack_trace,
)
from lodpipe.records import Claim, Draft, Input, LayoutRow, Mapped, Place

_DRAFTS = """
CREATE TABLE record(source TEXT, key TEXT, hash TEXT, number INTEGER, place TEXT);
CREATE TABLE draft(uri TEXT, rank INTEGER, source TEXT, key TEXT, position INTEGER,
                   number INTEGER, body BLOB);
CREATE TABLE shared(source TEXT, number INTEGER, uri TEXT);
CREATE TABLE claim(source TEXT, number INTEGER, key TEXT, body BLOB);
CREATE TABLE layout(source TEXT, number INTEGER, body BLOB);
"""


MOST_SEEN = 20_000
"""Drafts that are remembered; when there are more, the memory starts afresh."""


@dataclass(slots=True)
class _Seen:
    """A draft that has been written: under which key, by which record, and whether others share it."""

    key: str
    number: int
    shared: bool = False


class DraftWriter:
    """Writes what pass 1 made of its records to one part file.

    Many records make the same document in the same words (a maker, a subject). Such a draft is
    written once, under the lowest key that made it, since that key decides when others disagree.
    """

    def __init__(self, path: Path) -> None:
        self._db = create(path, _DRAFTS)
        self._records: list[tuple[Any, ...]] = []
        self._drafts: list[tuple[Any, ...]] = []
        self._rest: list[tuple[str, tuple[Any, ...]]] = []
        self._seen: dict[tuple[str, str, bytes], _Seen] = {}

    def add(
        self, mapped: Mapped, place: Place, hash_: str, findings: Iterable[Finding] = ()
    ) -> None:
        """Take what one record made.

        Args:
            place: of the record; its file and number tell the record from all others.
            hash_: of the record's content.
            findings: what was found while it was mapped; they stand with its first document.
        """
        source, number = place.file, place.record
        self._records.append((source, mapped.key, hash_, number, str(place)))
        for position, draft in enumerate(mapped.documents):
            tree = draft.body or orjson.dumps(draft.tree)
            if position and self._written(draft, tree, source, number):
                continue
            body = orjson.dumps(
                [
                    orjson.Fragment(tree),
                    pack_trace(draft.trace),
                    [(i.kind, i.key, i.hash) for i in draft.inputs],
                    [pack_finding(finding) for finding in findings] if position == 0 else [],
                ]
            )
            self._drafts.append((draft.uri, draft.rank, source, draft.key, position, number, body))
        for claim in mapped.claims:
            self._rest.append(("claim", (source, number, claim.key, pack_claim(claim))))
        for row in mapped.layout:
            self._rest.append(("layout", (source, number, orjson.dumps(row))))
        if len(self._records) >= ROWS_AT_ONCE:
            self._flush()

    def _written(self, draft: Draft, tree: bytes, source: str, number: int) -> bool:
        """Whether an equal draft of a lower key has been written; if so, note that it is shared."""
        mark = (draft.uri, source, blake2b(tree, digest_size=12).digest())
        seen = self._seen.get(mark)
        if seen is not None and seen.key <= draft.key:
            if not seen.shared:
                seen.shared = True
                self._rest.append(("shared", (source, seen.number, draft.uri)))
            return True
        if len(self._seen) >= MOST_SEEN:
            self._seen.clear()
        self._seen[mark] = _Seen(draft.key, number)
        return False

    def close(self) -> None:
        """Write what is left, and the order that the barrier reads in."""
        self._flush()
        self._db.executescript(
            "CREATE INDEX draft_order ON draft(uri, rank DESC, source, key, position);"
            "CREATE INDEX record_key ON record(source, key);"
        )
        self._db.close()

    def _flush(self) -> None:
        with self._db:
            self._db.executemany("INSERT INTO record VALUES(?,?,?,?,?)", self._records)
            self._db.executemany("INSERT INTO draft VALUES(?,?,?,?,?,?,?)", self._drafts)
            for table, row in self._rest:
                marks = ",".join("?" * len(row))
                self._db.execute(f"INSERT INTO {table} VALUES({marks})", row)
        self._records, self._drafts, self._rest = [], [], []


@dataclass(frozen=True, slots=True)
class Duplicates:
    """Records of one source that share a key: `kept` is used, the others are not."""

    source: str
    key: str
    kept: str
    others: tuple[str, ...]
    lost: tuple[int, ...]


class Drafts:
    """All part files of pass 1, read as one."""

    def __init__(self, paths: Iterable[Path]) -> None:
        self._dbs = [open_part(path) for path in paths]
        self._lost: set[tuple[str, int]] = set()
        self._shared: set[tuple[str, int, str]] = set()

    def duplicates(self) -> list[Duplicates]:
        """Find records of one source with one key, and leave all but one of them out from now on.

        The one with the lowest hash of its content is kept, so that the order of the rows does
        not decide; equal ones are told apart by their place.
        """
        rows = heapq.merge(
            *(
                db.execute(
                    "SELECT source, key, hash, number, place FROM record ORDER BY source, key, hash, number"
                )
                for db in self._dbs
            )
        )
        found: list[Duplicates] = []
        group: list[tuple[Any, ...]] = []
        for row in rows:
            if group and group[0][:2] != row[:2]:
                self._settle(group, found)
                group = []
            group.append(row)
        if group:
            self._settle(group, found)
        self._load_shared()
        return found

    def leave_out(self, uris: Iterable[str]) -> None:
        """Leave out from now on the records whose first document is one of these."""
        for uri in uris:
            for db in self._dbs:
                self._lost.update(
                    db.execute(
                        "SELECT source, number FROM draft WHERE uri = ? AND position = 0", (uri,)
                    )
                )
        self._load_shared()

    def _load_shared(self) -> None:
        """Learn which drafts of left out records other records have made too: these stay."""
        if self._lost:
            for db in self._dbs:
                self._shared.update(db.execute("SELECT source, number, uri FROM shared"))

    def _settle(self, group: list[tuple[Any, ...]], found: list[Duplicates]) -> None:
        if len(group) == 1:
            return
        (source, key, _, _, kept), *others = group
        lost = tuple(number for _, _, _, number, _ in others)
        self._lost.update((source, number) for number in lost)
        found.append(Duplicates(source, key, kept, tuple(row[4] for row in others), lost))

    def groups(self) -> Iterator[tuple[list[Draft], list[Finding]]]:
        """Yield the drafts of one URI after another, in URI order, with what was found in them.

        In each group the best source comes first: highest rank, then source, then lowest key.
        """
        order = (
            "SELECT uri, -rank, source, key, position, number, body FROM draft"
            " ORDER BY uri, rank DESC, source, key, position"
        )
        rows = heapq.merge(*(db.execute(order) for db in self._dbs), key=lambda row: row[:5])
        group: list[Draft] = []
        found: list[Finding] = []
        for uri, rank, source, key, _, number, body in rows:
            if (source, number) in self._lost and (source, number, uri) not in self._shared:
                continue
            if group and group[0].uri != uri:
                yield group, found
                group, found = [], []
            tree, trace, inputs, findings = orjson.loads(body)
            made_from = [Input(*i) for i in inputs]
            group.append(Draft(uri, tree, unpack_trace(trace), made_from, source, -rank, key))
            found.extend(unpack_finding(values) for values in findings)
        if group:
            yield group, found

    def claims(self) -> Iterator[Claim]:
        """Yield the claims that mappings found, in the order of their keys."""
        rows = heapq.merge(
            *(
                db.execute(
                    "SELECT key, source, number, body FROM claim ORDER BY key, source, number"
                )
                for db in self._dbs
            )
        )
        for _, source, number, body in rows:
            if (source, number) not in self._lost:
                yield unpack_claim(body)

    def layout(self) -> Iterator[LayoutRow]:
        """Yield the layout rows that mappings made, in a fixed order."""
        rows = heapq.merge(
            *(
                db.execute("SELECT body, source, number FROM layout ORDER BY body, source, number")
                for db in self._dbs
            )
        )
        for body, source, number in rows:
            if (source, number) in self._lost:
                continue
            values = orjson.loads(body)
            place = Place(**values["place"]) if values["place"] else None
            yield LayoutRow(values["file"], values["cells"], place)

    def close(self) -> None:
        """Close the part files."""
        for db in self._dbs:
            db.close()
