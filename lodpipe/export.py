"""A release as files: Linked Art JSON, N-Quads, IIIF manifests.

Only folders that lodpipe owns are touched: an export holds `release.json`, which lodpipe wrote,
and a folder with anything else in it is refused. A file is written only where its bytes differ,
and a file that no longer follows from the release is taken away.
"""

import hashlib
import io
import os
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from urllib.parse import unquote

import orjson
import zstandard

from lodpipe import evidence
from lodpipe.archive import Archive, Harvest, Release, Slice
from lodpipe.errors import LodpipeError, NotFinishedError, UsageError
from lodpipe.findings import Finding
from lodpipe.iris import key_of
from lodpipe.parts.pack import pack_finding
from lodpipe.project import Project
from lodpipe.publish import iiif, nquads, pictures
from lodpipe.publish.harvest import EDM, about
from lodpipe.publish.harvest.dataset import Dump
from lodpipe.rdf import Emitter, class_iri
from lodpipe.records import Premise, Tree
from lodpipe.terms import Concepts

MARK = "release.json"
DOCUMENTS_IN_A_FRAME = 1_000
"""A reader can start at any zstd frame, and equal frames have equal bytes."""
LEVEL = 6
_SAFE = re.compile(r"\w(?:[\w .,;()+='!@&~\-]*[^ .])?")
"""A file name that every usual file system takes as it stands."""
WHOLE = "/full/max/0/default.jpg"
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


@dataclass(slots=True)
class Written:
    """What an export did: files that are new or differ, files left as they were, files taken away."""

    release: int
    written: list[str] = field(default_factory=list)
    same: int = 0
    removed: list[str] = field(default_factory=list)


class Folder:
    """The folder of an export. Writes inside it only, and only what differs.

    Files that differ are first written beside those that they replace, ending in `.part`; only
    when all are on disk do they take their names. A run that is killed, or meets a full disk,
    leaves the release that lies there.
    """

    def __init__(self, root: Path, release: Release) -> None:
        """Take a folder that is empty, not there yet, or an export of ours.

        Raises:
            UsageError: something else is in it.
            NotFinishedError: it cannot be written.
        """
        self._root = root
        self._kept: set[Path] = set()
        self._waiting: dict[Path, None] = {}  # in the order written
        self.result = Written(release.number)
        ours = (root / MARK, _half(root / MARK))  # the latter where the first export was cut short
        if root.is_dir() and any(root.iterdir()) and not any(mark.is_file() for mark in ours):
            raise UsageError(
                f"the folder `{root.name}` holds files that are not an export",
                hint="name an empty folder, or one that does not exist yet",
            )
        mark = {
            "release": release.number,
            "visible_from": release.visible_from,
            "tool": release.tool,
        }
        self.put(MARK, orjson.dumps(mark, option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE))

    def put(self, name: str, body: bytes) -> None:
        """Write one file, unless it holds these bytes already.

        Args:
            name: its path below the base of the site, percent-encoded as in an IRI.
        """
        path = self._path(name)
        if path.is_file() and path.stat().st_size == len(body) and path.read_bytes() == body:
            self.result.same += 1
            return
        self.stream(name, iter((body,)))

    def stream(self, name: str, chunks: Iterator[bytes]) -> None:
        """Write one file from chunks; `finish` gives it its name."""
        path = self._path(name)
        half = _half(path)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with half.open("wb") as handle:
                for chunk in chunks:
                    handle.write(chunk)
            if path.is_file() and _equal(path, half):
                half.unlink()
                self.result.same += 1
                return
        except OSError as error:
            raise _not_written(name, error) from error
        if path not in self._waiting:
            self._waiting[path] = None
            self.result.written.append(name)

    def written(self, name: str) -> Path | None:
        """Return the path of a file that this export has written; None for one it has not."""
        path = Path(os.path.normpath(self._root / file_name(name)))
        return path if path in self._kept else None

    def finish(self) -> Written:
        """Take away the files that no longer follow from the release, and name those that do.

        Raises:
            NotFinishedError: the folder cannot be written.
        """
        if self._waiting:
            os.sync()  # one call for all files: a name must not reach the disk before its bytes
        halves = {_half(path) for path in self._waiting}
        try:
            for path in sorted(self._root.rglob("*"), reverse=True):
                if path.is_dir():
                    if not any(path.iterdir()):
                        path.rmdir()
                elif path not in self._kept and path not in halves:
                    path.unlink()
                    self.result.removed.append(path.relative_to(self._root).as_posix())
            for path in reversed(self._waiting):  # the mark, written first, comes last
                _half(path).replace(path)
        except OSError as error:
            raise _not_written(self._root.name, error) from error
        self.result.removed.reverse()
        return self.result

    def _path(self, name: str) -> Path:
        path = Path(os.path.normpath(self._root / file_name(name)))
        if not path.is_relative_to(self._root) or path == self._root:
            raise NotFinishedError(f"`{name}` lies outside the export folder")
        self._kept.add(path)
        return path


