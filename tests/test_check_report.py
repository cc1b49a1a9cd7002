"""Reports: what each format says, that it says what it is about, and that no data breaks it."""

import csv
import io
import re
from html.parser import HTMLParser

import orjson
import pytest
import rdflib
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from lodpipe.check.report import (
    COLUMNS,
    About,
    Entry,
    as_csv,
    as_json,
    entry_of,
    entry_of_finding,
    groups,
    harmless,
    headline,
    passes,
)
from lodpipe.check.report_page import as_page
from lodpipe.check.report_text import as_text, told_lines, told_of
from lodpipe.check.report_turtle import as_turtle
from lodpipe.check.report_xml import as_junit
from lodpipe.check.results import Result
from lodpipe.findings import Finding
from lodpipe.pipeline.books import Tally
from lodpipe.records import Place, TraceEntry

BASE = "https://collections.example.org/"
SHAPE = "urn:lodpipe:shape:"
ORDER = "the time span ends before it begins: look whether its two dates were exchanged"
ABOUT = About(
    title="release 7",
    tool="lodpipe 0.1",
    data="d" * 64,
    shapes="5" * 64,
    documents=3,
    focus={f"{SHAPE}timespan": 4, f"{SHAPE}object": 3},
    messages={f"{SHAPE}timespan": "", f"{SHAPE}object": "", f"{SHAPE}set": ""},
    refereed=3,
)


def result(key: str, **other: str) -> Result:
    values = {
        "uri": f"{BASE}object/{key}",
        "focus": f"{BASE}object/{key}#exposure-timespan",
        "shape": f"{SHAPE}timespan-order",
        "path": "crm:P82a_begin_of_the_begin",
        "pointer": "/produced_by/timespan",
        "severity": "violation",
        "component": "LessThanOrEquals",
        "message": ORDER,
        "value": "1917-05-01T00:00:00Z",
        "rule": "https://www.cidoc-crm.org/",
        "term": '"1917-05-01T00:00:00Z"^^<http://www.w3.org/2001/XMLSchema#dateTime>',
    }
    return Result(**(values | other))


def cell(line: int, column: str = "date") -> TraceEntry:
    return TraceEntry(
        "/produced_by/timespan", column, Place("items.csv", line, line - 1, "", column)
    )


LABEL = Entry(
    severity="warning",
    shape=f"{SHAPE}term-label",
    message="one term has two labels in this record",
    value="Photograph",
    uri=f"{BASE}object/item-0101",
    component="MaxCount",
    path="rdfs:label",
    focus="http://vocab.getty.edu/aat/300046300",
    term='"Photograph"',
)
TWO = [
    entry_of(result("item-0102"), [cell(14)]),
    entry_of(result("item-0101"), [cell(13), cell(13, "until")]),
    LABEL,
]

TEXT = """\
release 7: 3 documents checked, 2 shapes met 7 nodes: 2 violations, 1 warning

2 x violation  timespan-order  crm:P82a_begin_of_the_begin
  the time span ends before it begins: look whether its two dates were
  exchanged
  --> items.csv:13 (record 12) [date] and 1 more  `1917-05-01T00:00:00Z`  https://collections.example.org/object/item-0101
  --> items.csv:14 (record 13) [date]  `1917-05-01T00:00:00Z`  https://collections.example.org/object/item-0102
  rule: https://www.cidoc-crm.org/

1 x warning  term-label  rdfs:label
  one term has two labels in this record
  --> http://vocab.getty.edu/aat/300046300  `Photograph`  https://collections.example.org/object/item-0101

met no node: set

data dddddddddddddddd  shapes 5555555555555555  lodpipe 0.1
3 documents checked by both engines
"""


def test_the_text_groups_and_leads_back_to_the_cells() -> None:
    assert as_text(TWO, ABOUT) == TEXT


def test_two_thousand_equal_errors_fit_on_a_screen() -> None:
    many = [entry_of(result(f"item-{n:04}"), [cell(n + 2)]) for n in range(2000)]
    text = as_text(many, ABOUT)

    assert "2,000 x violation  timespan-order" in text
    assert "  and 1,997 more\n" in text
    assert len(text.splitlines()) < 20


HEADLINES = [
    ([], ABOUT, "release 7: 3 documents checked, 2 shapes met 7 nodes: nothing was found", True),
    ([LABEL], ABOUT, "release 7: 3 documents checked, 2 shapes met 7 nodes: 1 warning", True),
    (
        [],
        About("x", "t", "d", "s", 0, {}),
        "x: 0 documents checked, 0 shapes met 0 nodes: nothing was checked",
        False,
    ),
    (
        [],
        About("x", "t", "d", "s", 2, {}),
        "x: 2 documents checked, 0 shapes met 0 nodes: nothing was checked",
        False,
    ),
]


