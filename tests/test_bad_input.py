"""Bad input from the command line: what is wrong, where, what to do; no traceback, nothing lost."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from test_pipeline import HEADER, MAPPING, PROJECT, ROWS

from lodpipe.cli import main

Change = Callable[[Path], object]


def put(old: str, new: str, file: str = "items.csv") -> Change:
    """A change of one file of the project."""

    def change(folder: Path) -> None:
        text = (folder / file).read_text(encoding="utf-8")
        assert old in text
        (folder / file).write_text(text.replace(old, new), encoding="utf-8")

    return change


def latin(folder: Path) -> None:
    text = (HEADER + "".join(ROWS)).replace("Camp", "Cämp")
    (folder / "items.csv").write_bytes(text.encode("cp1252"))


def divided(sign: str) -> Change:
    """What a spreadsheet program saves as CSV where the comma divides the decimals."""

    def change(folder: Path) -> None:
        text = (HEADER + "".join(ROWS)).replace(",", sign)
        (folder / "items.csv").write_text(text, encoding="utf-8")

    return change


def as_json_lines(text: str) -> Change:
    def change(folder: Path) -> None:
        (folder / "items.jsonl").write_text(text, encoding="utf-8")
        put('"items.csv"', '"items.jsonl"', "lodpipe.toml")(folder)

    return change


def as_xml(text: str) -> Change:
    def change(folder: Path) -> None:
        (folder / "items.xml").write_text(text, encoding="utf-8")
        put('file = "items.csv"', 'file = "items.xml"\nrecords = "/list/item"', "lodpipe.toml")(
            folder
        )

    return change


def run(folder: Path, change: Change) -> tuple[int, str]:
    (folder / "lodpipe.toml").write_text(
        PROJECT + '[check]\nmost_losses = "90 %"\n', encoding="utf-8"
    )
    (folder / "items.yaml").write_text(MAPPING, encoding="utf-8")
    (folder / "items.csv").write_text(HEADER + "".join(ROWS), encoding="utf-8")
    change(folder)
    done = CliRunner().invoke(main, ["run", str(folder), "--no-export"])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.exit_code, done.output


STOPS = [
    # what is wrong -> the whole message; nothing is released
    ("a missing file", lambda folder: (folder / "items.csv").unlink(), """\
error[usage]: there is no file `items.csv`
  --> lodpipe.toml [[source]] number 1
  hint: paths start at the folder of the project
"""),
    ("another encoding", latin, """\
error[usage]: `items.csv` is not UTF-8: byte 0xe4 in line 5 (byte 163 of the file)
  hint: declare what it is, for example `encoding = "cp1252"`, or `--encoding cp1252`
"""),
    ("an unknown column", put("Maker", "Photographer"), """\
error[usage]: the source has no column `Maker`
  --> items.yaml:8:9
  hint: the columns are `No`, `Title`, `Date`, `Photographer`, `Sure`, `Page`
"""),
    ("semicolons", divided(";"), """\
error[usage]: the header row has `;` between its columns, and it is read with another delimiter: the first column is `No;Title;Date;Maker;Sure;Page`
  --> items.csv
  hint: declare `delimiter = ";"` for this source in lodpipe.toml
"""),
    ("tabs", divided("\t"), """\
error[usage]: the header row has `\\t` between its columns, and it is read with another delimiter: the first column is `No\\tTitle\\tDate\\tMaker\\tSure\\tPage`
  --> items.csv
  hint: declare `delimiter = "\\t"` for this source in lodpipe.toml
"""),
    ("an unknown key", put("timespan: {", "timspan: {", "items.yaml"), """\
error[usage]: `timspan` is not a key of Production
  --> items.yaml:24:11
  hint: did you mean `timespan`?
"""),
    ("an unquoted placeholder", put('_label: "{title}"', "_label: {title}", "items.yaml"), """\
error[usage]: `{title}` is not quoted
  --> items.yaml:14:13
  hint: quote the placeholder: "{title}"
"""),
    ("an IRI with a space", put("[{term: photograph}]",
        '[{id: "http://example.org/a b", type: Type}]', "items.yaml"), """\
error[usage]: `http://example.org/a b` is not an IRI: U+0020 space at character 21
  --> items.yaml:15:26
  hint: write %20 for it
