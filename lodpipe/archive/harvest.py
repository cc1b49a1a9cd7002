"""Questions of harvesters: what is disseminated in a format, since when, and what changed.

Everything is asked of one release, the newest that is visible at an instant, so that a list that
is cut into pages stays one list while the next release comes. What is deleted is told at once.
"""

import zlib
from collections.abc import Iterator
from dataclasses import dataclass

from lodpipe.archive.read import Archive

_NOW = (
    "release <= :release AND (to_release IS NULL OR to_release > :release)"
    " AND (deleted OR body IS NOT NULL OR NOT :bodies)"
)


@dataclass(frozen=True, slots=True)
class Dissemination:
    """What one document is in one format: since which release, in which sets, or that it is gone.

    `body` is None where the archive keeps only the hash, and of what is deleted.
    """

    uri: str
    release: int
    deleted: bool
    sets: tuple[str, ...]
    body: bytes | None


@dataclass(frozen=True, slots=True)
class Activity:
    """One thing that happened to a document in a format: `Create`, `Update` or `Delete`.

    `what` is the class of the document; empty where the archive does not know it any more. `told`
    is what is said in the place of one that is gone.
    """

    number: int
    kind: str
    uri: str
    release: int
    what: str = ""
    told: str = ""


@dataclass(frozen=True, slots=True)
class Slice:
    """Which disseminations: those of a format at a release, of some releases, in one set.

    `first` and `last` are releases, both inclusive; `bodies`: leave out rows whose bytes the
    archive keeps no longer, since a newer row has followed.
    """

    format: str
    release: int
    first: int = 1
    last: int = 1 << 62
    set: str = ""
    bodies: bool = True


class Harvest:
    """An archive as harvesters see it."""

    def __init__(self, archive: Archive) -> None:
        self._db = archive.connection

    def commits(self) -> int:
        """Return a number that every commit of somebody else changes, for this connection alone.

        https://www.sqlite.org/pragma.html#pragma_data_version
        """
        return int(self._db.execute("PRAGMA data_version").fetchone()[0])

    def instants(self) -> dict[int, str]:
        """Return the instant from which each release is visible, by its number, oldest first."""
        rows = self._db.execute("SELECT release, visible_from FROM releases ORDER BY release")
        return {int(number): str(instant) for number, instant in rows}

    def visible(self, now: str) -> int:
        """Return the newest release that is visible at an instant; 0 before the first one."""
        return max((n for n, instant in self.instants().items() if instant <= now), default=0)

    def one(self, uri: str, name: str, release: int) -> Dissemination | None:
        """Return what a document is in a format at a release; None when it never was in it."""
        row = self._db.execute(
            "SELECT uri, release, deleted, sets, body FROM disseminations"
            f" WHERE uri = :uri AND format = :format AND {_NOW}",
            {"uri": uri, "format": name, "release": release, "bodies": False},
        ).fetchone()
        return _dissemination(row) if row else None

    def formats(self, uri: str, release: int) -> frozenset[str]:
        """Return the formats that a document is or was in."""
        rows = self._db.execute(
            f"SELECT format FROM disseminations WHERE uri = :uri AND {_NOW}",
            {"uri": uri, "release": release, "bodies": False},
        )
        return frozenset(name for (name,) in rows)

    def count(self, of: Slice) -> int:
        """Return how many disseminations a slice has."""
        row = self._db.execute(
            f"SELECT count(*) FROM disseminations WHERE {_slice(of)}", _values(of)
        ).fetchone()
        return int(row[0])

    def some(
        self, of: Slice, after: tuple[int, str] = (0, ""), most: int = 100
    ) -> list[Dissemination]:
        """Return the disseminations of a slice that follow a release and IRI, in this order."""
        rows = self._db.execute(
            "SELECT uri, release, deleted, sets, body FROM disseminations"
            f" WHERE {_slice(of)} AND (release, uri) > (:at, :uri) ORDER BY release, uri LIMIT :most",
            {**_values(of), "at": after[0], "uri": after[1], "most": most},
        )
        return [_dissemination(row) for row in rows]

    def count_activities(self, name: str, release: int) -> int:
        """Return how much has happened in a format until a release."""
        row = self._db.execute(
            "SELECT count(*) FROM disseminations WHERE format = ? AND release <= ?", (name, release)
        ).fetchone()
        return int(row[0])

    def activities(self, name: str, release: int, start: int, most: int) -> Iterator[Activity]:
        """Yield what happened in a format until a release, oldest first, from a position on."""
        rows = self._db.execute(
            "SELECT uri, release, deleted, (SELECT deleted FROM disseminations AS old"
            " WHERE old.uri = new.uri AND old.format = new.format AND old.release < new.release"
            " ORDER BY old.release DESC LIMIT 1),"
            " (SELECT kind FROM documents WHERE documents.uri = new.uri"
            " ORDER BY from_release DESC LIMIT 1),"
            " (SELECT told FROM tombstones WHERE tombstones.uri = new.uri AND to_release IS NULL)"
            " FROM disseminations AS new WHERE format = ? AND release <= ?"
            " ORDER BY release, uri LIMIT ? OFFSET ?",
            (name, release, most, start),
        )
        for number, (uri, at, deleted, before, what, told) in enumerate(rows, start=start + 1):
            kind = "Delete" if deleted else "Update" if before == 0 else "Create"
            yield Activity(number, kind, uri, at, what or "", (told or "") if deleted else "")

    def changed(self, name: str, release: int) -> Iterator[tuple[str, int]]:
        """Yield what is there in a format, in IRI order, with the release of its last change."""
        yield from self._db.execute(
            f"SELECT uri, release FROM disseminations WHERE format = :format AND {_NOW}"
            " AND NOT deleted ORDER BY uri",
            {"format": name, "release": release, "bodies": False},
        )

    def claimed_anew(self, since: int) -> frozenset[str]:
        """Return the documents on which a claim came, changed or went after a release.

        Their triples may differ although the documents do not: they also tell of premises.
        """
        rows = self._db.execute(
            "SELECT DISTINCT document FROM claims WHERE from_release > :since OR to_release > :since",
            {"since": since},
        )
        return frozenset(uri for (uri,) in rows)

    def classes(self, release: int) -> dict[str, int]:
        """Return how many documents of each class a release has."""
        rows = self._db.execute(
            "SELECT kind, count(*) FROM documents WHERE from_release <= :release"
            " AND (to_release IS NULL OR to_release > :release) GROUP BY kind ORDER BY kind",
            {"release": release},
        )
        return dict(rows.fetchall())


def _slice(of: Slice) -> str:
    inside = " AND instr(sets, :set) > 0" if of.set else ""
    return f"format = :format AND release BETWEEN :first AND :last AND {_NOW}{inside}"


def _values(of: Slice) -> dict[str, str | int]:
    return {
        "format": of.format,
        "release": of.release,
        "first": of.first,
        "last": min(of.last, of.release),
        "set": f" {of.set} ",
        "bodies": of.bodies,
    }


def _dissemination(row: tuple[str, int, int, str, bytes | None]) -> Dissemination:
    uri, release, deleted, sets, body = row
    return Dissemination(
        uri, release, bool(deleted), tuple(sets.split()), zlib.decompress(body) if body else None
    )
