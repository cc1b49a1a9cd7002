"""What is disseminated of a document in each format, and since which release.

A row is valid from one release until another, or now. It is written when, and only when, the
bytes or the sets that a harvester gets of a document in this format differ from those of before:
the instant of its release is the datestamp (https://www.openarchives.org/OAI/openarchivesprotocol.html,
section 2.5). A deletion stays for ever. Bytes are kept of the newest row and of the one before it,
which is shown until the new release is visible; of what is deleted none are kept.
"""

import hashlib
import sqlite3
import zlib
from collections.abc import Iterable
from dataclasses import dataclass

DOCUMENTS = "linked-art"
"""The format of the documents themselves, whose bytes lie in their own table."""


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


class Renditions:
    """Writes the rows of one release inside an open transaction."""

    def __init__(self, db: sqlite3.Connection, release: int) -> None:
        self._db = db
        self._release = release

    def write(self, made: Iterable[Rendition], formats: Iterable[str]) -> bool:
        """Write everything of some formats: what is not made any more counts as deleted.

        Returns:
            Whether anything differs from the last release.
        """
        self._db.execute("CREATE TEMP TABLE met(format TEXT, uri TEXT, PRIMARY KEY(format, uri))")
        changed = False
        for one in made:
            sets = "".join(f" {name}" for name in one.sets) + " " if one.sets else ""
            digest = hashlib.sha256(sets.encode() + b"\n" + one.body).hexdigest()
            body = zlib.compress(one.body, 6) if one.kept else None
            changed |= self.put(one.uri, one.format, digest, sets, body)
            self._db.execute("INSERT INTO met VALUES(?,?)", (one.format, one.uri))
        for name in formats:
            left = self._db.execute(
                "SELECT uri FROM disseminations WHERE format = ? AND to_release IS NULL"
                " AND NOT deleted AND uri NOT IN (SELECT uri FROM met WHERE format = ?)",
                (name, name),
            ).fetchall()
            for (uri,) in left:
                self._delete(uri, name)
                changed = True
        self._db.execute("DROP TABLE met")
        return changed

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
        self._insert(uri, name, (digest, 0, sets, body))
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
        self._insert(uri, name, ("", 1, sets, None))
        self._db.execute(
            "UPDATE disseminations SET body = NULL WHERE uri = ? AND format = ?", (uri, name)
        )

    def _insert(self, uri: str, name: str, row: tuple[str, int, str, bytes | None]) -> None:
        digest, deleted, sets, body = row
        self._db.execute(
            "UPDATE disseminations SET to_release = ?"
            " WHERE uri = ? AND format = ? AND to_release IS NULL",
            (self._release, uri, name),
        )
        self._db.execute(
            "INSERT INTO disseminations VALUES(?,?,?,?,?,NULL,?,?)",
            (uri, name, digest, self._release, deleted, sets, body),
        )
