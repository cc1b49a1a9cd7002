"""What people write for a date, and what it means.

Rows with a source beside them are published examples; all others are our own. Labelled strings of
open catalogues are in test_dates_labelled.py, the years of lives in test_dates_life.py.
"""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodpipe.dates import Events, Policy, Reading, Unread, iso_day, outer_bounds, parse, read
from lodpipe.errors import DateError, UsageError


def said(text: str, *, kind: str = "date", policy: Policy | None = None) -> str:
    """Return a result as one line: EDTF, `events: word=EDTF; ...`, `undated` or `unread`."""
    result = read(text, kind=kind, policy=policy or Policy())
    if isinstance(result, Reading):
        return str(result.edtf)
    if isinstance(result, Events):
        return "events: " + "; ".join(f"{word}={one.edtf}" for word, one in result.events)
    return "undated" if result.undated else "unread"


PUBLISHED = [
    # Describing Archives: A Content Standard, 2.4.10 to 2.4.16
    # <https://github.com/saa-ts-dacs/dacs/blob/master/04_date.md>
    ("probably 1867", "1867?"),
    ("approximately 1925", "1925~"),
    ("before 1867", "[..1867]"),
    ("after 1867 January 5", "[1867-01-05..]"),
    ("1892 or 1893", "[1892,1893]"),
    ("1890s", "189X"),
    ("circa August 1975", "1975-08~"),
    ("undated", "undated"),
    ("circa 1870-1879", "1870~/1879~"),
    ("1785-1960, bulk 1916-1958", "1785/1960"),
    ("1827, 1952-1978", "{1827,1952..1978}"),
    # Cataloging Cultural Objects 4.2.3.2 <https://cco.vrafoundation.org>
    ("ca. 1610", "1610~"),
    ("designed 1911 or 1912", "events: designed=[1911,1912]"),
    ("1821-1826", "1821/1826"),
    # CCO indexes this as -0012 to -0009, counting without a year 0; ISO 8601-1:2019, 4.3.2 and
    # EDTF have one, so 12 BCE is -0011: the rule of ISO was taken
    ("12-9 BCE", "-0011/-0008"),
    # MARC 264 and 008, cataloguers' table <https://resourcedescriptionandaccess.blogspot.com>,
    # June 2014: q 1980 uuuu, q uuuu 1980, q 1993 1999
    ("[not before 1980]", "[1980..]"),
    ("[not after 1980]", "[..1980]"),
    ("[between 1993 and 1999]", "[1993..1999]"),
    # Rules for Archival Description <https://publish.uwo.ca/~dspanner/rule2.htm>
    ("[ca. 1975]", "1975~"),
    ("[197-]", "197X"),
    ("[197-?]", "197X?"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "meaning"), PUBLISHED)
def test_published_examples(text: str, meaning: str) -> None:
    assert said(text) == meaning


OUTER = [
    # CCO 4.2.3.2: the earliest and latest years that go with the words
    ("ca. 1610", 1605, 1615),
    ("1821-1826", 1821, 1826),
]


@pytest.mark.parametrize(("text", "first", "last"), OUTER)
def test_published_bounds(text: str, first: int, last: int) -> None:
    result = read(text)

    assert isinstance(result, Reading)
    days = [iso_day(day) for day in outer_bounds(result.edtf) if day is not None]
    assert days == [f"{first}-01-01", f"{last}-12-31"]


def test_late_12th_century_begins_where_cco_has_it() -> None:
    """CCO 4.2.3.2 has 1150 to 1220; its end is a cataloguer's estimate, ours that of the century.

    `probably` is uncertain (`?`) and does not widen.
    """
    assert said("probably late 12th century") == "[1150?..1199?]"


