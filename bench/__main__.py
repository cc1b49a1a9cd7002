"""Whole runs over open catalogues: records a second, peak memory, share of each stage.

    LODPIPE_REFERENCE=... python -m bench [--quick] [--engine referee]

Each run is a process of its own, so that its peak memory (ru_maxrss of wait4) is its own. The
catalogues lie in the reference material; nothing is written beside a temporary folder.
"""

import argparse
import json
import os
import platform
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

from bench.projects import Catalogue, catalogues, write_project

LIBRARIES = ("rdflib", "pyshacl", "pyld", "pyoxigraph", "orjson", "lxml")


@dataclass(frozen=True)
class Measured:
    """One run: `seconds` by stage, `peak` memory in MB, `wall` seconds of the whole process."""

    name: str
    records: int
    documents: int
    published: int
    wall: float
    peak: float
    seconds: dict[str, float]
    status: int


def measure(catalogue: Catalogue, most: int | None, engine: str) -> Measured:
    """Run a catalogue, or its first records, in a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        project = Path(folder)
        write_project(project, catalogue, most)
        begun = time.perf_counter()
        with (project / "run.json").open("wb") as out, (project / "talk").open("wb") as talk:
            process = subprocess.Popen(
                [
                    sys.executable,
                    "-m",
                    "lodpipe",
                    "run",
                    str(project),
                    "--json",
                    "--no-export",
                    "--engine",
                    engine,
                    "--now",
                    "2026-01-31T10:00:00Z",
                    "--accept-losses",
                ],
                stdout=out,
                stderr=talk,
            )
            _, status, usage = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(status)
        wall = time.perf_counter() - begun
        if process.returncode not in (0, 1):
            raise SystemExit((project / "talk").read_text())
        run = json.loads((project / "run.json").read_text())
    documents = run["books"]["documents"]
    return Measured(
        catalogue.name,
        sum(run["books"]["records"].values()),
        sum(documents.values()),
        documents["new"],
        wall,
        usage.ru_maxrss / 1024,
        run["seconds"],
        process.returncode,
    )


def show(rows: list[Measured]) -> None:
    """Print one table."""
    print(
        f"{'catalogue':<18}{'records':>8}{'docs':>8}{'publ.':>8}{'s':>8}{'rec/s':>8}{'peak MB':>9}  share of stages"
    )
    for row in rows:
        whole = sum(row.seconds.values())
        shares = "  ".join(
            f"{stage} {seconds / whole:.0%} ({seconds / max(row.records, 1) * 1000:.3f} ms/rec)"
            for stage, seconds in sorted(row.seconds.items(), key=lambda item: -item[1])
        )
        print(
            f"{row.name:<18}{row.records:>8}{row.documents:>8}{row.published:>8}{row.wall:>8.1f}"
            f"{row.records / row.wall:>8.0f}{row.peak:>9.0f}  {shares}"
        )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m bench")
    parser.add_argument("--quick", action="store_true", help="the first 7,000 records only")
    parser.add_argument("--engine", default="compiled", choices=["compiled", "referee"])
    chosen = parser.parse_args()
    print(
        f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, "
        + ", ".join(f"{name} {version(name)}" for name in LIBRARIES)
    )
    rows = []
    for catalogue in catalogues():
        rows.append(measure(catalogue, 7_000, chosen.engine))
        if not chosen.quick:
            rows.append(measure(catalogue, None, chosen.engine))
        show(rows[-2:])
    print()
    show(rows)
    if not chosen.quick:
        for small, large in zip(rows[::2], rows[1::2], strict=True):
            print(
                f"{small.name}: peak memory of all records is {large.peak / small.peak:.2f} times that of 7,000"
            )


if __name__ == "__main__":
    main()
