"""What a worker does in pass 1: it maps its share of a source, each partition into a part file."""

import hashlib
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import groupby
from pathlib import Path
from typing import Any

import orjson

from lodpipe.findings import Finding
from lodpipe.mapping import Mapping, Met, SourceContext
from lodpipe.parts import DraftWriter, fresh, pack_finding, unpack_finding
from lodpipe.pipeline.workshop import Workshop
from lodpipe.project import Source
from lodpipe.read import ReadOptions, Share, place_of, stands_alone, unreadable_finding
from lodpipe.records import Mapped, Place, Record, Unreadable

OF_THE_SOURCE = -1
"""Stands for a partition in what is found in a source and belongs to no record."""


@dataclass(frozen=True, slots=True)
class MapShare:
    """A task: map a share of a source. `stem` begins the paths of its part files."""

    source: Source
    share: Share
    stem: Path


@dataclass(slots=True)
class Partition:
    """What came of one partition: its part file, findings of no document, and counts.

    `met` are the paths of its records. What belongs to no record has no part file, and the number
    `OF_THE_SOURCE`.
    """

    number: int
    part: Path = Path()
    findings: list[Finding] = field(default_factory=list)
    read: int = 0
    records: Counter[str] = field(default_factory=Counter)
    met: Met = ("", 0, ())

    def packed(self) -> dict[str, Any]:
        """Return all but the part as JSON values."""
        findings = [pack_finding(finding) for finding in self.findings]
        return {
            "number": self.number,
            "findings": findings,
            "read": self.read,
            "records": dict(self.records),
            "met": self.met,
        }


def unpacked(values: dict[str, Any], part: Path = Path()) -> Partition:
    """Return the partition that was packed, with its part."""
    form, records, paths = values["met"]
    seen = [
        (tuple(path), count, place and Place(**place), value) for path, count, place, value in paths
    ]
    findings = [unpack_finding(finding) for finding in values["findings"]]
    counts = Counter(values["records"])
    return Partition(
        values["number"], part, findings, values["read"], counts, (form, records, seen)
    )


def digests(shop: Workshop, source: Source, size: int) -> dict[int, str]:
    """Return, by number, a hash of what each partition of a source says and where that stands.

    Empty where partitions cannot be told apart: what is made of a record may depend on others.
    """
    if not stands_alone(source.file, ReadOptions(format=source.format)):
        return {}
    share = Share(size=size)
    found: defaultdict[int, hashlib._Hash] = defaultdict(hashlib.sha256)

    def take(record: int, *texts: bytes) -> None:
        for text in texts:
            found[share.partition(record)].update(text + b"\0")

    def report(finding: Finding) -> None:
        if finding.place and finding.place.record:
            take(finding.place.record, orjson.dumps(pack_finding(finding)))

    for item in shop.read(source, report, unparsed=True):
        place = place_of(item)
        said = item.data if isinstance(item, Record) else [item.code, item.reason, item.hint]
        text = said if isinstance(said, bytes) else orjson.dumps(said, default=str)
        take(place.record, text, str(place).encode())
    return {number: one.hexdigest() for number, one in found.items()}


def digest(content: bytes) -> str:
    """Return the SHA-256 of some bytes."""
    return hashlib.sha256(content).hexdigest()


def map_share(shop: Workshop, task: MapShare) -> Iterator[Partition]:
    """Read a source and yield what comes of each partition of a share, when it is done.

    Raises:
        UsageError: the source cannot be read at all, or its mapping does not fit it.
    """
    found: dict[int, list[Finding]] = defaultdict(list)

    def report(finding: Finding) -> None:
        record = finding.place.record if finding.place else 0
        found[task.share.partition(record) if record else OF_THE_SOURCE].append(finding)

    def partition_of(item: Record | Unreadable) -> int:
        return task.share.partition(place_of(item).record)

    context = shop.context(task.source, found[OF_THE_SOURCE].append)
    chosen = shop.mapping(task.source.mapping)
    for number, items in groupby(shop.read(task.source, report, task.share), key=partition_of):
        done = Partition(number, fresh(task.stem), found[number])
        writer = DraftWriter(done.part)
        try:
            # a context for each partition: it knows no more than what lies in its own part file
            _map(items, chosen, replace(context, once=True), writer, done)
        finally:
            writer.close()
        done.met = chosen.seen()
        yield done
    if task.share.has(0):
        yield Partition(OF_THE_SOURCE, findings=found[OF_THE_SOURCE])


def _map(
    items: Iterable[Record | Unreadable],
    chosen: Mapping,
    context: SourceContext,
    writer: DraftWriter,
    done: Partition,
) -> None:
    found: list[Finding] = []
    for item in items:
        done.read += 1
        if not isinstance(item, Record):
            done.records["unreadable"] += 1
            done.findings.append(unreadable_finding(item))
            continue
        found.clear()
        mapped = chosen.map(item, context, found.append)
        if mapped is None:
            done.records["unreadable"] += 1
            done.findings.extend(found)
            continue
        done.records["mapped"] += 1
        owned = _owned(found, mapped)
        done.findings.extend(finding for finding in owned if not finding.uri)
        writer.add(mapped, item.origin, _hash_of(mapped), [f for f in owned if f.uri])


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
