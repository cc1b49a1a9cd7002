"""`lodpipe check`: whatever lies at some paths, against the shapes and rules for it."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path

import orjson

from lodpipe import __version__
from lodpipe import project as projects
from lodpipe.check import Checker
from lodpipe.check.report import About, Entry, passes
from lodpipe.errors import EmptyError, UsageError
from lodpipe.pipeline.check_inputs import items, project_at
from lodpipe.pipeline.check_run import CheckRun
from lodpipe.pipeline.progress import Clock, Watcher
from lodpipe.pipeline.shapes import digest_of, shape_texts, texts_of


@dataclass(slots=True)
class Checked:
    """What a check came to: the entries of its report, and what the report is about."""

    about: About
    entries: list[Entry] = field(default_factory=list)

    @property
    def status(self) -> int:
        """The exit status: 0 nothing stands at the gate, 1 something does, 3 nothing was checked."""
        if self.about.is_empty():
            return EmptyError.exit_status
        return 0 if passes(self.entries, self.about) else 1


def check(
    paths: Iterable[Path],
    shapes: Iterable[Path],
    *,
    engine: str,
    gate: str,
    baseline: Path | None = None,
    watcher: Watcher,
) -> Checked:
    """Check projects, archives, evidence, folders and files.

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
    run = CheckRun(checker)
    for finding in checker.shape_findings():
        run.report(finding)
    clock = Clock(watcher)
    for path in listed:
        with clock.stage(f"check {path.resolve().name}") as bar:
            for item in items(path, run):
                run.document(item)
                bar.advance(1)
    if not run.documents and not run.lines and not run.entries:
        raise EmptyError("nothing was checked: there is no document", hint="look at the paths")
    if not run.focus and not run.entries:
        raise EmptyError("nothing was checked: no shape met any node", hint="look at the shapes")
    about = _about(listed, run, digest_of(texts), engine, gate)
    known = _known(baseline) if baseline else set()
    return Checked(about, [entry for entry in run.entries if _mark(entry) not in known])


def _about(paths: list[Path], run: CheckRun, shapes: str, engine: str, gate: str) -> About:
    return About(
        title=", ".join(path.resolve().name for path in paths),
        tool=f"lodpipe {__version__}",
        data=run.data.hexdigest(),
        shapes=shapes,
        documents=run.documents,
        focus=run.focus,
        messages=run.messages,
        engine=engine,
        gate=gate,
        refereed=run.refereed,
        lines=run.lines,
    )


def _own_shapes(paths: list[Path]) -> dict[str, str]:
    for path in paths:
        home = project_at(path)
        if home is not None:
            return shape_texts(projects.load(home))
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
        raise UsageError(
            f"`{baseline.name}` cannot be read: {error.strerror}",
            hint="look whether it is there and may be read",
        ) from error
    except (orjson.JSONDecodeError, KeyError, TypeError) as error:
        raise UsageError(
            f"`{baseline.name}` is not a report of ours",
            hint="make one with `lodpipe check ... --json > report.json`",
        ) from error
