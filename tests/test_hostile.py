"""Input that was made to do harm: told in clear words, nothing executed, nothing written outside.

What is merely wrong is in `test_bad_input.py`, the limits of each reader in `test_read.py`.
"""

import csv
import gzip
import io
import resource
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from test_bad_input import Change, as_json_lines, as_xml, put, run
from test_pipeline import HEADER, ROWS

from bench import fuzz
from lodpipe.cli import main
from lodpipe.findings import Finding
from lodpipe.tables import sheets

EXAMPLES = 300


def call(*arguments: object) -> tuple[int, str]:
    done = CliRunner().invoke(main, [str(argument) for argument in arguments])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.exit_code, done.output


def bytes_of(file: str, body: bytes) -> Change:
    return lambda folder: (folder / file).write_bytes(body)


def declared(text: str) -> Change:
    """More lines at the end of lodpipe.toml."""
    return lambda folder: (folder / "lodpipe.toml").write_bytes(
        (folder / "lodpipe.toml").read_bytes() + text.encode()
    )


def in_title(text: str) -> Change:
    return put("Snow shed", text)


# --- a project that is refused ------------------------------------------------------------

BOMB = b"a: &a [x,x,x,x,x,x,x,x,x]\n" + b"".join(
    b"%c: &%c [%s]\n" % (98 + n, 98 + n, b",".join([b"*%c" % (97 + n)] * 9)) for n in range(9)
)
REFUSED: list[tuple[str, Change, str]] = [
    ("TOML nested deep", declared("\n[x]\na = " + "[" * 5_000 + "]" * 5_000),
     "error[usage]: not a TOML file: nested too deep\n  --> lodpipe.toml\n"),
    ("a file with NUL in its name", put('"items.csv"', '"items.csv\\u0000"', "lodpipe.toml"),
     "error[usage]: there is no file `items.csv"),
    ("a bomb of aliases", bytes_of("items.yaml", BOMB),
     "error[usage]: more than 50,000 values, aliases unfolded\n  --> items.yaml:5:23\n"),
    ("YAML nested deep", bytes_of("items.yaml", b"[" * 100_000),
     "error[usage]: nested deeper than 64 levels\n  --> items.yaml:1:66\n"),
    ("NUL in YAML", bytes_of("items.yaml", b"a: \x00"),
     "error[usage]: not YAML: unacceptable character #x0000"),
    ("a tag that calls a function", bytes_of("items.yaml",
     b'!!python/object/apply:os.system ["touch harm"]'),
     "error[usage]: the tag `tag:yaml.org,2002:python/object/apply:os.system` is not allowed\n"
     "  --> items.yaml:1:1\n  hint: leave the tag out\n"),
    ("a pattern without end", put("title: Title",
     'title: {from: Title, pattern: "' + "a" * 3_000 + '"}', "items.yaml"),
     "error[usage]: a pattern of 3,000 characters\n  --> items.yaml:6:35\n"),
    ("a table outside the project", put("lookup: qualifiers}}", "lookup: ../../../etc/x}}", "items.yaml"),
     "error[usage]: there is no table `../../../etc/x`\n"),
    ("bytes that are no workbook", lambda folder: (
        (folder / "items.xlsx").write_bytes(b"PK\x03\x04" + b"\0" * 500),
        put('"items.csv"', '"items.xlsx"', "lodpipe.toml")(folder)),
     "error[usage]: `items.xlsx` is not an XLSX workbook\n"),
]  # fmt: skip


@pytest.mark.parametrize(("what", "change", "message"), REFUSED, ids=[row[0] for row in REFUSED])
def test_what_is_refused(tmp_path: Path, what: str, change: Change, message: str) -> None:
    status, output = run(tmp_path, change)

    assert output.startswith(message)
    assert status == 2
    assert not (tmp_path / "archive/archive.sqlite").exists()
    assert not list(tmp_path.rglob("harm"))


# --- records that are left out or published harmless --------------------------------------

