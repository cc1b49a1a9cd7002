"""The evidence folder: what each row gives, what is said of a faulty one, and how lines settle."""

import struct
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from lodpipe import evidence, project, terms
from lodpipe.aspects import builtin_aspects
from lodpipe.errors import UsageError
from lodpipe.evidence.columns import FILES
from lodpipe.evidence.facts import Evidence
from lodpipe.evidence.keys import ANY, BEINGS, OBJECTS, PLACES, KeyFault, Keys
from lodpipe.evidence.ledger import compare
from lodpipe.evidence.read_facts import circles
from lodpipe.findings import CODES, Finding
from lodpipe.project import Limits
from lodpipe.records import Claim, Entry, Image, Layout, LayoutRow, Placed, Stop

BASE = "https://collections.example.org/"
ASPECTS = builtin_aspects()
QUALIFIERS = terms.read_table(
    "qualifiers", project.builtin("mappings") / "vocab" / "qualifiers.csv"
)
PEOPLE = (
    "key,name,kind\ndolen,Mira Dolen,person\nkorvath,Anselm Korvath,person\ntarrow,Ines Tarrow,\n"
)
PLACES_CSV = "key,name,within\nsorn-pass,Sorn Pass,highlands\nhighlands,Ilvaran Highlands,\n"
SOURCES = "key,citation\ndiary-3,Diary of Jonas Vey\npay-book,Pay book\n"


class Case:
    """An evidence folder made of texts, read and resolved."""

    def __init__(
        self, folder: Path, files: dict[str, str], entries: tuple[Entry, ...] = ()
    ) -> None:
        for name, text in files.items():
            (folder / (name if "." in name else f"{name}.csv")).write_text(text)
        self.findings: list[Finding] = []
        report = self.findings.append
        self.loaded = evidence.load(
            folder,
            "evidence",
            aspects=ASPECTS,
            qualifiers=QUALIFIERS,
            limits=Limits(),
            report=report,
        )
        self.concepts = terms.concepts()
        self.resolved = evidence.resolve(
            self.loaded.evidence, BASE, lambda: entries, self.concepts, ASPECTS, report,
            declare=not entries,
        )  # fmt: skip

    @property
    def said(self) -> list[tuple[str, str, str, str]]:
        """Code, place, message and hint of each finding."""
        return [(f.code, str(f.place), f.message, f.hint) for f in self.findings]


def ledger(*lines: str) -> str:
    header = "claim,about,aspect,role,value,value_text,part,qualifier,standing,by,on,basis,sources,replaces,alternative_to"
    return "\n".join([header, *lines]) + "\n"


FULL = {"people": PEOPLE, "places": PLACES_CSV, "sources": SOURCES}


def test_a_line_of_the_ledger(tmp_path: Path) -> None:
    line = (
        "c1,item-0101,Maker,Photographer,dolen,,,Attributed To,,tarrow,2024-03-11,The shed stands,"
        '"diary-3, fol. 88; w1; pay-book",,'
    )
    whereabouts = "key,who,place,when,sources\nw1,dolen,sorn-pass,1872-02-03,diary-3\n"
    case = Case(tmp_path, {**FULL, "claims": ledger(line), "whereabouts": whereabouts})

    assert case.said == []
    (claim,) = case.resolved.claims
    assert claim == Claim(
        key="c1", about=BASE + "object/item-0101", aspect="maker", value=BASE + "person/dolen",
        role="photographer", qualifier="attributed-to", by=BASE + "person/tarrow", on="2024-03-11",
        basis="The shed stands", sources=(BASE + "text/diary-3", BASE + "text/pay-book"),
        locators=(", fol. 88",), premises=("w1",), place=claim.place,
    )  # fmt: skip
    assert str(claim.place) == "evidence/claims.csv:2 (record 1)"


def test_the_qualifier_brings_standing_and_role(tmp_path: Path) -> None:
    case = Case(tmp_path, {**FULL, "claims": ledger(
        "c1,i,maker,,korvath,,,formerly attributed to,,tarrow,,b,,,",
        "c2,i,maker,,korvath,,,possible photographer,rejected,tarrow,,b,,,",
    )})  # fmt: skip

    assert [(c.qualifier, c.standing, c.role) for c in case.resolved.claims] == [
        ("attributed-to", "former", ""), ("possibly", "rejected", "photographer"),
    ]  # fmt: skip


ROLES = [
    ("photographr", ["did you mean `photographer` or `lithographer`?"]),
    ("Printr", ["did you mean `printer` or `painter`?"]),
    ("gilder", [
        "one of `photographer`, `artist`, `maker`, `draughtsman`, `painter`, `lithographer`, "
        "`engraver`, `compiler`, `printer`, `publisher`, `mounter`, `captioner`"
    ]),
    ("Printer", []),
    ("architect", []),  # the table of qualifiers has it: `possible architects`
]  # fmt: skip


