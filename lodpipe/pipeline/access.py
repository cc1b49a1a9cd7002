"""What may not leave the house, and what a notice stands before."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from lodpipe import evidence
from lodpipe.archive import Archive
from lodpipe.errors import ManyErrors, UsageError
from lodpipe.evidence import NoticeText
from lodpipe.findings import Finding, Report
from lodpipe.parts import IndexReader
from lodpipe.pipeline import reach
from lodpipe.project import Project
from lodpipe.records import Claim
from lodpipe.terms import Concepts

SHORTEST = 8
"""Characters of a name from which on it is looked for in what leaves."""


@dataclass(frozen=True, slots=True)
class Restricted:
    """What access asks of a run.

    Attributes:
        documents: IRIs of what may not be seen, also of what the sources no longer have.
        claims: keys of claims that may not be seen.
        notices: the words that stand before a document, by its IRI.
        carriers: returns on which pictures a thing may be seen although no region says where.
        showing: returns things and the images that they show, given the things.
    """

    documents: frozenset[str] = frozenset()
    claims: frozenset[str] = frozenset()
    notices: Mapping[str, tuple[NoticeText, ...]] = field(default_factory=dict)
    carriers: Callable[[], Mapping[str, Iterable[str]]] = dict
    showing: Callable[[frozenset[str]], frozenset[str]] = frozenset

    def __bool__(self) -> bool:
        """Whether anything may not be seen."""
        return bool(self.documents or self.claims)


def refuse_faulty(access: evidence.Access) -> None:
    """Stop where a row withholds something without saying what.

    Raises:
        ManyErrors: each such row, so that nobody believes that it holds.
    """
    if access.faults:
        raise ManyErrors(access.faults)


def restricted(
    project: Project,
    access: evidence.Access,
    index: IndexReader,
    concepts: Concepts,
    claims: Sequence[Claim],
    report: Report,
) -> Restricted:
    """Return what may not be seen, and the notices: what rows name, and everything they reach.

    Args:
        index: of everything. `claims`: all of a run, settled.

    Raises:
        ManyErrors: rows about something that no release ever had.
    """
    everything_open = project.access.default == "open"
    if everything_open and not access.rules:
        return Restricted()
    keys = {claim.key: claim for claim in claims}
    found = evidence.named(access, project.site.base, index.entries, concepts, keys)
    for finding in found.findings:
        report(finding)
    known = _known_before(project, found.unknown)
    named = found.withheld | known.documents
    if not everything_open:
        things = {entry.uri for entry in index.entries() if entry.type == "HumanMadeObject"}
        named |= things - found.opened
    along = reach.links(index, claims)
    noticed = {
        keys[key].about if key in keys else key: names for key, names in found.notices.items()
    }
    notices = reach.with_notice(noticed, along)
    return Restricted(
        reach.withheld(named, found.opened, along),
        frozenset(found.claims | known.claims),
        {uri: _texts(access, names) for uri, names in notices.items()},
        lambda: reach.carriers(along),
        lambda things: reach.with_images(things, along),
    )


def _texts(access: evidence.Access, names: Iterable[str]) -> tuple[NoticeText, ...]:
    return tuple(text for name in names for text in access.notices.get(name, ()))


def _known_before(project: Project, unknown: Iterable[Finding]) -> Restricted:
    """Return what rows of access.csv withhold that the sources no longer have.

    Raises:
        ManyErrors: rows that withhold something that no release ever had. It may be misspelt, and
            then what it should withhold would go out.
    """
    documents: set[str] = set()
    claims: set[str] = set()
    faults = []
    for finding in unknown:
        uris, claim = _ever_held(project, finding.value)
        documents |= uris
        claims.update([finding.value] if claim else [])
        if not uris and not claim:
            hint = "mend the key, or take the row out: what it means would be shown"
            where = str(finding.place or "")
            faults.append(UsageError(finding.message, hint=finding.hint or hint, where=where))
    if faults:
        raise ManyErrors(faults)
    return Restricted(frozenset(documents), frozenset(claims))


def _ever_held(project: Project, key: str) -> tuple[frozenset[str], bool]:
    if not project.archive.is_file():
        return frozenset(), False
    with Archive(project.archive) as archive:
        return archive.ever_held(project.site.base, key), archive.ever_claimed(key)


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