ENTITIES = "".join(
    f'<!ENTITY {chr(98 + n)} "{f"&{chr(97 + n)};" * 10}">' for n in range(9)
)  # fmt: skip
LEFT_OUT: list[tuple[str, Change, str]] = [
    ("growing entities", as_xml(f'<!DOCTYPE list [<!ENTITY a "ha">{ENTITIES}]><list><item><No>1</No></item>'
     "<item><No>2</No><Title>&j;</Title></item></list>"), "Maximum entity amplification factor exceeded"),
    ("an external entity", as_xml('<!DOCTYPE list [<!ENTITY x SYSTEM "file:///etc/passwd">]><list><item><No>1</No></item>'
     "<item><No>2</No><Title>&x;</Title></item></list>"), "the entity `&x;` is not read"),
    ("JSON nested deep", as_json_lines('{"No": "1"}\n{"No": "2", "a": ' + "[" * 900 + "]" * 900 + "}\n"),
     "the record is nested 901 deep, more than 64"),
    ("JSON nested beyond all", as_json_lines('{"No": "1"}\n' + "[" * 100_000 + "\n"), "the record is not JSON: "),
    ("XML nested deep", as_xml("<list><item><No>1</No></item><item>" + "<a>" * 90 + "</a>" * 90 + "</item></list>"),
     "the record is nested deeper than 64"),
    ("a lone surrogate", as_json_lines('{"No": "1"}\n{"No": "2", "Title": "\\ud800"}\n'),
     "the record is not JSON: no low surrogate in string"),
    ("NUL in a row", in_title("Snow\0shed"), "the row holds a NUL character"),
    ("a key that climbs", put("\n2,", "\n../../x,"), "the key `../../x` has a part `..`, which means another folder"),
    ("a key that is a folder", put("\n2,", "\n.,"), "the key `.` has a part `.`, which means another folder"),
]  # fmt: skip


@pytest.mark.parametrize(("what", "change", "message"), LEFT_OUT, ids=[row[0] for row in LEFT_OUT])
def test_what_costs_one_record(tmp_path: Path, what: str, change: Change, message: str) -> None:
    status, output = run(tmp_path, change)

    assert message in output
    assert " 1 unreadable, 0 duplicate" in output
    assert status == 1
    assert "root:" not in output


PUBLISHED: list[tuple[str, str, bytes]] = [
    # a title -> what stands in the JSON of the document
    ("markup", "<script>alert(1)</script>", b"<script>alert(1)</script>"),
    ("a formula", "=cmd|'/c calc'!A0", b"=cmd|'/c calc'!A0"),
    ("an address", "javascript:alert(1)", b"javascript:alert(1)"),
    ("a template", "{no} {{no}}", b"{no} {{no}}"),
]


@pytest.mark.parametrize(("what", "title", "body"), PUBLISHED, ids=[row[0] for row in PUBLISHED])
def test_text_is_text(tmp_path: Path, what: str, title: str, body: bytes) -> None:
    """It is published as it stands; pages and reports escape it."""
    run(tmp_path, in_title(title))
    call("export", tmp_path)

    published = (tmp_path / "export/linked-art/object/2.json").read_bytes()
    assert b'"content":"' + body + b'"' in published.replace(b'": "', b'":"')


def test_right_to_left_marks_are_told(tmp_path: Path) -> None:
    _, output = run(tmp_path, in_title("\u202egnp.exe"))

    assert "the text holds U+202E" in output


def test_a_key_that_is_encoded_stays_inside(tmp_path: Path) -> None:
    folder = tmp_path / "deep/project"
    folder.mkdir(parents=True)
    run(folder, put("\n2,", "\n%2e%2e%2f%2e%2e%2fx,"))
    call("export", folder)

    assert [path.name for path in tmp_path.iterdir()] == ["deep"]
    assert [path.name for path in (tmp_path / "deep").iterdir()] == ["project"]


# --- packed and large ---------------------------------------------------------------------

