"""Memory by stage: the same catalogue whole and its first records, each in a process of its own.

    LODPIPE_REFERENCE=... python -m bench.memory [--catalogue tate.jsonl.gz] [--most 7000]

Memory of a run should follow the batch, not the catalogue. Of each stage the table shows what the
process holds at its end (VmRSS) and the most that it has held until then (VmHWM), in MB; see
https://man7.org/linux/man-pages/man5/proc_pid_status.5.html.
"""

import argparse
import json
import subprocess
import sys
import tempfile
from pathlib import Path

from bench.projects import Catalogue, catalogues, write_project

NOW = "2026-01-31T10:00:00Z"
KB = 1000 / 1024
"""The kernel counts in units of 1,024 bytes; MB here are 1,000,000 bytes."""


class Scale:
    """A watcher that weighs the process at the end of each stage."""

    def __init__(self) -> None:
        self.stages: dict[str, tuple[float, float]] = {}
        self._name = ""

    def start(self, stage: str, total: int | None) -> None:
        """Remember which stage it is."""
        self._name = stage

    def advance(self, steps: int) -> None:
        """Say nothing."""

    def end(self) -> None:
        """Weigh."""
        self.stages[self._name] = _held()


def _held() -> tuple[float, float]:
    status = Path("/proc/self/status").read_text(encoding="ascii")
    values = dict(line.split(":", 1) for line in status.splitlines())
    now, most = (int(values[key].split()[0]) / KB / 1000 for key in ("VmRSS", "VmHWM"))
    return now, most


def weigh(catalogue: Catalogue, most: int | None) -> dict[str, tuple[float, float]]:
    """Run a catalogue, or its first records, in a process of its own; return MB by stage."""
    with tempfile.TemporaryDirectory() as folder:
        write_project(Path(folder), catalogue, most)
        process = subprocess.run(
            [sys.executable, "-m", "bench.memory", "--inside", folder],
            check=True,
            stdout=subprocess.PIPE,
        )
        return {name: tuple(held) for name, held in json.loads(process.stdout).items()}


def _inside(folder: Path) -> None:
    from lodpipe import pipeline, project

    scale = Scale()
    options = pipeline.Options(now=NOW, accept_losses=True, export=False)
    pipeline.run(project.load(folder), options, scale)
    json.dump(scale.stages, sys.stdout)


def main() -> None:
    """Print one line a stage."""
    known = {catalogue.name: catalogue for catalogue in catalogues()}
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--catalogue", choices=sorted(known), default="tate.jsonl.gz")
    parser.add_argument("--most", type=int, default=7000)
    parser.add_argument("--inside", type=Path, help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.inside:
        _inside(chosen.inside)
        return
    few, whole = (weigh(known[chosen.catalogue], most) for most in (chosen.most, None))
    print(f"{'':30}{f'first {chosen.most}':>16}{'whole':>16}")
    print(f"{'stage':30}{'at end':>8}{'most':>8}{'at end':>8}{'most':>8}")
    for (name, small), large in zip(few.items(), whole.values(), strict=True):
        print(f"{name:30}" + "".join(f"{value:8.0f}" for value in (*small, *large)))
    ratio = max(most for _, most in whole.values()) / max(most for _, most in few.values())
    print(f"\npeak: {ratio:.2f} times as much")


if __name__ == "__main__":
    main()
