"""Pass 1: every source read and mapped, a partition of its records at a time, into part files."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import msgspec

from lodpipe.errors import UsageError
from lodpipe.findings import Finding
from lodpipe.parts import Kept
from lodpipe.pipeline.books import Books
from lodpipe.pipeline.fingerprint import code
from lodpipe.pipeline.partitions import OF_THE_SOURCE, MapShare, Partition, map_share, unpacked
from lodpipe.pipeline.progress import Clock
from lodpipe.pipeline.workers import Alone, Workers
from lodpipe.pipeline.workshop import VOCAB, Workshop
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
    names = []
    for number, source in enumerate(shop.sources()):
        files = (source.file, *source.joins.values())
        done.hashes.update((file, _sha256(shop.project.folder / file)) for file in files)
        key = _key(shop, source, [done.hashes[file] for file in files])
        name = _digest(msgspec.json.encode(source))
        found = list(_again(kept, name, key)) if kept else []
        if not found:
            with clock.stage(f"map {source.file}") as watcher:
                shares = [Share(n, crew.count, size) for n in range(crew.count)]
                tasks = [MapShare(source, share, work / f"drafts-{number}") for share in shares]
                made: dict[int, Partition] = {}
                for one in crew.each(map_share, tasks):
                    watcher.advance(one.read if one.number not in made else 0)
                    made[one.number] = one
            found = [made[n] for n in sorted(made)]
            if kept:
                _keep(kept, name, key, found)
        names += [f"{name}-{place}" for place in range(len(found) - 1)]
        _take(shop, source, found, done, books)
    if kept:
        kept.only(names)
    return done


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


def _key(shop: Workshop, source: Source, hashes: list[str]) -> str:
    """Return the hash of all that decides what is made of a source: its files, and what maps them."""
    project = shop.project
    files = [project.folder / PROJECT_FILE, project.path(source.mapping)]
    files += sorted((project.folder / VOCAB).glob("*.csv"))
    maps = [f"{path.name} {_sha256(path)}" for path in files]
    return _digest("\n".join([code(), *maps, *hashes]).encode())


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _keep(kept: Kept, name: str, key: str, found: list[Partition]) -> None:
    """Keep the partitions of a source for the next run, which moves their parts."""
    of_source, *partitions = found
    for place, one in enumerate(partitions):
        note = one.packed()
        if not place:
            note |= {"partitions": len(partitions), "of source": of_source.packed()}
        one.part = kept.keep(one.part, f"{name}-{place}", key, note)


def _again(kept: Kept, name: str, key: str) -> Iterator[Partition]:
    """Yield what the last run made of the same source in the same way; nothing if it did not."""
    first = kept.find(f"{name}-0", key)
    if first is None:
        return
    part, note = first
    rest = [kept.find(f"{name}-{place}", key) for place in range(1, note["partitions"])]
    whole = [(note, part), *((other[1], other[0]) for other in rest if other)]
    if len(whole) == note["partitions"]:
        yield unpacked(note["of source"])
        yield from (unpacked(*one) for one in whole)


def _sha256(path: Path) -> str:
    try:
        with path.open("rb") as handle:
            return hashlib.file_digest(handle, "sha256").hexdigest()
    except OSError as error:
        raise UsageError(
            f"`{path.name}` cannot be read: {error.strerror}",
            hint="look whether it is there and may be read",
        ) from error
