"""A repository on this machine for tests of harvesters: OAI-PMH over plain HTTP, with faults."""

from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from urllib.parse import parse_qsl, urlsplit

from harvesting import BASE

from lodpipe.archive import Archive, Harvest
from lodpipe.publish.harvest import oai

LATER = "2026-06-01T00:00:00Z"


class Repository:
    """What the server answers, and what it was asked.

    `faults` are answers to give first: a status, or bytes in place of the answer.
    """

    def __init__(self, path: Path, page: int) -> None:
        self.path, self.page, self.now = path, page, LATER
        self.asked: list[str] = []
        self.faults: list[int | bytes] = []
        self.url = ""

    def answer(self, query: str) -> bytes:
        """The answer to a query string."""
        about = oai.Repository(
            "Library", BASE, self.url, "a@library.example", ("oai_dc", "edm"), {"album": "Album"},
            self.page,
        )  # fmt: skip
        with Archive(self.path) as archive:
            return oai.answer(parse_qsl(query), Harvest(archive), about, self.now)


@contextmanager
def serving(path: Path, page: int = 3) -> Iterator[Repository]:
    """Serve an archive on a free port of this machine."""
    repository = Repository(path, page)

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            query = urlsplit(self.path).query
            repository.asked.append(query)
            fault = repository.faults.pop(0) if repository.faults else 200
            body = fault if isinstance(fault, bytes) else repository.answer(query)
            self.send_response(fault if isinstance(fault, int) else 200)
            self.send_header("Content-Type", "text/xml; charset=utf-8")
            self.send_header("Content-Length", str(len(body)))
            if fault == 503:
                self.send_header("Retry-After", "7")
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    repository.url = f"http://127.0.0.1:{server.server_port}/oai"
    thread = Thread(target=server.serve_forever, args=(0.01,))
    thread.start()
    try:
        yield repository
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
