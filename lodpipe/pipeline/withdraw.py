"""`lodpipe withdraw`: something is taken back, out of every release, and stays away.

The line in withdrawals.csv comes first: whatever happens after it, no later run publishes the
thing again. Then a run makes the release without it; where the sources cannot be read, the archive
makes one by itself. Last, the bodies of all earlier releases are removed.
"""

import csv
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path

from lodpipe import archive, workspace
from lodpipe import export as exporter
from lodpipe.archive import Archive, Removed, Stamp, Withdrawal
from lodpipe.assemble import named_after
from lodpipe.dates import parse
from lodpipe.errors import DateError, LodpipeError, UsageError
from lodpipe.evidence import CLAIM
from lodpipe.iris import key_of
from lodpipe.pipeline.progress import Watcher
from lodpipe.pipeline.release import TOOL
from lodpipe.pipeline.results import Options
from lodpipe.pipeline.run import run
from lodpipe.pipeline.workshop import open_workshop
from lodpipe.project import Project

FILE = "withdrawals.csv"
LIFTED = "lifted.csv"
COLUMNS = ("key", "kind", "reason", "by", "on", "review_on", "public_reason")
LIFT_COLUMNS = ("key", "reason", "by", "on")
KINDS = {
    "Person": "person", "Group": "person", "Place": "place", "LinguisticObject": "source",
    "Set": "thread",
}  # fmt: skip
"""Kind by Linked Art class; everything else is a thing."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be withdrawn, or no longer, why, at whose wish.

    `kind` empty: found out. `public_reason` is told in its place, `reason` stays in the house. Days
    are EDTF.
    """

    key: str
    kind: str = ""
    reason: str = ""
    by: str = ""
    on: str = ""
    review_on: str = ""
    public_reason: str = ""


@dataclass(slots=True)
class Done:
    """What a withdrawal came to.

    Attributes:
        documents: IRIs of what is gone; `claims`: keys.
        release: number of the release that is without them, the newest.
        published: first release that had any of them, the instant from which that was visible,
            and the last one; None when none had.
        problem: why the catalogue could not be mapped; then the archive made the release alone.
        outcome: of the run, in sentences.
        removed: what was taken out of earlier releases. `files`: taken out of the export.
    """

    key: str
    kind: str
    documents: tuple[str, ...] = ()
    claims: tuple[str, ...] = ()
    release: int = 0
    published: tuple[int, str, int] | None = None
    problem: str = ""
    outcome: list[str] = field(default_factory=list)
    removed: Removed = field(default_factory=Removed)
    files: tuple[str, ...] = ()


def withdraw(project: Project, asked: Asked, options: Options, watcher: Watcher) -> Done:
    """Take something back.

    Raises:
        UsageError: no release ever had it, several fit the key, or a day cannot be read.
        NotFinishedError: a file cannot be written; asking again finishes what was begun.
    """
    _check(asked)
    key, kind, known = _found(project, asked)
    path = project.folder / project.evidence.folder / FILE
    if not _holds(project, key):
        values = {
            "key": key, "kind": kind, "reason": asked.reason, "by": asked.by, "on": asked.on,
            "review_on": asked.review_on, "public_reason": asked.public_reason,
        }  # fmt: skip
        workspace.append_line(path, COLUMNS, values)
    done = Done(key, kind)
    what = _released_without(project, known, options, watcher, done)
    what = replace(what, lines=tuple(sorted({(key, kind, asked.on), *what.lines})))
    what = replace(what, documents=what.documents | _named_after(project, what.documents))
    _tell_before(project, what, done)
    with archive.lock(project.archive):
        done.removed = archive.remove(project.archive, what)
    done.documents, done.claims = tuple(sorted(what.documents)), tuple(sorted(what.claims))
    return done


def lift(project: Project, asked: Asked) -> Done:
    """End a withdrawal: the line in lifted.csv first, then the archive. Nothing is published.

    The next run publishes what the catalogue still has and nothing else withholds, as something
    new; earlier releases stay without it.

    Raises:
        UsageError: it is not withdrawn, several fit the key, or a day cannot be read.
        NotFinishedError: a file cannot be written; asking again finishes what was begun.
    """
    _check(asked)
    key, kind, known = _found(project, asked)
    with Archive(project.archive) as opened:
        carried_out = key in opened.withdrawn()
    holds = _holds(project, key)
    if not holds and not carried_out:
        raise UsageError(f"`{key}` is not withdrawn", hint=f"{FILE} says what is")
    if holds:
        values = {"key": key, "reason": asked.reason, "by": asked.by, "on": asked.on}
        folder = project.folder / project.evidence.folder
        workspace.append_line(folder / LIFTED, LIFT_COLUMNS, values)
    with archive.lock(project.archive):
        archive.lift(project.archive, key)
    return Done(key, kind, tuple(sorted(known.documents)), tuple(sorted(known.claims)))


