"""A date text as words and numbers, and the one letter that says what each of them is.

The letters of a text, one after another, are its shape: `14 February 1872` is `bMY`. The grammar
reads shapes, so that it looks at each shape once and not at each text.

    Y year of four digits   3 three digits   b 13 to 31   a 01 to 12   e 32 to 99   d one digit 1-9
    0 two zeros   z one zero   Z four zeros   S decade (1890s)   H 1900s   s 90s   X 189-   Q 18--
    O ordinal   1 first   M month   N season   q early, mid, late   v event   C c before digits
    o nationality or place   * a word that no table has   - hyphen   – any other dash
    and the letters of `tables.KINDS`; other signs stand for themselves.
"""

import re
from functools import lru_cache

from lodpipe.dates.tables import EVENT, PLACE, UNKNOWN, places, words

Token = tuple[str, str]
"""The letter and the value of a word or number."""

_DASHES = "-‐‑‒–—−"
split = re.compile(
    rf"""
      [0-9]{{4}}(?:['’]?s|er)(?![^\W\d_])           # 1890s, 1890's, 1890er
    | ['’]?[0-9]0(?:['’]?s|er)(?![^\W\d_])          # 90s
    | [0-9]{{1,2}}(?:st|nd|rd|th|e|ème|er|re)(?![^\W\d_])   # 19th, 19e
    | [0-9]{{3}}[-–_xXuU](?![0-9xXuU])              # 189-
    | [0-9]{{2}}(?:--|––|__|\?\?|[xX]{{2}}|[uU]{{2}})(?![0-9])   # 18--
    | [0-9]+
    | (?:av|ap)\.\s?J\.?-?\s?C\.? | [vn]\.\s?Chr\.?     # before and after Christ
    | [nN]\.\s?[dD]\b\.?                            # n. d.
    | [cC]\s+(?=[0-9])                              # c 1911: circa; `c` alone is c1911
    | (?:[^\W\d_]\.){{2,}}[^\W\d_]?(?![^\W\d_]) \.?     # B.C.E.
    | [rR]e-[^\W\d_]+                              # re-fired
    | [^\W\d_]+(?:'[àÀ])?\.?
    | \.\.+                                          # EDTF only
    | \(\?\)
    | \s*[{_DASHES}]+\s*
    | [^\s\w]
    | _
    """,
    re.VERBOSE,
).findall
"""Every word, number and sign of a text, in order; white space falls out, but round a dash."""

LAST_YEAR = "2100"
"""From here on, four digits are no year of a catalogue: 5633 is of another calendar, 9999 stands
for what is not known."""

_ROMAN = [
    "i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x", "xi", "xii", "xiii", "xiv",
    "xv", "xvi", "xvii", "xviii", "xix", "xx", "xxi",
]  # fmt: skip
_ROMAN_ORDINALS = {
    numeral + ending: str(number).zfill(2)
    for number, numeral in enumerate(_ROMAN, 1)
    for ending in ("e", "ème")
}
_SIGNS = dict.fromkeys(",;/.:()[]<>?&=", "")
_APOSTROPHES = "'’"


@lru_cache(maxsize=32)
def known(languages: tuple[str, ...], life: bool) -> dict[str, Token]:
    """Return the table from a token, as it is usually spelt, to its letter and value."""
    table: dict[str, Token] = {
        f"{year:04}": ("Y", f"{year:04}") for year in range(1, int(LAST_YEAR))
    }
    for sign in _SIGNS:
        table[sign] = (sign, sign)
    table["(?)"] = ("?", "?")
    table["c"], table["C"], table["p"] = ("C", "c"), ("C", "c"), (EVENT, "copyright")
    for word, token in words(languages).items():
        for spelling in (word, word.capitalize(), word.upper()):
            table.setdefault(spelling, token)
            table[spelling + "."] = token
    for number in range(100):
        table[str(number).zfill(2)] = (_two_digits(number), str(number).zfill(2))
    for number in range(1, 10):
        table[str(number)] = ("d", f"0{number}")
    if life:
        for word in places():
            table.setdefault(word, (PLACE, word))
    return table


def classify(spelt: str, table: dict[str, Token]) -> Token:
    """Return letter and value of a token that is not in the table as it is spelt."""
    first = spelt[0]
    if first in "0123456789" and first.isascii():
        return _number(spelt)
    if first in _APOSTROPHES and len(spelt) > 1:
        return "s", _decade(spelt[1:])
    bare = spelt.strip()
    if bare and not bare.strip(_DASHES):
        return (bare if spelt == bare == "-" else "–"), "-"
    if bare in _APOSTROPHES:
        return UNKNOWN, spelt
    if spelt != bare:
        return table["c."]
    lower = re.sub(r"\s", "", spelt.lower())
    found = table.get(lower) or table.get(lower.rstrip("."))
    if found:
        return found
    if lower in _ROMAN_ORDINALS:
        return ("1" if _ROMAN_ORDINALS[lower] == "01" else "O"), _ROMAN_ORDINALS[lower]
    return UNKNOWN, spelt


def _two_digits(number: int) -> str:
    return "0" if number == 0 else "a" if number <= 12 else "b" if number <= 31 else "e"


def _number(token: str) -> Token:
    digits = re.match("[0-9]+", token)
    assert digits is not None
    plain, ending = digits[0], token[digits.end() :]
    if not ending:
        size = len(plain)
        if size == 1:
            return "z", "00"
        if size == 3:
            return "3", plain.zfill(4)
        if size == 4:
            return ("Z" if plain == "0000" else "Y" if plain < LAST_YEAR else "K"), plain
        return UNKNOWN, token
    if len(plain) == 4:
        if plain[3] != "0":
            return UNKNOWN, token
        return ("H" if plain[2] == "0" else "S"), plain[:3] + "X"
    if len(plain) == 3:
        return "X", plain + "X"
    if ending[0] in "-–_?xXuU":
        return "Q", plain + "XX"
    if ending.lstrip(_APOSTROPHES) in ("s", "er") and len(plain) == 2 and plain[1] == "0":
        return "s", _decade(plain)
    if int(plain) == 0:
        return UNKNOWN, token
    return ("1" if int(plain) == 1 else "O"), plain.zfill(2)


def _decade(text: str) -> str:
    return text[0] + "X"
