"""Documents of a release in every form, and what stands for those that are no longer there."""

import threading
from dataclasses import dataclass, field

import pyoxigraph

from lodpipe.archive import Archive, Document, Harvest
from lodpipe.project import Project
from lodpipe.publish import nquads
from lodpipe.publish.site.settings import OBJECT
from lodpipe.serve.forms import LINKED_ART, TURTLE, Form
from lodpipe.terms import Concepts

PREFIXES = {
    "crm": "http://www.cidoc-crm.org/cidoc-crm/",
    "la": "https://linked.art/ns/terms/",
    "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
    "skos": "http://www.w3.org/2004/02/skos/core#",
    "prov": "http://www.w3.org/ns/prov#",
    "xsd": "http://www.w3.org/2001/XMLSchema#",
}


@dataclass(frozen=True, slots=True)
class Found:
    """A document, or why there is none.

    Attributes:
        gone_since: the instant since when a document is no longer there; empty for one that is.
        told: why, in words for the public.
        moved_to: the IRI that took its place; empty for none.
        changed: the instant of the last change.
    """

    document: Document | None = None
    gone_since: str = ""
    told: str = ""
    moved_to: str = ""
    changed: str = ""


def look_up(archive: Archive, uri: str, release: int) -> Found:
    """Find a document in a release; of one that is withheld now no release has anything."""
    instants = Harvest(archive).instants()
    document = archive.document(uri, release)
    if document:
        return Found(document, changed=instants[document.from_release])
    row = archive.connection.execute(
        "SELECT new FROM renamed WHERE old = ? AND to_release IS NULL", (uri,)
    ).fetchone()
    if row:
        return Found(moved_to=str(row[0]))
    stone = archive.connection.execute(
        "SELECT from_release, told FROM tombstones WHERE uri = ? AND to_release IS NULL", (uri,)
    ).fetchone()
    return Found(gone_since=instants[stone[0]], told=stone[1]) if stone else Found()


def is_gone(archive: Archive, base: str, path: str) -> bool:
    """Return whether a page for readers is that of a document which is there no more.

    Args:
        path: of the page below the base: `page/item-0101`, `page/person/dolen.html`.
    """
    key = path.removeprefix("page/").removesuffix(".html")
    return any(archive.tombstone(base + way) for way in (key, OBJECT + key))


@dataclass(frozen=True, slots=True)
class Writer:
    """Writes documents in their forms."""

    _rdf: nquads.Writer
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @classmethod
    def of(cls, project: Project, concepts: Concepts) -> "Writer":
        """Return the writer of a project."""
        return cls(nquads.Writer(project.site.base, concepts, project.language))

    def body(self, document: Document, form: Form, archive: Archive, release: int) -> bytes:
        """Return a document in a form."""
        if form is LINKED_ART:
            return document.body
        triples = self._triples(document, archive, release)
        if form is not TURTLE:
            return triples
        parsed = pyoxigraph.parse(triples, format=pyoxigraph.RdfFormat.N_TRIPLES)
        made = pyoxigraph.serialize(
            (quad.triple for quad in parsed), format=pyoxigraph.RdfFormat.TURTLE, prefixes=PREFIXES
        )
        assert made is not None
        return _prefixes_sorted(made)

    def _triples(self, document: Document, archive: Archive, release: int) -> bytes:
        claims = (claim for _, claim in archive.claims(release, document.uri))
        premises = nquads.premises_of(claims)
        with self._lock:  # the emitter compiles as it goes, and not for two threads at once
            lines = self._rdf.triples(document.body, premises)
        return "".join(f"{line}\n" for line in lines).encode()


def _prefixes_sorted(turtle: bytes) -> bytes:
    """Return Turtle with its prefixes in order: the serializer has them in another one each time."""
    lines = turtle.split(b"\n")
    count = sum(line.startswith(b"@prefix ") for line in lines[: len(PREFIXES)])
    return b"\n".join([*sorted(lines[:count]), *lines[count:]])