"""),
]  # fmt: skip


@pytest.mark.parametrize(("what", "change", "message"), STOPS, ids=[row[0] for row in STOPS])
def test_what_stops_a_run(tmp_path: Path, what: str, change: Change, message: str) -> None:
    status, output = run(tmp_path, change)

    assert output == message
    assert status == 2
    assert not (tmp_path / "archive" / "archive.sqlite").exists()


BROKEN = '{"No": "1", "Title": "One"}\n{"No": "2", "Tit\n{"No": "3", "Title": "Three"}\n'
ENTITY = """<?xml version="1.0"?>
<!DOCTYPE list [<!ENTITY secret SYSTEM "file:///etc/hostname">]>
<list><item><No>1</No></item><item><No>2</No><Title>&secret;</Title></item></list>
"""
GOES_ON = [
    # what is wrong -> finding and place, records mapped and unreadable; the others are released
    ("a ragged row", put("dolen,,album", "dolen,,album,x"),
     "warning  ragged\n  the row has 7 cells for 6 columns; left over: `x`\n"
     "  hint: look for a delimiter that is text, or was lost\n  --> items.csv:4 (record 3)",
     (5, 0), 0),
    ("a value too long", put("Snow shed", "x" * 250_000),
     "violation  too-long\n  a value of 250,000 characters is longer than the limit of 200,000\n"
     "  hint: raise `field_chars` in `[limits]` if the value is right\n  --> items.csv:4 (record 3) [Title]", (4, 1), 1),
    ("control characters", put("Snow shed", "Snow\x07shed"),
     "warning  characters\n  the text holds U+0007\n"
     "  hint: export the source again, in UTF-8\n  --> items.csv:4 (record 3) [Title]", (5, 0), 0),
    ("a key that climbs", put("\n2,", "\n../../x,"),
     "violation  iri\n  the key `../../x` has a part `..`, which means another folder\n"
     "  hint: give the record a key without it\n  --> items.csv:4 (record 3) [No]", (4, 1), 1),
    ("a record without key", put("\n2,", "\n,"),
     "violation  key\n  the record has no `no`\n  hint: give it a key, or say under `key` which field it has\n"
     "  --> items.csv:4 (record 3) [No]", (4, 1), 1),
    ("a key twice", put("\n3,", "\n2,"),
     "warning  duplicate\n  2 records have the key `2`; used is", (4, 0), 0),
    ("broken JSON in the middle", as_json_lines(BROKEN),
     "violation  unreadable\n", (2, 1), 1),
    ("an external entity", as_xml(ENTITY),
     "violation  unreadable\n", (1, 1), 1),
]  # fmt: skip


@pytest.mark.parametrize(
    ("what", "change", "message", "records", "status"), GOES_ON, ids=[row[0] for row in GOES_ON]
)
def test_what_costs_one_record(
    tmp_path: Path, what: str, change: Change, message: str, records: tuple[int, int], status: int
) -> None:
    exit_status, output = run(tmp_path, change)

    assert message in output
    counted = re.search(r"(\d+) mapped, (\d+) unreadable, (\d+) duplicate", output)
    assert counted
    assert (int(counted[1]), int(counted[2])) == records
    assert exit_status == status
    assert (tmp_path / "archive" / "archive.sqlite").exists()
    assert "hostname" not in output


def test_no_file_is_written_outside_the_export(tmp_path: Path) -> None:
    project = tmp_path / "deep" / "project"
    project.mkdir(parents=True)
    run(project, put("\n2,", "\n../../x,"))
    CliRunner().invoke(main, ["export", str(project)])

    assert sorted(path.name for path in tmp_path.iterdir()) == ["deep"]
    assert sorted(path.name for path in (tmp_path / "deep").iterdir()) == ["project"]


def test_all_faults_of_a_mapping_are_told_in_one_run(tmp_path: Path) -> None:
    def change(folder: Path) -> None:
        put("timespan: {", "timspan: {", "items.yaml")(folder)
        put('_label: "{title}"', '_label: "{titel}"', "items.yaml")(folder)
        put("aspect: maker", "aspect: makre", "items.yaml")(folder)

    status, output = run(tmp_path, change)

    assert status == 2
    for word in ("`timspan`", "`titel`", "`makre`"):
        assert word in output
    assert output.count("  --> items.yaml:") == 3
