"""What each way of reading a field gives; one row an example, the findings in tables of their own."""

from typing import Any

import pytest
from mapping_help import Told, compiled, js, mapped, row, shown, tree_of, with_fields, xml

from lodpipe.errors import ManyErrors
from lodpipe.mapping import SourceContext, joined
from lodpipe.records import Record

ITEM = {"no": "HRL 12", "Title": " Sorn Pass ", "Old title": "", "Other": "Summit cutting"}

TABLE = [
    # fields                                               text                 what it becomes
    ("title: Title",                                       "{title}",           "Sorn Pass"),
    ("title: [Old title, Other]",                          "{title}",           "Summit cutting"),
    ("title: {from: [Old title, Title]}",                  "{title}",           "Sorn Pass"),
    ("title: {from: Title, empty: [Sorn Pass]}",           "{title}",           None),
    ("title: Old title",                                   "{title}",           None),
    ('t: {from: no, pattern: "(?P<h>[A-Z]+) (?P<n>\\\\d+)"}', "{t.n} of {t.h}", "12 of HRL"),
    ('t: {from: no, pattern: "(?P<h>[A-Z]+) (?P<n>\\\\d+)"}', "{t}",            "HRL 12"),
    ('t: {from: no, pattern: "(?P<x>X)?HRL"}',             "{t.x}",             None),
    ("title: Title",                                       "{{{title}}}",       "{Sorn Pass}"),
    ("title: Title\nold: Old title",                       "{old} {title}",     "Sorn Pass"),
    ("title: Old title\nold: Old title",                   "{old}, {title}",    None),
    ("kind: {choose: [{when: {no: HRL 12}, is: 'a {no}'}, {is: b}]}", "{kind}", "a HRL 12"),
    ("kind: {choose: [{when: {no: X}, is: a}, {is: '{no} b'}]}",      "{kind}", "HRL 12 b"),
]  # fmt: skip


@pytest.mark.parametrize(("fields", "text", "want"), TABLE)
def test_a_field_of_a_table(fields: str, text: str, want: str | None) -> None:
    got, told = shown(fields, text, row(**ITEM))

    assert (got, told.rows()) == (want, [])


DATA: dict[str, Any] = {
    "no": 12,
    "title": "Sorn Pass",
    "empty": None,
    "size": {"height": 14.2, "un/it": "cm"},
    "people": [{"name": "Dolen", "roles": ["printer", "owner"]}, {"name": "Vey", "roles": []}],
    "tags": ["snow", "", "pass"],
    "sold": True,
}

JSON = [
    # field                     what it becomes        where it stands
    ("title",                   "Sorn Pass",           "/title"),
    ("/title",                  "Sorn Pass",           "/title"),
    ("$.title",                 "Sorn Pass",           "/title"),
    ("/size/height",            "14.2",                "/size/height"),
    ("/size/un~1it",            "cm",                  "/size/un~1it"),      # RFC 6901 section 3
    ("$.size['un/it']",         "cm",                  "/size/un~1it"),
    ("/people/1/name",          "Vey",                 "/people/1/name"),
    ("$.people[-1].name",       "Vey",                 "/people/1/name"),
    ("$.people[?@.name=='Vey'].name", "Vey",           "/people/1/name"),    # RFC 9535 section 2.3.5
    ("sold",                    "true",                "/sold"),
    ("/size/depth",             None,                  ""),
    ("empty",                   None,                  ""),
]  # fmt: skip


@pytest.mark.parametrize(("path", "want", "column"), JSON)
def test_a_field_of_json(path: str, want: str | None, column: str) -> None:
    record = js(DATA)
    made, told = mapped(
        compiled(with_fields(f'x: "{path}"', "identified_by: {type: Name, content: '{x}'}")), record
    )
    assert made is not None
    names = made.documents[0].tree.get("identified_by")
    places = [t.place.column for t in made.documents[0].trace if t.field == "x"]

    assert (names[0]["content"] if names else None, told.rows()) == (want, [])
    assert places == ([column] if want else [])


