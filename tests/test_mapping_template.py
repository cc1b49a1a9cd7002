"""What templates make: nodes that are left out, links, terms, roles, documents of lists, the trace."""

from typing import Any

import pytest
from mapping_help import BASE, compiled, documents, js, mapped, row, tree_of, with_fields

from lodpipe.records import Record

PRIMARY = {
    "id": "http://vocab.getty.edu/aat/300404670",
    "type": "Type",
    "_label": "Primary Name",
}
ENGLISH = {
    "id": "http://vocab.getty.edu/aat/300388277",
    "type": "Language",
    "_label": "English",
}

NODES: list[tuple[str, str, Record, dict[str, Any]]] = [
    # fields, keys of the document, record, what they become
    (   # a whole name
        "t: T", 'identified_by: {type: Name, content: "{t}", language: en, classified_as: {term: primary-name}}',
        row(no="1", T="Sorn Pass"),
        {"identified_by": [{"type": "Name", "content": "Sorn Pass", "language": [ENGLISH], "classified_as": [PRIMARY]}]},
    ),
    (   # a node whose placeholders are all empty is left out, and the list that loses it
        "t: T", 'identified_by: [{type: Name, content: "{t}", classified_as: {term: primary-name}}]',
        row(no="1", T=""), {},
    ),
    (   # one filled placeholder keeps it, the empty key is left out
        "t: T\nu: U", 'identified_by: {type: Name, content: "{t}", _label: "{u}"}',
        row(no="1", T="", U="x"), {"identified_by": [{"type": "Name", "_label": "x"}]},
    ),
    (   # all the way down
        "d: {from: D, as: date}", "produced_by: {type: Production, part: [{role: exposure, timespan: {timespan: d}}]}",
        row(no="1", D=""), {},
    ),
    (   # what has no placeholder stays
        "t: T", 'current_owner: [{ref: group/library, type: Group}]\nidentified_by: {type: Name, content: "{t}"}',
        row(no="1", T=""),
        {"current_owner": [{"id": f"{BASE}group/library", "type": "Group", "_label": None}]},
    ),
    (   # also in a list with one that goes
        "k: K", "classified_as: [{term: photograph}, {lookup: kinds, from: k}]",
        row(no="1", K=""),
        {"classified_as": [{"id": "http://vocab.getty.edu/aat/300046300", "type": "Type", "_label": "Photograph",
                            "classified_as": [{"id": "http://vocab.getty.edu/aat/300435443", "type": "Type", "_label": "Type of Work"}]}]},
    ),
    (   # but a constant alone does not keep a node
        "t: T", 'produced_by: {type: Production, technique: [{term: process/lithography}], referred_to_by: {type: LinguisticObject, content: "{t}"}}',
        row(no="1", T=""), {},
    ),
    (   # a key of one value takes no list
        "p: P", 'part_of: {ref: "object/{p}", type: HumanMadeObject}',
        row(no="1", P="album 1"),
        {"part_of": {"id": f"{BASE}object/album%201", "type": "HumanMadeObject", "_label": None}},
    ),
    (   # a link without its end is no link
        "p: P\nq: Q", 'part_of: {ref: "object/{p}-{q}", type: HumanMadeObject}',
        row(no="1", P="12", Q=""), {},
    ),
    (   # a node made on a condition
        "p: P", 'member_of: {ref: "set/{p}", type: Set, when: {p: present}}',
        row(no="1", P="snow"), {"member_of": [{"id": f"{BASE}set/snow", "type": "Set", "_label": None}]},
    ),
    (   # a number where the whole value is one
        "n: {from: N, as: number}", 'dimension: {type: Dimension, value: "{n}", unit: {term: millimeters}}',
        row(no="1", N="142"),
        {"dimension": [{"type": "Dimension", "value": 142,
                        "unit": {"id": "http://vocab.getty.edu/aat/300379097", "type": "MeasurementUnit", "_label": "millimeters"}}]},
    ),
    (   # a web address as an id
        "u: {from: U, as: url}", 'subject_of: {type: LinguisticObject, digitally_carried_by: {type: DigitalObject, access_point: {ref: "{+u}", type: DigitalObject}}}',
        row(no="1", U="http://example.org/a?b=c"),
        {"subject_of": [{"type": "LinguisticObject", "digitally_carried_by": [{"type": "DigitalObject", "access_point": [
            {"id": "http://example.org/a?b=c", "type": "DigitalObject", "_label": None}]}]}]},
    ),
    (   # an IRI of another authority
        "v: V", 'equivalent: [{id: "http://viaf.org/viaf/{v}", type: Person}]',
        row(no="1", V="12 3"), {"equivalent": [{"type": "Person", "id": "http://viaf.org/viaf/12%203"}]},
    ),
    (   # a term that stands in the data
        "l: L", 'identified_by: {type: Name, content: "Sorn", language: "{l}"}',
        row(no="1", L="en"), {"identified_by": [{"type": "Name", "content": "Sorn", "language": [ENGLISH]}]},
    ),
]  # fmt: skip


