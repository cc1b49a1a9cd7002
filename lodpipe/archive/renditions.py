"""What is disseminated of a document in each format, and since which release.

A row is valid from one release until another, or now. It is written when, and only when, the
bytes or the sets that a harvester gets of a document in this format differ from those of before:
the instant of its release is the datestamp (https://www.openarchives.org/OAI/openarchivesprotocol.html,
section 2.5). A deletion stays for ever. Bytes are kept of the newest row and of the one before it,
which is shown until the new release is visible; of what is deleted none are kept.

A thing is told from its own document and from others: names of makers, the page that it lies on.
Which ones is kept (`told`), so that a release tells anew only things that it changes something of.
"""

import hashlib
import sqlite3
import zlib
from collections.abc import Callable, Collection, Iterable, Iterator, Set
from dataclasses import dataclass
from hashlib import blake2b

import orjson

from lodpipe.archive.read import Archive
from lodpipe.findings import Finding
from lodpipe.parts.pack import pack_finding, unpack_finding

DOCUMENTS = "linked-art"
"""The format of the documents themselves, whose bytes lie in their own table."""
MARK_BYTES = 8
"""A document is kept as a hash; where two have one, a thing is told anew without need."""
MARK = ""
"""Stands in `told` for everything that things are told by beside documents and layout."""


@dataclass(frozen=True, slots=True)
class Rendition:
    """What a harvester gets of one document in one format.

    Attributes:
        sets: the sets that it is in, in order.
        kept: whether the archive keeps the bytes, or only their hash.
    """

    uri: str
    format: str
    body: bytes
    sets: tuple[str, ...] = ()
    kept: bool = True


@dataclass(frozen=True, slots=True)
class Outgoing:
    """What goes out of one thing.

    Attributes:
        seen: the documents that it was told from, whether there were any or not.
        renditions: one a format that it goes out in; `unsent`: why it does not go out in one.
    """

    uri: str
    seen: frozenset[str]
    renditions: tuple[Rendition, ...] = ()
    unsent: Finding | None = None


@dataclass(frozen=True, slots=True)
class Render:
    """What makes the disseminations of a release, from the archive inside its transaction.

    Attributes:
        mark: changes when anything but documents and layout does: settings, code.
        make: called with the archive, the release, and the documents whose things are wanted
            (None: all of them).
        report: told of each thing that does not go out in a format.
    """

    formats: tuple[str, ...]
    mark: str
    make: Callable[[Archive, int, Collection[str] | None], Iterable[Outgoing]]
    report: Callable[[Finding], None] = lambda finding: None


def _mark(uri: str) -> bytes:
    return blake2b(uri.encode(), digest_size=MARK_BYTES).digest()


def _marks_in(seen: bytes) -> Iterator[bytes]:
    return (seen[at : at + MARK_BYTES] for at in range(0, len(seen), MARK_BYTES))


