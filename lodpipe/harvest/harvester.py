"""A harvest: kept page by page in a small database beside the file, written whole at its end.

Whatever ends it - a key press, a full disk, a server that is down - the same command goes on where
it stopped, or begins its list again where the server has forgotten it. The next harvest asks only
for what changed since.
"""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from lodpipe.errors import UsageError
from lodpipe.harvest.client import Client, OaiError, Page, Query

HEAD = b'<?xml version="1.0" encoding="UTF-8"?>\n<records>\n'
FOOT = b"</records>\n"
_SCHEMA = """
CREATE TABLE IF NOT EXISTS records(
  identifier TEXT PRIMARY KEY, datestamp TEXT NOT NULL, xml BLOB NOT NULL, met INTEGER NOT NULL);
CREATE TABLE IF NOT EXISTS state(name TEXT PRIMARY KEY, value TEXT NOT NULL);
"""


@dataclass(slots=True)
class Harvested:
    """What a harvest did: records that came or changed, that were deleted, and all in the file."""

    changed: int = 0
    deleted: int = 0
    records: int = 0
    resumed: bool = False
    since: str = ""


def harvest(
    client: Client,
    query: Query,
    file: Path,
    *,
    whole: bool = False,
    advance: Callable[[int], None] = lambda steps: None,
) -> Harvested:
    """Harvest into a file.

    Args:
        whole: ask for everything again, not only for what changed since the last harvest.
        advance: told of every record.

    Raises:
        UsageError: the file belongs to another harvest; an answer that is none of the protocol.
        NotFinishedError: the repository cannot be reached.
    """
    file.parent.mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(_beside(file), isolation_level=None)) as db:
        db.executescript(_SCHEMA)
        store = _Store(db, file)
        store.claim(client.url, query)
        result = _collect(client, query, store, whole=whole, advance=advance)
        store.write()
        result.records = store.count()
    return result


def _collect(
    client: Client,
    query: Query,
    store: "_Store",
    *,
    whole: bool,
    advance: Callable[[int], None],
) -> Harvested:
    token, since = store.get("token"), store.get("since")
    if not token:
        since = "" if whole else _in(client.granularity(), store.get("until"))
        store.begin(since)
    result = Harvested(resumed=bool(token), since=since)
    query = Query(query.prefix, query.set, since)
    while True:
        try:
            for page in client.pages(query, token):
                store.take(page, result)
                advance(len(page.records))
        except OaiError as error:
            if error.name != "badResumptionToken" or not store.get("token"):
                raise
            token = ""  # forgotten by the server, or of a list that has changed: begin again
            store.begin(since)
            continue
        break
    if not since:
        result.deleted += store.sweep()
    store.end()
    return result


class _Store:
    """The database of one harvest."""

    def __init__(self, db: sqlite3.Connection, file: Path) -> None:
        self._db, self._file = db, file

    def get(self, name: str) -> str:
        row = self._db.execute("SELECT value FROM state WHERE name = ?", (name,)).fetchone()
        return str(row[0]) if row else ""

    def _set(self, **values: str) -> None:
        self._db.executemany("INSERT OR REPLACE INTO state VALUES(?,?)", values.items())

    def claim(self, url: str, query: Query) -> None:
        """Refuse a file that another repository, format or set was harvested into."""
        for name, value in (("url", url), ("prefix", query.prefix), ("set", query.set)):
            known = self.get(name)
            if known and known != value:
                raise UsageError(
                    f"`{self._file.name}` holds a harvest of another {name}: `{known}`",
                    hint=f"name another file, or take it and `{_beside(self._file).name}` away",
                )
        self._set(url=url, prefix=query.prefix, set=query.set)

    def begin(self, since: str) -> None:
        """Begin a list: nothing of it is met yet."""
        self._db.execute("BEGIN")
        self._db.execute("UPDATE records SET met = 0")
        self._set(since=since, token="", instant="")
        self._db.execute("COMMIT")

    def take(self, page: Page, result: Harvested) -> None:
        """Keep one page with the token of the next one, both or neither."""
        self._db.execute("BEGIN")
        for one in page.records:
            if one.deleted:
                gone = self._db.execute(
                    "DELETE FROM records WHERE identifier = ?", (one.identifier,)
                )
                result.deleted += gone.rowcount
                continue
            known = self._db.execute(
                "SELECT xml FROM records WHERE identifier = ?", (one.identifier,)
            ).fetchone()
            result.changed += known is None or known[0] != one.xml
            self._db.execute(
                "INSERT OR REPLACE INTO records VALUES(?,?,?,1)",
                (one.identifier, one.datestamp, one.xml),
            )
        self._set(token=page.token, instant=self.get("instant") or page.instant)
        self._db.execute("COMMIT")

    def sweep(self) -> int:
        """Take away what a whole harvest has not met: a server may not tell of deletions."""
        return self._db.execute("DELETE FROM records WHERE NOT met").rowcount

    def end(self) -> None:
        """Note from when the next harvest asks: the server's time when this one began."""
        instant = self.get("instant")
        self._set(token="", instant="", **({"until": instant} if instant else {}))

    def count(self) -> int:
        return int(self._db.execute("SELECT count(*) FROM records").fetchone()[0])

    def write(self) -> None:
        """Write the file, whole or not at all, in the order of identifiers."""
        half = self._file.with_name(self._file.name + ".part")
        with half.open("wb") as handle:
            handle.write(HEAD)
            for (xml,) in self._db.execute("SELECT xml FROM records ORDER BY identifier"):
                handle.write(xml + b"\n")
            handle.write(FOOT)
        half.replace(self._file)


def _in(granularity: str, instant: str) -> str:
    """Return an instant in the granularity of a repository: seconds, or whole days."""
    return instant if "hh" in granularity else instant[:10]


def _beside(file: Path) -> Path:
    return file.with_name(file.name + ".harvest")
