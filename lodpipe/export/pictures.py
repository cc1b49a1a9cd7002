"""The pictures of an export, each as a static image service; those that lie there are left alone.

What a picture was made from, and what came of it, is remembered beside the archive, as hashes
only. It never leaves: the hash of a file would tell who has that file which part of it is hidden.
"""

import hashlib
from collections.abc import Callable, Iterable
from pathlib import Path

import orjson

from lodpipe.errors import ManyErrors
from lodpipe.export.folder import Folder, write_file
from lodpipe.project import Project
from lodpipe.publish import iiif, pictures
from lodpipe.publish.iiif import Source
from lodpipe.publish.pictures import PictureFault

MEMORY = "pictures.json"
"""Beside the archive: recipe of a service to the digest of its files."""


def write_pictures(
    found: Iterable[tuple[str, Source]],
    project: Project,
    target: Folder,
    advance: Callable[[int], None],
) -> None:
    """Write the files of each image service, given by its id.

    A service is not made again where an export has made it from the same file, regions and
    painted areas, and its files are still those.

    Raises:
        ManyErrors: every file that is missing, cannot be read, or is another one than that of
            the release.
    """
    memory = project.archive.parent / MEMORY
    before, now = _remembered(memory), dict[str, str]()
    hashes: dict[str, str] = {}
    faults: dict[str, PictureFault] = {}
    for base, source in found:
        try:
            if source.file not in hashes:
                hashes[source.file] = _hash(project.folder / source.file, source.file)
            recipe = pictures.recipe(source, base, hashes[source.file])
            name = base.removeprefix(project.site.base)
            if before.get(recipe) == (made := _kept(name, source, target)):
                now[recipe] = made
                for end in _ends(source):
                    target.keep(name + end)
            else:
                now[recipe] = _made(name, source, project.folder, base, target)
        except PictureFault as fault:
            faults.setdefault(source.file, fault)
        advance(1)
    if faults:
        raise ManyErrors(faults.values())
    if now != before:
        write_file(memory, orjson.dumps(now, option=orjson.OPT_SORT_KEYS))


def _ends(source: Source) -> list[str]:
    """Return the ends of the names of all files of a service."""
    return ["/info.json", *(name for name, _, _ in iiif.files(*source.extent))]


def _kept(name: str, source: Source, target: Folder) -> str:
    """Return the digest of the files of a service that lie there; empty when one is missing."""
    digest = hashlib.sha256()
    for end in _ends(source):
        body = target.read(name + end)
        if body is None:
            return ""
        _add(digest, end, body)
    return digest.hexdigest()


def _made(name: str, source: Source, folder: Path, base: str, target: Folder) -> str:
    """Make a service, write its files, and return their digest."""
    digest = hashlib.sha256()
    for end, body in pictures.service(source, folder, base):
        _add(digest, end, body)
        target.put(name + end, body)
    return digest.hexdigest()


def _add(digest: "hashlib._Hash", end: str, body: bytes) -> None:
    digest.update(f"{end} {len(body)}\n".encode())
    digest.update(body)


def _hash(path: Path, file: str) -> str:
    if not path.is_file():
        raise PictureFault(f"there is no file `{file}`", hint="put it back, or run again")
    with path.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()


def _remembered(memory: Path) -> dict[str, str]:
    """Return what is remembered; nothing where it cannot be read: all is made anew then."""
    try:
        found = orjson.loads(memory.read_bytes())
    except (OSError, orjson.JSONDecodeError):
        return {}
    return found if isinstance(found, dict) else {}