LIDO = """<x:item xmlns:x="urn:x" no="12"><x:title lang="en">Sorn <x:i>Pass</x:i></x:title>
  <x:title lang="de">Sornpass</x:title><x:date> 1872 </x:date></x:item>"""

XML = [
    # field                           what it becomes
    ("x:title",                       "Sorn Pass"),
    ("x:title[@lang='de']",           "Sornpass"),
    ("x:title/@lang",                 "en"),
    ("@no",                           "12"),
    ("x:date",                        "1872"),
    ("count(x:title)",                "2"),
    ("concat(@no, '-', x:date)",      "12- 1872"),
    (".//x:i",                        "Pass"),
    ("x:maker",                       None),
]  # fmt: skip


@pytest.mark.parametrize(("path", "want"), XML)
def test_a_field_of_xml(path: str, want: str | None) -> None:
    text = f"""
        reads:
          key: no
          records: /x:items/x:item
          namespaces: {{x: "urn:x"}}
          fields: {{no: "@no", t: "{path}"}}
        makes:
          - id: "object/{{no}}"
            type: HumanMadeObject
            _label: x
            identified_by: {{type: Name, content: "{{t}}"}}
    """
    made, told = mapped(compiled(text), xml(LIDO))
    assert made is not None
    names = made.documents[0].tree.get("identified_by")

    assert (names[0]["content"] if names else None) == want
    assert [f.code for f in told] == (["value"] if path in ("x:title", "x:title/@lang") else [])


def test_a_field_that_stands_several_times_is_told() -> None:
    _, told = shown("x: $.people[*].name", "{x}", js(DATA))

    assert told.rows() == [
        ("value", "`x` stands 2 times, the first is used", "catalogue/items.jsonl:1")
    ]
    assert (told[0].value, told[0].hint) == ("Vey", "read all of them with `each: x`")


AS = [
    # as          text            what a whole placeholder becomes
    ("number",    "243",          243),
    ("number",    "9.875",        9.875),
    ("number",    "-5",           -5),
    ("number",    "1,234",        "`1,234` is not a number"),
    ("year",      "1866",         1866),
    ("year",      "1866.0",       1866),
    ("year",      "18th",         "`18th` is not a year"),
    ("url",       "http://example.org/1?x=2", "http://example.org/1?x=2"),
    ("url",       "www.example.org", "`www.example.org` is not a web address"),
    ("url",       "ftp://example.org/", "`ftp://example.org/` is not a web address"),
    ("url",       "http://example.org/a b", "`http://example.org/a b` is not a web address"),
    ("text@en",   "Sorn Pass",    "Sorn Pass"),
]  # fmt: skip


@pytest.mark.parametrize(("reads_as", "text", "want"), AS)
def test_reading_as(reads_as: str, text: str, want: Any) -> None:
    got, told = shown(f"x: {{from: X, as: {reads_as}}}", "{x}", row(no="1", X=text))

    if told:
        code = reads_as if reads_as != "year" else "number"
        assert told.rows() == [(code, want, "catalogue/items.csv:2 (record 1) [X]")]
        assert got is None
    else:
        assert (got, type(got)) == (want, type(want))


def test_a_number_within_a_text_is_text() -> None:
    got, _ = shown("x: {from: X, as: number}", "{x} leaves", row(no="1", X="24"))

    assert got == "24 leaves"


def test_a_text_in_a_language_brings_it_to_its_node() -> None:
    tree, _ = tree_of(
        "x: {from: X, as: text@de}\ny: {from: X, as: text@de}",
        """
        identified_by:
          - {type: Name, content: "{x}"}
          - {type: Name, content: "{y}", language: en}
        """,
        row(no="1", X="Sornpass"),
    )

    assert [n["language"][0]["_label"] for n in tree["identified_by"]] == ["German", "English"]


