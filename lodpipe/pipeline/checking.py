"""`lodpipe check`: a project's newest release, or files of linked data, against shapes."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

import orjson

from lodpipe import project as projects
from lodpipe import rdf_read
from lodpipe.archive import Archive
from lodpipe.check import Checker
from lodpipe.errors import EmptyError, UsageError
from lodpipe.findings import INFO, WARNING, Finding, at_least
from lodpipe.pipeline.books import Tally
from lodpipe.pipeline.progress import Clock, Watcher
from lodpipe.pipeline.release import SHIPPED
from lodpipe.pipeline.second_pass import BATCH, place_of
from lodpipe.pipeline.shapes import digest_of, shape_texts, texts_of
from lodpipe.pipeline.workshop import open_workshop
from lodpipe.rdf import Emitted, Emitter
from lodpipe.records import TraceEntry


@dataclass(slots=True)
class Checked:
    """What a check came to.

    Attributes:
        documents: how many were checked. `focus`: how many nodes each shape met.
        digest: SHA-256 of the shapes.
    """

    status: int = 0
    documents: int = 0
    tally: Tally = field(default_factory=Tally)
    focus: dict[str, int] = field(default_factory=dict)
    digest: str = ""


@dataclass(frozen=True, slots=True)
class _Item:
    """One document to be checked, and the way back from it, where there is one."""

    emitted: Emitted
    trace: list[TraceEntry] = field(default_factory=list)


def check(
    paths: Iterable[Path],
    shapes: Iterable[Path],
    *,
    engine: str,
    gate: str,
    watcher: Watcher,
) -> Checked:
    """Check projects, folders and files.

    Args:
        shapes: files or folders of shapes; a project's own (or those that ship) when empty.
        engine: `compiled` or `referee`. `gate`: severity from which on the status is 1.

    Raises:
        UsageError: a path that is not there, or that holds nothing that can be read.
        EmptyError: nothing was checked.
    """
    listed = list(paths)
    texts = texts_of(shapes) or _own_shapes(listed)
    checker = Checker(texts, engine=engine)
    done = Checked(digest=digest_of(texts))
    for finding in checker.shape_findings():
        done.tally.add([finding])
    clock = Clock(watcher)
    for path in listed:
        with clock.stage(f"check {path.name}") as bar:
            items = _items(path, done)
            while batch := list(islice(items, BATCH)):
                _check(checker, batch, done)
                bar.advance(len(batch))
    if not done.documents:
        raise EmptyError("nothing was checked: there is no document", hint="look at the paths")
    if not done.focus:
        raise EmptyError("nothing was checked: no shape met any node", hint="look at the shapes")
    done.tally.add(_unused(checker, done.focus))
    if any(at_least(severity, gate) for severity, _, _ in done.tally.counts):
        done.status = 1
    return done


def _own_shapes(paths: list[Path]) -> dict[str, str]:
    for path in paths:
        if (path / projects.PROJECT_FILE).is_file():
            return shape_texts(projects.load(path))
    return texts_of([None])


def _items(path: Path, done: Checked) -> Iterator[_Item]:
    if (path / projects.PROJECT_FILE).is_file():
        yield from _released(path)
        return
    if not path.exists():
        raise UsageError(f"there is nothing at `{path.name}`", hint="look at the path")
    for file in rdf_read.found(path):
        name = file.relative_to(path).as_posix() if path.is_dir() else file.name
        for emitted in rdf_read.read(file, name, lambda finding: done.tally.add([finding])):
            yield _Item(emitted)


def _released(path: Path) -> Iterator[_Item]:
    chosen = projects.load(path)
    emitter = Emitter(chosen.site.base, open_workshop(chosen).concepts, language=chosen.language)
    with Archive(chosen.archive) as archive:
        latest = archive.latest()
        if latest is None:
            raise UsageError("there is no release yet", hint="make one with `lodpipe run`")
        for document in archive.documents(latest.number):
            tree = orjson.loads(document.body)
            del tree["@context"]
            yield _Item(emitter.emit(tree), archive.trace(document.uri))


def _check(checker: Checker, batch: list[_Item], done: Checked) -> None:
    found = checker.check([(item.emitted.uri, item.emitted) for item in batch])
    traces = {item.emitted.uri: item.trace for item in batch}
    done.documents += len(batch)
    done.tally.add(found.findings)
    for counts in found.focus.values():
        for shape, count in counts.items():
            done.focus[shape] = done.focus.get(shape, 0) + count
    for result in found.results:
        places = {entry.path: entry for entry in traces[result.uri]}
        done.tally.add(
            [
                Finding(
                    "shape",
                    result.message,
                    place_of(result.pointer, places),
                    severity=result.severity,
                    value=result.value,
                    uri=result.uri,
                    path=result.pointer,
                    rule=result.rule or result.shape,
                )
            ]
        )


def _unused(checker: Checker, focus: dict[str, int]) -> Iterator[Finding]:
    for name in sorted(shape.name for shape in checker.shapes.targets()):
        if name not in focus:
            severity = INFO if name.startswith(SHIPPED) else WARNING
            yield Finding(
                "shape-unused", f"the shape `{name}` met no node", severity=severity, rule=name
            )
