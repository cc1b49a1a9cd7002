"""Writes the rows of one release inside an open transaction."""

import hashlib
import sqlite3
from collections.abc import Callable, Iterable, Mapping, Set
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import orjson

from lodpipe.archive.renditions import DOCUMENTS, Render, Renditions
from lodpipe.errors import NotFinishedError
from lodpipe.findings import Finding
from lodpipe.parts import Made
from lodpipe.parts.pack import pack_claim, pack_finding
from lodpipe.records import LayoutRow

STATES = ("new", "changed", "unchanged", "stopped", "withheld", "gone")
PROJECT = ""
"""Stands for the project as a whole where a finding belongs to no document."""


@dataclass(slots=True)
class Plan:
    """What the next release would do: the state of every document, and whether anything changes.

    Memory follows what is out of the common: `states` leaves out documents of the `common` state,
    which is `new` in a first release and `unchanged` in any other. `beside` names documents whose
    findings, focus counts or claims changed although their text did not; `left` those that were
    stopped and are not made any more.
    """

    common: str = "unchanged"
    counts: dict[str, int] = field(default_factory=lambda: dict.fromkeys(STATES, 0))
    states: dict[str, str] = field(default_factory=dict)
    beside: set[str] = field(default_factory=set)
    left: set[str] = field(default_factory=set)

    def put(self, uri: str, state: str) -> None:
        """Book one document."""
        self.counts[state] += 1
        if state != self.common:
            self.states[uri] = state

    def state(self, uri: str) -> str:
        """Return the state of a document that this run made."""
        return self.states.get(uri, self.common)

    def move(self, uri: str, state: str) -> None:
        """Book a document in another state than it was."""
        self.counts[self.state(uri)] -= 1
        self.counts[state] += 1
        self.states[uri] = state

    def only(self, uris: Iterable[str]) -> "Plan":
        """Return the part of the plan that is about some documents; all others stay as they are."""
        chosen = Plan()
        for uri in uris:
            chosen.put(uri, self.state(uri))
        return chosen

    def differing(self) -> set[str]:
        """Return the documents that differ in anything from the last release, if there is one."""
        same = ("unchanged", "stopped")
        return self.beside | {uri for uri, state in self.states.items() if state not in same}

    @property
    def changes(self) -> bool:
        """Whether a release would differ from the last one in any document."""
        return bool(self.beside or self.left) or any(
            self.counts[state] for state in ("new", "changed", "gone")
        )


@dataclass(frozen=True, slots=True)
class Stamp:
    """What a release says of itself."""

    created: str
    visible_from: str
    sources: dict[str, str]
    shapes: str
    tool: str
    books: dict[str, dict[str, int]]


