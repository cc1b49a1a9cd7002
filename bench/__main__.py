"""The table of measurements: whole runs over open catalogues, and what they are held against.

    LODPIPE_REFERENCE=... python -m bench [--quick] [--engine referee]

Records a second (wall clock), peak memory and the share of each stage; the straightforward stack
and the physical limit; runs after a change; workers; checking and weighing. Each whole run is a
process of its own, so that its peak memory (ru_maxrss of wait4) is its own. The catalogues lie in
the reference material; nothing is written beside a temporary folder.
"""

import argparse
import json
import os
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

from bench import check, incremental, parallel, stack, weigh
from bench.projects import Catalogue, catalogues, write_project
from bench.table import Row, show

FEW = 7_000
"""Records of the smaller run of each catalogue."""
LEAST_SHARE = 0.01
"""Share of a run from which on a stage has a row."""
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


def whole_runs(engine: str, quick: bool, ours: dict[str, float]) -> Iterator[Row]:
    """Yield the rows of whole runs over the first records and over all, shares of stages below.

    Args:
        ours: takes milliseconds a record of the largest run, by catalogue.
    """
    records, wall = 0, 0.0
    for catalogue in catalogues():
        sizes = [measure(catalogue, FEW, engine)]
        if not quick:
            sizes.append(measure(catalogue, None, engine))
        for row in sizes:
            ours[row.name] = row.wall / row.records * 1000
            yield Row(
                f"{row.name}, {row.records:,} records",
                f"{row.records / row.wall:,.0f} records/s, {row.peak:.0f} MB",
                f"{row.wall:.1f} s; {row.published:,} of {row.documents:,} documents published",
            )
            whole = sum(row.seconds.values())
            for stage, seconds in sorted(row.seconds.items(), key=lambda item: -item[1]):
                if seconds / whole >= LEAST_SHARE:
                    each = seconds / row.records * 1000
                    yield Row(f"    {stage}", f"{seconds / whole:.0%}", f"{each:.3f} ms a record")
        records, wall = records + sizes[-1].records, wall + sizes[-1].wall
        if not quick:
            ratio = sizes[1].peak / sizes[0].peak
            yield Row(
                f"{catalogue.name}, peak of all to {FEW:,}", f"{ratio:.2f} times", "asked: 1.2"
            )
    yield Row("all catalogues together", f"{records / wall:,.0f} records/s", "asked: 1,400")


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
    ours: dict[str, float] = {}
    show(whole_runs(chosen.engine, chosen.quick, ours))
    show(stack.rows(ours))
    most = FEW if chosen.quick else None
    show(incremental.rows(most))
    show(parallel.rows(most))
    show(check.rows(1000))
    show(weigh.rows(10_000 if chosen.quick else 100_000))


if __name__ == "__main__":
    main()
