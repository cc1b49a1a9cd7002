"""Faults of a mapping file: each with line, column and the nearest right word, all in one run."""

from pathlib import Path
from textwrap import dedent

import pytest
from mapping_help import NODES, compiled, mapped, row, table, with_fields

from lodpipe.errors import ManyErrors, UsageError
from lodpipe.mapping import load
from lodpipe.mapping.language import FIELD, NODE, READS

GOOD = """
reads:
  key: no
  fields:
    no: no
    title: Title
makes:
  - id: "object/{no}"
    type: HumanMadeObject
    _label: "{title}"
"""


def faults(text: str) -> list[tuple[str, str, str]]:
    with pytest.raises(ManyErrors) as caught:
        compiled(text)
    return [(e.where.removeprefix("item.yaml:"), e.message, e.hint) for e in caught.value.errors]


def test_the_good_one_is_good() -> None:
    assert compiled(GOOD).reads.text_columns == frozenset({"no"})


CHANGED = [
    # what is changed in the good one, into what; where, what is told, the hint
    ("reads:", "read:", "1:1", "`read` is not a key of a mapping", "did you mean `reads`?"),
    ("  key: no\n", "", "2:3", "`reads` does not say which field is the `key`", "write `key:` and a field"),
    ("key: no", "key: nr", "2:8", "`nr` is not a field", "known are `no`, `title`"),
    ("title: Title", "title: {form: Title}", "5:13", "`form` is not a key of a field", "did you mean `from`?"),
    ("title: Title", "title: {from: Title, as: dat}", "5:30", "`dat` is not a way to read a value", "did you mean `date`?"),
    ("title: Title", "title: {from: Title, as: text@no/where}", "5:30", "`no/where` is not a language tag", "write a tag of BCP 47: `en`, `de-CH`"),
    ("title: Title", "title: {from: T, unit: cm}", "5:22", "`unit` goes with `as: size` only", ""),
    ("title: Title", "title: {from: T, lead: x}", "5:22", "`lead` goes with a list only", ""),
    ("title: Title", "title: {as: date}", "5:12", "`title` does not say where it stands", "write `from:`"),
    ("title: Title", "title: {from: T, pattern: '(?<=a)b'}", "5:31", "`(?<=a)b` is not a pattern: invalid perl operator: (?<=", "patterns are RE2: without look-around and back-references"),
    ("title: Title", 'title: "$.a["', "5:12", "`$.a[` is not a JSONPath: unexpected end of query", "write it like `$.makers[*].name`"),
    ("title: Title", "title:", "5:5", "where the value stands is not a text", ""),
    ("title: Title", "title: Title\n    old: Old", "6:5", "the field `old` is used nowhere", "use it, or take it out and list where it stands under `dropped`"),
    ("title: Title", "ti{tle: Title", "5:5", "`ti{tle` cannot be the name of a field", "use letters, digits, `_`"),
    ("title: Title", "title: {choose: [{is: a}, {is: b}]}", "5:22", "the cases behind this one are never reached", "give it a `when`"),
    ("title: Title", "title: {choose: [{when: {nr: a}, is: b}]}", "5:30", "`nr` is not a field", "known are `no`, `title`"),
    ("title: Title", "title: {choose: [{when: {no: a}}]}", "5:22", "a case does not say what it gives", "write `is:`"),
    ("title: Title", "title: {choose: [{when: {no: {match: a}}, is: b}]}", "5:35", "`match` is not a key of a condition", "did you mean `matches`?"),
    ("title: Title", "title: {choose: [{when: {no: {lookup: kind}}, is: b}]}", "5:43", "there is no table `kind`", "did you mean `kinds`?"),
    ("  fields:\n", "  dropped: {Loc: ''}\n  fields:\n", "3:13", "`Loc` is dropped without a reason", "say why"),
    ("makes:", "makse:", "6:1", "`makse` is not a key of a mapping", "did you mean `makes`?"),
    ('"object/{no}"', '"object/{nr}"', "7:9", "`nr` is not a field", "known are `no`, `title`"),
    ('"object/{no}"', '"object/{no"', "7:9", "a single `{` in `object/{no`", "write `{{` or `}}` for a brace"),
    ('"object/{no}"', '"object//{no}"', "7:9", "the path `object//x` has a segment ``", ""),
    ('"object/{no}"', '"an object/{no}"', "7:9", "`https://collections.example.org/an object/x` is not an IRI: U+0020 space at character 35", None),
    ('"object/{no}"', '"object/{+no}"', "7:9", "`{+no}` is not made by `choose`", "write `{no}`, which is encoded, or make it with `choose`"),
    ('"object/{no}"', '"object/{^no}"', "7:9", "`^no` looks into a record above, and records do not lie in one another", "only XML records do, with `records: //name`"),
    ('"{title}"', "{title}", "9:13", "`{title}` is not quoted", 'quote the placeholder: "{title}"'),
    ('"{title}"', "{^title}", "9:13", "`{^title}` is not quoted", 'quote the placeholder: "{^title}"'),
    ('"{title}"', '"{+title}"', "9:13", "`{+title}` in a text", "write `{title}`"),
    ('"{title}"', '"{}"', "9:13", "`{}` names no field", ""),
    ("type: HumanMadeObject", "type: HumanMadeObjekt", "8:11", "`HumanMadeObjekt` is not a class of Linked Art", "did you mean `HumanMadeObject`?"),
    ("    type: HumanMadeObject\n", "", "7:5", "the node has no `type`", "name its class of Linked Art"),
    ('    _label: "{title}"\n', '    lable: "{title}"\n', "9:5", "`lable` is not a key of HumanMadeObject", None),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "where", "message", "hint"), CHANGED)