@pytest.mark.parametrize(("role", "hints"), ROLES)
def test_a_role_that_nobody_knows_is_kept_in_words_and_told(
    tmp_path: Path, role: str, hints: list[str]
) -> None:
    line = f"c1,i,maker,{role},dolen,,,probably,,tarrow,,b,,,"
    case = Case(tmp_path, {**FULL, "claims": ledger(line)})

    message = f"`{role}` is not a role; it is kept in words, and the maker stands where the thing was made"
    place = "evidence/claims.csv:2 (record 1) [role]"
    assert case.said == [("unknown-word", place, message, hint) for hint in hints]
    assert [f.severity for f in case.findings] == ["warning"] * len(hints)
    assert [c.role for c in case.resolved.claims] == [role.lower()]


def test_words_stand_in_value_text(tmp_path: Path) -> None:
    case = Case(tmp_path, {**FULL, "claims": ledger(
        "c1,i,title,,The Great Fall,,,,,tarrow,,,,,", "c2,i,maker,,,a Teveli guide,,,,tarrow,,b,,,"
    )})  # fmt: skip

    assert [(c.value, c.value_text) for c in case.resolved.claims] == [
        ("", "The Great Fall"), ("", "a Teveli guide"),
    ]  # fmt: skip


LEDGER_FAULTS = [
    # line, code, column, message, hint
    (",i,date,,1872,,,,,tarrow,,b,,,", "ledger", "claim", "the row has no `claim`", "fill it in, or take the row out"),
    ("c1,,date,,1872,,,,,tarrow,,b,,,", "ledger", "about", "the row has no `about`", "fill it in, or take the row out"),
    ("c1,i,,,1872,,,,,tarrow,,b,,,", "ledger", "aspect", "the row has no `aspect`", "fill it in, or take the row out"),
    ("c1,i,date,,1872,,,,,,,b,,,", "ledger", "by", "the row has no `by`", "fill it in, or take the row out"),
    ("c1,i,dat,,1872,,,,,tarrow,,b,,,", "unknown-word", "aspect", "`dat` is not a word for `aspect`",
     "did you mean `date`?"),
    ("c1,i,date,,1872,,,,curent,tarrow,,b,,,", "unknown-word", "standing",
     "`curent` is not a word for `standing`", "did you mean `current`?"),
    ("c1,i,maker,,dolen,,,probabl,,tarrow,,b,,,", "unknown-word", "qualifier",
     "`probabl` is not a qualifier", "did you mean `probably` or `probably by` or `probably made by`?"),
    ("c1,i,maker,,dolen,,,in the taste of,,tarrow,,b,,,", "unknown-word", "qualifier",
     "`in the taste of` is not a qualifier", "did you mean `in the style of` or `in the manner of`?"),
    ("c1,i,maker,,dolen,,,and a pupil,,tarrow,,b,,,", "unknown-word", "qualifier",
     "`and a pupil` means 2 claims", "write a line for each of them"),
    ("c1,i,date,,May 1871,,,,,tarrow,,b,,,", "ledger", "value", "`May 1871` is not an EDTF date",
     "write `1871-05` if that is what it means"),
    ("c1,i,date,,1872-02-30,,,,,tarrow,,b,,,", "ledger", "value", None, None),
    ("c1,i,date,,1872,,,,,tarrow,soon,b,,,", "ledger", "on", "`soon` is not an EDTF date",
     "write it in EDTF, such as `1871-05-20`, `1872-02`, `1873/1876`, `1868~`"),
    ("c1,i,place,,,,,,,tarrow,,b,,,", "ledger", "value",
     "the line has neither `value` nor `value_text`", CODES["ledger"].cure),
    ("c1,i,date,,1872,,,,,tarrow,,,,,", "no-grounds", "basis",
     "the claim `c1` says neither on what grounds nor from which source", "fill in `basis` or `sources`"),
    ("c1,i,date_mounted,,1872,,,,,tarrow,,,,,", "no-grounds", "basis",
     "the claim `c1` says neither on what grounds nor from which source", "fill in `basis` or `sources`"),
    ("c1,i,sitter,,dolen,,,,,tarrow,,,,,", "no-grounds", "basis",
     "the claim `c1` says neither on what grounds nor from which source", "fill in `basis` or `sources`"),
    ("c1,i,maker,,dolan,,,,,tarrow,,b,,,", "unknown-key", "value", "no document has the key `dolan`",
     "did you mean `dolen`?"),
    ("c1,i,maker,,sorn-pass,,,,,tarrow,,b,,,", "unknown-key", "value",
     "`sorn-pass` is a Place, and this column takes Group or Person", CODES["unknown-key"].cure),
    ("c1,i,place,,sorn-pas,,,,,tarrow,,b,,,", "unknown-key", "value",
     "no document has the key `sorn-pas`", "did you mean `sorn-pass`?"),
    ("c1,i,maker,,dolen,,,,,tarow,,b,,,", "unknown-key", "by", "no document has the key `tarow`",
     "did you mean `tarrow`?"),
    ("c1,i,maker,,dolen,,,,,tarrow,,b,diary-33,,", "unknown-key", "sources",
     "no document has the key `diary-33`", "did you mean `diary-3`?"),
    ("c1,i,same_as,,a b:c d,,,,,tarrow,,,,,", "iri", "value", None, None),
]  # fmt: skip


