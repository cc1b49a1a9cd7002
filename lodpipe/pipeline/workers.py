"""Who does the parallel part of a pass: this process, or several of this machine (`cluster`: of many).

A task goes to a worker, which has a workshop of its own, and what comes of it is sent back piece
by piece. Tasks and outcomes are small: documents lie in part files. A worker that is lost, killed
by the system for want of memory or by a person, is replaced and its task done again, so one
outcome may come twice.
"""

import multiprocessing
import signal
import sqlite3
from collections import Counter, deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.context import ForkServerProcess
from typing import Any, Protocol, TypeVar

from lodpipe.errors import LodpipeError, NotFinishedError
from lodpipe.pipeline.collecting import rare_collection
from lodpipe.pipeline.workshop import Workshop, open_workshop
from lodpipe.project import Project

Task = TypeVar("Task")
Outcome = TypeVar("Outcome")
Work = Callable[[Workshop, Task], Iterator[Outcome]]
"""What is done with a task: a function of a module, since it goes to other processes by name."""

MOST_TIMES = 3
"""How often a task is begun before it is given up."""
LOST = (EOFError, OSError)
"""What reading from or writing to a worker that is gone raises."""


class Workers(Protocol):
    """Those who do the tasks of a pass."""

    @property
    def count(self) -> int:
        """Return how many tasks are worth having at once."""

    def each(self, work: Work[Task, Outcome], tasks: Sequence[Task]) -> Iterator[Outcome]:
        """Yield what comes of the tasks, in any order; of a task that is begun again, repeatedly.

        Raises:
            LodpipeError: what a task raises.
            NotFinishedError: workers are lost again and again.
        """


@dataclass(frozen=True, slots=True)
class Alone:
    """This process, with the workshop that it has: nothing is sent."""

    shop: Workshop
    count: int = 1

    def each(self, work: Work[Task, Outcome], tasks: Sequence[Task]) -> Iterator[Outcome]:
        """Yield what comes of the tasks, one after another."""
        for task in tasks:
            yield from work(self.shop, task)


@dataclass(frozen=True, slots=True)
class _Failed:
    """Sent back when a task raised what a person can act on."""

    error: Exception


_DONE = "done"
"""Sent back when a task is finished."""


@dataclass(slots=True)
class _Worker:
    """A process and the pipe to it."""

    process: ForkServerProcess
    pipe: Connection

    def end(self) -> None:
        """End the process, whatever it is doing."""
        self.pipe.close()
        self.process.terminate()
        self.process.join()
        self.process.close()


class Processes:
    """Processes of this machine, begun when there is something to do and ended with the block.

    They are forked from a process that has imported this module and nothing else, so no connection
    to a database and no thread of ours crosses a fork.
    """

    def __init__(self, project: Project, count: int) -> None:
        self.count = count
        self._project = project
        self._idle: list[_Worker] = []
        self._busy: dict[Connection[Any, Any], tuple[_Worker, Any]] = {}
        self._context = multiprocessing.get_context("forkserver")
        self._context.set_forkserver_preload([__name__])

    def __enter__(self) -> "Processes":
        return self

    def __exit__(self, *_: object) -> None:
        self._end()

    def each(self, work: Work[Task, Outcome], tasks: Sequence[Task]) -> Iterator[Outcome]:
        """Yield what comes of the tasks, as it comes."""
        waiting, tries = deque(enumerate(tasks)), Counter[int]()
        try:
            while waiting or self._busy:
                while waiting and len(self._busy) < self.count:
                    self._give(work, waiting.popleft())
                ready = wait(list(self._busy))
                for pipe in [pipe for pipe in self._busy if pipe in ready]:
                    worker, (number, task) = self._busy[pipe]
                    try:
                        message = pipe.recv()
                    except LOST as error:
                        tries[number] += 1
                        self._lost(worker, tries[number], error)
                        waiting.append((number, task))
                        continue
                    if message == _DONE:
                        del self._busy[pipe]
                        self._idle.append(worker)
                    elif isinstance(message, _Failed):
                        raise message.error
                    else:
                        yield message
        finally:
            if self._busy:  # broken off: what they send would be taken for something else
                self._end()

    def _give(self, work: Work[Task, Outcome], task: tuple[int, Task]) -> None:
        worker = self._idle.pop() if self._idle else self._begin()
        self._busy[worker.pipe] = worker, task
        with suppress(*LOST):  # found out when its answer is read
            worker.pipe.send((work, task[1]))

    def _begin(self) -> _Worker:
        here, there = self._context.Pipe()
        process = self._context.Process(target=_serve, args=(there, self._project), daemon=True)
        process.start()
        there.close()
        return _Worker(process, here)

    def _lost(self, worker: _Worker, times: int, error: Exception) -> None:
        del self._busy[worker.pipe]
        worker.process.join()
        code = worker.process.exitcode or 0
        worker.end()
        if times == MOST_TIMES:
            how = f"killed by signal {-code}" if code < 0 else f"ended with status {code}"
            raise NotFinishedError(
                f"{times} worker processes were lost over the same task, the last one {how}",
                hint="the last release is untouched; if memory is short, run with fewer `--workers`",
            ) from error

    def _end(self) -> None:
        for worker in (*self._idle, *(worker for worker, _ in self._busy.values())):
            worker.end()
        self._idle.clear()
        self._busy.clear()


def _serve(pipe: Connection, project: Project) -> None:
    """Do the tasks that come through a pipe until it is closed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the run decides what is broken off
    shop = open_workshop(project)
    with rare_collection():
        try:
            while True:
                work, task = pipe.recv()
                try:
                    for outcome in work(shop, task):
                        pipe.send(outcome)
                    pipe.send(_DONE)
                except (LodpipeError, sqlite3.Error, OSError) as error:
                    pipe.send(_Failed(error))
        except LOST:
            return  # the run is over
