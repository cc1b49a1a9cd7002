"""`lodpipe check`: a project's newest release, or files of linked data, against shapes."""

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path

import orjson

from lodpipe import __version__, rdf_read
from lodpipe import project as projects
from lodpipe.archive import Archive
from lodpipe.check import Checker, sample_of
from lodpipe.check.report import About, Entry, entry_of, entry_of_finding, passes
from lodpipe.errors import EmptyError, UsageError
from lodpipe.pipeline.cross import cross_findings
from lodpipe.pipeline.progress import Clock, Watcher
from lodpipe.pipeline.second_pass import BATCH, steps_of
from lodpipe.pipeline.shapes import digest_of, shape_texts, texts_of
from lodpipe.pipeline.workshop import open_workshop
from lodpipe.rdf import Emitted, Emitter
from lodpipe.records import TraceEntry

MANIFESTS = "iiif"
"""Folder of an export that holds no RDF of ours."""


@dataclass(slots=True)
class Checked:
    """What a check came to: the entries of its report, and what the report is about."""

    about: About
    entries: list[Entry] = field(default_factory=list)

    @property
    def status(self) -> int:
        """The exit status: 0 when something was checked and nothing stands at the gate."""
        return 0 if passes(self.entries, self.about) else 1


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
    baseline: Path | None = None,
    watcher: Watcher,
) -> Checked:
    """Check projects, folders and files.

    Args:
        shapes: files or folders of shapes; a project's own (or those that ship) when empty.
        engine: `compiled` or `referee`. `gate`: severity from which on the status is 1.
        baseline: JSON report of an earlier check; what stands there too is left out.

    Raises:
        UsageError: a path that is not there, or that holds nothing that can be read.
        EmptyError: nothing was checked.
    """
    listed = list(paths)
    texts = texts_of(shapes) or _own_shapes(listed)
    checker = Checker(texts, engine=engine, sample=frozenset())
    run = _Run(checker)
    run.entries += map(entry_of_finding, checker.shape_findings())
    clock = Clock(watcher)
    for path in listed:
        with clock.stage(f"check {path.name}") as bar:
            items = run.items(path)
            while batch := list(islice(items, BATCH)):
                run.batch(batch)
                bar.advance(len(batch))
    if not run.documents:
        raise EmptyError("nothing was checked: there is no document", hint="look at the paths")
    if not run.focus:
        raise EmptyError("nothing was checked: no shape met any node", hint="look at the shapes")
    about = About(
        title=", ".join(path.name or str(path) for path in listed),
        tool=f"lodpipe {__version__}",
        data=run.data.hexdigest(),
        shapes=digest_of(texts),
        documents=run.documents,
        focus=run.focus,
        messages={shape.name: shape.message for shape in checker.shapes.targets()},
        engine=engine,
        gate=gate,
        refereed=run.refereed,
    )
    known = _known(baseline) if baseline else set()
    return Checked(about, [entry for entry in run.entries if _mark(entry) not in known])


class _Run:
    """What one check has met so far."""

    def __init__(self, checker: Checker) -> None:
        self._checker = checker
        self.documents = self.refereed = 0
        self.focus: dict[str, int] = {}
        self.entries: list[Entry] = []
        self.data = hashlib.sha256()

    def items(self, path: Path) -> Iterator[_Item]:
        """Yield the documents at a path."""
        if (path / projects.PROJECT_FILE).is_file():
            yield from self._released(path)
            return
        if not path.exists():
            raise UsageError(f"there is nothing at `{path.name}`", hint="look at the path")
        for file in rdf_read.found(path):
            inner = file.relative_to(path) if path.is_dir() else Path(file.name)
            if inner.parts[0] == MANIFESTS:
                continue
            for emitted in rdf_read.read(
                file, inner.as_posix(), lambda f: self.entries.append(entry_of_finding(f))
            ):
                yield _Item(emitted)

    def _released(self, path: Path) -> Iterator[_Item]:
        chosen = projects.load(path)
        concepts = open_workshop(chosen).concepts
        emitter = Emitter(chosen.site.base, concepts, language=chosen.language)
        with Archive(chosen.archive) as archive:
            latest = archive.latest()
            if latest is None:
                raise UsageError("there is no release yet", hint="make one with `lodpipe run`")
            number = latest.number
            self._checker.set_sample(sample_of(archive.uris(number), latest.created))
            self.entries += [
                entry_of_finding(finding)
                for finding in archive.findings(number)
                if finding.code not in ("shape", "shape-unused")
            ]
            self.entries += map(entry_of_finding, cross_findings(archive, number, chosen.site.base))
            for document in archive.documents(number):
                tree = orjson.loads(document.body)
                del tree["@context"]
                yield _Item(emitter.emit(tree), archive.trace(document.uri))

    def batch(self, batch: list[_Item]) -> None:
        """Check one batch of documents."""
        found = self._checker.check([(item.emitted.uri, item.emitted) for item in batch])
        traces = {item.emitted.uri: item.trace for item in batch}
        self.documents += len(batch)
        self.refereed += len(found.refereed)
        self.entries += map(entry_of_finding, found.findings)
        for item in batch:
            self.data.update("\n".join(item.emitted.lines).encode())
        for counts in found.focus.values():
            for shape, count in counts.items():
                self.focus[shape] = self.focus.get(shape, 0) + count
        for result in found.results:
            steps = steps_of(result.pointer, traces[result.uri])
            self.entries.append(entry_of(result, steps))


def _own_shapes(paths: list[Path]) -> dict[str, str]:
    for path in paths:
        if (path / projects.PROJECT_FILE).is_file():
            return shape_texts(projects.load(path))
    return texts_of([None])


def _mark(entry: Entry) -> tuple[str, ...]:
    """What makes an entry the same as one of an earlier report; places move, so they do not count."""
    return (entry.severity, entry.shape, entry.message, entry.value, entry.uri, entry.pointer)


def _known(baseline: Path) -> set[tuple[str, ...]]:
    """Read the entries of an earlier JSON report."""
    try:
        report = orjson.loads(baseline.read_bytes())
        return {
            _mark(
                replace(
                    Entry(row["severity"], row["shape"], row["message"]),
                    value=row["value"],
                    uri=row["document"],
                    pointer=row["pointer"],
                )
            )
            for row in report["results"]
        }
    except OSError as error:
        raise UsageError(f"`{baseline.name}` cannot be read: {error.strerror}") from error
    except (orjson.JSONDecodeError, KeyError, TypeError) as error:
        raise UsageError(
            f"`{baseline.name}` is not a report of ours",
            hint="make one with `lodpipe check ... --json > report.json`",
        ) from error
