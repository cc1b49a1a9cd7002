"""Everything that harvesters get from one release: EDM, Dublin Core, manifests.

Made inside the transaction that makes the release, so that a datestamp moves when, and only
when, what is disseminated in that format changed: also when the code that writes it changed.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

import orjson

from lodpipe import evidence
from lodpipe.archive import Archive, Rendition
from lodpipe.aspects import alternatives
from lodpipe.findings import Finding, Report
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
    """One thing that is told of: what may be told, its manifest, the sets that it is in."""

    told: Told
    manifest: Tree | None
    sets: tuple[str, ...]


def renditions(
    project: Project,
    concepts: Concepts,
    archive: Archive,
    release: int,
    report: Report = lambda finding: None,
) -> Iterator[Rendition]:
    """Yield what is disseminated of each thing of a release, in IRI order.

    Args:
        report: told of each record that is not sent, and why.
    """
    formats = formats_of(project)
    site = iiif.site_of(project, concepts)
    for thing in things(project, concepts, archive, release):
        told = thing.told
        yield Rendition(told.uri, OAI_DC, dublin_core.record(told, site), thing.sets)
        if MANIFESTS in formats and thing.manifest:
            yield Rendition(told.uri, MANIFESTS, iiif.to_bytes(thing.manifest), kept=False)
        if EDM in formats:
            lacking = edm.lack(told)
            if lacking is None:
                yield Rendition(told.uri, EDM, edm.record(told, site), thing.sets)
            else:
                report(not_sent(told.uri, lacking))


def not_sent(uri: str, lacking: edm.Lack) -> Finding:
    """Return the finding for a record that an aggregator would refuse."""
    return Finding(
        "edm-not-sent", f"{lacking.message}; the record is not sent", severity=lacking.severity,
        uri=uri, hint=lacking.hint, rule=edm.RULE,
    )  # fmt: skip


def things(project: Project, concepts: Concepts, archive: Archive, release: int) -> Iterator[Thing]:
    """Yield the things of a release that are told of, in IRI order.

    Left out are pages of albums and parts of things, which their whole tells of, and what
    somebody else owns and we have no picture of.
    """

    @lru_cache(maxsize=2_000)
    def tree_of(uri: str) -> Tree | None:
        document = archive.document(uri, release)
        return orjson.loads(document.body) if document else None

    site = iiif.site_of(project, concepts)
    layout = evidence.layout_of_rows(archive.layout(release))
    plan = iiif.plan(layout)
    view = iiif.view_of(layout, tree_of)
    telling = Telling(view, site)
    parts = plan.places.keys() - set(plan.items)
    has_pages = "site" in project.export.outputs
    specs = {spec: document_iri(site.base, key) for spec, key in project.oai.sets.items()}
    for document in archive.documents(release):
        if document.kind != THING or document.uri in parts:
            continue
        tree = orjson.loads(document.body)
        pictured = document.uri in plan.sheets or document.uri in plan.places
        shown = pictured or document.uri in plan.on
        manifest = iiif.manifest(document.uri, plan, view, site) if shown else None
        if manifest is None and _of_others(tree, site.provider):
            continue
        held = _held(tree, archive, release, view, site)
        page = site.base + path_of(site.base, document.uri) if has_pages else ""
        told = telling.told(document.uri, tree, held, manifest, page)
        yield Thing(told, manifest, tuple(_sets(tree, view.get, specs)))


def _held(tree: Tree, archive: Archive, release: int, view: iiif.View, site: iiif.Site) -> Held:
    uris = [tree["id"], *(ref["id"] for ref in tree.get("shows", ()))]
    claims = [claim for uri in uris for _, claim in archive.claims(release, uri)]
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