@pytest.mark.parametrize(("line", "code", "column", "message", "hint"), LEDGER_FAULTS)
def test_a_faulty_line_is_not_used(
    tmp_path: Path, line: str, code: str, column: str, message: str | None, hint: str | None
) -> None:
    good = "c0,i,date,,1872,,,,,tarrow,,b,,,"
    case = Case(tmp_path, {**FULL, "claims": ledger(good, line)})

    assert [c.key for c in case.resolved.claims] == ["c0"]
    (said,) = case.said
    assert said[:2] == (code, f"evidence/claims.csv:3 (record 2) [{column}]")
    assert said[2:] == (
        message if message is not None else said[2],
        hint if hint is not None else said[3],
    )


def test_a_key_used_twice(tmp_path: Path) -> None:
    line = "c1,i,date,,1872,,,,,tarrow,,b,,,"
    case = Case(tmp_path, {**FULL, "claims": ledger(line, line)})

    assert len(case.resolved.claims) == 1
    assert case.said == [
        ("ledger", "evidence/claims.csv:3 (record 2) [claim]",
         "the claim `c1` stands in an earlier line, evidence/claims.csv:2 (record 1)",
         "a new view of a claim is a new line with a key of its own and `replaces`"),
    ]  # fmt: skip


def test_all_faults_in_one_run(tmp_path: Path) -> None:
    case = Case(tmp_path, {**FULL, "claims": ledger(
        "c1,i,dat,,x,,,probabl,curent,nobody,soon,,nowhere,,", "c2,i,date,,x,,,,,tarrow,,b,,,"
    ), "whereabouts": "who,place,when\ndolan,sorn-pass,in May\n"})  # fmt: skip

    assert [(code, place.partition("[")[2][:-1]) for code, place, _, _ in case.said] == [
        ("fact", "when"), ("unknown-word", "aspect"), ("unknown-word", "qualifier"),
        ("unknown-word", "standing"), ("ledger", "on"), ("ledger", "value"),
    ]  # fmt: skip


# --- how lines settle ---------------------------------------------------------------------


def line(key: str, **more: Any) -> Claim:
    start: dict[str, Any] = {"about": BASE + "object/i", "aspect": "maker", "value": "v" + key}
    return Claim(key=key, **{**start, **more})


def settled(*lines: Claim) -> tuple[dict[str, str], list[str]]:
    found: list[Finding] = []
    after = evidence.settle(lines, ASPECTS, found.append)
    return {c.key: c.effective for c in after}, [f.message for f in found]


LIVES = [
    # lines (key, standing, replaces), effective standings
    ([("a", "current", "")], "current"),
    ([("a", "current", ""), ("b", "current", "a")], "former current"),
    ([("a", "current", ""), ("b", "rejected", "a")], "rejected rejected"),
    ([("a", "proposed", ""), ("b", "current", "a"), ("c", "former", "b")], "former former former"),
    ([("a", "current", ""), ("b", "rejected", "a"), ("c", "current", "b")], "former former current"),
    ([("a", "current", ""), ("b", "current", "a"), ("c", "rejected", "b")], "former rejected rejected"),
    ([("b", "rejected", "a"), ("a", "current", "")], "rejected rejected"),
]  # fmt: skip


@pytest.mark.parametrize(("lines", "standings"), LIVES)
def test_the_life_of_a_line(lines: list[tuple[str, str, str]], standings: str) -> None:
    got, said = settled(
        *(line(key, standing=standing, replaces=old) for key, standing, old in lines)
    )

    assert " ".join(got.values()) == standings
    assert said == []


SETTLE_FAULTS = [
    ([line("a", replaces="a")], ["the line `a` replaces itself"], "current"),
    ([line("a", replaces="b"), line("b", replaces="a")],
     ["the line `b` replaces itself, by way of `a`"], "current former"),
    ([line("a"), line("b", replaces="a"), line("c", replaces="a")],
     ["`c` and `b` both replace `a`"], "former current current"),
    ([line("a", replaces="x")], ["the line `x` that `a` replaces is not there"], "current"),
    ([line("a", alternative_to="x")],
     ["the line `x` that `a` is an alternative to is not there"], "current"),
    ([line("a", aspect="date", value="1872"), line("b", aspect="date", value="1873")],
     ["`b` and `a` are both current and certain, and a thing has one `date` only"], "current current"),
    ([line("a", aspect="date", value="1872"), line("b", aspect="date", value="1872")], [], "current current"),
    ([line("a", aspect="date", value="1872"), line("b", aspect="date", value="1873", part="left")],
     [], "current current"),
    ([line("a", aspect="date", value="1872"), line("b", aspect="date", value="1873", qualifier="probably")],
     [], "current current"),
    ([line("a", aspect="date", value="1872"), line("b", aspect="date", value="1873", alternative_to="a")],
     [], "current current"),
    ([line("a", aspect="date", value="1872"), line("b", aspect="date", value="1873", replaces="a")],
     [], "former current"),
    ([line("a"), line("b")], [], "current current"),
]  # fmt: skip