def test_damaged_characters_are_taken_out_and_told() -> None:
    got, told = shown("x: X", "{x}", row(no="1", X="Sorn\u0092s Pass\ufffd, cafe\u0301"))

    assert got == "Sorns Pass, café"
    assert [(f.code, f.message, f.value) for f in told] == [
        ("characters", "the text holds U+0092, U+FFFD", "Sorn\u0092s Pass\ufffd, café")
    ]


def test_a_pattern_that_does_not_match_is_told() -> None:
    got, told = shown('x: {from: X, pattern: "^(?P<n>\\\\d+)$"}', "{x.n}", row(no="1", X="12a"))

    assert got is None
    assert told.rows() == [
        (
            "pattern",
            "`12a` does not match the pattern of `x`",
            "catalogue/items.csv:2 (record 1) [X]",
        )
    ]


def test_a_pattern_reads_no_longer_text_than_the_limit() -> None:
    text = with_fields(
        'x: {from: X, pattern: "^(?P<n>a+)"}', 'identified_by: {type: Name, content: "{x.n}"}'
    )
    _, told = mapped(compiled(text, pattern_chars=50), row(no="1", X="a" * 51))

    assert [(f.code, f.hint) for f in told] == [
        ("pattern", "patterns read texts of up to 50 characters")
    ]
    assert mapped(compiled(text, pattern_chars=50), row(no="1", X="a" * 50))[1] == []


def test_patterns_take_linear_time() -> None:
    """RE2 has no catastrophic backtracking: this pattern takes ages elsewhere."""
    got, told = shown(
        'x: {from: X, pattern: "^(?P<n>(a+)+)$"}', "{x.n}", row(no="1", X="a" * 1_900 + "b")
    )

    assert (got, [f.code for f in told]) == (None, ["pattern"])


# --- lists --------------------------------------------------------------------------------

MAKERS = """
    makers:
      together: {id: artist_id, kind: {from: type, empty: [unknown]}, name: full_name, role: role}
      split: "|"
      lead: id
      choose:
        uri:
          - {when: {name: {matches: "^unknown\\\\b"}}, is: group/unidentified-maker}
          - {when: {kind: Person}, is: "person/{id}"}
          - {is: "group/{id}"}
        class: [{when: {name: {not: {matches: "^unknown\\\\b"}}, kind: Person}, is: Person}, {is: Group}]
"""
SHOW_MAKERS = 'identified_by: {each: makers, node: {type: Name, content: "{id} {kind} {name} {role} {uri} {class}"}}'

TOGETHER = [
    # id         type               full_name            role          what is read
    ("1|2", "Person|Person", "Dolen|Korvath", "|printer",
     ["1 Person Dolen  person/1 Person", "2 Person Korvath printer person/2 Person"]),
    ("1|2", "Person|unknown", "unknown Sorn|Korvath & Daughters", "",
     ["1 Person unknown Sorn  group/unidentified-maker Group", "2  Korvath & Daughters  group/2 Group"]),
    ("1", "Person", "Dolen", "", ["1 Person Dolen  person/1 Person"]),
    ("", "", "", "", []),
]  # fmt: skip


@pytest.mark.parametrize(("ids", "kinds", "names", "roles", "want"), TOGETHER)
def test_columns_read_together(
    ids: str, kinds: str, names: str, roles: str, want: list[str]
) -> None:
    record = row(no="1", artist_id=ids, type=kinds, full_name=names, role=roles)
    tree, told = tree_of(MAKERS, SHOW_MAKERS, record)

    assert [n["content"] for n in tree.get("identified_by", [])] == want
    assert told.rows() == []


