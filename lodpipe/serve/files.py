"""Files of the export, by their path in an IRI: pictures, manifests, pages, dumps.

Nothing outside the folder can be named: a path is taken apart into segments, and a segment that
is empty, `.`, `..`, hidden, or has a separator in it leads nowhere.
"""

from pathlib import Path
from urllib.parse import unquote

TYPES = {
    ".jpg": "image/jpeg",
    ".png": "image/png",
    ".webp": "image/webp",
    ".json": "application/json",
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".xml": "application/xml",
    ".ttl": "text/turtle; charset=utf-8",
    ".txt": "text/plain; charset=utf-8",
    ".zst": "application/zstd",
}
MANIFEST = 'application/ld+json;profile="http://iiif.io/api/presentation/3/context.json"'
FOLDERS = ("iiif", "page", "edm")
ALONE = ("dataset.ttl", "robots.txt", "sitemap.xml", "nquads.nq.zst", "linked-art.jsonl.zst")


def file_of(root: Path, path: str) -> tuple[Path, str] | None:
    """Return the file that a path names, and its media type; None for none.

    Args:
        root: the folder of the export. `path`: below the base, percent-encoded.
    """
    path = path or "index.html"
    segments = path.split("/")
    first = unquote(segments[0])
    is_page = len(segments) == 1 and path.endswith((".html", ".css", ".js"))
    if not (first in FOLDERS or path in ALONE or is_page or _is_sitemap(path)):
        return None
    plain = [_segment(segment) for segment in segments]
    if not all(plain):
        return None
    # a segment with a character that file systems refuse is kept encoded by the export
    for names in (plain, segments):
        for ending in ("", ".json", ".html"):
            found = root.joinpath(*names[:-1], names[-1] + ending)
            if found.suffix in TYPES and found.is_file() and _is_inside(found, root):
                shown = first == "iiif" and found.suffix == ".json" and found.name != "info.json"
                return found, MANIFEST if shown else TYPES[found.suffix]
    return None


def _is_sitemap(path: str) -> bool:
    number = path.removeprefix("sitemap-").removesuffix(".xml")
    return path == f"sitemap-{number}.xml" and number.isdigit() and number.isascii()


def _segment(segment: str) -> str:
    """Return a segment as it may be the name of a file; empty for one that may not.

    That is decoded, but for one that holds what file systems refuse: its file has the encoded name.
    """
    plain = unquote(segment)
    if plain.startswith(".") or "\0" in plain or not plain.isprintable() or len(plain) > 200:
        return ""
    if any(part.startswith(".") for part in plain.replace("\\", "/").split("/")):
        return ""
    return segment if any(character in plain for character in "/\\:") else plain


def _is_inside(path: Path, root: Path) -> bool:
    """Whether a file lies in the folder, also where a link leads elsewhere."""
    return path.resolve().is_relative_to(root.resolve())
