"""The barrier: drafts united, the index written, claims brought to their documents, access settled.

One process does it, between the two passes. What it leaves is read only.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack, closing
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

from lodpipe import evidence
from lodpipe.archive import Archive
from lodpipe.aspects import Aspects, builtin_aspects
from lodpipe.assemble import (
    Brought,
    Merger,
    TakenOut,
    brought_by,
    called_for,
    fill,
    house_documents,
    house_iris,
    link,
    place_claims,
    sessions,
    unite,
)
from lodpipe.findings import Finding, Report
from lodpipe.parts import Drafts, IndexReader, IndexWriter, Made, Stored, Trail, United
from lodpipe.pipeline.access import claims_that_may_leave, withheld_documents, words_of
from lodpipe.pipeline.back import place_of
from lodpipe.pipeline.books import Books
from lodpipe.pipeline.known import Visible, entry_of
from lodpipe.pipeline.leaving import layout_that_may_leave
from lodpipe.pipeline.pictures import Pictures
from lodpipe.pipeline.premises import with_premises
from lodpipe.pipeline.progress import Clock
from lodpipe.pipeline.weigh_run import findings_of, verdicts_of, weighing_of
from lodpipe.pipeline.workshop import Workshop, speakers_of
from lodpipe.records import Claim, Layout, Place, Tree
from lodpipe.terms import VOCAB

HOUSE = ""
"""Owner of documents that no source makes."""


@dataclass(slots=True)
class Barrier:
    """What the barrier leaves beside the index.

    Attributes:
        withheld: documents that may not be seen; `hidden` are those that the sources have,
            `words` what these are called.
        index: the file of the index that pass 2 reads.
        pictures: which pictures and manifest a document points at.
        layout: images, layout and threads that may leave the house.
        verdicts: what the evidence makes of each claim, by its key, as JSON values.
        facts, claims: resolved evidence and settled claims, before access leaves any out.
        about: findings of the evidence and of the barrier, by the document that they are about.
        sessions, brought: what claims need of documents other than their own.
        house: IRIs of the documents that pass 2 made although no source has them.
    """

    aspects: Aspects
    pictures: Pictures
    withheld: frozenset[str] = frozenset()
    hidden: frozenset[str] = frozenset()
    words: frozenset[str] = frozenset()
    index: Path = Path()
    layout: Layout = field(default_factory=Layout)
    findings: list[Finding] = field(default_factory=list)
    sessions: dict[str, str] = field(default_factory=dict)
    brought: Mapping[str, Sequence[Brought]] = field(default_factory=dict)
    house: set[str] = field(default_factory=set)
    about: dict[str, list[Finding]] = field(default_factory=dict)
    verdicts: dict[str, dict[str, Any]] = field(default_factory=dict)
    facts: evidence.Evidence = field(default_factory=evidence.Evidence)
    claims: tuple[Claim, ...] = ()

    def finished(self, shop: Workshop, index: IndexReader) -> Iterator[tuple[Made, Tree]]:
        """Yield every document that may be seen, finished, with what stands beside it.

        Documents of the catalogue come in IRI order; those of the house, whose need shows only
        in finished documents, come last.
        """
        finish = self._finisher(shop, index, frozenset())
        wanted: set[str] = set()
        for united, claims in index.documents():
            if united.uri in self.withheld:
                continue
            made, tree = finish(united, claims)
            wanted |= house_iris(tree, shop.project.site.base)
            yield made, tree
        for tree in house_documents(wanted, shop.nodes):
            if index.get(tree["id"]) is None:
                self.house.add(tree["id"])
                yield Made(tree["id"], tree["type"], HOUSE), tree

    def finished_again(
        self, shop: Workshop, index: IndexReader, uris: Iterable[str], waiting: frozenset[str]
    ) -> Iterator[tuple[Made, Tree]]:
        """Yield some documents once more, without links to those that wait for their first release."""
        finish = self._finisher(shop, index, waiting)
        for uri in uris:
            found = index.document(uri)
            if found is not None:
                yield finish(*found)

    def _finisher(
        self, shop: Workshop, index: IndexReader, waiting: frozenset[str]
    ) -> Callable[[Stored, list[Claim]], tuple[Made, Tree]]:
        seen = Visible(index, self.withheld | waiting)
        base = shop.project.site.base
        merger = Merger(
            shop.nodes,
            seen,
            aspects=self.aspects,
            circa_years=shop.project.dates.circa_years,
            speakers=speakers_of(shop),
            sessions=self.sessions,
            brought=self.brought,
        )
        return partial(self._finish, seen=seen, merger=merger, base=base, waiting=waiting)

    def _finish(
        self,
        united: Stored,
        claims: list[Claim],
        *,
        seen: Visible,
        merger: Merger,
        base: str,
        waiting: frozenset[str],
    ) -> tuple[Made, Tree]:
        found = united.findings
        found += self.about.get(united.uri, ())

        def report(finding: Finding) -> None:
            if finding.value in self.withheld:
                return  # what is withheld leaves no word, not even that a link to it was taken out
            if finding.value in waiting:
                finding = replace(
                    finding,
                    message=f"`{finding.value.removeprefix(base)}` is stopped at the gate",
                    hint="the link is left out until that document can be published",
                )
            place = finding.place or place_of(finding.path, united.trail.entries())
            found.append(replace(finding, uri=united.uri, place=place))

        tree = _filled(united, seen, report, base)
        made = Made(united.uri, tree["type"], ", ".join(united.sources))
        made.trail, made.inputs, made.findings, made.claims = (
            united.trail,
            united.inputs,
            found,
            claims,
        )
        made.verdicts = {
            claim.key: self.verdicts[claim.key] for claim in claims if claim.key in self.verdicts
        }
        if claims or united.uri in self.brought:
            merged = merger.merge(tree, claims, report, united.trail.entries())
            made.trail = Trail(merged.trace)
        manifest, shown = self.pictures.manifest(united.uri), self.pictures.of(united.uri)
        if manifest or shown:
            link(tree, manifest, shown)
        return made, tree


def _filled(united: Stored, seen: Visible, report: Report, base: str) -> Tree:
    out = TakenOut()
    tree = fill(united.tree, seen, report, base=base, out=out)
    if out.gone or out.lists:
        united.trail = Trail(out.follow(united.trail.entries()))
    return tree


def barrier(
    shop: Workshop,
    loaded: evidence.Loaded,
    found: Iterable[Finding],
    part: Path,
    path: Path,
    books: Books,
    clock: Clock,
) -> Barrier:
    """Unite, index, settle access, bring claims to their documents.

    Args:
        loaded: the evidence, keys as written; `found` what is wrong with it.
        part: what pass 1 made. `path`: where the index is written.
    """
    made = Barrier(builtin_aspects(), Pictures(shop.project, Layout(), frozenset()))
    made.findings.extend(found)
    whole = path.with_name("everything.sqlite")
    with closing(Drafts([part])) as drafts, ExitStack() as stack:
        with clock.stage("unite"):
            _duplicates(drafts, books, made)
            writer = _index(shop, drafts, whole)
            everything = stack.enter_context(closing(IndexReader(whole)))
        with clock.stage("claims, access, layout"):
            _access(shop, loaded, everything, made)
            if made.withheld:
                # what the record of a withheld thing says of others is not said either
                drafts.leave_out(made.withheld)
                writer.close()
                writer = _index(shop, drafts, path)
            else:
                path = whole
            stack.callback(writer.close)
            index = stack.enter_context(closing(IndexReader(path)))
            _claims(shop, loaded, drafts, writer, everything, index, made)
            _layout(shop, loaded, drafts, everything, made)
        with clock.stage("weigh"):
            weighed = weighing_of(shop.project, made.facts, made.claims)
            made.verdicts = verdicts_of(shop.project, weighed)
            made.findings += findings_of(weighed)
            _circles(index, made)
            _by_document(shop, everything, made)
    made.index = path
    return made


def _access(
    shop: Workshop, loaded: evidence.Loaded, everything: IndexReader, made: Barrier
) -> None:
    made.withheld = withheld_documents(
        shop.project, loaded.access, everything, shop.concepts, made.findings.append
    )
    made.hidden = frozenset(uri for uri in made.withheld if everything.get(uri))
    made.words = words_of(everything, made.hidden)


def _index(shop: Workshop, drafts: Drafts, path: Path) -> IndexWriter:
    """Write the index of what the drafts make; it stays open for what claims call for."""
    writer = IndexWriter(path)
    _unite(shop, drafts, writer, path)
    _publisher(shop, writer, path)
    return writer


def _duplicates(drafts: Drafts, books: Books, made: Barrier) -> None:
    for group in drafts.duplicates():
        books.records["mapped"] -= len(group.others)
        books.records["duplicate"] += len(group.others)
        made.findings.append(
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
    base = shop.project.site.base
    unidentified: set[str] = set()
    for group, found in drafts.groups():
        united = unite(group, found.append)
        united.findings = found
        unidentified.update(
            iri for iri in house_iris(united.tree, base) if not iri.startswith(base + VOCAB)
        )
        writer.add(united, entry_of(united.tree))
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


def _claims(
    shop: Workshop,
    loaded: evidence.Loaded,
    drafts: Drafts,
    writer: IndexWriter,
    everything: IndexReader,
    index: IndexReader,
    made: Barrier,
) -> None:
    base = shop.project.site.base
    resolved = evidence.resolve(
        loaded.evidence,
        base,
        everything.entries,
        shop.concepts,
        builtin_aspects(),
        made.findings.append,
        declare=not shop.project.sources,
    )
    lines = [*resolved.claims, *drafts.claims()]
    _published_lines(shop, lines, made)
    settled = evidence.settle(lines, builtin_aspects(), made.findings.append)
    made.facts, made.claims = resolved, settled
    seen = Visible(index, made.withheld)
    leaving = claims_that_may_leave(settled, made.withheld, made.findings.append)
    claims = list(with_premises(leaving, resolved.whereabouts, seen, shop.project.language))
    placed = place_claims(claims, made.aspects, seen, made.findings.append)
    for tree in called_for(claims, made.aspects, seen, shop.nodes):
        writer.add(United(tree["id"], tree), entry_of(tree))
    for document, mine in placed.items():
        for claim in mine:
            writer.claim(document, claim)
    made.sessions = sessions(claims, seen, base)
    made.brought = brought_by(claims, made.aspects, seen, base)


def _published_lines(shop: Workshop, claims: list[Claim], made: Barrier) -> None:
    """Hold the ledger against the lines that the last release published: none may change."""
    if not shop.project.archive.is_file():
        return
    with Archive(shop.project.archive) as archive:
        latest = archive.latest()
        if latest is not None:
            written = (line for _, line in archive.claims(latest.number) if not line.mapped)
            evidence.compare(written, claims, made.findings.append)


def _layout(
    shop: Workshop,
    loaded: evidence.Loaded,
    drafts: Drafts,
    index: IndexReader,
    made: Barrier,
) -> None:
    checked = evidence.check_layout(
        [*loaded.layout, *drafts.layout()],
        shop.project.folder,
        shop.project.site.base,
        index.entries,
        shop.concepts,
        made.findings.append,
    )
    made.layout = layout_that_may_leave(checked, made.withheld, index.parents)
    made.pictures = Pictures(shop.project, made.layout, made.withheld)


def _circles(index: IndexReader, made: Barrier) -> None:
    """Report documents that are part of one another: no page of them could be shown."""
    links = {entry.uri: entry.parents for entry in index.entries() if entry.parents}
    for circle in evidence.circles(links):
        for uri in circle:
            made.findings.append(
                Finding(
                    "cycle",
                    "part of itself: " + " -> ".join(f"`{one}`" for one in (*circle, circle[0])),
                    value=uri,
                    hint="mend what one of them is said to be part of",
                    uri=uri,
                )
            )


def _by_document(shop: Workshop, index: IndexReader, made: Barrier) -> None:
    """Lay findings to the documents that they are about, so that a violation stops these.

    A ledger line that cannot be used may say that the maker in the catalogue is wrong: then what
    it is about must not go out as if nobody had spoken.
    """
    base = shop.project.site.base
    keys = {finding.uri for finding in made.findings if finding.uri}
    meant = evidence.candidates(keys, base, index.entries, shop.concepts)
    rest = []
    for finding in made.findings:
        uris = [uri for uri in meant.get(finding.uri, ()) if index.get(uri)]
        for uri in uris:
            made.about.setdefault(uri, []).append(replace(finding, uri=uri))
        if not uris:
            rest.append(finding)
    made.findings = rest