def test_uneven_columns_are_told_and_the_row_is_kept() -> None:
    record = row(no="1", artist_id="1|2", type="Person|Person|Person", full_name="Dolen", role="")
    tree, told = tree_of(MAKERS, SHOW_MAKERS, record)

    assert [n["content"] for n in tree["identified_by"]] == [
        "1 Person Dolen  person/1 Person",
        "2 Person   person/2 Person",
    ]
    assert told.rows() == [
        (
            "parallel",
            "`makers.kind` has 3 values, and `makers.id` has 2",
            "catalogue/items.csv:2 (record 1) [type]",
        ),
        (
            "parallel",
            "`makers.name` has 1 values, and `makers.id` has 2",
            "catalogue/items.csv:2 (record 1) [full_name]",
        ),
    ]


LISTS = [
    # fields, what is shown of each element, record, wanted
    ('s: {from: S, split: ";"}', "s", "{.}", row(no="1", S="snow; pass ;;snow"), ["snow", "pass", "snow"]),
    ('s: {from: S, split: ";", empty: ["", "-"]}', "s", "{.}", row(no="1", S="a;-;b"), ["a", "b"]),
    ('s: {from: S, split: ";", pattern: "(?P<n>\\\\d+)"}', "s", "{n}: {.}", row(no="1", S="p 1;p 2"), ["1: p 1", "2: p 2"]),
    ('s: {from: S, split: ";"}', "s", "{^no} {.}", row(no="1", S="a;b"), ["1 a", "1 b"]),
    ("t: tags", "t", "{.}", js(DATA), ["snow", "pass"]),
    ("t: {each: /tags}", "t", "{.}", js(DATA), ["snow", "pass"]),
    ("t: $.people[*].name", "t", "{.}", js(DATA), ["Dolen", "Vey"]),
    ("p: {each: /people}", "p", "{^no} {name}", js(DATA), ["12 Dolen", "12 Vey"]),
    ("p: {each: $.people}", "p", "{name}", js(DATA), ["Dolen", "Vey"]),
    ("p: {each: /size}", "p", "{height}", js(DATA), ["14.2"]),
    ("p: {each: /nobody}", "p", "{name}", js(DATA), []),
    ("p: {each: /people, fields: {n: {from: name, pattern: '^(?P<i>.)'}}}", "p", "{n.i}", js(DATA), ["D", "V"]),
    ("p: {each: /people, choose: {x: [{when: {name: Vey}, is: 'engineer {name}'}, {is: '{^no}'}]}}", "p", "{x}", js(DATA), ["12", "engineer Vey"]),
]  # fmt: skip


@pytest.mark.parametrize(("fields", "name", "text", "record", "want"), LISTS)
def test_lists(fields: str, name: str, text: str, record: Record, want: list[str]) -> None:
    body = f'identified_by: {{each: {name}, node: {{type: Name, content: "{text}"}}}}'
    tree, told = tree_of(fields, body, record)

    assert [n["content"] for n in tree.get("identified_by", [])] == want
    assert told.rows() == []


def test_a_list_within_a_list_looks_two_levels_out() -> None:
    tree, told = tree_of(
        "people: {each: /people}",
        """
        referred_to_by:
          each: people
          node:
            each: roles
            node: {type: LinguisticObject, content: "{.} {^name} {^^no}"}
        """,
        js(DATA),
    )

    assert [n["content"] for n in tree["referred_to_by"]] == ["printer Dolen 12", "owner Dolen 12"]
    assert told == []


TREE = {
    "no": "1",
    "subjects": {
        "id": 0,
        "name": "subject",
        "children": [
            {"id": 1, "name": "nature", "children": [{"id": 2, "name": "snow"}]},
            {"id": 3, "name": "work"},
        ],
    },
}

WALKS = [
    # root    what is shown of each node: id, name, and the node above
    ("false", ["1 nature ", "2 snow 1", "3 work "]),
    ("true",  ["0 subject ", "1 nature 0", "2 snow 1", "3 work 0"]),
]  # fmt: skip


