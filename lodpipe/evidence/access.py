"""What may be seen: `access.csv`, `notices.csv`, `withdrawals.csv`, `lifted.csv`, `renamed.csv`.

What cannot be read is taken for the strictest: an access value that is no word of ours, or a
notice without words, means withheld; a kind that is no word of ours means whatever has the key;
and a key that fits several documents withholds all of them.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from lodpipe.dates import iso_day
from lodpipe.errors import IriError, LodpipeError, UsageError, nearest
from lodpipe.evidence.cells import Cells
from lodpipe.evidence.columns import Folder
from lodpipe.evidence.keys import (
    ANY,
    BEINGS,
    OBJECTS,
    PLACES,
    TEXTS,
    Entries,
    KeyFault,
    Keys,
)
from lodpipe.findings import Finding
from lodpipe.iris import check_language
from lodpipe.records import Place
from lodpipe.terms import Concepts

OPEN, NOTICE, WITHHELD = "open", "notice", "withheld"
ACCESS = (OPEN, NOTICE, WITHHELD)
CLAIM, UNREAD = "claim", ""
CLASSES: dict[str, tuple[frozenset[str], ...]] = {
    "thing": (OBJECTS, frozenset({"VisualItem", "DigitalObject"}), ANY),
    "person": (BEINGS, ANY),
    "place": (PLACES, ANY),
    CLAIM: (),
    "source": (frozenset({"LinguisticObject"}), TEXTS, ANY),
    "thread": (frozenset({"Set"}), ANY),
    UNREAD: (ANY,),
}
"""Kinds of what a row is about, with the classes that they stand for, those preferred first."""
KINDS = tuple(kind for kind in CLASSES if kind)


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of `access.csv` or `withdrawals.csv`: what is asked for, and for what.

    `withdrawn` rows come from `withdrawals.csv`; their key need not lead to a document any more.
    `review_on` is a day in ISO 8601, or empty; `on` the day of the withdrawal as written.
    `public_reason` stands where the document stood; no other reason leaves the house.
    """

    key: str
    kind: str
    access: str
    place: Place
    notice: str = ""
    withdrawn: bool = False
    review_on: str = ""
    on: str = ""
    public_reason: str = ""


@dataclass(frozen=True, slots=True)
class Lift:
    """One row of `lifted.csv`: a withdrawal that holds no more, who decided so, and when."""

    key: str
    by: str
    on: str
    place: Place


@dataclass(frozen=True, slots=True)
class NoticeText:
    """One row of `notices.csv`: the words of a notice in one language, never changed by us."""

    notice: str
    language: str
    text: str
    authority: str
    contact: str
    place: Place


@dataclass(frozen=True, slots=True)
class Access:
    """What the access files ask for, keys as written.

    `faults` holds a UsageError for each row that withholds something without saying what.
    """

    rules: tuple[Rule, ...] = ()
    notices: Mapping[str, tuple[NoticeText, ...]] = field(default_factory=dict)
    renamed: tuple[tuple[str, str, Place], ...] = ()
    lifted: tuple[Lift, ...] = ()
    faults: tuple[LodpipeError, ...] = ()


@dataclass(slots=True)
class Named:
    """What the rows name, before anything is passed on: IRIs of documents, keys of claims.

    Attributes:
        withdrawn: those of the documents and claims that rows of `withdrawals.csv` name.
        notices: names of notices by IRI of a document or key of a claim.
        reasons: what is told of a document in its place, by its IRI.
        unknown: a finding for each row of `access.csv` that withholds, or asks for a notice on,
            what nothing is called. It may be misspelt, and then what it should withhold goes out.
        findings: keys that fit several documents, and rows that open nothing.
    """

    withheld: set[str] = field(default_factory=set)
    opened: set[str] = field(default_factory=set)
    claims: set[str] = field(default_factory=set)
    withdrawn: set[str] = field(default_factory=set)
    notices: dict[str, list[str]] = field(default_factory=dict)
    reasons: dict[str, str] = field(default_factory=dict)
    unknown: list[Finding] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)


def read_access(folder: Folder) -> Access:
    """Return what the access files of the evidence folder ask for."""
    notices: dict[str, tuple[NoticeText, ...]] = {}
    for record in folder.rows("notices"):
        words = _words(Cells(record, folder.report, "access"))
        if words is not None:
            notices[words.notice] = (*notices.get(words.notice, ()), words)
    rules = [
        _rule(Cells(record, folder.report, "access"), notices) for record in folder.rows("access")
    ]
    lifted = [_lift(Cells(record, folder.report, "access")) for record in folder.rows("lifted")]
    rules += _withdrawals(folder, lifted)
    faults = [
        UsageError(
            "the row does not say what is withheld", where=str(rule.place), hint="fill in `key`"
        )
        for rule in rules
        if rule.access == WITHHELD and not rule.key
    ]
    return Access(tuple(rules), notices, _renamed(folder), tuple(lifted), tuple(faults))


def _withdrawals(folder: Folder, lifted: Iterable[Lift]) -> Iterator[Rule]:
    """Yield the withdrawals that hold: a row of `lifted.csv` ends the first row of its key."""
    ended = Counter(lift.key for lift in lifted)
    for record in folder.rows("withdrawals"):
        cells = Cells(record, folder.report, "access")
        key = cells.text("key")
        if ended[key]:
            ended[key] -= 1
            continue
        yield Rule(
            key,
            _kind(cells),
            WITHHELD,
            cells.place,
            withdrawn=True,
            review_on=_day(cells, "review_on"),
            on=cells.text("on"),
            public_reason=cells.text("public_reason"),
        )


