"""Pass 1: every source read and mapped, a partition of its records at a time, into part files."""

import hashlib
from dataclasses import dataclass, field
from pathlib import Path

import msgspec

from lodpipe.errors import UsageError
from lodpipe.findings import Finding
from lodpipe.parts import Kept
from lodpipe.pipeline.books import Books
from lodpipe.pipeline.fingerprint import code
from lodpipe.pipeline.partitions import (
    OF_THE_SOURCE,
    MapShare,
    Partition,
    digest,
    digests,
    map_share,
    unpacked,
)
from lodpipe.pipeline.progress import Clock
from lodpipe.pipeline.workers import Alone, Workers
from lodpipe.pipeline.workshop import Workshop
from lodpipe.project import PROJECT_FILE, Source
from lodpipe.read import PARTITION, Share
from lodpipe.records import Place


@dataclass(slots=True)
class FirstPass:
    """What pass 1 leaves beside its part files, one a partition of each source.

    `findings` are those that belong to no document; `hashes` the SHA-256 of each source file.
    """

    parts: list[Path] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    hashes: dict[str, str] = field(default_factory=dict)


def first_pass(
    shop: Workshop,
    work: Path,
    books: Books,
    clock: Clock,
    kept: Kept | None = None,
    workers: Workers | None = None,
    size: int = PARTITION,
) -> FirstPass:
    """Read and map every source of the project.

    Args:
        work: the folder for part files. `kept`: those of the last runs; a source is not read
            where neither it nor anything that maps it has changed since.
        workers: who maps; this process, if nobody is named. `size`: records of a partition.

    Raises:
        UsageError: a source that cannot be read at all.
    """
    done = FirstPass()
    crew = workers or Alone(shop)
    names: list[str] = []
    for number, source in enumerate(shop.sources()):
        files = (source.file, *source.joins.values())
        done.hashes.update((file, _sha256(shop.project.folder / file)) for file in files)
        one = _OneSource(shop, source, [done.hashes[file] for file in files], size, kept)
        found = one.kept()
        if not one.whole:
            with clock.stage(f"map {source.file}") as watcher:
                shares = [Share(n, crew.count, size, one.missing) for n in range(crew.count)]
                tasks = [MapShare(source, share, work / f"drafts-{number}") for share in shares]
                for part in crew.each(map_share, tasks):
                    watcher.advance(part.read if part.number not in found else 0)
                    found[part.number] = part
            one.keep(found)
        names += one.names(found)
        _take(shop, source, [found[n] for n in sorted(found)], done, books)
    if kept:
        kept.only(names)
    return done


class _OneSource:
    """One source, and what the last run has kept of it.

    Attributes:
        whole: nothing has to be read. `missing`: the partitions that have to be mapped; None: all.
    """

    def __init__(
        self, shop: Workshop, source: Source, hashes: list[str], size: int, kept: Kept | None
    ) -> None:
        self._shop, self._source, self._size, self._kept = shop, source, size, kept
        self._maps = _maps(shop, source)
        self._key = digest("\n".join([self._maps, *hashes]).encode())
        # what is joined is looked up by any record
        self._joined = hashes[1:]
        self._name = digest(msgspec.json.encode(source))
        self.whole = False
        self.missing: frozenset[int] | None = None
        self._keys: dict[int, str] = {}

    def kept(self) -> dict[int, Partition]:
        """Return the partitions that can be used again, by number."""
        if self._kept is None:
            return {}
        found: dict[int, Partition] = {}
        note = self._kept.noted(self._name, self._key)
        if note is not None:
            self._keys = {int(number): key for number, key in note["keys"].items()}
            found[OF_THE_SOURCE] = unpacked(note["of source"])
        else:
            alone = digests(self._shop, self._source, self._size)
            self._keys = {n: self._key_of(one) for n, one in alone.items()}
        for number, key in self._keys.items():
            one = self._kept.find(f"{self._name}-{number}", key)
            if one is not None:
                found[number] = unpacked(one[1], one[0])
        missing = self._keys.keys() - found.keys()
        self.whole = note is not None and not missing
        self.missing = frozenset(missing) if self._keys else None
        return found

    def keep(self, found: dict[int, Partition]) -> None:
        """Keep what has been mapped for the next run, which moves its parts."""
        if self._kept is None:
            return
        for number, one in found.items():
            if number != OF_THE_SOURCE and (self.missing is None or number in self.missing):
                key = self._keys.setdefault(number, self._key_of(f"{self._key} {number}"))
                one.part = self._kept.keep(one.part, f"{self._name}-{number}", key, one.packed())
        note = {
            "keys": {str(number): key for number, key in self._keys.items()},
            "of source": found[OF_THE_SOURCE].packed(),
        }
        self._kept.put_note(self._name, self._key, note)

    def names(self, found: dict[int, Partition]) -> list[str]:
        """Return under which names something of the source is kept."""
        numbers = (number for number in found if number != OF_THE_SOURCE)
        return [self._name, *(f"{self._name}-{number}" for number in numbers)]

    def _key_of(self, said: str) -> str:
        return digest("\n".join([self._maps, *self._joined, said]).encode())


def _take(
    shop: Workshop, source: Source, found: list[Partition], done: FirstPass, books: Books
) -> None:
    """Put together what came of the partitions of a source."""
    chosen = shop.mapping(source.mapping)
    for one in found:
        if one.number != OF_THE_SOURCE:
            done.parts.append(one.part)
        done.findings += one.findings
        books.read += one.read
        books.records.update(one.records)
        chosen.absorb(one.met)
    chosen.leftover(done.findings.append)
    if source in shop.project.sources and not any(one.read for one in found):
        done.findings.append(
            Finding(
                "no-records",
                f"`{source.file}` has no records",
                Place(source.file),
                hint="look whether it is the right file, and whether it was saved whole",
            )
        )


def _maps(shop: Workshop, source: Source) -> str:
    """Return the hash of all that decides what is made of the records of a source."""
    project = shop.project
    files = [project.folder / PROJECT_FILE, project.path(source.mapping)]
    files += shop.terms_of(source.mapping)
    maps = [f"{path.name} {_sha256(path)}" for path in files]
    return digest("\n".join([code(), *maps]).encode())


def _sha256(path: Path) -> str:
    try:
        with path.open("rb") as handle:
            return hashlib.file_digest(handle, "sha256").hexdigest()
    except OSError as error:
        raise UsageError(
            f"`{path.name}` cannot be read: {error.strerror}",
            hint="look whether it is there and may be read",
        ) from error
