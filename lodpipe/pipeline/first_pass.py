"""Pass 1: every source read and mapped, a record at a time, into a part file of its own."""

import hashlib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import msgspec

from lodpipe.errors import UsageError
from lodpipe.findings import Finding
from lodpipe.parts import DraftWriter, Kept, pack_finding, unpack_finding
from lodpipe.pipeline.books import Books
from lodpipe.pipeline.fingerprint import code
from lodpipe.pipeline.progress import Clock
from lodpipe.pipeline.workshop import VOCAB, Workshop
from lodpipe.project import PROJECT_FILE, Source
from lodpipe.read import unreadable_finding
from lodpipe.records import Mapped, Place, Record

STEP = 100
"""Records between two signs of life."""


@dataclass(slots=True)
class FirstPass:
    """What pass 1 leaves beside its part files, one a source.

    `findings` are those that belong to no document; `hashes` the SHA-256 of each source file.
    """

    parts: list[Path] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    hashes: dict[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class _Mapped:
    """What came of one source: its part file, findings of no document, how many records."""

    part: Path
    findings: list[Finding] = field(default_factory=list)
    read: int = 0
    records: Counter[str] = field(default_factory=Counter)

    def packed(self) -> dict[str, Any]:
        """Return all but the part as JSON values."""
        findings = [pack_finding(finding) for finding in self.findings]
        return {"findings": findings, "read": self.read, "records": dict(self.records)}


def first_pass(
    shop: Workshop, work: Path, books: Books, clock: Clock, kept: Kept | None = None
) -> FirstPass:
    """Read and map every source of the project.

    Args:
        work: the folder for part files. `kept`: those of the last runs; a source is not read
            where neither it nor anything that maps it has changed since.

    Raises:
        UsageError: a source that cannot be read at all.
    """
    done = FirstPass()
    names = []
    for number, source in enumerate(shop.sources()):
        files = (source.file, *source.joins.values())
        done.hashes.update((file, _sha256(shop.project.folder / file)) for file in files)
        key = _key(shop, source, [done.hashes[file] for file in files])
        name = _digest(msgspec.json.encode(source))
        one = _again(kept, name, key)
        if one is None:
            one = _Mapped(work / f"drafts-{number}.sqlite")
            _map_source(shop, source, one, clock)
            if kept:
                one.part = kept.keep(one.part, name, key, one.packed())
        names.append(name)
        done.parts.append(one.part)
        done.findings += one.findings
        books.read += one.read
        books.records.update(one.records)
        if not one.read and source in shop.project.sources:
            done.findings.append(
                Finding(
                    "no-records",
                    f"`{source.file}` has no records",
                    Place(source.file),
                    hint="look whether it is the right file, and whether it was saved whole",
                )
            )
    if kept:
        kept.only(names)
    return done


def _key(shop: Workshop, source: Source, hashes: list[str]) -> str:
    """Return the hash of all that decides what is made of a source: its files, and what maps them."""
    project = shop.project
    files = [project.folder / PROJECT_FILE, project.path(source.mapping)]
    files += sorted((project.folder / VOCAB).glob("*.csv"))
    maps = [f"{path.name} {_sha256(path)}" for path in files]
    return _digest("\n".join([code(), *maps, *hashes]).encode())


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _again(kept: Kept | None, name: str, key: str) -> _Mapped | None:
    """Return what the last run made of the same source in the same way; None if it did not."""
    found = kept.find(name, key) if kept else None
    if found is None:
        return None
    part, note = found
    findings = [unpack_finding(values) for values in note["findings"]]
    return _Mapped(part, findings, note["read"], Counter(note["records"]))


def _map_source(shop: Workshop, source: Source, one: _Mapped, clock: Clock) -> None:
    writer = DraftWriter(one.part)
    try:
        with clock.stage(f"map {source.file}") as watcher:
            for count, _ in enumerate(_map(shop, source, writer, one), 1):
                if count % STEP == 0:
                    watcher.advance(STEP)
    finally:
        writer.close()


def _map(shop: Workshop, source: Source, writer: DraftWriter, one: _Mapped) -> Iterator[None]:
    chosen = shop.mapping(source.mapping)
    context = shop.context(source, one.findings.append)
    found: list[Finding] = []
    for item in shop.read(source, one.findings.append):
        one.read += 1
        yield
        if not isinstance(item, Record):
            one.records["unreadable"] += 1
            one.findings.append(unreadable_finding(item))
            continue
        found.clear()
        mapped = chosen.map(item, context, found.append)
        if mapped is None:
            one.records["unreadable"] += 1
            one.findings.extend(found)
            continue
        one.records["mapped"] += 1
        owned = _owned(found, mapped)
        one.findings.extend(finding for finding in owned if not finding.uri)
        writer.add(mapped, item.origin, _hash_of(mapped), [f for f in owned if f.uri])
    chosen.leftover(one.findings.append)


def _owned(found: list[Finding], mapped: Mapped) -> list[Finding]:
    """Say of each finding which document it is about: the record's first, unless it says so.

    That a document could not be named is not the fault of the next one that the record makes.
    """
    if not found or not mapped.documents:
        return list(found)
    uri = mapped.documents[0].uri
    return [
        finding if finding.uri or finding.code in ("iri", "key") else replace(finding, uri=uri)
        for finding in found
    ]


def _hash_of(mapped: Mapped) -> str:
    """The hash of the record, which every document of it has among its inputs."""
    for draft in mapped.documents:
        for made_from in draft.inputs:
            if made_from.kind == "row":
                return made_from.hash
    return ""


def _sha256(path: Path) -> str:
    try:
        with path.open("rb") as handle:
            return hashlib.file_digest(handle, "sha256").hexdigest()
    except OSError as error:
        raise UsageError(f"`{path.name}` cannot be read: {error.strerror}") from error
