"""`lodpipe check` from the command line: statuses, gate, baseline, forms, and what it leaves alone."""

import csv
import hashlib
import io
import json
import shutil
from pathlib import Path
from typing import Any

import pytest
import rdflib
from click.testing import CliRunner, Result
from lxml import etree
from test_check_iiif import canvas, manifest
from test_pipeline import HEADER, MAPPING, PROJECT, ROWS

from lodpipe.cli import main

BASE = "https://collections.example.org/"
CONTEXT = "https://linked.art/ns/v1/linked-art.json"
CRM = "http://www.cidoc-crm.org/cidoc-crm/"
NOW = "2026-01-31T10:00:00Z"
LOSSES = '[check]\nmost_losses = "90 %"\n'
POLICY = "[dates]\nyear_month = true\n"


def call(*arguments: str | Path, status: int = 0) -> Result:
    done = CliRunner().invoke(main, [str(argument) for argument in arguments])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code == status, done.output
    return done


def check(*arguments: str | Path, status: int = 0) -> str:
    return call("check", *arguments, status=status).stdout


def report(*arguments: str | Path, status: int = 0) -> Any:
    return json.loads(check(*arguments, "--json", status=status))


def project(folder: Path, rows: list[str], *, more: str = "") -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "lodpipe.toml").write_text(PROJECT + LOSSES + POLICY + more, encoding="utf-8")
    (folder / "items.yaml").write_text(MAPPING, encoding="utf-8")
    (folder / "items.csv").write_text(HEADER + "".join(rows), encoding="utf-8")
    return folder


LEDGER = (
    "claim,about,aspect,value,qualifier,standing,by,on,basis\n"
    "c1,object/4,maker,person/dolen,attributed,current,group/library,2024,the stamp on the mount\n"
)


