"""Pass 1: every source read and mapped, a record at a time, into a part file."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

from lodpipe.errors import UsageError
from lodpipe.findings import Finding
from lodpipe.parts import DraftWriter
from lodpipe.pipeline.books import Books
from lodpipe.pipeline.progress import Clock
from lodpipe.pipeline.workshop import Workshop
from lodpipe.project import Source
from lodpipe.read import unreadable_finding
from lodpipe.records import Mapped, Place, Record

STEP = 100
"""Records between two signs of life."""


@dataclass(slots=True)
class FirstPass:
    """What pass 1 leaves beside its part file.

    `findings` are those that belong to no document; `hashes` the SHA-256 of each source file.
    """

    part: Path
    findings: list[Finding] = field(default_factory=list)
    hashes: dict[str, str] = field(default_factory=dict)


def first_pass(shop: Workshop, part: Path, books: Books, clock: Clock) -> FirstPass:
    """Read and map every source of the project.

    Raises:
        UsageError: a source that cannot be read at all.
    """
    done = FirstPass(part)
    writer = DraftWriter(part)
    try:
        for source in shop.sources():
            before = books.read
            with clock.stage(f"map {source.file}") as watcher:
                for count, _ in enumerate(_map(shop, source, writer, books, done), 1):
                    if count % STEP == 0:
                        watcher.advance(STEP)
            if books.read == before and source in shop.project.sources:
                done.findings.append(
                    Finding(
                        "no-records",
                        f"`{source.file}` has no records",
                        Place(source.file),
                        hint="look whether it is the right file, and whether it was saved whole",
                    )
                )
            done.hashes[source.file] = _sha256(shop.project.folder / source.file)
            for file in source.joins.values():
                done.hashes[file] = _sha256(shop.project.folder / file)
    finally:
        writer.close()
    return done


def _map(
    shop: Workshop, source: Source, writer: DraftWriter, books: Books, done: FirstPass
) -> Iterator[None]:
    chosen = shop.mapping(source.mapping)
    context = shop.context(source, done.findings.append)
    found: list[Finding] = []
    for item in shop.read(source, done.findings.append):
        books.read += 1
        yield
        if not isinstance(item, Record):
            books.records["unreadable"] += 1
            done.findings.append(unreadable_finding(item))
            continue
        found.clear()
        mapped = chosen.map(item, context, found.append)
        if mapped is None:
            books.records["unreadable"] += 1
            done.findings.extend(found)
            continue
        books.records["mapped"] += 1
        owned = _owned(found, mapped)
        done.findings.extend(finding for finding in owned if not finding.uri)
        writer.add(mapped, item.origin, _hash_of(mapped), [f for f in owned if f.uri])
    chosen.leftover(done.findings.append)


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
