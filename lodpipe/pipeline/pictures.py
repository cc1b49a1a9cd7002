"""Which pictures and which manifest a document points at, worked out from the layout."""

from collections.abc import Callable, Sequence
from copy import copy
from functools import lru_cache

from lodpipe.assemble import Picture
from lodpipe.project import Project
from lodpipe.publish import iiif
from lodpipe.records import Image, Layout

WHOLE = "/full/max/0/default.jpg"
"""Canonical address of a whole picture: https://iiif.io/api/image/3.0/#47-canonical-uri-syntax."""


class Pictures:
    """Answers for each document; nothing when the project publishes no manifests.

    Args:
        layout: what lies somewhere, and all that lies on it.
        alone: returns the pictures of a thing that lies nowhere. A large collection has tens of
            thousands of these: each is planned when its document asks for it.
    """

    def __init__(
        self,
        project: Project,
        layout: Layout,
        withheld: frozenset[str],
        alone: Callable[[str], Sequence[Image]] = lambda thing: (),
    ) -> None:
        self._base = project.site.base
        self._wanted = "iiif" in project.export.outputs
        self._layout = layout
        self._plan = iiif.plan(layout)
        self._withheld = withheld
        self._hidden = hidden_pictures(layout)
        self._site = iiif.Site(base=self._base, name=project.site.name, crops=True)
        self._project = project
        self._single = self._planned_once(alone)
        plan = self._plan
        self._albums = {
            album
            for album in plan.albums
            if album in plan.sheets or any(row.thing in plan.sheets for row in plan.on[album])
        }

    def __reduce__(self) -> tuple[type["Pictures"], tuple[Project, Layout, frozenset[str]]]:
        """Go to another process as what it is made from, without pictures from an index."""
        return Pictures, (self._project, self._layout, self._withheld)

    def beside(self, alone: Callable[[str], Sequence[Image]]) -> "Pictures":
        """Return the same with the pictures of things that lie nowhere."""
        found = copy(self)
        found._single = self._planned_once(alone)
        return found

    def without_layout(self) -> "Pictures":
        """Return the same for a project in which nothing lies anywhere."""
        return Pictures(self._project, Layout(), self._withheld)

    @property
    def wanted(self) -> bool:
        """Whether the project publishes manifests."""
        return self._wanted

    def manifest(self, uri: str) -> str:
        """Return the IRI of the manifest of a thing; empty when it has none."""
        if not self._wanted or uri in self._withheld:
            return ""
        if single := self._single(uri):
            return single.manifest(uri)
        if uri in self._albums or (uri not in self._plan.albums and self._of_item(uri)):
            return iiif.manifest_iri(self._base, uri)
        return ""

    def of(self, uri: str) -> list[Picture]:
        """Return the pictures of a thing, the one that is shown first in front."""
        if not self._wanted or uri in self._hidden:
            return []
        if single := self._single(uri):
            return single.of(uri)
        return [*self._cut(uri), *self._own(uri)]

    def _planned_once(
        self, alone: Callable[[str], Sequence[Image]]
    ) -> "Callable[[str], Pictures | None]":
        @lru_cache(maxsize=1)  # a document asks for its manifest and for its pictures
        def single(uri: str) -> Pictures | None:
            images = alone(uri)
            return (
                Pictures(self._project, Layout(tuple(images)), self._withheld) if images else None
            )

        return single

    def _of_item(self, uri: str) -> bool:
        plan = self._plan
        thing = uri in plan.items or uri in plan.singles
        return thing and uri not in self._hidden and bool(self._cut(uri) or self._own(uri))

    def _own(self, uri: str) -> list[Picture]:
        return [
            Picture(iiif.whole_iri(image, self._site), image.service)
            for sheet in self._plan.sheets.get(uri, ())
            for image in sheet.captures
        ]

    def _cut(self, uri: str) -> list[Picture]:
        spot = self._plan.cut(uri)
        if spot is None or spot[1].thing in self._hidden:
            return []
        placed, sheet = spot
        if not sheet.image.service:
            return [Picture(iiif.crop_iri(uri, self._site) + WHOLE)]
        address = iiif.region_iri(sheet.image, iiif.box(placed.region))
        return [Picture(address, sheet.image.service)]


def hidden_pictures(layout: Layout) -> frozenset[str]:
    """Return the things whose pictures may not leave: their rows name no file and no service."""
    return frozenset(row.thing for row in layout.images if not row.file and not row.service)
