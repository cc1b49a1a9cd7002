"""What pass 2 came to, kept from run to run: of each document what it was made from, not its text.

A document is made again only when something that it was made from has changed: its row of the
index, what stands `beside` it (claims, pictures, notices), what a document that it `names` is
called. Of every other one the row here says what pass 2 found in it, so that report, gate and
books speak of the whole release.
"""

import sqlite3
from collections.abc import Collection, Iterator, Mapping
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import orjson

from lodpipe.findings import Finding
from lodpipe.parts.made import Mark
from lodpipe.parts.pack import create, mark_of, open_part, sync, sync_folder, unpack_finding

FILE, NOTE = "finished.sqlite", "finished.json"
Why = list[list[str]]
"""Why a document is made anew: kind and key of what changed, as `records.Input` has them."""

_TABLE = """
CREATE TABLE document(
  uri TEXT PRIMARY KEY, entry BLOB, row BLOB, beside BLOB, names TEXT, owner TEXT, hash TEXT,
  stopped INTEGER, mark TEXT, findings BLOB, focus BLOB, why BLOB) WITHOUT ROWID;
"""
_ROWS = """
INSERT OR REPLACE INTO document
SELECT uri, entry.hash, CASE WHEN again THEN NULL ELSE entry.row END, made_beside, names, owner,
       made.hash, stopped, beside, findings, focus, why
FROM part.made AS made LEFT JOIN now.entry AS entry USING(uri) WHERE made.rowid > ?
"""


class Finished:
    """The documents of a run that pass 2 has finished, now or in a run before.

    Args:
        path: the file. `index`: that of the index of this run.

    Attributes:
        path: the file.
        known: whether it has documents of earlier runs.
    """

    def __init__(self, path: Path, index: Path) -> None:
        self.path = path
        self.known = path.is_file()
        self._db = sqlite3.connect(path) if self.known else create(path, _TABLE)
        self._db.execute("PRAGMA journal_mode=OFF")
        self._db.execute("PRAGMA synchronous=OFF")
        # what is withheld from now on leaves no bytes behind
        self._db.execute("PRAGMA secure_delete=ON")
        self._db.execute("ATTACH ? AS now", (str(index),))
        self._taken: dict[Path, int] = {}

    def stale(self, beside: Mapping[str, bytes], withheld: Collection[str]) -> dict[str, Why]:
        """Return the documents that have to be made, each with the reasons; forget those gone.

        Args:
            beside: by document, what it is made from beside its row: hashes by kind, as JSON.
            withheld: documents of the index that are not made.
        """
        found: dict[str, Why] = {}
        changed = self._other_entries()
        with self._db:
            # also those of the house, whose need has to show again
            self._db.execute("DELETE FROM document WHERE uri NOT IN (SELECT uri FROM now.entry)")
        rows = self._db.execute(
            "SELECT uri, document.uri IS NULL FROM now.entry AS entry LEFT JOIN document USING(uri)"
            " WHERE document.row IS NOT entry.row"
        )
        for uri, new in rows:
            found[uri] = [["new" if new else "row", ""]]
        for uri, old in self._db.execute("SELECT uri, beside FROM document"):
            if old != (now := beside.get(uri, b"{}")):
                found.setdefault(uri, []).extend([kind, ""] for kind in _differing(old, now))
        changed.difference_update(withheld)
        for uri, names in self._db.execute("SELECT uri, names FROM document") if changed else ():
            if not changed.isdisjoint(read := names.split("\n")):
                labels = sorted(changed.intersection(read))
                found.setdefault(uri, []).extend(["label", label] for label in labels)
        for uri in withheld:
            found.pop(uri, None)
        return found

    def _other_entries(self) -> set[str]:
        """Return the documents that are new, gone, or called otherwise than when they were read."""
        rows = self._db.execute(
            "SELECT uri FROM now.entry AS entry LEFT JOIN document USING(uri)"
            " WHERE document.entry IS NOT entry.hash UNION ALL SELECT uri FROM document"
            " WHERE entry IS NOT NULL AND uri NOT IN (SELECT uri FROM now.entry)"
        )
        return {uri for (uri,) in rows}

    def take(self, part: Path) -> None:
        """Take what has been made since the last time from a part file of pass 2."""
        self._db.execute("ATTACH ? AS part", (str(part),))
        try:
            with self._db:
                self._db.execute(_ROWS, (self._taken.get(part, 0),))
            last = self._db.execute("SELECT max(rowid) FROM part.made").fetchone()[0]
            self._taken[part] = last or 0
        finally:
            self._db.execute("DETACH part")

    def naming(self, uris: Collection[str]) -> list[str]:
        """Return the documents that name one of these."""
        wanted = frozenset(uris)
        rows = self._db.execute("SELECT uri, names FROM document ORDER BY uri") if wanted else ()
        return [uri for uri, names in rows if not wanted.isdisjoint(names.split("\n"))]

    def names_below(self, *prefixes: str) -> set[str]:
        """Return what documents name whose IRI begins with one of these."""
        found: set[str] = set()
        where = " OR ".join(["instr(names, ?)"] * len(prefixes))
        for (names,) in self._db.execute(f"SELECT names FROM document WHERE {where}", prefixes):
            found.update(name for name in names.split("\n") if name.startswith(prefixes))
        return found

    def unnamed(self, uris: Collection[str]) -> list[str]:
        """Return those of some documents that no other one names, in order."""
        left = set(uris)
        for (names,) in self._db.execute("SELECT names FROM document") if left else ():
            left.difference_update(names.split("\n"))
        return sorted(left)

    def stopped(self) -> set[str]:
        """Return the documents that the gate holds back."""
        return {uri for (uri,) in self._db.execute("SELECT uri FROM document WHERE stopped")}

    def marks(self) -> Iterator[Mark]:
        """Yield what tells each document from the same one in another release, in IRI order."""
        for uri, hash_, stopped, beside in self._db.execute(
            "SELECT uri, hash, stopped, mark FROM document ORDER BY uri"
        ):
            yield Mark(uri, hash_, bool(stopped), beside)

    def of_house(self) -> set[str]:
        """Return the documents that are not in the index: no source makes them."""
        rows = self._db.execute(
            "SELECT uri FROM document WHERE uri NOT IN (SELECT uri FROM now.entry)"
        )
        return {uri for (uri,) in rows}

    def found(self) -> Iterator[list[Finding]]:
        """Yield the findings of one document after another, in IRI order."""
        for (findings,) in self._db.execute(
            "SELECT findings FROM document WHERE findings != x'5b5d' ORDER BY uri"
        ):
            yield [unpack_finding(values) for values in orjson.loads(findings)]

    def focus(self) -> dict[str, int]:
        """Return how many nodes each shape met in all documents, in the order of their names."""
        total: dict[str, int] = {}
        for counts, times in self._db.execute(
            "SELECT focus, count(*) FROM document GROUP BY focus"
        ):
            for shape, count in orjson.loads(counts).items():
                total[shape] = total.get(shape, 0) + count * times
        return dict(sorted(total.items()))

    def catalogued(self) -> bool:
        """Return whether any document comes from a source."""
        row = self._db.execute("SELECT 1 FROM document WHERE owner != '' LIMIT 1").fetchone()
        return row is not None

    def close(self) -> None:
        """Close the file."""
        self._db.close()