@pytest.mark.parametrize(("root", "want"), WALKS)
def test_walking_a_tree(root: str, want: list[str]) -> None:
    tree, told = tree_of(
        f"terms: {{walk: /subjects, children: children, root: {root}}}",
        'identified_by: {each: terms, node: {type: Name, content: "{id} {name} {parent.id}"}}',
        js(TREE),
    )

    assert [n["content"] for n in tree["identified_by"]] == [text.strip() for text in want]
    assert told == []


def test_a_tree_stands_in_the_trace_with_pointers() -> None:
    text = with_fields(
        "terms: {walk: /subjects, children: children, root: false}",
        'identified_by: {each: terms, node: {type: Name, content: "{name} {parent.name}"}}',
    )
    made, _ = mapped(compiled(text), js(TREE))
    assert made is not None

    assert [(t.path[-9:], t.field, t.place.column) for t in made.documents[0].trace][1:] == [
        ("0/content", "terms.name", "/subjects/children/0/name"),
        ("1/content", "terms.name", "/subjects/children/0/children/0/name"),
        ("1/content", "terms.parent.name", "/subjects/children/0/name"),
        ("2/content", "terms.name", "/subjects/children/1/name"),
    ]


def test_a_tree_that_never_ends_stops_at_the_limit() -> None:
    deep: dict[str, Any] = {"name": "end"}
    for _ in range(20):
        deep = {"name": "x", "children": [deep]}
    text = with_fields(
        "terms: {walk: /subjects, children: children}",
        'identified_by: {each: terms, node: {type: Name, content: "{name}"}}',
    )
    made, told = mapped(compiled(text, nesting=5), js({"no": "1", "subjects": deep}))
    assert made is not None

    assert len(made.documents[0].tree["identified_by"]) == 6
    assert [f.message for f in told] == ["`terms` goes deeper than 5 levels"]


JOIN = with_fields(
    "artist_id: artist\nheld: {join: makers, on: artist_id, by: key}",
    'identified_by: {each: held, node: {type: Name, content: "{full name}, {^artist_id}"}}',
)


def test_joined_rows() -> None:
    rows = [
        row(key="7", **{"full name": "Mira Dolen"}),
        row(key="8", **{"full name": "Jonas Vey"}),
        row(key="7", **{"full name": "M. Dolen"}),
    ]
    context = SourceContext("items.csv", joins={"makers": joined(rows, "key")})
    mapping = compiled(JOIN)
    made, told = mapped(mapping, row(no="1", artist="7"), context)
    assert made is not None

    assert mapping.joins == {"makers": "key"}
    assert [n["content"] for n in made.documents[0].tree["identified_by"]] == [
        "Mira Dolen, 7",
        "M. Dolen, 7",
    ]
    assert [i.key for i in made.documents[0].inputs if i.kind == "row"] == [
        "items.csv#1",
        "catalogue/items.csv#7",
    ]
    assert told == []


def test_a_key_that_the_joined_file_lacks() -> None:
    context = SourceContext(joins={"makers": {}})
    _, told = mapped(compiled(JOIN), row(no="1", artist="9"), context)

    assert told.rows() == [
        (
            "join",
            "the joined file `makers` does not have `9`",
            "catalogue/items.csv:2 (record 1) [artist]",
        )
    ]


def test_an_inner_xml_record_sees_those_around_it() -> None:
    text = """
        reads:
          key: no
          records: //c
          fields: {no: "@no", title: title, terms: {each: term}}
        makes:
          - id: "object/{no}"
            type: HumanMadeObject
            _label: "{^^title} > {^title} > {title}"
            identified_by: {each: terms, node: {type: Name, content: "{^^no} {.}"}}
            part_of: {ref: "object/{^no}", type: HumanMadeObject}
    """
    document = "<c no='1'><title>Album</title><c no='2'><title>Page</title><c no='3'><title>Item</title><term>snow</term></c></c></c>"
    inner, told = mapped(compiled(text), xml(document, ".//c[@no='3']"))
    outer, _ = mapped(compiled(text), xml(document))
    assert inner is not None
    assert outer is not None

    assert inner.documents[0].tree["_label"] == "Album > Page > Item"
    assert inner.documents[0].tree["identified_by"][0]["content"] == "2 snow"
    assert inner.documents[0].tree["part_of"]["id"].endswith("object/2")
    assert outer.documents[0].tree["_label"] == ">  > Album"
    assert "part_of" not in outer.documents[0].tree
    assert told == []


