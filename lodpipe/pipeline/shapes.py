"""The shapes that a project is checked with: those that ship, and its own."""

import hashlib
from collections.abc import Iterable, Mapping
from pathlib import Path

from lodpipe import project
from lodpipe.errors import UsageError
from lodpipe.project import Project


def shape_texts(chosen: Project) -> dict[str, str]:
    """Return the Turtle of every shape file of a project, by name."""
    return texts_of(
        chosen.folder / name if name != "builtin" else None for name in chosen.check.shapes
    )


def texts_of(paths: Iterable[Path | None]) -> dict[str, str]:
    """Return the Turtle of shape files and of folders of them; None stands for those that ship.

    Raises:
        UsageError: a path that is not there, a folder without shapes, a file that is not UTF-8.
    """
    texts: dict[str, str] = {}
    for path in paths:
        folder = project.builtin("shapes") if path is None else path
        files = sorted(folder.glob("*.ttl")) if folder.is_dir() else [folder]
        if not files or not all(file.is_file() for file in files):
            raise UsageError(
                f"there are no shapes at `{folder.name}`",
                hint="name a folder of .ttl files, or `builtin`",
            )
        for file in files:
            try:
                texts[file.name if path is None else file.as_posix()] = file.read_text("utf-8")
            except UnicodeDecodeError as error:
                raise UsageError(f"`{file.name}` is not UTF-8", hint="save it as UTF-8") from error
    return texts


def digest_of(texts: Mapping[str, str]) -> str:
    """Return the SHA-256 of shape files, whatever their names and their order."""
    return hashlib.sha256("\0".join(sorted(texts.values())).encode()).hexdigest()
