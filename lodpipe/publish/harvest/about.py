"""The files that tell harvesters of a release: change streams, dataset description, sitemaps."""

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import chain

import orjson

from lodpipe.archive import DOCUMENTS, Archive, Harvest
from lodpipe.iris import document_iri
from lodpipe.project import Project
from lodpipe.publish import iiif
from lodpipe.publish.harvest import changes, dataset, sitemap
from lodpipe.records import Tree
from lodpipe.terms import VOCAB, Concepts

JSON = orjson.OPT_APPEND_NEWLINE


def files(
    project: Project,
    concepts: Concepts,
    archive: Archive,
    release: int,
    dumps: Iterable[dataset.Dump] = (),
    *,
    pages: Iterable[str] = (),
    triples: int = 0,
    claims: int = 0,
) -> Iterator[tuple[str, bytes]]:
    """Yield path below base and bytes of every file, for a release.

    Args:
        dumps: files with everything that were written beside. `triples`, `claims`: how many
            they hold; 0 where nobody counted.
        pages: paths below base of pages for readers that were written beside.
    """
    site = iiif.site_of(project, concepts)
    for path, tree in streams(project, archive, release, site):
        yield f"{path}.json", orjson.dumps(tree, option=JSON)
    facts = replace(
        facts_of(project, archive, release), dumps=tuple(dumps), triples=triples, claims=claims
    )
    yield "dataset.ttl", dataset.turtle(facts, site)
    yield from _sitemaps(project, archive, release, pages)


def streams(
    project: Project, archive: Archive, release: int, site: iiif.Site
) -> Iterator[tuple[str, Tree]]:
    """Yield path and JSON of every change stream and of its pages."""
    harvest = Harvest(archive)
    for stream in changes.STREAMS:
        total = harvest.count_activities(stream.format, release)
        if not total:
            continue
        head = changes.collection(stream, total, site, project.site.rights)
        yield head["id"].removeprefix(site.base), head
        for number in range(changes.pages(total)):
            page = stream_page(stream, number, total, harvest, release, site)
            yield page["id"].removeprefix(site.base), page


def stream_page(
    stream: changes.Stream, number: int, total: int, harvest: Harvest, release: int, site: iiif.Site
) -> Tree:
    """Return one page of a change stream."""
    some = harvest.activities(stream.format, release, number * changes.PAGE, changes.PAGE)
    return changes.page(stream, number, some, total, site, harvest.instants())


def facts_of(project: Project, archive: Archive, release: int) -> dataset.Facts:
    """Return what the description of the dataset says of a release."""
    harvest = Harvest(archive)
    instants = harvest.instants()
    things = (uri for uri, _ in harvest.changed("oai_dc", release))
    return dataset.Facts(
        release=archive.release(release),
        first=instants[min(instants)],
        classes=harvest.classes(release),
        mappings={
            source.mapping: hashlib.sha256(project.path(source.mapping).read_bytes()).hexdigest()
            for source in project.sources
        },
        licence=project.site.rights,
        contact=project.site.contact,
        example=next(things, ""),
    )


def _sitemaps(
    project: Project, archive: Archive, release: int, pages: Iterable[str]
) -> Iterator[tuple[str, bytes]]:
    """Yield the sitemaps: harvesters look for documents, search engines for pages.

    A page also tells of other documents, so the instant of its last change is not known.
    """
    harvest, base = Harvest(archive), project.site.base
    instants = harvest.instants()
    concepts = document_iri(base, VOCAB.rstrip("/")) + "/"
    documents = (
        (uri, instants[since])
        for uri, since in harvest.changed(DOCUMENTS, release)
        if not uri.startswith(concepts)
    )
    addresses = chain(documents, ((base + page, "") for page in sorted(pages)))
    names = []
    for number, body in enumerate(sitemap.sitemaps(addresses), start=1):
        names.append(f"sitemap-{number}.xml")
        yield names[-1], body
    yield "sitemap.xml", sitemap.index([base + name for name in names], instants[release])
    yield "robots.txt", sitemap.robots(base)