MEANT = [
    # days, months, years
    ("14 February 1872", "1872-02-14"),
    ("February 14, 1872", "1872-02-14"),
    ("Feb. 14th, 1872.", "1872-02-14"),
    ("1872 February 14", "1872-02-14"),
    ("1872, Feb. 14", "1872-02-14"),
    ("1872; February 14", "1872-02-14"),
    ("1872-02-14", "1872-02-14"),
    ("1872/02/14", "1872-02-14"),
    ("1872-2-4", "1872-02-04"),
    ("14.2.1872", "1872-02-14"),
    ("2/14/1872", "1872-02-14"),
    ("5/5/1872", "1872-05-05"),
    ("2/1872", "1872-02"),
    ("February 1872", "1872-02"),
    ("Feb., 1872", "1872-02"),
    ("1872 (Feb.)", "1872-02"),
    ("1872/02/00", "1872-02"),
    ("1872/00/00", "1872"),
    ("  1872 ", "1872"),
    ("1872,", "1872"),
    ("in 1872", "1872"),
    ("dated 1872", "1872"),
    ("1872 (1 of 2)", "1872"),
    ("(1872)", "1872"),
    # marks
    ("c. 1846", "1846~"),
    ("c.1846", "1846~"),
    ("c 1846", "1846~"),
    ("ca1846", "1846~"),
    ("Circa 1846", "1846~"),
    ("around 1846", "1846~"),
    ("1846 ca.", "1846~"),
    ("1846?", "1846?"),
    ("?1846", "1846?"),
    ("1846 (?)", "1846?"),
    ("[1846?]", "1846?"),
    ("perhaps 1846", "1846?"),
    ("?c.1846", "1846%"),
    ("ca. 1846?", "1846%"),
    ("c. 1846 or later", "[1846~..]"),
    # ranges
    ("1873 - 1876", "1873/1876"),
    ("1873–1876", "1873/1876"),
    ("1873 to 1876", "1873/1876"),
    ("1873 through 1876", "1873/1876"),
    ("from 1873 to 1876", "1873/1876"),
    ("from 1873", "1873/.."),
    ("since 1873", "1873/.."),
    ("1873 onwards", "[1873..]"),
    ("until 1876", "../1876"),
    ("1873-", "1873/.."),
    ("1873-[ongoing]", "1873/.."),
    ("<1873-    >", "1873/.."),
    ("1873-?", "1873/"),
    ("1873/1876", "1873/1876"),
    ("ca. 1855-60", "1855~/1860~"),
    ("1855-ca. 1860", "1855/1860~"),
    ("ca. 1855-ca. 1860", "1855~/1860~"),
    ("[ca. 1855]-1860", "1855~/1860"),
    ("[1855?]-1860", "1855?/1860"),
    ("[?1855]-1860", "1855?/1860"),
    ("1855-1860?", "1855/1860?"),
    ("1855-1860 ca.", "1855~/1860~"),
    ("?1855-6", "1855?/1856?"),
    ("1875-8", "1875/1878"),
    ("1871-82", "1871/1882"),
    ("1871–06", "unread"),  # an end before the beginning
    ("1901–07", "1901/1907"),  # no month is written with this dash
    ("c. 1901-07", "1901~/1907~"),
    ("1923-24", "1923/1924"),  # EDTF would have a winter
    ("1871-75 and 1880", "{1871..1875,1880}"),
    ("1873 May-1876", "1873-05/1876"),
    ("May-August 1873", "1873-05/1873-08"),
    ("May - August, 1873", "1873-05/1873-08"),
    ("1873 May-August", "1873-05/1873-08"),
    ("1873 May 3-9", "1873-05-03/1873-05-09"),
    ("May 3-9, 1873", "1873-05-03/1873-05-09"),
    ("3-9 May 1873", "1873-05-03/1873-05-09"),
    ("1873 May 3 - June 9", "1873-05-03/1873-06-09"),
    ("3 May - 9 June 1873", "1873-05-03/1873-06-09"),
    ("May 3 - June 9, 1873", "1873-05-03/1873-06-09"),
    ("December 1872-January 1873", "1872-12/1873-01"),
    ("1872/12/00-1873/01/00", "1872-12/1873-01"),
    ("Spring-Autumn 1873", "1873-21/1873-23"),
    ("1873 Spring - 1874 Fall", "1873-21/1874-23"),
    # decades, centuries, and their parts
    ("1870's", "187X"),
    ("1870s-1880s", "187X/188X"),
    ("1870s-80s", "187X/188X"),
    ("1871-1880s", "1871/188X"),
    ("1880s-1900s", "188X/190X"),
    ("1900s-1923", "[1900..1923]"),
    ("1871-1900s", "unread"),  # to 1909 or to 1999
    ("187-", "187X"),
    ("186--187-", "186X/187X"),
    ("18--", "18XX"),
    ("18xx", "18XX"),
    ("19th century", "18XX"),
    ("nineteenth century", "18XX"),
    ("19th c.", "18XX"),
    ("17th-19th century", "16XX/18XX"),
    ("1st century", "[0001..0099]"),
    ("1st-2nd century", "[0001..01XX]"),
    ("2nd century", "01XX"),
    ("first half of the 1st century", "unread"),  # it has no year 0
    ("early 1st century", "unread"),
    ("1. Jahrhundert", "unread"),
    ("1st century BCE", "[-0099..0000]"),
    ("5th century BCE", "-04XX"),
    ("early 19th century", "[1800..1849]"),
    ("mid-19th century", "[1825..1875]"),
    ("late 19th century", "[1850..1899]"),
    ("late 5th century BCE", "[-0449..-0400]"),
    ("early 1870s", "[1870..1875]"),
    ("mid 1870s", "[1872..1877]"),
    ("late 1870s", "[1875..1879]"),
    ("early 1872", "[1872-01..1872-06]"),
    ("mid-1872", "[1872-04..1872-09]"),
    ("late 1872", "[1872-07..1872-12]"),
    ("first half of the 19th century", "[1800..1849]"),
    ("second half 19th century", "[1850..1899]"),
    ("last third of the 19th century", "[1866..1899]"),
    ("first third of the 19th century", "[1800..1832]"),
    ("third quarter of the 19th century", "[1850..1874]"),
    ("last quarter 19th century", "[1875..1899]"),
    ("late 18th-early 19th century", "[1750..1849]"),
    ("mid- to late-19th century", "[1825..1899]"),
    ("18th or 19th century", "[17XX,18XX]"),
    # bounds
    ("not before 1851", "[1851..]"),
    ("no earlier than 1851", "[1851..]"),
    ("not after 1851", "[..1851]"),
    ("no later than 1851", "[..1851]"),
    ("by 1851", "[..1851]"),
    ("pre-1851", "[..1851]"),
    ("post 1851", "[1851..]"),
    ("after c.1851", "[1851~..]"),
    ("1851 or after", "[1851..]"),
    ("1851 or earlier", "[..1851]"),
    ("1851-after 1860", "[1851..]"),
    ("between 1873 and 1876", "[1873..1876]"),
    ("between ca. 1873 and 1876?", "[1873~..1876?]"),
    ("between May 3 and June 9, 1873", "[1873-05-03..1873-06-09]"),
    ("1873 or 4", "[1873,1874]"),
    ("either 1873 or 1876", "[1873,1876]"),
    ("c. 1873 or 1876", "[1873~,1876~]"),
    ("1873 or 1874-1880", "[1873..1880,1874..1880]"),
    # lists
    ("1871, 1873", "{1871,1873}"),
    ("1871 and 1873", "{1871,1873}"),
    ("1930, 64", "{1930,1964}"),
    ("1930, 31", "unread"),  # a year or a day
    ("1871, 1873-1875 and ca. 1880", "{1871,1873..1875,1880~}"),
    ("1872 May, June", "{1872-05,1872-06}"),
    ("1872 May 3, 9", "{1872-05-03,1872-05-09}"),
    ("1872 May 3, June 9; 1873", "{1872-05-03,1872-06-09,1873}"),
    ("May 3 & 9, 1872", "{1872-05-03,1872-05-09}"),
    ("May and June 1872", "{1872-05,1872-06}"),
    ("1872 March-April, 1875", "{1872-03..1872-04,1875}"),
    ("May, c. 1872", "1872-05~"),
    ("circa 1871, 1873", "{1871~,1873}"),
    ("1871, early 1880s", "[1871,1880..1885]"),
    # before and after Christ
    ("300 BC", "-0299"),
    ("1 BCE", "0000"),
    ("AD 79", "0079"),
    ("79 CE", "0079"),
    ("206 BCE-220 CE", "-0205/0220"),
    ("c. 300-250 B.C.", "-0299~/-0249~"),
    ("618-907", "0618/0907"),
    ("13-618", "unread"),
    # part without a date
    ("undated, 1872", "1872"),
    ("1872 and undated", "1872"),
    ("Undated [1872]", "1872"),
    ("undated (circa 1872)", "1872~"),
    # EDTF that nobody else writes
    ("1846~", "1846~"),
    ("1868/..", "1868/.."),
    ("../1868", "../1868"),
    ("{1871,1872}", "{1871,1872}"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "meaning"), MEANT)
