"""A run after a run: nothing changed, one row changed, one term changed that many records use.

    LODPIPE_REFERENCE=... python -m bench.incremental [--most 20000]

One project over both open catalogues, 97,460 records. Each run is a process of its own without an
export; seconds are those of its CPU, so that whatever else the machine does counts little. Beside
them stands what they are held to: the time to read and hash the sources, in a process that does
nothing else.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from bench.projects import PROJECT, SOURCE, catalogues, reference, unpacked
from bench.table import Row, show

NOW = "2026-01-31T10:00:00Z"
TABLE, TERM = "nationalities", "American"
"""A table of terms, and the term of it that is given another concept."""
OTHER = "nationality/british"
HASH = """
import hashlib, pathlib, sys
for name in sys.argv[1:]:
    with open(name, "rb") as handle:
        hashlib.file_digest(handle, "sha256")
"""


@dataclass(frozen=True)
class Again:
    """One run: what was done before it, CPU seconds in all and by stage, documents that changed."""

    name: str
    seconds: float
    changed: int
    stages: dict[str, float]


def write_project(folder: Path, most: int | None) -> None:
    """Write one project over both catalogues, their files unpacked, or the first lines of each."""
    text = PROJECT
    for catalogue in catalogues():
        for file, mapping in catalogue.sources:
            name = Path(file).name.removesuffix(".gz")
            unpacked(reference() / "data" / file, folder / name, most)
            text += SOURCE.format(file=name, mapping=mapping, dated=catalogue.dated)
    (folder / "lodpipe.toml").write_text(text.format(), encoding="utf-8")


def measure(most: int | None = None) -> list[Again]:
    """Return one row a run, after a row for reading and hashing the sources alone."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_project(folder, most)
        sources = [str(path) for path in sorted(folder.glob("*.jsonl"))]
        return [
            Again("read and hash the sources", _cpu([sys.executable, "-c", HASH, *sources]), 0, {}),
            _run(folder, "first run"),
            _run(folder, "nothing changed"),
            _run(folder, "one row", _row),
            _run(folder, "nothing changed after a release"),
            _run(folder, "one artist", _artist),
            _run(folder, f"one term of {TABLE}", _term),
        ]


def _cpu(command: list[str], out: Path | None = None) -> float:
    """Run a command; return the CPU seconds that it took."""
    with (out or Path(os.devnull)).open("wb") as target:
        process = subprocess.Popen(command, stdout=target, stderr=subprocess.DEVNULL)
        _, status, usage = os.wait4(process.pid, 0)
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        raise SystemExit(f"{' '.join(command[:4])} ended with {status}")
    return usage.ru_utime + usage.ru_stime


def _run(folder: Path, name: str, edit: Callable[[Path], None] | None = None) -> Again:
    if edit is not None:
        edit(folder)
    out = folder / "run.out"
    command = ["run", str(folder), "--json", "--no-export", "--accept-losses", "--now", NOW]
    seconds = _cpu([sys.executable, "-m", "lodpipe", *command], out)
    told = json.loads(out.read_text("utf-8"))
    out.unlink()
    documents = told["books"]["documents"]
    return Again(name, seconds, documents["new"] + documents["changed"], told["seconds"])


def _row(folder: Path) -> None:
    """Lengthen one title in the middle of the largest source."""
    _insert(folder / "tate.jsonl", b'"title": "')


def _artist(folder: Path) -> None:
    """Lengthen the name of one artist."""
    _insert(folder / "artists.jsonl", b'"fc": "')


def _insert(path: Path, before: bytes) -> None:
    body = path.read_bytes()
    at = body.index(before, len(body) // 2) + len(before)
    path.write_bytes(body[:at] + b"x" + body[at:])


def _term(folder: Path) -> None:
    """Give one term another concept, in a table of the project's own."""
    path = folder / "mappings" / "vocab" / f"{TABLE}.csv"
    path.parent.mkdir(parents=True)
    path.write_text(f"term (any case),concept,source\n{TERM},{OTHER},own\n", encoding="utf-8")


def rows(most: int | None = None) -> Iterator[Row]:
    """Yield the rows of the table, the longest stages beside each run."""
    for run in measure(most):
        longest = sorted(run.stages.items(), key=lambda item: -item[1])[:4]
        stages = ", ".join(f"{name} {seconds:.1f}" for name, seconds in longest)
        changed = f"; {run.changed:,} documents changed" if run.stages else ""
        yield Row(run.name, f"{run.seconds:.2f} s CPU{changed}", stages)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m bench.incremental")
    parser.add_argument("--most", type=int, help="only the first records of each source")
    show(rows(parser.parse_args().most))


if __name__ == "__main__":
    main()
