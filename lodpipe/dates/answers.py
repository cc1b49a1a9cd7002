"""The answer of `lodpipe date --json`, and machine dates held against the text beside them."""

import re
from typing import Any

from lodpipe.dates.bounds import CIRCA_YEARS, outer_bounds
from lodpipe.dates.days import civil, iso_day
from lodpipe.dates.edtf import ONE_OF, Edtf, parse
from lodpipe.dates.reading import Result, read
from lodpipe.dates.results import Events, Policy, Reading, Unread
from lodpipe.errors import DateError

_DATES = ("edtf", "earliest", "latest", "outer_earliest", "outer_latest")


def answer(
    text: str,
    kind: str = "date",
    policy: Policy | None = None,
    circa_years: int = CIRCA_YEARS,
) -> dict[str, Any]:
    """Return what a text means as one JSON object, days as ISO 8601 (null where open).

    Keys: verbatim, edtf, earliest, latest, outer_earliest, outer_latest, notes, events, unread.
    `unread` is null or the reason. Where the text names events, `events` is a list of
    `{event, edtf, earliest, latest}` and the dates at the top are null.

    >>> answer("circa 1610")["outer_earliest"]
    '1605-01-01'
    """
    result = read(text, kind=kind, policy=policy or Policy())
    found: dict[str, Any] = {"verbatim": text, **dict.fromkeys(_DATES)}
    found |= {"notes": [], "events": [], "unread": None}
    if isinstance(result, Reading):
        found["edtf"] = result.edtf.text
        found["earliest"], found["latest"] = _iso(result.edtf.earliest), _iso(result.edtf.latest)
        first, last = outer_bounds(result.edtf, circa_years)
        found["outer_earliest"], found["outer_latest"] = _iso(first), _iso(last)
        found["notes"] = list(result.notes)
    elif isinstance(result, Events):
        found["events"] = [
            {
                "event": word,
                "edtf": reading.edtf.text,
                "earliest": _iso(reading.edtf.earliest),
                "latest": _iso(reading.edtf.latest),
            }
            for word, reading in result.events
        ]
        notes = (note for _, reading in result.events for note in reading.notes)
        found["notes"] = list(dict.fromkeys(notes))
    else:
        found["unread"] = result.reason
    return found


def _iso(day: int | None) -> str | None:
    return None if day is None else iso_day(day)


_WHOLE = re.compile(r"(-?)(\d{1,4})(?:\.0+)?", re.ASCII).fullmatch


def compare(result: Result, start: str, end: str, circa_years: int = CIRCA_YEARS) -> str:
    """Return how the machine dates beside a text disagree with its reading; empty: they do not.

    Machine dates are held against the text by the year, since many systems write the first of
    January for any day of a year. A start agrees when it lies between the outer bound and the
    plain first year, an end likewise; where the text itself names bounds and not years (`before
    1877`, `late 19th century`), it is enough that the machine dates lie within them.

    Args:
        result: of `read`; one that was not read agrees with anything.
        start, end: a year (`1855`, `1855.0`) or an EDTF date; empty when there is none.
        circa_years: how far `about` may reach.
    """
    if isinstance(result, Unread) or not (start or end):
        return ""
    try:
        first = _year(start, first=True) if start else None
        last = _year(end, first=False) if end else None
    except DateError as error:
        return f"machine date: {error.message}"
    if first is not None and last is not None and first > last:
        return f"the machine dates end before they begin: `{start}` to `{end}`"
    spans = [result] if isinstance(result, Reading) else [one for _, one in result.events]
    low, high = _reach([one.edtf for one in spans], circa_years)
    within = isinstance(result, Events) or result.edtf.form == ONE_OF
    earliest = None if within else _civil_year(spans[0].edtf.earliest)
    latest = None if within else _civil_year(spans[0].edtf.latest)
    agrees = _between(low, first, high if earliest is None else earliest) and _between(
        low if latest is None else latest, last, high
    )
    if agrees:
        return ""
    ends = ["open" if year is None else str(year) for year in (low, high)]
    said = " to ".join(dict.fromkeys(ends))
    return f"the text means {said}, the machine dates say `{start}` to `{end}`"


def _reach(dates: list[Edtf], circa_years: int) -> tuple[int | None, int | None]:
    """Return the first and last year of all the outer bounds; None: open."""
    bounds = [outer_bounds(date, circa_years) for date in dates]
    lows = [_civil_year(low) for low, _ in bounds]
    highs = [_civil_year(high) for _, high in bounds]
    return (
        None if None in lows else min(low for low in lows if low is not None),
        None if None in highs else max(high for high in highs if high is not None),
    )


def _between(low: int | None, year: int | None, high: int | None) -> bool:
    if year is None:
        return True
    return (low is None or low <= year) and (high is None or year <= high)


def _year(text: str, *, first: bool) -> int | None:
    whole = _WHOLE(text.strip())
    if whole:
        return int(whole[1] + whole[2])
    date = parse(text.strip())
    return _civil_year(date.earliest if first else date.latest)


def _civil_year(day: int | None) -> int | None:
    return None if day is None else civil(day)[0]
