"""Looking into a source before anything is mapped, and a project made from what was seen."""

import re
from collections.abc import Callable
from pathlib import Path

from lodpipe.errors import EmptyError
from lodpipe.findings import Report
from lodpipe.pipeline.progress import Clock, Watcher
from lodpipe.profile import Profile, Profiler
from lodpipe.project import Limits, builtin
from lodpipe.read import ReadOptions, records, unreadable_finding
from lodpipe.read.where import declared
from lodpipe.records import Record
from lodpipe.terms import read_table

STEP = 100
"""Records between two signs of life."""


def profile(path: Path, options: ReadOptions, report: Report, watcher: Watcher) -> Profile:
    """Return what is in a source file.

    Args:
        path: the file. `options`: how to read it, as far as that is known.
        report: takes what is found about single records.

    Raises:
        UsageError: the file cannot be read. EmptyError: there is no record in it.
    """
    options = declared(path, path.name, options)
    profiler = Profiler(_doubts(), {iri: prefix for prefix, iri in options.namespaces.items()})
    unreadable = 0
    clock = Clock(watcher)
    with clock.stage(f"look into {path.name}") as bar:
        for number, item in enumerate(records(path, path.name, options, Limits(), report), 1):
            if isinstance(item, Record):
                profiler.add(item)
            else:
                unreadable += 1
                report(unreadable_finding(item))
            if number % STEP == 0:
                bar.advance(STEP)
    if not profiler.records:
        raise EmptyError(
            f"no record can be read in `{path.name}`",
            hint="look whether it is the right file, and say with `--records` where its records are",
        )
    told = {
        name: value
        for name in ("format", "encoding", "delimiter", "sheet", "records")
        if (value := getattr(options, name))
    }
    return profiler.result(path.name, unreadable, told)


def _doubts() -> Callable[[str], bool]:
    """Return whether a text has a word of the shipped table of qualifiers, as a word of its own."""
    table = read_table("qualifiers", builtin("mappings") / "vocab" / "qualifiers.csv")
    words = sorted((re.escape(term) for term in table.lines), key=len, reverse=True)
    pattern = re.compile(r"(?i)(?:^|[(\[,;:|]\s*)(?:" + "|".join(words) + r")(?:$|[\s)\],;:|])")
    return lambda text: pattern.search(text) is not None or text.rstrip().endswith("(?)")
