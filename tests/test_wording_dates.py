"""Dates in words: every form of EDTF, in each language, with nothing lost."""

import re

import pytest

from lodpipe.dates import parse
from lodpipe.wording import date_phrase, date_words, languages

WORDS = [
    # EDTF, English, German, French. The first three and 1873/1876, 1868/1885 are the handbook's.
    ("1872-02-14", "14 February 1872", "14. Februar 1872", "14 février 1872"),
    ("1872-02", "February 1872", "Februar 1872", "février 1872"),
    ("1846~", "about 1846", "um 1846", "vers 1846"),
    ("1872", "1872", "1872", "1872"),
    ("1872-01-01", "1 January 1872", "1. Januar 1872", "1er janvier 1872"),
    ("187X", "1870s", "1870er Jahre", "années 1870"),
    ("18XX", "19th century", "19. Jahrhundert", "XIXe siècle"),
    ("20XX", "21st century", "21. Jahrhundert", "XXIe siècle"),
    ("01XX", "2nd century", "2. Jahrhundert", "IIe siècle"),
    ("10XX", "11th century", "11. Jahrhundert", "XIe siècle"),
    ("1XXX", "between 1000 and 1999", "zwischen 1000 und 1999", "entre 1000 et 1999"),
    ("00XX", "between 1 BCE and 99", "zwischen 1 v. Chr. und 99", "entre 1 av. J.-C. et 99"),
    (
        "-01XX",
        "between 200 BCE and 101 BCE",
        "zwischen 200 v. Chr. und 101 v. Chr.",
        "entre 200 av. J.-C. et 101 av. J.-C.",
    ),
    ("1872-XX", "1872, month not known", "1872, Monat nicht bekannt", "1872, mois inconnu"),
    (
        "1872-02-XX",
        "February 1872, day not known",
        "Februar 1872, Tag nicht bekannt",
        "février 1872, jour inconnu",
    ),
    (
        "1872-XX-XX",
        "1872, month and day not known",
        "1872, Monat und Tag nicht bekannt",
        "1872, mois et jour inconnus",
    ),
    (
        "1872-1X",
        "between 1 October 1872 and 31 December 1872",
        "zwischen dem 1. Oktober 1872 und dem 31. Dezember 1872",
        "entre le 1er octobre 1872 et le 31 décembre 1872",
    ),
    (
        "156X-12-25",
        "between 25 December 1560 and 25 December 1569",
        "zwischen dem 25. Dezember 1560 und dem 25. Dezember 1569",
        "entre le 25 décembre 1560 et le 25 décembre 1569",
    ),
    (
        "XXXX-12-25",
        "25 December, year not known",
        "25. Dezember, Jahr nicht bekannt",
        "25 décembre, année inconnue",
    ),
    ("XXXX", "date not known", "Datum nicht bekannt", "date inconnue"),
    ("1872-21", "spring 1872", "Frühjahr 1872", "printemps 1872"),
    (
        "1872-30",
        "summer 1872 (southern hemisphere)",
        "Sommer 1872 (Südhalbkugel)",
        "été 1872 (hémisphère sud)",
    ),
    ("1872-33", "first quarter of 1872", "erstes Quartal 1872", "premier trimestre 1872"),
    ("1872-41", "second half of 1872", "zweites Halbjahr 1872", "deuxième semestre 1872"),
    ("1872?", "perhaps 1872", "vielleicht 1872", "peut-être 1872"),
    ("1872%", "perhaps about 1872", "vielleicht um 1872", "peut-être vers 1872"),
    (
        "2004-?06-11",
        "11 June 2004 (month uncertain)",
        "11. Juni 2004 (Monat unsicher)",
        "11 juin 2004 (mois\u202f: incertain)",
    ),
    (
        "2004-06~-11",
        "11 June 2004 (year approximate, month approximate)",
        "11. Juni 2004 (Jahr ungefähr, Monat ungefähr)",
        "11 juin 2004 (année\u202f: approximatif, mois\u202f: approximatif)",
    ),
    ("1873/1876", "between 1873 and 1876", "zwischen 1873 und 1876", "entre 1873 et 1876"),
    (
        "1873~/1876?",
        "between about 1873 and perhaps 1876",
        "zwischen etwa 1873 und vielleicht 1876",
        "entre environ 1873 et peut-être 1876",
    ),
    (
        "187X/188X",
        "between the 1870s and the 1880s",
        "zwischen den 1870er Jahren und den 1880er Jahren",
        "entre les années 1870 et les années 1880",
    ),
    ("1654/1654", "1654", "1654", "1654"),
    ("1654~/1654~", "about 1654", "um 1654", "vers 1654"),
    ("../1876", "1876 or earlier", "1876 oder früher", "1876 ou avant"),
    ("1873/..", "1873 or later", "1873 oder später", "1873 ou après"),
    (
        "/1876",
        "not later than 1876, start not known",
        "nicht später als 1876, Beginn nicht bekannt",
        "au plus tard 1876, début inconnu",
    ),
    (
        "1873/",
        "not earlier than 1873, end not known",
        "nicht früher als 1873, Ende nicht bekannt",
        "au plus tôt 1873, fin inconnue",
    ),
    ("[1892,1893]", "1892 or 1893", "1892 oder 1893", "1892 ou 1893"),
    ("{1871,1872,1875}", "1871, 1872 and 1875", "1871, 1872 und 1875", "1871, 1872 et 1875"),
    ("[1670..1672]", "1670 to 1672", "1670 bis 1672", "1670 à 1672"),
    (
        "[1760-12..]",
        "December 1760 or later",
        "Dezember 1760 oder später",
        "décembre 1760 ou après",
    ),
    ("[..1760]", "1760 or earlier", "1760 oder früher", "1760 ou avant"),
    ("-0045", "46 BCE", "46 v. Chr.", "46 av. J.-C."),
    ("0000", "1 BCE", "1 v. Chr.", "1 av. J.-C."),
    ("Y-17000", "17001 BCE", "17001 v. Chr.", "17001 av. J.-C."),
    ("Y17E8", "1700000000", "1700000000", "1700000000"),
    (
        "1950S2",
        "1950, estimated, between 1900 and 1999",
        "1950, geschätzt, zwischen 1900 und 1999",
        "1950, estimation, entre 1900 et 1999",
    ),
]


