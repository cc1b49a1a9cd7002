"""Runs that are killed, and runs that meet a full disk: what is left, and whether the next one goes on.

    python -m bench.kills [--kills 200] [--disks 50] [--random 1866]

A project stands at its first release, and every row of its catalogue has changed since. A run of
it, in a process of its own, gets SIGKILL at a random moment of a random stage; or it works on a
small tmpfs that fills up (mounting needs root). Then three things are looked at:

- archive: every page sound, and its logical dump that of the first release or of the second;
- export: every file that has its name holds the bytes of the first release or of the second;
- the next run: as many records, the same archive, every exported byte as without the disturbance.

One kill in four hits the first run of a project instead, where there is no archive yet.
"""

import argparse
import csv
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from lodpipe import pipeline, project
from lodpipe.archive import Archive
from lodpipe.errors import LodpipeError
from lodpipe.pipeline.progress import Silent

ROOT = Path(__file__).resolve().parent.parent
NOW = "2026-01-31T10:00:00Z"
STAGES = (
    "read and map",
    "unite",
    "claims, access, layout",
    "weigh",
    "fill, merge, check",
    "commit",
    "export",
)
OUTCOMES = ("first release", "second release")
BLOCK = 4096
ROOM = 64 << 20
"""Bytes that are enough for any run of a project that is tried here."""


class NotMountedError(Exception):
    """A tmpfs cannot be mounted here: that needs root, and a system that has it."""


@dataclass
class State:
    """What an undisturbed run leaves: exported bytes, logical dump of the archive, records."""

    exported: dict[str, bytes]
    dump: str
    records: int
    seconds: dict[str, float]


@dataclass
class Tried:
    """One disturbance: in which stage, what was broken by it, and what it left in the archive."""

    stage: str
    left: str
    broken_archive: str = ""
    half_files: tuple[str, ...] = ()
    lost_records: int = 0
    differing: tuple[str, ...] = ()
    other: str = ""

    @property
    def harmless(self) -> bool:
        """Whether nothing at all was broken, lost or different."""
        return not (
            self.broken_archive
            or self.half_files
            or self.lost_records
            or self.differing
            or self.other
        )


@dataclass
class Trial:
    """A project before its first run, after it, and with a changed catalogue; and both releases."""

    folder: Path
    change: Callable[[Path], None]
    states: list[State] = field(default_factory=list)

    def prepare(self, make: Callable[[Path], None]) -> None:
        """Make the project and both of its releases, undisturbed."""
        new, first, second = (self.folder / name for name in ("new", "first", "second"))
        make(new)
        shutil.copytree(new, first)
        self.states.append(run(first))
        self.change(first)
        shutil.copytree(first, second)
        self.states.append(run(second))

    def copy(self, name: str, where: Path) -> Path:
        """Return a fresh copy of the project: `new` or `first`."""
        shutil.rmtree(where, ignore_errors=True)
        return Path(shutil.copytree(self.folder / name, where))


def run(folder: Path) -> State:
    """Run a project in this process, and return what it leaves."""
    options = pipeline.Options(now=NOW, accept_losses=True)
    result = pipeline.run(project.load(folder), options, Silent())
    seconds: Counter[str] = Counter()
    for stage, taken in result.seconds.items():
        seconds[stage_of(stage)] += taken
    with Archive(folder / "archive" / "archive.sqlite") as archive:
        dump = archive.logical_dump()
    return State(exported(folder), dump, sum(result.books.records.values()), dict(seconds))


def stage_of(name: str) -> str:
    """Return the stage in the table: pass 1 has one for each source."""
    return name if name in STAGES else STAGES[0]


def exported(folder: Path) -> dict[str, bytes]:
    """Return what has its name in the export folder; unfinished files do not have it yet."""
    root = folder / "export"
    return {
        path.relative_to(root).as_posix(): path.read_bytes()
        for path in sorted(root.rglob("*"))
        if path.is_file() and path.suffix != ".part"
    }


