"""What people write for a date, read into EDTF, never guessed."""

import re

from lodpipe.dates.edtf import parse
from lodpipe.dates.results import Events, Policy, Reading, Unread
from lodpipe.errors import DateError

__all__ = ["Events", "Policy", "Reading", "Unread", "read"]

_DEFAULT = Policy()
_MONTHS = {
    name: number
    for number, name in enumerate(
        "january february march april may june july august september october november december".split(),
        1,
    )
}
_CIRCA = re.compile(r"(?:c\.|ca\.|circa|about)\s*(.*)", re.I)


def read(text: str, *, kind: str = "date", policy: Policy = _DEFAULT) -> Reading | Events | Unread:
    """Return what a date text means; any text comes to something, none raises.

    Args:
        text: as the catalogue has it.
        kind: `date`, or `life` for the years of a person or body.
        policy: what ambiguous texts mean.
    """
    stripped = text.strip().rstrip(".")
    if not stripped or stripped.lower() in ("undated", "n.d", "n. d", "no date"):
        return Unread(text, "no date is given", undated=True)
    circa = _CIRCA.fullmatch(stripped)
    mark, body = ("~", circa[1]) if circa else ("", stripped)
    try:
        return Reading(text, parse(_simple(body, mark)))
    except DateError as error:
        return Unread(text, error.message)


def _simple(body: str, mark: str) -> str:
    years = re.fullmatch(r"(\d{4}) ?[-–] ?(\d{4})", body)
    if years:
        return f"{years[1]}{mark}/{years[2]}{mark}"
    words = re.fullmatch(r"(?:(\d{1,2}) )?([A-Za-z]+) (?:(\d{1,2}), )?(\d{4})", body)
    if words and words[2].lower() in _MONTHS:
        day = words[1] or words[3]
        end = f"-{int(day):02}" if day else ""
        return f"{words[4]}-{_MONTHS[words[2].lower()]:02}{end}{mark}"
    return body + mark
