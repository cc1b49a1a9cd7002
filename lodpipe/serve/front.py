"""What stands before the application: plain reads of documents, from memory or one query.

Everything else - a query string, another method, an address that is no document's - goes on to
the application, which may give back what it made to be remembered (`KEEP`). What is remembered
holds for one state of the archive: its file, the number that SQLite counts up with every commit of
somebody else (https://www.sqlite.org/pragma.html#pragma_data_version), and the release that is
visible now. When one of them differs all is forgotten.
"""

import gzip
import sqlite3
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any
from urllib.parse import urlsplit

from starlette.types import ASGIApp, Receive, Scope, Send

from lodpipe.archive import Archive, Harvest
from lodpipe.errors import NotFinishedError
from lodpipe.serve.forms import HTML, LINKED_ART
from lodpipe.serve.reading import Answer, Reader, preferred
from lodpipe.serve.threads import Archives

KEEP = "lodpipe.keep"
"""In the scope of a request that goes on: takes the answer that was made for it."""
MOST_BYTES = 64_000_000
"""What one process remembers."""
LONGEST_ACCEPT = 300
"""Characters; nobody asks for documents by a longer header, and each is remembered apart."""
SHORTEST_PACKED = 600
LEVEL = 6
Key = tuple[str, str, bool]
"""Path, Accept header, whether it is compressed."""


@dataclass(frozen=True, slots=True)
class Ready:
    """An answer in the messages of ASGI.

    https://asgi.readthedocs.io/en/latest/specs/www.html#response-start-send-event
    """

    answer: Answer
    start: dict[str, Any]
    known: dict[str, Any]
    body: dict[str, Any]

    @classmethod
    def of(cls, answer: Answer, packed: bool) -> "Ready":
        """Make one; `packed`: the client takes compressed bodies."""
        body, headers = answer.body, {**answer.headers, "Vary": "Accept, Accept-Encoding"}
        if packed and len(body) >= SHORTEST_PACKED:
            body = gzip.compress(body, LEVEL, mtime=0)
            headers["Content-Encoding"] = "gzip"
        raw = [(name.lower().encode(), value.encode("latin-1")) for name, value in headers.items()]
        length = (b"content-length", str(len(body)).encode())
        return cls(
            answer,
            {"type": "http.response.start", "status": 200, "headers": [*raw, length]},
            {"type": "http.response.start", "status": 304, "headers": raw},
            {"type": "http.response.body", "body": body},
        )

    @property
    def size(self) -> int:
        """Bytes that it takes, about."""
        return len(self.body["body"]) + len(self.answer.body) + 2_000


class Memory:
    """The answers that were given last, up to so many bytes."""

    def __init__(self, most: int = MOST_BYTES) -> None:
        self._most, self._size = most, 0
        self._kept: OrderedDict[Key, Ready] = OrderedDict()
        self._lock = threading.Lock()  # answers also come from threads

    def get(self, key: Key) -> Ready | None:
        """Return what is remembered and still so."""
        with self._lock:
            found = self._kept.get(key)
            if found is None or not found.answer.is_fresh():
                return None
            self._kept.move_to_end(key)
            return found

    def put(self, key: Key, ready: Ready) -> None:
        """Remember one, and forget those that were not asked for longest."""
        with self._lock:
            old = self._kept.pop(key, None)
            self._size += ready.size - (old.size if old else 0)
            self._kept[key] = ready
            while self._size > self._most:
                self._size -= self._kept.popitem(last=False)[1].size

    def clear(self) -> None:
        """Forget all."""
        with self._lock:
            self._kept.clear()
            self._size = 0


@dataclass(frozen=True, slots=True)
class State:
    """What answers hold for: file and commits of the archive, the release that is visible.

    `until`: the instant from which the next release is visible; empty for none.
    """

    file: int = -1
    commits: int = -1
    release: int = 0
    since: str = ""
    until: str = ""

    def holds(self, file: int, commits: int, now: str) -> bool:
        """Whether nothing has changed at an instant."""
        same = file == self.file and commits == self.commits
        return same and self.since <= now and (not self.until or now < self.until)


class Front:
    """The application with what stands before it."""

    def __init__(
        self,
        app: ASGIApp,
        reader: Reader,
        clock: Callable[[], str],
    ) -> None:
        self._app, self._reader, self._clock = app, reader, clock
        self._archives = Archives(reader.project.archive, wait=0)
        self._base = reader.project.site.base
        self._below = urlsplit(self._base).path
        self._memory, self._state = Memory(), State()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or let the application do so."""
        if scope["type"] != "http" or not _is_plain(scope):
            await self._app(scope, receive, send)
            return
        asked = {
            name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]
        }
        packed = "gzip" in asked.get("accept-encoding", "")
        key = (scope["raw_path"].decode("latin-1"), asked.get("accept", ""), packed)
        ready = self._ready(key)
        if ready is None:
            scope[KEEP] = partial(self._keep, key, self._state)
            await self._app(scope, receive, send)
        elif ready.answer.is_known(asked):
            await send(ready.known)
            await send({"type": "http.response.body", "body": b""})
        else:
            await send(ready.start)
            await send(ready.body)

    def _ready(self, key: Key) -> Ready | None:
        """Return an answer that is remembered, or the JSON of a document; None for all the rest."""
        path, accept, _ = key
        try:
            archive = self._archives.get()
            release = self._settled(archive).release
            ready = self._memory.get(key)
            if ready or preferred(accept) is not LINKED_ART or not path.startswith(self._below):
                return ready
            document = archive.document(self._base + path.removeprefix(self._below), release)
            answer = document and self._reader.answer(archive, document, accept, release)
        except (sqlite3.OperationalError, NotFinishedError):
            return None  # somebody commits: the application can wait; or it says what is wrong
        return self._keep(key, self._state, answer) if answer else None

    def _keep(self, key: Key, state: State, answer: Answer) -> Ready:
        """Remember an answer that was made in a state, where that is still the state."""
        ready = Ready.of(answer, packed=key[-1])
        # where there is no page yet one may come, and this header then asks for it
        lasting = answer.page is not None or preferred(key[1]) is not HTML
        if lasting and state is self._state and len(key[1]) <= LONGEST_ACCEPT:
            self._memory.put(key, ready)
        return ready

    def _settled(self, archive: Archive) -> State:
        """Return the state of now; forget everything where it is another than that of before.

        While somebody commits the last state holds: what is on its way is not released yet.
        """
        file, now, harvest = self._archives.file, self._clock(), Harvest(archive)
        try:
            commits = harvest.commits()
        except sqlite3.OperationalError:
            commits = self._state.commits
        if not self._state.holds(file, commits, now):
            instants = harvest.instants()
            release = max((n for n, instant in instants.items() if instant <= now), default=0)
            later = [instant for instant in instants.values() if instant > now]
            since = instants.get(release, "")
            self._state = State(file, commits, release, since, min(later, default=""))
            self._memory.clear()
        return self._state


def _is_plain(scope: Scope) -> bool:
    return scope["method"] in ("GET", "HEAD") and not scope["query_string"]
