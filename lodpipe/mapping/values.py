"""Reading single values: text as it may be published, numbers, years, web addresses.

Text is NFC (https://www.unicode.org/reports/tr15/), without white space at its ends, and without
characters that only damage leaves behind: control characters other than tab and line ends, halves
of surrogate pairs, and U+FFFD. What was taken out is told, never passed over.
"""

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from lodpipe.dates import Edtf, Events, Reading, Unread
from lodpipe.dates import edtf as edtf_reader
from lodpipe.errors import DateError, IriError, ValueFault
from lodpipe.iris import check_iri

Complain = Callable[[str, str, str, str], None]
"""Called with code, message, value and hint for what is wrong with the value at hand."""

_DAMAGE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202d\u202e\ud800-\udfff\ufffd\ufeff]")
_NUMBER = re.compile(r"[-+−]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)", re.ASCII)
_YEAR = re.compile(r"-?[0-9]{1,4}", re.ASCII)


class NumberFault(ValueFault):
    """A value that is not a number."""

    code = "number"


class UrlFault(ValueFault):
    """A value that is not a web address."""

    code = "url"


@dataclass(frozen=True, slots=True)
class Dated:
    """A date as the source writes it, and what it means.

    `edtf` is None where the words could not be read; the words are kept all the same.
    """

    verbatim: str
    edtf: Edtf | None


def text_of(value: Any) -> str | None:
    """Return a scalar of JSON, CSV or XML as text; None for a list or an object.

    >>> text_of(335), text_of(None), text_of(True)
    ('335', '', 'true')
    """
    if value.__class__ is str:
        return str(value)
    if value is None:
        return ""
    if value is True or value is False:
        return "true" if value else "false"
    if isinstance(value, int | float | Decimal | str):
        return str(value)
    return None


def clean(text: str, complain: Complain | None = None) -> str:
    """Return text as it may be published: NFC, trimmed, without damaged characters.

    >>> clean("  Cafe\\u0301 \\u0085")
    'Café'
    """
    if text.isascii() and text.isprintable():
        return text.strip()
    text = unicodedata.normalize("NFC", text)
    damage = _DAMAGE.findall(text)
    if damage:
        told = sorted(set(damage) - {"\ufeff"})
        if told and complain is not None:
            names = ", ".join(f"U+{ord(character):04X}" for character in told)
            complain("characters", f"the text holds {names}", text, _cause(told))
        text = _DAMAGE.sub("", text)
    return text.strip()


def _cause(damage: list[str]) -> str:
    if "\ufffd" in damage:
        return "U+FFFD stands where a character was lost: export the source again as UTF-8"
    if not {"\u202d", "\u202e"}.isdisjoint(damage):
        return "U+202D and U+202E turn round what is read: Hebrew and Arabic do not need them"
    meant = [_windows(character) for character in damage]
    if all(meant):
        pairs = ", ".join(f"U+{ord(d):04X} is `{m}`" for d, m in zip(damage, meant, strict=True))
        return f"in Windows-1252 {pairs}: the text was once read in the wrong encoding"
    return "export the source again, in UTF-8"


def _windows(character: str) -> str:
    """What a C1 control was before it was read as Latin-1; "" for any other character."""
    if not "\x80" <= character <= "\x9f":
        return ""
    return bytes([ord(character)]).decode("cp1252", errors="ignore")


def number(text: str) -> int | float:
    """Return the number that a text is; thousands separators are refused, not guessed.

    Raises:
        NumberFault: anything else than digits with at most one decimal point and a sign.

    >>> number("243"), number("9.875")
    (243, 9.875)
    """
    if _NUMBER.fullmatch(text) is None:
        hint = "write the decimal point as `.`, and no thousands separator" if "," in text else ""
        raise NumberFault(f"`{text}` is not a number", hint=hint)
    value = Decimal(text.replace("−", "-"))
    return int(value) if value == value.to_integral_value() else float(value)


def year(text: str) -> int:
    """Return a year, astronomical (0 is 1 BCE); `1866.0` of a spreadsheet is 1866.

    Raises:
        NumberFault: not up to four digits.
    """
    whole = text.removesuffix(".0")
    if _YEAR.fullmatch(whole) is None:
        raise NumberFault(f"`{text}` is not a year", hint="write up to four digits")
    return int(whole)


def url(text: str) -> str:
    """Return a web address (http or https, https://www.rfc-editor.org/rfc/rfc3987).

    Raises:
        UrlFault: another scheme, a space, a character that no IRI has.
    """
    try:
        checked = check_iri(text)
    except IriError as error:
        raise UrlFault(f"`{text}` is not a web address", hint=error.hint) from error
    if not checked.lower().startswith(("http://", "https://")):
        raise UrlFault(f"`{text}` is not a web address", hint="it begins with http or https")
    return checked


def edtf(text: str) -> Dated:
    """Return a date that the source gives in EDTF.

    Raises:
        DateError: not EDTF.
    """
    return Dated(text, edtf_reader.parse(text))


def year_date(text: str) -> Dated:
    """Return a year as a date.

    Raises:
        NumberFault: not a year.
    """
    value = year(text)
    sign = "-" if value < 0 else ""
    return Dated(text, edtf_reader.parse(f"{sign}{abs(value):04d}"))


def dated(read: Reading) -> Dated:
    """Return a reading of free text as a date."""
    return Dated(read.verbatim, read.edtf)


def events_of(read: Reading | Events | Unread, text: str) -> tuple[dict[str, Dated], Unread | None]:
    """Return the dates of a text by event word, `""` for the main one, and what was not read.

    The main date is the one without a word, else the first.
    """
    if isinstance(read, Unread):
        return {"": Dated(read.verbatim or text, None)}, read
    if isinstance(read, Reading):
        return {"": Dated(text, read.edtf)}, None
    found: dict[str, Dated] = {}
    for word, reading in read.events:
        found.setdefault(word, dated(reading))
    if "" not in found and read.events:
        found[""] = dated(read.events[0][1])
    return found, None


def halves(value: Dated) -> tuple[Dated | None, Dated | None]:
    """Return the two ends of an interval (`1757/1827`: born, died); the same twice never."""
    if value.edtf is None or not value.edtf.interval:
        return None, None
    left, _, right = value.edtf.text.partition("/")
    ends: list[Dated | None] = []
    for end in (left, right):
        try:
            ends.append(Dated(end, edtf_reader.parse(end)) if end not in ("", "..") else None)
        except DateError:
            ends.append(None)
    return ends[0], ends[1]
