"""What may not leave the house: withheld documents, what is said of them, pictures that show them."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from lodpipe import evidence
from lodpipe.archive import Archive
from lodpipe.errors import ManyErrors, UsageError
from lodpipe.findings import Finding, Report
from lodpipe.parts import IndexReader
from lodpipe.pipeline.known import hidden
from lodpipe.project import Project
from lodpipe.records import Claim
from lodpipe.terms import Concepts

SHORTEST = 8
"""Characters of a name from which on it is looked for in what leaves."""


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
    unknown: list[Finding] = []
    named = evidence.named_things(access, base, index.entries, concepts, unknown.append)
    named |= _known_before(project, unknown)
    if project.access.default == "withheld":
        opened = evidence.named_things(
            access, base, index.entries, concepts, report, access_is="open"
        )
        things = {entry.uri for entry in index.entries() if entry.type == "HumanMadeObject"}
        named |= things - opened
    return hidden(index, named)


def _known_before(project: Project, unknown: Iterable[Finding]) -> frozenset[str]:
    """Return what rows of access.csv withhold that the sources no longer have.

    Raises:
        ManyErrors: rows that withhold something that no release ever had. It may be misspelt, and
            then what it should withhold would go out.
    """
    named: set[str] = set()
    faults = []
    for finding in unknown:
        known = _ever_held(project, finding.value)
        named |= known
        if not known:
            hint = "mend the key, or take the row out: what it means would be shown"
            where = str(finding.place or "")
            faults.append(UsageError(finding.message, hint=finding.hint or hint, where=where))
    if faults:
        raise ManyErrors(faults)
    return frozenset(named)


def _ever_held(project: Project, key: str) -> frozenset[str]:
    if not project.archive.is_file():
        return frozenset()
    with Archive(project.archive) as archive:
        return archive.ever_held(project.site.base, key)


def words_of(index: IndexReader, hidden_here: frozenset[str]) -> frozenset[str]:
    """Return the names and numbers of withheld documents, for a look through what leaves.

    Short ones are left out: `12` and `Page 12` stand in many texts that say nothing of it.
    """
    found = set()
    for uri in hidden_here:
        tree = index.tree(uri)
        for node in tree.get("identified_by", ()) if tree else ():
            text = node.get("content", "")
            if len(text) >= SHORTEST:
                found.add(text)
    return frozenset(found)


def claims_that_may_leave(
    claims: Iterable[Claim], withheld: frozenset[str], report: Report
) -> Iterator[Claim]:
    """Yield the claims that name nothing withheld; a withheld source is no longer named."""
    for claim in claims:
        if claim.about in withheld or claim.value in withheld or claim.by in withheld:
            report(_left_out(claim, "is left out: it names something withheld"))
            continue
        if any(source in withheld for source in claim.sources):
            report(_left_out(claim, "goes out without a source that is withheld"))
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


def _left_out(claim: Claim, what: str) -> Finding:
    return Finding("withheld", f"the claim `{claim.key}` {what}", claim.place, value=claim.key)
