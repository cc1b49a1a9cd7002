"""Parts of pass 1 that outlive their run: drafts of a source that did not change are used again."""

import hashlib
import shutil
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import orjson

PART, NOTE = ".sqlite", ".json"


@dataclass(frozen=True, slots=True)
class Kept:
    """A folder of parts beside the archive, each with a note of what it was made from.

    The note has the SHA-256 of its part too: what a power cut or a bad disk left of one is not
    used. Whatever is missing or does not fit is made anew.
    """

    folder: Path

    def find(self, name: str, key: str) -> tuple[Path, dict[str, Any]] | None:
        """Return the part of a name and what was noted with it, if it was made of the same.

        Args:
            key: hash of all that the part is made from.
        """
        part = self._path(name, PART)
        try:
            kept = orjson.loads(self._path(name, NOTE).read_bytes())
            if kept["key"] != key or kept["digest"] != _digest(part):
                return None
        except (OSError, orjson.JSONDecodeError, KeyError, TypeError):
            return None
        return part, kept["note"]

    def keep(self, part: Path, name: str, key: str, note: dict[str, Any]) -> Path:
        """Take a part that is whole, and return where it is now."""
        self.folder.mkdir(parents=True, exist_ok=True)
        body = orjson.dumps({"key": key, "digest": _digest(part), "note": note})
        path = self._path(name, PART)
        part.replace(path)
        half = self._path(name, ".part")
        half.write_bytes(body)
        half.replace(self._path(name, NOTE))
        return path

    def only(self, names: Iterable[str]) -> None:
        """Take away all parts but these."""
        wanted = {self._path(name, ending) for name in names for ending in (PART, NOTE)}
        for path in self.folder.glob("*"):
            if path not in wanted:
                path.unlink()

    def forget(self) -> None:
        """Take away all parts."""
        shutil.rmtree(self.folder, ignore_errors=True)

    def _path(self, name: str, ending: str) -> Path:
        return self.folder / (name + ending)


def _digest(path: Path) -> str:
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()
