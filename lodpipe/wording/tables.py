"""The tables of words, one file a language: key and words, with places to fill in braces.

A language is complete or it is not there: every file has the same keys with the same places, and a
test holds them to it. A translator needs nothing but the file.
"""

import csv
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType

DEFAULT = "en"
_VOWELS = frozenset("aàâäáeéèêëiîïíoôöóuùûüúœæ")
_MUTE_H = (
    "hector", "hélène", "henri", "henriette", "hermine", "hilaire", "hippolyte", "honoré",
    "honorine", "horace", "hortense", "hubert", "hugues", "hyacinthe",
)  # fmt: skip
"""French given names before which `de` is shortened; before any other h it is safe to keep it."""


@cache
def languages() -> tuple[str, ...]:
    """Return the languages that have a table, in alphabetical order."""
    folder = files("lodpipe.wording")
    names = (entry.name for entry in folder.iterdir())
    return tuple(sorted(name[:-4] for name in names if name.endswith(".csv")))


@cache
def language_for(tag: str) -> str:
    """Return the language in which words are made for a BCP 47 tag.

    `de-CH` gets German. A language without a table gets English, and what is made must then be
    tagged as English, so tag words with what this returns.

    >>> language_for("de-CH"), language_for("it")
    ('de', 'en')
    """
    first = tag.split("-")[0].lower()
    return first if first in languages() else DEFAULT


@cache
def table(language: str) -> Mapping[str, str]:
    """Return the words of a language (or of the one that stands in for it) by key."""
    name = f"{language_for(language)}.csv"
    text = (files("lodpipe.wording") / name).read_text(encoding="utf-8")
    rows = csv.reader(text.splitlines())
    next(rows)
    return MappingProxyType({row[0]: row[1] for row in rows})


def say(language: str, key: str, /, **places: str) -> str:
    """Return the words of a key with its places filled.

    >>> say("en", "maker.possibly", value="Jonas Vey")
    'possibly by Jonas Vey'
    >>> say("fr", "maker.studio-of", value="Anselm Korvath")
    'studio d’Anselm Korvath'
    """
    words = table(language)[key]
    if "{of}" in words:
        places["of"] = _of(places["value"])
    if "{at}" in words:
        places["at"] = _at(places["value"])
    return words.format(**places)


def has(language: str, key: str) -> bool:
    """Return whether the table of a language has a key."""
    return key in table(language)


def joined(language: str, parts: list[str], last: str) -> str:
    """Return `a, b or c`; `last` is the key of the word before the last part.

    >>> joined("en", ["Mira Dolen", "Jonas Vey"], "list.or")
    'Mira Dolen or Jonas Vey'
    """
    if len(parts) < 2:
        return "".join(parts)
    words = table(language)
    return words["list.comma"].join(parts[:-1]) + words[last] + parts[-1]


def _of(value: str) -> str:
    """French: `de`, shortened before a vowel, a y that is one, and the h of French given names."""
    start = value[:1].lower()
    vowel = start in _VOWELS or (start == "y" and value[1:2].lower() not in _VOWELS)
    if not vowel and start == "h":
        vowel = re.split(r"[\s.,-]", value, maxsplit=1)[0].lower() in _MUTE_H
    return f"d’{value}" if vowel else f"de {value}"


def _at(value: str) -> str:
    """French: `à`, which an article at the beginning of a place name swallows."""
    for article, one in (("Le ", "au "), ("Les ", "aux ")):
        if value.startswith(article):
            return one + value[len(article) :]
    return f"à {value}"
