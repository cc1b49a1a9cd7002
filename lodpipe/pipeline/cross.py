"""What no single document shows: links, numbers and days held against one another in a release."""

from collections.abc import Iterator
from typing import Any

import orjson

from lodpipe.archive import Archive
from lodpipe.evidence import layout_of_rows
from lodpipe.findings import INFO, WARNING, Finding
from lodpipe.pipeline.known import entry_of, references
from lodpipe.publish import iiif
from lodpipe.records import Layout, Tree

ACCESSION = "http://vocab.getty.edu/aat/300312355"
OTHERS = ("iiif/", "page/")
"""Paths below base that are no documents: manifests, pictures, pages for readers."""


def cross_findings(archive: Archive, release: int, base: str) -> Iterator[Finding]:
    """Yield what is wrong between documents of a release.

    - a link to something that is not published
    - a part that was made only after the whole was finished (DACS 2.4.9: the dates of a part lie
      within those of the whole, https://saa-ts-dacs.github.io/dacs/06_part_I/03_chapter_02/04_date.html)
    - two things with one accession number (common practice, no source)
    - pages of an album that share a number, or a number that is missing (common practice, no source)
    - a claim about something that is not published
    - a current claim that the evidence contradicts

    One pass over the documents; what is kept of them is their IRIs, their accession numbers, the
    wholes that they belong to, and the days of their making.
    """
    uris = set(archive.uris(release))
    numbers: dict[str, str] = {}
    ends: dict[str, tuple[str, str, str]] = {}
    parents: dict[str, tuple[str, ...]] = {}
    for document in archive.documents(release):
        tree = orjson.loads(document.body)
        yield from _dangling(tree, uris, base)
        yield from _twice(tree, numbers)
        span = _made(tree)
        if span:
            ends[document.uri] = span
        above = entry_of(tree).parents
        if above:
            parents[document.uri] = above
    yield from _outside(parents, ends)
    yield from _pages(layout_of_rows(archive.layout(release)))
    yield from _claims(archive, release, uris, base)


def _dangling(tree: Tree, uris: set[str], base: str) -> Iterator[Finding]:
    for iri in sorted(set(references(tree, base)) - uris):
        if not iri.removeprefix(base).startswith(OTHERS):
            yield Finding(
                "dangling",
                f"`{iri.removeprefix(base)}` is linked to and not published",
                value=iri,
                hint="look whether it was stopped at the gate",
                uri=tree["id"],
                path=_pointer(tree, iri),
            )


def _pointer(tree: Tree, iri: str) -> str:
    """Return the JSON Pointer of the first node below the top that has an IRI."""
    waiting: list[tuple[Any, str]] = [(tree, "")]
    while waiting:
        node, pointer = waiting.pop()
        if isinstance(node, dict):
            if pointer and node.get("id") == iri:
                return pointer
            waiting += [(inner, f"{pointer}/{key}") for key, inner in reversed(node.items())]
        elif isinstance(node, list):
            waiting += [(one, f"{pointer}/{n}") for n, one in reversed(list(enumerate(node)))]
    return ""


def _twice(tree: Tree, numbers: dict[str, str]) -> Iterator[Finding]:
    for number, node in enumerate(tree.get("identified_by", ())):
        if any(kind.get("id") == ACCESSION for kind in node.get("classified_as", ())):
            first = numbers.setdefault(node["content"], tree["id"])
            if first != tree["id"]:
                yield Finding(
                    "number-twice",
                    f"the accession number `{node['content']}` is also that of `{first}`",
                    value=node["content"],
                    hint="look which of the two has another number",
                    uri=tree["id"],
                    path=f"/identified_by/{number}/content",
                )


def _made(tree: Tree) -> tuple[str, str, str] | None:
    """Return the last beginning and end of the making of a thing, and where the beginning stands.

    Empty where it is open.
    """
    production = tree.get("produced_by", {})
    nodes = [("/produced_by", production)] + [
        (f"/produced_by/part/{number}", part)
        for number, part in enumerate(production.get("part", ()))
    ]
    spans: list[tuple[dict[str, Any], str]] = [
        (node["timespan"], f"{pointer}/timespan") for pointer, node in nodes if "timespan" in node
    ]
    begins = [
        (span["begin_of_the_begin"], pointer)
        for span, pointer in spans
        if "begin_of_the_begin" in span
    ]
    ends = [span["end_of_the_end"] for span, _ in spans if "end_of_the_end" in span]
    if not begins and not ends:
        return None
    begun, pointer = max(begins, default=("", ""))
    return begun, max(ends, default=""), pointer


def _outside(
    parents: dict[str, tuple[str, ...]], made: dict[str, tuple[str, str, str]]
) -> Iterator[Finding]:
    for uri, above in sorted(parents.items()):
        begun, _, pointer = made.get(uri, ("", "", ""))
        for whole in above:
            finished = made.get(whole, ("", "", ""))[1]
            if begun and finished and begun > finished:
                yield Finding(
                    "outside-whole",
                    f"made from {begun[:10]} on, after `{whole}` was finished on {finished[:10]}",
                    value=begun,
                    hint="look at both dates, or whether the thing was added later",
                    uri=uri,
                    path=pointer,
                    rule="https://saa-ts-dacs.github.io/",
                )


def _pages(layout: Layout) -> Iterator[Finding]:
    plan = iiif.plan(layout)
    for album in plan.albums:
        orders = [row.order for row in plan.on[album] if row.order and not row.region]
        twice = sorted({order for order in orders if orders.count(order) > 1})
        missing = sorted(set(range(min(orders, default=1), max(orders, default=0))) - set(orders))
        for severity, numbers, what, hint in (
            (WARNING, twice, "stands twice", "look at `order` in layout.csv"),
            (INFO, missing, "is missing", "a page that is not catalogued, or a wrong `order`"),
        ):
            if numbers:
                listed = ", ".join(map(str, numbers[:10]))
                yield Finding(
                    "page-order",
                    f"in the order of its pages {listed} {what}",
                    severity=severity,
                    value=listed,
                    hint=hint,
                    uri=album,
                )


def _claims(archive: Archive, release: int, uris: set[str], base: str) -> Iterator[Finding]:
    verdicts = archive.verdicts(release)
    for document, claim in archive.claims(release):
        if claim.about.startswith(base) and claim.about not in uris:
            yield Finding(
                "claim-homeless",
                f"the claim `{claim.key}` is about something that is not published",
                claim.place,
                value=claim.about,
                hint="look whether it was stopped at the gate, or whether the key is right",
                uri=document,
            )
        verdict = verdicts.get(claim.key)
        if verdict and verdict["verdict"] == "contradicted" and claim.effective == "current":
            yield Finding(
                "contradicted",
                f"the claim `{claim.key}` cannot hold; `lodpipe weigh` says why",
                claim.place,
                value=claim.value,
                uri=document,
            )
