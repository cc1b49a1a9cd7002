"""What a long stage tells whoever watches: its name, how far it is, that it ended."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol


class Watcher(Protocol):
    """Is told of each stage; the command line draws a bar, a test counts, most say nothing."""

    def start(self, stage: str, total: int | None) -> None:
        """Begin a stage of `total` steps; None when nobody knows how many."""

    def advance(self, steps: int) -> None:
        """So many steps further."""

    def end(self) -> None:
        """The stage has ended."""


class Silent:
    """A watcher that says nothing."""

    def start(self, stage: str, total: int | None) -> None:
        """Say nothing."""

    def advance(self, steps: int) -> None:
        """Say nothing."""

    def end(self) -> None:
        """Say nothing."""


class Clock:
    """Seconds spent in each stage of a run, told to a watcher as they pass."""

    def __init__(self, watcher: Watcher) -> None:
        self.seconds: dict[str, float] = {}
        self._watcher = watcher

    @contextmanager
    def stage(self, name: str, total: int | None = None) -> Iterator[Watcher]:
        """Time one stage, and let the watcher see it."""
        begun = time.perf_counter()
        self._watcher.start(name, total)
        try:
            yield self._watcher
        finally:
            self._watcher.end()
            self.seconds[name] = self.seconds.get(name, 0.0) + time.perf_counter() - begun