def test_one_fault(old: str, new: str, where: str, message: str, hint: str | None) -> None:
    assert GOOD.count(old) == 1
    found = faults(GOOD.replace(old, new))

    assert (where, message) in [(w, m) for w, m, _ in found]
    if hint is not None:
        assert (where, message, hint) in found


NODE_FAULTS = [
    # keys of the document; where (they begin in line 10), what is told, the hint
    ('identfied_by: {type: Name, content: "{t}"}', "10:5", "`identfied_by` is not a key of HumanMadeObject", "did you mean `identified_by` or `modified_by` or `destroyed_by`?"),
    ('identified_by: {type: Name, contents: "{t}"}', "10:33", "`contents` is not a key of Name", "did you mean `content`?"),
    ('identified_by: {content: "{t}"}', "10:20", "the node has no `type`", "name its class of Linked Art"),
    ('born: {type: Birth, _label: "{t}"}', "10:5", "`born` is not a key of HumanMadeObject", "it is one of Person"),
    ('identified_by: "{t}"', "10:20", "`identified_by` takes a node, not a text", "write {term: ...}, {ref: ...}, {lookup: ...} or a node with a `type`"),
    ('identified_by: {type: Name, content: "{t}", language: xx}', "10:59", "the language `xx` has no concept", "add a line `language/xx` to mappings/vocab/concepts.csv"),
    ("classified_as: {term: primry-name}", "10:27", "`primry-name` is not a term of ours", "did you mean `primary-name` or `former-name` or `display-name`?"),
    ("classified_as: {lookup: kinds}", "10:20", "the lookup does not say of what", "write `from:` and a field"),
    ("classified_as: {lookup: kinds, from: tt}", "10:42", "`tt` is not a field", "did you mean `t`?"),
    ("referred_to_by: {type: LinguisticObject, content: {lookup: kinds, from: t, column: labl}}", "10:88", "the table `kinds` has no column `labl`", "did you mean `label`?"),
    ("classified_as: {lookup: qualifiers, from: t, column: role}", "10:20", "`classified_as` takes a node, not a text", "leave `column` out"),
    ("classified_as: {lookup: qualifiers, from: t}", "10:20", "the table `qualifiers` names no concepts", "give it the columns `iri` and `label`, or ask for a `column`"),
    ('part_of: {ref: "object/{t}"}', "10:14", "the reference has no `type`", "name the class it leads to"),
    ('part_of: {ref: "object/{t}", typ: Set}', "10:34", "`typ` is not a key of a reference", "did you mean `type`?"),
    ('part_of: [{ref: "object/{t}", type: HumanMadeObject}]', "10:14", "`part_of` of HumanMadeObject takes one value, not a list", ""),
    ("produced_by: {type: Production, timespan: {timespan: t}}", "10:58", "`t` is not read as a date", "write `t: {from: ..., as: date}`"),
    ("dimension: {size: t}", "10:23", "`t` is not read as a size", "write `t: {from: ..., as: size}`"),
    ("produced_by: {type: Production, part: [{role: exposing}]}", "10:51", "`role/exposing` is not a term of ours", None),
    ("produced_by: {type: Production, part: [{role: mounting, type: Production}]}", "10:67", "the role `mounting` belongs to a Modification", ""),
    ('identified_by: {each: no, node: {type: Name, content: "{t}"}}', "10:59", "`t` is not a field of `no`", "one level out it is written `^t`"),
    ('identified_by: {node: {type: Name, content: "{t}"}}', "10:21", "`node` goes with `each` or `when`", ""),
    ('identified_by: {when: {t: present}, node: {type: Name, content: "{t}"}, x: y}', "10:77", "`x` is not a key of a node that has a `node`", None),
    ('identified_by: {when: {t: }, type: Name, content: "{t}"}', "10:28", "a test without a value", "write `absent` for no value"),
    ('identified_by: {type: Name, content: true}', "10:42", "`true` under `content`", "write a text, or leave the key out"),
    ('identified_by: {type: Name, content: }', "10:33", "nothing under `content`", "write a text, or leave the key out"),
    ('identified_by: {type: Name, content: "{t.printed}"}', "10:42", "`t.printed` is not a field", None),
]  # fmt: skip


