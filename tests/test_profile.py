"""A first look into a source: what columns look like, what is odd, in every format."""

import gzip
import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from lodpipe.cli import main
from lodpipe.profile import Profiler
from lodpipe.profile.draft import plain
from lodpipe.profile.leaves import leaves
from lodpipe.profile.signs import signs_of
from lodpipe.records import Place, Record

DOUBTS = {"possibly by", "attributed to"}


def look_at(values: list[str]) -> dict[str, str]:
    """The looks of one column that holds these values: kind -> words."""
    profiler = Profiler(lambda text: text in DOUBTS, {})
    for number, value in enumerate(values, 1):
        profiler.add(Record({"c": value}, Place("a.csv", number + 1, number), "table"))
    (column,) = profiler.result("a.csv", 0, {}).columns
    return {look.kind: look.words for look in column.looks}


LOOKS: list[tuple[list[str], dict[str, str]]] = [
    (["", "", ""], {"empty": "always empty"}),
    (["a"] * 3, {"constant": "always the same"}),
    (["a1", "a2", "a3"], {"key": "could be the key"}),
    (["a1", "a2", ""], {}),  # not always there
    (["a1", "a2", "a2"], {}),  # not always different
    (["1872", "ca. 1873", "1870s"] * 2, {"date": "100 % read as dates"}),
    (["1872", "spring of 1873, or so they say"] * 2, {"date": "50 % read as dates"}),
    (["12.5", "3", "0,5"] * 2, {"number": "numbers"}),
    (["335", "1200", "17"] * 2, {"number": "numbers"}),  # sizes are no years
    (["https://example.org/1"] * 2 + ["https://example.org/2"], {"link": "web addresses"}),
    (["a|b", "c", "d|e|f", "c"], {"list": "parted by |"}),
    (["print", "drawing"] * 5, {"terms": "2 terms"}),
    (["possibly by", "", "printer", "possibly by"], {"doubt": "2 with a doubt"}),
    (["unknown American", "Mira Dolen", "Mira Dolen"], {"nobody": "1 nobody in particular"}),
    # a sentence with a semicolon in it is no list
    (
        ["Snow lay deep; no train went up the line that day, says the keeper of it." * 3, "a", "a"],
        {},
    ),
]


@pytest.mark.parametrize(("values", "looks"), LOOKS)
def test_what_a_column_looks_like(values: list[str], looks: dict[str, str]) -> None:
    assert look_at(values) == looks


SIGNS = [
    ("Schneed\u00c3\u00a4cher", ["damaged letters"]),
    ("caf\u00e9 \u00c4pfel \u00c5ngstr\u00f6m", []),
    ("Port\u0096rait", ["control signs"]),
    ("<b>Summit</b> &amp; cutting", ["markup"]),
    ("a < b and c > d", []),
    ("n/a", ["placeholder"]),
    ("0.0", ["placeholder"]),
    ("Unknown", ["placeholder"]),
    ("Summe:", ["total"]),
    ("Grand Total", ["total"]),
    ("Total eclipse", []),
    ("unknown hill", []),
    ("=SUM(A1:A3)", ["formula"]),
    (" two  spaces", ["spaces"]),
    ("two\nlines", []),
]


@pytest.mark.parametrize(("text", "kinds"), SIGNS)
def test_what_is_odd_about_a_text(text: str, kinds: list[str]) -> None:
    assert [sign.name for sign in signs_of(text)] == kinds


NAMES = [
    ("Accession No.", "accession no"),
    ("/dateRange/startYear", "start year"),
    ("lido:event/lido:displayDate", "display date"),
    ("K\u00fcnstler", "kunstler"),
    ("Ma\u00dfe", "masse"),
    ("???", ""),
]


@pytest.mark.parametrize(("name", "words"), NAMES)
def test_names_of_columns_as_words(name: str, words: str) -> None:
    assert plain(name) == words


@given(st.lists(st.lists(st.text(max_size=20), min_size=2, max_size=2), max_size=30))
def test_nothing_is_lost_in_counting(rows: list[list[str]]) -> None:
    profiler = Profiler(lambda text: False, {})
    for number, (one, other) in enumerate(rows, 1):
        profiler.add(Record({"a": one, "b": other}, Place("a.csv", number), "table"))
    columns = {column.name: column for column in profiler.result("a.csv", 0, {}).columns}

    assert profiler.records == len(rows)
    for at, name in enumerate("ab" if rows else ""):
        filled = [row[at] for row in rows if row[at]]
        assert columns[name].records == len(filled)
        if columns[name].look("list") is None:
            assert columns[name].distinct == len(set(filled))


JSON_RECORD = {"no": 1, "made": {"from": 1872, "to": None}, "by": [{"n": "a"}, {"n": "b"}], "x": []}


