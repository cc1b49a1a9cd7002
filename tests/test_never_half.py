"""Runs that end too early, archives that are damaged, media that cannot be written.

After each the last release is served, and the next run makes what an undisturbed one makes. Many
more kills and disks: `python -m bench.kills`.
"""

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from test_pipeline import HEADER, MAPPING, PROJECT, ROWS

from bench.kills import (
    NOW,
    NotMountedError,
    Trial,
    Tried,
    disks,
    kills,
    resize,
    retitle,
    small_disk,
)
from lodpipe import archive, export
from lodpipe.archive import Archive
from lodpipe.archive.tables import connect
from lodpipe.cli import main
from lodpipe.errors import NotFinishedError

KILLS, DISKS = 12, 5


def small(folder: Path) -> None:
    """A project of some twenty records."""
    folder.mkdir()
    (folder / "lodpipe.toml").write_text(PROJECT, encoding="utf-8")
    (folder / "items.yaml").write_text(MAPPING, encoding="utf-8")
    many = [f"{n},View {n} of the line,1872-0{n % 9 + 1},korvath,,album\n" for n in range(10, 22)]
    (folder / "items.csv").write_text(HEADER + "".join([*ROWS, *many]), encoding="utf-8")


def change(folder: Path) -> None:
    retitle(folder, "items.csv")


def call(*arguments: object, status: int) -> str:
    done = CliRunner().invoke(main, [str(argument) for argument in arguments])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code == status, done.output
    return done.output


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    made = Trial(tmp_path_factory.mktemp("trial"), change)
    made.prepare(small)
    return made


@pytest.fixture
def released(trial: Trial, tmp_path: Path) -> Path:
    """A project at its first release, its catalogue changed since."""
    return trial.copy("first", tmp_path / "project")


def harmless(tried: list[Tried]) -> None:
    assert [one for one in tried if not one.harmless] == []


def test_killed_runs(trial: Trial, tmp_path: Path) -> None:
    tried = list(kills(trial, KILLS, random.Random(1866), tmp_path))

    harmless(tried)
    assert len(tried) == KILLS


def test_full_disks(trial: Trial, tmp_path: Path) -> None:
    try:
        tried = list(disks(trial, DISKS, random.Random(1866), tmp_path))
    except NotMountedError as error:
        pytest.skip(str(error))

    harmless(tried)
    assert len(tried) == DISKS


# --- what a crash leaves ------------------------------------------------------------------


def crash_image(path: Path, to: Path) -> Path:
    """Copy an archive with its journal in the middle of a transaction, as a power cut leaves it."""
    with Archive(path) as opened:
        assert opened.count(1) > 15
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA cache_size=1")
    db.execute("BEGIN")
    db.execute("UPDATE documents SET body = zeroblob(9000)")
    to.parent.mkdir(parents=True)
    for name in (path.name, f"{path.name}-journal"):
        shutil.copy(path.with_name(name), to.with_name(name))
    db.execute("ROLLBACK")
    db.close()
    assert to.read_bytes() != path.read_bytes()
    return to


def test_what_was_half_written_is_put_back_by_whoever_reads_next(
    trial: Trial, released: Path
) -> None:
    image = crash_image(
        released / "archive/archive.sqlite", released.parent / "left/archive.sqlite"
    )

    with Archive(image) as opened:
        opened.verify()
        assert opened.logical_dump() == trial.states[0].dump


def test_a_release_that_was_announced_outlives_a_power_cut(tmp_path: Path) -> None:
    db = connect(tmp_path / "archive.sqlite", write=True)

    # 3 is EXTRA, with a rollback journal: https://www.sqlite.org/pragma.html#pragma_synchronous
    assert db.execute("PRAGMA synchronous").fetchone() == (3,)
    assert db.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    db.close()


