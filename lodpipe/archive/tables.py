"""The tables of the archive.

Everything that a release holds is valid from one release until another, or now (`to_release` is
NULL): nothing is overwritten, and the state of any release is a query. The trace is the one
exception: it says where a value stands in today's source files, so a row that moved is brought
up to date without a release.

What a crash may leave (https://www.sqlite.org/atomiccommit.html, https://www.sqlite.org/pragma.html):
a transaction writes the old pages to a rollback journal first, and whoever opens the archive next
puts them back. `synchronous=EXTRA` also syncs the folder once the journal is gone, so that a
release which was announced outlives a power cut. WAL would be no faster for one transaction a
run, and it cannot be read where nothing may be written.
"""

import sqlite3
from pathlib import Path

from lodpipe.errors import NotFinishedError, UsageError
from lodpipe.parts.pack import sync_folder

FORMAT = 4
"""Version of this schema, in `PRAGMA user_version`."""

_SCHEMA = f"""
CREATE TABLE releases(
  release INTEGER PRIMARY KEY, created TEXT NOT NULL, visible_from TEXT NOT NULL,
  sources TEXT NOT NULL, shapes TEXT NOT NULL, tool TEXT NOT NULL, books TEXT NOT NULL);
CREATE TABLE documents(
  uri TEXT NOT NULL, from_release INTEGER NOT NULL, to_release INTEGER, kind TEXT NOT NULL,
  owner TEXT NOT NULL, hash TEXT NOT NULL, beside TEXT NOT NULL, body BLOB NOT NULL);
CREATE INDEX documents_uri ON documents(uri, from_release);
CREATE INDEX documents_now ON documents(uri, hash, beside) WHERE to_release IS NULL;
CREATE TABLE stopped(
  uri TEXT NOT NULL, from_release INTEGER NOT NULL, to_release INTEGER, hash TEXT NOT NULL,
  beside TEXT NOT NULL, published INTEGER);
CREATE TABLE claims(
  key TEXT NOT NULL, document TEXT NOT NULL, from_release INTEGER NOT NULL, to_release INTEGER,
  line BLOB NOT NULL, verdict BLOB);
CREATE TABLE layout(
  kind TEXT NOT NULL, from_release INTEGER NOT NULL, to_release INTEGER, row BLOB NOT NULL);
CREATE TABLE findings(
  uri TEXT NOT NULL, from_release INTEGER NOT NULL, to_release INTEGER, code TEXT NOT NULL,
  severity TEXT NOT NULL, message TEXT NOT NULL, place TEXT NOT NULL, path TEXT NOT NULL,
  body BLOB NOT NULL);
CREATE TABLE focus(
  uri TEXT NOT NULL, from_release INTEGER NOT NULL, to_release INTEGER, counts BLOB NOT NULL);
CREATE TABLE trace(uri TEXT PRIMARY KEY, hash TEXT NOT NULL, entries BLOB NOT NULL);
CREATE TABLE inputs(
  document TEXT NOT NULL, kind TEXT NOT NULL, key TEXT NOT NULL, hash TEXT NOT NULL);
CREATE TABLE renamed(
  old TEXT NOT NULL, new TEXT NOT NULL, from_release INTEGER NOT NULL, to_release INTEGER);
CREATE TABLE tombstones(
  uri TEXT NOT NULL, from_release INTEGER NOT NULL, to_release INTEGER, reason TEXT NOT NULL,
  told TEXT NOT NULL);
CREATE TABLE withdrawn(key TEXT PRIMARY KEY, kind TEXT NOT NULL, day TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE disseminations(
  uri TEXT NOT NULL, format TEXT NOT NULL, hash TEXT NOT NULL, release INTEGER NOT NULL,
  deleted INTEGER NOT NULL, to_release INTEGER, sets TEXT NOT NULL, body BLOB);
CREATE TABLE told(uri TEXT PRIMARY KEY, seen BLOB NOT NULL, unsent BLOB) WITHOUT ROWID;
CREATE INDEX disseminations_uri ON disseminations(uri, format, release);
CREATE INDEX disseminations_release ON disseminations(format, release, uri);
CREATE INDEX claims_document ON claims(document, key);
CREATE INDEX findings_uri ON findings(uri);
CREATE INDEX focus_uri ON focus(uri);
CREATE INDEX inputs_document ON inputs(document);
CREATE INDEX tombstones_uri ON tombstones(uri);
CREATE INDEX stopped_uri ON stopped(uri);
PRAGMA user_version = {FORMAT};
"""


