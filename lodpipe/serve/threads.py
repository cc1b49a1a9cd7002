"""Work beside the loop that listens: threads that have the archive open, and a limit on time."""

import sqlite3
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import anyio
import anyio.to_thread
from starlette.exceptions import HTTPException

from lodpipe.archive import Archive
from lodpipe.errors import NotFinishedError

SECONDS = 30.0
"""Longest that an answer may take."""
THREADS = 8
"""At once in one process; each keeps pages of the archive in memory."""
LATER = {"Retry-After": "30"}
T = TypeVar("T")


class Archives(threading.local):
    """One open archive a thread: opening one takes longer than most answers.

    Args:
        wait: seconds to wait where somebody commits; then it is sqlite3.OperationalError.
    """

    def __init__(self, path: Path, wait: float = SECONDS) -> None:
        self._path, self._wait = path, wait
        self._opened: Archive | None = None
        self.file = -1

    def get(self) -> Archive:
        """Return the archive of this thread, opened anew where another file has its name now."""
        file = self._path.stat().st_ino if self._path.is_file() else -1
        if self._opened is None or file != self.file:
            if self._opened is not None:
                self._opened.close()
            self._opened, self.file = Archive(self._path), file
            self._opened.connection.execute(f"PRAGMA busy_timeout={self._wait * 1000:.0f}")
        return self._opened


class Threads:
    """The threads of one server."""

    def __init__(self, path: Path) -> None:
        self._archives = Archives(path)
        self._limit = anyio.CapacityLimiter(THREADS)

    async def ask(self, make: Callable[[Archive], T]) -> T:
        """Return what is made from the archive in a thread, in time or not at all.

        Raises:
            HTTPException: 503 where it takes too long, or a release is being written.
        """
        try:
            with anyio.fail_after(SECONDS):
                return await anyio.to_thread.run_sync(
                    lambda: make(self._archives.get()), abandon_on_cancel=True, limiter=self._limit
                )
        except TimeoutError:
            raise HTTPException(503, "the answer takes too long", LATER) from None
        except (sqlite3.OperationalError, NotFinishedError) as error:
            if not is_busy(error):
                raise
            raise HTTPException(503, "a release is being written", LATER) from None


def is_busy(error: BaseException) -> bool:
    """Whether somebody else is writing the archive just now."""
    found = error.__cause__ if isinstance(error, NotFinishedError) else error
    return getattr(found, "sqlite_errorname", "").startswith("SQLITE_BUSY")
