"""What literals mean: their parts, whether they are well formed, and which of two is smaller.

Lexical forms and order are those of XML Schema 1.1 <https://www.w3.org/TR/xmlschema11-2/>, for
the datatypes that SPARQL 1.1 knows (section 17.1) and the other numbers, days and times.
"""

import re
from decimal import Decimal
from functools import lru_cache

from lodpipe.check.graph import RDF, XSD, Node
from lodpipe.dates.days import day_number, month_length

_UNESCAPE = re.compile(r"\\(?:([tbnrf\"'\\])|u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8}))")
_CHARACTERS = {"t": "\t", "b": "\b", "n": "\n", "r": "\r", "f": "\f"}
LANG_STRING = f"{RDF}langString"


def text_of(node: Node) -> str:
    """Return the text of a node as SPARQL's `str` gives it: IRI or lexical form."""
    if node.startswith("<"):
        return node[1:-1]
    if not node.startswith('"'):
        return node
    body = node[1 : node.rindex('"')]
    return _UNESCAPE.sub(_character, body) if "\\" in body else body


def _character(match: re.Match[str]) -> str:
    short, four, eight = match.groups()
    return _CHARACTERS.get(short, short) if short else chr(int(four or eight, 16))


def datatype_of(node: Node) -> str:
    """Return the datatype IRI of a literal (without brackets); empty for IRIs and blank nodes."""
    if not node.startswith('"'):
        return ""
    tail = node[node.rindex('"') + 1 :]
    if tail.startswith("^^"):
        return tail[3:-1]
    return LANG_STRING if tail else f"{XSD}string"


def language_of(node: Node) -> str:
    """Return the language tag of a literal, in lower case; empty when it has none."""
    if not node.startswith('"'):
        return ""
    tail = node[node.rindex('"') + 1 :]
    return tail[1:].lower() if tail.startswith("@") else ""


Number = int | float | Decimal
Moment = tuple[int, Decimal, bool]
"""Days or seconds on a line, and whether a zone says which line."""
Value = tuple[str, Number | str | bool | Moment]
"""A comparable value: `number`, `string`, `boolean` or the name of a datatype of days, and it."""

_BITS = {"byte": 7, "short": 15, "int": 31, "long": 63}
_RANGES: dict[str, tuple[int | None, int | None]] = {
    "integer": (None, None),
    "nonPositiveInteger": (None, 0),
    "negativeInteger": (None, -1),
    "nonNegativeInteger": (0, None),
    "positiveInteger": (1, None),
}
for _name, _bit in _BITS.items():
    _RANGES[_name] = (-(2**_bit), 2**_bit - 1)
    _RANGES[f"unsigned{_name.capitalize()}"] = (0, 2 ** (_bit + 1) - 1)

_INTEGER = re.compile(r"[+-]?[0-9]+")
_DECIMAL = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)")
_FLOAT = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?|[+-]?INF|NaN")
_YEAR = r"(-?(?:[1-9][0-9]{3,}|0[0-9]{3}))"
_CLOCK = r"([0-9]{2}):([0-9]{2}):([0-9]{2}(?:\.[0-9]+)?)"
_ZONE = r"(Z|[+-][0-9]{2}:[0-9]{2})?"
_DAYS = {
    "dateTime": re.compile(f"{_YEAR}-([0-9]{{2}})-([0-9]{{2}})T{_CLOCK}{_ZONE}"),
    "date": re.compile(f"{_YEAR}-([0-9]{{2}})-([0-9]{{2}}){_ZONE}"),
    "gYearMonth": re.compile(f"{_YEAR}-([0-9]{{2}}){_ZONE}"),
    "gYear": re.compile(f"{_YEAR}{_ZONE}"),
    "time": re.compile(f"{_CLOCK}{_ZONE}"),
}


@lru_cache(maxsize=8192)
def value_of(node: Node) -> Value | None:
    """Return what a literal stands for; None when it is ill typed, or its datatype has no order."""
    datatype = datatype_of(node)
    if not datatype.startswith(XSD):
        return None
    name, text = datatype[len(XSD) :], text_of(node)
    if name == "string":
        return ("string", text)
    if name in _RANGES:
        return _integer(name, text)
    if name == "boolean":
        return ("boolean", text in ("true", "1")) if text in _BOOLEANS else None
    if name == "decimal":
        return ("number", Decimal(text)) if _DECIMAL.fullmatch(text) else None
    if name in ("float", "double"):
        return ("number", float(text)) if _FLOAT.fullmatch(text) else None
    return _moment(name, text) if name in _DAYS else None


_BOOLEANS = ("true", "false", "1", "0")


def _integer(name: str, text: str) -> Value | None:
    if not _INTEGER.fullmatch(text) or len(text) > 4000:
        return None
    number = int(text)
    low, high = _RANGES[name]
    inside = (low is None or number >= low) and (high is None or number <= high)
    return ("number", number) if inside else None


def _moment(name: str, text: str) -> Value | None:
    match = _DAYS[name].fullmatch(text)
    if match is None:
        return None
    parts = list(match.groups())
    zone = parts.pop()
    day = 0
    if name != "time":
        numbers = [int(part) for part in parts[:3]] if name != "gYear" else [int(parts[0])]
        year, month, date = (*numbers, 1, 1)[:3]
        if not 1 <= month <= 12 or not 1 <= date <= month_length(year, month):
            return None
        day = day_number(year, month, date)
    seconds = _seconds(parts[-3:]) if name in ("dateTime", "time") else Decimal(0)
    offset = _offset(zone)
    if seconds is None or offset is None:
        return None
    return (name, (day * 86400, seconds - offset, zone is not None))


def _seconds(parts: list[str]) -> Decimal | None:
    hour, minute, second = int(parts[0]), int(parts[1]), Decimal(parts[2])
    if (hour < 24 and minute < 60 and second < 60) or (hour == 24 and not minute and not second):
        return hour * 3600 + minute * 60 + second
    return None


def _offset(zone: str | None) -> int | None:
    if zone in (None, "Z"):
        return 0
    assert zone is not None
    hours, minutes = int(zone[1:3]), int(zone[4:6])
    if minutes > 59 or hours * 60 + minutes > 14 * 60:
        return None
    seconds = hours * 3600 + minutes * 60
    return -seconds if zone[0] == "-" else seconds


def well_formed(node: Node) -> bool:
    """Return whether the lexical form of a literal belongs to its datatype, as far as we know it."""
    datatype = datatype_of(node)
    name = datatype[len(XSD) :] if datatype.startswith(XSD) else ""
    known = name in _RANGES or name in _DAYS or name in ("boolean", "decimal", "float", "double")
    return not known or value_of(node) is not None


@lru_cache(maxsize=8192)
def compare(left: Node, right: Node) -> int | None:
    """Return -1, 0 or 1 as SPARQL's `<`, `=`, `>` would say; None when the two have no order.

    Days and times of which one has a zone and the other has none have no order here: which one
    is earlier would depend on where the machine stands (SHACL test suite, minInclusive-002).
    """
    one, other = value_of(left), value_of(right)
    if one is None or other is None or one[0] != other[0]:
        return None
    a, b = one[1], other[1]
    if isinstance(a, tuple) and isinstance(b, tuple):
        if a[2] != b[2]:
            return None
        a, b = a[0] + a[1], b[0] + b[1]
    if a == b:
        return 0
    if a < b:  # type: ignore[operator]  # both are of the kind that one[0] names
        return -1
    return 1 if a > b else None  # type: ignore[operator]