def connect(path: Path, *, write: bool) -> sqlite3.Connection:
    """Open an archive; for writing, make it where it is not there yet.

    For reading nothing is written, so that it works on media that allow no more; but for what a
    run left that was killed while it wrote: that is put back first, and needs a writable folder.

    Raises:
        UsageError: there is nothing to read.
        NotFinishedError: the folder or file cannot be used, it is damaged, or it is not ours.
    """
    try:
        if write and not path.exists():
            _create(path)
        if not write and not path.is_file():
            raise UsageError(
                "there is no archive yet", hint="make the first release with `lodpipe run`"
            )
        db = _open(path, "rw" if write or journal_of(path).exists() else "ro")
        try:
            if int(db.execute("PRAGMA user_version").fetchone()[0]) != FORMAT:
                raise NotFinishedError(
                    f"`{path.name}` is not an archive of this version of lodpipe",
                    hint="move it away, or use the version that wrote it",
                )
            # the first look into the tables puts back what a run left half written
            db.execute("SELECT count(*) FROM sqlite_master").fetchone()
            db.executescript(
                "PRAGMA cache_size=-4000; PRAGMA secure_delete=ON; PRAGMA synchronous=EXTRA;"
            )
            if not write:
                db.execute("PRAGMA query_only=ON")
        except (sqlite3.Error, NotFinishedError):
            db.close()
            raise
    except (sqlite3.Error, OSError) as error:
        raise fault(path, error) from error
    return db


def journal_of(path: Path) -> Path:
    """Return where SQLite keeps the pages that a transaction is about to change."""
    return path.with_name(path.name + "-journal")


def _open(path: Path, mode: str) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode={mode}", uri=True, isolation_level=None)


def _create(path: Path) -> None:
    """Make an archive without releases; it has its name only once it is whole."""
    path.parent.mkdir(parents=True, exist_ok=True)
    half = path.with_name(path.name + ".part")
    for left in (half, journal_of(half)):
        left.unlink(missing_ok=True)
    db = _open(half, "rwc")
    try:
        db.executescript(f"PRAGMA synchronous=EXTRA; BEGIN; {_SCHEMA} COMMIT;")
    finally:
        db.close()
    half.replace(path)
    sync_folder(path.parent)


def fault(path: Path, error: sqlite3.Error | OSError) -> NotFinishedError:
    """Return what to say of an archive that SQLite or the disk will not let us use."""
    name = getattr(error, "sqlite_errorname", "")
    if name.startswith("SQLITE_CORRUPT"):
        return damaged(path, str(error))
    if name == "SQLITE_NOTADB":
        return damaged(path, f"{error}, or never was one")
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN")) and journal_of(path).exists():
        return NotFinishedError(
            f"the archive `{path.name}` was left half written, and it cannot be mended where nothing may be written",
            hint="copy the whole folder of the archive to where you may write, and use it there",
        )
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return NotFinishedError(
            f"the archive `{path.name}` is being written", hint="wait until the run has ended"
        )
    return NotFinishedError(
        f"the archive `{path.name}` cannot be used: {error}",
        hint="the last release is untouched; look at the permissions and the free space of its folder",
    )


def damaged(path: Path, what: str) -> NotFinishedError:
    """Return what to say of an archive that is not as we wrote it.

    It is never mended: what is lost in it cannot be known, and a release that is not the one
    which was made must not go out under its number.
    """
    return NotFinishedError(
        f"the archive `{path.name}` is damaged: {what}",
        hint="put back a copy of it; or move it away and run again: then numbering begins anew and the releases in it are lost",
    )
