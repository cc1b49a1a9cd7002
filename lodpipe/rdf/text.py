"""RDF terms as N-Triples text, in the canonical form that RDFC-1.0 asks for.

Escapes: https://www.w3.org/TR/rdf-canon/#canonical-quads. Numbers: JSON-LD 1.1,
https://www.w3.org/TR/json-ld11-api/#data-round-tripping.
"""

import re
from calendar import monthrange
from json.encoder import encode_basestring

from lodpipe.errors import DateError, ValueFault
from lodpipe.rdf.context import XSD

_BEYOND = re.compile("[\ud800-\udfff]")
_DATE_TIME = re.compile(
    r"(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d):(\d\d)(?:\.\d+)?(?:Z|[+-](\d\d):(\d\d))", re.ASCII
)


def quoted(text: str) -> str:
    r"""Return a string as an N-Triples literal without datatype.

    >>> quoted('a "tall" one')
    '"a \\"tall\\" one"'

    Raises:
        ValueFault: half of a surrogate pair, which no encoding can write.
    """
    literal: str = encode_basestring(text)
    if not text.isascii() and _BEYOND.search(text):
        raise ValueFault(f"{text!r} has half a character", hint="the text was damaged before")
    if "\\u00" in literal:
        literal = _control(text)
    return literal.replace("\x7f", "\\u007F") if "\x7f" in literal else literal


def _control(text: str) -> str:
    """Escape again with care: JSON writes hex digits small, N-Triples canonically large."""
    parts = re.split(r"([\x00-\x07\x0b\x0e-\x1f])", text)
    body = "".join(
        f"\\u{ord(part):04X}" if number % 2 else encode_basestring(part)[1:-1]
        for number, part in enumerate(parts)
    )
    return f'"{body}"'


def number(value: float) -> str:
    """Return an int, float or bool as an N-Triples literal with its XSD datatype.

    A float without fraction is an integer, any other one a double in canonical form.

    >>> number(19.5)
    '"1.95E1"^^<http://www.w3.org/2001/XMLSchema#double>'
    """
    if isinstance(value, bool):
        return f'"{str(value).lower()}"^^<{XSD}boolean>'
    if value != value or value in (float("inf"), float("-inf")):
        raise ValueFault(f"`{value}` is not a number that can be published")
    if value == int(value) and abs(value) < 1e21:
        return f'"{int(value)}"^^<{XSD}integer>'
    mantissa, _, exponent = f"{value:.15E}".partition("E")
    mantissa = mantissa.rstrip("0")
    mantissa += "0" if mantissa.endswith(".") else ""
    return f'"{mantissa}E{int(exponent)}"^^<{XSD}double>'


def date_time(text: str) -> str:
    """Return a moment as it is, when it is one of RFC 3339 and of xsd:dateTime.

    RFC 3339 section 5.6 with a zone, capital T and Z; years 0001 to 9999, no leap second and no
    hour 24, because stores would read those differently or not at all.

    Raises:
        DateError: anything else; a date that nobody can read never leaves as a typed literal.

    >>> date_time("1872-02-29T23:59:59Z")
    '1872-02-29T23:59:59Z'
    """
    match = _DATE_TIME.fullmatch(text)
    if match is None:
        raise DateError(
            f"`{text}` is not a moment of RFC 3339", hint="write `1872-02-01T00:00:00Z`"
        )
    year, month, day, hour, minute, second, *zone = (int(part or 0) for part in match.groups())
    on_calendar = year and 1 <= month <= 12 and 1 <= day <= monthrange(year, month)[1]
    if not (on_calendar and hour < 24 and minute < 60 and second < 60):
        raise DateError(f"`{text}` is not on the calendar")
    if zone[0] * 60 + zone[1] > 14 * 60 or zone[1] >= 60:
        raise DateError(f"`{text}` has no zone that there is")
    return text