@pytest.fixture(scope="module")
def released(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small project that was run: one thing is stopped, one claim contradicts another."""
    folder = project(tmp_path_factory.mktemp("check") / "album", [*ROWS, "5,,1871,vey,,album\n"])
    (folder / "evidence").mkdir()
    (folder / "evidence/claims.csv").write_text(LEDGER, encoding="utf-8")
    call("run", folder, "--now", NOW, status=1)
    return folder


def thing(key: str, **more: Any) -> dict[str, Any]:
    return {
        "@context": CONTEXT,
        "id": f"{BASE}object/{key}",
        "type": "HumanMadeObject",
        "_label": "Snow shed",
        "identified_by": [
            {
                "type": "Name",
                "content": "Snow shed",
                "classified_as": [
                    {
                        "id": "http://vocab.getty.edu/aat/300404670",
                        "type": "Type",
                        "_label": "Primary Name",
                    }
                ],
            }
        ],
        **more,
    }


def turned(key: str) -> dict[str, Any]:
    """A thing whose making ends before it begins."""
    span = {
        "type": "TimeSpan",
        "begin_of_the_begin": "1875-01-01T00:00:00Z",
        "end_of_the_end": "1872-12-31T23:59:59Z",
    }
    return thing(key, produced_by={"type": "Production", "timespan": span})


def write(path: Path, value: Any) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(value), encoding="utf-8")
    return path


def shapes_of(told: Any) -> list[str]:
    return [one["shape"].removeprefix("urn:lodpipe:shape:") for one in told["results"]]


# --- statuses


def test_0_nothing_at_the_gate(tmp_path: Path) -> None:
    told = check(write(tmp_path / "1.json", thing("1")))

    assert "1.json: 1 document checked, " in told
    assert " violation" not in told


def test_1_a_violation(tmp_path: Path) -> None:
    told = check(write(tmp_path / "1.json", turned("1")), status=1)

    assert "the time span ends before it begins" in told
    assert "  --> 1.json [/produced_by/timespan]" in told


def test_1_a_warning_once_the_gate_is_there(tmp_path: Path) -> None:
    path = write(tmp_path / "1.json", manifest() | {"summary": {}})

    check(path)
    check(path, "--gate", "warning", status=1)


TWO = [
    # what is wrong, what is checked, message
    ("nothing there", "nowhere", "error[usage]: there is nothing at `nowhere`\n  hint: look at the path\n"),
    ("a picture", "picture.jpg", "error[usage]: `picture.jpg` holds nothing that can be checked\n"),
    ("an empty folder", "empty", "error[usage]: `empty` holds nothing that can be checked\n"),
    ("a catalogue", "items.csv", "error[usage]: `items.csv` is no file of evidence\n"),
    ("no archive", "other.sqlite", "error[usage]: the archive `other.sqlite` is damaged: file is not a database, or never was one\n"),
    ("a faulty project", "faulty", "error[usage]: what may be seen is not declared\n"),
    ("packed and cut off", "cut.nq.gz", "error[usage]: `cut.nq.gz` cannot be read: "),
]  # fmt: skip


@pytest.mark.parametrize(("what", "name", "message"), TWO, ids=[row[0] for row in TWO])
def test_2_what_cannot_be_checked(tmp_path: Path, what: str, name: str, message: str) -> None:
    for file in ("picture.jpg", "items.csv", "other.sqlite", "cut.nq.gz"):
        (tmp_path / file).write_bytes(b"\x1f\x8bnothing of this kind, and much too short")
    (tmp_path / "empty").mkdir()
    (tmp_path / "faulty").mkdir()
    (tmp_path / "faulty/lodpipe.toml").write_text(
        PROJECT.partition("[[source]]")[0], encoding="utf-8"
    )
    done = call("check", tmp_path / name, status=2)

    assert done.stderr.startswith(message)
    assert "Traceback" not in done.output
    assert done.stdout == ""


@pytest.mark.parametrize("text", ["{}", "no JSON", '{"results": [{"shape": "x"}]}', "[]"])
def test_2_a_baseline_that_is_no_report(tmp_path: Path, text: str) -> None:
    path = write(tmp_path / "1.json", thing("1"))
    (tmp_path / "old.json").write_text(text, encoding="utf-8")

    done = call("check", path, "--baseline", tmp_path / "old.json", status=2)

    assert done.stderr.startswith("error[usage]: `old.json` is not a report of ours\n")


def test_3_nothing_was_checked(tmp_path: Path) -> None:
    (tmp_path / "empty.nq").write_text("", encoding="utf-8")
    done = call("check", tmp_path / "empty.nq", status=3)

    assert done.stderr.startswith("error[empty]: nothing was checked: there is no document\n")


def test_3_a_ledger_of_which_no_line_is_read(tmp_path: Path) -> None:
    (tmp_path / "claims.csv").write_text("who,what\nvey,1\n", encoding="utf-8")
    messages = {one["message"] for one in report(tmp_path / "claims.csv", status=3)["results"]}

    assert "the column `claim` is missing, so the file is not used" in messages
    assert "nothing was checked" in check(tmp_path / "claims.csv", status=3)


# --- projects, archives, exports, ledgers


def test_a_project_tells_what_its_run_told(released: Path) -> None:
    told = report(released, status=1)
    run = [
        json.loads(line)
        for line in (released / "archive/report.jsonl").read_text(encoding="utf-8").splitlines()
    ]
    (worst,) = [one for one in told["results"] if one["severity"] == "violation"]
    (same,) = [one for one in run if one["severity"] == "violation"]

    assert (worst["document"], worst["shape"]) == (f"{BASE}object/5", same["shape"])
    assert worst["message"] == same["message"]
    # cells, and the line of the mapping that reads them
    (first,) = worst["places"]
    assert (first["file"], first["line"], first["column"]) == ("items.csv", 7, "No")
    assert first["mapping"] == "items.yaml:5"
    assert same["place"] == "items.csv:7 (record 6) [No]"


@pytest.mark.parametrize("name", ["lodpipe.toml", "archive", "archive/archive.sqlite"])
def test_a_project_has_several_names(released: Path, name: str) -> None:
    one, other = report(released, status=1), report(released / name, status=1)

    assert one | {"title": ""} == other | {"title": ""}


def test_a_project_checked_from_within_has_its_name(
    released: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(released)

    assert report(Path(), status=1)["title"] == released.name


def test_an_archive_alone_says_the_same_but_for_the_mapping(released: Path, tmp_path: Path) -> None:
    shutil.copy(released / "archive/archive.sqlite", tmp_path / "lone.sqlite")
    at_home, alone = report(released, status=1), report(tmp_path / "lone.sqlite", status=1)
    for told in (at_home, alone):
        told["title"] = ""
        for one in told["results"]:
            for place in one["places"]:
                place["mapping"] = ""

    assert at_home == alone


def test_an_export_is_checked_once_in_all_its_forms(released: Path) -> None:
    told = report(released / "export")
    single = report(released / "export/linked-art")
    packed = report(released / "export/nquads.nq.zst")

    assert told["documents"] == single["documents"] + packed["documents"]
    assert sorted(shapes_of(told)) == sorted(shapes_of(single)) == sorted(shapes_of(packed))
    assert {place["file"][:11] for one in told["results"] for place in one["places"]} == {
        "linked-art/"
    }


def test_a_ledger_in_its_project_is_looked_up(released: Path, tmp_path: Path) -> None:
    folder = tmp_path / "album"
    shutil.copytree(released, folder)
    line = "c2,object/99,maker,person/dolen,,current,group/library,2024,the stamp\n"
    (folder / "evidence/claims.csv").write_text(LEDGER + line, encoding="utf-8")
    (folder / "evidence/people.csv").write_text(
        "key,name,born,died\nperson/dolen,Mira Dolen,1890,1841\n", encoding="utf-8"
    )
    whole = report(folder / "evidence", status=1)
    (told,) = report(folder / "evidence/claims.csv", status=1)["results"]

    assert (told["shape"], told["value"]) == ("unknown-key", "object/99")
    assert [(p["file"], p["line"], p["column"]) for p in told["places"]] == [
        ("evidence/claims.csv", 3, "about")
    ]
    assert {one["places"][0]["file"] for one in whole["results"]} == {
        "evidence/claims.csv",
        "evidence/people.csv",
    }
    assert whole["lines"] == 3


def test_a_ledger_by_itself_is_read_and_not_looked_up(tmp_path: Path) -> None:
    text = LEDGER + "c2,object/4,makre,person/dolen,,current,group/library,2024,the stamp\n"
    (tmp_path / "claims.csv").write_text(text, encoding="utf-8")
    told = report(tmp_path / "claims.csv", status=1)

    assert shapes_of(told) == ["unknown-word", "no-project"]
    assert told["results"][0]["message"].startswith("`makre` ")
    assert (told["documents"], told["lines"]) == (0, 2)


def test_manifests_are_checked_by_their_own_rules(tmp_path: Path) -> None:
    broken = manifest()
    broken["items"][0]["annotations"][0]["items"][0]["target"]["selector"]["value"] = (
        "xywh=0,0,1,9999"
    )
    write(tmp_path / "iiif/one.json", broken)
    write(tmp_path / "iiif/two.json", manifest())
    write(tmp_path / "iiif/info.json", {"@context": "http://iiif.io/api/image/3/context.json"})
    write(
        tmp_path / "iiif/old.json", {"@context": "http://iiif.io/api/presentation/2/context.json"}
    )
    write(tmp_path / "linked-art/1.json", thing("1"))
    told = report(tmp_path, status=1)
    first = told["results"][0]

    assert told["documents"] == 3
    assert first["rule"] == "https://iiif.io/api/presentation/3.0/#53-canvas"
    assert first["pointer"] == "/items/0/annotations/0/items/0"
    assert first["places"][0]["file"] == "iiif/one.json"
    assert shapes_of(told)[1:].count("no-rules") == 2
    names = {one["shape"] for one in told["shapes"] if one["nodes"]}
    assert {"urn:lodpipe:shape:iiif-part", "urn:lodpipe:shape:object"} <= names


def test_only_rules_that_could_meet_something_are_counted(tmp_path: Path) -> None:
    told = report(write(tmp_path / "one.json", canvas() | {"@context": manifest()["@context"]}))

    assert {one["shape"][:23] for one in told["shapes"]} == {"urn:lodpipe:shape:iiif-"}


def test_shapes_of_ones_own(tmp_path: Path) -> None:
    shape = tmp_path / "own.ttl"
    shape.write_text(
        f"@prefix sh: <http://www.w3.org/ns/shacl#> .\n<urn:own> a sh:NodeShape ;\n"
        f"sh:targetClass <{CRM}E22_Human-Made_Object> ;\n"
        f"sh:property [ sh:path <{CRM}P52_has_current_owner> ; sh:minCount 1 ;\n"
        'sh:message "nobody owns it" ] .\n',
        encoding="utf-8",
    )
    told = check(write(tmp_path / "1.json", thing("1")), "--shapes", shape, status=1)

    assert "nobody owns it" in told
    assert "1 shape met 1 node" in told


# --- baseline


def test_a_baseline_leaves_what_is_new(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    write(folder / "1.json", turned("1"))
    (tmp_path / "old.json").write_text(check(folder, "--json", status=1), encoding="utf-8")
    again = check(folder, "--baseline", tmp_path / "old.json")
    write(folder / "2.json", turned("2"))
    told = report(folder, "--baseline", tmp_path / "old.json", status=1)

    assert "nothing was found" in again
    assert {one["document"] for one in told["results"]} == {f"{BASE}object/2"}


def test_a_row_that_moved_is_not_new(released: Path, tmp_path: Path) -> None:
    folder = tmp_path / "album"
    shutil.copytree(released, folder)
    old = tmp_path / "old.json"
    old.write_text(check(folder, "--json", status=1), encoding="utf-8")
    rows = [*ROWS, "5,,1871,vey,,album\n"]
    (folder / "items.csv").write_text(HEADER + "".join(rows[::-1]), encoding="utf-8")
    call("run", folder, "--now", NOW, status=1)

    moved = report(folder, status=1)["results"]
    assert [one["places"] for one in moved] != [
        one["places"] for one in json.loads(old.read_bytes())["results"]
    ]
    assert report(folder, "--baseline", old)["results"] == []


# --- forms


def test_every_form_is_written_and_names_what_it_is_of(tmp_path: Path) -> None:
    data = tmp_path / "data"
    write(data / "1.json", turned("1"))
    write(data / "2.json", manifest() | {"rights": "free"})
    forms = {name: tmp_path / f"report.{name}" for name in ("html", "csv", "junit", "turtle")}
    options = [part for name, path in forms.items() for part in (f"--{name}", path)]
    first = check(data, *options, "--json", status=1)
    made = {name: path.read_bytes() for name, path in forms.items()}
    second = check(data, *options, "--json", status=1)
    told = json.loads(first)

    assert first == second
    assert {name: path.read_bytes() for name, path in forms.items()} == made
    for body in (first.encode(), *made.values()):
        for text in (told["tool"], told["data_sha256"], told["shapes_sha256"]):
            assert text.encode() in body
    rows = list(csv.DictReader(io.StringIO(made["csv"].decode("utf-8-sig"))))
    assert len(rows) == len(told["results"])
    assert int(etree.fromstring(made["junit"]).get("failures")) == 2
    graph = rdflib.Graph().parse(data=made["turtle"].decode(), format="turtle")
    assert len(list(graph.subjects(rdflib.RDF.type, rdflib.SH.ValidationResult))) == len(rows)


def test_other_data_has_another_hash(tmp_path: Path) -> None:
    one = report(write(tmp_path / "1.json", thing("1")))
    other = report(write(tmp_path / "1.json", thing("1", _label="Snow sheds")))

    assert one["data_sha256"] != other["data_sha256"]
    assert one["shapes_sha256"] == other["shapes_sha256"]


def test_two_thousand_equal_errors_fit_on_a_screen(tmp_path: Path) -> None:
    lines = [
        f"<{BASE}person/{number}> {predicate} <{BASE}person/{number}> .\n"
        for number in range(2000)
        for predicate in (
            f"<http://www.w3.org/1999/02/22-rdf-syntax-ns#type> <{CRM}E21_Person>",
            '<http://www.w3.org/2000/01/rdf-schema#label> "Vey"',
            f"<{CRM}P98i_was_born> <{BASE}person/{number}#birth>",
        )
    ]
    (tmp_path / "people.nq").write_text("".join(lines), encoding="utf-8")
    told = check(tmp_path / "people.nq", status=1)

    assert "people.nq: 2,000 documents checked" in told
    assert "2,000 x violation" in told
    assert len(told.splitlines()) < 40


# --- it only looks


def state_of(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.mark.parametrize("engine", ["compiled", "referee"])
def test_a_check_changes_nothing(released: Path, engine: str) -> None:
    before = state_of(released)
    assert rdflib.NORMALIZE_LITERALS
    for path in (released, released / "archive", released / "evidence", released / "export"):
        CliRunner().invoke(main, ["check", str(path), "--engine", engine])

    assert state_of(released) == before
    assert rdflib.NORMALIZE_LITERALS


def test_both_engines_say_the_same(released: Path) -> None:
    one, other = report(released, status=1), report(released, "--engine", "referee", status=1)

    assert one["results"] == other["results"]