@pytest.mark.parametrize(("entries", "about", "sentence", "good"), HEADLINES)
def test_nothing_checked_is_never_a_pass(
    entries: list[Entry], about: About, sentence: str, good: bool
) -> None:
    assert headline(entries, about) == sentence
    assert passes(entries, about) == good
    for made in (as_text(entries, about), as_page(entries, about)):
        assert ("othing was checked" in made) == ("nothing was checked" in sentence)


def test_json_has_everything() -> None:
    data = orjson.loads(as_json(TWO, ABOUT))

    assert data["passes"] is False
    assert data["counts"] == {"violation": 2, "warning": 1, "info": 0}
    assert (data["tool"], data["data_sha256"], data["shapes_sha256"]) == (
        "lodpipe 0.1",
        "d" * 64,
        "5" * 64,
    )
    assert data["shapes"][1] == {"shape": f"{SHAPE}set", "message": "", "nodes": 0}
    assert data["results"][0]["places"] == [
        {
            "file": "items.csv",
            "sheet": "",
            "line": 13,
            "record": 12,
            "column": c,
            "field": c,
            "mapping": "",
        }
        for c in ("date", "until")
    ]


def test_csv_is_read_back() -> None:
    made = as_csv(TWO, ABOUT)
    rows = list(csv.DictReader(io.StringIO(made.decode("utf-8-sig"))))

    assert made.startswith(b"\xef\xbb\xbf")
    assert [(r["file"], r["line"], r["column"], r["value"]) for r in rows] == [
        ("items.csv", "13", "date", "1917-05-01T00:00:00Z"),
        ("items.csv", "14", "date", "1917-05-01T00:00:00Z"),
        ("", "", "", "Photograph"),
    ]
    assert rows[0]["other_places"] == "items.csv:13 (record 12) [until]"
    assert {r["data_sha256"] for r in rows} == {"d" * 64}


def test_csv_without_results_says_so() -> None:
    (row,) = csv.DictReader(io.StringIO(as_csv([], ABOUT).decode("utf-8-sig")))

    assert (row["severity"], row["message"]) == ("none", headline([], ABOUT))
    assert row["shapes_sha256"] == "5" * 64


@given(st.text(min_size=1))
def test_no_cell_is_a_formula(value: str) -> None:
    entry = Entry("violation", value, value, value, value, value, value)
    rows = list(csv.reader(io.StringIO(as_csv([entry], ABOUT).decode("utf-8-sig"), newline="")))

    assert len(rows[0]) == len(COLUMNS) == len(rows[1])
    assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n")) for cell in rows[1])
    assert harmless(value) in rows[1]


def test_junit_tells_failed_from_skipped() -> None:
    root = etree.fromstring(as_junit(TWO, ABOUT))
    cases = {case.get("name"): case for case in root.iter("testcase")}

    assert (root.get("tests"), root.get("failures")) == ("5", "1")
    assert cases["timespan-order"].find("failure").get("message") == f"2 results: {ORDER}"
    assert "items.csv:13" in cases["timespan-order"].findtext("failure")
    assert cases["set"].find("skipped") is not None
    assert "two labels" in cases["term-label"].findtext("system-out")
    assert len(cases["object"]) == 0
    assert {p.get("name"): p.get("value") for p in root.iter("property")} == {
        **ABOUT.hashes(),
        "summary": headline(TWO, ABOUT),
    }


def test_the_validation_report_is_one_of_shacl() -> None:
    sh = rdflib.Namespace("http://www.w3.org/ns/shacl#")
    graph = rdflib.Graph().parse(data=as_turtle(TWO, ABOUT), format="turtle")
    (report,) = graph.subjects(rdflib.RDF.type, sh.ValidationReport)
    results = list(graph.objects(report, sh.result))

    assert graph.value(report, sh.conforms).toPython() is False
    assert len(results) == 3
    assert {str(graph.value(r, sh.sourceShape)) for r in results} == {
        f"{SHAPE}timespan-order",
        f"{SHAPE}term-label",
    }
    for one in results:
        for name in ("focusNode", "resultPath", "value", "resultMessage", "resultSeverity"):
            assert len(list(graph.objects(one, sh[name]))) == 1
    assert "items.csv:13 (record 12) [until]" in {
        str(c) for c in graph.objects(None, rdflib.RDFS.comment)
    }
    assert f"sha256:{'d' * 64}" in as_turtle([], ABOUT)
    assert "sh:conforms true" in as_turtle([], ABOUT)


