"""Everything that a run depends on, as one hash: where it is unchanged, nothing is to be done."""

import hashlib
import os
import sys
from collections.abc import Iterable, Iterator
from functools import cache
from importlib.metadata import PackageNotFoundError, requires, version
from importlib.resources import files
from pathlib import Path

from lodpipe import project
from lodpipe.errors import NotFinishedError
from lodpipe.pipeline.results import Options
from lodpipe.pipeline.workshop import CONCEPTS
from lodpipe.project import Project

EXPORTED = "release.json"
"""Marks a folder that an export wrote."""
CACHED = "__pycache__"
REVIEWED = ("access", "withdrawals")
"""Tables of the evidence folder whose rows say on which day to look at them again."""


def fingerprint(chosen: Project, options: Options) -> str:
    """Return the SHA-256 of all that a run may read, and of what reads it.

    That is every file in the folder of the project but what runs and exports wrote, files that
    it names elsewhere, lodpipe itself with the libraries that it stands on, and how the run is
    wanted. A file that no run reads counts too: rather one run too many than one too few.

    Raises:
        NotFinishedError: a file cannot be read.
    """
    digest = hashlib.sha256(code().encode())
    day = options.now[:10] if _day_counts(chosen) else ""
    digest.update(f"{options.engine} {options.accept_losses} {day}\n".encode())
    named = (chosen.path(name) for name in _named(chosen))
    for name, path in sorted({*_below(chosen.folder, chosen), *_files(named, chosen)}):
        try:
            with path.open("rb") as handle:
                content = hashlib.file_digest(handle, "sha256").hexdigest()
        except OSError as error:
            raise NotFinishedError(
                f"`{name}` cannot be read: {error.strerror}",
                hint="look whether it is there and may be read",
            ) from error
        digest.update(f"{content} {name}\n".encode("utf-8", "surrogateescape"))
    return digest.hexdigest()


@cache
def code() -> str:
    """Return the hash of what makes documents out of records: our code and tables, libraries."""
    digest = hashlib.sha256(sys.version.encode())
    for folder in (Path(str(files("lodpipe"))), *map(project.builtin, ("mappings", "shapes"))):
        for path in sorted(folder.rglob("*")):
            if path.is_file() and CACHED not in path.parts:
                digest.update(path.relative_to(folder).as_posix().encode() + path.read_bytes())
    for name in _libraries():
        digest.update(f"{name} {version(name)}\n".encode())
    return digest.hexdigest()


def publishing(chosen: Project) -> str:
    """Return the hash of what a released document is told by: our code, settings, own concepts."""
    digest = hashlib.sha256(code().encode())
    for path in (chosen.folder / project.PROJECT_FILE, chosen.folder / CONCEPTS):
        digest.update(path.read_bytes() if path.is_file() else b"")
    return digest.hexdigest()


def _libraries() -> Iterator[str]:
    try:
        wanted = requires("lodpipe") or []
    except PackageNotFoundError:  # run from a checkout
        return
    for line in wanted:
        if "extra ==" not in line:
            yield line.split("[")[0].split(";")[0].split(">")[0].split("=")[0].strip()


def _day_counts(chosen: Project) -> bool:
    """Whether a run may tell something else tomorrow: rows of these tables have days of review."""
    folder = chosen.folder / chosen.evidence.folder
    tables = (folder / (name + ending) for name in REVIEWED for ending in (".csv", ".xlsx"))
    return any(table.is_file() for table in tables)


def _named(chosen: Project) -> Iterator[str]:
    """Yield the files and folders that a project names, wherever they lie."""
    for source in chosen.sources:
        yield from (source.file, source.mapping, *source.joins.values())
    yield chosen.evidence.folder
    yield from (name for name in chosen.check.shapes if name != "builtin")


def _files(paths: Iterable[Path], chosen: Project) -> Iterator[tuple[str, Path]]:
    for path in paths:
        if path.is_dir():
            yield from _below(path, chosen)
        elif path.is_file():
            yield _name(path, chosen), path


def _below(root: Path, chosen: Project) -> Iterator[tuple[str, Path]]:
    """Yield the files below a folder with their names, links to folders followed once."""
    seen: set[Path] = set()
    for at, folders, names in os.walk(root, followlinks=True):
        here = Path(at)
        real = here.resolve()
        if real in seen or here == chosen.archive.parent or EXPORTED in names:
            folders.clear()
            continue
        seen.add(real)
        for name in names:
            if (path := here / name).is_file():
                yield _name(path, chosen), path


def _name(path: Path, chosen: Project) -> str:
    return os.path.relpath(path, chosen.folder)
