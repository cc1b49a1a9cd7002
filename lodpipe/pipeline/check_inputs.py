"""What can be checked: projects, archives, evidence, manifests, files of linked data.

Each reader yields the documents that shapes are for, and gives everything else to the run.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import takewhile
from pathlib import Path
from typing import Any

import orjson

from lodpipe import evidence, project, rdf_read, terms
from lodpipe.archive import Archive
from lodpipe.aspects import builtin_aspects
from lodpipe.check import iiif, sample_of
from lodpipe.errors import NotFinishedError, UsageError
from lodpipe.evidence.columns import ENDINGS, FILES, Folder
from lodpipe.findings import INFO, Finding
from lodpipe.pipeline.back import Ways, place_of
from lodpipe.pipeline.check_run import CheckRun, Item
from lodpipe.pipeline.cross import cross_findings
from lodpipe.pipeline.gather import gather
from lodpipe.pipeline.workshop import Workshop, open_workshop
from lodpipe.project import PROJECT_FILE, Limits, Project
from lodpipe.rdf import Emitter
from lodpipe.records import Place
from lodpipe.terms import VOCAB, Concepts

ARCHIVE = ".sqlite"
LEDGER = "claims"
FOLDERS = ("object", "person", "group", "place", "activity", "text", "visual", "set", "digital")
_OTHER_IIIF = ("http://iiif.io/api/image/", "http://iiif.io/api/discovery/")
_RELEASE = "release.json"


def project_at(path: Path) -> Path | None:
    """Return the folder of the project that a path names: the folder, its file, or its archive."""
    if (path / PROJECT_FILE).is_file():
        return path
    if path.name == PROJECT_FILE and path.is_file():
        return path.parent
    if path.suffix == ARCHIVE or (path / f"archive{ARCHIVE}").is_file():
        file = path if path.suffix == ARCHIVE else path / f"archive{ARCHIVE}"
        for above in file.resolve().parents[:2]:
            if (above / PROJECT_FILE).is_file():
                chosen = project.load(above)
                return above if _same(chosen.archive, file) else None
    return None


def items(path: Path, run: CheckRun) -> Iterator[Item]:
    """Yield the documents at a path, and report what else is wrong there.

    Raises:
        UsageError: a path that is not there, or that holds nothing that can be checked.
    """
    run.ways = Ways()
    home = project_at(path)
    if home is not None:
        shop = open_workshop(project.load(home))
        run.ways = Ways(shop)
        concepts, base, language = shop.concepts, shop.project.site.base, shop.project.language
        yield from _archived(shop.project.archive, run, concepts, base, language)
    elif not path.exists():
        raise UsageError(f"there is nothing at `{path.name}`", hint="look at the path")
    elif path.suffix == ARCHIVE:
        yield from _lone_archive(path, run)
    elif (path / f"archive{ARCHIVE}").is_file():
        yield from _lone_archive(path / f"archive{ARCHIVE}", run)
    elif _is_evidence(path):
        yield from _evidence(path, run)
    else:
        yield from _files(path, run)


def _same(one: Path, other: Path) -> bool:
    return one.exists() and other.exists() and one.samefile(other)


# archives


def _archived(
    path: Path, run: CheckRun, concepts: Concepts, base: str, language: str
) -> Iterator[Item]:
    with Archive(path) as archive:
        archive.verify()
        latest = archive.latest()
        if latest is None:
            raise UsageError("there is no release yet", hint="make one with `lodpipe run`")
        number = latest.number
        base = base or base_of(archive.uris(number))
        emitter = Emitter(base, concepts, language=language)
        run.checker.set_sample(sample_of(archive.uris(number), latest.created))
        stopped = {uri for uri, _ in archive.stopped(number)}
        told = set()
        for finding in archive.findings(number):
            # what shapes find in published documents is found again; of stopped ones it is kept
            if finding.code != "shape-unused" and (
                finding.code != "shape" or finding.uri in stopped
            ):
                run.report(finding)
                told.add((finding.code, finding.place))
        for finding in cross_findings(archive, number, base):
            place = finding.place or place_of(finding.path, archive.trace(finding.uri))
            if (finding.code, place) not in told:  # the run may have told it already
                run.report(replace(finding, place=place))
        for document in archive.documents(number):
            tree = orjson.loads(document.body)
            del tree["@context"]
            trace = [] if document.uri in stopped else archive.trace(document.uri)
            yield Item(emitter.emit(tree), trace)


def _lone_archive(path: Path, run: CheckRun) -> Iterator[Item]:
    try:
        yield from _archived(path, run, terms.concepts(), "", "en")
    except NotFinishedError as error:
        raise UsageError(error.message, hint=error.hint) from error


def base_of(uris: Iterator[str]) -> str:
    """Return the base of a release: what all its IRIs begin with, up to the folder of a kind."""
    first = last = next(uris, "")
    for uri in uris:
        last = uri  # they are sorted: what the two ends share, all share
    same = takewhile(lambda pair: pair[0] == pair[1], zip(first, last, strict=False))
    base = "".join(character for character, _ in same).rpartition("/")[0]
    folder = base.rpartition("/")[2]
    return (base.removesuffix(f"/{folder}") if folder in (*FOLDERS, VOCAB[:-1]) else base) + "/"


# evidence


def _is_evidence(path: Path) -> bool:
    """Whether a path is a table, or a folder with a ledger, or the evidence of a project."""
    if not path.is_dir():
        return path.suffix.lower() in ENDINGS
    ledger = any((path / f"{LEDGER}{ending}").is_file() for ending in ENDINGS)
    return ledger or _project_around(path) is not None


def _evidence(path: Path, run: CheckRun) -> Iterator[Item]:
    folder = path if path.is_dir() else path.parent
    if path.is_file() and path.stem not in FILES:
        raise UsageError(
            f"`{path.name}` is no file of evidence",
            hint=f"those are named {', '.join(FILES)}; a catalogue is checked by `lodpipe run`",
        )
    chosen = _project_around(folder)
    name = chosen.evidence.folder if chosen else folder.resolve().name
    only = "" if path.is_dir() else f"{name}/{path.name}"
    limits = chosen.limits if chosen else Limits()
    for stem in FILES:
        for ending in ENDINGS:
            file = folder / (stem + ending)
            if file.is_file() and (path.is_dir() or file.name == path.name):
                rows = Folder(folder, name, limits, lambda finding: None).rows(stem)
                run.evidence(stem, sum(1 for _ in rows), file.read_bytes())
    if chosen is None:
        _lone_evidence(folder, name, run, only)
    else:
        yield from _evidence_of(open_workshop(chosen), run, only)


def _project_around(folder: Path) -> Project | None:
    """Return the project whose evidence a folder is."""
    for above in folder.resolve().parents:
        if (above / PROJECT_FILE).is_file():
            chosen = project.load(above)
            return chosen if _same(chosen.folder / chosen.evidence.folder, folder) else None
    return None


def _lone_evidence(folder: Path, name: str, run: CheckRun, only: str) -> None:
    """Check lines against one another and the lists; no key can be looked up."""
    found: list[Finding] = []
    tables = project.builtin("mappings") / "vocab"
    loaded = evidence.load(
        folder,
        name,
        aspects=builtin_aspects(),
        qualifiers=terms.read_table("qualifiers", tables / "qualifiers.csv"),
        limits=Limits(),
        report=found.append,
    )
    evidence.settle(loaded.evidence.claims, builtin_aspects(), found.append)
    found.append(Finding("no-project", "the keys were not looked up", Place(only or name)))
    for finding in found:
        if _concerns(finding.place, only or f"{name}/", only):
            run.report(finding)


def _evidence_of(shop: Workshop, run: CheckRun, only: str) -> Iterator[Item]:
    """Check evidence as a run would: with all documents, which are made and not released."""
    folder = shop.project.evidence.folder + "/"
    with gather(shop) as gathered:
        found = list(gathered.findings)
        for made, _ in gathered.middle.finished(shop, gathered.index, gathered.index.documents()):
            found += made.findings
    for finding in found:
        if _concerns(finding.place, folder, only):
            run.report(finding)
    yield from ()


def _concerns(place: Place | None, folder: str, only: str) -> bool:
    if place is None:
        return False
    return place.file == only if only else place.file.startswith(folder.rstrip("/"))


# files


def _files(path: Path, run: CheckRun) -> Iterator[Item]:
    for file in _found(path):
        name = (file.relative_to(path) if path.is_dir() else Path(file.name)).as_posix()
        if name == _RELEASE or (path.is_dir() and _is_sitemap(file)):
            continue  # what an export says of itself
        if rdf_read.ending(file) in rdf_read.JSON_ENDINGS and _taken(file, name, run):
            continue
        for emitted in rdf_read.read(file, name, run.report):
            yield Item(emitted, file=name)


def _is_sitemap(file: Path) -> bool:
    """Whether an XML file is a list of addresses for crawlers, https://www.sitemaps.org/protocol.html."""
    if file.suffix != ".xml":
        return False
    with file.open("rb") as handle:
        return b"http://www.sitemaps.org/schemas/sitemap/" in handle.read(500)


def _found(path: Path) -> list[Path]:
    try:
        return rdf_read.found(path)
    except UsageError as error:
        raise UsageError(
            f"`{path.name}` holds nothing that can be checked",
            hint=f"a project, an archive.sqlite, an evidence folder, or files; {error.hint}",
        ) from error


def _taken(file: Path, name: str, run: CheckRun) -> bool:
    """Check a JSON file that is no linked data of ours, or report it; False for all others."""
    with rdf_read.opened(file) as stream:
        body = stream.read()
    try:
        tree: Any = orjson.loads(body)
    except orjson.JSONDecodeError:
        return False  # reported by the reader of linked data
    contexts = tree.get("@context") if isinstance(tree, dict) else None
    if any(str(c).startswith(_OTHER_IIIF) for c in _listed(contexts)):
        message = "a document of another IIIF API, for which there are no rules"
    elif not iiif.is_iiif(tree):
        return False
    elif iiif.is_old(tree):
        message = "a document of an earlier version of the IIIF Presentation API"
    else:
        run.manifest(tree, body, name)
        return True
    run.report(Finding("no-rules", message, Place(name), severity=INFO, value=name))
    return True


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]