# --- choose -------------------------------------------------------------------------------


def test_no_case_that_fits_is_told_where_there_is_a_value() -> None:
    fields = "kind: {choose: [{when: {k: print}, is: a}]}\nk: K"
    got, told = shown(fields, "{kind}", row(no="1", K="map"))

    assert got is None
    assert told.rows() == [
        ("no-branch", "no case of `kind` fits", "catalogue/items.csv:2 (record 1)")
    ]
    assert shown(fields, "{kind}", row(no="1", K=""))[1] == []


def test_what_choose_makes_stands_where_it_comes_from() -> None:
    text = with_fields(
        "kind: {choose: [{when: {k: print}, is: 'x {k}'}, {is: y}]}\nk: K",
        'identified_by: {type: Name, content: "{kind}"}',
    )
    made, _ = mapped(compiled(text), row(no="1", K="print"))
    assert made is not None

    assert [(t.path, t.field, t.place.column) for t in made.documents[0].trace] == [
        ("/id", "no", "no"),
        ("/identified_by/0/content", "kind", "K"),
    ]


def test_choose_may_read_a_date() -> None:
    tree, told = tree_of(
        "made: {as: edtf, choose: [{when: {y: present}, is: '{y}-05'}]}\ny: Y",
        "produced_by: {type: Production, timespan: {timespan: made}}",
        row(no="1", Y="1872"),
    )

    assert tree["produced_by"]["timespan"]["begin_of_the_begin"] == "1872-05-01T00:00:00Z"
    assert told == []


# --- dates --------------------------------------------------------------------------------

DATES = [
    # as                 text                  words, EDTF and ends of the time span
    ("date",             "circa 1872",         ("circa 1872", "1872~", "1867-01-01", "1877-12-31")),
    ("date",             "February 1872",      ("February 1872", "1872-02", "1872-02-01", "1872-02-29")),
    ("date",             "1873-1876",          ("1873-1876", "1873/1876", "1873-01-01", "1876-12-31")),
    ("edtf",             "1873/..",            ("1873 or later", "1873/..", "1873-01-01", None)),
    ("year",             "1866",               ("1866", "1866", "1866-01-01", "1866-12-31")),
    ("date",             "snowy, no doubt",    ("snowy, no doubt", None, None, None)),
    ("edtf",             "about 1925",         ("about 1925", None, None, None)),
    ("date",             "undated",            ("undated", None, None, None)),
]  # fmt: skip


def _span(node: dict[str, Any]) -> tuple[Any, ...]:
    names = [n["content"] for n in node["identified_by"]]
    ends = [node.get(key, "")[:10] or None for key in ("begin_of_the_begin", "end_of_the_end")]
    return (names[0], names[1] if len(names) > 1 else None, *ends)


@pytest.mark.parametrize(("reads_as", "text", "want"), DATES)
def test_dates(reads_as: str, text: str, want: tuple[Any, ...]) -> None:
    tree, told = tree_of(
        f"made: {{from: D, as: {reads_as}}}",
        "produced_by: {type: Production, timespan: {timespan: made}}",
        row(no="1", D=text),
    )

    assert _span(tree["produced_by"]["timespan"]) == want
    assert [f.code for f in told] == ([] if want[1] else ["date"])