def test_meaning(text: str, meaning: str) -> None:
    assert said(text) == meaning


UNDATED = ["", " ", ".", "undated", "Undated.", "n.d.", "N. d.", "nd", "no date", "not dated",
           "date not known", "date unknown", "unknown", "[undated]", "(undated)", "s.d.",
           "undatiert", "0000/00/00", "0000", "undated?"]  # fmt: skip


@pytest.mark.parametrize("text", UNDATED)
def test_undated(text: str) -> None:
    result = read(text)

    assert isinstance(result, Unread) and result.undated
    assert result.reason == "the text says that there is no date"


EVENTS = [
    ("1938, printed 1973", "events: =1938; printed=1973"),
    ("1938 printed 1973", "events: =1938; printed=1973"),
    ("1938; printed c. 1973", "events: =1938; printed=1973~"),
    ("designed 1911, cast 1925", "events: designed=1911; cast=1925"),
    ("designed 1911 cast 1925-30", "events: designed=1911; cast=1925/1930"),
    ("1911 (designed), 1925 (cast)", "events: designed=1911; cast=1925"),
    ("1911 (designed) 1925 (cast)", "events: designed=1911; cast=1925"),
    ("1911 (cast 1925)", "events: =1911; cast=1925"),
    ("1911, printed later", "events: =1911; printed=[1911..]"),
    ("1911, posthumous cast", "events: =1911; cast=[1911..]"),
    ("1911, ?later cast", "events: =1911; ?cast=[1911..]"),
    ("exhibited 1911", "events: exhibited=1911"),
    ("?exhibited 1911", "events: exhibited=1911?"),
    ("first published 1911, reprinted 1925", "events: first published=1911; reprinted=1925"),
    ("1911, editioned replica 1925", "events: =1911; editioned replica=1925"),
    ("p1991", "events: copyright=1991"),
    ("©1983", "events: copyright=1983"),
    ("1911, 1912, printed 1925", "events: ={1911,1912}; printed=1925"),
    ("1911, printed after 1925", "events: =1911; printed=[1925..]"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "meaning"), EVENTS)
