"""The folder of an export, and single files that the user named: whole or not at all."""

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import orjson

from lodpipe.archive import Release
from lodpipe.errors import LodpipeError, NotFinishedError, UsageError
from lodpipe.findings import Finding
from lodpipe.iris import file_name
from lodpipe.parts.pack import pack_finding

MARK = "release.json"


@dataclass(slots=True)
class Written:
    """What an export did: files that are new or differ, files left as they were, files taken away."""

    release: int
    written: list[str] = field(default_factory=list)
    same: int = 0
    removed: list[str] = field(default_factory=list)


class Folder:
    """The folder of an export. Writes inside it only, and only what differs.

    Files that differ are first written beside those that they replace, ending in `.part`; only
    when all are on disk do they take their names. A run that is killed, or meets a full disk,
    leaves the release that lies there.
    """

    def __init__(self, root: Path, release: Release) -> None:
        """Take a folder that is empty, not there yet, or an export of ours.

        Raises:
            UsageError: something else is in it.
            NotFinishedError: it cannot be written.
        """
        self._root = root
        self._kept: set[Path] = set()
        self._waiting: dict[Path, None] = {}  # in the order written
        self.result = Written(release.number)
        ours = (root / MARK, _half(root / MARK))  # the latter where the first export was cut short
        if root.is_dir() and any(root.iterdir()) and not any(mark.is_file() for mark in ours):
            raise UsageError(
                f"the folder `{root.name}` holds files that are not an export",
                hint="name an empty folder, or one that does not exist yet",
            )
        mark = {
            "release": release.number,
            "visible_from": release.visible_from,
            "tool": release.tool,
        }
        self.put(MARK, orjson.dumps(mark, option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE))

    def put(self, name: str, body: bytes) -> None:
        """Write one file, unless it holds these bytes already.

        Args:
            name: its path below the base of the site, percent-encoded as in an IRI.
        """
        path = self._path(name)
        if path.is_file() and path.stat().st_size == len(body) and path.read_bytes() == body:
            self.result.same += 1
            return
        self.stream(name, iter((body,)))

    def stream(self, name: str, chunks: Iterator[bytes]) -> None:
        """Write one file from chunks; `finish` gives it its name."""
        path = self._path(name)
        half = _half(path)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with half.open("wb") as handle:
                for chunk in chunks:
                    handle.write(chunk)
            if path.is_file() and _equal(path, half):
                half.unlink()
                self.result.same += 1
                return
        except OSError as error:
            raise _not_written(name, error) from error
        if path not in self._waiting:
            self._waiting[path] = None
            self.result.written.append(name)

    def written(self, name: str) -> Path | None:
        """Return where a file lies that this export has written; None for one that it has not."""
        path = Path(os.path.normpath(self._root / file_name(name)))
        if path not in self._kept:
            return None
        return _half(path) if path in self._waiting else path

    def keep(self, name: str) -> None:
        """Leave one file as it is: it follows from the release, and somebody has looked."""
        self._path(name)
        self.result.same += 1

    def read(self, name: str) -> bytes | None:
        """Return what a file holds from an export before this one; None when there is none."""
        path = self._root / file_name(name)
        return path.read_bytes() if path.is_file() else None

    def finish(self) -> Written:
        """Take away the files that no longer follow from the release, and name those that do.

        Raises:
            NotFinishedError: the folder cannot be written.
        """
        if self._waiting:
            os.sync()  # one call for all files: a name must not reach the disk before its bytes
        halves = {_half(path) for path in self._waiting}
        try:
            for path in sorted(self._root.rglob("*"), reverse=True):
                if path.is_dir():
                    if not any(path.iterdir()):
                        path.rmdir()
                elif path not in self._kept and path not in halves:
                    path.unlink()
                    self.result.removed.append(path.relative_to(self._root).as_posix())
            for path in reversed(self._waiting):  # the mark, written first, comes last
                _half(path).replace(path)
        except OSError as error:
            raise _not_written(self._root.name, error) from error
        self.result.removed.reverse()
        return self.result

    def _path(self, name: str) -> Path:
        path = Path(os.path.normpath(self._root / file_name(name)))
        if not path.is_relative_to(self._root) or path == self._root:
            raise NotFinishedError(
                f"`{name}` lies outside the export folder",
                hint="give the record a key without `..`",
            )
        self._kept.add(path)
        return path


def _half(path: Path) -> Path:
    return path.with_name(path.name + ".part")


def _not_written(name: str, error: OSError) -> NotFinishedError:
    return NotFinishedError(
        f"`{name}` could not be written: {error.strerror}",
        hint="make room or mend the permissions of the export folder, then export again",
    )


def write_file(path: Path, body: bytes) -> None:
    """Write one file that the user named, whole or not at all."""
    half = _half(path)
    try:
        half.write_bytes(body)
        half.replace(path)
    finally:
        half.unlink(missing_ok=True)


def write_report(path: Path, findings: Iterable[Finding]) -> None:
    """Write every finding of a run, one JSON object a line, for the house only: it never leaves."""
    half = _half(path)
    try:
        with half.open("wb") as handle:
            handle.writelines(map(_reported, findings))
    except OSError:
        half.unlink(missing_ok=True)  # the report of the last run is worth more than half a report
        raise
    except LodpipeError:
        half.replace(path)  # the run has said why it ends, and the report has all that it found
        raise
    half.replace(path)


def extend_report(path: Path, findings: Iterable[Finding]) -> None:
    """Add findings that were made after the report: what a release does not send, and why."""
    with path.open("ab") as handle:
        handle.writelines(map(_reported, findings))


def _reported(finding: Finding) -> bytes:
    values = {**pack_finding(finding), "place": str(finding.place or "")}
    return orjson.dumps(values, option=orjson.OPT_APPEND_NEWLINE)


def _equal(left: Path, right: Path) -> bool:
    if left.stat().st_size != right.stat().st_size:
        return False
    with left.open("rb") as one, right.open("rb") as other:
        while True:
            block = one.read(1 << 20)
            if block != other.read(1 << 20):
                return False
            if not block:
                return True
