"""Everything that harvesters get from one release: EDM, Dublin Core, manifests.

Made inside the transaction that makes the release, so that a datestamp moves when, and only
when, what is disseminated in that format changed: also when the code that writes it changed.
"""

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

import orjson

from lodpipe import evidence
from lodpipe.archive import Archive, Document, Outgoing, Rendition
from lodpipe.aspects import alternatives
from lodpipe.findings import Finding
from lodpipe.iris import document_iri
from lodpipe.project import Project
from lodpipe.publish import iiif
from lodpipe.publish.harvest import dublin_core, edm
from lodpipe.publish.harvest.claims import Held
from lodpipe.publish.harvest.telling import Telling, Told, up
from lodpipe.publish.site.settings import path_of
from lodpipe.records import Tree
from lodpipe.terms import Concepts

OAI_DC, EDM, MANIFESTS = "oai_dc", "edm", "iiif"
THING = "HumanMadeObject"


def formats_of(project: Project) -> tuple[str, ...]:
    """Return the formats that a project disseminates beside its documents."""
    outputs = project.export.outputs
    return (OAI_DC, *(name for name in (EDM, MANIFESTS) if name in outputs))


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing: what may be told of it, its manifest, the sets that it is in.

    `told` is None where it is not told of. `seen` are the documents that say all this.
    """

    uri: str
    seen: frozenset[str]
    told: Told | None = None
    manifest: Tree | None = None
    sets: tuple[str, ...] = ()


def renditions(
    project: Project,
    concepts: Concepts,
    archive: Archive,
    release: int,
    wanted: Collection[str] | None = None,
) -> Iterator[Outgoing]:
    """Yield what is disseminated of the things of a release, in IRI order.

    Args:
        wanted: documents whose things are asked for; None for all.
    """
    formats = formats_of(project)
    site = iiif.site_of(project, concepts)
    for thing in things(project, concepts, archive, release, wanted):
        told = thing.told
        if told is None:
            yield Outgoing(thing.uri, thing.seen)
            continue
        made = [Rendition(told.uri, OAI_DC, dublin_core.record(told, site), thing.sets)]
        if MANIFESTS in formats and thing.manifest:
            body = iiif.to_bytes(thing.manifest)
            made.append(Rendition(told.uri, MANIFESTS, body, kept=False))
        lacking = edm.lack(told) if EDM in formats else None
        if EDM in formats and lacking is None:
            made.append(Rendition(told.uri, EDM, edm.record(told, site), thing.sets))
        unsent = not_sent(told.uri, lacking) if lacking else None
        yield Outgoing(thing.uri, thing.seen, tuple(made), unsent)


def not_sent(uri: str, lacking: edm.Lack) -> Finding:
    """Return the finding for a record that an aggregator would refuse."""
    return Finding(
        "edm-not-sent", f"{lacking.message}; the record is not sent", severity=lacking.severity,
        uri=uri, hint=lacking.hint, rule=edm.RULE,
    )  # fmt: skip


class _Trees:
    """The documents of a release as trees, and which of them were asked for since the last time."""

    def __init__(self, archive: Archive, release: int) -> None:
        self._archive = archive
        self._release = release
        self._tree = lru_cache(maxsize=2_000)(self._read)
        self._asked: set[str] = set()

    def __call__(self, uri: str) -> Tree | None:
        """Return a document; not to be changed."""
        self._asked.add(uri)
        return self._tree(uri)

    def asked(self) -> frozenset[str]:
        """Return what was asked for since this was called last."""
        found = frozenset(self._asked)
        self._asked.clear()
        return found

    def _read(self, uri: str) -> Tree | None:
        document = self._archive.document(uri, self._release)
        return orjson.loads(document.body) if document else None


def things(
    project: Project,
    concepts: Concepts,
    archive: Archive,
    release: int,
    wanted: Collection[str] | None = None,
) -> Iterator[Thing]:
    """Yield the things of a release, in IRI order.

    Left out are pages of albums and parts of things, which their whole tells of; not told of is
    what somebody else owns and we have no picture of.

    Args:
        wanted: documents whose things are asked for; None for all.
    """
    site = iiif.site_of(project, concepts)
    trees = _Trees(archive, release)
    layout = evidence.layout_of_rows(archive.layout(release))
    plan = iiif.plan(layout)
    view = iiif.view_of(layout, trees)
    telling = Telling(view, site)
    parts = plan.places.keys() - set(plan.items)
    has_pages = "site" in project.export.outputs
    specs = {spec: document_iri(site.base, key) for spec, key in project.oai.sets.items()}
    for document in _documents(archive, release, wanted):
        if document.kind != THING or document.uri in parts:
            continue
        tree = orjson.loads(document.body)
        pictured = document.uri in plan.sheets or document.uri in plan.places
        shown = pictured or document.uri in plan.on
        manifest = iiif.manifest(document.uri, plan, view, site) if shown else None
        own = {document.uri, *_shown(tree)}
        if manifest is None and _of_others(tree, site.provider):
            yield Thing(document.uri, trees.asked() | own)
            continue
        held = _held(tree, archive, release, view, site)
        page = site.base + path_of(site.base, document.uri) if has_pages else ""
        told = telling.told(document.uri, tree, held, manifest, page)
        sets = tuple(_sets(tree, view.get, specs))
        yield Thing(document.uri, trees.asked() | own, told, manifest, sets)


def _documents(
    archive: Archive, release: int, wanted: Collection[str] | None
) -> Iterator[Document]:
    if wanted is None:
        yield from archive.documents(release)
        return
    for uri in sorted(wanted):
        document = archive.document(uri, release)
        if document is not None:
            yield document


def _shown(tree: Tree) -> list[str]:
    return [ref["id"] for ref in tree.get("shows", ())]


def _held(tree: Tree, archive: Archive, release: int, view: iiif.View, site: iiif.Site) -> Held:
    claims = [
        claim for uri in (tree["id"], *_shown(tree)) for _, claim in archive.claims(release, uri)
    ]
    return Held({claim.key: claim for claim in claims}, view, site, alternatives(claims))


def _of_others(tree: Tree, publisher: str) -> bool:
    owners = {ref["id"] for ref in tree.get("current_owner", ())}
    return bool(owners) and publisher not in owners


def _sets(tree: Tree, get: Callable[[str], Tree | None], specs: Mapping[str, str]) -> Iterator[str]:
    """Yield the declared sets that a thing is in: it is the document of one, a part, or a member."""
    if not specs:
        return
    within = {tree["id"], *(ref["id"] for ref in tree.get("member_of", ()))}
    at: Tree | None = tree
    while at and (above := up(at)) and above not in within:
        within.add(above)
        at = get(above)
    found = {spec for spec, uri in specs.items() if uri in within}
    # a set inside another one stands under it, with colons: what is in it is in both
    for spec in tuple(found):
        levels = spec.split(":")
        found.update(":".join(levels[:depth]) for depth in range(1, len(levels)))
    yield from sorted(found)
