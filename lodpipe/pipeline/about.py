"""Findings of the barrier, by the document that they are about."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lodpipe import evidence
from lodpipe.findings import Finding
from lodpipe.parts import IndexReader
from lodpipe.pipeline.workshop import Workshop


def in_circles(index: IndexReader) -> Iterator[Finding]:
    """Yield documents that are part of one another: no page of them could be shown."""
    links = {entry.uri: entry.parents for entry in index.entries() if entry.parents}
    for circle in evidence.circles(links):
        for uri in circle:
            yield Finding(
                "cycle",
                "part of itself: " + " -> ".join(f"`{one}`" for one in (*circle, circle[0])),
                value=uri,
                hint="mend what one of them is said to be part of",
                uri=uri,
            )


def by_document(
    shop: Workshop, index: IndexReader, findings: Sequence[Finding]
) -> tuple[list[Finding], dict[str, list[Finding]]]:
    """Lay findings to the documents that they are about, so that a violation stops these.

    A ledger line that cannot be used may say that the maker in the catalogue is wrong: then what
    it is about must not go out as if nobody had spoken.

    Returns:
        Those that are about no document, and all others by document.
    """
    base = shop.project.site.base
    keys = {finding.uri for finding in findings if finding.uri}
    meant = evidence.candidates(keys, base, index.entries, shop.concepts)
    rest: list[Finding] = []
    about: dict[str, list[Finding]] = {}
    for finding in findings:
        uris = [uri for uri in meant.get(finding.uri, ()) if index.get(uri)]
        for uri in uris:
            about.setdefault(uri, []).append(replace(finding, uri=uri))
        if not uris:
            rest.append(finding)
    return rest, about