def test_events(text: str, meaning: str) -> None:
    assert said(text) == meaning


LANGUAGES = [
    ("um 1850", "1850~"),
    ("vor 1850", "[..1850]"),
    ("nach 1850", "[1850..]"),
    ("zwischen 1850 und 1860", "[1850..1860]"),
    ("wohl 1850", "1850?"),
    ("14. Februar 1872", "1872-02-14"),
    ("März 1872", "1872-03"),
    ("1890er Jahre", "189X"),
    ("19. Jahrhundert", "18XX"),
    ("Anfang 19. Jh.", "[1800..1849]"),
    ("2. Hälfte 19. Jh.", "[1850..1899]"),
    ("1872 bis 1875", "1872/1875"),
    ("300 v. Chr.", "-0299"),
    ("1911, gegossen 1925", "events: =1911; cast=1925"),
    ("vers 1850", "1850~"),
    ("avant 1850", "[..1850]"),
    ("après 1850", "[1850..]"),
    ("entre 1850 et 1860", "[1850..1860]"),
    ("14 février 1872", "1872-02-14"),
    ("1er mai 1872", "1872-05-01"),
    ("années 1890", "189X"),
    ("XIXe siècle", "18XX"),
    ("fin du XIXe siècle", "[1850..1899]"),
    ("première moitié du XIXe siècle", "[1800..1849]"),
    ("300 av. J.-C.", "-0299"),
    ("1911, tiré en 1925", "events: =1911; printed=1925"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "meaning"), LANGUAGES)
