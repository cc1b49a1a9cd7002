"""The ranges that ship, held against the published tables in their own words.

Each table is written here as it was published; a second reading of its words must give the rows.
Sources: Western Australian Museum manual, appendix 7 (https://manual.museum.wa.gov.au);
Università di Padova (https://mostre.cab.unipd.it/phaidra-collezioni-fotografiche/en/42);
V. Zimmerman (https://belletisdale.blogspot.com); Dating Photographs 1839-1903
(https://docslib.org/doc/8993737, United States).
"""

import csv
import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from rulebook_help import ASPECTS, QUALIFIERS

from lodpipe import evidence
from lodpipe.dates import parse
from lodpipe.project import Limits, builtin
from lodpipe.weigh.findings_ import fits

FOLDER = builtin("mappings") / "evidence"
WA, PADOVA, ZIMMERMAN, US = (
    "text/range-wa-museum", "text/range-padova", "text/range-zimmerman",
    "text/range-dating-photographs",
)  # fmt: skip

# process, then what each table says of it; empty where it says nothing
TABLE = (
    ("process/daguerreotype", "1839-1860s", "1839; -1850s", "1839-1865; 1852-58", "1839 / 1842-56 / 1857-60"),
    ("process/calotype", "", "1841; 1840s-1851", "1841-1862; 1852-57", ""),
    ("process/salted-paper", "1840-1860s", "1839; 1840s-1850s", "", ""),
    ("process/ambrotype", "1851-1870s", "1852; -1880s", "1854-1865; 1857-59", "1854 / 1855-61 / 1862-65"),
    ("process/wet-collodion-negative", "", "1851; -1870s", "1850-1910", ""),
    ("process/albumen-silver", "1850-1920s", "1850; -1890s", "1850-1910; 1860-90", ""),
    ("process/tintype", "1852-1940s", "1856; -1930s", "1856-1940s", "1856 / 1860-70 / novelty"),
    ("process/cyanotype", "1880-1920", "1842; 1840s & 1880s-90s", "", ""),
    ("process/cyanotype-negative", "1840s-1840s", "", "", ""),
    ("process/collodion-printing-out", "", "1864; 1880s-1910s", "", ""),
    ("process/platinum", "1880-1920s", "1873; 1879-1914", "", ""),
    ("process/gelatin-dry-plate", "", "", "1871-", ""),
    ("process/gelatin-print", "", "", "1880-", ""),
    ("format/lantern-slide", "1851-1900", "", "", ""),
    ("format/carte-de-visite", "", "", "1854-1905; 1859-66", "1859 / 1860-80 / 1880-89"),
    ("format/cabinet-card", "", "", "1863-1920s; 1870-1900", "1866 / 1875-1900 / 1901-03"),
    ("format/stereo-card", "", "", "1851-1925; 1858-1905", ""),
    ("format/stereo-glass-plate", "", "", "", ""),
)  # fmt: skip


def rows(name: str) -> list[dict[str, str]]:
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


PROCESSES = rows("processes.csv")


def years(text: str) -> tuple[int, int] | None:
    """Return first and last year of `1839` or `1860s`."""
    found = re.fullmatch(r"(\d{4})(s?)", text.strip())
    return (int(found[1]), int(found[1]) + (9 if found[2] else 0)) if found else None


def published(source: str, text: str) -> tuple[Any, Any]:
    """Return the years of the beginning and of the end that a table gives."""
    if source == US:
        first, _, waned = text.split(" / ")
        end = re.fullmatch(r"(\d\d)\d\d-(\d\d)", waned)
        return years(first), years(end[1] + end[2]) if end else None
    if source == PADOVA:  # the year of the invention; popularity bounds nothing
        return years(text.split(";")[0]), None
    first, _, last = text.split(";")[0].partition("-")
    return years(first), years(last)


def stated(text: str) -> tuple[int, int] | None:
    """Return first and last year of a cell in EDTF."""
    if not text:
        return None
    date = parse(text)
    assert not date.uncertain
    assert not date.approximate
    digits = str(date)
    return int(digits.replace("X", "0")), int(digits.replace("X", "9"))


CELLS = [
    (line[0], source, text)
    for line in TABLE
    for source, text in zip((WA, PADOVA, ZIMMERMAN, US), line[1:], strict=True)
]


@pytest.mark.parametrize(("process", "source", "text"), CELLS)
def test_each_range_is_that_of_the_published_table(process: str, source: str, text: str) -> None:
    found = {
        (stated(row["from"]), stated(row["to"]), row["region"])
        for row in PROCESSES
        if row["process"] == process and source in row["sources"].split("; ")
    }
    if not text:
        assert not found
        return
    first, last = published(source, text)
    assert found == {(first, last, "United States" if source == US else "")}


SIZES = (
    # format, size as published, rounded to mm from inches where the source has inches
    ("format/carte-de-visite", (64, 100), "text/size-family-historian"),  # 64 x 100 mm
    ("format/cabinet-card", (4.25 * 25.4, 6.5 * 25.4), "text/size-aat-cabinet"),
    ("format/stereo-card", (3.5 * 25.4, 7 * 25.4), "text/size-short-courses"),
    ("format/stereo-card", (4 * 25.4, 7 * 25.4), "text/size-short-courses"),  # imperial
    ("format/stereo-card", (85, 170), "text/size-stereoscopy-history"),  # early
    ("format/stereo-glass-plate", (45, 107), "text/size-stereoscopy-history"),
    ("format/lantern-slide", (3.25 * 25.4, 3.25 * 25.4), WA),
    ("format/lantern-slide", (3.5 * 25.4, 4 * 25.4), WA),
)


def test_each_size_is_that_of_the_published_table() -> None:
    expected = Counter((name, round(a), round(b), source) for name, (a, b), source in SIZES)
    found = Counter(
        (row["process"], int(row["width"]), int(row["height"]), row["sources"].split("; ")[-1])
        for row in PROCESSES
        if row["width"]
    )
    assert found == expected


@pytest.mark.parametrize(
    ("size", "formats"),
    [
        ((83, 172), {"format/stereo-card"}),  # measured, https://stereoscopyhistory.net
        ((177, 88), {"format/stereo-card"}),  # measured, the other way up
        ((63.5, 101.6), {"format/carte-de-visite"}),  # 2 1/2 x 4 in
        # a cabinet card as one source rounds it; an imperial stereo card may have this size too
        ((110, 170), {"format/cabinet-card", "format/stereo-card"}),
        ((57, 83), set()),  # the print of a carte, which is not its mount
    ],
)
def test_measured_mounts_fit_their_formats(size: tuple[float, float], formats: set[str]) -> None:
    sized = [row for row in PROCESSES if row["width"]]
    found = {
        row["process"]
        for row in sized
        if fits(size, float(row["width"]), float(row["height"]), float(row["tolerance"]))
    }
    assert found == formats


def test_no_row_leaves_a_process_without_bound() -> None:
    assert all(row["from"] for row in PROCESSES)


def test_the_files_are_those_of_an_evidence_folder(tmp_path: Path) -> None:
    for name in ("processes.csv", "sources.csv"):
        (tmp_path / name).write_bytes((FOLDER / name).read_bytes())
    found: list[Any] = []
    loaded = evidence.load(
        tmp_path, "evidence", aspects=ASPECTS, qualifiers=QUALIFIERS, limits=Limits(),
        report=found.append,
    )  # fmt: skip
    assert found == []
    assert len(loaded.evidence.processes) == len(PROCESSES)
    named = {key for row in loaded.evidence.processes for key in row.sources}
    assert named == {source.key for source in loaded.evidence.sources}
