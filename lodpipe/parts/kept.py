"""Parts of pass 1 that outlive their run: drafts of a source that did not change are used again."""

import shutil
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import orjson

from lodpipe.parts.pack import mark_of, sync

PART, NOTE = ".sqlite", ".json"


@dataclass(frozen=True, slots=True)
class Kept:
    """A folder of parts beside the archive, each with a note of what it was made from.

    The note is written once the part is on disk, and has its size and time: what a power cut left
    of one is not used. Whatever is missing or does not fit is made anew.
    """

    folder: Path

    def find(self, name: str, key: str) -> tuple[Path, dict[str, Any]] | None:
        """Return the part of a name and what was noted with it, if it was made of the same.

        Args:
            key: hash of all that the part is made from.
        """
        kept, part = self._read(name, key), self._path(name, PART)
        return (part, kept["note"]) if kept and kept["part"] == mark_of(part) else None

    def noted(self, name: str, key: str) -> dict[str, Any] | None:
        """Return what was noted under a name without a part, if it was made of the same."""
        kept = self._read(name, key)
        return kept["note"] if kept else None

    def keep(self, part: Path, name: str, key: str, note: dict[str, Any]) -> Path:
        """Take a part that is whole, wait until it is on disk, and return where it is now."""
        self.folder.mkdir(parents=True, exist_ok=True)
        sync(part)
        path = self._path(name, PART)
        part.replace(path)
        self.put_note(name, key, note)
        return path

    def put_note(self, name: str, key: str, note: dict[str, Any]) -> None:
        """Note something under a name, of a part that is there or of none."""
        self.folder.mkdir(parents=True, exist_ok=True)
        half = self._path(name, ".part")
        part = mark_of(self._path(name, PART))
        half.write_bytes(orjson.dumps({"key": key, "part": part, "note": note}))
        half.replace(self._path(name, NOTE))

    def _read(self, name: str, key: str) -> dict[str, Any] | None:
        try:
            kept = orjson.loads(self._path(name, NOTE).read_bytes())
        except (OSError, orjson.JSONDecodeError):
            return None
        fits = isinstance(kept, dict) and kept.get("key") == key and {"part", "note"} <= kept.keys()
        return kept if fits else None

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
