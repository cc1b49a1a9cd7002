"""One document in one form, with the headers that stand over it; and whether a client has it.

https://www.rfc-editor.org/rfc/rfc9110, sections 12.5.1 (negotiation) and 13 (conditional requests).
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import format_datetime, parsedate_to_datetime
from functools import lru_cache
from pathlib import Path

from lodpipe.archive import Archive, Document, Harvest
from lodpipe.project import Project
from lodpipe.publish.site.settings import path_of
from lodpipe.serve import documents, files
from lodpipe.serve.forms import HTML, LINKED_ART, NTRIPLES, TURTLE, Form, chosen
from lodpipe.terms import Concepts

COMMON = {
    "Access-Control-Allow-Origin": "*",
    "Access-Control-Expose-Headers": "ETag, Last-Modified, Link, Memento-Datetime",
    "X-Content-Type-Options": "nosniff",
}
FORMS = (LINKED_ART, TURTLE, NTRIPLES)
WITH_PAGE = (*FORMS, HTML)


@dataclass(frozen=True, slots=True)
class Answer:
    """What is answered: headers and body.

    Attributes:
        changed: instant of the last change, ISO 8601 with `Z`.
        page: the file that the body was read from, and what told it apart before it was read;
            None for what the archive holds.
    """

    headers: dict[str, str]
    body: bytes
    changed: str
    page: tuple[Path, tuple[int, int]] | None = None

    def is_fresh(self) -> bool:
        """Whether the file that it was read from is still that one."""
        return self.page is None or _stamp(self.page[0]) == self.page[1]

    def is_known(self, asked: Mapping[str, str]) -> bool:
        """Whether a client has this already (section 13.2.2).

        Args:
            asked: headers of the request, with small letters.
        """
        return is_known(self.headers["ETag"], self.changed, asked)


@dataclass(frozen=True, slots=True)
class Reader:
    """Answers reads of documents."""

    project: Project
    writer: documents.Writer

    @classmethod
    def of(cls, project: Project, concepts: Concepts) -> "Reader":
        """Return the reader of a project."""
        return cls(project, documents.Writer.of(project, concepts))

    def answer(
        self,
        archive: Archive,
        document: Document,
        accept: str,
        release: int,
        *,
        memento: bool = False,
    ) -> Answer | None:
        """Return a document in the form that a client prefers; None where it takes none.

        Args:
            memento: the document as it was: without the page, which is of today.
        """
        form = preferred(accept)
        file = self.page(document.uri) if form is HTML and not memento else None
        if file is not None:
            return _of_file(file)
        form = chosen(accept, FORMS)
        if form is None:
            return None
        instants = Harvest(archive).instants()
        since = instants[document.from_release]
        # triples also tell of premises, which may change while the document does not
        plain = form is LINKED_ART
        changed = since if plain else instants[release]
        tag = document.hash[:24] if plain else f"{document.hash[:24]}-{release}"
        headers = {
            **COMMON,
            "Vary": "Accept",
            "ETag": f'"{tag}-{form.name}"',
            "Last-Modified": http_date(changed),
            "Link": f'<{document.uri}>; rel="canonical"',
            "Content-Type": form.media_type,
        }
        if memento:
            headers["Memento-Datetime"] = http_date(since)
        return Answer(headers, self.writer.body(document, form, archive, release), changed)

    def forms(self, document: Document, *, memento: bool) -> tuple[Form, ...]:
        """Return the forms that there are of a document."""
        return FORMS if memento or self.page(document.uri) is None else WITH_PAGE

    def page(self, uri: str) -> Path | None:
        """Return the page for readers of a document, where the export has one."""
        root = self.project.folder / self.project.export.folder
        found = files.file_of(root, path_of(self.project.site.base, uri))
        return found[0] if found else None


@lru_cache(maxsize=1_000)
def preferred(accept: str) -> Form | None:
    """Return the form that an Accept header prefers where there are all."""
    return chosen(accept, WITH_PAGE)


def is_known(tag: str, changed: str, asked: Mapping[str, str]) -> bool:
    """Whether a client has an answer already, by its ETag or else by the instant of its change."""
    tags = asked.get("if-none-match")
    if tags is not None:
        known = [one.strip().removeprefix("W/") for one in tags.split(",")]
        return tag in known or "*" in known
    since = asked.get("if-modified-since")
    if not since:
        return False
    try:
        return datetime.fromisoformat(changed) <= parsedate_to_datetime(since)
    except (ValueError, TypeError):
        return False


def http_date(instant: str) -> str:
    """Return an instant as HTTP writes it (RFC 9110, section 5.6.7)."""
    return format_datetime(datetime.fromisoformat(instant).astimezone(UTC), usegmt=True)


def _of_file(file: Path) -> Answer:
    stamp, body = _stamp(file), file.read_bytes()
    moment = datetime.fromtimestamp(int(file.stat().st_mtime), UTC)
    changed = moment.strftime("%Y-%m-%dT%H:%M:%SZ")
    headers = {
        **COMMON,
        "Vary": "Accept",
        "ETag": f'"{hashlib.sha256(body).hexdigest()[:24]}"',
        "Last-Modified": http_date(changed),
        "Content-Type": HTML.media_type,
    }
    return Answer(headers, body, changed, (file, stamp))


def _stamp(file: Path) -> tuple[int, int]:
    """Return what tells a file from another one of its name; exports put a new one in its place."""
    try:
        found = file.stat()
    except OSError:
        return -1, -1
    return found.st_ino, found.st_mtime_ns