@pytest.mark.parametrize(("edtf", "en", "de", "fr"), WORDS, ids=[row[0] for row in WORDS])
def test_a_date_in_words(edtf: str, en: str, de: str, fr: str) -> None:
    date = parse(edtf)

    assert [date_words(date, tag) for tag in ("en", "de-CH", "fr")] == [en, de, fr]


LASTING = [
    ("1868/1885", "1868 to 1885", "1868 bis 1885", "1868 – 1885"),
    ("1868/..", "from 1868", "ab 1868", "à partir de 1868"),
    ("../1885", "until 1885", "bis 1885", "jusqu’à 1885"),
    (
        "1868/",
        "from 1868, end not known",
        "ab 1868, Ende nicht bekannt",
        "à partir de 1868, fin inconnue",
    ),
    ("1868", "1868", "1868", "1868"),
    ("1868/1868", "1868", "1868", "1868"),
]


@pytest.mark.parametrize(("edtf", "en", "de", "fr"), LASTING)
def test_what_lasted_is_said_otherwise(edtf: str, en: str, de: str, fr: str) -> None:
    date = parse(edtf)

    assert [date_words(date, tag, lasting=True) for tag in ("en", "de", "fr")] == [en, de, fr]


AFTER_A_VERB = [
    ("1872-02-14", "on 14 February 1872", "am 14. Februar 1872", "le 14 février 1872"),
    ("1872-02", "in February 1872", "im Februar 1872", "en février 1872"),
    ("1872", "in 1872", "1872", "en 1872"),
    ("187X", "in the 1870s", "in den 1870er Jahren", "dans les années 1870"),
    ("18XX", "in the 19th century", "im 19. Jahrhundert", "au XIXe siècle"),
    ("1872-22", "in summer 1872", "im Sommer 1872", "en été 1872"),
    ("1846~", "about 1846", "um 1846", "vers 1846"),
    ("1873/1876", "between 1873 and 1876", "zwischen 1873 und 1876", "entre 1873 et 1876"),
    ("1654/1654", "in 1654", "1654", "en 1654"),
    ("[1892,1893]", "in 1892 or in 1893", "1892 oder 1893", "en 1892 ou en 1893"),
]


@pytest.mark.parametrize(("edtf", "en", "de", "fr"), AFTER_A_VERB)
def test_a_date_after_a_verb(edtf: str, en: str, de: str, fr: str) -> None:
    date = parse(edtf)

    assert [date_phrase(date, tag) for tag in ("en", "de", "fr")] == [en, de, fr]


MARKS = {
    "?": {"en": "perhaps", "de": "vielleicht", "fr": "peut-être"},
    "~": {"en": "about", "de": "um|etwa", "fr": "vers|environ"},
}


@pytest.mark.parametrize("shape", ["{}", "{}/1890", "1790/{}", "[{},1890]", "{{1790,{}}}"])
@pytest.mark.parametrize("date", ["1872", "1872-02", "1872-02-14", "187X", "18XX", "1872-22"])
@pytest.mark.parametrize("mark", ["?", "~", "%"])
def test_a_mark_of_doubt_is_never_lost(shape: str, date: str, mark: str) -> None:
    edtf = parse(shape.format(date + mark))

    for language in languages():
        for sign in "?~" if mark == "%" else mark:
            for words in (date_words(edtf, language), date_phrase(edtf, language)):
                assert re.search(MARKS[sign][language], words), words
