"""Documents of a release held against one another: small projects, each with and without the fault."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from test_cli_check import call, report
from test_pipeline import PROJECT

from lodpipe.archive import Archive
from lodpipe.pipeline.cross import cross_findings

BASE = "https://collections.example.org/"
NOW = "2026-01-31T10:00:00Z"
MAPPING = """
reads:
  key: no
  fields:
    no: No
    title: Title
    accession: Accession
    made: {from: Date, as: date}
    maker: Maker
    on: Page
makes:
  - id: "object/{no}"
    type: HumanMadeObject
    _label: "Item {no}"
    identified_by:
      - {type: Name, content: "{title}", classified_as: {term: primary-name}}
      - {type: Identifier, content: "{accession}", classified_as: {term: accession-number}}
    part_of: {ref: "object/{on}", type: HumanMadeObject}
    produced_by:
      type: Production
      part:
        - role: exposure
          type: Production
          timespan: {timespan: made}
          carried_out_by: [{ref: "person/{maker}", type: Person}]
  - id: "person/{maker}"
    type: Person
    _label: "{maker}"
    identified_by:
      - {type: Name, content: "{maker}", classified_as: {term: primary-name}}
"""
HEADER = "No,Title,Accession,Date,Maker,Page\n"
ALBUM = "album,Album of the Sorn Railway,HRL 1,from 1873 to 1876,vey,\n"
FIRST = "1,Summit cutting,HRL 2,1872,dolen,album\n"
SECOND = "2,Snow shed,HRL 3,1873,dolen,album\n"
LAYOUT = "thing,on,order\nobject/1,object/album,1\nobject/2,object/album,2\n"
CLAIMS = (
    "claim,about,aspect,value,standing,by,on,basis\n"
    "c1,object/1,maker,person/dolen,current,group/library,2024,the stamp on the mount\n"
)
PEOPLE = "key,name,born,died\nperson/dolen,Mira Dolen,{born},1901\n"


def project(folder: Path, rows: list[str], evidence: dict[str, str] | None = None) -> Path:
    (folder / "lodpipe.toml").write_text(
        PROJECT + '[check]\nmost_losses = "90 %"\n', encoding="utf-8"
    )
    (folder / "items.yaml").write_text(MAPPING, encoding="utf-8")
    (folder / "items.csv").write_text(HEADER + "".join(rows), encoding="utf-8")
    for name, text in (evidence or {}).items():
        (folder / "evidence").mkdir(exist_ok=True)
        (folder / "evidence" / f"{name}.csv").write_text(text, encoding="utf-8")
    return folder


def found(folder: Path, status: int = 0, *, run: int = 0) -> list[tuple[Any, ...]]:
    """Run a project, and return what the check tells."""
    call("run", folder, "--now", NOW, "--no-export", status=run)
    return told_of(folder, status)


def told_of(folder: Path, status: int = 0) -> list[tuple[Any, ...]]:
    """What holds between documents: code, message, document, cell."""
    kept = {"dangling", "number-twice", "outside-whole", "page-order", "contradicted"}
    return [
        (
            one["shape"],
            one["message"],
            one["document"].removeprefix(BASE),
            *((p["file"], p["line"], p["column"]) for p in one["places"][:1]),
        )
        for one in report(folder, status=status)["results"]
        if one["shape"] in kept | {"claim-homeless"}
    ]


def change(folder: Path, query: str, value: object) -> tuple[Any, ...]:
    """Do to an archive what a run never does."""
    with closing(sqlite3.connect(folder / "archive/archive.sqlite")) as db:
        row: tuple[Any, ...] = db.execute(query, (value,)).fetchone() or ()
        db.commit()
        return row


WHOLE = [ALBUM, FIRST, SECOND]


def test_a_clean_release(tmp_path: Path) -> None:
    evidence = {"layout": LAYOUT, "claims": CLAIMS, "people": PEOPLE.format(born="1841")}

    assert found(project(tmp_path, WHOLE, evidence)) == []


def test_a_link_to_what_was_stopped(tmp_path: Path) -> None:
    folder = project(tmp_path, [ALBUM, FIRST])
    own = folder / "own.ttl"
    own.write_text(
        "@prefix sh: <http://www.w3.org/ns/shacl#> .\n"
        "<urn:own> a sh:NodeShape ; sh:targetClass <urn:lodpipe:record:Person> ;\n"
        "sh:property [ sh:path <http://www.w3.org/2000/01/rdf-schema#label> ;\n"
        'sh:pattern "vey" ; sh:message "not this one" ] .\n',
        encoding="utf-8",
    )
    toml = (folder / "lodpipe.toml").read_text(encoding="utf-8")
    (folder / "lodpipe.toml").write_text(toml + 'shapes = ["own.ttl"]\n', encoding="utf-8")

    assert found(folder, status=1, run=1) == [
        (
            "dangling",
            "`person/dolen` is stopped at the gate",
            "object/1",
            ("items.csv", 3, "Maker"),
        )
    ]


def test_a_link_to_what_the_archive_does_not_hold(tmp_path: Path) -> None:
    """A run takes such links out; an archive from elsewhere may hold one all the same."""
    folder = project(tmp_path, [ALBUM, FIRST])
    assert found(folder) == []
    change(folder, "DELETE FROM documents WHERE uri = ?", f"{BASE}person/dolen")

    assert told_of(folder)[0] == (
        "dangling",
        "`person/dolen` is linked to and not published",
        "object/1",
        ("items.csv", 3, "Maker"),
    )


def test_one_accession_number_on_two_things(tmp_path: Path) -> None:
    assert found(project(tmp_path, [ALBUM, FIRST, SECOND.replace("HRL 3", "HRL 2")])) == [
        (
            "number-twice",
            f"the accession number `HRL 2` is also that of `{BASE}object/1`",
            "object/2",
            ("items.csv", 4, "Accession"),
        )
    ]


DATES = [
    # date of the part, whether it is told
    ("1876", False),
    ("1877", True),
    ("about 1878", False),
    ("1875/1880", False),
    ("after 1890", True),
    ("", False),
]


@pytest.mark.parametrize(("date", "told"), DATES)
def test_a_part_younger_than_its_whole(tmp_path: Path, date: str, told: bool) -> None:
    rows = [ALBUM, FIRST.replace("1872", date)]
    codes = found(project(tmp_path, rows))

    assert [code for code, *_ in codes] == (["outside-whole"] if told else [])
    if date == "1877":
        assert codes[0][1:] == (
            f"made from 1877-01-01 on, after `{BASE}object/album` was finished on 1876-12-31",
            "object/1",
            ("items.csv", 3, "Date"),
        )


ORDERS = [
    ((1, 2), []),
    ((2, 3), []),
    ((1, 1), ["in the order of its pages 1 stands twice"]),
    ((1, 4), ["in the order of its pages 2, 3 is missing"]),
]


@pytest.mark.parametrize(("orders", "messages"), ORDERS)
def test_pages_out_of_order(tmp_path: Path, orders: tuple[int, int], messages: list[str]) -> None:
    layout = "thing,on,order\n" + "".join(
        f"object/{number},object/album,{order}\n" for number, order in enumerate(orders, 1)
    )
    images = "thing,file\n"
    told = found(project(tmp_path, WHOLE, {"layout": layout, "images": images}))

    assert [message for _, message, *_ in told] == messages
    assert {uri for _, _, uri, *_ in told} <= {"object/album"}


def test_a_current_claim_that_cannot_hold(tmp_path: Path) -> None:
    """The maker was born after the picture was taken."""
    dated = CLAIMS + "c2,object/1,date,1872,current,group/library,2024,written on the mount\n"
    evidence = {"claims": dated, "people": PEOPLE.format(born="1880")}
    told = found(project(tmp_path, [ALBUM, FIRST], evidence), status=1, run=1)

    assert [(code, uri, place) for code, _, uri, place in told] == [
        ("contradicted", "object/1", ("evidence/claims.csv", line, "")) for line in (2, 3)
    ]


def test_a_claim_of_an_earlier_release_that_cannot_hold(tmp_path: Path) -> None:
    """Told by the check, where no run has told it."""
    folder = project(tmp_path, WHOLE, {"claims": CLAIMS, "people": PEOPLE.format(born="1841")})
    assert found(folder) == []
    verdict = json.dumps({"verdict": "contradicted"}).encode()
    change(folder, "UPDATE claims SET verdict = ? WHERE key = 'c1'", verdict)

    assert told_of(folder) == [
        (
            "contradicted",
            "the claim `c1` cannot hold; `lodpipe weigh` says why",
            "object/1",
            ("evidence/claims.csv", 2, ""),
        )
    ]


def test_a_claim_about_what_is_not_there(tmp_path: Path) -> None:
    """A run never releases one; an archive from elsewhere may hold it all the same."""
    folder = project(tmp_path, WHOLE, {"claims": CLAIMS, "people": PEOPLE.format(born="1841")})
    assert found(folder) == []
    path = folder / "archive/archive.sqlite"
    (line,) = change(folder, "SELECT line FROM claims WHERE key = ?", "c1")
    claim = {**json.loads(line), "about": f"{BASE}object/99"}
    change(folder, "UPDATE claims SET line = ? WHERE key = 'c1'", json.dumps(claim).encode())
    with Archive(path) as archive:
        (finding,) = cross_findings(archive, 1, BASE)

    assert (finding.code, finding.value) == ("claim-homeless", f"{BASE}object/99")
    assert finding.message == "the claim `c1` is about something that is not published"
    assert str(finding.place) == "evidence/claims.csv:2 (record 1)"
