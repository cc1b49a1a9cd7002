"""Passes in several processes: the same bytes, and nothing lost with a worker that is killed."""

import json
import multiprocessing
import os
import random
import shutil
import signal
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest
from click.testing import CliRunner

from lodpipe import pipeline, project
from lodpipe.archive import Archive
from lodpipe.cli import main
from lodpipe.errors import ManyErrors, NotFinishedError, UsageError
from lodpipe.pipeline import anew
from lodpipe.pipeline.first_pass import first_pass
from lodpipe.pipeline.progress import Silent
from lodpipe.pipeline.workers import Alone, Processes
from lodpipe.pipeline.workshop import Workshop, open_workshop
from tests.test_pipeline import HEADER, MAPPING, NOW, PROJECT, ROWS, everything

SOURCE = '[[source]]\nfile = "more.jsonl"\nmapping = "items.yaml"\ndated = "2026-01-30"\n'
MORE = [
    *(f"{n},Bridge {n},187{n % 10},maker-{n % 3},{'possibly' if n % 4 else ''},album\n" for n in range(20, 50)),
    # two records with one key, and a maker of whom only records that are not used speak
    "51,Depot,1871,vey,,album\n", "51,Depot again,1872,ott,,album\n",
    "52,Hut,1871,sundry,,\n", "53,Hut,1872,sundry,,\n", "2,Snow sheds,1873,dolen,,album\n",
]  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "project"
    (made / "evidence").mkdir(parents=True)
    (made / "lodpipe.toml").write_text(PROJECT + SOURCE, encoding="utf-8")
    (made / "items.yaml").write_text(MAPPING, encoding="utf-8")
    (made / "items.csv").write_text(HEADER + "".join([*ROWS, "\n", *MORE]), encoding="utf-8")
    lines = (
        f'{{"No": "j{n}", "Title": "Cutting", "Date": "{"18" if n % 7 else "no date"}", '
        f'"Maker": "maker-{n % 3}", "Sure": "", "Page": "", "Depth": {n}}}\n'
        for n in range(9, 0, -1)
    )
    (made / "more.jsonl").write_text("".join(lines) + "{broken\n", encoding="utf-8")
    (made / "evidence" / "access.csv").write_text(
        "key,kind,access\nobject/52,thing,withheld\nobject/53,thing,withheld\n", "utf-8"
    )
    return made


def outcome(
    folder: Path, watcher: Silent | None = None, workers: int = 1, scheduler: str = ""
) -> tuple[dict[str, bytes], str, bytes, list[tuple[str, ...]]]:
    """Run from nothing: the export, the dump of the archive, the report, all inputs."""
    for name in ("archive", "export"):
        shutil.rmtree(folder / name, ignore_errors=True)
    options = pipeline.Options(now=NOW, accept_losses=True, workers=workers, scheduler=scheduler)
    pipeline.run(project.load(folder), options, watcher or Silent())
    path = folder / "archive" / "archive.sqlite"
    with Archive(path) as archive:
        dump = archive.logical_dump()
    with closing(sqlite3.connect(path)) as db:
        inputs = sorted(db.execute("SELECT document, kind, key, hash FROM inputs"))
    report = (folder / "archive" / "report.jsonl").read_bytes()
    return everything(folder), dump, report, inputs


