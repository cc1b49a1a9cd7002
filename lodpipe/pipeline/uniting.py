"""The drafts of pass 1 united into documents, and the index of these."""

from contextlib import closing
from pathlib import Path

from lodpipe.assemble import UNIDENTIFIED, house_documents, house_iris, unite
from lodpipe.findings import Finding, Report
from lodpipe.parts import Drafts, IndexReader, IndexWriter, United
from lodpipe.pipeline.books import Books
from lodpipe.pipeline.known import entry_of
from lodpipe.pipeline.workshop import Workshop
from lodpipe.records import Place, Tree
from lodpipe.terms import VOCAB


def write_index(shop: Workshop, drafts: Drafts, path: Path) -> IndexWriter:
    """Write the index of what the drafts make; it stays open for what claims call for."""
    writer = IndexWriter(path)
    _unite(shop, drafts, writer, path)
    _publisher(shop, writer, path)
    return writer


def leave_out_duplicates(drafts: Drafts, books: Books, report: Report) -> None:
    """Use one of the records of a source that share a key, and report the others."""
    for group in drafts.duplicates():
        books.records["mapped"] -= len(group.others)
        books.records["duplicate"] += len(group.others)
        report(
            Finding(
                "duplicate",
                f"{len(group.others) + 1} records have the key `{group.key}`; "
                f"used is {group.kept}, not {', '.join(group.others[:3])}",
                Place(group.source),
                value=group.key,
                hint="give each record a key of its own",
            )
        )


def _unite(shop: Workshop, drafts: Drafts, writer: IndexWriter, path: Path) -> None:
    """Unite the drafts of each document, and make the Groups of the unidentified that they name."""
    base, nobody = shop.project.site.base, UNIDENTIFIED.encode()
    unidentified: set[str] = set()
    for group, found in drafts.groups():
        united = unite(group, found.append)
        united.findings = found
        if nobody in writer.add(united, entry_of(united.tree)):  # few name one
            unidentified.update(
                iri for iri in house_iris(united.tree, base) if not iri.startswith(base + VOCAB)
            )
    writer.flush()
    with closing(IndexReader(path)) as index:
        for tree in house_documents(unidentified, shop.nodes):
            if not tree["id"].startswith(base + VOCAB) and index.get(tree["id"]) is None:
                writer.add(United(tree["id"], tree), entry_of(tree))
    writer.flush()


def _publisher(shop: Workshop, writer: IndexWriter, path: Path) -> None:
    """Make the document of the publisher, where no source does: claims and pages point at it."""
    site = shop.project.site
    uri = site.base + site.publisher
    with closing(IndexReader(path)) as index:
        if index.get(uri) is None:
            tree: Tree = {
                "id": uri,
                "type": "Group",
                "_label": site.name.get(shop.project.language) or next(iter(site.name.values())),
                "identified_by": [
                    shop.nodes.name(name, language=language)
                    for language, name in sorted(site.name.items())
                ],
            }
            writer.add(United(uri, tree), entry_of(tree))
            writer.flush()