@pytest.mark.parametrize(("lines", "messages", "standings"), SETTLE_FAULTS)
def test_settling(lines: list[Claim], messages: list[str], standings: str) -> None:
    got, said = settled(*lines)

    assert said == messages
    assert " ".join(got.values()) == standings


def test_alternatives_lead_to_the_first_of_the_set() -> None:
    found: list[Finding] = []
    lines = evidence.settle(
        [
            line("a", alternative_to="a"), line("b", alternative_to="a"), line("c", alternative_to="b"),
            line("d", alternative_to="e"), line("e", alternative_to="d"), line("f"),
        ],
        ASPECTS, found.append,
    )  # fmt: skip
    sets = evidence.sets_of(lines)

    assert sets == {"a": "a", "b": "a", "c": "a", "d": "d", "e": "e"}
    assert [evidence.certain(c, sets) for c in lines] == [False] * 5 + [True]
    assert [f.message for f in found] == [
        "`d` is an alternative to itself, by way of `e`",
        "`e` is an alternative to itself, by way of `d`",
    ]


def test_a_published_line_may_not_change() -> None:
    old = [line("a", basis="x"), line("b", effective="former"), line("c"), line("m", mapped=True)]
    new = [line("a", basis="y"), line("b", effective="current")]
    found: list[Finding] = []
    compare(old, new, found.append)

    assert [(f.code, f.severity, f.message) for f in found] == [
        ("ledger", "violation", "`basis` of the published line `a` was changed"),
        ("ledger", "violation", "the published line `c` is no longer in the ledger"),
    ]


# --- facts --------------------------------------------------------------------------------

FACT_FAULTS = [
    # file, rows, column, message
    ("people", "key,name,born,died\nx,X,1880,1870\n", "died", "`X` died, 1870, before the birth, 1880"),
    ("people", "key,name,born,died\nx,X,1700,1870\n", "died",
     "`X` would have lived more than 125 years, from 1700 to 1870"),
    ("people", "key,name,kind\nx,X,firm\n", "kind", "`firm` is not a word for `kind`"),
    ("people", "key,name\nx,X\nx,Y\n", "key", "the key `x` stands in an earlier row, evidence/people.csv:2 (record 1)"),
    ("people", "key,name\nx,\n", "name", "the row has no `name`"),
    ("whereabouts", "who,place,when,presence\ndolen,sorn-pass,1872,not at\n", "sources",
     "`not at` needs a source: nothing follows from nobody having seen them"),
    ("whereabouts", "who,place,when,presence\ndolen,sorn-pass,1872,nearby\n", "presence",
     "`nearby` is not a word for `presence`"),
    ("whereabouts", "who,place,when\ndolen,sorn-pass,\n", "when", "the row has no `when`"),
    ("whereabouts", "who,place,when\ndolen,sorn,1872\n", "place", "no document has the key `sorn`"),
    ("membership", "who,party\ndolen,korvath\n", "party", "`korvath` is a Person, and this column takes Group"),
    ("places", "key,name,within\na,A,b\nb,B,a\n", "within", "the circle `a` in `b` in `a` cannot be"),
    ("places", "key,name,latitude,longitude\na,A,91,0\n", "latitude", "`91` is not a number from -90 to 90"),
    ("places", "key,name,latitude,longitude\na,A,45,\n", "latitude", "latitude and longitude go together"),
    ("things", "thing,exists\nobject/shed,when built\n", "exists", "`when built` is not an EDTF date"),
    ("processes", "process,from,to\nlithography,1880,1870\n", "to", "the process ended, 1870, before it began, 1880"),
    ("processes", "process,from\nlithografy,1820\n", "process", "no document has the key `lithografy`"),
    ("processes", "process,width\nlithography,10\n", "width", "width and height go together"),
    ("processes", "process,width,height\nlithography,ten,10\n", "width", "`ten` is not a number of at least 0.001"),
    ("order", "before,after,min_days,max_days\na,b,9,3\n", "max_days", "at most 3 days is less than at least 9"),
    ("order", "before,after,min_days\na,b,1.5\n", "min_days", "`1.5` is not a whole number"),
    ("sources", "key,citation,withdrawn\nx,X,maybe\n", "withdrawn", "`maybe` is not an EDTF date"),
]  # fmt: skip


@pytest.mark.parametrize(("file", "rows", "column", "message"), FACT_FAULTS)
def test_a_faulty_fact(tmp_path: Path, file: str, rows: str, column: str, message: str) -> None:
    case = Case(tmp_path, {**FULL, file: rows})

    first = case.said[0]
    assert (first[1].partition("[")[2][:-1], first[2]) == (column, message)


