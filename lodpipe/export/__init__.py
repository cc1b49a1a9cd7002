"""A release as files: Linked Art JSON, N-Quads, IIIF manifests, EDM, pages for readers, the dataset.

Only folders that lodpipe owns are touched: an export holds `release.json`, which lodpipe wrote,
and a folder with anything else in it is refused. A file is written only where its bytes differ,
and a file that no longer follows from the release is taken away.
"""

import hashlib
import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import orjson
import zstandard

from lodpipe import evidence
from lodpipe.archive import Archive, Harvest, Slice
from lodpipe.errors import UsageError
from lodpipe.export.folder import (
    Folder,
    Written,
    extend_report,
    write_file,
    write_report,
)
from lodpipe.export.pictures import write_pictures
from lodpipe.iris import file_name, key_of
from lodpipe.project import Project
from lodpipe.publish import gone, iiif, nquads, site
from lodpipe.publish.harvest import EDM, about
from lodpipe.publish.harvest.dataset import Dump
from lodpipe.publish.site.settings import path_of
from lodpipe.rdf import class_iri
from lodpipe.records import Claim, Tree
from lodpipe.terms import Concepts

__all__ = [
    "Folder",
    "Job",
    "Written",
    "export",
    "extend_report",
    "file_name",
    "quads",
    "write_file",
    "write_report",
]

DOCUMENTS_IN_A_FRAME = 1_000
"""A reader can start at any zstd frame, and equal frames have equal bytes."""
LEVEL = 6
QUADS = "application/n-quads"
CLAIM = f"#type> <{class_iri('AttributeAssignment')}>".encode()
DUMPS = {
    # file -> title, media type, what it conforms to
    "nquads.nq.zst": ("All records as N-Quads", QUADS, ""),
    "linked-art.jsonl.zst": (
        "All records as Linked Art JSON-LD, one a line",
        "application/ld+json",
        "https://linked.art/api/1.0/",
    ),
}
XML_HEAD = b'<?xml version="1.0" encoding="UTF-8"?>\n'


def export(
    project: Project,
    concepts: Concepts,
    folder: Path,
    *,
    release: int | None = None,
    advance: Callable[[int], None] = lambda steps: None,
) -> Written:
    """Write a release to a folder, in every output that the project asks for.

    Args:
        release: its number; the newest when None.
        advance: told of every document written.

    Raises:
        UsageError: no archive, no such release, a folder that is not ours.
        NotFinishedError: the disk is full or the folder cannot be written.
    """
    with Archive(project.archive) as archive:
        latest = archive.latest()
        if latest is None:
            raise UsageError("there is no release yet", hint="make one with `lodpipe run`")
        chosen = archive.release(release) if release is not None else latest
        target = Folder(folder, chosen)
        job = Job(project, concepts, archive, chosen.number, target, advance)
        for output, write in _OUTPUTS.items():
            if output in project.export.outputs:
                write(job)
        for name, body in gone.files(
            project.site.base, archive.gone(chosen.number), archive.moved(chosen.number)
        ):
            target.put(name, body)
        return target.finish()


@dataclass(frozen=True, slots=True)
class Job:
    """What every output is made from: a release of a project, and the folder that takes it.

    `pages`: paths of the pages for readers that were written, which sitemaps list.
    """

    project: Project
    concepts: Concepts
    archive: Archive
    release: int
    target: Folder
    advance: Callable[[int], None]
    pages: list[str] = field(default_factory=list)


def _linked_art(job: Job) -> None:
    """A file a document, at its path under base; one `.jsonl.zst` where there are very many."""
    documents = job.archive.documents(job.release)
    if job.archive.count(job.release) > job.project.export.files_up_to:
        lines = (document.body.rstrip(b"\n") + b"\n" for document in documents)
        job.target.stream("linked-art.jsonl.zst", _frames(_counted(lines, job.advance)))
        return
    for document in documents:
        path = key_of(job.project.site.base, document.uri)
        job.target.put(f"linked-art/{path}.json", document.body)
        job.advance(1)


def _nquads(job: Job) -> None:
    """All documents in one compressed file, one named graph a document."""
    lines = quads(job.project, job.concepts, job.archive, job.release)
    job.target.stream("nquads.nq.zst", _frames(_counted(lines, job.advance)))


def quads(project: Project, concepts: Concepts, archive: Archive, release: int) -> Iterator[bytes]:
    """Yield the N-Quads of one document after another, in URI order."""
    writer = nquads.Writer(project.site.base, concepts, project.language)
    reasoning: dict[str, list[Claim]] = {}
    for uri, claim in archive.claims(release):
        if claim.facts:
            reasoning.setdefault(uri, []).append(claim)
    for document in archive.documents(release):
        premises = nquads.premises_of(reasoning.get(document.uri, ()))
        yield ("\n".join(writer.quads(document.body, premises)) + "\n").encode()


