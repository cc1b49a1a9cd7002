"""The years of lives: what is written for people and bodies, and what it means."""

import pytest

from lodpipe.dates import Events, Reading, Unread, read

MEANT = [
    ("1842-1891", "1842/1891"),
    ("1842–1891.", "1842/1891"),
    ("1842 - 1891", "1842/1891"),
    ("1842-91", "1842/1891"),
    ("1842-", "1842/.."),
    ("1842- .", "1842/.."),
    ("-1891.", "/1891"),
    ("b. 1842", "1842/"),
    ("born 1842", "1842/"),
    ("born c. 1842", "1842~/"),
    ("d. 1891.", "/1891"),
    ("died 1891", "/1891"),
    ("died c.1891", "/1891~"),
    ("born 1842, died 1891", "1842/1891"),
    ("1842 - unknown", "1842/"),
    ("c.1842–1891", "1842~/1891"),  # about is said of the birth alone
    ("c. 1842 - c. 1891", "1842~/1891~"),
    ("1842?-1891", "1842?/1891"),
    ("?1842–1891", "1842?/1891"),
    ("1842–?c.1891", "1842/1891%"),
    ("probably 1842 - 1891", "1842?/1891"),
    ("1840s - 1891", "184X/1891"),
    ("12 May 1842 - 3 June 1891", "1842-05-12/1891-06-03"),
    ("490 - 430 BCE", "-0489/-0429"),
    ("712 - 770", "0712/0770"),
    # the death, or the birth, is a choice: two events
    ("1842 or 3-1891", "events: born=[1842,1843]; died=1891"),
    ("1842 or 50–1891", "events: born=[1842,1850]; died=1891"),
    ("c. 1842 or 1843 - 1891", "events: born=[1842~,1843~]; died=1891"),
    ("1842/1844 - 1891", "events: born=[1842..1844]; died=1891"),
    ("c. 1842/1844 - 1891", "events: born=[1842~..1844~]; died=1891"),
    ("1653/1654 - 1691", "events: born=[1653..1654]; died=1691"),  # no double date
    ("1842 - 1891 or after", "events: born=1842; died=[1891..]"),
    ("1842 - 1891 or 92", "events: born=1842; died=[1891,1892]"),
    ("1842 - after 1891", "events: born=1842; died=[1891..]"),
    ("before 1842 - 1891", "events: born=[..1842]; died=1891"),
    ("b. 1842 or 3.", "events: born=[1842,1843]"),
    ("died after 1891", "events: died=[1891..]"),
    # activity is not a life
    ("active 1868-1885", "events: active=1868/1885"),
    ("active c. 1868 - 1885", "events: active=1868~/1885"),
    ("active 1868/1885", "events: active=[1868..1885]"),
    ("fl. 1868", "events: active=1868"),
    ("active c. 1868 - active 1885", "events: active=1868~; active=1885"),
    ("active 1868-1885; died before 1891", "events: active=1868/1885; died=[..1891]"),
    ("est. 1868, closed 1885", "events: founded=1868; closed=1885"),
    ("founded 1868", "events: founded=1868"),
    ("born 1842, active 1868-1885", "events: born=1842; active=1868/1885"),
    # no year of birth or death
    ("19th century", "18XX"),
    ("late 19th century", "[1850..1899]"),
    ("18th/19th century", "[17XX..18XX]"),
    ("late 18th - early 19th century", "[1750..1849]"),
    # several persons, one year, unknown words
    ("born 1842, born 1844", "unread"),
    ("he: 1842 - 1891; she: 1844 - 1899", "unread"),
    ("1842", "unread"),
    ("Ilvaran, 1842 - 1891", "unread"),
    ("c. 1868 -  or 1885", "unread"),
    ("undated", "undated"),
    ("", "undated"),
]  # fmt: skip


def said(text: str) -> str:
    result = read(text, kind="life")
    if isinstance(result, Reading):
        return str(result.edtf)
    if isinstance(result, Events):
        return "events: " + "; ".join(f"{word}={one.edtf}" for word, one in result.events)
    return "undated" if result.undated else "unread"


@pytest.mark.parametrize(("text", "meaning"), MEANT)
def test_meaning(text: str, meaning: str) -> None:
    assert said(text) == meaning


PLACES = [
    ("American, 1923-1978", "1923/1978", "American"),
    ("American, 1923 - 1978", "1923/1978", "American"),
    ("American (?), 1923 - 1978", "1923/1978", "American"),
    ("Teveli, born 1842", "1842/", "Teveli"),
    ("South Korean, born 1936", "1936/", "South Korean"),
    ("American, born Germany, 1792 - 1861", "1792/1861", "American born Germany"),
    ("American, born Russia (now Ukraine), 1878 - 1957", "1878/1957",
     "American born Russia now Ukraine"),
    ("Italian, French school, c. 1490 - c. 1548", "1490~/1548~", "Italian French school"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "meaning", "note"), PLACES)
def test_places_in_front_are_kept_in_the_notes(text: str, meaning: str, note: str) -> None:
    result = read(text, kind="life")

    assert isinstance(result, Reading)
    assert (str(result.edtf), result.notes) == (meaning, (note,))


@pytest.mark.parametrize("text", ["American, 1923-1978", "Teveli, born 1842"])
def test_places_are_read_for_lives_only(text: str) -> None:
    assert isinstance(read(text), Unread)


REASONS = [
    ("1842", "one year alone may be that of birth, of death or of activity"),
    ("American, born Germany, 1842", "one year alone may be that of birth, of death or of"
     " activity"),
    ("born 1842, born 1844", "several persons"),
    ("Ilvaran, 1842 - 1891", "`Ilvaran` is not a word of a date"),
    ("1891 - 1842", "the interval `1891/1842` ends before it begins"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "reason"), REASONS)
def test_unread(text: str, reason: str) -> None:
    result = read(text, kind="life")

    assert isinstance(result, Unread)
    assert result.reason == reason