def _differing(old: bytes, now: bytes) -> list[str]:
    before, after = orjson.loads(old), orjson.loads(now)
    return sorted(k for k in before.keys() | after.keys() if before.get(k) != after.get(k))


def why(folder: Path, uri: str) -> list[tuple[str, str]]:
    """Return why a document was made when it was made last; empty where nothing was kept."""
    if not _note(folder):
        return []
    with closing(open_part(folder / FILE)) as db:
        row = db.execute("SELECT why FROM document WHERE uri = ?", (uri,)).fetchone()
    return [(kind, key) for kind, key in orjson.loads(row[0])] if row else []


def take_out(folder: Path, work: Path, archive: list[int], common: Mapping[str, str]) -> Why:
    """Move what was kept into the work folder of a run, where it can be used; else forget it.

    Args:
        archive: what tells the file of the archive from what it was at other times.
        common: what all documents are made from, as hashes by kind.

    Returns:
        Why nothing can be used; empty where the file lies in the work folder now.
    """
    kept = _note(folder)
    before: dict[str, str] = kept.get("common", {})
    usable = bool(kept) and kept["archive"] == archive and kept["file"] == mark_of(folder / FILE)
    with suppress(FileNotFoundError):
        (folder / NOTE).unlink()
        sync_folder(folder)  # not before the note is gone may the file change
    if usable and before == common:
        (folder / FILE).replace(work / FILE)
        return []
    (folder / FILE).unlink(missing_ok=True)
    if not usable:
        return [["first", ""]]
    kinds = sorted(kind for kind in common if before.get(kind) != common[kind])
    return [[kind, ""] for kind in kinds]


def put_back(finished: Path, folder: Path, archive: list[int], common: Mapping[str, str]) -> None:
    """Keep what a run has finished, whole and on disk, or not at all."""
    path, half = folder / FILE, folder / (NOTE + ".part")
    with suppress(OSError):  # the release is made: the next run only has more to do
        sync(finished)
        finished.replace(path)
        half.write_bytes(
            orjson.dumps({"archive": archive, "common": dict(common), "file": mark_of(path)})
        )
        sync(half)
        half.replace(folder / NOTE)


def forget(folder: Path) -> None:
    """Take away what was kept."""
    for name in (NOTE, FILE):
        (folder / name).unlink(missing_ok=True)


def _note(folder: Path) -> dict[str, Any]:
    try:
        note = orjson.loads((folder / NOTE).read_bytes())
    except (OSError, orjson.JSONDecodeError):
        return {}
    return note if isinstance(note, dict) else {}