def _half(path: Path) -> Path:
    return path.with_name(path.name + ".part")


def _not_written(name: str, error: OSError) -> NotFinishedError:
    return NotFinishedError(
        f"`{name}` could not be written: {error.strerror}",
        hint="make room or mend the permissions of the export folder, then export again",
    )


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
        return target.finish()


def file_name(path: str) -> str:
    """Return the file of a path of an IRI, where a web server looks for it.

    Servers decode a path before they look for the file (RFC 3986 section 2.4). A segment that
    holds what file systems forbid or read as something else stays as it is in the IRI, and so
    does one with a `%` of its own: no two paths come to one file. File systems that fold case
    still make one of two keys that differ only in that.

    >>> file_name("object/20344012%2CT.json"), file_name("object/12%2F3.json")
    ('object/20344012,T.json', 'object/12%2F3.json')
    """
    return "/".join(
        plain if _SAFE.fullmatch(plain := unquote(part)) else part for part in path.split("/")
    )


def write_file(path: Path, body: bytes) -> None:
    """Write one file that the user named, whole or not at all."""
    half = _half(path)
    try:
        half.write_bytes(body)
        half.replace(path)
    finally:
        half.unlink(missing_ok=True)


def write_report(path: Path, findings: Iterable[Finding]) -> None:
    """Write every finding of a run, one JSON object a line, for the house only: it never leaves."""
    half = _half(path)
    try:
        with half.open("wb") as handle:
            for finding in findings:
                values = {**pack_finding(finding), "place": str(finding.place or "")}
                handle.write(orjson.dumps(values, option=orjson.OPT_APPEND_NEWLINE))
    except OSError:
        half.unlink(missing_ok=True)  # the report of the last run is worth more than half a report
        raise
    except LodpipeError:
        half.replace(path)  # the run has said why it ends, and the report has all that it found
        raise
    half.replace(path)


@dataclass(frozen=True, slots=True)
class Job:
    """What every output is made from: a release of a project, and the folder that takes it."""

    project: Project
    concepts: Concepts
    archive: Archive
    release: int
    target: Folder
    advance: Callable[[int], None]


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
    emitter = Emitter(project.site.base, concepts, language=project.language)
    beliefs = nquads.Beliefs(project.site.base, concepts)
    premises: dict[str, dict[str, tuple[Premise, ...]]] = {}
    for uri, claim in archive.claims(release):
        if claim.facts:
            premises.setdefault(uri, {})[claim.key] = claim.facts
    for document in archive.documents(release):
        tree = orjson.loads(document.body)
        del tree["@context"]
        lines = nquads.document_lines(emitter.emit(tree), beliefs, premises.get(document.uri))
        yield ("\n".join(lines) + "\n").encode()


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
    for thing, manifest in iiif.manifests(plan, view, site):
        target.put(_file_of(base, manifest["id"]), iiif.to_bytes(manifest))
        _crop(project.folder, plan, thing, site, target)
        job.advance(1)
    for image in layout.images:
        if image.file:
            name = iiif.picture_iri(image, site).removeprefix(base) + WHOLE
            target.put(name, pictures.jpeg(project.folder / image.file, covered=image.covered))
            job.advance(1)
    label = {tag: [name] for tag, name in project.site.name.items()}
    whole = iiif.collection("all", label, plan, view, site)
    if whole:
        target.put(_file_of(base, whole["id"]), iiif.to_bytes(whole))


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
        job.project, job.concepts, job.archive, job.release, dumps, triples=triples, claims=claims
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
    "dataset": _dataset,
}


def _crop(folder: Path, plan: iiif.Plan, thing: str, site: iiif.Site, target: Folder) -> None:
    """Write the picture of a pasted item, cut from that of its page: level 0 answers no region."""
    spot = plan.spot(thing)
    if thing in plan.sheets or spot is None or not spot[1].image.file:
        return
    placed, sheet = spot
    name = iiif.crop_iri(thing, site).removeprefix(site.base) + WHOLE
    image = sheet.image
    target.put(name, pictures.jpeg(folder / image.file, iiif.box(placed.region), image.covered))


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


def _equal(left: Path, right: Path) -> bool:
    if left.stat().st_size != right.stat().st_size:
        return False
    with left.open("rb") as one, right.open("rb") as other:
        while True:
            block = one.read(1 << 20)
            if block != other.read(1 << 20):
                return False
            if not block:
                return True
