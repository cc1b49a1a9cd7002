"""What earlier releases held and may not be seen now: going back in time brings none of it back."""

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Hidden:
    """Documents and claims that may not be seen now, whatever an earlier release showed."""

    documents: frozenset[str]
    claims: frozenset[str]

    def hides(self, uri: str, body: bytes) -> bool:
        """Return whether a document is one of them, or a text has one of them."""
        if uri in self.documents or names(body, self.documents):
            return True
        return any(
            f'#claim-{key}"'.encode() in body or f'"{key}"'.encode() in body for key in self.claims
        )


def hidden_now(db: sqlite3.Connection, release: int) -> Hidden:
    """Return what of a release may not be seen now.

    The ledger only grows: a line that was published, and that a document which is still there has
    no longer, is withheld.
    """
    rows = db.execute(
        "SELECT key FROM claims WHERE from_release <= :release"
        " AND (to_release IS NULL OR to_release > :release)"
        " AND json_extract(CAST(line AS TEXT), '$.mapped') = 0"
        " AND key NOT IN (SELECT key FROM claims WHERE to_release IS NULL)"
        " AND document IN (SELECT uri FROM documents WHERE to_release IS NULL)",
        {"release": release},
    )
    return Hidden(withheld_now(db), frozenset(key for (key,) in rows))


def withheld_now(db: sqlite3.Connection) -> frozenset[str]:
    """Return the documents that were published once and are withheld or withdrawn now."""
    rows = db.execute(
        "SELECT uri FROM tombstones WHERE reason IN ('withheld', 'withdrawn')"
        " AND to_release IS NULL"
    )
    return frozenset(uri for (uri,) in rows)


def names(body: bytes, uris: Iterable[str]) -> bool:
    """Return whether a published document points at one of these documents, or a node of one."""
    return any(f'"{uri}"'.encode() in body or f'"{uri}#'.encode() in body for uri in uris)
