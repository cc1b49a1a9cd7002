"""Names held against authority files: candidates for a person to decide, and what a yes becomes."""

import csv
import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from lodpipe.cli import main
from lodpipe.errors import UsageError
from lodpipe.suggest import Heading, Named, candidates, headings
from lodpipe.suggest.compare import plain

SAMPLE = Path(__file__).parent.parent / "sample"
NAMES = "https://names.example.org/"

PLAIN = [
    ("Dolen, Mira", "dolen mira"),
    ("D\u00f6len, Mira (1841\u20131902)", "dolen mira"),
    ("Mira Dolen, 1841-1902", "mira dolen"),
    ("Stra\u00dfe", "strasse"),
    ("[Vey]", ""),
    ("1872", ""),
]


@pytest.mark.parametrize(("name", "text"), PLAIN)
def test_names_as_they_are_compared(name: str, text: str) -> None:
    assert plain(name) == text


PAIRS = [
    # ours, with its life; theirs, with its life; how alike, why
    (("Mira Dolen", None, None), ("Dolen, Mira", None, None), (100.0, "the same name")),
    (("Mira Dolen", 1841, 1902), ("Dolen, Mira", 1841, 1903), (100.0, "the same name; born 1841; died 1903, here 1902")),
    (("Mira Dolen", 1841, None), ("Dolen, Mira", 1790, None), None),  # another life
    (("M. Dolen", None, None), ("Mira Dolen", None, None), (88.0, "the same but for initials")),
    (("Mira Dolen", None, None), ("Mira Dohlen", None, None), (95.2, "a name like it")),
    (("Mira Dolen", None, None), ("Bruno Esker", None, None), None),
    (("Dolen", None, None), ("M.", None, None), None),
]  # fmt: skip


@pytest.mark.parametrize(("ours", "theirs", "expected"), PAIRS)
def test_how_alike(
    ours: tuple[str, int | None, int | None],
    theirs: tuple[str, int | None, int | None],
    expected: tuple[float, str] | None,
) -> None:
    thing = Named("person/1", ours[0], (ours[0],), ours[1], ours[2])
    heading = Heading(NAMES + "1", (theirs[0],), "names.csv", theirs[1], theirs[2])
    found = [(one.score, one.why) for one in candidates([thing], [heading])]

    assert found == ([expected] if expected else [])


def test_the_likeliest_three_each_heading_once() -> None:
    names = ["Mira Dolen", "Mira Dohlen", "Mira Dolin", "Mirra Dolen", "Mira Doolen"]
    entries = [
        Heading(f"{NAMES}{n}", (name, "Mira Dolen x"), "a.csv") for n, name in enumerate(names)
    ]
    found = list(
        candidates([Named("person/1", "Mira Dolen", ("Mira Dolen", "Dolen, Mira"))], entries)
    )

    assert found[0].heading.uri == NAMES + "0"
    assert len(found) == 3 == len({one.heading.uri for one in found})


SKOS = """
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
<https://names.example.org/2> skos:prefLabel "Esker, Bruno"@en ; skos:altLabel "Bruno Esker" .
<https://names.example.org/1> skos:altLabel "Dolen" ; skos:prefLabel "Dolen, Mira" .
[] skos:prefLabel "nobody" .
"""
TABLE = 'uri,label,other,born,died\nhttps://names.example.org/1,"Dolen, Mira",M. Dolen; Dolen,1841,ca. 1902\n,no uri,,,\n'


def test_both_kinds_of_authority_files(tmp_path: Path) -> None:
    (tmp_path / "a.ttl").write_text(SKOS)
    (tmp_path / "a.csv").write_text(TABLE)

    assert headings(tmp_path / "a.ttl") == [
        Heading(NAMES + "1", ("Dolen, Mira", "Dolen"), "a.ttl"),
        Heading(NAMES + "2", ("Esker, Bruno", "Bruno Esker"), "a.ttl"),
    ]
    assert headings(tmp_path / "a.csv") == [
        Heading(NAMES + "1", ("Dolen, Mira", "M. Dolen", "Dolen"), "a.csv", 1841, 1902)
    ]


