"""What no single document shows: links, numbers and days held against one another in a release."""

from collections.abc import Iterator
from typing import Any

import orjson

from lodpipe.archive import Archive
from lodpipe.evidence import layout_of_rows
from lodpipe.findings import Finding
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
    - a current claim that the evidence contradicts
    """
    uris = set(archive.uris(release))
    numbers: dict[str, str] = {}
    ends: dict[str, tuple[str, str]] = {}
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
    yield from _contradicted(archive, release)


def _dangling(tree: Tree, uris: set[str], base: str) -> Iterator[Finding]:
    for iri in sorted(set(references(tree, base)) - uris):
        if not iri.removeprefix(base).startswith(OTHERS):
            yield Finding(
                "dangling",
                f"`{iri.removeprefix(base)}` is linked to and not published",
                value=iri,
                hint="look whether it was stopped at the gate",
                uri=tree["id"],
            )


def _twice(tree: Tree, numbers: dict[str, str]) -> Iterator[Finding]:
    for node in tree.get("identified_by", ()):
        if any(kind.get("id") == ACCESSION for kind in node.get("classified_as", ())):
            first = numbers.setdefault(node["content"], tree["id"])
            if first != tree["id"]:
                yield Finding(
                    "number-twice",
                    f"the accession number `{node['content']}` is also that of `{first}`",
                    value=node["content"],
                    hint="look which of the two has another number",
                    uri=tree["id"],
                )


def _made(tree: Tree) -> tuple[str, str] | None:
    """Return the first and last instant of the making of a thing; empty where it is open."""
    production = tree.get("produced_by", {})
    spans: list[dict[str, Any]] = [
        node["timespan"] for node in (production, *production.get("part", ())) if "timespan" in node
    ]
    begins = [span["begin_of_the_begin"] for span in spans if "begin_of_the_begin" in span]
    ends = [span["end_of_the_end"] for span in spans if "end_of_the_end" in span]
    if not begins and not ends:
        return None
    return max(begins, default=""), max(ends, default="")


def _outside(
    parents: dict[str, tuple[str, ...]], made: dict[str, tuple[str, str]]
) -> Iterator[Finding]:
    for uri, above in sorted(parents.items()):
        for whole in above:
            begun, finished = made.get(uri, ("", ""))[0], made.get(whole, ("", ""))[1]
            if begun and finished and begun > finished:
                yield Finding(
                    "outside-whole",
                    f"made from {begun[:10]} on, after `{whole}` was finished on {finished[:10]}",
                    value=begun,
                    hint="look at both dates, or whether the thing was added later",
                    uri=uri,
                    rule="https://saa-ts-dacs.github.io/",
                )


def _pages(layout: Layout) -> Iterator[Finding]:
    plan = iiif.plan(layout)
    for album in plan.albums:
        orders = [row.order for row in plan.on[album] if row.order and not row.region]
        twice = sorted({order for order in orders if orders.count(order) > 1})
        missing = sorted(set(range(min(orders, default=1), max(orders, default=0))) - set(orders))
        for what, found in (("stands twice", twice), ("is missing", missing)):
            if found:
                listed = ", ".join(map(str, found[:10]))
                yield Finding(
                    "page-order",
                    f"in the order of its pages {listed} {what}",
                    value=listed,
                    hint="look at `order` in layout.csv",
                    uri=album,
                )


def _contradicted(archive: Archive, release: int) -> Iterator[Finding]:
    verdicts = archive.verdicts(release)
    for document, claim in archive.claims(release):
        verdict = verdicts.get(claim.key)
        if verdict and verdict["verdict"] == "contradicted" and claim.effective == "current":
            yield Finding(
                "contradicted",
                f"the claim `{claim.key}` cannot hold; `lodpipe weigh` says why",
                claim.place,
                value=claim.value,
                uri=document,
            )
