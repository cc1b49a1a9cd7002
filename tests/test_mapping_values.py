"""Single values: text that may be published, numbers, years, dates and their events."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodpipe.dates import Events, Reading, Unread, parse
from lodpipe.errors import ValueFault
from lodpipe.mapping import values
from lodpipe.mapping.values import Dated, clean, events_of, halves, number, text_of, year

CLEAN = [
    # written                      published             what is told of
    ("  Sorn Pass\t",              "Sorn Pass",          ""),
    ("cafe\u0301",                 "café",               ""),
    ("\u00a0x\u2003",              "x",                  ""),
    ("a\r\nb",                     "a\r\nb",             ""),
    ("Sorn\u0092s",                "Sorns",              "U+0092"),
    ("a\x00b\x07",                 "ab",                 "U+0000, U+0007"),
    ("a\ufffd",                    "a",                  "U+FFFD"),
    ("\ufeffa",                    "a",                  ""),
    ("a\ud800",                   "a",                  "U+D800"),
    ("a\u007f",                    "a",                  "U+007F"),
]  # fmt: skip


@pytest.mark.parametrize(("written", "want", "told"), CLEAN)
def test_clean(written: str, want: str, told: str) -> None:
    found: list[str] = []
    got = clean(written, lambda code, message, value, hint: found.append(message))

    assert got == want
    assert found == ([f"the text holds {told}"] if told else [])


CAUSES = [
    ("a\u0092", "in Windows-1252 U+0092 is `’`: the text was once read in the wrong encoding"),
    ("a\u0081", "export the source again, in UTF-8"),
    ("a\x07\u0092", "export the source again, in UTF-8"),
    ("\ufffd", "U+FFFD stands where a character was lost: export the source again as UTF-8"),
]


@pytest.mark.parametrize(("text", "want"), CAUSES)
def test_what_damage_comes_from(text: str, want: str) -> None:
    found: list[str] = []
    clean(text, lambda code, message, value, hint: found.append(hint))

    assert found == [want]


@given(st.text())
def test_clean_text_is_nfc_and_stays_as_it_is(text: str) -> None:
    got = clean(text)

    assert unicodedata.is_normalized("NFC", got)
    assert clean(got) == got
    assert not any(unicodedata.category(c) == "Cc" and c not in "\t\n\r" for c in got)


SCALARS = [
    ("x", "x"),
    (335, "335"),
    (9.5, "9.5"),
    (None, ""),
    (True, "true"),
    (False, "false"),
    ([1], None),
    ({}, None),
]


@pytest.mark.parametrize(("value", "want"), SCALARS)
def test_text_of(value: object, want: str | None) -> None:
    assert text_of(value) == want


@given(st.integers(-(10**9), 10**9))
def test_whole_numbers_stay_whole(value: int) -> None:
    assert number(str(value)) == value
    assert isinstance(number(f"{value}.0"), int)


REFUSED = [
    (number, "", ""),
    (number, "1,234", "write the decimal point as `.`, and no thousands separator"),
    (number, "1e5", ""),
    (number, "NaN", ""),
    (number, "٣", ""),
    (year, "18765", "write up to four digits"),
    (year, "1866.5", "write up to four digits"),
    (values.url, "mailto:a@b.example", "it begins with http or https"),
    (values.edtf, "1866-13", None),
]


@pytest.mark.parametrize(("read", "text", "hint"), REFUSED)
def test_refused(read: object, text: str, hint: str | None) -> None:
    with pytest.raises(ValueFault) as caught:
        read(text)  # type: ignore[operator]

    assert hint is None or caught.value.hint == hint
    assert f"`{text}`" in caught.value.message


YEARS = [("1866", "1866"), ("866", "0866"), ("-43", "-0043"), ("0", "0000")]


@pytest.mark.parametrize(("text", "want"), YEARS)
def test_a_year_as_a_date(text: str, want: str) -> None:
    assert values.year_date(text) == Dated(text, parse(want))


def _reading(text: str, edtf: str) -> Reading:
    return Reading(text, parse(edtf))


def test_the_main_date_is_the_one_without_a_word_else_the_first() -> None:
    plain, printed = _reading("1872", "1872"), _reading("1876", "1876")
    with_plain = Events("x", (("printed", printed), ("", plain)))
    without = Events("x", (("printed", printed), ("published", plain)))

    assert events_of(with_plain, "x")[0] == {
        "": Dated("1872", parse("1872")),
        "printed": Dated("1876", parse("1876")),
    }
    assert events_of(without, "x")[0][""] == Dated("1876", parse("1876"))
    assert events_of(Unread("x", "no"), "x") == ({"": Dated("x", None)}, Unread("x", "no"))


HALVES = [
    ("1757/1827", "1757", "1827"),
    ("1757/..", "1757", None),
    ("1757/", "1757", None),
    ("/1827~", None, "1827~"),
    ("1757", None, None),
]


@pytest.mark.parametrize(("edtf", "first", "last"), HALVES)
def test_the_two_ends_of_an_interval(edtf: str, first: str | None, last: str | None) -> None:
    got = [end.edtf.text if end and end.edtf else None for end in halves(Dated("x", parse(edtf)))]

    assert got == [first, last]
    assert halves(Dated("x", None)) == (None, None)