REFUSED = [
    ("a.csv", "uri,Label\nx,y\n", "`a.csv` has no column `label`"),
    ("a.csv", "uri,label\n", "`a.csv` names nothing"),
    ("a.ttl", "<x> <y> .", "`a.ttl` is broken: "),
    ("a.ttl", "", "`a.ttl` names nothing"),
    ("a.txt", "", "`a.txt` is no authority file that can be read"),
]


@pytest.mark.parametrize(("name", "text", "message"), REFUSED)
def test_authority_files_that_cannot_be_used(
    tmp_path: Path, name: str, text: str, message: str
) -> None:
    (tmp_path / name).write_text(text)
    with pytest.raises(UsageError) as raised:
        headings(tmp_path / name)

    assert raised.value.message.startswith(message)


# --- the command, from candidates to claims


def call(*arguments: str, status: int = 0) -> str:
    done = CliRunner().invoke(main, list(arguments))
    assert done.exit_code == status, done.output
    return done.stdout if status == 0 else done.stderr


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("suggest") / "sample"
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("archive", "export"))
    call("run", str(folder), "--no-export")
    (folder.parent / "names.ttl").write_text(SKOS)
    return folder


def rows(demo: Path) -> list[dict[str, str]]:
    with (demo / "suggestions.csv").open(newline="") as handle:
        return list(csv.DictReader(handle))


def test_from_candidates_to_claims(demo: Path) -> None:
    names = str(demo.parent / "names.ttl")
    told = json.loads(call("suggest", str(demo), "--against", names, "--kind", "person", "--json"))

    assert [(one["about"], one["candidate"]) for one in told["candidates"]] == [
        ("person/dolen", NAMES + "1"),
        ("person/esker", NAMES + "2"),
    ]
    # a second call has nothing new, and keeps what was decided
    decided = (
        (demo / "suggestions.csv")
        .read_text()
        .replace("the same name,names.ttl,", "the same name,names.ttl,yes", 1)
    )
    (demo / "suggestions.csv").write_text(decided)
    assert "0 new candidates" in call("suggest", str(demo), "--against", names, "--kind", "person")
    assert [row["decision"] for row in rows(demo)] == ["yes", ""]

    with (demo / "evidence/sources.csv").open(newline="") as handle:
        source = next(csv.DictReader(handle))["key"]
    accept = (
        "suggest",
        str(demo),
        "--accept",
        "--by",
        "tarrow",
        "--on",
        "2026-01-31",
        "--source",
        source,
    )
    (key,) = json.loads(call(*accept, "--json"))["claims"]
    with (demo / "evidence/claims.csv").open(newline="") as handle:
        (line,) = [row for row in csv.DictReader(handle) if row["claim"] == key]
    assert (line["about"], line["aspect"], line["value"]) == (
        "person/dolen",
        "same_as",
        NAMES + "1",
    )
    assert (line["by"], line["on"], line["sources"]) == ("tarrow", "2026-01-31", source)
    assert line["basis"] == "names.ttl has Dolen, Mira: the same name."
    # what was accepted is not claimed twice
    assert "0 claims added" in call(*accept)


WRONG = [
    (
        ("--kind", "engine", "--against", "names.ttl"),
        "`engine` is no kind of thing that has names here",
    ),
    ((), "nothing to hold the names against"),
    (("--accept",), "an accepted candidate needs who decided and a source"),
]


@pytest.mark.parametrize(("arguments", "message"), WRONG)
def test_wrong_use(demo: Path, arguments: tuple[str, ...], message: str) -> None:
    assert message in call("suggest", str(demo), *arguments, status=2)


def test_a_decision_that_is_none(demo: Path) -> None:
    (demo / "suggestions.csv").write_text(
        "about,label,candidate,candidate_label,score,why,file,decision\n"
        "person/dolen,Mira Dolen,https://names.example.org/9,x,100,y,z,maybe\n"
    )
    told = call("suggest", str(demo), "--accept", "--by", "tarrow", "--source", "x", status=2)

    assert "`maybe` is no decision" in told
    assert "suggestions.csv:2 [decision]" in told
