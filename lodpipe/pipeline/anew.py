"""Pass 2 as a whole: what is stale is made anew, all else is taken over from the run before."""

from collections.abc import Iterable, Iterator
from contextlib import closing
from itertools import islice
from pathlib import Path

from lodpipe.assemble import house_prefixes
from lodpipe.check import SAMPLE, sample_of
from lodpipe.findings import Finding
from lodpipe.parts import Finished, IndexReader, Made, Why, finished
from lodpipe.parts.pack import mark_of
from lodpipe.pipeline.alone import left_alone
from lodpipe.pipeline.barrier import Barrier
from lodpipe.pipeline.made_from import beside
from lodpipe.pipeline.progress import Clock
from lodpipe.pipeline.release import never_released
from lodpipe.pipeline.second_pass import SecondPass
from lodpipe.pipeline.stretches import Lent, Stretch, make_stretch
from lodpipe.pipeline.workers import Alone, Workers
from lodpipe.pipeline.workshop import Workshop
from lodpipe.records import Tree

STAGE = "fill, merge, check"
EACH = 8
"""Stretches for each of several workers: at the end none waits long for another."""
LEAST, MOST = 100, 5_000
"""Documents of a stretch: enough to be worth a part file, few enough to do again."""
WAITING: Why = [["waiting", ""]]
"""A document that it points at waits for its first release: it is made again in every run."""


class Anew:
    """Pass 2 of one run.

    Args:
        common: what all documents are made from, as hashes by kind.

    Attributes:
        finished: every document of the run.
        parts: the files with those that it has made; what several have counts in the first.
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
        self.parts = [project.work / "made.sqlite"]
        self.findings: list[Finding] = []

    def sample(self, release: str) -> frozenset[str]:
        """Return the documents that the referee checks as well: the same share of any run."""
        if self._stale is None:
            return sample_of(self._index.uris(), release)
        size = SAMPLE * len(self._stale) // max(1, self._index.count())
        return sample_of(self._stale, release, size)

    def run(self, lent: Lent, clock: Clock, workers: Workers) -> None:
        """Make what is stale, what of the house is named, and again what points at what waits.

        Args:
            lent: what all documents are made and checked with.
        """
        shop, middle, index = self._shop, self._middle, self._index
        self._make_stale(lent, clock, workers)
        middle.findings += map(left_alone, self.finished.unnamed(middle.alone))
        wanted = self.finished.names_below(*house_prefixes(shop.project.site.base))
        with closing(lent.second_pass(shop, self.parts[0])) as second:
            self._make(second, middle.of_house(shop, index, wanted), clock, len(wanted))
            self._unlink_waiting(second, clock)
        self.findings += second.findings

    def _make_stale(self, lent: Lent, clock: Clock, workers: Workers) -> None:
        total = self._index.count() if self._stale is None else len(self._stale)
        made: dict[int, tuple[Path, tuple[Finding, ...]]] = {}
        tasks = list(self._stretches(lent, total, workers))
        with clock.stage(STAGE, total) as watcher:
            for step in workers.each(make_stretch, tasks):
                watcher.advance(step.documents)
                if step.part is not None:
                    made[step.number] = step.part, step.findings
        for _, (part, findings) in sorted(made.items()):
            self.finished.take(part)
            self.parts.append(part)
            self.findings += findings

    def _stretches(self, lent: Lent, total: int, workers: Workers) -> Iterator[Stretch]:
        """Yield the tasks of the pass: for several workers several each, since some take longer."""
        stem, stale = self._shop.project.work / "made", self._stale
        if isinstance(workers, Alone):
            yield Stretch(0, lent, stem, only=stale, why=self._all, beside=self._beside)
            return
        file = lent.write(stem.parent)
        size = max(LEAST, min(MOST, total // (EACH * workers.count)))
        uris = iter(sorted(stale)) if stale is not None else self._index.uris()
        number = 0
        while some := list(islice(uris, size)):
            yield Stretch(
                number,
                file,
                stem,
                (some[0], some[-1]),
                {uri: stale[uri] for uri in some} if stale is not None else None,
                self._all,
                {uri: self._beside[uri] for uri in some if uri in self._beside},
            )
            number += 1

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
        with clock.stage(STAGE, total) as watcher:
            for count in second.run(ready):
                watcher.advance(count)
        self.finished.take(self.parts[0])

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


def _waiting(ready: Iterable[tuple[Made, Tree]]) -> Iterator[tuple[Made, Tree]]:
    for made, tree in ready:
        made.why = WAITING
        yield made, tree
