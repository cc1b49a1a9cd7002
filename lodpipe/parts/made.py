"""What pass 2 made: documents ready for the archive, with all that stands beside them."""

import hashlib
import heapq
import re
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, field, replace
from functools import cache
from itertools import groupby
from operator import attrgetter
from pathlib import Path
from typing import Any

import orjson

from lodpipe.findings import Finding
from lodpipe.parts.pack import Trail, create, open_part, pack_finding, unpack_claim, unpack_finding
from lodpipe.records import Claim

_MADE = """
CREATE TABLE made(uri TEXT PRIMARY KEY, kind TEXT, owner TEXT, hash TEXT, stopped INTEGER,
                  beside TEXT, body BLOB, trace BLOB, inputs BLOB, findings BLOB, focus BLOB,
                  claims BLOB, verdicts BLOB, names TEXT, made_beside BLOB, again INTEGER,
                  why BLOB);
"""


@dataclass(slots=True)
class Made:
    """One document as pass 2 leaves it, with everything that stands beside it.

    `stopped` says that a finding at the gate holds it back; `inputs` are (kind, key, hash);
    `verdicts` are JSON values by the key of the claim. `names` are the documents that it names or
    that were looked up for it, itself left out; `made_beside` what it was made from beside its row
    of the index, as hashes by kind in JSON; `why` it was made in this run. `again`: it has to be
    made in the next run whatever that finds.
    """

    uri: str
    kind: str
    owner: str
    hash: str = ""
    body: bytes = b""
    stopped: bool = False
    trail: Trail = field(default_factory=Trail)
    inputs: Sequence[Sequence[str]] = ()
    findings: list[Finding] = field(default_factory=list)
    focus: dict[str, int] = field(default_factory=dict)
    claims: list[Claim] = field(default_factory=list)
    verdicts: dict[str, Any] = field(default_factory=dict)
    names: set[str] = field(default_factory=set)
    made_beside: bytes = b"{}"
    again: bool = False
    why: list[list[str]] = field(default_factory=list)

    def mark(self) -> "Mark":
        """Return what tells this document from the same one in another release."""
        return Mark(self.uri, self.hash, self.stopped, self.beside())

    def beside(self) -> str:
        """Return the hash of what stands beside the document in a release; places do not count."""
        found = [[f.code, f.severity, f.path, f.rule] for f in self.findings]
        claims = [replace(claim, place=None) for claim in self.claims]
        body = orjson.dumps(
            [found, sorted(self.focus.items()), claims, sorted(self.verdicts.items())]
        )
        return hashlib.blake2b(body, digest_size=16).hexdigest()


@dataclass(frozen=True, slots=True)
class Mark:
    """What tells a document from the same one in another release."""

    uri: str
    hash: str
    stopped: bool
    beside: str


class MadeWriter:
    """Writes what pass 2 made to one part file."""

    def __init__(self, path: Path) -> None:
        self._db = create(path, _MADE)

    def add(self, batch: Iterable[Made]) -> None:
        """Take one batch of documents; one that is there already is replaced."""
        rows = [
            (
                made.uri,
                made.kind,
                made.owner,
                made.hash,
                made.stopped,
                made.beside(),
                made.body,
                made.trail.packed(),
                orjson.dumps(made.inputs),
                orjson.dumps([pack_finding(finding) for finding in made.findings]),
                orjson.dumps(made.focus, option=orjson.OPT_SORT_KEYS),
                orjson.dumps(made.claims),
                orjson.dumps(made.verdicts),
                "\n".join(sorted(made.names)),
                made.made_beside,
                made.again,
                orjson.dumps(made.why),
            )
            for made in batch
        ]
        with self._db:
            self._db.executemany(
                "INSERT OR REPLACE INTO made VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)", rows
            )

    def close(self) -> None:
        """Close the part file."""
        self._db.close()


def named_in(body: bytes, base: str) -> set[str]:
    """Return the documents below base that the nodes of a document name, itself among them."""
    return {iri.decode() for iri in _ids(base).findall(body)}


@cache
def _ids(base: str) -> re.Pattern[bytes]:
    return re.compile(rb'"id":"(' + re.escape(base.encode()) + rb'[^"#]+)')


def read_made(paths: Iterable[Path]) -> Iterator[Made]:
    """Yield the documents of all part files of pass 2, in URI order.

    What several files have is taken from the first of them.
    """
    with _opened(paths) as dbs:
        rows = heapq.merge(*(_made_rows(db) for db in dbs), key=attrgetter("uri"))
        for _, same in groupby(rows, key=attrgetter("uri")):
            yield next(same)


@contextmanager
def _opened(paths: Iterable[Path]) -> Iterator[list[sqlite3.Connection]]:
    with ExitStack() as stack:
        yield [stack.enter_context(closing(open_part(path))) for path in paths]


def _made_rows(db: sqlite3.Connection) -> Iterator[Made]:
    for row in db.execute("SELECT * FROM made ORDER BY uri"):
        uri, kind, owner, hash_, stopped, _, body, trace, *rest = row
        inputs, findings, focus, claims, verdicts, *_ = rest
        yield Made(
            uri,
            kind,
            owner,
            hash_,
            body,
            bool(stopped),
            Trail(packed=trace),
            orjson.loads(inputs),
            [unpack_finding(values) for values in orjson.loads(findings)],
            orjson.loads(focus),
            [unpack_claim(orjson.dumps(claim)) for claim in orjson.loads(claims)],
            orjson.loads(verdicts),
        )
