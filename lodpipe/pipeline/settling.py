"""The claims of a run: the ledger and what mappings found, settled, held against the last release."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import orjson

from lodpipe import evidence
from lodpipe.archive import Archive
from lodpipe.aspects import builtin_aspects
from lodpipe.findings import Finding, Report
from lodpipe.parts import Drafts, IndexReader
from lodpipe.pipeline.workshop import Workshop
from lodpipe.records import Claim
from lodpipe.wording import language_for, say

FORMER, REJECTED = "former", "rejected"


@dataclass(frozen=True, slots=True)
class Settled:
    """The evidence, its keys made IRIs, and every claim with the standing that it has now.

    `as_published`: nothing was said of the claims that the last release has, or had to be.
    """

    facts: evidence.Evidence
    claims: tuple[Claim, ...]
    as_published: bool


def settle_claims(
    shop: Workshop,
    loaded: evidence.Loaded,
    drafts: Drafts,
    everything: IndexReader,
    day: str,
    report: Report,
) -> Settled:
    """Settle what the evidence says, what mappings found, and what the last release has of both.

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
    edited: list[Finding] = []
    evidence.compare((line for line in published if not line.mapped), lines, edited.append)
    for finding in edited:
        report(finding)
    stated = {line.key for line in lines}
    lost = [line for line in published if line.mapped and line.key not in stated]
    lines += _no_longer_stated(shop, lost, everything, day)
    as_published = not edited and all(line.standing in (FORMER, REJECTED) for line in lost)
    return Settled(resolved, evidence.settle(lines, aspects, report), as_published)


def _published(shop: Workshop) -> list[Claim]:
    """Return the claims of the last release."""
    if not shop.project.archive.is_file():
        return []
    with Archive(shop.project.archive) as archive:
        latest = archive.latest()
        return [line for _, line in archive.claims(latest.number)] if latest else []


def _no_longer_stated(
    shop: Workshop, lost: Iterable[Claim], everything: IndexReader, day: str
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