def test_facts(tmp_path: Path) -> None:
    case = Case(tmp_path, {
        "people": "key,name,kind,born,died,sources\ndolen,Mira Dolen,,1841,1903-04,diary-3\ngroup/party,Party,group,1868,,\n",
        "membership": "who,party,when\ndolen,party,1868/1871\n",
        "places": "key,name,within,near,latitude,longitude\na,A,b,c,45.5,7.25\nb,B,,,,\nc,C,,,,\n",
        "whereabouts": "key,who,place,when,presence,sources\nw1,dolen,a,1870-05,All Day,diary-3\n",
        "things": "thing,exists\nshed,1872-02/..\n",
        "processes": "process,from,to,region,width,height,tolerance\nlithography,1820,,Europe,100,64,8\n",
        "order": "before,after,min_days\nx,y,2\n",
        "sources": "key,citation,withdrawn\ndiary-3,Diary,\ntext/fake,Fake,yes\nold,Old,2020\n",
    })  # fmt: skip

    assert case.said == []
    got = case.resolved
    assert [(b.key, b.kind, str(b.died)) for b in got.people] == [
        (BASE + "person/dolen", "person", "1903-04"), (BASE + "group/party", "group", "None"),
    ]  # fmt: skip
    assert got.membership[0].party == BASE + "group/party"
    assert (got.places[0].within, got.places[0].near) == ((BASE + "place/b",), (BASE + "place/c",))
    assert (got.whereabouts[0].presence, got.whereabouts[0].where) == ("all day", BASE + "place/a")
    assert got.things[0].thing == BASE + "object/shed"
    assert got.processes[0].process == BASE + "vocab/process/lithography"
    assert [s.withdrawn for s in got.sources] == [False, True, True]
    assert got.order[0].min_days == 2


def test_unknown_columns_and_files(tmp_path: Path) -> None:
    case = Case(tmp_path, {
        "people": "key,nmae,name\nx,,X\n", "things": "thing,exist\nx,1872\n", "clams": "a\n",
        "notes.csv": "a\n", "read.me": "",
    })  # fmt: skip

    assert case.said == [
        ("unknown-file", "evidence/clams.csv", "nothing reads `clams.csv`", "did you mean `claims`?"),
        ("unknown-file", "evidence/notes.csv", "nothing reads `notes.csv`", "did you mean `notices`?"),
        ("column", "evidence/people.csv", "`nmae` is not a column of this file", "did you mean `name`?"),
        ("column", "evidence/things.csv", "`exist` is not a column of this file", "did you mean `exists`?"),
        ("column", "evidence/things.csv", "the column `exists` is missing, so the file is not used",
         "did you mean `exist`?"),
    ]  # fmt: skip
    assert len(case.resolved.people) == 1
    assert case.resolved.things == ()