class ReleaseWriter:
    """Writes the rows of one release inside an open transaction."""

    def __init__(self, db: sqlite3.Connection, stamp: Stamp) -> None:
        self._db = db
        last = db.execute("SELECT max(release), max(visible_from) FROM releases").fetchone()
        self.first = last[0] is None
        self.release = (last[0] or 0) + 1
        self._renditions = Renditions(db, self.release)

    def documents(self, made: Iterable[Made], booked: Plan) -> None:
        """Write every document that is new or changed, and what stands beside it.

        Args:
            made: at least those that differ from the last release in anything.

        Raises:
            NotFinishedError: one that is booked as new or changed is not among them.
        """
        missing = booked.counts["new"] + booked.counts["changed"]
        for new in made:
            state = booked.state(new.uri)
            if state in ("new", "changed"):
                missing -= 1
                self._end("documents", new.uri)
                self._db.execute(
                    "INSERT INTO documents VALUES(?,?,NULL,?,?,?,?,?)",
                    (
                        new.uri,
                        self.release,
                        new.kind,
                        new.owner,
                        new.hash,
                        new.beside(),
                        new.body,
                    ),
                )
                self._end("tombstones", new.uri)
                self._renditions.put(new.uri, DOCUMENTS, new.hash)
            elif new.uri in booked.beside and state != "stopped":
                self._db.execute(
                    "UPDATE documents SET beside = ? WHERE uri = ? AND to_release IS NULL",
                    (new.beside(), new.uri),
                )
            if state in ("new", "changed") or new.uri in booked.beside:
                self._beside(new, stopped=state == "stopped")
            self._trace(new)
        if missing:
            raise NotFinishedError(
                f"the books do not balance: {missing} documents to be released were not made",
                hint="this is a fault of lodpipe, please report it; nothing was released",
            )

    def _beside(self, new: Made, *, stopped: bool) -> None:
        self._end_beside(new.uri)
        if new.focus:
            self._db.execute(
                "INSERT INTO focus VALUES(?,?,NULL,?)",
                (new.uri, self.release, orjson.dumps(new.focus, option=orjson.OPT_SORT_KEYS)),
            )
        self._findings(new.uri, new.findings)
        if stopped:
            self._db.execute(
                "INSERT INTO stopped VALUES(?,?,NULL,?,?,"
                "(SELECT max(from_release) FROM documents WHERE uri = ? AND to_release IS NULL))",
                (new.uri, self.release, new.hash, new.beside(), new.uri),
            )
            return
        self._end("claims", new.uri, column="document")
        self._db.executemany(
            "INSERT INTO claims VALUES(?,?,?,NULL,?,?)",
            [
                (
                    claim.key,
                    new.uri,
                    self.release,
                    pack_claim(claim),
                    orjson.dumps(new.verdicts[claim.key]) if claim.key in new.verdicts else None,
                )
                for claim in new.claims
            ],
        )

    def _end_beside(self, uri: str) -> None:
        for table in ("findings", "focus", "stopped"):
            self._end(table, uri)

    def _findings(self, uri: str, findings: Iterable[Finding]) -> None:
        self._db.executemany(
            "INSERT INTO findings VALUES(?,?,NULL,?,?,?,?,?,?)",
            [
                (
                    uri,
                    self.release,
                    finding.code,
                    finding.severity,
                    finding.message,
                    str(finding.place or ""),
                    finding.path,
                    orjson.dumps(pack_finding(finding)),
                )
                for finding in findings
            ],
        )

    def _trace(self, new: Made) -> None:
        """Bring up to date, also of an unchanged document, where it comes from."""
        entries = new.trail.packed()
        origin = entries + orjson.dumps([new.owner, new.inputs])
        digest = hashlib.blake2b(origin, digest_size=16).hexdigest()
        known = self._db.execute("SELECT hash FROM trace WHERE uri = ?", (new.uri,)).fetchone()
        if known and known[0] == digest:
            return
        self._db.execute("INSERT OR REPLACE INTO trace VALUES(?,?,?)", (new.uri, digest, entries))
        if known:
            self._db.execute("DELETE FROM inputs WHERE document = ?", (new.uri,))
            self._db.execute(
                "UPDATE documents SET owner = ? WHERE uri = ? AND to_release IS NULL",
                (new.owner, new.uri),
            )
        self._db.executemany(
            "INSERT INTO inputs VALUES(?,?,?,?)",
            [(new.uri, kind, key, digest) for kind, key, digest in new.inputs],
        )

    def layout(self, rows: Iterable[LayoutRow]) -> bool:
        """Write the layout; returns whether it differs from the last release's.

        Large collections have a row a picture: they are compared inside the database.
        """
        self._db.execute(
            "CREATE TEMP TABLE incoming(kind TEXT, row BLOB, PRIMARY KEY(kind, row)) WITHOUT ROWID"
        )
        self._db.executemany(
            "INSERT OR IGNORE INTO incoming VALUES(?,?)",
            ((row.file, orjson.dumps(row.cells, option=orjson.OPT_SORT_KEYS)) for row in rows),
        )
        ended = self._db.execute(
            "UPDATE layout SET to_release = ? WHERE to_release IS NULL"
            " AND (kind, row) NOT IN (SELECT kind, row FROM incoming)",
            (self.release,),
        )
        added = self._db.execute(
            "INSERT INTO layout SELECT kind, ?, NULL, row FROM incoming WHERE (kind, row) NOT IN"
            " (SELECT kind, row FROM layout WHERE to_release IS NULL) ORDER BY kind, row",
            (self.release,),
        )
        self._db.execute("DROP TABLE incoming")
        return bool(ended.rowcount or added.rowcount)

    def project_findings(self, findings: Iterable[Finding]) -> bool:
        """Write the findings that belong to no document; returns whether they differ."""
        new = sorted(findings, key=lambda f: (f.code, f.path, f.message, str(f.place or "")))
        old = self._db.execute(
            "SELECT code, severity, message FROM findings WHERE uri = ? AND to_release IS NULL"
            " ORDER BY code, path, message, place",
            (PROJECT,),
        ).fetchall()
        if [(f.code, f.severity, f.message) for f in new] == old:
            return False
        self._end("findings", PROJECT)
        self._findings(PROJECT, new)
        return True

    def end_missing(self, booked: Plan) -> bool:
        """End what is gone or withheld and leave a tombstone; returns whether any was published."""
        ended = False
        for uri in booked.left:
            self._end_beside(uri)
        for uri, state in booked.states.items():
            if state not in ("gone", "withheld"):
                continue
            was = self._end("documents", uri)
            self._end_beside(uri)
            self._end("claims", uri, column="document")
            self._db.execute("DELETE FROM trace WHERE uri = ?", (uri,))
            self._db.execute("DELETE FROM inputs WHERE document = ?", (uri,))
            if was:
                ended = True
                self._db.execute(
                    "INSERT INTO tombstones VALUES(?,?,NULL,?,'')", (uri, self.release, state)
                )
                self._renditions.end_all(uri)
        return ended

    def told(self, reasons: Mapping[str, str]) -> bool:
        """Write what is told of documents that are gone; returns whether any of it differs."""
        live = self._db.execute("SELECT uri, told FROM tombstones WHERE to_release IS NULL")
        other = [(reasons.get(uri, ""), uri) for uri, told in live if told != reasons.get(uri, "")]
        query = "UPDATE tombstones SET told = ? WHERE uri = ? AND to_release IS NULL"
        self._db.executemany(query, other)
        return bool(other)

    def renamed(self, moved: Mapping[str, str]) -> bool:
        """Write which old IRIs lead to new ones; returns whether any of it differs.

        What leads on has no tombstone, unless it was withheld or withdrawn.
        """
        live = dict(self._db.execute("SELECT old, new FROM renamed WHERE to_release IS NULL"))
        for old in sorted(live.keys() - moved.keys()):
            self._end("renamed", old, column="old")
        for old, new in sorted(moved.items()):
            if live.get(old) == new:
                continue
            self._end("renamed", old, column="old")
            self._db.execute("INSERT INTO renamed VALUES(?,?,?,NULL)", (old, new, self.release))
            self._db.execute(
                "UPDATE tombstones SET to_release = ?"
                " WHERE uri = ? AND reason = 'gone' AND to_release IS NULL",
                (self.release, old),
            )
        return live != dict(moved)

    def renditions(self, render: Render | None, changed: Set[str] | None) -> bool:
        """Write what is disseminated of the things that are told from what changed (None: of all).

        Returns:
            Whether any of it differs from the last release.
        """
        if render is None:
            self._renditions.forget()
            return False
        return self._renditions.write(render, changed)

    def stamp_release(self, stamp: Stamp, visible: Callable[[], str] | None = None) -> None:
        """Write the row of the release itself; its instant is later than that of the one before.

        Args:
            visible: gives the instant from which it is shown; None: that of the stamp.
        """
        shown_from = visible() if visible else stamp.visible_from
        last = self._db.execute("SELECT max(visible_from) FROM releases").fetchone()[0] or ""
        self._db.execute(
            "INSERT INTO releases VALUES(?,?,?,?,?,?,?)",
            (
                self.release,
                stamp.created,
                max(shown_from, _a_second_after(last)),
                orjson.dumps(stamp.sources, option=orjson.OPT_SORT_KEYS).decode(),
                stamp.shapes,
                stamp.tool,
                orjson.dumps(stamp.books).decode(),
            ),
        )

    def _end(self, table: str, uri: str, *, column: str = "uri") -> int:
        if self.first:
            return 0
        return self._db.execute(
            f"UPDATE {table} SET to_release = ? WHERE {column} = ? AND to_release IS NULL",
            (self.release, uri),
        ).rowcount


def _a_second_after(instant: str) -> str:
    if not instant:
        return ""
    moment = datetime.fromisoformat(instant) + timedelta(seconds=1)
    return moment.strftime("%Y-%m-%dT%H:%M:%SZ")
