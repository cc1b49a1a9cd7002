"""The passes on a Dask cluster: the same bytes, also where a worker is killed in the middle."""

import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from distributed import Client, LocalCluster

from lodpipe import pipeline, project
from lodpipe.errors import UsageError
from lodpipe.pipeline import cluster
from lodpipe.pipeline.progress import Silent
from tests.test_pipeline import NOW
from tests.test_workers import folder, outcome, partitions_of

pytestmark = pytest.mark.loopback
__all__ = ["folder"]


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """A scheduler of this machine with two workers; one that is killed is replaced."""
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as local:
        yield local.scheduler_address


class Killing(Silent):
    """A watcher that kills a worker of a cluster at the first sign of life of a stage."""

    def __init__(self, address: str, stage: str) -> None:
        self.address, self.stage, self.here, self.killed = address, stage, False, ""

    def start(self, stage: str, total: int | None) -> None:
        self.here = stage == self.stage

    def advance(self, steps: int) -> None:
        if self.here and not self.killed:
            with Client(self.address, set_as_default=False) as client:
                self.killed, pid = sorted(client.run(os.getpid).items())[0]
            os.kill(pid, signal.SIGKILL)


def test_a_cluster_makes_the_same(
    folder: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    alone = outcome(folder)
    partitions_of(7, monkeypatch)

    assert outcome(folder, scheduler=address) == alone


@pytest.mark.parametrize("stage", ["map items.csv", "fill, merge, check"])
def test_what_a_killed_worker_of_a_cluster_did_is_done_again(
    folder: Path, address: str, stage: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    alone = outcome(folder)
    partitions_of(7, monkeypatch)
    watcher = Killing(address, stage)

    again = outcome(folder, watcher, scheduler=address)

    assert watcher.killed
    assert again == alone


@pytest.mark.parametrize(
    ("name", "here", "message"),
    [
        (
            "PROJECT_FILE",
            "items.yaml",
            "the worker `{worker}` does not see the folder of the project\n"
            "  hint: all workers need it under the same path, on a file system that they share",
        ),
        (
            "code",
            lambda: "other",
            "the worker `{worker}` has another lodpipe, or other libraries\n"
            "  hint: install the same versions everywhere, with constraints.txt",
        ),
    ],
)
def test_a_cluster_that_would_make_something_else_is_refused(
    folder: Path,
    address: str,
    name: str,
    here: object,
    message: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(cluster, name, here)  # in this process, and not in the workers

    with pytest.raises(UsageError) as raised:
        outcome(folder, scheduler=address)

    with Client(address, set_as_default=False) as client:
        worker = min(client.scheduler_info(n_workers=-1)["workers"])
    assert str(raised.value) == "error[usage]: " + message.format(worker=worker)


def test_a_scheduler_that_does_not_answer_is_told(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster, "PATIENCE", 0.2)
    options = pipeline.Options(now=NOW, scheduler="tcp://127.0.0.1:9")

    with pytest.raises(UsageError) as raised:
        pipeline.run(project.load(folder), options, Silent())

    assert str(raised.value) == (
        "error[usage]: no scheduler answers at `tcp://127.0.0.1:9`\n"
        "  hint: an address looks like `tcp://scheduler.example.org:8786`"
    )
    assert not (folder / "archive" / "work").exists()
