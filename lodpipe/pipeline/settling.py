"""The claims of a run: the ledger and what mappings found, settled, held against the last release."""

from collections.abc import Iterator
from dataclasses import replace

import orjson

from lodpipe import evidence
from lodpipe.archive import Archive
from lodpipe.aspects import builtin_aspects
from lodpipe.findings import Report
from lodpipe.parts import Drafts, IndexReader
from lodpipe.pipeline.workshop import Workshop
from lodpipe.records import Claim
from lodpipe.wording import language_for, say

FORMER, REJECTED = "former", "rejected"


def settle_claims(
    shop: Workshop,
    loaded: evidence.Loaded,
    drafts: Drafts,
    everything: IndexReader,
    day: str,
    report: Report,
) -> tuple[evidence.Evidence, tuple[Claim, ...]]:
    """Return the evidence, its keys made IRIs, and every claim with the standing that it has now.

    Args:
        everything: the index of all documents, also of those that may not be seen.
        day: of the run, ISO 8601.
    """
    aspects = builtin_aspects()
    resolved = evidence.resolve(
        loaded.evidence,
        shop.project.site.base,
        everything.entries,
        shop.concepts,
        aspects,
        report,
        declare=not shop.project.sources,
    )
    lines = [*resolved.claims, *drafts.claims()]
    published = _published(shop)
    evidence.compare((line for line in published if not line.mapped), lines, report)
    stated = {line.key for line in lines}
    lost = (line for line in published if line.mapped and line.key not in stated)
    lines += _no_longer_stated(shop, lost, everything, day)
    return resolved, evidence.settle(lines, aspects, report)


def _published(shop: Workshop) -> list[Claim]:
    """Return the claims of the last release."""
    if not shop.project.archive.is_file():
        return []
    with Archive(shop.project.archive) as archive:
        latest = archive.latest()
        return [line for _, line in archive.claims(latest.number)] if latest else []


def _no_longer_stated(
    shop: Workshop, lost: Iterator[Claim], everything: IndexReader, day: str
) -> Iterator[Claim]:
    """Yield claims that a source made and makes no longer: held formerly, from this day on.

    What was said stays said. One about a document that is gone itself goes with it, and one whose
    value the source states by now without a doubt is no claim any more.
    """
    language = language_for(shop.project.language)
    for claim in lost:
        tree = everything.tree(claim.about)
        if tree is None or f'"{claim.value}"'.encode() in orjson.dumps(tree):
            continue  # gone itself, or the source now states plainly what it doubted
        if claim.standing in (FORMER, REJECTED):
            yield claim
            continue
        site = shop.project.site
        speaker = everything.get(claim.by) or everything.get(site.base + site.publisher)
        by = speaker.label if speaker is not None else claim.by
        since = say(language, "basis.no-longer-stated", by=by, day=day)
        basis = f"{claim.basis.rstrip('.')}. {since}" if claim.basis else since
        yield replace(claim, standing=FORMER, effective=FORMER, basis=basis)
