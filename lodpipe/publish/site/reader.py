"""A release in the archive, as the pages read it."""

from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any

import orjson

from lodpipe import evidence
from lodpipe.archive import Archive
from lodpipe.evidence.facts import Stay
from lodpipe.project import Project
from lodpipe.publish.iiif import language_tags
from lodpipe.publish.site.settings import Settings
from lodpipe.records import Claim, Tree
from lodpipe.terms import Concepts
from lodpipe.wording import language_for

KEPT = 4_000
"""Documents that are kept in memory: neighbours are asked for again and again."""


class ArchiveReader:
    """Reads one release; what its pages ask for several times is kept for a while."""

    def __init__(self, archive: Archive, release: int) -> None:
        self._archive, self._release = archive, release
        self.get = lru_cache(maxsize=KEPT)(self._get)
        self.claims = lru_cache(maxsize=KEPT)(self._claims)
        self.verdicts = lru_cache(maxsize=KEPT)(self._verdicts)

    def documents(self) -> Iterator[Tree]:
        """Yield every document, in IRI order."""
        for document in self._archive.documents(self._release):
            yield orjson.loads(document.body)

    def lines(self) -> Iterator[tuple[str, Claim]]:
        """Yield document and claim, of all documents in IRI order."""
        return self._archive.claims(self._release)

    def stays(self) -> tuple[Stay, ...]:
        """Return who was where, when."""
        return evidence.stays_of_rows(self._archive.layout(self._release))

    def _get(self, uri: str) -> Tree | None:
        document = self._archive.document(uri, self._release)
        return orjson.loads(document.body) if document else None

    def _claims(self, uri: str) -> list[Claim]:
        return [claim for _, claim in self._archive.claims(self._release, uri)]

    def _verdicts(self, uri: str) -> Mapping[str, Any]:
        return self._archive.verdicts(self._release, uri)


def settings_of(project: Project, concepts: Concepts, archive: Archive, release: int) -> Settings:
    """Return what the pages of a project go by; languages without words of ours are left out."""
    site, outputs = project.site, project.export.outputs
    one_file = archive.count(release) > project.export.files_up_to
    return Settings(
        base=site.base,
        name=site.name,
        languages=tuple(dict.fromkeys(language_for(tag) for tag in site.languages)),
        contact=site.contact,
        rights=site.rights,
        tags=language_tags(concepts, site.base),
        release=release,
        day=archive.release(release).created[:10],
        records="linked-art" in outputs and not one_file,
        manifests="iiif" in outputs,
    )
