"""The words of dates, per language, as one table: a word, its kind, its value.

Words are data (`words/*.toml`); what can be done with a kind is in the grammar. Nationality and
place words, which stand before the years of a life, are in `words/places.txt`, one a line.
"""

import tomllib
from functools import lru_cache
from importlib.resources import files

KINDS = {
    "circa": "c",
    "probably": "p",
    "before": "B",
    "after": "A",
    "not": "T",
    "by": "y",
    "from": "f",
    "to": "t",
    "between": "w",
    "and": "&",
    "or": "r",
    "later": "l",
    "earlier": "R",
    "than": "V",
    "bulk": "k",
    "undated": "u",
    "unknown": "U",
    "half": "h",
    "quarter": "g",
    "third": "x",
    "last": "L",
    "century": "J",
    "decade": "D",
    "bce": "E",
    "ce": "F",
    "present": "P",
    "ongoing": "G",
    "note": "n",
    "filler": "i",
    "posthumously": "m",
    "calendar": "K",
    "born": "I",
    "died": "j",
}
"""Each kind of word and its letter. A text is read by the letters of its words alone."""

MONTH, SEASON, PART, EVENT, PLACE, UNKNOWN = "M", "N", "q", "v", "o", "*"
SEASONS = {"spring": "21", "summer": "22", "autumn": "23", "winter": "24"}
LANGUAGES = ("en", "fr", "de")

Words = dict[str, tuple[str, str]]
"""Word, lower case, without a full stop at its end -> its letter and its value."""


@lru_cache(maxsize=16)
def words(languages: tuple[str, ...] = LANGUAGES) -> Words:
    """Return the words of several languages as one table.

    Raises:
        ValueError: a language without a table, or a word that means two things.
    """
    table: Words = {}
    for language in languages:
        if language not in LANGUAGES:
            raise ValueError(f"no table of date words for the language `{language}`")
        source = files("lodpipe.dates") / "words" / f"{language}.toml"
        for word, entry in _entries(tomllib.loads(source.read_text("utf-8"))):
            if table.setdefault(word, entry) != entry:
                raise ValueError(f"`{word}` means two things: {table[word]} and {entry}")
    return table


@lru_cache(maxsize=1)
def places() -> frozenset[str]:
    """Return the words of nationalities and places, as they are spelt."""
    text = (files("lodpipe.dates") / "words" / "places.txt").read_text("utf-8")
    return frozenset(
        word for line in text.splitlines() if not line.startswith("#") for word in line.split()
    )


def _entries(data: dict[str, dict[str, list[str]]]) -> list[tuple[str, tuple[str, str]]]:
    found: list[tuple[str, tuple[str, str]]] = []
    for section, groups in data.items():
        for name, spellings in groups.items():
            found.extend((spelling, _entry(section, name, spelling)) for spelling in spellings)
    return found


def _entry(section: str, name: str, spelling: str) -> tuple[str, str]:
    if section == "months":
        return MONTH, name.zfill(2)
    if section == "seasons":
        return SEASON, SEASONS[name]
    if section == "parts":
        return PART, name
    if section == "ordinals":
        return ("1" if name == "1" else "O"), name.zfill(2)
    if section == "events":
        return EVENT, name
    return KINDS[name], "03" if name == "third" else spelling
