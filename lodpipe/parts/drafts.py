"""What pass 1 made of its records: drafts, claims of mappings, layout rows."""

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import Any

import orjson

from lodpipe.findings import Finding
from lodpipe.parts.pack import (
    ROWS_AT_ONCE,
    Trail,
    create,
    open_part,
    pack_claim,
    pack_finding,
    pack_trace,
    unpack_claim,
    unpack_finding,
)
from lodpipe.records import MARK, Claim, Draft, Input, LayoutRow, Mapped, Place, mark_of

_DRAFTS = """
CREATE TABLE record(source TEXT, key TEXT, hash TEXT, number INTEGER, place TEXT, shares BLOB);
CREATE TABLE draft(uri TEXT, rank INTEGER, source TEXT, key TEXT, position INTEGER,
                   number INTEGER, mark BLOB, body BLOB);
CREATE TABLE claim(source TEXT, number INTEGER, key TEXT, body BLOB);
CREATE TABLE layout(source TEXT, number INTEGER, body BLOB);
"""


MOST_SEEN = 20_000
"""Drafts that are remembered; when there are more, the memory starts afresh."""
CACHE_KB = 16_000
"""Memory for pages of all part files together: there may be hundreds."""


class DraftWriter:
    """Writes what pass 1 made of its records to one part file.

    Many records make the same document in the same words (a maker, a subject). Such a draft is
    written again only for a lower key, since the lowest decides when others disagree; of a record
    whose draft is not written only the mark is kept, in `shares`.
    """

    def __init__(self, path: Path) -> None:
        self._db = create(path, _DRAFTS)
        self._records: list[tuple[Any, ...]] = []
        self._drafts: list[tuple[Any, ...]] = []
        self._claims: list[tuple[Any, ...]] = []
        self._layout: list[tuple[Any, ...]] = []
        self._seen: dict[bytes, str] = {}

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
        shares = b"".join(mapped.again)
        for position, draft in enumerate(mapped.documents):
            tree = draft.body or orjson.dumps(draft.tree)
            mark = (draft.mark or mark_of(tree)) if position else b""
            if mark and self._written(mark, draft.key):
                shares += mark
                continue
            body = orjson.dumps(
                [
                    orjson.Fragment(tree),
                    pack_trace(draft.trace),
                    [(i.kind, i.key, i.hash) for i in draft.inputs],
                    [pack_finding(finding) for finding in findings] if position == 0 else [],
                ]
            )
            self._drafts.append(
                (draft.uri, draft.rank, source, draft.key, position, number, mark, body)
            )
        self._records.append((source, mapped.key, hash_, number, str(place), shares))
        for claim in mapped.claims:
            self._claims.append((source, number, claim.key, pack_claim(claim)))
        for row in mapped.layout:
            self._layout.append((source, number, orjson.dumps(row)))
        if len(self._drafts) >= ROWS_AT_ONCE:
            self._flush()

    def _written(self, mark: bytes, key: str) -> bool:
        """Whether an equal draft of a lower key has been written."""
        seen = self._seen.get(mark)
        if seen is not None and seen < key:
            return True
        if len(self._seen) >= MOST_SEEN:
            self._seen.clear()
        self._seen[mark] = key
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
            self._db.executemany("INSERT INTO record VALUES(?,?,?,?,?,?)", self._records)
            self._db.executemany("INSERT INTO draft VALUES(?,?,?,?,?,?,?,?)", self._drafts)
            self._db.executemany("INSERT INTO claim VALUES(?,?,?,?)", self._claims)
            self._db.executemany("INSERT INTO layout VALUES(?,?,?)", self._layout)
        for rows in (self._records, self._drafts, self._claims, self._layout):
            rows.clear()


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
        listed = list(paths)
        self._dbs = [open_part(path, CACHE_KB // len(listed)) for path in listed]
        self._lost: set[tuple[str, int]] = set()
        self._shared: set[tuple[str, bytes]] = set()

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
        """Learn which drafts records that are used have made without writing them."""
        self._shared.clear()
        for db in self._dbs if self._lost else ():
            for source, number, shares in db.execute(
                "SELECT source, number, shares FROM record WHERE shares != x''"
            ):
                if (source, number) not in self._lost:
                    self._shared.update(
                        (source, shares[at : at + MARK]) for at in range(0, len(shares), MARK)
                    )

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
            "SELECT uri, -rank, source, key, position, number, mark, body FROM draft"
            " ORDER BY uri, rank DESC, source, key, position"
        )
        rows = heapq.merge(*(db.execute(order) for db in self._dbs), key=itemgetter(0, 1, 2, 3, 4))
        for uri, alike in groupby(rows, key=itemgetter(0)):
            group: list[Draft] = []
            found: list[Finding] = []
            for _, rank, source, key, _, _, _, body in self._used(list(alike)):
                tree, trace, inputs, findings = orjson.loads(body)
                made_from = [Input(*i) for i in inputs]
                trail = Trail(packed=orjson.dumps(trace))
                group.append(Draft(uri, tree, trail, made_from, source, -rank, key))
                found.extend(unpack_finding(values) for values in findings)
            if group:
                yield group, found

    def _used(self, rows: list[tuple[Any, ...]]) -> Iterator[tuple[Any, ...]]:
        """Yield the drafts of one URI that count: equal ones of a source once, under the lowest key.

        Such a draft stays as long as any of the records that made it is used, so that neither the
        order of the rows nor where a part file ends decides what is united.
        """
        used = {(row[2], row[6]) for row in rows if (row[2], row[5]) not in self._lost}
        taken: set[tuple[str, bytes]] = set()
        for row in rows:
            _, _, source, _, _, number, mark, _ = row
            if not mark:
                if (source, number) not in self._lost:
                    yield row
                continue
            draft = (source, mark)
            if draft not in taken and (draft in used or draft in self._shared):
                taken.add(draft)
                yield row

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
