"""Workers of a Dask cluster that is there already: https://distributed.dask.org/.

Tasks and outcomes are as small as between processes; sources and part files lie in the folder of
the project, which all workers must see under the same path. Dask does the tasks of a worker that
is lost again, somewhere else.
"""

import threading
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from lodpipe.errors import NotFinishedError, UsageError
from lodpipe.pipeline.fingerprint import code
from lodpipe.pipeline.workers import Outcome, Task, Work
from lodpipe.pipeline.workshop import open_workshop
from lodpipe.project import PROJECT_FILE, Project

PATIENCE = 10
"""Seconds until a scheduler must have answered, and between two looks whether workers are left."""
UNTOUCHED = "the last release is untouched; look at the cluster, then run again"


class Cluster:
    """The workers of a scheduler, for one run.

    Args:
        project: with its folder as a full path.
        address: of the scheduler, such as `tcp://scheduler.example.org:8786`.

    Raises:
        UsageError: the package is not installed; nobody answers at the address; a worker does not
            see the project, or has another version of what makes documents.
    """

    def __init__(self, project: Project, address: str) -> None:
        self._project = project
        self._client = _client(address)
        try:
            self.count = self._look(address)
        except UsageError:
            self._client.close()
            raise

    def __enter__(self) -> "Cluster":
        return self

    def __exit__(self, *_: object) -> None:
        self._client.close()

    def each(self, work: Work[Task, Outcome], tasks: Sequence[Task]) -> Iterator[Outcome]:
        """Yield what comes of the tasks, task by task."""
        do = partial(_do, work, self._project)
        left = set(self._client.map(do, tasks, pure=False))
        try:
            while left:
                done, left = self._wait(left)
                for future in done:
                    yield from _outcomes(future)
        finally:
            self._client.cancel(left)

    def _wait(self, left: set[Any]) -> tuple[set[Any], set[Any]]:
        """Return the tasks that are done and those that are left, after a while at most."""
        from distributed import wait
        from distributed.client import FuturesCancelledError

        try:
            with self._client.as_current():
                done, left = wait(left, timeout=PATIENCE, return_when="FIRST_COMPLETED")
        except TimeoutError:
            if not self._client.scheduler_info(n_workers=-1)["workers"]:
                raise NotFinishedError(
                    "the cluster has no workers any more", hint=UNTOUCHED
                ) from None
            return set(), left
        except FuturesCancelledError as error:
            raise NotFinishedError("the scheduler is gone", hint=UNTOUCHED) from error
        return done, left

    def _look(self, address: str) -> int:
        """Count the workers; refuse those that would make something else of the project."""
        version_here, size_here = seen(self._project.folder)
        found = self._client.run(seen, self._project.folder)
        if not found:
            raise UsageError(
                f"the cluster at `{address}` has no workers", hint="start some, then run again"
            )
        for worker, (version, size) in sorted(found.items()):
            if size != size_here:
                raise UsageError(
                    f"the worker `{worker}` does not see the folder of the project",
                    hint="all workers need it under the same path, on a file system that they share",
                )
            if version != version_here:
                raise UsageError(
                    f"the worker `{worker}` has another lodpipe, or other libraries",
                    hint="install the same versions everywhere, with constraints.txt",
                )
        return len(found)


def _client(address: str) -> Any:
    try:
        from distributed import Client
    except ImportError:
        raise UsageError(
            "`--scheduler` needs the package `distributed`",
            hint="install `lodpipe[cluster]`; on one machine `--workers` is better",
        ) from None
    try:
        return Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError) as error:
        raise UsageError(
            f"no scheduler answers at `{address}`",
            hint="an address looks like `tcp://scheduler.example.org:8786`",
        ) from error


def _outcomes(future: Any) -> list[Outcome]:
    from distributed import KilledWorker

    try:
        found: list[Outcome] = future.result()
    except KilledWorker as error:
        raise NotFinishedError(
            f"the cluster lost workers again and again: {error}", hint=UNTOUCHED
        ) from error
    return found


# --- what happens in a worker -----------------------------------------------------------------

_ONE = threading.Lock()
"""A worker with several threads does one task at a time: what it borrows is for one."""


def seen(folder: Path) -> tuple[str, int]:
    """Return what makes documents here, and the size of the project file; -1 where there is none."""
    file = folder / PROJECT_FILE
    return code(), file.stat().st_size if file.is_file() else -1


def _do(work: Work[Task, Outcome], project: Project, task: Task) -> list[Outcome]:
    with _ONE:
        return list(work(open_workshop(project), task))
