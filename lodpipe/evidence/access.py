"""What may be seen: `access.csv`, `notices.csv`, `withdrawals.csv`, and `renamed.csv`.

What cannot be read is taken for the strictest: an access value that is no word of ours means
withheld, and a key that fits several documents withholds all of them. Until notices and access to
persons, places, claims, sources and threads can be honoured, such rows are handed back in
`cannot`, for the run to stop: publishing and hoping is not an option.
"""

from dataclasses import dataclass

from lodpipe.errors import LodpipeError, UsageError, nearest
from lodpipe.evidence.cells import Cells
from lodpipe.evidence.columns import Folder
from lodpipe.evidence.keys import ANY, OBJECTS, Entries, KeyFault, Keys
from lodpipe.findings import Finding, Report
from lodpipe.records import Place
from lodpipe.terms import Concepts

OPEN, NOTICE, WITHHELD = "open", "notice", "withheld"
ACCESS = (OPEN, NOTICE, WITHHELD)
KINDS = ("thing", "person", "place", "claim", "source", "thread")


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of `access.csv` or `withdrawals.csv`: what is asked for, and for what.

    `withdrawn` rows come from `withdrawals.csv`; their key need not lead to a document any more.
    """

    key: str
    kind: str
    access: str
    notice: str
    withdrawn: bool
    place: Place


@dataclass(frozen=True, slots=True)
class NoticeText:
    """One row of `notices.csv`: the words of a notice in one language."""

    notice: str
    language: str
    text: str
    authority: str
    contact: str
    place: Place


@dataclass(frozen=True, slots=True)
class Access:
    """What the access files ask for, keys as written.

    `cannot` holds a UsageError for each row that cannot be honoured yet.
    """

    rules: tuple[Rule, ...] = ()
    notices: tuple[NoticeText, ...] = ()
    renamed: tuple[tuple[str, str, Place], ...] = ()
    cannot: tuple[LodpipeError, ...] = ()


def read_access(folder: Folder) -> Access:
    """Return what the access files of the evidence folder ask for."""
    rules = []
    for record in folder.rows("access"):
        cells = Cells(record, folder.report, "access")
        rules.append(_rule(cells))
    for record in folder.rows("withdrawals"):
        cells = Cells(record, folder.report, "access")
        kind = cells.word("kind", KINDS, "thing")
        if cells.bad:
            kind = "unknown"
        rules.append(Rule(cells.text("key"), kind, WITHHELD, "", True, cells.place))
    notices = []
    for record in folder.rows("notices"):
        cells = Cells(record, folder.report, "access")
        notices.append(
            NoticeText(
                cells.needed("notice"),
                cells.text("language"),
                cells.needed("text"),
                cells.text("authority"),
                cells.text("contact"),
                cells.place,
            )
        )
    cannot = [fault for rule in rules if (fault := _cannot(rule))]
    if notices:
        cannot.append(
            UsageError(
                "notices cannot be shown yet",
                hint="take `notices.csv` out of the evidence folder, and withhold what needs one",
                where=str(notices[0].place),
            )
        )
    return Access(tuple(rules), tuple(notices), _renamed(folder), tuple(cannot))


def _rule(cells: Cells) -> Rule:
    text = " ".join(cells.text("access").lower().split())
    if text not in ACCESS:
        cells.remark(
            f"`{text}` is not an access value, so the thing is withheld",
            "access",
            nearest(text, ACCESS) or "one of `open`, `notice`, `withheld`",
        )
        text = WITHHELD
    kind = cells.word("kind", KINDS, "thing")
    if cells.bad:
        kind = "unknown"
    return Rule(cells.needed("key"), kind, text, cells.text("notice"), False, cells.place)


def _cannot(rule: Rule) -> UsageError | None:
    """Return why a row cannot be honoured yet, None when it can."""
    where = str(rule.place)
    if rule.access == OPEN and not rule.withdrawn:
        return None
    if not rule.key:
        return UsageError("the row does not say what is withheld", where=where)
    if rule.kind != "thing":
        return UsageError(
            f"access to a {rule.kind} cannot be honoured yet, asked for `{rule.key}`"
            if rule.kind in KINDS
            else f"the kind of `{rule.key}` cannot be read, so its access cannot be honoured",
            hint="withhold the things that show or name it, one by one",
            where=where,
        )
    if rule.access == NOTICE:
        return UsageError(
            f"notices cannot be shown yet, asked for `{rule.key}`",
            hint="withhold it until they can",
            where=where,
        )
    return None


def named_things(
    access: Access,
    base: str,
    entries: Entries,
    concepts: Concepts,
    report: Report,
    *,
    access_is: str = WITHHELD,
) -> frozenset[str]:
    """Return the IRIs of the things that have an access, themselves only, not what lies below.

    A key of `access.csv` that leads to no document is a finding: it may be misspelt, and then
    what it should withhold goes out. One of several documents withholds all of them, and opens
    none.
    """
    rules = [rule for rule in access.rules if rule.access == access_is and rule.kind == "thing"]
    keys = Keys(base, entries, concepts, [rule.key for rule in rules])
    found: set[str] = set()
    for rule in rules:
        try:
            found.add(keys.find(rule.key, OBJECTS, ANY))
        except KeyFault as fault:
            if access_is == WITHHELD:
                found.update(keys.all(rule.key))
            if not rule.withdrawn:
                at = rule.place.at("key")
                report(
                    Finding(fault.finding_code, fault.message, at, value=rule.key, hint=fault.hint)
                )
    return frozenset(found)


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
                raise UsageError(f"`{old}` is renamed in a circle", where=str(place))
            seen.add(new)
            new = rows[new][0]
        if new in seen:
            raise UsageError(f"`{old}` is renamed in a circle", where=str(place))
        found.append((old, new, place))
    return tuple(found)
