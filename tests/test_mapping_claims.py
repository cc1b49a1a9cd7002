"""Claims that a mapping finds in a record, and layout rows."""

import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from mapping_help import BASE, CONTEXT, compiled, js, mapped, row

from lodpipe.mapping import SourceContext
from lodpipe.mapping.claims import claim_key
from lodpipe.records import Claim, LayoutRow

MAKERS = """
    reads:
      key: no
      fields:
        no: {from: no, pattern: "(?P<short>[^ ]+)$"}
        m: {together: {id: id, role: role, name: name}, split: "|"}
    claims:
      - each: m
        when: {role: {lookup: qualifiers}}
        about: "object/{^no.short}"
        aspect: maker
        value: "person/{id}"
        qualifier: {lookup: qualifiers, from: role}
"""


def claims(text: str, context: SourceContext = CONTEXT, **cells: str) -> list[Claim]:
    made, told = mapped(compiled(text), row(**cells), context)
    assert made is not None
    assert told == []
    return made.claims


QUALIFIED = [
    # role of the source         qualifier, standing, role, value, value_text of each claim
    ("possibly by",              [("possibly", "current", "", "person/7", "")]),
    ("Possibly  By",             [("possibly", "current", "", "person/7", "")]),
    ("formerly attributed to",   [("attributed-to", "former", "", "person/7", "")]),
    ("possible architects",      [("possibly", "current", "architect", "person/7", "")]),
    ("and a pupil",              [("", "current", "", "person/7", ""),
                                  ("pupil-of", "current", "", "person/7", "")]),
    ("associated with",          [("", "proposed", "", "", "associated with Mira Dolen")]),
    ("artist",                   []),
    ("",                         []),
]  # fmt: skip


@pytest.mark.parametrize(("role", "want"), QUALIFIED)
def test_a_qualifier_gives_qualifier_standing_and_role(role: str, want: list[Any]) -> None:
    made, _ = mapped(compiled(MAKERS), row(no="HRL 12", id="7", role=role, name="Mira Dolen"))
    assert made is not None

    assert [
        (c.qualifier, c.standing, c.role, c.value.removeprefix(BASE), c.value_text)
        for c in made.claims
    ] == want
    assert all(c.effective == c.standing and c.mapped for c in made.claims)


def test_a_claim_says_who_when_and_on_what_ground() -> None:
    [claim] = claims(MAKERS, no="HRL 12", id="7", role="possibly by", name="x")

    assert (claim.about, claim.aspect) == (f"{BASE}object/12", "maker")
    assert (claim.by, claim.on) == (f"{BASE}group/railway-library", "2024-03-11")
    assert claim.basis == "items.csv, record HRL 12: “possibly by”"
    assert str(claim.place) == "catalogue/items.csv:2 (record 1) [role]"
    assert claim.sources == ()


def test_who_speaks_may_be_an_iri() -> None:
    context = SourceContext("a.csv", by="https://viaf.example/12", dated="2024")
    [claim] = claims(MAKERS, context, no="1", id="7", role="possibly by", name="x")

    assert (claim.by, claim.on) == ("https://viaf.example/12", "2024")


WRITTEN = """
    reads:
      key: no
      fields:
        no: no
        d: {from: D, as: date}
        note: note
        t: T
        who: who
        when: when
    claims:
      - {about: "object/{no}", aspect: date, value: "{d}", qualifier: probably, basis: "{note}", on: "{when}", by: "person/{who}"}
      - {about: "object/{no}", aspect: title, value: "{t}", standing: proposed, part: "on the back"}
      - {about: "visual/{no}", aspect: sitter, value_text: "a guide, {note}", sources: ["text/diary-3", "text/{who}"]}
      - {about: "person/{who}", aspect: same_as, value: "http://viaf.org/viaf/{no}"}
"""


def test_every_column_of_the_ledger_may_be_set() -> None:
    made = claims(
        WRITTEN,
        no="1",
        D="February 1872",
        note="by the snow",
        T="The Great Fall",
        who="tarrow",
        when="2023-05",
    )
    date, title, sitter, same = made

    assert (date.value, date.qualifier, date.on, date.by) == (
        "1872-02",
        "probably",
        "2023-05",
        f"{BASE}person/tarrow",
    )
    assert date.basis == "by the snow (items.csv, record 1)"
    assert (title.value, title.value_text, title.standing, title.part) == (
        "",
        "The Great Fall",
        "proposed",
        "on the back",
    )
    assert (sitter.value, sitter.value_text) == ("", "a guide, by the snow")
    assert sitter.sources == (f"{BASE}text/diary-3", f"{BASE}text/tarrow")
    assert same.value == "http://viaf.org/viaf/1"


