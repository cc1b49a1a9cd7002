"""The barrier: drafts united, the index written, claims brought to their documents, access settled.

One process does it, between the two passes. What it leaves is read only.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack, closing
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import chain
from pathlib import Path
from typing import Any

from lodpipe import evidence
from lodpipe.aspects import Aspects, builtin_aspects
from lodpipe.assemble import (
    Brought,
    Merger,
    TakenOut,
    brought_by,
    called_for,
    fill,
    house_documents,
    link,
    place_claims,
    sessions,
)
from lodpipe.findings import Finding, Report
from lodpipe.nodes import Nodes
from lodpipe.parts import Drafts, IndexReader, IndexWriter, Made, Stored, Trail, United
from lodpipe.pipeline.about import by_document, in_circles
from lodpipe.pipeline.access import Restricted, lifted, restricted, reviews_due, words_of
from lodpipe.pipeline.alone import pointed_at
from lodpipe.pipeline.back import place_of
from lodpipe.pipeline.books import Books
from lodpipe.pipeline.grounds import tell_grounds
from lodpipe.pipeline.known import Visible, entry_of
from lodpipe.pipeline.leaving import layout_that_may_leave, things_showing
from lodpipe.pipeline.leaving_claims import claims_that_may_leave, facts_that_may_leave
from lodpipe.pipeline.notices import put_notices
from lodpipe.pipeline.pictures import Pictures
from lodpipe.pipeline.premises import with_premises
from lodpipe.pipeline.progress import Clock
from lodpipe.pipeline.renaming import renamings
from lodpipe.pipeline.settling import FORMER, settle_claims
from lodpipe.pipeline.uniting import leave_out_duplicates, write_index
from lodpipe.pipeline.unsaid import Unsaid, name_taken_out, names_of, without_names
from lodpipe.pipeline.weigh_run import findings_of, verdicts_of, weighing_of
from lodpipe.pipeline.workshop import Workshop, speakers_of
from lodpipe.records import Claim, Layout, Tree
from lodpipe.wording import language_for, say

PICTURED = ("representation", "digitally_shown_by")
"""Keys of documents that lead to pictures."""
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
        layout: images, layout and threads that may leave the house, but for the pictures of things
            that lie nowhere: these are in the index.
        held: all that access asks for. `unsaid`: names that no text may say.
        verdicts: what the evidence that may leave makes of each claim, by its key, as JSON values.
        facts, claims: resolved evidence and settled claims, before access leaves any out.
        told: the evidence that may leave.
        as_published: nothing is said of what the last release has or had, that the next run would
            not say again.
        leaving, staying: the claims that may leave, and those that may not.
        silenced: those that may not, by the document that they would go into.
        alone: what something withheld points at; what nothing else points at is told.
        moved: new IRI of each old one that leads on.
        showing: what is not withheld itself, and has something withheld on its pictures.
        about: findings of the evidence and of the barrier, by the document that they are about.
        sessions, brought: what claims need of documents other than their own.
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
    about: dict[str, list[Finding]] = field(default_factory=dict)
    verdicts: dict[str, dict[str, Any]] = field(default_factory=dict)
    told: evidence.Evidence = field(default_factory=evidence.Evidence)
    facts: evidence.Evidence = field(default_factory=evidence.Evidence)
    claims: tuple[Claim, ...] = ()
    as_published: bool = True
    held: Restricted = field(default_factory=Restricted)
    unsaid: Unsaid = field(default_factory=lambda: Unsaid((), ""))
    leaving: list[Claim] = field(default_factory=list)
    staying: list[Claim] = field(default_factory=list)
    silenced: Mapping[str, Sequence[Claim]] = field(default_factory=dict)
    showing: frozenset[str] = frozenset()
    moved: dict[str, str] = field(default_factory=dict)
    alone: frozenset[str] = frozenset()

    def hand_over_layout(self) -> Layout:
        """Return the layout and hold it no more: a large one is not needed twice in memory."""
        layout, self.layout = self.layout, Layout()
        self.pictures = self.pictures.without_layout()
        return layout

    def lent(self) -> "Barrier":
        """Return what pass 2 reads of it, without all that only this process needs."""
        return Barrier(
            self.aspects,
            self.pictures,
            withheld=self.withheld,
            index=self.index,
            sessions=self.sessions,
            brought=self.brought,
            about=self.about,
            verdicts=self.verdicts,
            held=Restricted(notices=self.held.notices),
            unsaid=self.unsaid,
            silenced=self.silenced,
            showing=self.showing,
            words=self.words,
        )

    def finished(
        self, shop: Workshop, index: IndexReader, found: Iterable[tuple[Stored, list[Claim]]]
    ) -> Iterator[tuple[Made, Tree]]:
        """Yield documents that may be seen, finished, with what stands beside them.

        Args:
            found: united documents of the index, and the claims that go into them.
        """
        finish = self._finisher(shop, index, frozenset())
        for united, claims in found:
            if united.uri not in self.withheld:
                yield finish(united, claims)

    def of_house(
        self, shop: Workshop, index: IndexReader, wanted: Iterable[str]
    ) -> Iterator[tuple[Made, Tree]]:
        """Yield the documents that no source makes and others name, in IRI order.

        Args:
            wanted: what finished documents name.
        """
        for tree in house_documents(wanted, shop.nodes):
            if index.get(tree["id"]) is None:
                yield Made(tree["id"], tree["type"], HOUSE), tree

    def finished_again(
        self, shop: Workshop, index: IndexReader, uris: Iterable[str], waiting: frozenset[str]
    ) -> Iterator[tuple[Made, Tree]]:
        """Yield some documents once more, without links to those that wait for their first release."""
        finish = self._finisher(shop, index, waiting)
        for united, claims in index.some(uris):
            made, tree = finish(united, claims)
            made.again = True  # they have those links as soon as it is released
            yield made, tree

    def _finisher(
        self, shop: Workshop, index: IndexReader, waiting: frozenset[str]
    ) -> Callable[[Stored, list[Claim]], tuple[Made, Tree]]:
        seen = Visible(index, self.withheld | waiting)
        base = shop.project.site.base
        self.pictures = self.pictures.beside(index.pictures_of)
        merger = Merger(
            shop.nodes,
            seen,
            aspects=self.aspects,
            circa_years=shop.project.dates.circa_years,
            speakers=speakers_of(shop),
            sessions=self.sessions,
            brought=self.brought,
            silenced=self.silenced,
        )
        return partial(
            self._finish, seen=seen, merger=merger, base=base, waiting=waiting, nodes=shop.nodes
        )

    def _finish(
        self,
        united: Stored,
        claims: list[Claim],
        *,
        seen: Visible,
        merger: Merger,
        base: str,
        waiting: frozenset[str],
        nodes: Nodes,
    ) -> tuple[Made, Tree]:
        seen.asked.clear()
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
        made.trail, made.inputs = united.trail, united.inputs
        made.findings, made.claims = found, claims
        made.verdicts = {c.key: self.verdicts[c.key] for c in claims if c.key in self.verdicts}
        if claims or united.uri in self.brought or united.uri in self.silenced:
            merged = merger.merge(tree, claims, report, united.trail.entries())
            made.trail = Trail(merged.trace)
        self._show(tree, nodes, report)
        made.names = set(seen.asked)
        return made, tree

    def _show(self, tree: Tree, nodes: Nodes, report: Report) -> None:
        """Point at pictures, put notices before them, take out what may not be seen or said."""
        uri = tree["id"]
        if uri in self.showing:
            for key in PICTURED:  # what a mapping made of a picture that nobody can paint over
                tree.pop(key, None)
        manifest, shown = self.pictures.manifest(uri), self.pictures.of(uri)
        if manifest or shown:
            link(tree, manifest, shown)
        put_notices(tree, self.held.notices.get(uri, ()), nodes, report)
        for pointer in self.unsaid.tree(tree):
            report(name_taken_out(pointer))


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
    parts: Sequence[Path],
    path: Path,
    books: Books,
    clock: Clock,
    day: str,
) -> Barrier:
    """Unite, index, settle access, bring claims to their documents.

    Args:
        loaded: the evidence, keys as written; `found` what is wrong with it.
        parts: what pass 1 made. `path`: where the index is written. `day`: of the run, ISO 8601.
    """
    made = Barrier(builtin_aspects(), Pictures(shop.project, Layout(), frozenset()))
    made.findings.extend(found)
    whole = path.with_name("everything.sqlite")
    with closing(Drafts(parts)) as drafts, ExitStack() as stack:
        with clock.stage("unite"):
            leave_out_duplicates(drafts, books, made.findings.append)
            writer = write_index(shop, drafts, whole)
            everything = stack.enter_context(closing(IndexReader(whole)))
        with clock.stage("claims, access, layout"):
            _access(shop, loaded, drafts, everything, day, made)
            if made.withheld:
                # what the record of a withheld thing says of others is not said either
                drafts.leave_out(made.withheld)
                writer.close()
                writer = write_index(shop, drafts, path)
            else:
                path = whole
            stack.callback(writer.close)
            index = stack.enter_context(closing(IndexReader(path)))
            _claims(shop, drafts, writer, everything, index, made)
            _layout(shop, loaded, drafts, writer, everything, made)
        with clock.stage("weigh"):
            _weigh(shop, made)
            made.findings += in_circles(index)
            made.findings, made.about = by_document(shop, everything, made.findings)
    made.index = path
    return made


def _access(
    shop: Workshop,
    loaded: evidence.Loaded,
    drafts: Drafts,
    everything: IndexReader,
    day: str,
    made: Barrier,
) -> None:
    """Settle the claims, which access goes along, and what may be seen."""
    settled = settle_claims(shop, loaded, drafts, everything, day, made.findings.append)
    made.facts, made.claims = settled.facts, settled.claims
    made.held = restricted(
        shop.project,
        loaded.access,
        everything,
        shop.concepts,
        made.claims,
        made.findings.append,
    )
    made.withheld = made.held.documents
    made.hidden = frozenset(uri for uri in made.withheld if everything.get(uri))
    made.words = words_of(everything, made.hidden)
    made.findings += reviews_due(loaded.access, day)
    back = list(lifted(shop.project, loaded.access, made.withheld))
    made.findings += back
    made.as_published = settled.as_published and not back
    mark = say(language_for(shop.project.language), "label.name-withheld")
    made.unsaid = Unsaid(names_of(everything, made.facts, made.hidden), mark)


def _weigh(shop: Workshop, made: Barrier) -> None:
    """Weigh everything, for the findings; and what may leave, for verdicts that leave with it."""
    weighed = weighing_of(shop.project, made.facts, made.claims)
    made.findings += findings_of(weighed)
    facts = facts_that_may_leave(made.facts, made.held)
    if made.held:
        weighed = weighing_of(shop.project, facts, tuple(made.leaving))
    made.verdicts = verdicts_of(shop.project, weighed)
    tell_grounds(made.verdicts, weighed, facts, made.leaving, made.withheld)
    made.told = facts


def _claims(
    shop: Workshop,
    drafts: Drafts,
    writer: IndexWriter,
    everything: IndexReader,
    index: IndexReader,
    made: Barrier,
) -> None:
    """Bring the claims that may leave to their documents."""
    claims: Sequence[Claim] = made.claims
    if made.withheld:
        # nor what the record of a withheld thing claims of others
        stated = {claim.key for claim in drafts.claims()}
        claims = [c for c in claims if not c.mapped or c.key in stated or c.effective == FORMER]
    seen = Visible(index, made.withheld)
    made.leaving, made.staying = claims_that_may_leave(
        claims, made.held, made.unsaid, made.findings.append
    )
    stays = facts_that_may_leave(made.facts, made.held).whereabouts
    leaving = list(with_premises(made.leaving, stays, seen, shop.project.language))
    placed = place_claims(leaving, made.aspects, seen, made.findings.append)
    goes = {claim.key for claim in made.leaving}
    unsaid = (claim for claim in made.claims if claim.key not in goes)
    made.alone = pointed_at(made.hidden, unsaid, everything, index, made.withheld)
    made.silenced = place_claims(made.staying, made.aspects, seen, lambda _: None)
    for tree in called_for(leaving, made.aspects, seen, shop.nodes):
        writer.add(United(tree["id"], tree), entry_of(tree))
    for document, mine in placed.items():
        for claim in mine:
            writer.claim(document, claim)
    made.sessions = sessions(leaving, seen, shop.project.site.base)
    made.brought = brought_by(leaving, made.aspects, seen, shop.project.site.base)


def _layout(
    shop: Workshop,
    loaded: evidence.Loaded,
    drafts: Drafts,
    writer: IndexWriter,
    index: IndexReader,
    made: Barrier,
) -> None:
    checked = evidence.check_layout(
        lambda: chain(loaded.layout, drafts.layout()),
        shop.project.folder,
        shop.project.site.base,
        index.entries,
        shop.concepts,
        made.findings.append,
        get=index.get,
        services=loaded.services,
        # what is withheld may be seen on any picture: then all of them are looked through at once
        aside=None if made.withheld else writer.picture,
    )
    writer.flush()
    made.layout = layout_that_may_leave(checked, made.withheld, made.held.carriers)
    made.showing = made.held.showing(things_showing(checked, made.withheld, made.held.carriers))
    made.layout = without_names(made.layout, made.unsaid)
    made.moved = renamings(
        loaded.access, shop.project.site.base, index, made.withheld, made.findings.append
    )
    made.pictures = Pictures(shop.project, made.layout, made.withheld)