def test_languages(text: str, meaning: str) -> None:
    assert said(text) == meaning


def test_a_language_can_be_left_out() -> None:
    assert said("um 1850", policy=Policy(languages=("en", "fr"))) == "unread"
    assert said("c. 1850", policy=Policy(languages=("en",))) == "1850~"


NOTES = [
    ("[1872]", ("square brackets: not from the thing itself",)),
    ("<1872->", ("angle brackets: not final",)),
    ("1785-1960, bulk 1916-1958", ("bulk dates: 1916/1958",)),
    ("1785-1960 (bulk, 1916-1918, 1920)", ("bulk dates: {1916..1918,1920}",)),
    ("(bulk 1916-1958)", ("bulk",)),
    ("1872, undated", ("undated",)),
    ("1872 (1 of 12)", ("1 of 12",)),
    ("1871-1875 (scattered dates)", ("scattered dates",)),
    ("early 1870s", ("early is read widely; its ends are not exact",)),
    ("Summer 1872", ("a season without a hemisphere; its days are those of the northern year",)),
    ("1846~", ("EDTF",)),
    ("1872", ()),
]  # fmt: skip


@pytest.mark.parametrize(("text", "notes"), NOTES)
def test_notes(text: str, notes: tuple[str, ...]) -> None:
    result = read(text)

    assert isinstance(result, Reading)
    assert result.notes == notes
    assert result.verbatim == text


UNREAD = [
    ("3/1/1828", "`3/1/1828` may be 1828-01-03 (day first) or 1828-03-01 (month first);"
     " `day_first` in [dates] decides"),
    ("5/6/64", "`05/06/64` has a year of two digits; `two_digit_years` in [dates] says of which"
     " hundred"),
    ("1901-07", "`1901-07` may be month 07 of 1901 or a range of years that ends in 07;"
     " `year_month = true` (a month) or `false` in [dates] decides"),
    ("1901/07", "`1901-07` may be month 07 of 1901 or a range of years that ends in 07;"
     " `year_month = true` (a month) or `false` in [dates] decides"),
    ("winter 1964", "this season of 1964 may be that of 1963 to 1964 or of 1964 to 1965;"
     " `seasons` in [dates] decides"),
    ("1964-present", "`present` is the day of writing, which the text does not say, or an open"
     " end; `present` in [dates] decides"),
    ("c1911", "`c1911` may be a copyright date or circa; `c_years` in [dates] decides"),
    ("1900s", "`190X` (with s) may be a decade or a century; `hundreds` in [dates] decides"),
    ("early 1900s", "`190X` (with s) may be a decade or a century; `hundreds` in [dates]"
     " decides"),
    ("1680/1", "`1680/1681` may be the years 1680 to 1681, or one year in two calendars (Old and"
     " New Style)"),
    ("1680/1 Feb. 22", "a year with a slash may be one year in two calendars (Old and New"
     " Style), or two"),
    ("12 Floréal an X", "`floréal` may belong to another calendar than the Gregorian"),
    ("5633", "`5633` may belong to another calendar than the Gregorian"),
    ("3 May 1750 O.S.", "`o.s` may belong to another calendar than the Gregorian"),
    ("-1921", "a year after a dash may be BCE, or the end of a range without its start"),
    ("1800–05 or 1815", "`or` after a range may belong to its end or to the whole range"),
    ("1800-1805 or 1815", "`or` after a range may belong to its end or to the whole range"),
    ("the snow shed", "`snow` is not a word of a date"),
    ("1872 Sorn", "`Sorn` is not a word of a date"),
    ("30 February 1872", "`1872-02-30` is not on the calendar"),
    ("1876-1873", "the interval `1876/1873` ends before it begins"),
    ("1876-3", "`3` after 1876 is no later year"),
    ("5th half of the 19th century", "a century has 2 such parts, not 5"),
    ("0 BCE", "the words are known, but not what they mean together"),
    ("années 1893", "no decade begins in 1893"),
    ("1872 1873", "the words are known, but not what they mean together"),
    ("1938-193", "the words are known, but not what they mean together"),
    ("938-1000", "the words are known, but not what they mean together"),
    ("188?", "the words are known, but not what they mean together"),
    ("printed", "the words are known, but not what they mean together"),
    ("1938, printed 1973, 1980", "the words are known, but not what they mean together"),
    ("1785-1960, bulk 1916-1958, 1970", "the words are known, but not what they mean together"),
    ("1872 May 3 - June 9, 1873", "the words are known, but not what they mean together"),
    ("13/14/1872", "the words are known, but not what they mean together"),
    ("14/15/1872", "the words are known, but not what they mean together"),
    ("x" * 501, "longer than 500 characters"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "reason"), UNREAD)