@pytest.mark.parametrize(("body", "where", "message", "hint"), NODE_FAULTS)
def test_faults_of_nodes(body: str, where: str, message: str, hint: str | None) -> None:
    found = faults(with_fields("t: T", body))

    assert (where, message) in [(w, m) for w, m, _ in found]
    if hint is not None:
        assert (where, message, hint) in found


ENTRIES = [
    # an entry of claims or layout; what is told
    ("claims", "{about: 'object/{no}', value: 'person/{t}'}", ["the claim has no `aspect`"]),
    ("claims", "{aspect: maker, value: 'person/{t}'}", ["the claim has no `about`"]),
    ("claims", "{about: 'object/{no}', aspect: maker}", ["the claim has neither `value` nor `value_text`"]),
    ("claims", "{about: 'object/{no}', aspect: maler, value: 'person/{t}'}", ["`maler` is not an aspect"]),
    ("claims", "{about: 'object/{no}', aspect: maker, value: 'p/{t}', standing: past}", ["`past` is not a standing"]),
    ("claims", "{about: 'object/{no}', aspect: maker, value: 'p/{t}', qualifier: perhaps}", ["`perhaps` is not a qualifier"]),
    ("claims", "{about: 'object/{no}', aspect: maker, value: 'p/{t}', certainty: 1}", ["`certainty` is not a key of a claim"]),
    ("layout", "{thing: 'object/{no}', path: '{t}'}", ["the entry does not name its `file`"]),
    ("layout", "{file: image, thing: 'object/{no}', path: '{t}'}", ["`image` is not a layout file"]),
    ("layout", "{file: layout, thing: 'object/{no}', order: '{t}'}", ["the row has no `on`"]),
    ("layout", "{file: images, thing: 'object/{no}', url: '{t}'}", ["`url` is not a key of a row of images.csv"]),
]  # fmt: skip


@pytest.mark.parametrize(("section", "entry", "want"), ENTRIES)
def test_faults_of_claims_and_layout(section: str, entry: str, want: list[str]) -> None:
    text = f"reads: {{key: no, fields: {{no: no, t: T}}}}\n{section}:\n  - {entry}\n"

    assert [message for _, message, _ in faults(text)] == want


