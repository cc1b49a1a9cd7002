"""Questions about a release: its documents, claims, layout, findings, and the way back."""

import hashlib
import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any

import orjson

from lodpipe.archive.hidden import Hidden, hidden_now, withheld_now
from lodpipe.archive.tables import connect, damaged, fault
from lodpipe.errors import UsageError
from lodpipe.findings import Finding
from lodpipe.parts.pack import document_hash, unpack_claim, unpack_finding, unpack_trace
from lodpipe.records import Claim, LayoutRow, TraceEntry

_KEPT = "length(body) > 0"
"""A document whose body was withdrawn leaves its row, which holds nothing but its IRI."""
_VALID = "from_release <= :release AND (to_release IS NULL OR to_release > :release)"


@dataclass(frozen=True, slots=True)
class Release:
    """One committed state of the archive.

    `created` and `visible_from` are instants in UTC, ISO 8601 with `Z`; `sources` maps each
    source file to the SHA-256 of its bytes; `books` holds the counts that were printed.
    """

    number: int
    created: str
    visible_from: str
    sources: dict[str, str]
    shapes: str
    tool: str
    books: dict[str, dict[str, int]]


@dataclass(frozen=True, slots=True)
class Document:
    """One document as a release holds it; `body` is the published JSON."""

    uri: str
    kind: str
    owner: str
    hash: str
    body: bytes
    from_release: int