def test_a_text_without_date_is_told_mildly() -> None:
    _, undated = shown("made: {from: D, as: date}", "{made}", row(no="1", D="undated"))
    _, unread = shown("made: {from: D, as: date}", "{made}", row(no="1", D="snowy, no doubt"))

    assert [(f.severity, f.message) for f in undated] == [
        ("info", "`undated` says that there is no date")
    ]
    assert unread[0].severity == "warning"
    assert unread[0].message.startswith("`snowy, no doubt` cannot be read as a date: ")


def test_events_of_one_text() -> None:
    tree, _ = tree_of(
        "made: {from: D, as: date}",
        """
        produced_by:
          type: Production
          part:
            - {role: exposure, timespan: {timespan: made}}
            - {role: printing, timespan: {timespan: made.printed}}
            - {role: publishing, timespan: {timespan: made.published}}
        """,
        row(no="1", D="1872, printed 1876"),
    )

    assert [
        (part["id"].rpartition("#")[2], _span(part["timespan"])[1])
        for part in tree["produced_by"]["part"]
    ] == [("exposure", "1872"), ("printing", "1876")]


def test_an_event_that_nothing_uses_is_told_mildly() -> None:
    _, told = shown("made: {from: D, as: date}", "{made}", row(no="1", D="1872, printed 1876"))

    assert [(f.code, f.severity, f.message, f.hint) for f in told] == [
        (
            "no-branch",
            "info",
            "nothing uses the date of `made.printed`",
            "write {timespan: made.printed} where it belongs",
        )
    ]


def test_a_date_with_a_pattern() -> None:
    fields = 'made: {from: D, as: date, pattern: "(?P<year>[0-9]{4})"}'
    got, told = shown(fields, "{made.year} {made.edtf}", row(no="1", D="May 1872"))

    assert (got, told.rows()) == ("1872 1872-05", [])


def test_years_of_work_are_no_life() -> None:
    tree, _ = tree_of(
        "life: {from: D, as: date, kind: life}",
        "produced_by: {type: Production, timespan: {timespan: life.born}, part: [{role: printing, timespan: {timespan: life}}]}",
        row(no="1", D="active 1860-1870"),
    )

    assert "timespan" not in tree["produced_by"]
    assert _span(tree["produced_by"]["part"][0]["timespan"])[1] == "1860/1870"


def test_the_two_ends_of_a_life() -> None:
    tree, _ = tree_of(
        "life: {from: D, as: date, kind: life}",
        """
        identified_by:
          - {type: Name, content: "{life.edtf}"}
        produced_by:
          type: Production
          part:
            - {role: exposure, timespan: {timespan: life.born}}
            - {role: printing, timespan: {timespan: life.died}}
        """,
        row(no="1", D="1838-1901"),
    )

    assert tree["identified_by"][0]["content"] == "1838/1901"
    assert [_span(part["timespan"])[1] for part in tree["produced_by"]["part"]] == ["1838", "1901"]


COMPARE = [
    # text           from           to             do they disagree?
    ("1900",         "1900-01-01",  "1900-12-31",  False),
    ("1900",         "1899-12-31",  "1900-12-30",  True),    # shifted on its way
    ("circa 1825",   "1820-01-01",  "1830-01-01",  False),   # within circa
    ("June 1873",    "1873",        "1873",        False),   # the days are coarser
    ("1873-1876",    "1873",        "1875",        True),    # one within the other is not enough
    ("1873",         "1901",        "1902",        True),
    ("1873",         "",            "1902",        True),    # one end is enough
    ("1873",         "",            "",            False),   # nothing to compare with
    ("1938, printed 1973", "1938",  "1973",        False),   # they span all that is told
    ("1873",         "unknown",     "1873",        True),    # not a date for machines at all
    ("snow",         "1901",        "1902",        False),   # told already
]  # fmt: skip


