"""What the last run came to, beside the archive: the next one may find that nothing changed."""

import contextlib
from pathlib import Path
from typing import Any

import orjson

from lodpipe.parts.pack import mark_of

FILE = "standing.json"


def read_standing(archive: Path) -> dict[str, Any]:
    """Return what was kept for an archive that stands as it then stood; empty for any other.

    Nothing depends on it: where it is missing, broken or out of date, a run does all its work.
    """
    try:
        kept = orjson.loads((archive.parent / FILE).read_bytes())
    except (OSError, orjson.JSONDecodeError):
        return {}
    if not isinstance(kept, dict) or kept.get("archive") != mark_of(archive):
        return {}
    return kept


def write_standing(archive: Path, standing: dict[str, Any]) -> None:
    """Keep what a run came to, whole or not at all.

    The release is made: a disk that is full by now only makes the next run do all its work.
    """
    path = archive.parent / FILE
    half = path.with_suffix(".part")
    body = orjson.dumps({**standing, "archive": mark_of(archive)}, option=orjson.OPT_SORT_KEYS)
    with contextlib.suppress(OSError):
        half.write_bytes(body)
        half.replace(path)


def forget_standing(archive: Path) -> None:
    """Take away what was kept: something is about to change."""
    with contextlib.suppress(FileNotFoundError):
        (archive.parent / FILE).unlink()