@pytest.mark.parametrize(("fields", "body", "record", "want"), NODES)
def test_nodes(fields: str, body: str, record: Record, want: dict[str, Any]) -> None:
    tree, told = tree_of(fields, body, record)

    assert (tree, told.rows()) == (want, [])


def test_a_term_in_the_data_that_nobody_knows_is_told() -> None:
    tree, told = tree_of(
        "l: L", 'identified_by: {type: Name, content: "Sorn", language: "{l}"}', row(no="1", L="qq")
    )

    assert tree == {}
    assert [(f.code, f.message) for f in told] == [("term", "the language `qq` has no concept")]


# --- lookups ------------------------------------------------------------------------------


def test_a_lookup_gives_the_concepts_of_all_its_lines() -> None:
    fields, body = "k: K", "classified_as: {lookup: kinds, from: k}"
    tree, told = tree_of(fields, body, row(no="1", K="Stereo  Card"))

    assert [(c["id"][-9:], c["_label"], c["classified_as"][0]["_label"]) for c in tree["classified_as"]] == [
        ("300127197", "Stereograph", "Type of Work"),
        ("300046300", "Photograph", "Type of Work"),
    ]  # fmt: skip
    assert told == []
    ours, _ = tree_of(fields, body, row(no="1", K="lithograph"))
    assert ours["classified_as"][0]["id"] == f"{BASE}vocab/work/lithograph"


def test_a_term_that_means_no_concept_gives_none() -> None:
    tree, told = tree_of("k: K", "classified_as: {lookup: kinds, from: k}", row(no="1", K="papers"))

    assert (tree, told) == ({}, [])


def test_a_term_that_the_table_lacks_is_never_guessed() -> None:
    tree, told = tree_of(
        "k: K", "classified_as: {lookup: kinds, from: k}", row(no="1", K="stereo cards")
    )

    assert tree == {}
    assert [(f.code, f.message, f.hint, str(f.place)) for f in told] == [
        (
            "term",
            "the table `kinds` does not have `stereo cards`",
            "did you mean `stereo card`?",
            "catalogue/items.csv:2 (record 1) [K]",
        )
    ]


def test_a_column_of_a_lookup_is_text() -> None:
    tree, _ = tree_of(
        "k: K",
        """
        produced_by: {type: Production, part: [{role: {lookup: kinds, from: k, column: part}, timespan: {timespan: d}}]}
        referred_to_by: {type: LinguisticObject, content: {lookup: kinds, from: k, column: label}}
        """.replace(", timespan: {timespan: d}", ', _label: "{k}"'),
        row(no="1", K="lithograph"),
    )

    assert tree["produced_by"]["part"][0]["id"] == f"{BASE}object/1#drawing"
    assert tree["referred_to_by"][0]["content"] == "Lithograph"


def test_lines_of_tables_are_what_a_document_was_made_from() -> None:
    made, _ = documents(
        with_fields("k: K", "classified_as: {lookup: kinds, from: k}"), row(no="1", K="lithograph")
    )
    terms = [i for i in made[0].inputs if i.kind == "term"]

    assert [(i.kind, i.key) for i in made[0].inputs] == [
        ("row", "catalogue/items.csv#1"),
        ("mapping", "item.yaml"),
        ("term", "kinds:lithograph"),
    ]
    assert len(terms[0].hash) == 32


# --- roles --------------------------------------------------------------------------------