def test_a_workbook_is_read_like_a_table(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    assert book.active is not None
    for row in [["key", "name", "born"], ["dolen", "Mira Dolen", 1841]]:
        book.active.append(row)
    book.save(tmp_path / "people.xlsx")
    case = Case(tmp_path, {})

    assert [str(b.born) for b in case.resolved.people] == ["1841"]
    assert [code for code, *_ in case.said] == ["typed-cell"]
    (tmp_path / "people.csv").write_text(PEOPLE)
    with pytest.raises(UsageError, match=r"`evidence` holds both `people.csv` and `people.xlsx`"):
        Case(tmp_path, {})


def test_no_folder_is_no_evidence(tmp_path: Path) -> None:
    case = Case(tmp_path, {})
    none = evidence.load(
        tmp_path / "none", "evidence", aspects=ASPECTS, qualifiers=QUALIFIERS, limits=Limits(),
        report=case.findings.append,
    )  # fmt: skip

    assert none.evidence == Evidence()
    assert case.findings == []


def test_every_column_of_the_handbook() -> None:
    assert FILES["claims"].names == (
        "claim", "about", "aspect", "by", "role", "value", "value_text", "part", "qualifier",
        "standing", "on", "basis", "sources", "replaces", "alternative_to",
    )  # fmt: skip
    assert set(FILES) == {
        "claims", "people", "membership", "whereabouts", "places", "things", "processes", "order",
        "sources", "images", "layout", "threads", "access", "notices", "withdrawals", "lifted",
        "renamed",
    }  # fmt: skip


CIRCLES: list[tuple[dict[str, list[str]], list[tuple[str, ...]]]] = [
    ({}, []),
    ({"a": ["b"], "b": ["c"]}, []),
    ({"a": ["a"]}, [("a",)]),
    ({"b": ["c"], "c": ["a"], "a": ["b"]}, [("a", "b", "c")]),
    ({"a": ["b", "c"], "b": ["d"], "c": ["d"], "d": []}, []),
    ({"a": ["b"], "b": ["a", "c"], "c": ["b"]}, [("a", "b"), ("b", "c")]),
]  # fmt: skip


@pytest.mark.parametrize(("links", "expected"), CIRCLES)
def test_circles(links: dict[str, list[str]], expected: list[tuple[str, ...]]) -> None:
    assert circles(links) == expected


# --- keys ---------------------------------------------------------------------------------

ENTRIES = (
    Entry(BASE + "object/i1", "HumanMadeObject", ""),
    Entry(BASE + "visual/i1", "VisualItem", ""),
    Entry(BASE + "person/vey", "Person", ""),
    Entry(BASE + "group/vey", "Group", ""),
    Entry(BASE + "place/vey", "Place", ""),
    Entry(BASE + "object/HRL%2012%2F3", "HumanMadeObject", ""),
    Entry(BASE + "set/album", "Set", ""),
)


def key_of(key: str, *kinds: frozenset[str]) -> str:
    return Keys(BASE, lambda: ENTRIES, terms.concepts(), [key]).find(key, *kinds)


FOUND = [
    # key, kinds, path
    ("object/i1", (OBJECTS, ANY), "object/i1"),
    ("i1", (OBJECTS, ANY), "object/i1"),
    ("visual/i1", (OBJECTS, ANY), "visual/i1"),
    (BASE + "visual/i1", (OBJECTS, ANY), "visual/i1"),
    ("album", (OBJECTS, ANY), "set/album"),
    ("vey", (PLACES,), "place/vey"),
    ("person/vey", (BEINGS,), "person/vey"),
    ("object/HRL%2012%2F3", (OBJECTS,), "object/HRL%2012%2F3"),
    ("HRL%2012%2F3", (OBJECTS,), "object/HRL%2012%2F3"),
    ("process/lithography", (frozenset({"Type"}),), "vocab/process/lithography"),
    ("lithography", (frozenset({"Type"}),), "vocab/process/lithography"),
    ("vocab/process/lithography", (frozenset({"Type"}),), "vocab/process/lithography"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "kinds", "path"), FOUND)
def test_keys(key: str, kinds: tuple[frozenset[str], ...], path: str) -> None:
    assert key_of(key, *kinds) == BASE + path


NOT_FOUND = [
    ("vey", (BEINGS,), "ambiguous-key", "the key `vey` is that of 2 documents: `group/vey`, `person/vey`"),
    ("person/i1", (ANY,), "unknown-key", "no document has the key `person/i1`"),
    ("place/vey", (BEINGS,), "unknown-key", "`place/vey` is a Place, and this column takes Group or Person"),
    ("../x", (ANY,), "unknown-key", "no document has the key `../x`"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "kinds", "code", "message"), NOT_FOUND)
def test_keys_not_found(
    key: str, kinds: tuple[frozenset[str], ...], code: str, message: str
) -> None:
    with pytest.raises(KeyFault) as fault:
        key_of(key, *kinds)

    assert (fault.value.finding_code, fault.value.message) == (code, message)


# --- access -------------------------------------------------------------------------------


def asked(case: Case, *claims: str) -> evidence.Named:
    return evidence.named(case.loaded.access, BASE, lambda: ENTRIES, case.concepts, claims)


def test_access(tmp_path: Path) -> None:
    case = Case(tmp_path, {
        "access": "key,kind,access\ni1,thing,withheld\nalbum,,open\nvey,person,open\ni2,thing,withhold\nobject/i3,,witheld\n",
        "withdrawals": "key,kind,by,on\nobject/gone,thing,tarrow,2024\n",
    })  # fmt: skip
    found = asked(case)

    assert found.withheld == {BASE + "object/i1"}
    assert found.opened == {BASE + "set/album"}  # `vey` may be a person or a group
    assert case.loaded.access.faults == ()
    assert case.said == [
        ("access", "evidence/access.csv:5 (record 4) [access]",
         "`withhold` is not an access value, so the thing is withheld", "did you mean `withheld`?"),
        ("access", "evidence/access.csv:6 (record 5) [access]",
         "`witheld` is not an access value, so the thing is withheld", "did you mean `withheld`?"),
    ]  # fmt: skip
    assert [(f.code, str(f.place), f.message) for f in found.unknown] == [
        ("unknown-key", "evidence/access.csv:5 (record 4) [key]", "no document has the key `i2`"),
        ("unknown-key", "evidence/access.csv:6 (record 5) [key]",
         "no document has the key `object/i3`"),
    ]  # fmt: skip


NAMED: dict[str, tuple[str, set[str], set[str]]] = {
    "a person": ("person/vey,person,withheld,", {"person/vey"}, set()),
    "a place": ("vey,place,withheld,", {"place/vey"}, set()),
    "a claim": ("c1,claim,withheld,", set(), {"c1"}),
    "a claim without a kind": ("c1,,withheld,", set(), {"c1"}),
    "a kind that cannot be read means all": (
        "vey,persn,withheld,", {"group/vey", "person/vey", "place/vey"}, set(),
    ),
    "a key of several, and no thing among them": (
        "vey,,withheld,", {"group/vey", "person/vey", "place/vey"}, set(),
    ),
    "a notice without words": ("i1,thing,notice,council", {"object/i1"}, set()),
    "a notice without a name": ("i1,thing,notice,", {"object/i1"}, set()),
    "an empty access": ("i1,thing,,", {"object/i1"}, set()),
    "what is opened and withheld": (
        "i1,thing,open,\ni1,thing,withheld,", {"object/i1"}, set(),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", NAMED)
def test_what_rows_withhold(tmp_path: Path, name: str) -> None:
    rows, documents, claims = NAMED[name]
    found = asked(Case(tmp_path, {"access": f"key,kind,access,notice\n{rows}\n"}), "c1")

    assert {uri.removeprefix(BASE) for uri in found.withheld} == documents
    assert found.claims == claims
    assert found.opened == set()
    assert found.unknown == []


def test_a_key_of_several_documents_is_told(tmp_path: Path) -> None:
    found = asked(Case(tmp_path, {"access": "key,access\nvey,withheld\n"}))

    assert [finding.code for finding in found.findings] == ["ambiguous-key"]


def test_notices(tmp_path: Path) -> None:
    case = Case(tmp_path, {
        "notices": "notice,language,text,authority,contact\nnc,qtv,Teve sorru.,Teveli Council,council@example.org\nnc,en,Read first.,,\nnc,e n,x,,\nnc,en,,,\n",
        "access": "key,kind,access,notice\ni1,thing,notice,nc\nc1,claim,notice,nc\nc2,claim,notice,nc\n",
    })  # fmt: skip
    found = asked(case, "c1")

    assert [(n.language, n.text) for n in case.loaded.access.notices["nc"]] == [
        ("qtv", "Teve sorru."), ("en", "Read first."), ("", "x"),
    ]  # fmt: skip
    assert found.notices == {BASE + "object/i1": ["nc"], "c1": ["nc"]}
    assert [finding.message for finding in found.unknown] == ["no claim has the key `c2`"]
    assert [(place, message) for _, place, message, _ in case.said] == [
        ("evidence/notices.csv:4 (record 3) [language]",
         "`e n` is not a language tag"),
        ("evidence/notices.csv:5 (record 4) [text]", "the row has no `text`"),
    ]  # fmt: skip


def test_a_row_that_withholds_nobody_knows_what_stops_the_run(tmp_path: Path) -> None:
    case = Case(tmp_path, {"access": "key,kind,access\n,thing,withheld\n"})

    (fault,) = case.loaded.access.faults
    assert (str(fault.message), fault.where, fault.exit_status) == (
        "the row does not say what is withheld", "evidence/access.csv:2 (record 1)", 2,
    )  # fmt: skip


def test_renamed(tmp_path: Path) -> None:
    case = Case(tmp_path, {"renamed": "old,new\na,b\nb,c\n"})

    assert [(old, new) for old, new, _ in case.loaded.access.renamed] == [("a", "c"), ("b", "c")]
    with pytest.raises(UsageError, match="`a` is renamed in a circle"):
        Case(tmp_path, {"renamed": "old,new\na,b\nb,a\n"})


# --- layout -------------------------------------------------------------------------------


def png(path: Path, width: int, height: int) -> None:
    """Write a black PNG (https://www.w3.org/TR/png/)."""
    path.parent.mkdir(parents=True, exist_ok=True)

    def chunk(kind: bytes, data: bytes) -> bytes:
        whole = kind + data
        return struct.pack(">I", len(data)) + whole + struct.pack(">I", zlib.crc32(whole))

    rows = b"".join(b"\0" + bytes(width) for _ in range(height))
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
        + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
    )


def layout_case(
    folder: Path, files: dict[str, str], mapped: tuple[LayoutRow, ...] = ()
) -> tuple[Layout, list[tuple[str, str, str]]]:
    png(folder / "images" / "p12.png", 300, 200)
    (folder / "images" / "broken.png").write_bytes(b"not an image")
    (folder / "evidence").mkdir(exist_ok=True)
    case = Case(folder / "evidence", files)
    entries = tuple(
        Entry(BASE + key, "Set" if key.startswith("set/") else "HumanMadeObject", "")
        for key in ("object/album", "object/p12", "object/i1", "object/i2", "set/snow")
    )
    found = evidence.check_layout(
        lambda: (*case.loaded.layout, *mapped), folder, BASE, lambda: entries, case.concepts,
        case.findings.append,
    )  # fmt: skip
    said = [(f.code, str(f.place), f.message) for f in case.findings]
    return found, said


def bare(layout: Layout) -> Iterator[Image | Placed | Stop]:
    from dataclasses import replace

    for row in (*layout.images, *layout.placed, *layout.stops):
        yield replace(row, place=None)


def test_layout(tmp_path: Path) -> None:
    layout, said = layout_case(tmp_path, {
        "images": "thing,file,service,side\np12,images/p12.png,,recto\ni1,,https://example.org/iiif/i1/,\n",
        "layout": 'thing,on,order,side,region\np12,album,12,recto,\ni1,p12,1,recto,"10,20,100,50"\ni2,p12,2,,"0,0 300,0 300,200"\n',
        "threads": "thread,order,thing,language,text\nsnow,2,i2,EN,Then\nsnow,1,i1,en,First\n",
    }, (LayoutRow("layout", {"thing": BASE + "object/p12", "on": "album", "order": "12", "side": "recto"}),))  # fmt: skip

    assert said == [
        (
            "no-size",
            "evidence/images.csv:3 (record 2) [service]",
            "the size of `https://example.org/iiif/i1` is not known, so no manifest shows it",
        )
    ]
    assert list(bare(layout)) == [
        Image(BASE + "object/i1", "", "https://example.org/iiif/i1"),
        Image(BASE + "object/p12", "images/p12.png", "", "recto", "", 300, 200),
        Placed(BASE + "object/p12", BASE + "object/album", 12, "recto"),
        Placed(BASE + "object/i1", BASE + "object/p12", 1, "recto", (10, 20, 100, 50)),
        Placed(BASE + "object/i2", BASE + "object/p12", 2, "", (0, 0, 300, 0, 300, 200)),
        Stop(BASE + "set/snow", 1, BASE + "object/i1", (), "en", "First"),
        Stop(BASE + "set/snow", 2, BASE + "object/i2", (), "en", "Then"),
    ]
    assert evidence.layout_of_rows(evidence.rows_of_layout(layout)) == layout
    assert evidence.layout_of_rows(reversed(list(evidence.rows_of_layout(layout)))) == layout


def test_one_file_has_one_name(tmp_path: Path) -> None:
    """What is painted over in it for one thing must be painted over for every other."""
    rows = "thing,file\np12,images/p12.png\ni1,./images/../images//p12.png\n"
    layout, said = layout_case(tmp_path, {"images": rows})

    assert said == []
    assert [image.file for image in layout.images] == ["images/p12.png"] * 2


LAYOUT_FAULTS = [
    # file, rows, code, column, message, rows left
    ("images", "thing,file\np12,images/p21.png\n", "image", "file", "there is no file `images/p21.png`", 0),
    ("images", "thing,file\np12,images/broken.png\n", "image", "file",
     "`images/broken.png` cannot be read as an image", 0),
    ("images", "thing,file\np12,../../secret.png\n", "image", "file", "`../../secret.png` lies outside the project", 0),
    ("images", "thing,file\np12,\n", "image", "file", "the row needs either `file` or `service`", 0),
    ("images", "thing,service\np12,a b\n", "image", "service", None, 0),
    ("images", "thing,file,side\np12,images/p12.png,\np12,images/./p12.png,recto\n", "image", "capture",
     "another row has a picture of the same side; `images/p12.png` is not published", 1),
    ("images", "thing,file\np13,images/p12.png\n", "layout", "thing", "no document has the key `p13`", 0),
    ("images", "thing,file,side\np12,images/p12.png,front\n", "unknown-word", "side", "`front` is not a word for `side`", 0),
    ("layout", "thing,on\np12,p12\n", "layout", "on", "`p12` cannot lie on itself", 0),
    ("layout", "thing,on\np12,i1\ni1,p12\n", "layout", "on",
     "the thing would lie on itself, by way of what it carries", 1),
    ("layout", 'thing,on,region\ni1,p12,"1,2,3"\n', "layout", "region", "the region `1,2,3` has 3 numbers", 0),
    ("layout", 'thing,on,region\ni1,p12,"1,2,0,3"\n', "layout", "region",
     "the region `1,2,0,3` has no extent inside the image", 0),
    ("layout", "thing,on,region\ni1,p12,top left\n", "layout", "region", "`top left` is not a region", 0),
    ("layout", "thing,on,order\ni1,p12,first\n", "layout", "order", "`first` is not a number of at least 0", 0),
    ("threads", "thread,thing,language\nsnow,i1,e n\n", "layout", "language", None, 0),
    ("threads", "thread,thing\nsnow,i9\n", "layout", "thing", "no document has the key `i9`", 0),
]  # fmt: skip


@pytest.mark.parametrize(("file", "rows", "code", "column", "message", "left"), LAYOUT_FAULTS)
def test_a_faulty_layout_row(
    tmp_path: Path, file: str, rows: str, code: str, column: str, message: str | None, left: int
) -> None:
    layout, said = layout_case(tmp_path, {file: rows})

    ((got, place, text),) = said
    assert (got, place.partition("[")[2][:-1]) == (code, column)
    assert message is None or text == message
    assert len(list(bare(layout))) == left


def test_a_region_outside_its_image(tmp_path: Path) -> None:
    layout, said = layout_case(tmp_path, {
        "images": "thing,file\np12,images/p12.png\n",
        "layout": 'thing,on,region\ni1,p12,"250,0,60,10"\ni2,p12,"0,0,300,200"\n',
    })  # fmt: skip

    assert [placed.region for placed in layout.placed] == [(), (0, 0, 300, 200)]
    assert said == [
        ("layout", "evidence/layout.csv:2 (record 1) [region]",
         "the region `250,0,60,10` reaches outside its image, which has 300 x 200 pixels; the thing "
         "is placed without it"),
    ]  # fmt: skip