def test_exported_files_are_on_disk_before_they_take_their_names(
    released: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = {path: path.read_bytes() for path in (released / "export").rglob("*.json")}
    waiting: list[int] = []

    def sync() -> None:
        assert {path: path.read_bytes() for path in before} == before
        waiting.append(len(list((released / "export").rglob("*.part"))))

    monkeypatch.setattr(os, "sync", sync)
    call("run", released, "--now", NOW, "--accept-losses", status=0)

    assert waiting[0] > 15
    assert list((released / "export").rglob("*.part")) == []


def test_a_first_export_that_was_cut_short_is_no_obstacle(trial: Trial, released: Path) -> None:
    shutil.rmtree(released / "export")
    (released / "export/linked-art").mkdir(parents=True)
    (released / "export/release.json.part").write_bytes(b"{")
    (released / "export/linked-art/x.json.part").write_bytes(b"{")

    call("export", released, status=0)

    assert not list((released / "export").rglob("*.part"))


def test_a_report_that_does_not_fit_leaves_the_last_one(tmp_path: Path) -> None:
    report = tmp_path / "report.jsonl"
    report.write_text("the last one")

    def found() -> object:
        raise OSError(28, "No space left on device")
        yield

    with pytest.raises(OSError, match="No space left"):
        export.write_report(report, found())  # type: ignore[arg-type]

    assert [path.read_text() for path in tmp_path.iterdir()] == ["the last one"]


# --- two at once --------------------------------------------------------------------------

HOLDER = """
import sys, time
from pathlib import Path
from lodpipe import archive
with archive.lock(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(60)
"""


def test_a_second_run_is_refused_and_a_dead_one_is_no_obstacle(released: Path) -> None:
    command = [sys.executable, "-c", HOLDER, str(released / "archive/archive.sqlite")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        output = call("run", released, status=4)
        assert output == (
            f"error[not-finished]: another run holds this archive: process {holder.pid} on {os.uname().nodename}\n"
            "  hint: wait until it has ended, then run again\n"
        )
        holder.send_signal(signal.SIGKILL)

    call("run", released, "--now", NOW, "--accept-losses", status=0)


# --- damage -------------------------------------------------------------------------------


def cut(path: Path) -> None:
    with path.open("r+b") as file:
        file.truncate(path.stat().st_size // 2)


def zeros(path: Path) -> None:
    with path.open("r+b") as file:
        file.seek(4096)
        file.write(bytes(path.stat().st_size - 8192))


def one_letter(path: Path) -> None:
    """Change a letter in the body of one document: no page of the file shows it."""
    whole = path.read_bytes()
    assert whole.count(b'"Dorrin viaduct"') > 1
    path.write_bytes(whole.replace(b'"Dorrin viaduct"', b'"Dorrin viaducT"'))


def not_one(path: Path) -> None:
    path.write_bytes(b"no database at all, but long enough to be looked at" * 100)


def another(path: Path) -> None:
    path.unlink()
    db = sqlite3.connect(path)
    db.execute("CREATE TABLE x(y)")
    db.close()


def nothing(path: Path) -> None:
    path.write_bytes(b"")


ALSO = (
    "\n  hint: put back a copy of it; or move it away and run again: then numbering begins anew and "
    "the releases in it are lost\n"
)
DAMAGE: list[tuple[Callable[[Path], None], str, tuple[str, ...]]] = [
    (cut, "the archive `archive.sqlite` is damaged: database disk image is malformed" + ALSO,
     ("run", "check", "export")),
    (zeros, "the archive `archive.sqlite` is damaged: ", ("run", "check", "export")),
    (one_letter, "the archive `archive.sqlite` is damaged: "
     "`https://collections.example.org/object/4` is not as it was written" + ALSO,
     ("check", "export")),
    (not_one, "the archive `archive.sqlite` is damaged: file is not a database, or never was one" + ALSO,
     ("run", "check", "export")),
    (another, "`archive.sqlite` is not an archive of this version of lodpipe\n"
     "  hint: move it away, or use the version that wrote it\n", ("run", "check", "export")),
    (nothing, "`archive.sqlite` is not an archive of this version of lodpipe\n"
     "  hint: move it away, or use the version that wrote it\n", ("run", "check", "export")),
]  # fmt: skip


@pytest.mark.parametrize(
    ("damage", "message", "commands"), DAMAGE, ids=[row[0].__name__ for row in DAMAGE]
)
def test_a_damaged_archive_is_named_and_refused(
    released: Path, damage: Callable[[Path], None], message: str, commands: tuple[str, ...]
) -> None:
    path = released / "archive/archive.sqlite"
    damage(path)
    damaged = path.read_bytes()
    served = {file: file.read_bytes() for file in (released / "export").rglob("*.json")}

    for command in commands:
        output = call(command, released, status=4)
        assert message in output
        assert "Traceback" not in output
    assert path.read_bytes() == damaged
    assert {file: file.read_bytes() for file in served} == served


# --- read-only media ----------------------------------------------------------------------


def test_an_archive_on_read_only_media(trial: Trial, tmp_path: Path) -> None:
    try:
        with small_disk(tmp_path / "disk") as disk:
            folder = trial.copy("first", disk / "project")
            crash_image(folder / "archive/archive.sqlite", disk / "left/archive.sqlite")
            resize(disk, 0)

            call("export", folder, "--to", tmp_path / "copy", status=0)
            call("check", folder, status=0)
            with Archive(folder / "archive/archive.sqlite") as opened:
                assert opened.logical_dump() == trial.states[0].dump
            assert call("run", folder, status=4) == (
                "error[not-finished]: the folder of the archive cannot be written: Read-only file system\n"
                "  hint: look at its permissions; nothing was released\n"
            )
            with pytest.raises(
                NotFinishedError, match="left half written, and it cannot be mended"
            ):
                archive.Archive(disk / "left/archive.sqlite")
    except NotMountedError as error:
        pytest.skip(str(error))
    exported = {path.name for path in (tmp_path / "copy").rglob("*") if path.is_file()}
    assert exported == {Path(name).name for name in trial.states[0].exported}
