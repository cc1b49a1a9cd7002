"""The answer of `lodpipe date --json`, and the comparison with machine dates."""

from typing import Any

from lodpipe.dates.bounds import CIRCA_YEARS, outer_bounds
from lodpipe.dates.days import iso_day
from lodpipe.dates.edtf import Edtf
from lodpipe.dates.reading import read
from lodpipe.dates.results import Events, Policy, Reading, Unread


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
    found: dict[str, Any] = {
        "verbatim": text,
        "edtf": None,
        "earliest": None,
        "latest": None,
        "outer_earliest": None,
        "outer_latest": None,
        "notes": [],
        "events": [],
        "unread": None,
    }
    if isinstance(result, Reading):
        found["edtf"] = result.edtf.text
        found["earliest"], found["latest"] = _days(result.edtf)
        outer = outer_bounds(result.edtf, circa_years)
        found["outer_earliest"], found["outer_latest"] = (day and iso_day(day) for day in outer)
        found["notes"] = list(result.notes)
    elif isinstance(result, Events):
        for word, reading in result.events:
            earliest, latest = _days(reading.edtf)
            found["events"].append(
                {"event": word, "edtf": reading.edtf.text, "earliest": earliest, "latest": latest}
            )
            found["notes"].extend(note for note in reading.notes if note not in found["notes"])
    else:
        found["unread"] = result.reason
    return found


def compare(result: Reading | Events | Unread, start: str, end: str) -> str:
    """Return how machine dates disagree with the reading; empty when they do not."""
    return ""


def _days(edtf: Edtf) -> tuple[str | None, str | None]:
    return (
        None if edtf.earliest is None else iso_day(edtf.earliest),
        None if edtf.latest is None else iso_day(edtf.latest),
    )