def test_values_stand_under_the_names_that_a_mapping_would_read() -> None:
    record = Record(JSON_RECORD, Place("a.jsonl", 1), "json")

    assert list(leaves(record, {})) == [
        ("/no", "1"),
        ("/made/from", "1872"),
        ("/made/to", ""),
        ("/by/n", "a"),
        ("/by/n", "b"),
    ]


# --- the command


def profile(path: Path, *arguments: str, status: int = 0) -> str:
    done = CliRunner().invoke(main, ["profile", str(path), *arguments])
    assert done.exit_code == status, done.output
    return done.stdout if status == 0 else done.stderr


ROWS = "No,Title,Artist ids,Artists,Made\n" + "".join(
    f"{number},Cutting {number},{number}|7,Mira Dolen|Jonas Vey,187{number}\n"
    for number in range(6)
)
OBJECTS = [{"id": number, "title": f"Cutting {number}"} for number in range(3)]
XML = (
    '<l:list xmlns:l="http://example.org/list"><l:made>1</l:made>'
    + "".join(f"<l:item no='{n}'><l:title>Cutting {n}</l:title></l:item>" for n in range(3))
    + "</l:list>"
)
FILES: list[tuple[str, bytes, dict[str, object], list[str]]] = [
    ("a.csv", ROWS.encode(), {}, ["No", "Title", "Artist ids", "Artists", "Made"]),
    (
        "a.csv.gz",
        gzip.compress(ROWS.encode(), mtime=0),
        {},
        ["No", "Title", "Artist ids", "Artists", "Made"],
    ),
    ("b.csv", b"No;Title\n1;Cutting\n", {"delimiter": ";"}, ["No", "Title"]),
    ("c.json", json.dumps(OBJECTS).encode(), {}, ["/id", "/title"]),
    (
        "d.json",
        json.dumps({"made": "2024", "objects": OBJECTS}).encode(),
        {"records": "$.objects[*]"},
        ["/id", "/title"],
    ),
    (
        "e.xml",
        XML.encode(),
        {"records": "/l:list/l:item", "namespaces": {"l": "http://example.org/list"}},
        ["@no", "l:title"],
    ),
    ("f.jsonl", b'{"id": 1}\n{"id": 2}\n', {}, ["/id"]),
]


@pytest.mark.parametrize(("name", "body", "read_with", "columns"), FILES)
def test_every_format_is_read_as_it_wants_to_be(
    tmp_path: Path, name: str, body: bytes, read_with: dict[str, object], columns: list[str]
) -> None:
    (tmp_path / name).write_bytes(body)
    told = json.loads(profile(tmp_path / name, "--json"))

    assert told["read_with"] == read_with
    assert [column["name"] for column in told["columns"]] == columns


def test_lists_that_belong_together(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text(ROWS)
    told = json.loads(profile(tmp_path / "a.csv", "--json"))

    assert told["parallel"] == [{"separator": "|", "columns": ["Artist ids", "Artists"]}]
    (artists,) = [column for column in told["columns"] if column["name"] == "Artists"]
    assert [(one["value"], one["count"]) for one in artists["samples"]] == [
        ("Jonas Vey", 6),
        ("Mira Dolen", 6),
    ]


def test_the_terminal_shows_it_in_eighty_columns(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text(
        "No,A name of a column that goes on and on,Date\n"
        + "".join(f"{n},{'long ' * 60}{n},1872-01-01\n" for n in range(5))
        + "9,n/a,\n9,n/a,\n"
    )
    lines = profile(tmp_path / "a.csv").splitlines()

    assert max(map(len, lines)) < 80
    assert lines[0] == "a.csv: 7 records, 3 columns"
    assert "records that repeat an earlier one in every value: 1" in lines
    assert "- words and signs that stand for nothing:" in lines
    assert "  --> a.csv:7 (record 6) [A name of a column that goes on and on]" in lines


def test_the_page_escapes_what_the_data_say(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("No,<i>T</i>\n1,<script>alert(1)</script>\n")
    profile(tmp_path / "a.csv", "--html", str(tmp_path / "a.html"))
    page = (tmp_path / "a.html").read_text(encoding="utf-8")

    assert "<script>" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "&lt;i&gt;T&lt;/i&gt;" in page


REFUSED = [
    ("no.csv", None, 2, "`no.csv`"),
    ("a.csv", b"No,Title\n", 3, "no record can be read in `a.csv`"),
    ("a.csv", "No,Title\n1,Caf\u00e9\n".encode("cp1252"), 2, "declare"),
    ("a.xml", b"no xml at all", 2, "no element can be read in `a.xml`"),
    ("a.txt", b"No\n1\n", 2, "the ending of `a.txt` does not say what format it has"),
]


@pytest.mark.parametrize(("name", "body", "status", "words"), REFUSED)
def test_what_cannot_be_looked_into(
    tmp_path: Path, name: str, body: bytes | None, status: int, words: str
) -> None:
    if body is not None:
        (tmp_path / name).write_bytes(body)
    told = profile(tmp_path / name, status=status)

    assert words in told
    assert "Traceback" not in told
