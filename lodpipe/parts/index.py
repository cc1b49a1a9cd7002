"""The index of one run, which the barrier writes and pass 2 reads."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from hashlib import blake2b
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
    unpack_claim,
    unpack_finding,
)
from lodpipe.records import Claim, Entry, Image, Input, TraceEntry, Tree

_INDEX = """
CREATE TABLE entry(uri TEXT PRIMARY KEY, type TEXT, label TEXT, parents BLOB, shows BLOB,
                   roles BLOB, hash BLOB, row BLOB) WITHOUT ROWID;
CREATE TABLE united(uri TEXT PRIMARY KEY, tree BLOB, trace BLOB, beside BLOB) WITHOUT ROWID;
CREATE TABLE claim(document TEXT, key TEXT, body BLOB);
CREATE TABLE picture(thing TEXT, side TEXT, capture TEXT, file TEXT, service TEXT, width INTEGER,
                     height INTEGER, version INTEGER, level INTEGER,
                     PRIMARY KEY(thing, side, capture, file, service)) WITHOUT ROWID;
"""

_PICTURES = "SELECT * FROM picture {} ORDER BY thing, side, capture, file, service"

EVERYWHERE = ("", "\U0010ffff")
"""Before and behind every IRI."""
MOST_KEPT = 4_000
"""Entries that a reader keeps in memory."""


@dataclass(slots=True)
class United:
    """One document as the barrier leaves it: drafts united, slots still open."""

    uri: str
    tree: Tree
    trace: Sequence[TraceEntry] = field(default_factory=list)
    inputs: list[Input] = field(default_factory=list)
    sources: tuple[str, ...] = ()
    findings: list[Finding] = field(default_factory=list)


@dataclass(slots=True)
class Stored:
    """One united document as pass 2 finds it: the way back packed, inputs as (kind, key, hash)."""

    uri: str
    tree: Tree
    trail: Trail
    inputs: list[list[str]]
    sources: tuple[str, ...]
    findings: list[Finding]


class IndexWriter:
    """Writes the index of a run: united documents, what is known of each, its claims."""

    def __init__(self, path: Path) -> None:
        self._db = create(path, _INDEX)
        self._united: list[tuple[str, bytes, bytes, bytes]] = []
        self._entries: list[tuple[Any, ...]] = []
        self._pictures: list[tuple[Any, ...]] = []

    def add(self, united: United, entry: Entry) -> bytes:
        """Take one document; return its tree as JSON."""
        beside = orjson.dumps(
            [
                [(i.kind, i.key, i.hash) for i in united.inputs],
                united.sources,
                [pack_finding(finding) for finding in united.findings],
            ]
        )
        trail = united.trace if isinstance(united.trace, Trail) else Trail(united.trace)
        row = (orjson.dumps(united.tree), trail.packed(), beside)
        known = (orjson.dumps(entry.parents), orjson.dumps(entry.shows), orjson.dumps(entry.roles))
        said = orjson.dumps([entry.type, entry.label])
        self._united.append((united.uri, *row))
        self._entries.append(
            (entry.uri, entry.type, entry.label, *known, _hash(said, *known), _hash(*row))
        )
        if len(self._united) >= ROWS_AT_ONCE:
            self.flush()
        return row[0]

    def claim(self, document: str, claim: Claim) -> None:
        """Take one claim and the document that it goes into."""
        self._db.execute(
            "INSERT INTO claim VALUES(?,?,?)", (document, claim.key, pack_claim(claim))
        )

    def picture(self, image: Image) -> None:
        """Take one picture of a thing that lies nowhere; one that is there already is said once."""
        size = (image.width, image.height, image.version, image.level)
        names = (image.thing, image.side, image.capture, image.file, image.service)
        self._pictures.append((*names, *size))
        if len(self._pictures) >= ROWS_AT_ONCE:
            self.flush()

    def flush(self) -> None:
        """Write what has been taken so far, so that an `IndexReader` sees it."""
        with self._db:
            self._db.executemany(
                "INSERT OR IGNORE INTO picture VALUES(?,?,?,?,?,?,?,?,?)", self._pictures
            )
            self._db.executemany("INSERT INTO united VALUES(?,?,?,?)", self._united)
            self._db.executemany("INSERT INTO entry VALUES(?,?,?,?,?,?,?,?)", self._entries)
        self._united, self._entries, self._pictures = [], [], []

    def close(self) -> None:
        """Write what is left."""
        self.flush()
        self._db.execute("CREATE INDEX claim_document ON claim(document, key)")
        self._db.commit()
        self._db.close()


class IndexReader:
    """The index of a run, read only. Satisfies `records.Index`."""

    def __init__(self, path: Path) -> None:
        self._db = open_part(path)
        self.get = lru_cache(maxsize=MOST_KEPT)(self._get)

    def _get(self, uri: str) -> Entry | None:
        row = self._db.execute("SELECT * FROM entry WHERE uri = ?", (uri,)).fetchone()
        return _entry(row) if row else None

    def tree(self, uri: str) -> Tree | None:
        """Return a united document, its slots still open."""
        row = self._db.execute("SELECT tree FROM united WHERE uri = ?", (uri,)).fetchone()
        return orjson.loads(row[0]) if row else None

    def entries(self) -> Iterator[Entry]:
        """Yield what is known of every document, in URI order."""
        for row in self._db.execute("SELECT * FROM entry ORDER BY uri"):
            yield _entry(row)

    def uris(self) -> Iterator[str]:
        """Yield the IRI of every document, in order."""
        for (uri,) in self._db.execute("SELECT uri FROM entry ORDER BY uri"):
            yield uri

    def claims(self) -> Iterator[tuple[str, bytes]]:
        """Yield every claim, packed, with the document that it goes into, in order."""
        yield from self._db.execute("SELECT document, body FROM claim ORDER BY document, key")

    def parents(self) -> dict[str, tuple[str, ...]]:
        """Return what each document is part of, for those that are part of anything."""
        rows = self._db.execute(
            "SELECT uri, parents FROM entry WHERE parents != x'5b5d' ORDER BY uri"
        )
        return {uri: tuple(orjson.loads(parents)) for uri, parents in rows}

    def images(self) -> dict[str, tuple[str, ...]]:
        """Return the VisualItems that each document shows, for those that show any."""
        rows = self._db.execute("SELECT uri, shows FROM entry WHERE shows != x'5b5d' ORDER BY uri")
        return {uri: tuple(orjson.loads(shows)) for uri, shows in rows}

    def trees_with(self, *keys: str) -> Iterator[tuple[str, Tree]]:
        """Yield IRI and tree of the documents in which one of these keys stands, in URI order."""
        fits = " OR ".join(["instr(tree, ?)"] * len(keys))
        marks = [f'"{key}":'.encode() for key in keys]
        for uri, tree in self._db.execute(
            f"SELECT uri, tree FROM united WHERE {fits} ORDER BY uri", marks
        ):
            yield uri, orjson.loads(tree)

    def below(self, prefix: str) -> Iterator[str]:
        """Yield the URIs that begin with a prefix, in order."""
        for (uri,) in self._db.execute(
            "SELECT uri FROM entry WHERE uri >= ? AND uri < ? ORDER BY uri",
            (prefix, prefix + "\U0010ffff"),
        ):
            yield uri

    def documents(
        self, between: tuple[str, str] = EVERYWHERE
    ) -> Iterator[tuple[Stored, list[Claim]]]:
        """Yield every united document, or those from one IRI to another, in order.

        With each come the claims that go into it.
        """
        # a cursor that is not closed here: a run that is broken off closes the database first
        cursor = self._db.execute(
            "SELECT document, body FROM claim WHERE document BETWEEN ? AND ?"
            " ORDER BY document, key",
            between,
        )
        waiting = cursor.fetchone()
        for row in self._db.execute(
            "SELECT * FROM united WHERE uri BETWEEN ? AND ? ORDER BY uri", between
        ):
            uri = row[0]
            mine = []
            while waiting and waiting[0] <= uri:
                if waiting[0] == uri:
                    mine.append(unpack_claim(waiting[1]))
                waiting = cursor.fetchone()
            yield _stored(row), mine

    def some(self, uris: Iterable[str]) -> Iterator[tuple[Stored, list[Claim]]]:
        """Yield some united documents with the claims that go into them, in the order given."""
        for uri in uris:
            row = self._db.execute("SELECT * FROM united WHERE uri = ?", (uri,)).fetchone()
            if row is not None:
                claims = self._db.execute(
                    "SELECT body FROM claim WHERE document = ? ORDER BY key", (uri,)
                )
                yield _stored(row), [unpack_claim(body) for (body,) in claims]

    def pictures_of(self, thing: str) -> list[Image]:
        """Return the pictures of a thing that lies nowhere, in the order of the layout."""
        return [_image(r) for r in self._db.execute(_PICTURES.format("WHERE thing = ?"), (thing,))]

    def pictures(self) -> Iterator[Image]:
        """Yield the pictures of all things that lie nowhere, in the order of the layout."""
        for row in self._db.execute(_PICTURES.format("")):
            yield _image(row)

    def count(self) -> int:
        """Return the number of documents."""
        return int(self._db.execute("SELECT count(*) FROM entry").fetchone()[0])

    def close(self) -> None:
        """Close the index."""
        self._db.close()


def _hash(*parts: bytes) -> bytes:
    digest = blake2b(digest_size=16)
    for part in parts:
        digest.update(part)
    return digest.digest()


def _entry(row: tuple[Any, ...]) -> Entry:
    uri, type_, label, parents, shows, roles, *_ = row
    return Entry(
        uri,
        type_,
        label,
        tuple(orjson.loads(parents)),
        tuple(orjson.loads(shows)),
        tuple(orjson.loads(roles)),
    )


def _image(row: tuple[Any, ...]) -> Image:
    thing, side, capture, file, service, width, height, version, level = row
    return Image(thing, file, service, side, capture, width, height, version=version, level=level)


def _stored(row: tuple[Any, ...]) -> Stored:
    uri, tree, trace, beside = row
    inputs, sources, findings = orjson.loads(beside)
    found = [unpack_finding(values) for values in findings]
    return Stored(uri, orjson.loads(tree), Trail(packed=trace), inputs, tuple(sources), found)
