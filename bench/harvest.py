"""Serving: a whole harvest by a stock client (`bench.load` has the reads of documents).

    python -m bench.harvest [--records 100000] [--page 100] [--workers 2]

An archive of so many small Dublin Core records is made by hand. The server runs in processes of
its own; CPU seconds of server and client are told apart, since on a shared machine the wall clock
measures the neighbours. The parts of the list are as long as a project has them that says nothing.
"""

import argparse
import http.client
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from sickle import Sickle

from lodpipe import archive
from lodpipe.archive import Outgoing, Render, Rendition, Stamp

BASE = "https://collections.example.org/"
DC = (
    '<oai_dc:dc xmlns:oai_dc="http://www.openarchives.org/OAI/2.0/oai_dc/"'
    ' xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:title xml:lang="en">Picture {0}</dc:title>'
    '<dc:creator xml:lang="en">attributed to Mira Dolen</dc:creator><dc:date>1872-02</dc:date>'
    "<dc:identifier>" + BASE + "object/{0}</dc:identifier></oai_dc:dc>"
)
PROJECT = """
[site]
base = "{base}"
name = {{en = "Highland Railway Library"}}
contact = "library@example.org"
[access]
default = "open"
[oai]
page = {page}
"""


def made(folder: Path, records: int, page: int) -> None:
    """Make a project with an archive of so many records."""
    (folder / "evidence").mkdir(parents=True)
    (folder / "lodpipe.toml").write_text(PROJECT.format(base=BASE, page=page), encoding="utf-8")
    path = folder / "archive" / "archive.sqlite"
    instant = "2026-01-31T10:00:00Z"
    rows = (
        Rendition(f"{BASE}object/{number:07}", "oai_dc", DC.format(f"{number:07}").encode())
        for number in range(records)
    )
    going = (Outgoing(row.uri, frozenset(), (row,)) for row in rows)
    booked = archive.plan(path, [], [])
    archive.commit(
        path, [], booked, Stamp(instant, instant, {}, "", "bench", {}), [], [],
        render=Render(("oai_dc",), "bench", lambda opened, release, wanted: going),
    )  # fmt: skip


class Server:
    """A server of a project in processes of its own."""

    def __init__(self, folder: Path, port: int, workers: int) -> None:
        command = [sys.executable, "-m", "lodpipe", "serve", str(folder)]
        self._process = subprocess.Popen([*command, "--port", str(port), "--workers", str(workers)])
        self.port = port
        for _ in range(300):
            try:
                self.read("/health", "")
                return
            except OSError:
                time.sleep(0.1)

    def read(self, path: str, accept: str) -> bytes:
        """Read one address over a connection of its own."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        connection.request("GET", path, headers={"Accept": accept} if accept else {})
        return connection.getresponse().read()

    def stop(self) -> float:
        """Stop it; returns the CPU seconds that it took."""
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        self._process.terminate()
        self._process.wait()
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def harvest(folder: Path, records: int, page: int, workers: int) -> None:
    """Measure one whole harvest by sickle."""
    made(folder, records, page)
    server = Server(folder, 8_791, workers)
    begun, cpu = time.perf_counter(), time.process_time()
    count = sum(
        1
        for _ in Sickle(f"http://127.0.0.1:{server.port}/oai").ListRecords(metadataPrefix="oai_dc")
    )
    wall, own = time.perf_counter() - begun, time.process_time() - cpu
    print(
        f"harvest  {count} records in {wall:.1f} s; CPU: client {own:.1f} s, "
        f"server {server.stop():.1f} s"
    )


def main() -> None:
    """Measure, and print a line for each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--records", type=int, default=100_000)
    parser.add_argument("--page", type=int, default=100)
    parser.add_argument("--workers", type=int, default=2)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        harvest(Path(folder) / "many", chosen.records, chosen.page, chosen.workers)


if __name__ == "__main__":
    main()
