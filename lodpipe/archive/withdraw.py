"""What somebody asks to take back is taken out of every release, down to the bytes of the file.

Of a withdrawn document its IRI stays, with a tombstone; of earlier versions of other documents
that name it, the IRI; of a withdrawn claim its key. Freed pages are overwritten
(https://www.sqlite.org/pragma.html#pragma_secure_delete) and the file is written anew.
"""

import re
import sqlite3
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from html import escape
from pathlib import Path

import orjson

from lodpipe.archive.commit import commit
from lodpipe.archive.read import Archive
from lodpipe.archive.tables import connect, fault
from lodpipe.archive.writer import PROJECT, Plan, Stamp
from lodpipe.errors import NotFinishedError
from lodpipe.parts.pack import pack_claim

SAID = frozenset({"Person", "Group", "Place", "LinguisticObject", "Set"})
"""Classes whose names are looked for in other documents: what things are called are words of
everyday."""
SHORTEST = 5
"""Characters of a name from which on it is looked for."""


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """What is taken back: documents by IRI, claims by key, and the lines that ask for it.

    `lines` are key, kind and day.
    """

    documents: frozenset[str] = frozenset()
    claims: frozenset[str] = frozenset()
    lines: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Removed:
    """How many bodies of withdrawn documents were removed, and of earlier versions naming them."""

    bodies: int = 0
    naming: int = 0


def remove(path: Path, what: Withdrawal) -> Removed:
    """Take what is withdrawn out of every release of an archive.

    Raises:
        NotFinishedError: the archive cannot be written; ask again, nothing is half done.
    """
    db = connect(path, write=True)
    try:
        db.execute("BEGIN IMMEDIATE")
        try:
            removed = _remove(db, what)
            db.execute("COMMIT")
        finally:
            if db.in_transaction:
                db.execute("ROLLBACK")
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        db.execute("VACUUM")
    except sqlite3.Error as error:
        raise NotFinishedError(
            f"the archive could not be written: {error}",
            hint="make room or mend the permissions, then withdraw again",
        ) from error
    finally:
        db.close()
    return removed


def lift(path: Path, key: str) -> None:
    """Forget that something was withdrawn: the next run may publish it again, as something new.

    What was removed does not come back with it: earlier releases stay without it.

    Raises:
        NotFinishedError: the archive cannot be written; ask again.
    """
    db = connect(path, write=True)
    try:
        db.execute("DELETE FROM withdrawn WHERE key = ?", (key,))
    except sqlite3.Error as error:
        raise fault(path, error) from error
    finally:
        db.close()


def _remove(db: sqlite3.Connection, what: Withdrawal) -> Removed:
    names, titles = _names(db, what.documents)
    naming = _pattern(what, names)
    removed = 0
    others = []
    for row, uri, body in db.execute("SELECT rowid, uri, body FROM documents"):
        if uri not in what.documents and body and naming.search(body):
            others.append((row,))
    for uri in sorted(what.documents):
        removed += db.execute(_EMPTIED + "uri = ? AND length(body) > 0", (uri,)).rowcount
        for table, column in _BESIDE:
            db.execute(f"DELETE FROM {table} WHERE {column} = ?", (uri,))
        db.execute("UPDATE disseminations SET body = NULL, hash = '' WHERE uri = ?", (uri,))
        _tombstone(db, uri)
    emptied = db.executemany(_EMPTIED + "rowid = ? AND to_release IS NOT NULL", others).rowcount
    for key in sorted(what.claims):
        db.execute("DELETE FROM claims WHERE key = ?", (key,))
    _delete(db, "claims", "line", naming)
    _forget_verdicts(db, naming)
    _delete(db, "layout", "row", naming)
    _delete(db, "findings", "body", _pattern(what, names | titles))
    _forget(db, naming)
    db.execute("DELETE FROM told")
    db.executemany("INSERT OR REPLACE INTO withdrawn VALUES(?,?,?)", what.lines)
    return Removed(removed, max(emptied, 0))


_EMPTIED = "UPDATE documents SET body = x'', hash = '', owner = '', beside = '' WHERE "
_BESIDE = (
    ("claims", "document"), ("findings", "uri"), ("focus", "uri"), ("stopped", "uri"),
    ("trace", "uri"), ("inputs", "document"),
)  # fmt: skip