@pytest.mark.parametrize(("text", "first", "last", "disagree"), COMPARE)
def test_comparing_words_with_days(text: str, first: str, last: str, disagree: bool) -> None:
    _, told = shown(
        "made: {from: D, as: date, compare: [A, B]}", "{made}", row(no="1", D=text, A=first, B=last)
    )
    codes = [f.code for f in told if f.code not in ("date", "no-branch")]

    assert codes == (["date-disagrees"] if disagree else [])


@pytest.mark.parametrize(("last", "disagree"), [("1901", False), ("1900", True)])
def test_comparing_a_life_with_its_days(last: str, disagree: bool) -> None:
    _, told = shown(
        "life: {from: D, as: date, kind: life, compare: [A, B]}",
        "{life}",
        row(no="1", D="1838-1901", A="1838", B=last),
    )

    assert ["date-disagrees"] * disagree == [f.code for f in told if f.code == "date-disagrees"]


def test_a_disagreement_of_dates_says_what_each_means() -> None:
    _, (finding,) = shown(
        "made: {from: D, as: date, compare: [A, B]}",
        "{made}",
        row(no="1", D="1873-1876", A="1873", B="1875"),
    )

    assert (finding.message, finding.value) == (
        "`1873-1876` and the dates for machines disagree: the text means 1873 to 1876, the machine "
        "dates say `1873` to `1875`",
        "1873-1876",
    )


# --- sizes --------------------------------------------------------------------------------


def test_sizes_in_a_template() -> None:
    tree, told = tree_of(
        "size: {from: S, as: size, unit: cm, order: [height, width]}",
        """
        dimension: {size: size}
        referred_to_by:
          - {type: LinguisticObject, content: "{size}"}
          - each: size
            when: {kind: height}
            node: {type: LinguisticObject, content: "{what} {value}: {display}"}
        """,
        row(no="1", S="image: 14.2 × 19.5"),
    )

    assert [
        (d["value"], [c["_label"] for c in d["classified_as"]], d["unit"]["_label"])
        for d in tree["dimension"]
    ] == [(142, ["Height", "image"], "millimeters"), (195, ["Width", "image"], "millimeters")]
    assert [r["content"] for r in tree["referred_to_by"]] == [
        "image: 14.2 × 19.5",
        "image 142: image: 14.2 × 19.5",
    ]
    assert told == []


def test_a_size_that_cannot_be_read_keeps_its_words() -> None:
    tree, told = tree_of(
        "size: {from: S, as: size}",
        'dimension: {size: size}\nreferred_to_by: {type: LinguisticObject, content: "{size}"}',
        row(no="1", S="quarto"),
    )

    assert "dimension" not in tree
    assert tree["referred_to_by"][0]["content"] == "quarto"
    assert [f.code for f in told] == ["size"]


# --- columns that are not there -----------------------------------------------------------


def test_a_column_that_is_not_there_stops_at_the_first_record() -> None:
    mapping = compiled(
        with_fields(
            "a: Titel\nb: [Old, Title]\nc: {from: D, as: date, compare: [Frm, To]}",
            'identified_by: {type: Name, content: "{a} {b} {c}"}',
        )
    )
    with pytest.raises(ManyErrors) as caught:
        mapped(mapping, row(no="1", Title="x", D="", From="", To=""))

    assert [(e.message, e.where, e.hint) for e in caught.value.errors] == [
        ("the source has no column `Titel`", "item.yaml:5:8", "did you mean `Title`?"),
        ("the source has no column `Frm`", "item.yaml:7:38", "did you mean `From`?"),
    ]


def test_lists_of_json_do_not_go_with_a_table() -> None:
    mapping = compiled(
        with_fields("a: {each: /a}", 'identified_by: {each: a, node: {type: Name, content: "{x}"}}')
    )
    with pytest.raises(
        ManyErrors, match="`each` goes into JSON or XML, and this source is a table"
    ):
        mapped(mapping, row(no="1"))


def test_findings_are_told() -> None:
    """The helper of these tests must not lose what was told."""
    assert Told().rows() == []
