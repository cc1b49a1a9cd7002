"""What weighing has to tell the user: contradicted claims that are held, and facts at odds."""

from lodpipe.dates import iso_day
from lodpipe.evidence import certain, sets_of
from lodpipe.findings import VIOLATION, Finding, Report
from lodpipe.records import Place
from lodpipe.weigh.grounds import Ground
from lodpipe.weigh.results import CONTRADICTED, Weighing
from lodpipe.weigh.spans import MAX, MIN, Spans


def report_weighing(weighing: Weighing, report: Report) -> None:
    """Report current claims that the evidence contradicts, and facts that contradict one another.

    A certain current claim that is contradicted is a violation. A claim with a doubt is a
    warning: its author may have known better than the evidence, or not.
    """
    verdicts = weighing.verdicts()
    sets = sets_of(verdict.claim for verdict in verdicts.values())
    first: dict[str, tuple[Ground, ...]] = {}
    for conflict in weighing.conflicts:
        first.setdefault(conflict.claim, conflict.members)
    for key, verdict in verdicts.items():
        claim = verdict.claim
        if verdict.verdict != CONTRADICTED or claim.effective != "current":
            continue
        members = [_row(row) for row in first.get(key, ()) if row.claim != key]
        others = f" cannot hold with {', '.join(members)}" if members else " cannot hold"
        report(
            Finding(
                "contradicted",
                f"the claim `{key}`{others}",
                claim.place,
                VIOLATION if certain(claim, sets) else "",
                value=claim.value,
                hint="look at these rows: one of them must give way",
                uri=claim.about,
            )
        )
    for clash in weighing.evidence_conflicts:
        report(
            Finding(
                "evidence-conflict",
                f"the rows {' and '.join(map(_row, clash.members))} contradict one another, "
                f"{_days(clash.days)}",
                Place(clash.members[0].file, clash.members[0].row, 0, clash.members[0].sheet),
                hint="until one is corrected, nothing is concluded from them for these days",
                uri=clash.who,
            )
        )


def _row(row: Ground) -> str:
    return f"{row.file}:{row.row}"


def _days(days: Spans) -> str:
    return ", ".join(
        iso_day(low) if low == high else f"{_day(low)} to {_day(high)}" for low, high in days
    )


def _day(day: int) -> str:
    return "no bound" if day in (MIN, MAX) else iso_day(day)


def fits(size: tuple[float, float], width: float, height: float, tolerance: float | None) -> bool:
    """Return whether a mount has the size of a format, either way up.

    Args:
        size: of the mount. `width`, `height`, `tolerance`: of the format; all in mm, the
            tolerance 0 when the row has none.

    >>> fits((102, 65), 64, 100, 3), fits((108, 165), 64, 100, 3)
    (True, False)
    """
    allowed = tolerance or 0
    return any(
        abs(a - width) <= allowed and abs(b - height) <= allowed for a, b in (size, size[::-1])
    )