class Page(HTMLParser):
    """Collects what a browser would see: texts, tags, attributes."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes.extend(attrs)

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def test_the_page_says_what_where_and_what_to_do() -> None:
    text = " ".join(" ".join(Page(as_page(TWO, ABOUT)).texts).split())

    assert "It should not go out like this." in text
    assert "2 results in 2 documents" in text
    assert "The time span ends before it begins: look whether" in text
    assert "items.csv:13 (record 12) [date] and 1 more" in text
    assert "Documents begin with https://collections.example.org/" in text
    assert "none set" in text
    assert "d" * 64 in text
    assert "5" * 64 in text


def test_the_page_asks_for_nothing_from_outside() -> None:
    page = Page(as_page(TWO, ABOUT))

    assert not set(page.tags) & {"link", "img", "iframe", "object", "embed", "base"}
    assert not any(name == "src" for name, _ in page.attributes)
    assert {value for name, value in page.attributes if name == "href"} == {
        "#g1",
        "#g2",
        "https://www.cidoc-crm.org/",
    }


def _but_code(tags: list[str]) -> list[str]:
    return sorted(tag for tag in tags if tag != "code")


@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1))
@settings(deadline=None)
def test_no_text_of_the_data_becomes_markup(value: str) -> None:
    nasty = f"<script>{value}</script><b onclick='x'>\"&"
    plain = Entry("violation", "s", "m", "v", "u", "p", "q", hint="h", rule="r", focus="f")
    entry = Entry(
        "violation", nasty, nasty, nasty, nasty, nasty, nasty, hint=nasty, rule=nasty, focus=nasty
    )
    one, other = Page(as_page([plain], ABOUT)), Page(as_page([entry], ABOUT))

    # a text between backticks is set as code: a tag of ours, whatever the text says
    assert _but_code(one.tags) == _but_code(other.tags)
    assert etree.fromstring(as_junit([entry], ABOUT)) is not None


def test_ten_thousand_findings_stay_under_three_megabytes() -> None:
    many = [entry_of(result(f"item-{n:05}"), [cell(n + 2)]) for n in range(10_000)]

    assert len(as_page(many, ABOUT).encode()) < 3_000_000


def test_the_same_entries_give_the_same_bytes_in_any_order() -> None:
    for make in (as_text, as_json, as_csv, as_junit, as_turtle, as_page):
        assert make(TWO, ABOUT) == make(TWO[::-1], ABOUT)  # type: ignore[operator]


def test_a_finding_of_another_kind_stands_beside_the_results() -> None:
    place = Place("items.csv", 7, 6, "", "date")
    entry = entry_of_finding(
        Finding("date", "`1866/13` is not a date", place, value="1866/13", hint="write `1866-12`")
    )
    (group,) = groups([entry])

    assert (group.severity, group.shape, group.hint) == ("warning", "date", "write `1866-12`")
    assert "--> items.csv:7 (record 6) [date]  `1866/13`" in as_text([entry], ABOUT)
    assert re.search(r"sh:result \[", as_turtle([entry], ABOUT)) is None


def test_findings_of_one_code_stand_together_and_say_each_their_own() -> None:
    found = [
        Finding("date", f"`{text}` cannot be read as a date", Place("items.csv", n), value=text)
        for n, text in enumerate(("snow", "thaw", "frost", "hail"), 2)
    ]
    entries = [entry_of_finding(one) for one in found]
    (group,) = groups(entries)
    wanted = """\
4 x warning  date
  a date that cannot be read: the words are kept as the name of the time span,
  without days
  hint: mend it in the source; until then its words are published as they
  stand
  --> items.csv:2
      `snow` cannot be read as a date
  --> items.csv:3
      `thaw` cannot be read as a date
  --> items.csv:4
      `frost` cannot be read as a date
  and 1 more
"""

    assert group.varied
    assert wanted in as_text(entries, ABOUT)
    assert "<code>hail</code> cannot be read as a date" in as_page(entries, ABOUT)
    # a run, which keeps only a few, tells them in the same lines
    tally = Tally()
    tally.add(found)
    ((kind, count),) = tally.worst_first()
    told = told_of(count, map(entry_of_finding, tally.examples[kind]), varied=kind in tally.varied)
    assert "\n".join(told_lines(told)) + "\n" == wanted