def test_a_role_gives_id_type_and_concept() -> None:
    tree, told = tree_of(
        "m: M",
        """
        produced_by:
          type: Production
          part:
            - {role: exposure, carried_out_by: {ref: "person/{m}", type: Person}}
        modified_by:
          - {role: mounting, classified_as: {term: photograph}, referred_to_by: {type: LinguisticObject, content: "{m}"}}
        """,
        row(no="a/1", M="dolen"),
    )
    exposure, mounting = tree["produced_by"]["part"][0], tree["modified_by"][0]

    assert tree["produced_by"]["id"] == f"{BASE}object/a%2F1#production"
    assert (exposure["id"], exposure["type"]) == (f"{BASE}object/a%2F1#exposure", "Production")
    assert [c["_label"] for c in exposure["classified_as"]] == ["exposure"]
    assert (mounting["id"], mounting["type"]) == (f"{BASE}object/a%2F1#mounting", "Modification")
    assert [c["_label"] for c in mounting["classified_as"]] == ["mounting", "Photograph"]
    assert told == []


# --- documents ----------------------------------------------------------------------------

MANY = """
    reads:
      key: no
      fields:
        no: no
        makers: {each: /makers, choose: {uri: [{when: {kind: p}, is: "person/{id}"}, {is: "group/{id}"}]}}
    makes:
      - id: "object/{no}"
        type: HumanMadeObject
        _label: "Item {no}"
      - each: makers
        when: {name: {not: unknown}}
        id: "{+uri}"
        type: Person
        _label: "{name}"
        identified_by: {type: Name, content: "{name}, item {^no}"}
"""


def test_a_document_for_each_element() -> None:
    record = js(
        {
            "no": "1",
            "makers": [
                {"id": "do/len", "kind": "p", "name": "Mira Dolen"},
                {"id": "2", "name": "unknown"},
                {"id": 3, "name": "Korvath & Daughters"},
            ],
        }
    )
    made, told = documents(MANY, record)

    assert [(d.uri, d.tree["_label"]) for d in made] == [
        (f"{BASE}object/1", "Item 1"),
        (f"{BASE}person/do%2Flen", "Mira Dolen"),
        (f"{BASE}group/3", "Korvath & Daughters"),
    ]
    assert all(d.tree["id"] == d.uri for d in made)
    assert [(d.source, d.rank, d.key) for d in made] == [("catalogue/items.csv", 1, "1")] * 3
    assert made[1].tree["identified_by"][0]["content"] == "Mira Dolen, item 1"
    assert [(f.code, f.severity) for f in told] == [("no-branch", "info")]


def test_a_document_without_id_is_told() -> None:
    _, told = documents(MANY, js({"no": "1", "makers": [{"kind": "p", "name": "Mira Dolen"}]}))

    assert told.rows() == [
        (
            "key",
            "a document has no `id`: a part of it is empty",
            "catalogue/items.jsonl:1 [/makers/0]",
        )
    ]


def test_a_label_of_nothing_is_left_out() -> None:
    text = with_fields("a: A\nb: B", 'identified_by: {type: Name, content: "{a}"}')
    made, _ = documents(text.replace("_label: x", '_label: "{a} ({b})"'), row(no="1", A="", B=""))

    assert "_label" not in made[0].tree


def test_a_record_without_key_makes_nothing() -> None:
    made, told = mapped(compiled(MANY), js({"no": " ", "makers": []}))

    assert made is None
    assert told.rows() == [
        ("key", "the record has no `no`", "catalogue/items.jsonl:1 [/no]"),
    ]
    assert told[0].severity == "violation"


KEYS = [
    # key               what happens
    ("HRL 1866.1.12a",  "object/HRL%201866.1.12a"),
    ("12/3",            "object/12%2F3"),
    ("a:b/c.d",         "object/a%3Ab%2Fc.d"),
    ("Fjärd",           "object/Fj%C3%A4rd"),
    ("Fja\u0308rd",     "object/Fj%C3%A4rd"),   # NFC
    ("50%",             "object/50%25"),
    ("..",              ".."),
    ("../../x",         ".."),
    ("x/./y",           "."),
]  # fmt: skip


