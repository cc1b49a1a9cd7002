"""Two stores of triples for tests, as other people wrote them.

`oxigraph` puts pyoxigraph behind a small server that speaks the Graph Store Protocol
(https://www.w3.org/TR/sparql11-http-rdf-update/) and answers queries. `virtuoso` starts Debian's
package virtuoso-opensource-7-bin in a folder and on ports of its own; where the program is
missing, tests skip and say so, and fail where LODPIPE_VIRTUOSO_REQUIRED is set.
"""

import os
import shutil
import socket
import subprocess
import time
from base64 import b64encode
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from urllib.parse import parse_qs, urlsplit

import pyoxigraph
import pytest
import requests

RESULTS = "application/sparql-results+json"
INI = """
[Database]
DatabaseFile = virtuoso.db
ErrorLogFile = virtuoso.log
LockFile = virtuoso.lck
TransactionFile = virtuoso.trx
xa_persistent_file = virtuoso.pxa
[TempDatabase]
DatabaseFile = virtuoso-temp.db
TransactionFile = virtuoso-temp.trx
[Parameters]
ServerPort = 127.0.0.1:{sql}
NumberOfBuffers = 10000
MaxDirtyBuffers = 6000
[HTTPServer]
ServerPort = 127.0.0.1:{http}
ServerRoot = .
ServerThreads = 4
"""


@dataclass
class Running:
    """A store that runs: its addresses, and for ours what it was asked and faults to give first."""

    url: str
    query: str
    asked: list[str] = field(default_factory=list)
    faults: list[int] = field(default_factory=list)
    user: str = ""
    forget: bool = False  # answers as if it had stored, and has not
    store: pyoxigraph.Store = field(default_factory=pyoxigraph.Store)


@contextmanager
def oxigraph(base: str = "") -> Iterator[Running]:
    """Run a store on a free port; with a base, graphs are identified directly."""
    running = Running("", "")

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_PUT(self) -> None:
            self._answer(self._body())

        def do_DELETE(self) -> None:
            self._answer(b"")

        def do_POST(self) -> None:
            body = self._body()
            if self._refused():
                return
            (query,) = parse_qs(body.decode())["query"]
            found = running.store.query(query)
            assert isinstance(found, pyoxigraph.QuerySolutions)
            told = found.serialize(format=pyoxigraph.QueryResultsFormat.JSON)
            self._end(200, told or b"", RESULTS)

        def _answer(self, body: bytes) -> None:
            address = urlsplit(self.path)
            iri = base + address.path[1:] if base else parse_qs(address.query)["graph"][0]
            running.asked.append(f"{self.command} {iri}")
            if self._refused():
                return
            graph = pyoxigraph.NamedNode(iri)
            known = running.store.contains_named_graph(graph)
            if self.command == "DELETE" and not known:
                self._end(404)
                return
            if not running.forget:
                running.store.remove_graph(graph)
                if self.command == "PUT":
                    assert self.headers["Content-Type"] == "application/n-triples"
                    running.store.load(body, format=pyoxigraph.RdfFormat.N_TRIPLES, to_graph=graph)
            self._end(204 if known else 201)

        def _refused(self) -> bool:
            wanted = "Basic " + b64encode(running.user.encode()).decode()
            if running.user and self.headers.get("Authorization") != wanted:
                self._end(401)
            elif running.faults:
                self._end(running.faults.pop(0), b"<p>no\n more room</p>")
            else:
                return False
            return True

        def _body(self) -> bytes:
            return self.rfile.read(int(self.headers["Content-Length"]))

        def _end(self, status: int, body: bytes = b"", kind: str = "text/html") -> None:
            self.send_response(status)
            self.send_header("Content-Type", kind)
            if status == 401:
                self.send_header("WWW-Authenticate", 'Basic realm="store"')
            if status in (301, 302):
                self.send_header("Location", "https://elsewhere.example.org/")
            if status != 204:
                self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True  # connections stay open
    running.url = running.query = f"http://127.0.0.1:{server.server_port}/"
    thread = Thread(target=server.serve_forever, args=(0.01,))
    thread.start()
    try:
        yield running
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


@contextmanager
def virtuoso(folder: Path) -> Iterator[Running]:
    """Run Virtuoso with an empty database in a folder; its only user is `dba`, password `dba`."""
    program = shutil.which("virtuoso-t")
    if program is None:
        reason = "needs Virtuoso: install the system package virtuoso-opensource-7-bin"
        if os.environ.get("LODPIPE_VIRTUOSO_REQUIRED"):
            pytest.fail(reason)
        pytest.skip(reason)
    sql, http = free_ports(2)
    (folder / "virtuoso.ini").write_text(INI.format(sql=sql, http=http), encoding="utf-8")
    process = subprocess.Popen(
        [program, "+foreground", "+configfile", "virtuoso.ini"],
        cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        url = f"http://127.0.0.1:{http}"
        _wait_for(f"{url}/sparql?query=ASK%7B%7D", process)
        yield Running(f"{url}/sparql-graph-crud-auth", f"{url}/sparql")
    finally:
        process.kill()  # nothing of its database is looked at again
        process.wait()


def free_ports(count: int) -> list[int]:
    held = [socket.socket() for _ in range(count)]
    for one in held:
        one.bind(("127.0.0.1", 0))
    ports = [one.getsockname()[1] for one in held]
    for one in held:
        one.close()
    return ports


def _wait_for(url: str, process: "subprocess.Popen[bytes]") -> None:
    for _ in range(600):
        try:
            if requests.get(url, timeout=5).ok:
                return
        except requests.ConnectionError:
            pass
        if process.poll() is not None:
            break
        time.sleep(0.1)
    raise AssertionError("the store does not start")