def test_all_faults_are_told_in_one_run_in_their_order() -> None:
    text = """
        reads:
          key: nr
          fields:
            no: {frm: no}
            title: {from: Title, as: txt}
        makes:
          - id: "object/{no}"
            type: Thing
            _label: {title}
            identified_by: [{type: Nmae, content: "{titel}"}]
        claim: []
    """
    found = faults(text)

    assert [where for where, *_ in found] == [
        "2:8", "4:10", "5:30", "7:9", "8:11", "9:13", "10:28", "10:43", "11:1",
    ]  # fmt: skip


def test_a_part_of_a_date_that_no_text_tells_of() -> None:
    body = "produced_by: {type: Production, timespan: {timespan: d.prnted}}"

    assert faults(with_fields("d: {from: D, as: date}", body)) == [
        (
            "10:58",
            "`prnted` is not a part of a date",
            "did you mean `printed` or `reprinted` or `painted`?",
        )
    ]


def test_a_list_within_together_is_refused() -> None:
    found = faults(
        with_fields(
            'm: {together: {a: {from: A, split: ";"}, b: B}, lead: c}',
            'identified_by: {each: m, node: {type: Name, content: "{b}"}}',
        )
    )

    assert tuple(message for _, message, _ in found)[:2] == (
        "`a` is a list within `together`",
        "`c` is not a column of `together`",
    )


def test_a_placeholder_of_a_list_says_what_to_do() -> None:
    found = faults(
        with_fields('s: {from: S, split: ";"}', 'identified_by: {type: Name, content: "{s}"}')
    )

    assert [(m, h) for _, m, h in found] == [
        ("`s` is a list", "go over it with `each: s`, and use its elements")
    ]


def test_a_file_that_is_not_there() -> None:
    with pytest.raises(UsageError, match=r"the mapping `x\.yaml` cannot be read: No such file"):
        load(Path("nowhere/x.yaml"), "x.yaml", nodes=NODES, tables=table)


def test_a_file_that_is_not_utf8(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes("reads: {key: Fjärd}".encode("cp1252"))
    with pytest.raises(UsageError, match=r"the mapping `x\.yaml` is not UTF-8: byte 16"):
        load(path, "x.yaml", nodes=NODES, tables=table)


def test_a_file_is_read_and_its_hash_depends_on_it(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    hashes = set()
    for text in (GOOD, GOOD.replace("Title", "Titel")):
        path.write_text(text.lstrip(), encoding="utf-8-sig")
        hashes.add(load(path, "x.yaml", nodes=NODES, tables=table).hash)

    assert len(hashes) == 2


def test_every_key_is_explained() -> None:
    for words in (READS, FIELD, NODE):
        for name, word in words.items():
            assert word.means.endswith("."), name


def test_text_columns_are_the_key_and_the_dates() -> None:
    mapping = compiled(
        with_fields(
            "d: {from: [D, Date], as: date}\nn: {from: N, as: number}",
            'identified_by: {type: Name, content: "{d} {n}"}',
        )
    )

    assert mapping.reads.text_columns == frozenset({"no", "D", "Date"})


def test_reads_says_where_records_are() -> None:
    text = """
        reads:
          records: /x:items/x:item
          sheet: Items
          namespaces: {x: "urn:x"}
          key: no
          fields: {no: "@no"}
        makes: [{id: "object/{no}", type: HumanMadeObject, _label: x}]
    """
    reads = compiled(text).reads

    assert (reads.records, reads.sheet, reads.namespaces) == (
        "/x:items/x:item",
        "Items",
        {"x": "urn:x"},
    )


def test_anchors_save_repeating() -> None:
    text = with_fields(
        "a: A\nb: B",
        """
        identified_by: &names [{type: Name, content: "{a} {b}"}]
        referred_to_by: [{type: LinguisticObject, content: "{a}", identified_by: *names}]
        """,
    )
    made, _ = mapped(compiled(text), row(no="1", A="x", B="y"))
    assert made is not None

    assert made.documents[0].tree["referred_to_by"][0]["identified_by"][0]["content"] == "x y"
    assert dedent(text)
