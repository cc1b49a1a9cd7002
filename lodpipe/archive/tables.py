"""The tables of the archive.

Everything that a release holds is valid from one release until another, or now (`to_release` is
NULL): nothing is overwritten, and the state of any release is a query. The trace is the one
exception: it says where a value stands in today's source files, so a row that moved is brought
up to date without a release.
"""

import sqlite3
from pathlib import Path

from lodpipe.errors import NotFinishedError

FORMAT = 2
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
  uri TEXT NOT NULL, from_release INTEGER NOT NULL, to_release INTEGER, reason TEXT NOT NULL);
CREATE TABLE disseminations(
  uri TEXT NOT NULL, format TEXT NOT NULL, hash TEXT NOT NULL, release INTEGER NOT NULL,
  deleted INTEGER NOT NULL, to_release INTEGER, sets TEXT NOT NULL, body BLOB);
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

    Raises:
        NotFinishedError: the folder or file cannot be used, or it is not an archive of ours.
    """
    try:
        if write:
            path.parent.mkdir(parents=True, exist_ok=True)
            db = sqlite3.connect(path, isolation_level=None)
        else:
            db = sqlite3.connect(f"file:{path.as_posix()}?mode=ro", uri=True, isolation_level=None)
        version = int(db.execute("PRAGMA user_version").fetchone()[0])
        empty = not db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
        if version == 0 and empty and write:
            db.executescript(_SCHEMA)
        elif version != FORMAT:
            raise NotFinishedError(
                f"`{path.name}` is not an archive of this version of lodpipe",
                hint="move it away, or use the version that wrote it",
            )
    except (sqlite3.Error, OSError) as error:
        raise NotFinishedError(
            f"the archive `{path.name}` cannot be opened: {error}",
            hint="look at the permissions and the free space of its folder",
        ) from error
    db.execute("PRAGMA cache_size=-4000")
    db.execute("PRAGMA secure_delete=ON")
    return db
