"""The same run with one worker, with two, and on a Dask cluster of two on this machine.

    LODPIPE_REFERENCE=... python -m bench.parallel [--most 16000]

Wall clock says how much faster; on a machine with other work to do it says little. CPU time of the
process that was started says what stays serial, whatever else runs: workers are processes of
their own and are not in it. All three archives must have the same logical dump.
"""

import argparse
import json
import logging
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from distributed import LocalCluster

from bench.projects import catalogues, write_project
from bench.table import Row, show
from lodpipe.archive import Archive

COMMAND = ("run", "--json", "--no-export", "--accept-losses", "--now", "2026-01-31T10:00:00Z")
WORKERS = 2


@dataclass(frozen=True)
class Timed:
    """One run: seconds on the wall, CPU seconds of the process that was started, and the outcome."""

    records: int
    wall: float
    cpu: float
    dump: str


def timed(most: int | None, *wanted: str) -> Timed:
    """Run the large catalogue, or its first records, in a process of its own."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_project(folder, catalogues()[0], most)
        begun = time.perf_counter()
        with (folder / "run.json").open("wb") as out, (folder / "talk").open("wb") as talk:
            command = [sys.executable, "-m", "lodpipe", *COMMAND, *wanted, name]
            process = subprocess.Popen(command, stdout=out, stderr=talk)
            _, status, usage = os.wait4(process.pid, 0)
        wall = time.perf_counter() - begun
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode not in (0, 1):
            raise SystemExit((folder / "talk").read_text())
        records = json.loads((folder / "run.json").read_text())["books"]["records"]
        with Archive(folder / "archive" / "archive.sqlite") as archive:
            dump = archive.logical_dump()
    return Timed(sum(records.values()), wall, usage.ru_utime + usage.ru_stime, dump)


def rows(most: int | None = None) -> Iterator[Row]:
    """Yield what two workers gain, what stays serial, and whether the outcome is the same.

    Args:
        most: how many records; None for all.
    """
    one = timed(most)
    two = timed(most, "--workers", str(WORKERS))
    with LocalCluster(
        n_workers=WORKERS,
        threads_per_worker=1,
        dashboard_address=None,
        silence_logs=logging.ERROR,
    ) as cluster:
        dask = timed(most, "--scheduler", cluster.scheduler_address)
    yield _row("one worker", one, f"{one.cpu:.1f} s of CPU")
    for name, run in ((f"{WORKERS} workers", two), (f"Dask, {WORKERS} workers", dask)):
        gain = one.wall / run.wall
        yield _row(name, run, f"{gain:.2f} times as fast, {gain / WORKERS:.0%} of what could be")
    serial = min(two.cpu, one.cpu) / one.cpu
    yield Row(
        "    stays serial",
        f"{serial:.0%} of CPU",
        f"so at most {1 / (serial + (1 - serial) / WORKERS):.2f} times with {WORKERS} workers",
    )
    same = one.dump == two.dump == dask.dump
    yield Row("    the same archive", "yes" if same else "NO", "asked: yes")


def _row(name: str, run: Timed, against: str) -> Row:
    speed = f"{run.records / run.wall:,.0f} records/s, {run.wall:.1f} s"
    return Row(f"{name}, {run.records:,} records", speed, against)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--most", type=int)
    show(rows(parser.parse_args().most))


if __name__ == "__main__":
    main()
