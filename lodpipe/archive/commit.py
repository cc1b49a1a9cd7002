"""The next release: first a plan that books every document, then one transaction.

Each document of this run or of the last release is in exactly one state: new, changed,
unchanged, stopped, withheld or gone. A stopped document stays published as it last was; a
withheld one goes at once, whatever else happens.
"""

import fcntl
import os
import socket
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from lodpipe.archive.renditions import Render
from lodpipe.archive.tables import connect, fault
from lodpipe.archive.writer import Plan, ReleaseWriter, Stamp
from lodpipe.errors import NotFinishedError
from lodpipe.findings import Finding
from lodpipe.parts import Made, Mark
from lodpipe.records import LayoutRow


@contextmanager
def lock(path: Path) -> Iterator[None]:
    """Hold the archive for one run; a second run at the same time is refused.

    The lock is the system's, on an open file: it ends with the process, however that ends, and
    a file that a dead run left behind is no obstacle.

    Raises:
        NotFinishedError: another run holds it, or its folder cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = (path.parent / "lock").open("a+")
    except OSError as error:
        raise NotFinishedError(
            f"the folder of the archive cannot be written: {error.strerror}",
            hint="look at its permissions; nothing was released",
        ) from error
    with handle:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            handle.seek(0)
            holder = handle.read().strip()
            raise NotFinishedError(
                "another run holds this archive" + (f": {holder}" if holder else ""),
                hint="wait until it has ended, then run again",
            ) from None
        handle.truncate(0)
        handle.write(f"process {os.getpid()} on {socket.gethostname()}\n")
        handle.flush()
        yield


def plan(path: Path, made: Iterable[Mark], withheld: Iterable[str]) -> Plan:
    """Compare what a run made with the last release, both in URI order, and book every document."""
    hidden = set(withheld)
    with _opened(path) as db:
        first = db.execute("SELECT count(*) FROM releases").fetchone()[0] == 0
        found = Plan("new" if first else "unchanged")
        live = db.execute(
            "SELECT uri, hash, beside FROM documents WHERE to_release IS NULL ORDER BY uri"
        )
        was_stopped = {
            uri: (hash_, beside)
            for uri, hash_, beside in db.execute(
                "SELECT uri, hash, beside FROM stopped WHERE to_release IS NULL"
            )
        }
        old = live.fetchone()
        for new in made:
            while old and old[0] < new.uri:
                found.put(old[0], "withheld" if old[0] in hidden else "gone")
                hidden.discard(old[0])
                old = live.fetchone()
            match = old if old and old[0] == new.uri else None
            if match:
                old = live.fetchone()
            _book(found, new, match, was_stopped.pop(new.uri, None))
        while old:
            found.put(old[0], "withheld" if old[0] in hidden else "gone")
            hidden.discard(old[0])
            old = live.fetchone()
        found.left.update(was_stopped)
    for uri in sorted(hidden):
        found.put(uri, "withheld")
    return found


def _book(
    found: Plan,
    new: Mark,
    old: tuple[str, str, str] | None,
    stopped: tuple[str, str] | None,
) -> None:
    if new.stopped:
        found.put(new.uri, "stopped")
        if stopped != (new.hash, new.beside):
            found.beside.add(new.uri)
        return
    if stopped:
        found.beside.add(new.uri)
    if old is None:
        found.put(new.uri, "new")
    elif old[1] != new.hash:
        found.put(new.uri, "changed")
    else:
        found.put(new.uri, "unchanged")
        if old[2] != new.beside:
            found.beside.add(new.uri)


def commit(
    path: Path,
    made: Iterable[Made],
    booked: Plan,
    stamp: Stamp,
    findings: Iterable[Finding],
    layout: Iterable[LayoutRow],
    *,
    moved: Mapping[str, str] | None = None,
    told: Mapping[str, str] | None = None,
    render: Render | None = None,
    visible: Callable[[], str] | None = None,
) -> int | None:
    """Write the next release in one transaction.

    Args:
        made: the documents of this run that may differ from the last release, in URI order.
        booked: the plan made from them.
        findings: those that belong to no document. `layout`: all rows that may leave the house.
        moved: new IRI of each old one that leads on; None: as in the last release.
        told: what is said in the place of documents that are gone, by their IRIs; None: as before.
        render: makes what harvesters get from the documents of this release.
        visible: gives, at the end, the instant from which it is shown; None: that of the stamp.

    Returns:
        Its number; None when nothing differs: then only the way back to the sources is renewed.

    Raises:
        NotFinishedError: the disk is full or the archive cannot be written; nothing was released.
    """
    with _opened(path) as db:
        # whatever ends this before its COMMIT closes the connection, and that undoes all of it
        db.execute("BEGIN IMMEDIATE")
        writer = ReleaseWriter(db, stamp)
        writer.documents(made, booked)
        laid_out = writer.layout(layout)
        changed = laid_out | writer.project_findings(findings) | booked.changes
        changed |= writer.end_missing(booked)
        changed |= moved is not None and writer.renamed(moved)
        changed |= told is not None and writer.told(told)
        changed |= writer.renditions(render, None if laid_out else booked.differing())
        if released := changed or writer.first:
            writer.stamp_release(stamp, visible)
        db.execute("COMMIT")
    return writer.release if released else None


@contextmanager
def _opened(path: Path) -> Iterator[sqlite3.Connection]:
    db = connect(path, write=True)
    try:
        yield db
    except sqlite3.Error as error:
        raise fault(path, error) from error
    finally:
        db.close()
