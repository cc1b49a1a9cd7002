"""A project made from a catalogue file: it runs at once, and says what is left to decide."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from bench.first_hour import attempt
from lodpipe.cli import main

ROWS = (
    "Inventory No,Object Type,Title,Artist,Date,Shelf\n"
    "1,photographs,Summit cutting,Mira Dolen (?),February 1872,A4\n"
    "2,prints,Snow shed,unknown,ca. 1873,A5\n"
    "3,photographs,Viaduct,Jonas Vey,1874,A5\n"
    "4,map of the line,The line,,1866,A6\n"
) + "".join(f"{n},photographs,Cutting {n},Jonas Vey,1875,A7\n" for n in range(5, 22))


def call(*arguments: str, status: int = 0) -> str:
    done = CliRunner().invoke(main, list(arguments))
    assert done.exit_code == status, done.output
    return done.stdout if status == 0 else done.stderr


@pytest.fixture
def started(tmp_path: Path) -> Path:
    (tmp_path / "items.csv").write_text(ROWS)
    call("start", str(tmp_path / "line"), "--from", str(tmp_path / "items.csv"))
    return tmp_path / "line"


def test_the_files_of_a_new_project(started: Path) -> None:
    files = sorted(path.relative_to(started).as_posix() for path in started.rglob("*.*"))

    assert files == [
        "catalogue/items.csv",
        "evidence/access.csv",
        "evidence/claims.csv",
        "evidence/people.csv",
        "evidence/sources.csv",
        "evidence/whereabouts.csv",
        "lodpipe.toml",
        "mappings/items.yaml",
        "mappings/vocab/object_type.csv",
    ]
    assert (started / "catalogue/items.csv").read_text() == ROWS
    assert (started / "mappings/vocab/object_type.csv").read_text() == (
        "term,concept,source\n"
        "map of the line,,to decide\n"
        "photographs,photograph,shipped table cmoa-classification\n"
        "prints,work/print,shipped table cmoa-classification\n"
    )


def test_it_runs_at_once_and_says_what_is_to_decide(started: Path) -> None:
    told = json.loads(call("run", str(started), "--json"))
    findings = [
        json.loads(line)
        for line in (started / "archive/report.jsonl").read_text(encoding="utf-8").splitlines()
    ]

    assert told["books"]["records"] == {"mapped": 21, "unreadable": 0, "duplicate": 0}
    assert told["books"]["documents"]["new"] >= 21
    assert [(f["place"], f["message"]) for f in findings if f["code"] == "undecided"] == [
        ("mappings/items.yaml", "left out until somebody decides: `Shelf`"),
        (
            "mappings/vocab/object_type.csv",
            "terms without a concept: `map of the line` of 3",
        ),
    ]


def test_a_maker_is_words_and_no_person(started: Path) -> None:
    """What the column hides, `(?)` and `unknown`, nobody has looked at yet."""
    call("run", str(started))
    first = json.loads((started / "export/linked-art/object/1.json").read_text(encoding="utf-8"))

    assert "carried_out_by" not in json.dumps(first)
    assert [one["content"] for one in first["referred_to_by"]] == ["Mira Dolen (?)"]
    assert first["_label"] == "Summit cutting"
    assert first["classified_as"][0]["_label"] == "Photograph"
    assert not (started / "export/linked-art/person").exists()


def test_what_was_decided_is_told_no_more(started: Path) -> None:
    mapping = started / "mappings/items.yaml"
    mapping.write_text(mapping.read_text().replace("to decide: A7 · A5", "internal shelf mark"))
    table = started / "mappings/vocab/object_type.csv"
    table.write_text(table.read_text().replace(",,to decide", ",,a map has no kind of ours"))
    call("run", str(started))

    assert "undecided" not in (started / "archive/report.jsonl").read_text(encoding="utf-8")


def test_the_next_commands_that_it_names_run(started: Path, tmp_path: Path) -> None:
    (tmp_path / "items.csv").write_text(ROWS)
    told = call("start", str(tmp_path / "again"), "--from", str(tmp_path / "items.csv"))
    lines = told[told.index("next:") :].replace("\\\n", "").splitlines()[1:]
    calls = [line.split()[1:] for line in lines]

    assert [words[0] for words in calls] == ["run", "check", "explain"]
    for words in calls:
        words = [str(tmp_path / word) if word == "report.html" else word for word in words]
        call(*words)


@pytest.mark.parametrize("ending", ["jsonl", "json", "xml"])
def test_the_other_formats(tmp_path: Path, ending: str) -> None:
    rows = [{"acno": f"A{n}", "title": f"Cutting {n}", "by": [{"n": "x"}]} for n in range(3)]
    bodies = {
        "jsonl": "\n".join(json.dumps(row) for row in rows),
        "json": json.dumps({"objects": rows}),
        "xml": "<list>"
        + "".join(
            f"<item><acno>{row['acno']}</acno><title>{row['title']}</title></item>" for row in rows
        )
        + "</list>",
    }
    (tmp_path / f"items.{ending}").write_text(bodies[ending])
    call("start", str(tmp_path / "line"), "--from", str(tmp_path / f"items.{ending}"))
    told = json.loads(call("run", str(tmp_path / "line"), "--json"))
    made = json.loads((tmp_path / "line/export/linked-art/object/A1.json").read_text())

    assert told["books"]["records"]["mapped"] == 3
    assert made["_label"] == "Cutting 1"


def test_a_folder_that_is_a_project_is_left_alone(started: Path, tmp_path: Path) -> None:
    before = {path: path.read_bytes() for path in started.rglob("*.*")}
    told = call("start", str(started), "--from", str(tmp_path / "items.csv"), status=2)

    assert told == (
        "error[usage]: `line` is a project already\n"
        "  hint: name another folder, or add a `[[source]]` to its lodpipe.toml\n"
    )
    assert {path: path.read_bytes() for path in started.rglob("*.*")} == before


def test_a_file_of_ones_own_is_not_written_over(tmp_path: Path) -> None:
    (tmp_path / "items.csv").write_text(ROWS)
    (tmp_path / "line/mappings").mkdir(parents=True)
    (tmp_path / "line/mappings/items.yaml").write_text("mine")
    told = call("start", str(tmp_path / "line"), "--from", str(tmp_path / "items.csv"), status=2)

    assert "`mappings/items.yaml` is there already, in `line`" in told
    assert [path.name for path in (tmp_path / "line").rglob("*.*")] == ["items.yaml"]


def test_records_that_nothing_tells_apart(tmp_path: Path) -> None:
    (tmp_path / "items.csv").write_text("Title,Date\nCutting,1872\nCutting,1872\n")
    told = call("start", str(tmp_path / "line"), "--from", str(tmp_path / "items.csv"), status=2)

    assert "nothing tells its records apart" in told
    assert not (tmp_path / "line").exists()


def test_a_spreadsheet_as_people_keep_them(tmp_path: Path) -> None:
    """Semicolons, cp1252, commas before decimals, a blank row, a row of totals, German."""
    rows = (
        "Inventarnr.;Titel;Urheber;Datierung;Ma\u00dfe (cm);Wert\r\n"
        "12;Gipfeleinschnitt;Dolen, Mira;um 1872;14,2 x 19,5 cm;12,50\r\n"
        ";;;;;\r\n"
        "13;Schneed\u00e4cher;Dolen, Mira (?);14.02.1872;14,0 x 19,4 cm;1.200,00\r\n"
        "Summe;;;;;1.212,50\r\n"
    )
    (tmp_path / "bilder.csv").write_bytes(rows.encode("cp1252"))
    first = call("start", str(tmp_path / "line"), "--from", str(tmp_path / "bilder.csv"), status=2)
    told = call(
        "start", str(tmp_path / "line"), "--from", str(tmp_path / "bilder.csv"),
        "--encoding", "cp1252",
    )  # fmt: skip
    call("run", str(tmp_path / "line"))
    made = json.loads((tmp_path / "line/export/linked-art/object/13.json").read_text("utf-8"))
    words = {one["content"] for one in made["referred_to_by"]}

    assert "or `--encoding cp1252`" in first
    assert "  mapped     5 columns, as words\n  to decide  1 column," in told
    assert "  to look at 1 odd thing that `lodpipe profile " in told
    assert made["_label"] == "Schneed\u00e4cher"
    assert words == {"Dolen, Mira (?)", "14,0 x 19,4 cm"}
    assert "1872-02-14" in json.dumps(made["produced_by"])


MOST_SECONDS = 60
"""Of a core, for `start` and `run` together: what a first hour has patience for."""
CATALOGUES = [
    ("cmoa/objects-derived.csv", 4_800, {"undecided", "date"}),
    ("tate/objects.jsonl", 4_285, {"undecided", "date"}),
    ("edge/marc21/rb__batch.xml", 2, {"shape"}),
    ("edge/lido/LIDO-Extended-Example.xml", 3, {"undecided"}),
]


@pytest.mark.reference
@pytest.mark.parametrize(("file", "records", "codes"), CATALOGUES)
def test_files_that_nobody_prepared(
    reference: Path, tmp_path: Path, file: str, records: int, codes: set[str]
) -> None:
    """Open data (CC0; ruby-marc, MIT; LIDO's own example): `python -m bench.first_hour` times them."""
    done = attempt(reference / "data" / file, tmp_path / "line")
    told = {kind.split()[1] for kind in done.findings}

    assert (done.status, done.release, done.records) == (0, 1, records)
    assert done.documents > records
    assert codes <= told
    assert not [kind for kind in done.findings if kind.startswith("violation")]
    assert sum(done.cpu.values()) < MOST_SECONDS


def test_the_demo_as_a_project(tmp_path: Path) -> None:
    told = call("start", str(tmp_path / "demo"), "--demo")
    made = json.loads(call("start", str(tmp_path / "other"), "--demo", "--json"))

    assert f"  lodpipe run {tmp_path}/demo\n" in told
    assert (tmp_path / "demo/evidence/claims.csv").is_file()
    assert sorted(made["files"]) == sorted(
        path.relative_to(tmp_path / "demo").as_posix()
        for path in (tmp_path / "demo").rglob("*")
        if path.is_file()
    )
    assert not (tmp_path / "demo/drawing").exists()
    assert "is a project already" in call("start", str(tmp_path / "demo"), "--demo", status=2)


@pytest.mark.parametrize("more", [(), ("--demo", "--from", "items.csv")])
def test_a_project_begins_with_one_thing(tmp_path: Path, more: tuple[str, ...]) -> None:
    told = call("start", str(tmp_path / "line"), *more, status=2)

    assert told == (
        "error[usage]: a project begins with one thing: a catalogue file, or the demo\n"
        "  hint: add `--from FILE` with a catalogue of your own, or `--demo`\n"
    )