class Telling(Silent):
    """A watcher that writes the name of each stage to stdout as it begins."""

    def start(self, stage: str, total: int | None) -> None:
        """Tell it."""
        print(stage_of(stage), flush=True)


def child(folder: str) -> None:
    """Run a project and tell its stages: what is killed."""
    pipeline.run(
        project.load(Path(folder)), pipeline.Options(now=NOW, accept_losses=True), Telling()
    )


def kill(folder: Path, stage: str, after: float) -> str:
    """Run a project in a process of its own and kill it so many seconds into a stage.

    Returns:
        The stage that it was in by then; empty when it had ended.
    """
    command = [
        sys.executable,
        "-c",
        "import sys; from bench.kills import child; child(sys.argv[1])",
        str(folder),
    ]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT
    ) as process:
        assert process.stdout is not None and process.stderr is not None
        last = ""
        for line in process.stdout:
            last = line.strip()
            if last == stage:
                time.sleep(after)
                break
        ended = process.poll() is not None
        process.send_signal(signal.SIGKILL)
        for line in process.stdout:
            last = line.strip()
        if process.wait() not in (0, -signal.SIGKILL):
            raise SystemExit(process.stderr.read())
    return "" if ended else last


def look(trial: Trial, folder: Path, stage: str, *, first: bool) -> Tried:
    """Look at what a disturbed run left, then run again and compare with an undisturbed run.

    Args:
        first: whether it was the first run of the project.
    """
    states = trial.states[:1] if first else trial.states
    tried = Tried(stage, "nothing")
    archive = folder / "archive" / "archive.sqlite"
    if archive.is_file():
        try:
            with Archive(archive) as opened:
                opened.verify()
                dump, empty = opened.logical_dump(), opened.latest() is None
            dumps = [state.dump for state in states]
            tried.left = (
                "nothing" if empty else OUTCOMES[dumps.index(dump)] if dump in dumps else "?"
            )
            tried.broken_archive = "neither release" if tried.left == "?" else ""
        except LodpipeError as error:
            tried.broken_archive = str(error)
    elif not first:
        tried.broken_archive = "it is gone"
    tried.half_files = tuple(
        name for name, body in exported(folder).items()
        if not any(state.exported.get(name) == body for state in states)
    )  # fmt: skip
    try:
        again = run(folder)
    except (LodpipeError, OSError) as error:
        tried.other = str(error)
        return tried
    wanted = states[-1]
    tried.lost_records = wanted.records - again.records
    tried.differing = tuple(
        name for name in sorted(wanted.exported.keys() | again.exported.keys())
        if wanted.exported.get(name) != again.exported.get(name)
    )  # fmt: skip
    tried.other = "" if again.dump == wanted.dump else "another archive"
    return tried


def kills(trial: Trial, count: int, chance: random.Random, where: Path) -> Iterator[Tried]:
    """Kill so many runs, each at a random moment of a random stage."""
    done = 0
    while done < count:
        first = done % 4 == 3
        folder = trial.copy("new" if first else "first", where / "killed")
        stage = chance.choice(STAGES)
        seconds = trial.states[0 if first else 1].seconds.get(stage, 0.0)
        hit = kill(folder, stage, chance.random() * seconds)
        if hit:
            done += 1
            yield look(trial, folder, hit, first=first)


def disks(trial: Trial, count: int, chance: random.Random, where: Path) -> Iterator[Tried]:
    """Run on so many disks that are full before the run has ended.

    Raises:
        NotMountedError: no tmpfs can be mounted here.
    """
    done, most = 0, ROOM // 4
    while done < count:
        with small_disk(where / "disk") as disk:
            folder = trial.copy("first", disk / "project")
            full = shutil.disk_usage(disk).used
            extra = chance.randrange(0, most, BLOCK)
            resize(disk, full + extra)
            command = [
                sys.executable,
                "-m",
                "lodpipe",
                "run",
                str(folder),
                "--now",
                NOW,
                "--accept-losses",
            ]
            run_ = subprocess.run(command, capture_output=True, text=True, cwd=ROOT)
            resize(disk, ROOM)
            if run_.returncode in (0, 1):
                most = max(extra, BLOCK)  # that was room enough
                continue
            done += 1
            tried = look(trial, folder, "disk full", first=False)
            if run_.returncode != 4 or "Traceback" in run_.stderr:
                tried.other = run_.stderr
            yield tried


