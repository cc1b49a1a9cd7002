"""Rules of IIIF about single keys: rights, dates, directions, behaviors.

What is said of a rule's reach: `check.iiif.looking`.
"""

import calendar
import re
from collections.abc import Iterator

from lodpipe.check.iiif.looking import Fault, Spot, rule
from lodpipe.check.iiif.tables import BEHAVIORS, DIRECTIONS, DISJOINT, RIGHTS
from lodpipe.findings import WARNING

_INSTANT = re.compile(
    r"(-?(?:[1-9]\d{4,}|\d{4}))-(\d\d)-(\d\d)T(\d\d):(\d\d):(\d\d)(?:\.\d+)?(?:Z|[+-](\d\d):(\d\d))",
    re.ASCII,
)


@rule(
    "rights",
    "rights",
    "`rights` is no licence URI of Creative Commons or RightsStatements.org in its http form: words go into requiredStatement",
)
def _rights(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#rights>"""
    if "rights" not in spot.node or spot.is_note:
        return None
    value = spot.node["rights"]
    good = isinstance(value, str) and value.startswith(RIGHTS)
    return iter([] if good else [("/rights", value)])


@rule(
    "navdate",
    "navdate",
    "`navDate` is no instant with a time zone: write it like 1872-02-01T00:00:00Z",
)
def _navdate(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#navdate>, <https://www.w3.org/TR/xmlschema-2/#dateTime>"""
    if "navDate" not in spot.node:
        return None
    value = spot.node["navDate"]
    return iter([] if isinstance(value, str) and _is_instant(value) else [("/navDate", value)])


def _is_instant(text: str) -> bool:
    found = _INSTANT.fullmatch(text)
    if found is None:
        return False
    year, month, day, hour, minute, second = (int(part) for part in found.groups()[:6])
    if not 1 <= month <= 12 or not 1 <= day <= calendar.monthrange(2000 + year % 400, month)[1]:
        return False
    zone = (int(found[7] or 0), int(found[8] or 0))
    midnight = (hour, minute, second) == (24, 0, 0)
    on_clock = hour < 24 and minute < 60 and second < 60
    return (midnight or on_clock) and zone <= (14, 0) and zone[1] < 60


@rule("direction", "viewingdirection", "`viewingDirection` is none of the four directions")
def _direction(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#viewingdirection>"""
    if "viewingDirection" not in spot.node:
        return None
    value = spot.node["viewingDirection"]
    good = isinstance(value, str) and value in DIRECTIONS
    return iter([] if good else [("/viewingDirection", value)])


@rule("behavior", "behavior", "a behavior is not valid on this class, or two exclude each other")
def _behavior(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#behavior>; `sequence` only on a Range in `structures`"""
    values = spot.node.get("behavior")
    if not isinstance(values, list):
        return None
    words = [value for value in values if isinstance(value, str)]
    wrong = [word for word in words if spot.kind not in BEHAVIORS.get(word, {spot.kind})]
    if spot.kind == "Range" and spot.key == "items" and "sequence" in words:
        wrong.append("sequence")
    wrong += [", ".join(sorted(both)) for one in DISJOINT if len(both := one & set(words)) > 1]
    return iter([("/behavior", word) for word in wrong])


@rule(
    "behavior-unknown",
    "behavior",
    "a behavior that the specification does not know: look at its spelling",
    WARNING,
)
def _behavior_unknown(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#behavior>: others may be defined by an extension"""
    values = spot.node.get("behavior")
    if not isinstance(values, list):
        return None
    return iter([("/behavior", value) for value in values if str(value) not in BEHAVIORS])
