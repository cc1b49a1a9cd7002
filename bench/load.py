"""Load: reads of all documents of the demo in turn, over connections that stay open.

    python -m bench.load [--seconds 10] [--connections 64] [--workers 2] [--folder PROJECT]

The client is wrk (Debian's package of that name), written in C: one in Python would be measured
itself. Beside reads a second, it tells the processor time of the server for one read, since on a
shared machine the wall clock measures the neighbours; an empty application on the same server and
machine is the limit that nothing written in Python can pass. `--seconds 600` shows whether memory
stays flat.
"""

import argparse
import os
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request
from dataclasses import dataclass
from pathlib import Path

from lodpipe import project
from lodpipe.archive import Archive
from lodpipe.publish.site.settings import path_of

EMPTY = "bench.load:empty"
PORT = 8_780
SCRIPT = """
local paths, at = {}, 0
for line in io.lines("%s") do paths[#paths + 1] = line end
request = function()
  at = at %% #paths + 1
  return wrk.format("GET", paths[at], %s)
end
"""
FORMS = {
    "json": {"Accept": "application/ld+json"},
    "json, compressed": {"Accept": "application/ld+json", "Accept-Encoding": "gzip"},
    "json, known": {"Accept": "application/ld+json", "If-None-Match": "*"},
    "turtle": {"Accept": "text/turtle"},
    "page": {"Accept": "text/html"},
}
_UNITS = {"us": 1e-3, "ms": 1.0, "s": 1e3}


async def empty(scope, receive, send):  # type: ignore[no-untyped-def]
    """An application that does nothing: the limit."""
    if scope["type"] == "http":
        head = [(b"content-type", b"text/plain"), (b"content-length", b"5")]
        await send({"type": "http.response.start", "status": 200, "headers": head})
        await send({"type": "http.response.body", "body": b"hello"})


@dataclass(frozen=True)
class Measured:
    """Reads a second, milliseconds of the slowest hundredth, answers that were no 2xx or 3xx."""

    reads: float
    p99: float
    wrong: int
    total: int


def paths_of(folder: Path) -> list[str]:
    """The paths of all documents of the newest release."""
    chosen = project.load(folder)
    with Archive(chosen.archive) as archive:
        latest = archive.latest()
        assert latest
        return [uri.removeprefix(chosen.site.base) for uri in archive.uris(latest.number)]


def processes(parent: int) -> list[int]:
    """A process and those that it started."""
    found = [parent]
    for child in Path(f"/proc/{parent}/task/{parent}/children").read_text().split():
        found += processes(int(child))
    return found


def seconds_of(parent: int) -> float:
    """Processor seconds that a process and its children have taken."""
    ticks = 0
    for process in processes(parent):
        cells = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
        ticks += int(cells[11]) + int(cells[12])
    return ticks / os.sysconf("SC_CLK_TCK")


def memory_of(parent: int) -> float:
    """Resident memory of a process and its children, in MB."""
    pages = sum(int(Path(f"/proc/{one}/statm").read_text().split()[1]) for one in processes(parent))
    return pages * resource.getpagesize() / 1e6


def wrk(url: str, script: Path, connections: int, seconds: float) -> Measured:
    """Read for some seconds."""
    command = ["wrk", "-t1", f"-c{connections}", f"-d{seconds:.0f}s", "--latency", "--timeout=10s"]
    ended = subprocess.run(
        [*command, "-s", str(script), url], capture_output=True, text=True, check=True
    )
    text = ended.stdout
    value, unit = re.search(r"99%\s+([\d.]+)(us|ms|s)", text).groups()  # type: ignore[union-attr]
    wrong = re.search(r"Non-2xx or 3xx responses: (\d+)", text)
    return Measured(
        float(re.search(r"Requests/sec:\s+([\d.]+)", text)[1]),  # type: ignore[index]
        float(value) * _UNITS[unit],
        int(wrong[1]) if wrong else 0,
        int(re.search(r"(\d+) requests in", text)[1]),  # type: ignore[index]
    )