def test_a_claim_without_value_is_not_made() -> None:
    made = claims(WRITTEN, no="1", D="", note="", T="", who="", when="")

    assert made == []


# --- keys ---------------------------------------------------------------------------------


def test_keys_are_stable_and_tell_equals_apart() -> None:
    cells = {"no": "HRL 12", "name": "|||"}
    first = claims(MAKERS, **cells, id="7|8|7", role="possibly by|possibly by|possibly by")
    second = claims(MAKERS, **cells, id="8|7|7", role="possibly by|possibly by|possibly by")

    assert len({c.key for c in first}) == 3
    assert sorted(c.key for c in first) == sorted(c.key for c in second)
    assert all(re.fullmatch(r"m-hrl-12-maker-[0-9a-f]{10}", c.key) for c in first)


@given(st.text(max_size=80), st.text(max_size=30), st.text(max_size=30))
def test_a_key_is_safe_in_an_iri(record: str, role: str, value: str) -> None:
    key = claim_key(BASE, record, (f"{BASE}object/1", "maker", role, value), 1)

    assert re.fullmatch(r"m-[a-z0-9._-]+", key)
    assert len(key) <= 70


@given(st.lists(st.text(max_size=5), min_size=4, max_size=4, unique=True))
def test_a_key_depends_on_everything_that_tells_claims_apart(parts: list[str]) -> None:
    record, about, role, value = parts
    key = claim_key(BASE, record, (about, "maker", role, value), 1)
    others = [
        claim_key(BASE, record + "x", (about, "maker", role, value), 1),
        claim_key(BASE, record, (about + "x", "maker", role, value), 1),
        claim_key(BASE, record, (about, "date", role, value), 1),
        claim_key(BASE, record, (about, "maker", role + "x", value), 1),
        claim_key(BASE, record, (about, "maker", role, value + "x"), 1),
        claim_key(BASE, record, (about, "maker", role, value), 2),
    ]

    assert len({key, *others}) == 7


# --- layout -------------------------------------------------------------------------------

LAYOUT = """
    reads:
      key: no
      fields: {no: no, group: group, page: page, images: {each: /images}, file: file}
    layout:
      - {file: images, each: images, thing: "object/{^no}", service: "{url}", side: recto}
      - {file: images, thing: "object/{no}", path: "scans/{file}"}
      - {file: layout, thing: "object/{no}", on: "object/{group}", order: "{page}", side: recto}
      - {file: threads, thread: set/snow, thing: "object/{no}", order: "{page}", text: "{file}"}
"""


def test_layout_rows() -> None:
    data = {
        "no": "1",
        "group": "album",
        "page": 12,
        "images": [{"url": "http://i.example/1"}, {"url": ""}],
        "file": "a.jpg",
    }
    made, told = mapped(compiled(LAYOUT), js(data))
    assert made is not None
    item = f"{BASE}object/1"

    assert [(r.file, r.cells) for r in made.layout] == [
        ("images", {"thing": item, "service": "http://i.example/1", "side": "recto"}),
        ("images", {"thing": item, "file": "scans/a.jpg"}),
        ("layout", {"thing": item, "on": f"{BASE}object/album", "order": "12", "side": "recto"}),
        ("threads", {"thread": f"{BASE}set/snow", "thing": item, "order": "12", "text": "a.jpg"}),
    ]  # fmt: skip
    assert [str(r.place) for r in made.layout][:2] == [
        "catalogue/items.jsonl:1 [/images/0]",
        "catalogue/items.jsonl:1",
    ]
    assert told == []


def test_a_layout_row_with_nothing_to_say_is_not_made() -> None:
    made, _ = mapped(compiled(LAYOUT), js({"no": "1", "group": "", "page": None, "images": None}))
    assert made is not None

    assert made.layout == []
    assert made.claims == list[LayoutRow]()
