"""What pass 2 made: documents ready for the archive, with all that stands beside them."""

import heapq
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, field
from operator import attrgetter
from pathlib import Path

import orjson

from lodpipe.findings import Finding
from lodpipe.parts.pack import (
    create,
    open_part,
    pack_finding,
    pack_trace,
    unpack_claim,
    unpack_finding,
    unpack_trace,
)
from lodpipe.records import Claim, Input, TraceEntry

_MADE = """
CREATE TABLE made(uri TEXT PRIMARY KEY, kind TEXT, owner TEXT, hash TEXT, body BLOB,
                  stopped INTEGER, side BLOB) WITHOUT ROWID;
"""


@dataclass(slots=True)
class Made:
    """One document as pass 2 leaves it, with everything that stands beside it.

    `stopped` says that a finding at the gate holds it back.
    """

    uri: str
    kind: str
    owner: str
    hash: str
    body: bytes
    stopped: bool = False
    trace: list[TraceEntry] = field(default_factory=list)
    inputs: list[Input] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    focus: dict[str, int] = field(default_factory=dict)
    claims: list[Claim] = field(default_factory=list)


class MadeWriter:
    """Writes what pass 2 made to one part file."""

    def __init__(self, path: Path) -> None:
        self._db = create(path, _MADE)

    def add(self, batch: Iterable[Made]) -> None:
        """Take one batch of documents."""
        rows = [
            (made.uri, made.kind, made.owner, made.hash, made.body, made.stopped, _side(made))
            for made in batch
        ]
        with self._db:
            self._db.executemany("INSERT INTO made VALUES(?,?,?,?,?,?,?)", rows)

    def close(self) -> None:
        """Close the part file."""
        self._db.close()


def read_made(paths: Iterable[Path]) -> Iterator[Made]:
    """Yield the documents of all part files of pass 2, in URI order."""
    with_dbs = [open_part(path) for path in paths]
    try:
        parts = [_made_rows(db) for db in with_dbs]
        yield from heapq.merge(*parts, key=attrgetter("uri"))
    finally:
        for db in with_dbs:
            db.close()


def _made_rows(db: sqlite3.Connection) -> Iterator[Made]:
    for uri, kind, owner, hash_, body, stopped, side in db.execute(
        "SELECT * FROM made ORDER BY uri"
    ):
        trace, inputs, findings, focus, claims = orjson.loads(side)
        yield Made(
            uri,
            kind,
            owner,
            hash_,
            body,
            bool(stopped),
            unpack_trace(trace),
            [Input(*i) for i in inputs],
            [unpack_finding(values) for values in findings],
            focus,
            [unpack_claim(orjson.dumps(claim)) for claim in claims],
        )


def _side(made: Made) -> bytes:
    return orjson.dumps(
        [
            pack_trace(made.trace),
            [(i.kind, i.key, i.hash) for i in made.inputs],
            [pack_finding(finding) for finding in made.findings],
            made.focus,
            [asdict(claim) for claim in made.claims],
        ]
    )