class Archive:
    """An archive, open for reading."""

    def __init__(self, path: Path) -> None:
        """Open an archive.

        Raises:
            UsageError: there is none at this path.
            NotFinishedError: it cannot be read.
        """
        self._path = path
        self._db = connect(path, write=False)
        self._past: dict[tuple[int, int], Hidden] = {}

    @classmethod
    def over(cls, db: sqlite3.Connection) -> "Archive":
        """Return an archive over an open connection: it also sees what is not committed yet."""
        archive = cls.__new__(cls)
        archive._db = db
        archive._path = Path(db.execute("PRAGMA database_list").fetchone()[2])
        archive._past = {}
        return archive

    def __enter__(self) -> "Archive":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        """Close the archive; what SQLite says while it is read becomes a fault with its name."""
        self.close()
        if isinstance(error, sqlite3.Error):
            raise fault(self._path, error) from error

    @property
    def connection(self) -> sqlite3.Connection:
        """The open connection, for the other questions of this package."""
        return self._db

    def close(self) -> None:
        """Close the archive."""
        self._db.close()

    def verify(self) -> None:
        """Look whether every page and index of the file is sound; reads all of it.

        Raises:
            NotFinishedError: one is not. What stands in a document is held against its hash
            whenever it is read.
        """
        found = self._db.execute("PRAGMA integrity_check(1)").fetchone()[0]
        if found != "ok":
            raise damaged(self._path, found.replace("\n", " "))

    def releases(self) -> list[Release]:
        """Return all releases, oldest first."""
        rows = self._db.execute("SELECT * FROM releases ORDER BY release")
        return [
            Release(number, created, visible, self._json(sources), shapes, tool, self._json(books))
            for number, created, visible, sources, shapes, tool, books in rows
        ]

    def latest(self) -> Release | None:
        """Return the newest release, or None before the first one."""
        releases = self.releases()
        return releases[-1] if releases else None

    def release(self, number: int) -> Release:
        """Return one release; UsageError when the archive does not hold it."""
        for release in self.releases():
            if release.number == number:
                return release
        known = ", ".join(str(release.number) for release in self.releases()) or "none"
        raise UsageError(f"there is no release {number}", hint=f"the archive holds {known}")

    def count(self, release: int) -> int:
        """Return how many documents a release holds."""
        row = self._query(
            f"SELECT count(*) FROM documents WHERE {_VALID} AND {_KEPT}", release
        ).fetchone()
        return int(row[0])

    def document(self, uri: str, release: int) -> Document | None:
        """Return one document as a release holds it; None for one that is withheld now."""
        row = self._query(
            f"SELECT uri, kind, owner, hash, body, from_release FROM documents WHERE uri = :uri AND {_VALID}",
            release,
            uri=uri,
        ).fetchone()
        if row is None or not row[4]:
            return None
        document = self._whole(Document(*row))
        hidden = self._hidden(release)
        return None if hidden and hidden.hides(uri, document.body) else document

    def documents(self, release: int) -> Iterator[Document]:
        """Yield the documents of a release in URI order.

        Of an earlier release, those that are withheld now are left out, and those that name one
        of them: going back in time does not bring back what somebody asked to hold back.
        """
        hidden = self._hidden(release)
        for row in self._query(
            f"SELECT uri, kind, owner, hash, body, from_release FROM documents WHERE {_VALID} ORDER BY uri",
            release,
        ):
            if not row[4]:
                continue
            document = self._whole(Document(*row))
            if not (hidden and hidden.hides(document.uri, document.body)):
                yield document

    def _hidden(self, release: int) -> Hidden | None:
        """Return what of an earlier release may not be seen now; None for the newest release."""
        (newest,) = self._db.execute("SELECT max(release) FROM releases").fetchone()
        if newest is None or release >= newest:
            return None
        past = self._past  # another thread may put its own in its place
        if (release, newest) not in past:
            past = self._past = {(release, newest): hidden_now(self._db, release)}
        return past[release, newest]

    def uris(self, release: int) -> Iterator[str]:
        """Yield the IRIs of the documents of a release, in order."""
        for (uri,) in self._query(
            f"SELECT uri FROM documents WHERE {_VALID} AND {_KEPT} ORDER BY uri", release
        ):
            yield uri

    def holds(self, uri: str, release: int) -> bool:
        """Return whether a release holds a document."""
        query = f"SELECT 1 FROM documents WHERE uri = :uri AND {_VALID} AND {_KEPT}"
        return self._query(query, release, uri=uri).fetchone() is not None

    def ever_held(self, base: str, key: str) -> frozenset[str]:
        """Return the documents of any release that have this key, path or IRI."""
        ending = "%/" + key.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
        rows = self._db.execute(
            "SELECT DISTINCT uri FROM documents WHERE uri IN (?, ?) OR uri LIKE ? ESCAPE '\\'",
            (key, base + key, ending),
        )
        return frozenset(uri for (uri,) in rows)

    def ever_claimed(self, key: str) -> bool:
        """Return whether any release has a claim of this key."""
        found = self._db.execute("SELECT 1 FROM claims WHERE key = ? LIMIT 1", (key,)).fetchone()
        return found is not None

    def emptied(self, release: int) -> frozenset[str]:
        """Return the documents of a release whose bodies were removed by a withdrawal."""
        rows = self._query(f"SELECT uri FROM documents WHERE {_VALID} AND NOT {_KEPT}", release)
        return frozenset(uri for (uri,) in rows)

    def withdrawn(self) -> dict[str, str]:
        """Return what was withdrawn: its key, and the day on which that was done."""
        return dict(self._db.execute("SELECT key, day FROM withdrawn ORDER BY key"))

    def holds_any(self, base: str, key: str) -> bool:
        """Return whether any release holds the body of a document, or a claim, of this key."""
        query = f"SELECT 1 FROM documents WHERE uri = ? AND {_KEPT} LIMIT 1"
        kept = (self._db.execute(query, (uri,)).fetchone() for uri in self.ever_held(base, key))
        return any(kept) or self.ever_claimed(key)

    def gone(self, release: int) -> list[tuple[str, str, str]]:
        """Return what was published once and is in a release no more, since when, and what is told.

        What is withheld or withdrawn now is gone in every release: no earlier one had it.
        """
        rows = self._db.execute(
            "SELECT uri, visible_from, told FROM tombstones JOIN releases ON release = from_release"
            " WHERE to_release IS NULL AND (from_release <= ? OR reason != 'gone') ORDER BY uri",
            (release,),
        )
        return list(rows)

    def moved(self, release: int) -> dict[str, str]:
        """Return the new IRI of each old one that leads on in a release."""
        return dict(self._query(f"SELECT old, new FROM renamed WHERE {_VALID}", release))

    def ends(self, uri: str) -> tuple[int, int] | None:
        """Return the first and the last release that held a document, also one withdrawn since."""
        return self._ends("documents", "uri", uri)

    def claim_ends(self, key: str) -> tuple[int, int] | None:
        """Return the first and the last release that held a claim."""
        return self._ends("claims", "key", key)

    def _ends(self, table: str, column: str, value: str) -> tuple[int, int] | None:
        first, last = self._db.execute(
            "SELECT min(from_release), max(coalesce(to_release - 1,"
            f" (SELECT max(release) FROM releases))) FROM {table} WHERE {column} = ?",
            (value,),
        ).fetchone()
        return None if first is None else (int(first), int(last))

    def kind_of(self, uri: str) -> str:
        """Return the Linked Art class that a document has or had; empty when there was none."""
        row = self._db.execute("SELECT kind FROM documents WHERE uri = ? LIMIT 1", (uri,))
        found = row.fetchone()
        return str(found[0]) if found else ""

    def withheld_now(self) -> frozenset[str]:
        """Return the documents that were published once and are withheld or withdrawn now."""
        return withheld_now(self._db)

    def uris_ending(self, key: str, release: int) -> list[str]:
        """Return the documents whose path, or whose last segment alone, is `key`."""
        rows = self._query(
            f"SELECT uri FROM documents WHERE uri LIKE :pattern ESCAPE '\\' AND {_VALID} ORDER BY uri",
            release,
            pattern="%/" + key.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_"),
        )
        return [uri for (uri,) in rows]

    def claims(self, release: int, document: str = "") -> Iterator[tuple[str, Claim]]:
        """Yield document and claim, of one document or of all in URI order.

        Of an earlier release, those are left out that may not be seen now.
        """
        hidden = self._hidden(release)
        chosen = "document = :document AND " if document else ""
        for owner, line in self._query(
            f"SELECT document, line FROM claims WHERE {chosen}{_VALID} ORDER BY document, key",
            release,
            document=document,
        ):
            if not (hidden and hidden.hides(owner, line)):
                yield owner, self._json(line, unpack_claim)

    def verdicts(self, release: int, document: str = "") -> dict[str, Any]:
        """Return what the evidence makes of each weighed claim, as JSON values by its key.

        Args:
            document: whose claims; those of all documents when empty.
        """
        chosen = "document = :document AND " if document else ""
        rows = self._query(
            f"SELECT key, document, line, verdict FROM claims WHERE {chosen}verdict IS NOT NULL"
            f" AND {_VALID} ORDER BY key",
            release,
            document=document,
        )
        hidden = self._hidden(release)
        return {
            key: self._json(verdict)
            for key, owner, line, verdict in rows
            if not (hidden and hidden.hides(owner, line + verdict))
        }

    def layout(self, release: int) -> Iterator[LayoutRow]:
        """Yield the layout rows of a release: `file` and cells, without places."""
        rows = self._query(
            f"SELECT kind, row FROM layout WHERE {_VALID} ORDER BY kind, row", release
        )
        hidden = self._hidden(release)
        for kind, row in rows:
            found = LayoutRow(kind, self._json(row))
            if not hidden or hidden.documents.isdisjoint(found.cells.values()):
                yield found

    def findings(self, release: int, uri: str = "") -> Iterator[Finding]:
        """Yield the findings of a release, of one document or of all."""
        chosen = "uri = :uri AND " if uri else ""
        for (body,) in self._query(
            f"SELECT body FROM findings WHERE {chosen}{_VALID} ORDER BY uri, code, path, message, place",
            release,
            uri=uri,
        ):
            yield self._json(body, lambda row: unpack_finding(orjson.loads(row)))

    def focus(self, release: int) -> dict[str, int]:
        """Return how many nodes each shape met in the whole release."""
        total: dict[str, int] = {}
        for (counts,) in self._query(f"SELECT counts FROM focus WHERE {_VALID}", release):
            for shape, count in self._json(counts).items():
                total[shape] = total.get(shape, 0) + count
        return total

    def trace(self, uri: str) -> list[TraceEntry]:
        """Return the way back from a document to today's source files."""
        row = self._db.execute("SELECT entries FROM trace WHERE uri = ?", (uri,)).fetchone()
        if row is None:
            return []
        found: list[TraceEntry] = self._json(row[0], lambda row: unpack_trace(orjson.loads(row)))
        return found

    def inputs(self, uri: str) -> list[tuple[str, str, str]]:
        """Return what a document was made from: kind, key, hash."""
        rows = self._db.execute(
            "SELECT kind, key, hash FROM inputs WHERE document = ? ORDER BY kind, key", (uri,)
        )
        return list(rows)

    def stopped(self, release: int) -> list[tuple[str, int | None]]:
        """Return the documents stopped at the gate, each with the release that is still published."""
        rows = self._query(
            f"SELECT uri, published FROM stopped WHERE {_VALID} ORDER BY uri", release
        )
        return list(rows)

    def tombstone(self, uri: str) -> tuple[int, str] | None:
        """Return since which release a document is no longer there, and why: gone or withheld."""
        row = self._db.execute(
            "SELECT from_release, reason FROM tombstones WHERE uri = ? AND to_release IS NULL",
            (uri,),
        ).fetchone()
        return (int(row[0]), str(row[1])) if row else None

    def logical_dump(self) -> str:
        """Return the SHA-256 of what the archive publishes, in a fixed order.

        Left out is what follows from the clock (instants of releases) or from where a row stands
        in its file (trace, places of findings): the same catalogue with its rows in another order
        has the same dump.
        """
        digest = hashlib.sha256()
        for query in (
            "SELECT release, shapes FROM releases ORDER BY 1",
            "SELECT uri, from_release, to_release, kind, hash, body FROM documents ORDER BY 1, 2",
            "SELECT document, key, from_release, to_release FROM claims ORDER BY 1, 2, 3",
            "SELECT kind, row, from_release, to_release FROM layout ORDER BY 1, 2, 3",
            "SELECT uri, code, severity, path, from_release, to_release FROM findings ORDER BY 1, 2, 3, 4, 5",
            "SELECT uri, counts, from_release, to_release FROM focus ORDER BY 1, 3",
            "SELECT uri, reason, told, from_release, to_release FROM tombstones ORDER BY 1, 3",
            "SELECT uri, format, hash, release, deleted, sets FROM disseminations ORDER BY 1, 2, 4",
        ):
            for row in self._db.execute(query):
                digest.update(repr(row).encode())
        return digest.hexdigest()

    def _whole(self, document: Document) -> Document:
        """Return a document whose bytes are those that were written; nothing else leaves."""
        if document_hash(document.body) != document.hash:
            raise damaged(self._path, f"`{document.uri}` is not as it was written")
        return document

    def _json(self, body: bytes, read: Callable[[bytes], Any] = orjson.loads) -> Any:
        try:
            return read(body)
        except (ValueError, KeyError, TypeError) as error:
            raise damaged(self._path, f"a row is not as it was written: {error}") from error

    def _query(self, query: str, release: int, **values: str) -> sqlite3.Cursor:
        return self._db.execute(query, {"release": release, **values})