def _iiif(job: Job) -> None:
    """A manifest a thing that has a picture, and one collection of them all."""
    project, target = job.project, job.target
    base = project.site.base

    @lru_cache(maxsize=2_000)
    def tree_of(uri: str) -> Tree | None:
        document = job.archive.document(uri, job.release)
        return orjson.loads(document.body) if document else None

    site = iiif.site_of(project, job.concepts)
    layout = evidence.layout_of_rows(job.archive.layout(job.release))
    view = iiif.view_of(layout, tree_of)
    plan = iiif.plan(layout)
    made = set()
    for thing, manifest in iiif.manifests(plan, view, site):
        made.add(thing)
        target.put(_file_of(base, manifest["id"]), iiif.to_bytes(manifest))
        job.advance(1)
    write_pictures(iiif.local(plan, view, site), project, target, job.advance)
    label = {tag: [name] for tag, name in project.site.name.items()}
    for collection in iiif.collections(label, plan, view, site, made):
        target.put(_file_of(base, collection["id"]), iiif.to_bytes(collection))


def _site(job: Job) -> None:
    """The pages for readers."""
    reader = site.ArchiveReader(job.archive, job.release)
    plan = iiif.plan(evidence.layout_of_rows(job.archive.layout(job.release)))
    settings = site.settings_of(job.project, job.concepts, job.archive, job.release)
    gone_now = job.archive.gone(job.release)
    tombstones = {path_of(job.project.site.base, uri) for uri, *_ in gone_now}
    for name, body in site.pages(reader, plan, settings, gone_now):
        job.target.put(name, body)
        job.advance(1)
        # a page in a further language stands in a folder of that language
        if name.endswith(".html") and tombstones.isdisjoint((name, name.partition("/")[2])):
            job.pages.append(name)


def _edm(job: Job) -> None:
    """A file a thing that aggregators take: the bytes that a harvester gets of it."""
    harvest = Harvest(job.archive)
    chosen = Slice(EDM, job.release)
    after = (0, "")
    while some := harvest.some(chosen, after):
        for one in some:
            if one.body is not None:
                path = key_of(job.project.site.base, one.uri)
                job.target.put(f"edm/{path}.xml", XML_HEAD + one.body + b"\n")
                job.advance(1)
        after = (some[-1].release, some[-1].uri)


def _dataset(job: Job) -> None:
    """Description of the dataset, change streams, sitemaps; last, since it tells of the dumps."""
    dumps = []
    triples = claims = 0
    for name, (title, media_type, profile) in DUMPS.items():
        path = job.target.written(name)
        if path is not None:
            if media_type == QUADS:
                triples, claims = _counts(path)
            dumps.append(Dump(name, title, media_type, *_size_and_hash(path), profile))
    found = about.files(
        job.project,
        job.concepts,
        job.archive,
        job.release,
        dumps,
        pages=job.pages,
        triples=triples,
        claims=claims,
    )
    for name, body in found:
        job.target.put(name, body)


def _size_and_hash(path: Path) -> tuple[int, str]:
    with path.open("rb") as handle:
        return path.stat().st_size, hashlib.file_digest(handle, "sha256").hexdigest()


def _counts(path: Path) -> tuple[int, int]:
    """Return how many triples a dump holds, and how many claims."""
    triples = claims = 0
    with path.open("rb") as handle:
        reader = zstandard.ZstdDecompressor().stream_reader(handle, read_across_frames=True)
        for line in io.BufferedReader(reader, 1 << 20):
            triples += 1
            claims += CLAIM in line
    return triples, claims


_OUTPUTS: dict[str, Callable[[Job], None]] = {
    "linked-art": _linked_art,
    "nquads": _nquads,
    "iiif": _iiif,
    "edm": _edm,
    "site": _site,
    "dataset": _dataset,
}


def _file_of(base: str, iri: str) -> str:
    return iri.removeprefix(base) + ".json"


def _frames(blocks: Iterator[bytes]) -> Iterator[bytes]:
    """Compress with one thread and a fixed level, a frame every thousand documents."""
    compressor = zstandard.ZstdCompressor(level=LEVEL, threads=0, write_content_size=True)
    waiting: list[bytes] = []
    for block in blocks:
        waiting.append(block)
        if len(waiting) == DOCUMENTS_IN_A_FRAME:
            yield compressor.compress(b"".join(waiting))
            waiting = []
    if waiting:
        yield compressor.compress(b"".join(waiting))


def _counted(blocks: Iterator[bytes], advance: Callable[[int], None]) -> Iterator[bytes]:
    for block in blocks:
        yield block
        advance(1)
