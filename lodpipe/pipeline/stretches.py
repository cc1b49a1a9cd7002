"""What a worker does in pass 2: it makes and checks a stretch of documents, into a part file."""

import pickle
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, closing
from dataclasses import dataclass, field
from functools import lru_cache
from hashlib import blake2b
from pathlib import Path

from lodpipe.archive import Archive
from lodpipe.check import Checker
from lodpipe.findings import Finding
from lodpipe.parts import EVERYWHERE, IndexReader, Made, Why, fresh
from lodpipe.pipeline.barrier import Barrier
from lodpipe.pipeline.made_from import reasons
from lodpipe.pipeline.second_pass import SecondPass
from lodpipe.pipeline.workshop import Workshop
from lodpipe.rdf import Emitter
from lodpipe.records import Tree


@dataclass(frozen=True, slots=True)
class Lent:
    """What pass 2 reads beside the index, the same for every document.

    Attributes:
        shapes: file name -> Turtle. `engine`: what checks with them.
        sample: documents that both engines check.
    """

    middle: Barrier
    shapes: Mapping[str, str]
    engine: str
    sample: frozenset[str]

    def checker(self) -> Checker:
        """Return what checks the documents."""
        return Checker(self.shapes, engine=self.engine, sample=self.sample)

    def second_pass(self, shop: Workshop, part: Path) -> SecondPass:
        """Return what checks and writes documents to a part file."""
        site, check = shop.project.site, shop.project.check
        emitter = Emitter(site.base, shop.concepts, language=shop.project.language)
        never = self.middle.words
        return SecondPass(site.base, emitter, self.checker(), check.gate, part, never=never)

    def write(self, folder: Path) -> Path:
        """Write it to a file, named after its content, from which workers read it."""
        body = pickle.dumps(Lent(self.middle.lent(), self.shapes, self.engine, self.sample))
        path = folder / f"lent-{blake2b(body, digest_size=16).hexdigest()}"
        path.write_bytes(body)
        return path


@lru_cache(maxsize=1)
def _borrowed(path: Path) -> Lent:
    lent = pickle.loads(path.read_bytes())  # noqa: S301  (this run has written it)
    assert isinstance(lent, Lent)
    return lent


@dataclass(frozen=True, slots=True)
class Stretch:
    """A task: make the documents from one IRI to another.

    Attributes:
        lent: what all tasks read; a file where it goes to another process.
        stem: begins the path of its part file.
        only: those that are wanted, with why each is made; None: all of them.
        why: why each is made, where all are. `beside`: what they are made from beside their row.
    """

    number: int
    lent: Lent | Path
    stem: Path
    between: tuple[str, str] = EVERYWHERE
    only: Mapping[str, Why] | None = None
    why: Why = field(default_factory=list)
    beside: Mapping[str, bytes] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Step:
    """So many documents of a stretch further; at its end with the part file and all findings."""

    number: int
    documents: int
    part: Path | None = None
    findings: tuple[Finding, ...] = ()


def make_stretch(shop: Workshop, task: Stretch) -> Iterator[Step]:
    """Make and check the documents of a stretch."""
    lent = task.lent if isinstance(task.lent, Lent) else _borrowed(task.lent)
    middle, part = lent.middle, fresh(task.stem)
    with (
        closing(IndexReader(middle.index)) as index,
        closing(lent.second_pass(shop, part)) as second,
    ):
        found = (
            index.documents(task.between) if task.only is None else index.some(sorted(task.only))
        )
        for count in second.run(_explained(shop, task, middle.finished(shop, index, found))):
            yield Step(task.number, count)
    yield Step(task.number, 0, part, tuple(second.findings))


def _explained(
    shop: Workshop, task: Stretch, ready: Iterable[tuple[Made, Tree]]
) -> Iterator[tuple[Made, Tree]]:
    """Enter into each document what it is made from beside its row, and why it is made."""
    with ExitStack() as stack:
        before = stack.enter_context(Archive(shop.project.archive)) if task.only else None
        for made, tree in ready:
            made.made_beside = task.beside.get(made.uri, made.made_beside)
            made.why = task.why
            if before is not None and task.only is not None:
                made.why = reasons(task.only[made.uri], before.inputs(made.uri), made.inputs)
            yield made, tree
