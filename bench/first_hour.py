"""The first hour of a new user: `start` and `run` on files that nobody prepared, nothing edited.

    LODPIPE_REFERENCE=... python -m bench.first_hour

Each command is a process of its own, as a user starts it; seconds are those of a clock on the wall,
CPU seconds those of the process (ru_utime + ru_stime of wait4). Files: github.com/cmoa/collection
and github.com/tategallery/collection (CC0), and MARCXML of the tests of ruby-marc (MIT).
"""

import json
import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from bench.projects import reference

FILES = (
    "cmoa/objects-derived.csv",
    "tate/objects.jsonl",
    "edge/marc21/rb__batch.xml",
)


@dataclass(frozen=True)
class Tried:
    """What a file came to: `seconds` and `cpu` by command, what `run` says of it."""

    file: str
    records: int
    documents: int
    release: int
    status: int
    findings: dict[str, int]
    seconds: dict[str, float]
    cpu: dict[str, float]


def attempt(source: Path, folder: Path) -> Tried:
    """Start a project from a file and run it, as it is."""
    seconds, cpu, told = {}, {}, {}
    for name, words in (
        ("start", ["start", str(folder), "--from", str(source)]),
        ("run", ["run", str(folder), "--json"]),
    ):
        command = [sys.executable, "-m", "lodpipe", *words]
        begun = time.perf_counter()
        with tempfile.TemporaryFile() as out:
            process = subprocess.Popen(command, stdout=out, stderr=subprocess.DEVNULL)
            _, status, used = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(status)
            out.seek(0)
            told[name] = process.returncode, out.read()
        seconds[name] = time.perf_counter() - begun
        cpu[name] = used.ru_utime + used.ru_stime
    status, text = told["run"]
    ran = json.loads(text) if text else {}
    books = ran.get("books", {"records": {}, "documents": {"new": 0}})
    return Tried(
        source.name,
        sum(books["records"].values()),
        books["documents"]["new"],
        ran.get("release") or 0,
        told["start"][0] or status,
        {f"{one['severity']} {one['code']}": one["count"] for one in ran.get("findings", ())},
        seconds,
        cpu,
    )


def main() -> None:
    """Print one row a file, and under it what the run found."""
    print(f"{'file':<24}{'records':>9}{'new':>9}{'start s':>9}{'run s':>9}{'CPU s':>9}  status")
    for file in FILES:
        with tempfile.TemporaryDirectory() as folder:
            done = attempt(reference() / "data" / file, Path(folder) / "project")
        print(
            f"{done.file:<24}{done.records:>9,}{done.documents:>9,}{done.seconds['start']:>9.1f}"
            f"{done.seconds['run']:>9.1f}{sum(done.cpu.values()):>9.1f}  {done.status}"
        )
        for kind, count in done.findings.items():
            print(f"    {count:>7,} x {kind}")


if __name__ == "__main__":
    main()