LARGE = """
import gzip, sys
from pathlib import Path
from lodpipe.findings import Finding
from lodpipe.project import Limits
from lodpipe.read import ReadOptions, records
path, size = Path(sys.argv[1]), int(sys.argv[2])
block = b"x" * (1 << 20)
with (gzip.open(path, "wb", 1) if path.suffix == ".gz" else path.open("wb")) as file:
    file.write(b'No,Title\\n1,"' if ".csv" in path.name else b'{"No": "1"}\\n{"No": "' if ".jsonl" in path.name else b'[{"No": "1"}, "' if ".json" in path.name else b"<list><item>")
    for _ in range(size >> 20):
        file.write(block)
found = []
for row in records(path, path.name, ReadOptions(records="/list/item" if ".xml" in path.name else ""), Limits(), found.append):
    print(type(row).__name__, getattr(row, "reason", ""))
# the most since this program began; ru_maxrss also counts the process that started it
status = Path("/proc/self/status").read_text()
print(int(status.partition("VmHWM:")[2].split()[0]) // 1024)
"""


@pytest.mark.parametrize("name", ["a.csv", "a.jsonl.gz", "a.json", "a.xml"])
def test_one_line_without_end_is_passed_over_in_bounded_memory(tmp_path: Path, name: str) -> None:
    """A gigabyte is read in the same way: what a record may not have is never held."""
    size = 120 << 20
    done = subprocess.run(
        [sys.executable, "-c", LARGE, str(tmp_path / name), str(size)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    (tmp_path / name).unlink()
    *rows, peak = done.stdout.splitlines()

    assert rows[-1].startswith("Unreadable ")
    assert int(peak) < 190, done.stdout


def test_a_workbook_that_unpacks_to_too_much(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sheets, "MOST_BYTES", 1_000_000)

    def change(folder: Path) -> None:
        with zipfile.ZipFile(folder / "items.xlsx", "w", zipfile.ZIP_DEFLATED) as book:
            book.writestr("xl/workbook.xml", b" " * 2_000_000)
        put('"items.csv"', '"items.xlsx"', "lodpipe.toml")(folder)

    status, output = run(tmp_path, change)

    assert output == (
        "error[usage]: `items.xlsx` unpacks to 2,000,000 bytes, more than 1,000,000\n"
        "  hint: save it as CSV UTF-8, which is read row by row\n"
    )
    assert status == 2


def test_formulas_of_a_workbook_are_never_computed(tmp_path: Path) -> None:
    def change(folder: Path) -> None:
        book = openpyxl.Workbook()
        rows = list(csv.reader(io.StringIO(HEADER + "".join(ROWS))))
        rows[3][1] = '=HYPERLINK("http://example.org/"&A1)'
        for row in rows:
            book.active.append(row)  # type: ignore[union-attr]
        book.save(folder / "items.xlsx")
        put('"items.csv"', '"items.xlsx"', "lodpipe.toml")(folder)

    status, output = run(tmp_path, change)

    assert status in (0, 1)
    assert "5 mapped" in output
    assert "Traceback" not in output


# --- reports ------------------------------------------------------------------------------


def test_a_report_for_a_spreadsheet_runs_nothing(tmp_path: Path) -> None:
    run(tmp_path, put("\n2,Snow shed,1872,", "\n2,Snow shed,=1+1,"))
    call("check", tmp_path, "--csv", tmp_path / "report.csv", "--html", tmp_path / "report.html")

    cells = [
        cell
        for row in csv.reader((tmp_path / "report.csv").read_text("utf-8-sig").splitlines())
        for cell in row
    ]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "@", "-", "\t"))]


def test_a_ledger_with_markup_is_escaped_in_the_report(tmp_path: Path) -> None:
    def change(folder: Path) -> None:
        (folder / "evidence").mkdir()
        (folder / "evidence/claims.csv").write_text(
            "claim,about,aspect,value,by,basis\n"
            "c1,object/1,<script>alert(1)</script>,person/dolen,group/library,<b>seen</b>\n"
        )

    run(tmp_path, change)
    page = tmp_path / "report.html"
    call("check", tmp_path / "evidence", "--html", page)

    text = page.read_text()
    assert "&lt;script&gt;alert(1)" in text
    assert "<script>alert(1)" not in text


# --- linked data of others ----------------------------------------------------------------