class Renditions:
    """Writes the rows of one release inside an open transaction."""

    def __init__(self, db: sqlite3.Connection, release: int) -> None:
        self._db = db
        self._release = release

    def write(self, render: Render, changed: Set[str] | None) -> bool:
        """Write what goes out of the release; what does not go out any more counts as deleted.

        Args:
            changed: documents that differ in anything from the last release; None when what is
                not a document does too.

        Returns:
            Whether anything differs from the last release.
        """
        stale = None if changed is None else self._stale(render.mark, changed)
        if stale is None:
            self.forget()
            self._db.execute("INSERT INTO told VALUES(?,?,NULL)", (MARK, render.mark))
        self._db.execute("CREATE TEMP TABLE met(format TEXT, uri TEXT, PRIMARY KEY(format, uri))")
        differs = False
        for one in render.make(Archive.over(self._db), self._release, stale):
            for rendition in one.renditions:
                differs |= self._put(rendition)
            self._note(one)
            if stale is not None:
                stale.discard(one.uri)
                differs |= self._left(one.uri, {r.format for r in one.renditions}, render.formats)
        for uri in sorted(stale or ()):  # no thing to tell of any more
            self._db.execute("DELETE FROM told WHERE uri = ?", (uri,))
            differs |= self._left(uri, (), render.formats)
        if stale is None:
            differs |= self._unmet(render.formats)
        self._db.execute("DROP TABLE met")
        for (unsent,) in self._db.execute(
            "SELECT unsent FROM told WHERE unsent IS NOT NULL ORDER BY uri"
        ):
            render.report(unpack_finding(orjson.loads(unsent)))
        return differs

    def forget(self) -> None:
        """Forget what things were told from: the next run tells all of them anew."""
        self._db.execute("DELETE FROM told")

    def _stale(self, mark: str, changed: Set[str]) -> set[str] | None:
        """Return the things to tell anew: those that were told from something that changed."""
        if self._db.execute("SELECT seen FROM told WHERE uri = ?", (MARK,)).fetchone() != (mark,):
            return None
        found = set(changed)
        if changed:
            marks = {_mark(uri) for uri in changed}
            rows = self._db.execute("SELECT uri, seen FROM told WHERE uri != ?", (MARK,))
            found.update(uri for uri, seen in rows if not marks.isdisjoint(_marks_in(seen)))
        return found

    def _note(self, one: Outgoing) -> None:
        unsent = orjson.dumps(pack_finding(one.unsent)) if one.unsent else None
        self._db.execute(
            "INSERT OR REPLACE INTO told VALUES(?,?,?)",
            (one.uri, b"".join(sorted(map(_mark, one.seen))), unsent),
        )

    def _put(self, one: Rendition) -> bool:
        sets = "".join(f" {name}" for name in one.sets) + " " if one.sets else ""
        digest = hashlib.sha256(sets.encode() + b"\n" + one.body).hexdigest()
        self._db.execute("INSERT INTO met VALUES(?,?)", (one.format, one.uri))
        return self.put(one.uri, one.format, digest, sets, one.body if one.kept else None)

    def _left(self, uri: str, met: Collection[str], formats: Iterable[str]) -> bool:
        """Delete a thing in the formats that it went out in and does not any more."""
        live = self._db.execute(
            "SELECT format FROM disseminations WHERE uri = ? AND to_release IS NULL"
            " AND NOT deleted ORDER BY format",
            (uri,),
        ).fetchall()
        gone = [name for (name,) in live if name in formats and name not in met]
        for name in gone:
            self._delete(uri, name)
        return bool(gone)

    def _unmet(self, formats: Iterable[str]) -> bool:
        """Delete, in some formats, everything that was not written now."""
        differs = False
        for name in formats:
            left = self._db.execute(
                "SELECT uri FROM disseminations WHERE format = ? AND to_release IS NULL"
                " AND NOT deleted AND uri NOT IN (SELECT uri FROM met WHERE format = ?)",
                (name, name),
            ).fetchall()
            for (uri,) in left:
                self._delete(uri, name)
                differs = True
        return differs

    def put(
        self, uri: str, name: str, digest: str, sets: str = "", body: bytes | None = None
    ) -> bool:
        """Write one row where it differs from the newest one; returns whether it does."""
        old = self._db.execute(
            "SELECT hash, deleted FROM disseminations"
            " WHERE uri = ? AND format = ? AND to_release IS NULL",
            (uri, name),
        ).fetchone()
        if old == (digest, 0):
            return False
        if old:
            self._db.execute(
                "UPDATE disseminations SET body = NULL"
                " WHERE uri = ? AND format = ? AND to_release IS NOT NULL",
                (uri, name),
            )
            self._end(uri, name)
        self._insert(uri, name, (digest, 0, sets, None if body is None else zlib.compress(body, 6)))
        return True

    def end_all(self, uri: str) -> None:
        """Note in every format that a document is gone; nothing of its bytes stays."""
        live = self._db.execute(
            "SELECT format FROM disseminations"
            " WHERE uri = ? AND to_release IS NULL AND NOT deleted ORDER BY format",
            (uri,),
        ).fetchall()
        for (name,) in live:
            self._delete(uri, name)

    def _delete(self, uri: str, name: str) -> None:
        (sets,) = self._db.execute(
            "SELECT sets FROM disseminations WHERE uri = ? AND format = ? AND to_release IS NULL",
            (uri, name),
        ).fetchone()
        self._end(uri, name)
        self._insert(uri, name, ("", 1, sets, None))
        self._db.execute(
            "UPDATE disseminations SET body = NULL WHERE uri = ? AND format = ?", (uri, name)
        )

    def _end(self, uri: str, name: str) -> None:
        self._db.execute(
            "UPDATE disseminations SET to_release = ?"
            " WHERE uri = ? AND format = ? AND to_release IS NULL",
            (self._release, uri, name),
        )

    def _insert(self, uri: str, name: str, row: tuple[str, int, str, bytes | None]) -> None:
        digest, deleted, sets, body = row
        self._db.execute(
            "INSERT INTO disseminations VALUES(?,?,?,?,?,NULL,?,?)",
            (uri, name, digest, self._release, deleted, sets, body),
        )
