"""What may be seen although only withheld things point at it: it may tell of them."""

from collections.abc import Collection, Iterable

from lodpipe.findings import Finding
from lodpipe.parts import IndexReader
from lodpipe.pipeline.known import references
from lodpipe.records import Claim

BESIDE = frozenset({"Person", "Group", "Place", "LinguisticObject"})
"""Classes of what is recorded for the sake of something else: a caption, an unnamed sitter."""


def pointed_at(
    hidden: Iterable[str],
    unsaid: Iterable[Claim],
    everything: IndexReader,
    index: IndexReader,
    withheld: Collection[str],
) -> frozenset[str]:
    """Return what withheld documents and claims point at, and what may be seen itself.

    Args:
        hidden: withheld documents that the sources have. `unsaid`: claims that may not be seen.
        everything: the index of all documents; `index` that of those that may be seen.
        withheld: everything that may not be seen.
    """
    found: set[str] = set()
    for uri in hidden:
        tree = everything.tree(uri)
        if tree is not None:
            found.update(references(tree, ""))
    for claim in unsaid:
        found.update((claim.value, *claim.sources))
    entries = ((uri, index.get(uri)) for uri in found.difference(withheld))
    return frozenset(uri for uri, entry in entries if entry is not None and entry.type in BESIDE)


def left_alone(uri: str) -> Finding:
    """Return the finding for something that nothing else points at."""
    return Finding(
        "left-alone",
        f"only something withheld points at `{uri}`",
        value=uri,
        hint="withhold it too, if it tells of what is withheld",
    )