@contextmanager
def small_disk(where: Path) -> Iterator[Path]:
    """Mount a tmpfs for the length of a block.

    Raises:
        NotMountedError: it cannot be mounted.
    """
    where.mkdir(exist_ok=True)
    command = ["mount", "-t", "tmpfs", "-o", f"size={ROOM}", "tmpfs", str(where)]
    if (
        os.geteuid()
        or not shutil.which("mount")
        or subprocess.run(command, capture_output=True).returncode
    ):
        raise NotMountedError("mounting a tmpfs needs root")
    try:
        yield where
    finally:
        subprocess.run(
            ["umount", "-l", str(where)], check=True
        )  # the picture library keeps files open


def resize(disk: Path, size: int) -> None:
    """Give a mounted tmpfs another size, or forbid writing to it with 0."""
    option = f"remount,size={size}" if size else "remount,ro"
    subprocess.run(["mount", "-o", option, str(disk)], check=True, capture_output=True)


def demo(folder: Path) -> None:
    """Make a copy of the demo project."""
    shutil.copytree(
        ROOT / "sample", folder, ignore=shutil.ignore_patterns("archive", "export", "*.py")
    )


def retitle(folder: Path, file: str = "catalogue/items.csv") -> None:
    """Change the title of every row of a table."""
    path = folder / file
    with path.open(encoding="utf-8", newline="") as text:
        header, *rows = csv.reader(text)
    column = header.index("Title")
    for row in rows:
        row[column] += " (recto)"
    with path.open("w", encoding="utf-8", newline="") as text:
        csv.writer(text, lineterminator="\n").writerows([header, *rows])


def table(tried: list[Tried]) -> str:
    """Return a line a stage: disturbances, what they left in the archive, and what broke."""
    lines = [
        f"{'stage':<24}{'runs':>6}{'left: none':>12}{'first':>7}{'second':>8}"
        f"{'broken':>8}{'half files':>12}{'lost':>6}{'differ':>8}{'other':>7}"
    ]
    stages = [*STAGES, "disk full"]
    for name in [*(name for name in stages if any(one.stage == name for one in tried)), "all"]:
        of = [one for one in tried if name in (one.stage, "all")]
        left = Counter(one.left for one in of)
        lines.append(
            f"{name:<24}{len(of):>6}{left['nothing']:>12}{left[OUTCOMES[0]]:>7}{left[OUTCOMES[1]]:>8}"
            f"{sum(bool(one.broken_archive) for one in of):>8}{sum(len(one.half_files) for one in of):>12}"
            f"{sum(one.lost_records for one in of):>6}{sum(bool(one.differing) for one in of):>8}"
            f"{sum(bool(one.other) for one in of):>7}"
        )
    return "\n".join(lines)


def main() -> None:
    """Disturb, look, print; exit status 1 if anything broke."""
    parser = argparse.ArgumentParser(prog="python -m bench.kills")
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--disks", type=int, default=50)
    parser.add_argument("--random", type=int, default=1866, help="where the chance begins")
    chosen = parser.parse_args()
    chance = random.Random(chosen.random)
    tried: list[Tried] = []
    with tempfile.TemporaryDirectory() as temporary:
        where = Path(temporary)
        trial = Trial(where / "trial", retitle)
        trial.folder.mkdir()
        trial.prepare(demo)
        for source in (
            kills(trial, chosen.kills, chance, where),
            disks(trial, chosen.disks, chance, where),
        ):
            try:
                for one in source:
                    tried.append(one)
                    if not one.harmless:
                        print(one, file=sys.stderr)
            except NotMountedError as error:
                print(f"no full disks: {error}", file=sys.stderr)
    print(table(tried))
    sys.exit(not all(one.harmless for one in tried))


if __name__ == "__main__":
    main()