class Server:
    """A server in processes of its own."""

    def __init__(self, command: list[str]) -> None:
        self.process = subprocess.Popen([sys.executable, "-m", *command, "--port", str(PORT)])
        self.url = f"http://127.0.0.1:{PORT}/"
        for _ in range(300):
            try:
                urllib.request.urlopen(self.url + "health", timeout=5).read()
                return
            except OSError:
                time.sleep(0.1)
        raise SystemExit("the server does not start")

    def stop(self) -> None:
        """Stop it, and wait until it has."""
        self.process.terminate()
        self.process.wait()


def measure(
    name: str, command: list[str], headers: dict[str, str], paths: Path, chosen: argparse.Namespace
) -> float:
    """Measure one form and print its line; returns processor microseconds of the server a read."""
    script = paths.with_suffix(".lua")
    table = ", ".join(f'["{key}"] = "{value}"' for key, value in headers.items())
    script.write_text(SCRIPT % (paths, f"{{{table}}}"), encoding="utf-8")
    server = Server(command)
    try:
        wrk(server.url, script, chosen.connections, 2)
        memory, used = memory_of(server.process.pid), seconds_of(server.process.pid)
        found = wrk(server.url, script, chosen.connections, chosen.seconds)
        cost = (seconds_of(server.process.pid) - used) / found.total * 1e6
        grown = memory_of(server.process.pid) - memory
    finally:
        server.stop()
    print(
        f"{name:<18}{found.reads:>9.0f}/s   p99 {found.p99:>6.1f} ms   server {cost:>5.0f} us a read"
        f"   memory {memory:>4.0f} {grown:+.1f} MB"
        + (f"   {found.wrong} wrong answers" if found.wrong else ""),
        flush=True,
    )
    return cost


def main() -> None:
    """Measure each form, and print a line for each."""
    parser = argparse.ArgumentParser(prog="python -m bench.load", description=__doc__)
    parser.add_argument("--seconds", type=float, default=10)
    parser.add_argument("--connections", type=int, default=64)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--folder", type=Path, help="a project that has a release and an export")
    parser.add_argument("--only", choices=FORMS, help="one form alone")
    chosen = parser.parse_args()
    if shutil.which("wrk") is None:
        raise SystemExit("needs wrk: install the system package of that name")
    workers = ["--workers", str(chosen.workers)]
    with tempfile.TemporaryDirectory() as temporary:
        folder = chosen.folder or released(Path(temporary) / "demo")
        paths = Path(temporary) / "paths.txt"
        paths.write_text("".join(f"/{path}\n" for path in paths_of(folder)), encoding="utf-8")
        measure(
            "empty application",
            ["uvicorn", EMPTY, "--no-access-log", "--log-level", "warning", *workers],
            {},
            paths,
            chosen,
        )
        for name, headers in FORMS.items():
            if chosen.only in (None, name):
                if name == "page":
                    only_pages(paths, folder)
                measure(name, ["lodpipe", "serve", str(folder), *workers], headers, paths, chosen)


def only_pages(paths: Path, folder: Path) -> None:
    """Leave the paths of documents that the export has a page of."""
    base = project.load(folder).site.base
    every = paths.read_text(encoding="utf-8").splitlines()
    pages = [
        path for path in every if (folder / "export" / path_of(base, base + path[1:])).is_file()
    ]
    paths.write_text("".join(f"{path}\n" for path in pages), encoding="utf-8")


def released(folder: Path) -> Path:
    """Release the demo in a folder."""
    sample = Path(__file__).parent.parent / "sample"
    shutil.copytree(sample, folder, ignore=shutil.ignore_patterns("archive", "export"))
    subprocess.run(
        [sys.executable, "-m", "lodpipe", "run", str(folder), "--now", "2026-01-31T10:00:00Z"],
        check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    return folder


if __name__ == "__main__":
    main()