def test_unread(text: str, reason: str) -> None:
    result = read(text)

    assert isinstance(result, Unread)
    assert result.reason == reason
    assert not result.undated


POLICIES = [
    (Policy(day_first=True), "3/1/1828", "1828-01-03", ("day_first = true",)),
    (Policy(day_first=False), "3/1/1828", "1828-03-01", ("day_first = false",)),
    (Policy(day_first=True), "1/13/1828", "1828-01-13", ()),
    (Policy(day_first=True, two_digit_years=1850), "5/6/64", "1864-06-05",
     ("two_digit_years = 1850: the year is 1864", "day_first = true")),
    (Policy(day_first=True, two_digit_years=1850), "5/6/49", "1949-06-05",
     ("two_digit_years = 1850: the year is 1949", "day_first = true")),
    (Policy(day_first=True, two_digit_years=1850), "5/6/50", "1850-06-05",
     ("two_digit_years = 1850: the year is 1850", "day_first = true")),
    (Policy(year_month=True), "1901-07", "1901-07", ("year_month = true",)),
    (Policy(year_month=False), "1901-07", "1901/1907", ("year_month = false",)),
    (Policy(seasons="north begins"), "winter 1964", "1964-28", ("seasons = north begins",)),
    (Policy(seasons="north ends"), "winter 1964", "1963-28", ("seasons = north ends",)),
    (Policy(seasons="north"), "spring 1964", "1964-25", ("seasons = north",)),
    (Policy(seasons="south"), "spring 1964", "1964-29", ("seasons = south",)),
    (Policy(seasons="south"), "winter 1964", "1964-32", ("seasons = south",)),
    (Policy(seasons="south ends"), "summer 1964", "1963-30", ("seasons = south ends",)),
    (Policy(seasons="south ends"), "spring 1964", "1964-29", ("seasons = south ends",)),
    (Policy(present="open"), "1964-present", "1964/..", ("present = open",)),
    (Policy(present="2024-03-11"), "1964-present", "1964/2024-03-11",
     ("present = 2024-03-11",)),
    (Policy(c_years="circa"), "c1911", "1911~", ("c_years = circa",)),
    (Policy(hundreds="decade"), "1900s", "190X", ("hundreds = decade",)),
    (Policy(hundreds="century"), "1900s", "19XX", ("hundreds = century",)),
    (Policy(hundreds="century"), "early 1900s", "[1900..1949]",
     ("hundreds = century", "early is read widely; its ends are not exact")),
]  # fmt: skip


@pytest.mark.parametrize(("policy", "text", "meaning", "notes"), POLICIES)
def test_policies(policy: Policy, text: str, meaning: str, notes: tuple[str, ...]) -> None:
    result = read(text, policy=policy)

    assert isinstance(result, Reading)
    assert (str(result.edtf), result.notes) == (meaning, notes)


def test_a_copyright_year_is_an_event() -> None:
    assert said("c1911", policy=Policy(c_years="copyright")) == "events: copyright=1911"
    assert (
        said("1911, c1910", policy=Policy(c_years="copyright")) == "events: =1911; copyright=1910"
    )


STILL_UNREAD = [
    (Policy(seasons="north"), "winter 1964"),
    (Policy(seasons="south"), "summer 1964"),
    (Policy(hundreds="decade"), "early 1900s"),
    (Policy(day_first=True), "5/6/64"),
    (Policy(day_first=True), "1/13/13/1828"),
]


