"""Pass 2 as a whole: what is stale is made anew, all else is taken over from the run before."""

from collections.abc import Iterable, Iterator
from contextlib import ExitStack

from lodpipe.archive import Archive
from lodpipe.assemble import house_prefixes
from lodpipe.check import SAMPLE, Checker, sample_of
from lodpipe.findings import Finding
from lodpipe.parts import Finished, IndexReader, Made, Why, finished
from lodpipe.parts.pack import mark_of
from lodpipe.pipeline.alone import left_alone
from lodpipe.pipeline.barrier import Barrier
from lodpipe.pipeline.made_from import beside, reasons
from lodpipe.pipeline.progress import Clock
from lodpipe.pipeline.release import never_released
from lodpipe.pipeline.second_pass import SecondPass
from lodpipe.pipeline.workshop import Workshop
from lodpipe.rdf import Emitter
from lodpipe.records import Tree

WAITING: Why = [["waiting", ""]]
"""A document that it points at waits for its first release: it is made again in every run."""


class Anew:
    """Pass 2 of one run.

    Args:
        common: what all documents are made from, as hashes by kind.

    Attributes:
        finished: every document of the run. `part`: the file with those that it has made.
        findings: those that belong to no document.
    """

    def __init__(
        self, shop: Workshop, middle: Barrier, index: IndexReader, common: dict[str, str]
    ) -> None:
        project = shop.project
        self._shop, self._middle, self._index, self._common = shop, middle, index, common
        self._folder = project.archive.parent
        self._all = finished.take_out(self._folder, project.work, mark_of(project.archive), common)
        self.finished = Finished(project.work / finished.FILE, middle.index)
        self._beside = beside(shop, middle, index)
        self._stale = None if self._all else self.finished.stale(self._beside, middle.withheld)
        self.part = project.work / "made.sqlite"
        self.findings: list[Finding] = []

    def sample(self, release: str) -> frozenset[str]:
        """Return the documents that the referee checks as well: the same share of any run."""
        if self._stale is None:
            return sample_of(self._index.uris(), release)
        size = SAMPLE * len(self._stale) // max(1, self._index.count())
        return sample_of(self._stale, release, size)

    def run(self, checker: Checker, clock: Clock) -> None:
        """Make what is stale, what of the house is named, and again what points at what waits."""
        shop, middle, index = self._shop, self._middle, self._index
        project = shop.project
        emitter = Emitter(project.site.base, shop.concepts, language=project.language)
        second = SecondPass(
            project.site.base, emitter, checker, project.check.gate, self.part, never=middle.words
        )
        try:
            stale = self._stale
            ready = middle.finished(shop, index, stale)
            self._make(
                second,
                self._explained(ready),
                clock,
                index.count() if stale is None else len(stale),
            )
            middle.findings += map(left_alone, self.finished.unnamed(middle.alone))
            wanted = self.finished.names_below(*house_prefixes(project.site.base))
            self._make(second, middle.of_house(shop, index, wanted), clock, len(wanted))
            self._unlink_waiting(second, clock)
        finally:
            second.close()
        self.findings = second.findings

    def close(self) -> None:
        """Close the file of finished documents."""
        self.finished.close()

    def keep(self) -> None:
        """Keep what was finished for the next run, once it is released."""
        path = self._shop.project.archive
        finished.put_back(self.finished.path, self._folder, mark_of(path), self._common)

    def _make(
        self, second: SecondPass, ready: Iterator[tuple[Made, Tree]], clock: Clock, total: int
    ) -> None:
        second.run(ready, clock, total)
        self.finished.take(self.part)

    def _unlink_waiting(self, second: SecondPass, clock: Clock) -> None:
        """Finish again what points at documents that are stopped and were never released.

        Such a link would lead nowhere. What loses it may be stopped in turn, so it goes on until
        nothing points at what waits.
        """
        waiting: frozenset[str] = frozenset()
        path = self._shop.project.archive
        while more := never_released(path, self.finished.stopped() - waiting):
            waiting |= more
            naming = self.finished.naming(more)
            again = self._middle.finished_again(self._shop, self._index, naming, waiting)
            self._make(second, _waiting(again), clock, len(naming))

    def _explained(self, ready: Iterable[tuple[Made, Tree]]) -> Iterator[tuple[Made, Tree]]:
        """Enter into each document what it is made from beside its row, and why it is made."""
        with ExitStack() as stack:
            before = None
            if self._stale:
                before = stack.enter_context(Archive(self._shop.project.archive))
            for made, tree in ready:
                made.made_beside = self._beside.get(made.uri, made.made_beside)
                made.why = self._all
                if before is not None and self._stale is not None:
                    old = before.inputs(made.uri)
                    made.why = reasons(self._stale[made.uri], old, made.inputs)
                yield made, tree


def _waiting(ready: Iterable[tuple[Made, Tree]]) -> Iterator[tuple[Made, Tree]]:
    for made, tree in ready:
        made.why = WAITING
        yield made, tree