def partitions_of(size: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Make partitions of so many records, and with several workers stretches of so many documents."""
    module = sys.modules["lodpipe.pipeline.run"]
    monkeypatch.setattr(module, "first_pass", partial(first_pass, size=size))
    monkeypatch.setattr(anew, "LEAST", size)
    monkeypatch.setattr(anew, "MOST", size)


@pytest.mark.parametrize("size", [1, 7, 2000])
def test_neither_workers_nor_partitions_show(
    folder: Path, size: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    alone = outcome(folder)
    partitions_of(size, monkeypatch)

    assert outcome(folder) == alone
    assert outcome(folder, workers=2) == alone
    if size == 7:
        assert outcome(folder, workers=3) == alone


def test_a_single_other_process_makes_the_same(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    alone = outcome(folder)
    module = sys.modules["lodpipe.pipeline.run"]
    monkeypatch.setattr(module, "_workers", lambda shop, _: Processes(shop.project, 1))

    assert outcome(folder) == alone


@pytest.mark.parametrize("seed", range(3))
def test_shuffled_rows_in_small_partitions_give_the_same(
    folder: Path, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    exported, dump, _, inputs = outcome(folder)
    chance = random.Random(seed)
    rows = [*ROWS, *MORE]
    chance.shuffle(rows)
    (folder / "items.csv").write_text(HEADER + "\n".join(["".join(rows), ""]), encoding="utf-8")
    partitions_of(chance.randint(2, 9), monkeypatch)

    again = outcome(folder)

    assert (again[0], again[1], again[3]) == (exported, dump, inputs)


class Killing(Silent):
    """A watcher that kills a worker at the first sign of life of a stage."""

    def __init__(self, stage: str) -> None:
        self.stage, self.here, self.killed = stage, False, 0

    def start(self, stage: str, total: int | None) -> None:
        self.here = stage == self.stage

    def advance(self, steps: int) -> None:
        if self.here and not self.killed:
            worker = multiprocessing.active_children()[0]
            worker.kill()
            worker.join()
            self.killed += 1


@pytest.mark.parametrize("stage", ["map items.csv", "fill, merge, check"])
def test_what_a_killed_worker_did_is_done_again(
    folder: Path, stage: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    partitions_of(5, monkeypatch)
    alone = outcome(folder)
    watcher = Killing(stage)

    again = outcome(folder, watcher, workers=2)

    assert watcher.killed == 1
    assert again == alone


def dies_once(_: Workshop, marker: Path) -> Iterator[str]:
    yield f"{marker.name} begun"
    if not marker.exists():
        marker.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    yield f"{marker.name} done"


def dies(_: Workshop, task: int) -> Iterator[int]:
    yield task
    os.kill(os.getpid(), signal.SIGTERM)


def refuses(_: Workshop, task: int) -> Iterator[int]:
    yield task
    raise ManyErrors([UsageError("`a` is wrong", hint="mend it", where="a.csv"), UsageError("`b`")])


def test_a_task_whose_worker_is_lost_is_begun_again(folder: Path) -> None:
    with Processes(project.load(folder), 2) as workers:
        told = list(workers.each(dies_once, [folder / "a", folder / "b"]))
        after = list(workers.each(dies_once, [folder / "a"]))

    assert sorted(told) == ["a begun", "a begun", "a done", "b begun", "b begun", "b done"]
    assert after == ["a begun", "a done"]
    assert multiprocessing.active_children() == []


def test_workers_that_are_lost_again_and_again_are_told(folder: Path) -> None:
    with Processes(project.load(folder), 2) as workers, pytest.raises(NotFinishedError) as raised:
        list(workers.each(dies, [1]))

    assert str(raised.value) == (
        "error[not-finished]: 3 worker processes were lost over the same task, the last one "
        "killed by signal 15\n"
        "  hint: the last release is untouched; if memory is short, run with fewer `--workers`"
    )
    assert multiprocessing.active_children() == []


def test_what_a_task_raises_arrives_whole(folder: Path) -> None:
    shop = open_workshop(project.load(folder))
    with Processes(shop.project, 2) as workers:
        said = []
        for those in (Alone(shop), workers):
            with pytest.raises(ManyErrors) as raised:
                list(those.each(refuses, [1, 2, 3]))
            said.append(str(raised.value))

        assert list(workers.each(dies_once, [folder / "lodpipe.toml"]))  # they go on

    assert said[0] == said[1]


class Interrupting(Silent):
    """A watcher that interrupts a stage, as Ctrl-C does."""

    def __init__(self, stage: str) -> None:
        self.stage, self.here = stage, False

    def start(self, stage: str, total: int | None) -> None:
        self.here = stage == self.stage

    def advance(self, steps: int) -> None:
        if self.here:
            raise KeyboardInterrupt


@pytest.mark.parametrize("stage", ["map items.csv", "fill, merge, check"])
def test_an_interrupted_run_leaves_the_last_release_and_no_process(
    folder: Path, stage: str
) -> None:
    before = outcome(folder)
    path = folder / "items.csv"
    text = path.read_text("utf-8")
    path.write_text(text.replace("Snow shed", "Snow roof"), "utf-8")
    options = pipeline.Options(now=NOW, accept_losses=True, workers=2)

    with pytest.raises(KeyboardInterrupt):
        pipeline.run(project.load(folder), options, Interrupting(stage))

    assert multiprocessing.active_children() == []
    assert not (folder / "archive" / "work").exists()
    with Archive(folder / "archive" / "archive.sqlite") as archive:
        assert archive.logical_dump() == before[1]
    assert everything(folder) == before[0]


def test_ctrl_c_is_told_in_words(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(pipeline, "run", interrupted)

    result = CliRunner().invoke(main, ["run", str(folder)])

    assert (result.exit_code, result.stderr) == (
        4,
        "error[not-finished]: broken off\n"
        "  hint: the newest release is whole, and nothing is left half done\n",
    )


def test_a_cluster_and_processes_exclude_one_another(folder: Path) -> None:
    result = CliRunner().invoke(
        main, ["run", str(folder), "--workers", "2", "--scheduler", "tcp://a.example.org:1"]
    )

    assert (result.exit_code, result.stderr) == (
        2,
        "error[usage]: `--workers` and `--scheduler` exclude one another\n"
        "  hint: on one machine use `--workers`\n",
    )


def test_json_says_how_many_worked(folder: Path) -> None:
    arguments = ["run", str(folder), "--workers", "2", "--accept-losses", "--now", NOW, "--json"]

    told = [json.loads(CliRunner().invoke(main, arguments).stdout)["workers"] for _ in range(2)]

    assert told == [2, 0]