@pytest.mark.parametrize(("key", "want"), KEYS)
def test_keys_in_iris(key: str, want: str) -> None:
    made, told = documents(
        with_fields("t: no", 'identified_by: {type: Name, content: "{t}"}'), row(no=key)
    )

    if made:
        assert (made[0].uri, told.rows()) == (BASE + want, [])
    else:
        assert [f.code for f in told] == ["iri"]
        assert told[0].message == f"the key `{key}` has a part `{want}`, which means another folder"


def test_what_choose_makes_is_checked_as_a_path() -> None:
    text = """
        reads:
          key: no
          fields:
            no: no
            uri: {choose: [{when: {no: "1"}, is: "person//{no}"}, {is: "a person/{no}"}]}
        makes: [{id: "{+uri}", type: Person, _label: x}]
    """
    mapping = compiled(text)
    _, first = mapped(mapping, row(no="1"))
    _, second = mapped(mapping, row(no="2"))

    assert (first[0].code, first[0].message) == ("iri", "the path `person//1` has a segment ``")
    assert [f.code for f in second] == ["iri"]


# --- the trace ----------------------------------------------------------------------------


def test_every_value_leads_back_to_its_place() -> None:
    text = """
        reads:
          key: no
          fields:
            no: no
            title: [Title, Old]
            d: {from: Date, as: date}
            s: {from: S, split: ";"}
            m: {together: {id: ids, name: names}, split: "|", lead: id}
        makes:
          - id: "object/{no}"
            type: HumanMadeObject
            _label: "{title} ({no})"
            identified_by:
              - {type: Name, content: "{title}"}
              - {each: s, node: {type: Name, content: "{.}"}}
            produced_by:
              type: Production
              part:
                - role: exposure
                  timespan: {timespan: d}
                  carried_out_by: {each: m, node: {ref: "person/{id}", type: Person, _label: "{name}"}}
    """
    made, _ = documents(
        text, row(no="1", Title="", Old="Pass", Date="1872", S=";a;b", ids="7|8", names="x|y")
    )
    assert [(t.path, t.field, t.place.column) for t in made[0].trace] == [
        ("/id", "no", "no"),
        ("/_label", "title", "Old"),
        ("/_label", "no", "no"),
        ("/identified_by/0/content", "title", "Old"),
        ("/identified_by/1/content", "s", "S"),
        ("/identified_by/2/content", "s", "S"),
        ("/produced_by/part/0/timespan", "d", "Date"),
        ("/produced_by/part/0/carried_out_by/0/id", "m.id", "ids"),
        ("/produced_by/part/0/carried_out_by/1/id", "m.id", "ids"),
    ]
    assert {str(t.place) for t in made[0].trace if t.field == "d"} == {
        "catalogue/items.csv:2 (record 1) [Date]"
    }


def test_every_pointer_of_the_trace_leads_to_a_value() -> None:
    record = js({"no": "1", "makers": [{"id": "1", "kind": "p", "name": "Dolen"}]})
    for draft in documents(MANY, record)[0]:
        for entry in draft.trace:
            node: Any = draft.tree
            for step in entry.path.split("/")[1:]:
                node = node[int(step)] if isinstance(node, list) else node[step]
            assert node


def test_documents_share_no_nodes() -> None:
    mapping = compiled(
        with_fields(
            "t: T",
            'identified_by: {type: Name, content: "{t}", classified_as: {term: primary-name}}',
        )
    )
    first, _ = mapped(mapping, row(no="1", T="a"))
    second, _ = mapped(mapping, row(no="2", T="b"))
    assert first is not None
    assert second is not None
    first.documents[0].tree["identified_by"][0]["classified_as"][0]["_label"] = "changed"

    assert second.documents[0].tree["identified_by"][0]["classified_as"] == [PRIMARY]


def test_the_hash_of_a_row_knows_its_content_not_its_order() -> None:
    text = with_fields("t: T", 'identified_by: {type: Name, content: "{t}"}')
    hashes = [
        documents(text, js(data))[0][0].inputs[0].hash
        for data in (
            {"no": "1", "T": "a"},
            {"T": "a", "no": "1"},
            {"no": "1", "T": "b"},
            {"no": "1", "T": 10**30},
        )
    ]

    assert hashes[0] == hashes[1]
    assert len(set(hashes)) == 3
