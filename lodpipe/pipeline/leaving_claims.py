"""Which claims may leave, and what of them."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from lodpipe import evidence
from lodpipe.aspects import alternatives
from lodpipe.evidence.facts import Evidence
from lodpipe.findings import Finding, Report
from lodpipe.pipeline.access import Restricted
from lodpipe.pipeline.unsaid import Unsaid
from lodpipe.records import Claim


def claims_that_may_leave(
    claims: Sequence[Claim], held: Restricted, unsaid: Unsaid, report: Report
) -> tuple[list[Claim], list[Claim]]:
    """Return the claims that may leave, and those that may not, both in the order given.

    A claim stays here that names something withheld, or that rests on withheld sources alone. One
    that rests on others as well leaves without those sources and without its basis, which may
    repeat what they say. Of claims of which one holds, a single one that is left stays here too:
    nobody would see that there is another. A claim that replaces one that stays here replaces what
    that one replaced.
    """
    if not held:
        return list(claims), []
    kept_here = {
        claim.key: reason for claim in claims if (reason := _reason(claim, held)) is not None
    }
    sets = {key: first for key, (first, _) in sorted(alternatives(claims).items())}
    for first in dict.fromkeys(sets.values()):
        members = [key for key, of in sets.items() if of == first]
        left = [key for key in members if key not in kept_here]
        if len(left) == 1 < len(members):
            kept_here[left[0]] = "is left out: what it is an alternative to is withheld"
    by_key = {claim.key: claim for claim in claims}
    leaving, staying = [], []
    for claim in claims:
        if claim.key in kept_here:
            staying.append(claim)
            report(_told(claim, kept_here[claim.key]))
            continue
        found = _reduced(claim, held, kept_here, by_key, sets, unsaid)
        if found is not claim:
            found = replace(found, written=evidence.written(claim))
            if found.sources != claim.sources:
                report(_told(claim, "goes out without a source that is withheld"))
        leaving.append(found)
    return leaving, staying


def _reason(claim: Claim, held: Restricted) -> str | None:
    hidden = held.documents
    if claim.key in held.claims:
        return "is withheld"
    if claim.about in hidden or claim.value in hidden or claim.by in hidden:
        return "is left out: it names something withheld"
    if claim.sources and hidden.issuperset(claim.sources):
        return "is left out: its sources are withheld"
    return None


def _reduced(
    claim: Claim,
    held: Restricted,
    kept_here: Iterable[str],
    by_key: dict[str, Claim],
    sets: dict[str, str],
    unsaid: Unsaid,
) -> Claim:
    """Return a claim without what it says of something withheld; itself where that is nothing."""
    found = claim
    if not held.documents.isdisjoint(claim.sources):
        padded = [*claim.locators, *[""] * len(claim.sources)][: len(claim.sources)]
        kept = [
            pair
            for pair in zip(claim.sources, padded, strict=True)
            if pair[0] not in held.documents
        ]
        found = replace(
            found,
            sources=tuple(source for source, _ in kept),
            locators=tuple(locator for _, locator in kept),
            basis="",
        )
    replaces, seen = claim.replaces, {claim.key}
    while replaces in kept_here and replaces not in seen:
        seen.add(replaces)
        replaces = by_key[replaces].replaces
    first = claim.alternative_to
    if first in kept_here:
        mine = sets[claim.key]
        first = next(key for key, of in sets.items() if of == mine and key not in kept_here)
    changed = {
        "replaces": replaces,
        "alternative_to": "" if first == claim.key else first,
        "basis": unsaid.text(found.basis),
        "value_text": unsaid.text(found.value_text),
        "part": unsaid.text(found.part),
    }
    locators = tuple(map(unsaid.text, found.locators))
    if locators != found.locators or any(getattr(found, k) != v for k, v in changed.items()):
        found = replace(found, locators=locators, **changed)  # type: ignore[arg-type]
    return found


def _told(claim: Claim, what: str) -> Finding:
    return Finding("withheld", f"the claim `{claim.key}` {what}", claim.place, value=claim.key)


def facts_that_may_leave(facts: Evidence, held: Restricted) -> Evidence:
    """Return the evidence that verdicts may rest on that leave the house.

    Left out is what is about somebody or something withheld, or rests on withheld sources alone.
    """
    hidden = held.documents
    if not hidden:
        return facts

    def stays(sources: tuple[str, ...], *about: str) -> bool:
        return hidden.isdisjoint(about) and not (sources and hidden.issuperset(sources))

    return replace(
        facts,
        people=tuple(row for row in facts.people if stays(row.sources, row.key)),
        membership=tuple(row for row in facts.membership if stays(row.sources, row.who, row.party)),
        whereabouts=tuple(
            row for row in facts.whereabouts if stays(row.sources, row.who, row.where)
        ),
        places=tuple(row for row in facts.places if stays(row.sources, row.key)),
        things=tuple(row for row in facts.things if stays(row.sources, row.thing)),
        processes=tuple(row for row in facts.processes if stays(row.sources, row.region)),
        order=tuple(row for row in facts.order if stays(row.sources)),
        sources=tuple(row for row in facts.sources if row.key not in hidden),
    )
