"""What may not leave the house, and what a notice stands before."""

from collections.abc import Callable, Collection, Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from lodpipe import evidence
from lodpipe.archive import Archive, Withdrawal
from lodpipe.errors import ManyErrors, UsageError
from lodpipe.evidence import NoticeText
from lodpipe.findings import Finding, Report
from lodpipe.iris import key_of
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
        withdrawal: what of all this was withdrawn, and has to be in no release.
        reasons: what is told in the place of a document, by its IRI.
    """

    documents: frozenset[str] = frozenset()
    claims: frozenset[str] = frozenset()
    notices: Mapping[str, tuple[NoticeText, ...]] = field(default_factory=dict)
    carriers: Callable[[], Mapping[str, Iterable[str]]] = dict
    showing: Callable[[frozenset[str]], frozenset[str]] = frozenset
    withdrawal: Withdrawal = field(default_factory=Withdrawal)
    reasons: Mapping[str, str] = field(default_factory=dict)

    def __bool__(self) -> bool:
        """Whether anything may not be seen."""
        return bool(self.documents or self.claims)


def refuse_faulty(access: evidence.Access, project: Project, *, withdrawing: bool) -> None:
    """Stop where what access asks for cannot hold.

    Args:
        withdrawing: whether withdrawals.csv is carried out right after this run.

    Raises:
        ManyErrors: rows that withhold something without saying what; withdrawals that are written
            and not carried out, or carried out and not written.
    """
    faults = list(access.faults)
    if project.archive.is_file() and not withdrawing:
        faults += _disagreement(project, access)
    if faults:
        raise ManyErrors(faults)


def reviews_due(access: evidence.Access, day: str) -> Iterator[Finding]:
    """Yield the rows whose date of review has passed.

    Args:
        day: of the run, ISO 8601.
    """
    for rule in access.rules:
        if rule.review_on and rule.review_on < day:
            yield Finding(
                "review-due",
                f"the access of `{rule.key}` was to be looked at again by {rule.review_on}",
                rule.place.at("review_on"),
                value=rule.review_on,
                hint="ask those at whose wish it was made, then set the next date",
            )


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
    if project.access.default == "open" and not access.rules:
        return Restricted()
    keys = {claim.key: claim for claim in claims}
    found = evidence.named(access, project.site.base, index.entries, concepts, keys)
    for finding in found.findings:
        report(finding)
    known = _known_before(project, found.unknown)
    lost = _withdrawn_before(project, access)
    named = found.withheld | known.documents | lost.documents
    if project.access.default != "open":
        named |= _things(index) - found.opened
    along = reach.links(index, claims)
    noticed = {
        keys[key].about if key in keys else key: names for key, names in found.notices.items()
    }
    notices = reach.with_notice(noticed, along)
    return Restricted(
        reach.withheld(named, found.opened, along),
        frozenset(found.claims | known.claims | lost.claims),
        {uri: _texts(access, names) for uri, names in notices.items()},
        lambda: reach.carriers(along),
        lambda things: reach.with_images(things, along),
        _taken_back(lost, found, keys, along),
        _reasons(project, access, found.reasons),
    )


def _taken_back(
    lost: Withdrawal, found: evidence.Named, keys: Collection[str], along: reach.Links
) -> Withdrawal:
    """Return what has to be in no release: what is withdrawn now, with all that it reaches."""
    claims = found.withdrawn.intersection(keys)
    documents = found.withdrawn - claims | lost.documents
    return replace(
        lost,
        documents=reach.withheld(documents, found.opened, along),
        claims=lost.claims | claims,
    )


def _reasons(project: Project, access: evidence.Access, known: Mapping[str, str]) -> dict[str, str]:
    """Return what is told in the place of documents, also of those that the sources have no more."""
    found = {
        uri: rule.public_reason
        for rule in access.rules
        if rule.public_reason and rule.access == evidence.WITHHELD and rule.kind != evidence.CLAIM
        for uri in _ever_held(project, rule.key)[0]
    }
    return {**found, **known}


def lifted(
    project: Project, access: evidence.Access, withheld: Container[str]
) -> Iterator[Finding]:
    """Yield what is published again since its withdrawal was lifted: nothing comes back unsaid.

    Args:
        withheld: documents that may not be seen, lifted or not.
    """
    for lift in access.lifted:
        for uri in sorted(_ever_held(project, lift.key)[0]):
            with Archive(project.archive) as archive:
                stone = archive.tombstone(uri)
            if stone and stone[1] == "withdrawn" and uri not in withheld:
                day = f" on {lift.on}" if lift.on else ""
                yield Finding(
                    "lifted",
                    f"`{key_of(project.site.base, uri)}` may be published again: `{lift.by}` lifted its "
                    f"withdrawal{day}",
                    lift.place.at("key"),
                    value=lift.key,
                )


def _things(index: IndexReader) -> set[str]:
    return {entry.uri for entry in index.entries() if entry.type == "HumanMadeObject"}


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


def _withdrawn_before(project: Project, access: evidence.Access) -> Withdrawal:
    """Return what withdrawals.csv takes back of what any release had."""
    lines = tuple((rule.key, rule.kind, rule.on) for rule in access.rules if rule.withdrawn)
    documents: set[str] = set()
    claims: set[str] = set()
    for key, kind, _ in lines:
        uris, claim = _ever_held(project, key)
        documents |= uris if kind != evidence.CLAIM else set()
        claims.update([key] if (claim and not uris) or kind == evidence.CLAIM else [])
    return Withdrawal(frozenset(documents), frozenset(claims), lines)


def _disagreement(project: Project, access: evidence.Access) -> list[UsageError]:
    """Return where archive and withdrawals.csv do not agree about what was withdrawn."""
    asked = {rule.key: rule.place for rule in access.rules if rule.withdrawn}
    with Archive(project.archive) as archive:
        done = archive.withdrawn()
        faults = [
            UsageError(
                f"`{key}` is to be withdrawn, and releases of the archive still hold it",
                hint=f"finish it with `lodpipe withdraw {key}`, which takes it out of all of them",
                where=str(place),
            )
            for key, place in asked.items()
            if key not in done and archive.holds_any(project.site.base, key)
        ]
    ended = {lift.key: lift.place for lift in access.lifted}
    faults += [
        UsageError(
            f"the withdrawal of `{key}` is lifted, and the archive does not know of it",
            hint=f"finish it with `lodpipe withdraw {key} --lift`",
            where=str(ended[key]),
        )
        if key in ended
        else UsageError(
            f"`{key}` was withdrawn{f' on {day}' if day else ''}, and no line says so any more",
            hint="put the line back into withdrawals.csv: what was withdrawn stays withdrawn, until "
            "`lodpipe withdraw KEY --lift`",
            where=project.evidence.folder + "/withdrawals.csv",
        )
        for key, day in done.items()
        if key not in asked
    ]
    return faults


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