def _lift(cells: Cells) -> Lift:
    return Lift(cells.text("key"), cells.text("by"), cells.text("on"), cells.place)


def _words(cells: Cells) -> NoticeText | None:
    language = cells.text("language")
    if language:
        try:
            language = check_language(language)
        except IriError as error:
            cells.remark(error.message, "language", error.hint or "the words stand without it")
            language = ""
    words = NoticeText(
        cells.needed("notice"),
        language,
        cells.needed("text"),
        cells.text("authority"),
        cells.text("contact"),
        cells.place,
    )
    return None if cells.bad else words


def _rule(cells: Cells, notices: Mapping[str, object]) -> Rule:
    text = " ".join(cells.text("access").lower().split())
    if text not in ACCESS:
        cells.remark(
            f"`{text}` is not an access value, so the thing is withheld",
            "access",
            nearest(text, ACCESS) or "one of `open`, `notice`, `withheld`",
        )
        text = WITHHELD
    notice = cells.text("notice")
    if text == NOTICE and notice not in notices:
        cells.remark(
            f"`notices.csv` has no words for the notice `{notice}`, so the thing is withheld"
            if notice
            else "the row does not say which notice, so the thing is withheld",
            "notice",
            nearest(notice, notices) or "write its words into `notices.csv`",
        )
        text = WITHHELD
    return Rule(
        cells.text("key"),
        _kind(cells),
        text,
        cells.place,
        notice,
        review_on=_day(cells, "review_on"),
        public_reason=cells.text("public_reason"),
    )


def _kind(cells: Cells) -> str:
    kind = cells.word("kind", KINDS, "thing")
    return UNREAD if cells.bad else kind


def _day(cells: Cells, column: str) -> str:
    date = cells.edtf(column)
    if date is None or date.latest is None:
        return ""
    return iso_day(date.latest)


def named(
    access: Access, base: str, entries: Entries, concepts: Concepts, claims: Collection[str]
) -> Named:
    """Return what the rows name, themselves only, not what lies below.

    Args:
        entries: all documents of the run. `claims`: keys of all claims.
    """
    keys = Keys(base, entries, concepts, [rule.key for rule in access.rules])
    found = Named()
    for rule in access.rules:
        if rule.key:
            _enter(rule, found, keys, claims)
    found.opened -= found.withheld
    return found


def _enter(rule: Rule, found: Named, keys: Keys, claims: Collection[str]) -> None:
    uris, fault = _meant(rule, keys)
    claim = rule.key in claims and (rule.kind in (CLAIM, UNREAD) or not uris)
    if fault is not None and uris:
        found.findings.append(fault)
    if not uris and not claim:
        if rule.access == OPEN:
            found.findings.append(fault or _no_claim(rule))
        elif not rule.withdrawn:
            found.unknown.append(fault or _no_claim(rule))
    elif rule.access == WITHHELD:
        found.withheld.update(uris)
        if rule.public_reason:
            found.reasons.update(dict.fromkeys(uris, rule.public_reason))
        found.claims.update([rule.key] if claim else [])
        if rule.withdrawn:
            found.withdrawn.update((*uris, *([rule.key] if claim else [])))
    elif rule.access == NOTICE:
        for one in (*uris, *([rule.key] if claim else [])):
            found.notices.setdefault(one, []).append(rule.notice)
    elif fault is None:  # of several that may be meant none is opened
        found.opened.update(uris)


def _no_claim(rule: Rule) -> Finding:
    place = rule.place.at("key")
    return Finding("unknown-key", f"no claim has the key `{rule.key}`", place, value=rule.key)


def _meant(rule: Rule, keys: Keys) -> tuple[tuple[str, ...], Finding | None]:
    """Return the documents that a row may mean, and what is wrong with its key."""
    if rule.kind == CLAIM:
        return (), None
    try:
        return (keys.find(rule.key, *CLASSES[rule.kind]),), None
    except KeyFault as fault:
        found = Finding(
            fault.finding_code, fault.message, rule.place.at("key"), value=rule.key, hint=fault.hint
        )
        return keys.all(rule.key), found


def _renamed(folder: Folder) -> tuple[tuple[str, str, Place], ...]:
    """Return old path, newest path and place of each renaming.

    Raises:
        UsageError: a renaming leads back to itself.
    """
    rows: dict[str, tuple[str, Place]] = {}
    for record in folder.rows("renamed"):
        cells = Cells(record, folder.report, "fact")
        old, new = cells.needed("old"), cells.needed("new")
        if not cells.bad:
            rows[old] = (new, cells.place)
    found = []
    for old, (new, place) in rows.items():
        seen = {old}
        while new in rows:
            if new in seen:
                raise UsageError(
                    f"`{old}` is renamed in a circle",
                    where=str(place),
                    hint="let each row name where the thing is now",
                )
            seen.add(new)
            new = rows[new][0]
        if new in seen:
            raise UsageError(
                f"`{old}` is renamed in a circle",
                where=str(place),
                hint="let each row name where the thing is now",
            )
        found.append((old, new, place))
    return tuple(found)
