"""The tables of date words: every kind is one of the grammar, no word means two things."""

import pytest

from lodpipe.dates.tables import KINDS, LANGUAGES, places, words
from lodpipe.dates.tokens import split


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_language_has_its_months(language: str) -> None:
    months = {value for letter, value in words((language,)).values() if letter == "M"}

    assert months == {f"{number:02}" for number in range(1, 13)}


def test_the_tables_go_together() -> None:
    every = words(LANGUAGES)

    assert set().union(*(words((language,)) for language in LANGUAGES)) == set(every)
    assert all(word == word.lower() and not word.endswith(".") for word in every)


def test_letters_are_told_apart() -> None:
    """A letter of a kind of word must not be one of a kind of number or of a sign."""
    assert len(set(KINDS.values())) == len(KINDS)
    assert not set(KINDS.values()) & set("Y3abed0zZSHsXQO1MNqvCo*-–,;/.:()[]<>?&=~") - {"&"}


def test_an_unknown_language_is_refused() -> None:
    with pytest.raises(ValueError, match="no table of date words for the language `xx`"):
        words(("xx",))


def test_places_are_words() -> None:
    assert {"American", "Teveli", "now"} <= places()
    assert not any(word.startswith("#") for word in places())


TOKENS = [
    ("14 February 1872", ["14", "February", "1872"]),
    ("ca.1855-60", ["ca.", "1855", "-", "60"]),
    ("1855 – 60", ["1855", " – ", "60"]),
    ("186--187-?", ["186-", "-", "187-", "?"]),
    ("18--", ["18--"]),
    ("1890's–'90s", ["1890's", "–", "'90s"]),
    ("19th c.", ["19th", "c."]),
    ("c1911", ["c", "1911"]),
    ("c 1911", ["c ", "1911"]),
    ("300 B.C.E.", ["300", "B.C.E."]),
    ("n. d.", ["n. d."]),
    ("300 av. J.-C.", ["300", "av. J.-C."]),
    ("re-fired 1911 (?)", ["re-fired", "1911", "(?)"]),
    ("1868/..", ["1868", "/", ".."]),
]


@pytest.mark.parametrize(("text", "tokens"), TOKENS)
def test_tokens(text: str, tokens: list[str]) -> None:
    assert split(text) == tokens
