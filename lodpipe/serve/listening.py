"""Listening: uvicorn with limits, in one process or several."""

import os
from asyncio import Transport
from pathlib import Path
from typing import Any

import uvicorn
from starlette.types import ASGIApp
from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

from lodpipe import project
from lodpipe.serve.app import MOST_BODY, Settings, create
from lodpipe.terms import concepts

PROJECT = "LODPIPE_SERVED_PROJECT"
"""Where a worker process finds the folder of its project."""
MOST_AT_ONCE = 512
HEAD_BYTES = 16_000
REQUEST_SECONDS = 10.0
"""In which a request has to come whole: who sends a byte now and then keeps no place."""
GRACE = 20
"""Seconds that answers which have begun may still take when the server is stopped."""


class Bounded(HttpToolsProtocol):
    """A connection on which no request may take long to come, or have a long head."""

    _timer: Any = None
    _head = 0
    _whole = True

    def connection_made(self, transport: Transport) -> None:  # type: ignore[override]
        """Begin to wait for a request."""
        super().connection_made(transport)
        self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no longer."""
        self._end_wait()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take what came; where the request is not whole then, wait for the rest."""
        if self._head + len(data) > HEAD_BYTES + MOST_BODY:
            self._refuse(b"431 Request Header Fields Too Large")
            return
        super().data_received(data)
        if self._whole:
            self._end_wait()
        else:
            self._head += len(data)
            if self._timer is None:
                self._wait()

    def on_message_begin(self) -> None:
        """Note that a request has begun."""
        self._whole = False
        super().on_message_begin()

    def on_headers_complete(self) -> None:
        """Hold the head against its limit."""
        size = len(self.url) + sum(len(name) + len(value) + 4 for name, value in self.headers)
        if size > HEAD_BYTES:
            self._refuse(b"431 Request Header Fields Too Large")
            return
        super().on_headers_complete()

    def on_message_complete(self) -> None:
        """Note that a request is whole."""
        self._whole, self._head = True, 0
        if not self.transport.is_closing():
            super().on_message_complete()

    def on_body(self, body: bytes) -> None:
        """Take a part of the body, unless the head was refused."""
        if not self.transport.is_closing():
            super().on_body(body)

    def _wait(self) -> None:
        self._timer = self.loop.call_later(REQUEST_SECONDS, self._refuse, b"408 Request Timeout")

    def _end_wait(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _refuse(self, status: bytes) -> None:
        self._end_wait()
        if not self.transport.is_closing():
            self.transport.write(
                b"HTTP/1.1 " + status + b"\r\ncontent-length: 0\r\nconnection: close\r\n\r\n"
            )
            self.transport.close()


LIMITS: dict[str, Any] = {
    "http": Bounded,
    "limit_concurrency": MOST_AT_ONCE,
    "timeout_keep_alive": 5,
    "timeout_graceful_shutdown": GRACE,
    "server_header": False,
    "access_log": False,
    "log_level": "warning",
}


def listen(folder: Path, *, host: str, port: int, workers: int) -> None:
    """Serve a project until it is told to stop.

    Raises:
        UsageError: a project that cannot be served.
    """
    os.environ[PROJECT] = str(folder.resolve())
    application()  # what is wrong with the project shows before anything listens
    uvicorn.run(
        "lodpipe.serve.listening:application",
        factory=True,
        host=host,
        port=port,
        workers=workers,
        **LIMITS,
    )


def application() -> ASGIApp:
    """Return the application of the project that the environment names: each worker makes it."""
    chosen = project.load(Path(os.environ[PROJECT]))
    own = chosen.folder / "mappings" / "vocab" / "concepts.csv"
    return create(Settings(chosen, concepts(*([own] if own.is_file() else []))))
