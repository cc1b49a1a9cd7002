"""What may not leave the house: withheld documents, what is said of them, pictures that show them."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from lodpipe import evidence
from lodpipe.errors import ManyErrors
from lodpipe.findings import Report
from lodpipe.parts import IndexReader
from lodpipe.pipeline.known import hidden
from lodpipe.project import Project
from lodpipe.records import Claim, Image, Layout
from lodpipe.terms import Concepts


def refuse_unhonoured(access: evidence.Access) -> None:
    """Stop where the access files ask for something that this version cannot do.

    Raises:
        ManyErrors: each such row, so that nobody believes that it holds.
    """
    if access.cannot:
        raise ManyErrors(access.cannot)


def withheld_documents(
    project: Project,
    access: evidence.Access,
    index: IndexReader,
    concepts: Concepts,
    report: Report,
) -> frozenset[str]:
    """Return every document that may not be seen: what is named, and everything below it."""
    base = project.site.base
    named = evidence.named_things(access, base, index.entries, concepts, report)
    if project.access.default == "withheld":
        opened = evidence.named_things(
            access, base, index.entries, concepts, report, access_is="open"
        )
        things = {entry.uri for entry in index.entries() if entry.type == "HumanMadeObject"}
        named |= things - opened
    return hidden(index, named)


def claims_that_may_leave(claims: Iterable[Claim], withheld: frozenset[str]) -> Iterator[Claim]:
    """Yield the claims that name nothing withheld; a withheld source is no longer named."""
    for claim in claims:
        if claim.about in withheld or claim.value in withheld or claim.by in withheld:
            continue
        if any(source in withheld for source in claim.sources):
            kept = [
                (source, claim.locators[number] if number < len(claim.locators) else "")
                for number, source in enumerate(claim.sources)
                if source not in withheld
            ]
            claim = replace(
                claim,
                sources=tuple(source for source, _ in kept),
                locators=tuple(locator for _, locator in kept),
            )
        yield claim


def layout_that_may_leave(layout: Layout, withheld: frozenset[str]) -> Layout:
    """Return the layout without withheld things and without any picture that shows one.

    A page on which a withheld thing lies keeps its place and its size, so that the number of
    pages stays true; the file or service of its picture is named nowhere any more.
    """
    if not withheld:
        return layout
    showing = set(withheld)
    below = [row for row in layout.placed if row.thing in withheld]
    while below:
        carriers = {row.on for row in below} - showing
        showing |= carriers
        # a picture of an opening shows its pages; an album's own picture does not show its leaves
        below = [row for row in layout.placed if row.thing in carriers and row.region]
    return Layout(
        tuple(
            _emptied(image) if image.thing in showing else image
            for image in layout.images
            if image.thing not in withheld
        ),
        tuple(row for row in layout.placed if withheld.isdisjoint((row.thing, row.on))),
        tuple(row for row in layout.stops if withheld.isdisjoint((row.thing, row.thread))),
    )


def _emptied(image: Image) -> Image:
    return replace(image, file="", service="", place=None)