def _check(asked: Asked) -> None:
    for column in ("on", "review_on"):
        try:
            if text := getattr(asked, column):
                parse(text)
        except DateError as error:
            raise UsageError(
                error.message, hint=error.hint, where=f"--{column.replace('_', '-')}"
            ) from error


def _found(project: Project, asked: Asked) -> tuple[str, str, Withdrawal]:
    """Return key and kind as withdrawals.csv has them, and what the archive knows by that key."""
    with Archive(project.archive) as opened:
        kinds = {
            uri: KINDS.get(opened.kind_of(uri), "thing")
            for uri in opened.ever_held(project.site.base, asked.key)
        }
        claimed = opened.ever_claimed(asked.key) or asked.key in opened.withdrawn()
    fit = sorted(uri for uri, kind in kinds.items() if asked.kind in ("", kind))
    if len(fit) > 1:
        names = ", ".join(f"`{key_of(project.site.base, uri)}`" for uri in fit)
        raise UsageError(
            f"the key `{asked.key}` is that of {len(fit)} documents: {names}",
            hint="write the path, not only its last part",
        )
    if fit:
        (uri,) = fit
        key = key_of(project.site.base, uri)
        return key, kinds[uri], Withdrawal(frozenset(fit), frozenset())
    if claimed and asked.kind in ("", CLAIM):
        return asked.key, CLAIM, Withdrawal(frozenset(), frozenset({asked.key}))
    what = f"a {asked.kind}" if asked.kind else "anything"
    raise UsageError(
        f"no release ever had {what} of the key `{asked.key}`",
        hint="a row of access.csv withholds what has not been published yet",
    )


def _holds(project: Project, key: str) -> bool:
    """Return whether a withdrawal of a key is written down and not lifted again."""
    folder = project.folder / project.evidence.folder
    return _lines_of(folder / FILE, key) > _lines_of(folder / LIFTED, key)


def _lines_of(path: Path, key: str) -> int:
    if not path.is_file():
        return 0
    with path.open(encoding="utf-8-sig", newline="") as file:
        return sum(row.get("key") == key for row in csv.DictReader(file))


def _released_without(
    project: Project, known: Withdrawal, options: Options, watcher: Watcher, done: Done
) -> Withdrawal:
    """Make the release without it; return all that is to be removed from those before."""
    try:
        result = run(project, replace(options, withdrawing=True), watcher)
    except LodpipeError as error:
        done.problem = str(error)
    else:
        done.release, done.outcome = result.latest, result.outcome
        done.files = tuple(result.written.removed) if result.written else ()
        return result.withdrawal
    stamp = Stamp(options.now, options.now, {}, "", TOOL, {})
    with archive.lock(project.archive):
        archive.end_now(project.archive, known, stamp)
    with Archive(project.archive) as opened:
        latest = opened.latest()
        done.release = latest.number if latest else 0
    folder = project.folder / project.export.folder
    if options.export and folder.is_dir():
        try:
            concepts = open_workshop(project).concepts
            done.files = tuple(exporter.export(project, concepts, folder).removed)
        except LodpipeError as error:
            done.problem += f"\n{error}"
    return known


def _named_after(project: Project, documents: Iterable[str]) -> frozenset[str]:
    """Return what was published under a name that has the key of something withdrawn."""
    base = project.site.base
    made = {uri for thing in documents for uri in named_after(thing, base)}
    with Archive(project.archive) as opened:
        return frozenset(uri for uri in made if opened.ends(uri) is not None)


def _tell_before(project: Project, what: Withdrawal, done: Done) -> None:
    with Archive(project.archive) as opened:
        held = [ends for uri in sorted(what.documents) if (ends := opened.ends(uri))]
        held += [ends for key in sorted(what.claims) if (ends := opened.claim_ends(key))]
        if held:
            first, last = min(one for one, _ in held), max(one for _, one in held)
            done.published = first, opened.release(first).visible_from, last
