"""What in a single value ought to make a cataloguer look twice, each with what to do about it."""

import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Sign:
    """One kind of suspicious text: its name, the pattern, what it is and what to do, in words."""

    name: str
    pattern: re.Pattern[str]
    what: str
    cure: str


def _sign(name: str, pattern: str, what: str, cure: str) -> Sign:
    return Sign(name, re.compile(pattern), what, cure)


SIGNS: tuple[Sign, ...] = (
    _sign(
        "damaged letters",
        # UTF-8 that was read as Latin-1 or cp1252: the lead byte and what follows it
        "[\u00c2\u00c3\u00c4\u00c5][\u0080-\u00bf\u0152\u0153\u0160\u0161\u0178\u017d\u017e"
        "\u0192\u02c6\u02dc\u2013-\u203a\u20ac\u2122]|\u00e2\u20ac|\ufffd",
        "letters that were read in another encoding on their way",
        "export again as UTF-8; what is lost cannot be guessed",
    ),
    _sign(
        "control signs",
        r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]",
        "signs that nobody can see",
        "take them out in the source",
    ),
    _sign(
        "markup",
        r"</?[a-zA-Z][^<>]{0,200}>|&(?:amp|lt|gt|quot|nbsp|#\d+);",
        "HTML or entities, which would be published as they stand",
        "export plain text",
    ),
    _sign(
        "placeholder",
        r"(?i)^(?:n/?a|n\.\s?a\.|none|null|nil|unknown|undetermined|unspecified|tba|tbd|not known"
        r"|[-–—?.]+|0\.0+|#n/a|#ref!|#value!)$",
        "words and signs that stand for nothing",
        'list those that mean nothing under `empty`: `empty: ["", "n/a"]`',
    ),
    _sign(
        "total",
        r"(?i)^(?:grand |sub-?)?(?:totals?|sum|summe|gesamt|insgesamt|gesamtsumme|somme)\W*$",
        "a row that sums up the others",
        "take it out of the source: it is no record, and would become one",
    ),
    _sign(
        "formula",
        r"^=[A-Za-z(]",
        "a formula of a spreadsheet in place of its value",
        "export values, not formulas",
    ),
    _sign(
        "spaces",
        r"^\s|\s$|[^\S\n]{2,}",
        "spaces before, behind or doubled",
        "nothing: values are trimmed; doubled ones stay as they stand",
    ),
)


def signs_of(text: str) -> list[Sign]:
    """Return what is suspicious about a text.

    >>> [sign.name for sign in signs_of("n/a")]
    ['placeholder']
    """
    return [sign for sign in SIGNS if sign.pattern.search(text)]


NEW_YEAR = re.compile(r"^-?\d{4}-01-01$")
LINK = re.compile(r"^https?://\S+$", re.IGNORECASE)
NUMBER = re.compile(r"^[+-]?\d+(?:[.,]\d+)?$")
WHOLE = re.compile(r"^\d+$")
SERIAL = re.compile(r"^[1-5]\d{4}(?:\.\d+)?$")
"""A day as a spreadsheet counts it: 10000 is 1927-05-18, 59999 is 2064-04-08."""
YEAR = re.compile(r"(?<!\d)(?:1[0-9]|20)\d\d(?!\d)")
SEPARATORS = ("|", ";", " / ", "\n")
NOBODY = re.compile(r"(?i)^(?:unknown|unidentified|anonymous|anon\.?)\b|\bschool\b")
"""Names that stand for nobody in particular (common practice, no source)."""