@pytest.mark.parametrize(("policy", "text"), STILL_UNREAD)
def test_a_policy_decides_only_what_it_says(policy: Policy, text: str) -> None:
    assert said(text, policy=policy) == "unread"


@pytest.mark.parametrize(
    ("settings", "message"),
    [
        ({"seasons": "nord"}, "`nord` is not a value of `seasons` in [dates]"),
        ({"c_years": "both"}, "`both` is not a value of `c_years` in [dates]"),
        ({"hundreds": "year"}, "`year` is not a value of `hundreds` in [dates]"),
        ({"languages": ("xx",)}, "no table of date words for the language `xx`"),
        ({"present": "1990/1991"}, "`present` in [dates] is one date or `open`, not `1990/1991`"),
    ],
)
def test_no_such_policy(settings: dict[str, object], message: str) -> None:
    with pytest.raises(UsageError) as caught:
        Policy(**settings)  # type: ignore[arg-type]

    assert caught.value.message == message


def test_present_must_be_edtf() -> None:
    with pytest.raises(DateError):
        Policy(present="now")


# Properties.

_WORDS = st.sampled_from(
    [
        "1872",
        "1873",
        "1871",
        "1900s",
        "1870s",
        "187-",
        "18--",
        "19th",
        "1st",
        "century",
        "c.",
        "ca.",
        "circa",
        "c1911",
        "?",
        "[",
        "]",
        "(",
        ")",
        "<",
        ">",
        "-",
        "–",
        "--",
        ",",
        ";",
        ".",
        "/",
        "&",
        "and",
        "or",
        "to",
        "from",
        "until",
        "before",
        "after",
        "not",
        "by",
        "between",
        "early",
        "mid",
        "late",
        "half",
        "first",
        "second",
        "last",
        "quarter",
        "third",
        "of",
        "the",
        "May",
        "June",
        "Feb.",
        "3",
        "14",
        "29",
        "31",
        "07",
        "64",
        "00",
        "0000",
        "BCE",
        "AD",
        "undated",
        "n.d.",
        "bulk",
        "printed",
        "cast",
        "later",
        "posthumous",
        "spring",
        "winter",
        "present",
        "ongoing",
        "unknown",
        "born",
        "died",
        "b.",
        "d.",
        "active",
        "American",
        "'",
        "'90s",
        "618",
        "vers",
        "um",
        "siècle",
        "XIXe",
        "{",
        "}",
        "..",
        "X",
        "~",
        "%",
        "u",
    ]
)
_TEXTS = st.lists(st.tuples(_WORDS, st.sampled_from(["", " "])), max_size=9).map(
    lambda pairs: "".join(word + space for word, space in pairs)
)
_POLICIES = st.sampled_from([
    Policy(),
    Policy(day_first=True, year_month=True, two_digit_years=1850, seasons="north begins",
           present="open", c_years="circa", hundreds="century"),
    Policy(day_first=False, year_month=False, seasons="south ends", present="2024-03-11",
           c_years="copyright", hundreds="decade", languages=("en",)),
])  # fmt: skip


@given(st.one_of(st.text(max_size=40), _TEXTS), st.sampled_from(["date", "life"]), _POLICIES)
def test_no_text_raises_and_each_reading_is_edtf(text: str, kind: str, policy: Policy) -> None:
    result = read(text, kind=kind, policy=policy)

    assert result.verbatim == text
    if isinstance(result, Unread):
        assert result.reason
        return
    readings = [result] if isinstance(result, Reading) else [one for _, one in result.events]
    assert readings
    for one in readings:
        assert parse(str(one.edtf)) == one.edtf


@given(st.integers(1, 2099), st.integers(1, 12), st.sampled_from(["-", "/"]))
def test_a_written_month_is_never_guessed(year: int, month: int, sign: str) -> None:
    assert said(f"{year:04}{sign}{month:02}") == "unread"


@given(st.dates(max_value=date(2099, 12, 31)))
def test_days_of_iso_and_in_words_are_one(day: date) -> None:
    written = day.strftime("%d %B ") + f"{day.year:04}"

    assert said(written) == said(day.isoformat()) == day.isoformat()