def _names(db: sqlite3.Connection, uris: Iterable[str]) -> tuple[set[str], set[str]]:
    """Return names that are said of people, places and texts, and those of everything else."""
    said: set[str] = set()
    titles: set[str] = set()
    for uri in uris:
        for kind, body in db.execute("SELECT kind, body FROM documents WHERE uri = ?", (uri,)):
            tree = orjson.loads(body) if body else {}
            found = {node.get("content", "") for node in tree.get("identified_by", ())}
            found.add(tree.get("_label") or "")
            (said if kind in SAID else titles).update(n for n in found if len(n) >= SHORTEST)
    return said, titles


def _pattern(what: Withdrawal, names: Iterable[str]) -> re.Pattern[bytes]:
    """Return what finds a withdrawn document, claim or name in JSON and in XML."""
    needles = {f"{uri}{end}" for uri in what.documents for end in ('"', "#", "<")}
    needles |= {f"#claim-{key}{end}" for key in what.claims for end in ('"', "-")}
    needles |= {f'"{key}"' for key in what.claims}
    for name in names:
        needles |= {
            name,
            orjson.dumps(name).decode()[1:-1],
            escape(name),
            escape(name, quote=False),
        }
    return re.compile(
        b"|".join(re.escape(needle.encode()) for needle in sorted(needles)) or b"(?!)"
    )


def _tombstone(db: sqlite3.Connection, uri: str) -> None:
    """Say that a document was withdrawn; since the release that first was without it."""
    if db.execute(
        "UPDATE tombstones SET reason = 'withdrawn' WHERE uri = ? AND to_release IS NULL", (uri,)
    ).rowcount:
        return
    (last,) = db.execute("SELECT max(to_release) FROM documents WHERE uri = ?", (uri,)).fetchone()
    if last is not None:
        db.execute("INSERT INTO tombstones VALUES(?,?,NULL,'withdrawn','')", (uri, last))


def _delete(db: sqlite3.Connection, table: str, column: str, naming: re.Pattern[bytes]) -> None:
    rows = [
        (row,)
        for row, body in db.execute(f"SELECT rowid, {column} FROM {table}")
        if naming.search(body if isinstance(body, bytes) else body.encode())
    ]
    db.executemany(f"DELETE FROM {table} WHERE rowid = ?", rows)


def _forget_verdicts(db: sqlite3.Connection, naming: re.Pattern[bytes]) -> None:
    """Forget verdicts of earlier releases, which may follow from it, and others that name it."""
    db.execute("UPDATE claims SET verdict = NULL WHERE to_release IS NOT NULL")
    rows = [
        (row,)
        for row, verdict in db.execute(
            "SELECT rowid, verdict FROM claims WHERE verdict IS NOT NULL"
        )
        if naming.search(verdict)
    ]
    db.executemany("UPDATE claims SET verdict = NULL WHERE rowid = ?", rows)


def _forget(db: sqlite3.Connection, naming: re.Pattern[bytes]) -> None:
    """Forget earlier bytes for harvesters that name what is withdrawn."""
    rows = [
        (row,)
        for row, body in db.execute("SELECT rowid, body FROM disseminations WHERE body IS NOT NULL")
        if naming.search(zlib.decompress(body))
    ]
    db.executemany("UPDATE disseminations SET body = NULL WHERE rowid = ?", rows)


def end_now(path: Path, what: Withdrawal, stamp: Stamp) -> int | None:
    """Make a release without what is withdrawn and without all that names it, from the archive alone.

    For when the sources cannot be read: the next run makes what only named it again.

    Returns:
        The number of the release; None when nothing of it was published.
    """
    naming = _pattern(what, ())
    with Archive(path) as archive:
        latest = archive.latest()
        if latest is None:
            return None
        number = latest.number
        ended = [
            document.uri
            for document in archive.documents(number)
            if document.uri in what.documents or naming.search(document.body)
        ]
        layout = [
            row for row in archive.layout(number) if not naming.search(orjson.dumps(row.cells))
        ]
        findings = [finding for finding in archive.findings(number) if finding.uri == PROJECT]
        lost = {uri for uri, line in archive.claims(number) if naming.search(pack_claim(line))}
    plan = Plan()
    for uri in sorted({*ended, *lost}):
        plan.put(uri, "withheld")
    return commit(path, (), plan, stamp, findings, layout)