DOCUMENTS = [
    ("deep.json", b'{"a":' * 500 + b"1" + b"}" * 500, "the document is nested deeper than 128"),
    ("deeper.json", b"[" * 5_000 + b"]" * 5_000, "not JSON: depth limit exceeded"),
    ("remote.json", b'{"@context": "http://127.0.0.1:9/x", "id": "http://e.org/a"}',
     "the context `http://127.0.0.1:9/x` is not one that we have, and none is fetched"),
    ("file.json", b'{"@context": "file:///etc/passwd", "id": "http://e.org/a"}',
     "the context `file:///etc/passwd` is not one that we have, and none is fetched"),
    ("no-context.json", b'{"@context": "ht( ( (x", "@id": "http://e.org/a"}', "not JSON-LD: "),
    ("bomb.rdf", b'<!DOCTYPE x [<!ENTITY a "b">]><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"/>',
     "the XML declares entities, which are not resolved"),
    ("surrogate.json", b'{"@context": "https://linked.art/ns/v1/linked-art.json", "_label": "\\ud800"}',
     "not JSON: no low surrogate in string"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "body", "message"), DOCUMENTS, ids=[row[0] for row in DOCUMENTS])
@pytest.mark.parametrize("pack", [bytes, gzip.compress], ids=["plain", "packed"])
def test_documents_of_others(
    tmp_path: Path, name: str, body: bytes, message: str, pack: Callable[[bytes], bytes]
) -> None:
    path = tmp_path / (name if pack is bytes else f"{name}.gz")
    path.write_bytes(pack(body))
    status, output = call("check", path)

    assert message in " ".join(output.split())
    assert status == 3  # nothing was checked


PATTERN = b"""
@prefix sh: <http://www.w3.org/ns/shacl#> . @prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
<urn:x:s> a sh:NodeShape ; sh:targetSubjectsOf rdfs:label ; sh:property [ sh:path rdfs:label ; sh:pattern "^(a+)+$" ] .
"""


@pytest.mark.parametrize("engine", ["compiled"])
def test_a_pattern_that_would_run_for_ever(tmp_path: Path, engine: str) -> None:
    (tmp_path / "s.ttl").write_bytes(PATTERN)
    (tmp_path / "d.nt").write_bytes(
        b'<http://e.org/a> <http://www.w3.org/2000/01/rdf-schema#label> "' + b"a" * 60 + b'!" .\n'
    )
    before = resource.getrusage(resource.RUSAGE_SELF).ru_utime
    status, _ = call("check", tmp_path / "d.nt", "--shapes", tmp_path / "s.ttl", "--engine", engine)

    assert status == 1
    assert resource.getrusage(resource.RUSAGE_SELF).ru_utime - before < 5


# --- anything -----------------------------------------------------------------------------


@pytest.mark.parametrize("kind", sorted(fuzz.KINDS))
def test_mutated(tmp_path: Path, kind: str) -> None:
    """A slice of `python -m bench.fuzz`."""
    fuzz.watch()
    share, *_ = fuzz.KINDS[kind]
    fuzz.fuzz(kind, EXAMPLES * share // 100, tmp_path)


def test_the_watch_sees_what_is_written_outside(tmp_path: Path) -> None:
    def harm(bench: Any, name: str, body: bytes) -> None:
        (tmp_path / "outside").write_bytes(body)

    fuzz.watch()
    (tmp_path / "inside").mkdir()
    fuzz.KINDS["harm"] = (0, {"x": "x"}, harm)
    try:
        with pytest.raises(AssertionError, match="outside"):
            fuzz.fuzz("harm", 1, tmp_path / "inside")
    finally:
        del fuzz.KINDS["harm"]
        fuzz.COUNT.outside.clear()


def test_the_harness_sees_a_traceback(tmp_path: Path) -> None:
    def harm(bench: Any, name: str, body: bytes) -> None:
        raise KeyError(Finding)

    fuzz.KINDS["harm"] = (0, {"x": "x"}, harm)
    try:
        with pytest.raises(KeyError):
            fuzz.fuzz("harm", 1, tmp_path)
    finally:
        del fuzz.KINDS["harm"]
