"""Sources of each format: which records they give, with which places, and what is said of faults."""

import gzip
import io
import json
from pathlib import Path
from typing import Any

import ijson
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from lodpipe.errors import UsageError
from lodpipe.findings import Finding
from lodpipe.project import Limits
from lodpipe.read import FORMATS, ReadOptions, records, unreadable_finding
from lodpipe.read.json_path import pointer_of, steps_of
from lodpipe.records import Place, Record, Unreadable, nesting_of

SMALL = Limits(field_chars=50, record_chars=200, nesting=4)
NAMESPACES = {"l": "urn:list", "d": "urn:detail"}


def read(
    folder: Path, name: str, content: bytes | str, limits: Limits = SMALL, **options: Any
) -> tuple[list[Any], list[Finding]]:
    """Write a file and read it; XML records are given as text, since they do not last."""
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    found: list[Finding] = []
    rows = [
        (str(row.place), row.reason)
        if isinstance(row, Unreadable)
        else (str(row.origin), xml_text(row.data) if row.form == "xml" else row.data)
        for row in records(path, name, ReadOptions(**options), limits, found.append)
    ]
    return rows, found


def xml_text(element: etree._Element) -> str:
    return etree.tostring(element, encoding="unicode", with_tail=False)


# --- the registry -------------------------------------------------------------------------

ENDINGS = [
    ("a.csv", "a,b\n1,2\n"), ("a.tsv", "a\tb\n1\t2\n"), ("a.TAB", "a\tb\n1\t2\n"),
    ("a.jsonl", '{"a":"1","b":"2"}\n'), ("a.ndjson", '{"a":"1","b":"2"}\n'),
    ("a.json", '[{"a":"1","b":"2"}]'),
]  # fmt: skip


@pytest.mark.parametrize(("name", "content"), ENDINGS)
def test_the_ending_decides(tmp_path: Path, name: str, content: str) -> None:
    plain, _ = read(tmp_path, name, content)
    packed, _ = read(tmp_path, name + ".gz", gzip.compress(content.encode()))

    assert [data for _, data in plain] == [data for _, data in packed] == [{"a": "1", "b": "2"}]


WRONG_OPTIONS = [
    ("a.txt", {}, "the ending of `a.txt` does not say what format it has",
     'declare `format`, one of "csv", "tsv", "xlsx", "json", "jsonl", "xml", "marc"'),
    ("a.csv", {"format": "cvs"}, "`cvs` is not a format, declared for `a.csv`",
     "did you mean `csv`?"),
    ("a.csv", {"records": "$[*]"}, "`records` does not belong to CSV, declared for `a.csv`",
     "take it out"),
    ("a.json", {"delimiter": ";"}, "`delimiter` does not belong to JSON, declared for `a.json`",
     "take it out"),
    ("a.jsonl", {"sheet": "x"}, "`sheet` does not belong to JSONL, declared for `a.jsonl`",
     "take it out"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "options", "message", "hint"), WRONG_OPTIONS)
def test_wrong_options(
    tmp_path: Path, name: str, options: dict[str, str], message: str, hint: str
) -> None:
    with pytest.raises(UsageError) as error:
        read(tmp_path, name, "a\n", **options)

    assert (error.value.message, error.value.hint) == (message, hint)


def test_a_declared_format_wins_over_the_ending(tmp_path: Path) -> None:
    rows, _ = read(tmp_path, "a.txt", "a;b\n1;2\n", format="csv", delimiter=";")

    assert rows == [("a.txt:2 (record 1)", {"a": "1", "b": "2"})]


@pytest.mark.parametrize("kind", FORMATS)
def test_a_missing_file_is_named(tmp_path: Path, kind: str) -> None:
    options = ReadOptions(format=kind, records="//a" if kind == "xml" else "")

    with pytest.raises(UsageError, match="there is no file `catalogue/x`"):
        list(records(tmp_path / "x", "catalogue/x", options, SMALL, print))


def test_the_finding_of_an_unreadable_record() -> None:
    place = Place("a.csv", 3, 2)

    assert unreadable_finding(Unreadable(place, "why", "cure", "too-long")) == Finding(
        "too-long", "why", place, hint="cure"
    )


# --- JSON ---------------------------------------------------------------------------------

JSON = [
    # path, document, place and value of each record
    ("", "[1, 2]", [("a.json:1 [/0]", 1), ("a.json:1 (record 2) [/1]", 2)]),
    ("", '{"a": [1]}', [("a.json:1", {"a": [1]})]),
    ("$", "[1]", [("a.json:1", [1])]),
    ("", "[]", []),
    ("$.o[*]", '{"n": {"o": [9]},\n "o": [\n{"k": "}"},\n{}], "p": "]"}',
     [("a.json:3 (record 1) [/o/0]", {"k": "}"}), ("a.json:4 (record 2) [/o/1]", {})]),
    ("$.o[*]", '{"o": []}', []),
    ("$.o.*", '{"o": {"x": 1, "a/b~": 2}}',
     [("a.json:1 [/o/x]", 1), ("a.json:1 (record 2) [/o/a~1b~0]", 2)]),
    ("$['a b'][1]", '{"a b": [5, [6], 7]}', [("a.json:1 [/a b/1]", [6])]),
    ('$["a\\"b"]', '{"a\\"b": 1}', [('a.json:1 [/a"b]', 1)]),
    ("$['it\\'s']", '{"it\'s": 1}', [("a.json:1 [/it's]", 1)]),
    ("$.o[*].p[*]", '{"o": [{"p": [1]}, {}, 3, {"p": [2, 3]}]}',
     [("a.json:1 [/o/0/p/0]", 1), ("a.json:1 (record 2) [/o/3/p/0]", 2),
      ("a.json:1 (record 3) [/o/3/p/1]", 3)]),
    ("", '["\\\\", "\\"", "\\u00e9", -1.5e3, true, null]',
     [("a.json:1 [/0]", "\\"), ("a.json:1 (record 2) [/1]", '"'), ("a.json:1 (record 3) [/2]", "é"),
      ("a.json:1 (record 4) [/3]", -1500.0), ("a.json:1 (record 5) [/4]", True),
      ("a.json:1 (record 6) [/5]", None)]),
]  # fmt: skip


@pytest.mark.parametrize(("path", "document", "expected"), JSON)
def test_json(tmp_path: Path, path: str, document: str, expected: list[Any]) -> None:
    rows, found = read(tmp_path, "a.json", document, records=path)

    assert rows == expected
    assert found == []


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-32"])
def test_json_by_its_mark(tmp_path: Path, encoding: str) -> None:
    rows, _ = read(tmp_path, "a.json", '["é𝄞"]'.encode(encoding))

    assert rows == [("a.json:1 [/0]", "é𝄞")]


def test_json_in_a_declared_encoding(tmp_path: Path) -> None:
    rows, _ = read(tmp_path, "a.json", '["é"]'.encode("cp1252"), encoding="cp1252")

    assert rows == [("a.json:1 [/0]", "é")]


BROKEN_JSON = [
    # document, what each record gives; the last one stands for the rest
    ('[{"a": 1}, {"a": "\\q"}, {"a": 3}]',
     [{"a": 1}, "the record is not JSON: invalid escaped sequence in string", {"a": 3}]),
    ('[1, "\\ud800", 3]', [1, "the record is not JSON: no low surrogate in string", 3]),
    ("[1, NaN, 3]", [1, "the record is not JSON: unexpected character, expected a JSON value", 3]),
    ('[{"a": 1]}, 2]', ["the record is not JSON: unexpected character, expected ',' or '}'",
     "`}` stands here in place of `,` or `]`; what follows cannot be read"]),
    ("[1, [[[[[5]]]]], 3]", [1, "the record is nested 5 deep, more than 4", 3]),
    ("[1, [[[[4]]]], 3]", [1, [[[[4]]]], 3]),
    (f'[1, "{"x" * 51}", 3]', [1, "a value of 51 characters is longer than the limit of 50", 3]),
    (f'[1, "{"x" * 500}", 3]', [1, "the record is longer than the limit of 200", 3]),
    ('[1, {"a": "%s", "b": "]"}, 3]' % ("\\\\\\\"" * 90_000),
     [1, "the record is longer than the limit of 200", 3]),
    ('[1, "%s", 3]' % ("\\\\\\\"" * 90_000),
     [1, "the record is longer than the limit of 200", 3]),
    ("[1, [%s1], 3]" % ("1," * 90_000), [1, "the record is longer than the limit of 200", 3]),
    ("[1 2]", [1, "`2` stands here in place of `,` or `]`; what follows cannot be read"]),
    ("[1, 2", [1, 2, "the file ends here, inside the document; what follows cannot be read"]),
    ("[1, ", [1, "the file ends here, inside the document; what follows cannot be read"]),
    ("[1, ]", [1, "`]` stands in place of a value; what follows cannot be read"]),
    ('[1, {"a": 2', [1, "the file ends inside the record that begins here; what follows cannot be read"]),
    ('[1, "a', [1, "the file ends inside the text that begins here; what follows cannot be read"]),
    ("[1] 2", [1, "text follows the end of the document; what follows cannot be read"]),
]  # fmt: skip


@pytest.mark.parametrize(("document", "expected"), BROKEN_JSON)
def test_broken_json(tmp_path: Path, document: str, expected: list[Any]) -> None:
    rows, _ = read(tmp_path, "a.json", document)

    assert [data for _, data in rows] == expected


def test_a_broken_document_says_where(tmp_path: Path) -> None:
    rows, _ = read(tmp_path, "a.json", '{"o": [\n1,\n2\n3]}', records="$.o[*]")

    assert rows[-1] == (
        "a.json:4 (record 3)",
        "`3` stands here in place of `,` or `]`; what follows cannot be read",
    )


JSON_REFUSED = [
    ("a.json", b"", "", "`a.json` is empty",
     "look whether it is the right file, and whether it was saved whole"),
    ("a.json", b" \n", "", "`a.json` is empty",
     "look whether it is the right file, and whether it was saved whole"),
    ("a.json", b'["\xe9"]', "", "`a.json` is not UTF-8: byte 0xe9 in line 1 (byte 3 of the file)",
     'declare what it is, for example `encoding = "cp1252"`, or `--encoding cp1252`'),
    ("a.json", b'{"objetcs": []}', "$.objects[*]",
     "`records` leads nowhere in `a.json`: `objects` is not there", "did you mean `objetcs`?"),
    ("a.json", b'{"x": 1, "y": 2}', "$.objects[*]",
     "`records` leads nowhere in `a.json`: `objects` is not there", "there is `x`, `y`"),
    ("a.json", b"[1]", "$[3]", "`records` leads nowhere in `a.json`: `3` is not there", ""),
    ("a.json", b"[]", "objects",
     "`objects` is not a JSONPath, declared as `records` of `a.json`", "begin with `$`: `$.objects[*]`"),
    ("a.json", b"[]", "$..x",
     "`..x` in `$..x` cannot be followed in a stream, declared as `records` of `a.json`",
     "write member names, `[*]` and indexes only, such as `$.objects[*]`"),
    ("a.json", b"[]", "$[-1]",
     "`[-1]` in `$[-1]` cannot be followed in a stream, declared as `records` of `a.json`",
     "write member names, `[*]` and indexes only, such as `$.objects[*]`"),
    ("a.json", b"[]", "$[?@.a]",
     "`[?@.a]` in `$[?@.a]` cannot be followed in a stream, declared as `records` of `a.json`",
     "write member names, `[*]` and indexes only, such as `$.objects[*]`"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "content", "path", "message", "hint"), JSON_REFUSED)
def test_json_refused(
    tmp_path: Path, name: str, content: bytes, path: str, message: str, hint: str
) -> None:
    with pytest.raises(UsageError) as error:
        read(tmp_path, name, content, records=path)

    assert (error.value.message, error.value.hint) == (message, hint)


json_value = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.text(max_size=8)
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=4), inner, max_size=4),
    max_leaves=12,
)  # fmt: skip


class Drip(io.BytesIO):
    """Gives a few bytes at a time, so that every token meets the end of a buffer."""

    def read(self, size: int | None = -1, /) -> bytes:
        return super().read(3)


@settings(deadline=None)
@given(st.lists(json_value, max_size=4), st.booleans(), st.sampled_from([None, 1]))
def test_records_are_those_of_an_event_parser(
    values: list[Any], ascii_only: bool, indent: int | None
) -> None:
    from lodpipe.read.json_ import _Document  # the buffer is not for callers to choose

    text = json.dumps({"a": 0, "o": values, "z": []}, ensure_ascii=ascii_only, indent=indent)
    try:
        content = text.encode()
    except UnicodeEncodeError:
        content = text.encode("utf-8", "replace")
    document = _Document("a.json", Drip(content), Limits())  # type: ignore[arg-type]
    got = [row.data for row in document.records(("o", None)) if isinstance(row, Record)]

    assert got == list(ijson.items(io.BytesIO(content), "o.item", use_float=True))
    assert document.line == content.count(b"\n") + 1


@given(json_value)
def test_nesting(value: Any) -> None:
    def by_recursion(value: Any) -> int:
        inner = value.values() if isinstance(value, dict) else value
        return 1 + max(map(by_recursion, inner), default=0) if isinstance(value, dict | list) else 0

    assert nesting_of(value) == by_recursion(value)


@given(st.lists(st.text(max_size=5), max_size=3))
def test_paths_of_any_name(names: list[str]) -> None:
    path = "$" + "".join(f"[{json.dumps(name)}]" for name in names)

    assert steps_of(path, "a.json") == tuple(names)


def test_pointer() -> None:
    # https://www.rfc-editor.org/rfc/rfc6901#section-5
    assert [pointer_of(keys) for keys in [(), ("foo", 0), ("",), ("a/b",), ("m~n",)]] == [
        "", "/foo/0", "/", "/a~1b", "/m~0n",
    ]  # fmt: skip


# --- JSON Lines ---------------------------------------------------------------------------


def test_json_lines(tmp_path: Path) -> None:
    lines = [
        '{"a": 1}', "", '{"a": 2', "  ", '{"a": "\\ud800"}', "[[[[[5]]]]]", "[[[[[[1]]]],[]],2]",
        '["[[[[[[[["]', f'"{"x" * 60}"', f'["{"x" * 400}"]', '"\\u0000"', "3",
    ]  # fmt: skip
    rows, found = read(tmp_path, "a.jsonl", "\n".join(lines))

    assert rows == [
        ("a.jsonl:1", {"a": 1}),
        ("a.jsonl:3 (record 2)", "the record is not JSON: unexpected end of data"),
        ("a.jsonl:5 (record 3)", "the record is not JSON: no low surrogate in string"),
        ("a.jsonl:6 (record 4)", "the record is nested 5 deep, more than 4"),
        ("a.jsonl:7 (record 5)", "the record is nested 6 deep, more than 4"),
        ("a.jsonl:8 (record 6)", ["[[[[[[[["]),
        ("a.jsonl:9 (record 7)", "a value of 60 characters is longer than the limit of 50"),
        ("a.jsonl:10 (record 8)", "the record is longer than the limit of 200"),
        ("a.jsonl:11 (record 9)", "\0"),
        ("a.jsonl:12 (record 10)", 3),
    ]
    assert [(f.code, str(f.place), f.message) for f in found] == [
        ("blank-row", "a.jsonl:2", "2 blank rows are passed over, this is the first")
    ]


def test_json_lines_nested_beyond_the_parser(tmp_path: Path) -> None:
    rows, _ = read(tmp_path, "a.jsonl", "[" * 5000 + "]" * 5000 + "\n1\n", limits=Limits())

    assert [data for _, data in rows] == [
        "the record is not JSON: depth limit exceeded", 1,
    ]  # fmt: skip


def test_json_lines_wrong_encoding(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"`a.jsonl` is not UTF-8: byte 0xe9 in line 2 \(byte 4 "):
        read(tmp_path, "a.jsonl", b'1\n"\xe9"\n')


def test_json_lines_declared_and_marked(tmp_path: Path) -> None:
    declared, _ = read(tmp_path, "a.jsonl", b'"\xe9"\n', encoding="cp1252")
    marked, _ = read(tmp_path, "a.jsonl", '"é"\n'.encode("utf-16"))

    assert declared == marked == [("a.jsonl:1", "é")]


def test_json_lines_damaged(tmp_path: Path) -> None:
    content = gzip.compress(b"".join(b'{"a": %d}\n' % number for number in range(50_000)))
    rows, _ = read(tmp_path, "a.jsonl.gz", content[:-5000])

    assert rows[-1][1].startswith("the compressed file is damaged here: ")
    assert len(rows) > 1000


# --- XML ----------------------------------------------------------------------------------

LIST = """<list xmlns="urn:list" xmlns:d="urn:detail"><house>Sorn Museum</house>
<item no="1"><title>Pass</title><!-- note --><d:size>10</d:size></item>
<other/>
<item no="2">a &amp; b<![CDATA[ & c]]></item>
</list>"""

XML = [
    # path, document, place and text of each record
    ("/l:list/l:item", LIST, [
        ("a.xml:2 (record 1) [(/l:list/l:item)[1]]",
         '<item xmlns="urn:list" xmlns:d="urn:detail" no="1"><title>Pass</title><d:size>10</d:size></item>'),
        ("a.xml:4 (record 2) [(/l:list/l:item)[2]]",
         '<item xmlns="urn:list" xmlns:d="urn:detail" no="2">a &amp; b &amp; c</item>'),
    ]),
    ("//d:size", LIST, [("a.xml:2 (record 1) [(/l:list/l:item/d:size)[1]]",
                         '<d:size xmlns:d="urn:detail" xmlns="urn:list">10</d:size>')]),
    ("l:list//d:*", LIST, [("a.xml:2 (record 1) [(/l:list/l:item/d:size)[1]]",
                            '<d:size xmlns:d="urn:detail" xmlns="urn:list">10</d:size>')]),
    ("/r/*", "<r><a/><b/></r>", [("a.xml:1 [(/r/a)[1]]", "<a/>"), ("a.xml:1 (record 2) [(/r/b)[2]]", "<b/>")]),
    ("/r", "<r><r/></r>", [("a.xml:1 [(/r)[1]]", "<r><r/></r>")]),
    ("/r/r", "<r><r/></r>", [("a.xml:1 [(/r/r)[1]]", "<r/>")]),
    ("r//a", "<r><b><a>1</a></b><a>2</a></r>",
     [("a.xml:1 [(/r/b/a)[1]]", "<a>1</a>"), ("a.xml:1 (record 2) [(/r/a)[2]]", "<a>2</a>")]),
]  # fmt: skip


@pytest.mark.parametrize(("path", "document", "expected"), XML)
def test_xml(tmp_path: Path, path: str, document: str, expected: list[Any]) -> None:
    rows, found = read(tmp_path, "a.xml", document, records=path, namespaces=NAMESPACES)

    assert rows == expected
    assert found == []


def test_records_in_one_another_come_whole_and_in_order(tmp_path: Path) -> None:
    (tmp_path / "a.xml").write_text(
        "<r><where>Ketterholm</where><c n='1'><c n='2'/><t>late</t><c n='3'><c n='4'/></c></c><c n='5'/></r>"
    )
    seen = []
    options = ReadOptions(records="//c")
    for row in records(tmp_path / "a.xml", "a.xml", options, Limits(), print):
        assert isinstance(row, Record)
        element = row.data
        outer = [above.get("n") for above in element.iterancestors("c")]
        seen.append((element.get("n"), outer, element.xpath("string(ancestor::*[last()]/where)")))

    assert seen == [
        ("1", [], "Ketterholm"), ("2", ["1"], "Ketterholm"), ("3", ["1"], "Ketterholm"),
        ("4", ["3", "1"], "Ketterholm"), ("5", [], "Ketterholm"),
    ]  # fmt: skip


def test_an_inner_record_sees_what_follows_it_in_its_ancestor(tmp_path: Path) -> None:
    (tmp_path / "a.xml").write_text("<r><c><c/><t>late</t></c></r>")
    options = ReadOptions(records="//c")
    seen = [
        row.data.xpath("string(ancestor::c/t)")
        for row in records(tmp_path / "a.xml", "a.xml", options, Limits(), print)
        if isinstance(row, Record)
    ]

    assert seen == ["", "late"]


def test_done_records_and_containers_are_forgotten(tmp_path: Path) -> None:
    boxes = "".join(
        f"<box><name>{box}</name>" + "<c><t>x</t></c>" * 3 + "</box>" for box in range(2000)
    )
    (tmp_path / "a.xml").write_text(f"<r><house>Sorn</house>{boxes}</r>")
    options = ReadOptions(records="/r/box/c")
    names, before = [], []
    for row in records(tmp_path / "a.xml", "a.xml", options, Limits(), print):
        assert isinstance(row, Record)
        names.append(row.data.getparent().findtext("name"))
        before.append(len(list(row.data.getparent().itersiblings(preceding=True))))
        assert row.data.xpath("string(/r/house)") == "Sorn"

    assert names == [str(box) for box in range(2000) for _ in range(3)]
    assert max(before) <= 2


ENTITY = '<!DOCTYPE r [<!ENTITY x "boo"><!ENTITY e SYSTEM "file:///etc/hostname">]>'

XML_LEFT_OUT = [
    # document, what each record gives
    (f"{ENTITY}<r><a>1</a><a>&e;</a><a>3</a></r>", ["<a>1</a>", "the entity `&e;` is not read", "<a>3</a>"]),
    (f"{ENTITY}<r><a>1</a><a><b>&x;</b></a><a>3</a></r>", ["<a>1</a>", "the entity `&x;` is not read", "<a>3</a>"]),
    (f"{ENTITY}<r><a b='&x;'>1</a><a b='&amp;x;'>2</a></r>", ["the entity `&x;` is not read", '<a b="&amp;x;">2</a>']),
    (f"{ENTITY}<r><a><![CDATA[&x;]]></a></r>", ["<a>&amp;x;</a>"]),
    ('<!DOCTYPE r SYSTEM "http://example.org/r.dtd"><r><a>&x;</a><a>2</a></r>',
     ["the entity `&x;` is not read", "<a>2</a>"]),
    ("<r><a>1</a><a>&nbsp;</a><a>3</a></r>",
     ["<a>1</a>", "the document is broken here: Entity 'nbsp' not defined; what follows cannot be read"]),
    ("<r><a>1</a><a><b></a></r>",
     ["<a>1</a>", "the document is broken here: Opening and ending tag mismatch: b line 1 and a; "
      "what follows cannot be read"]),
    ("<r><a>1</a><a>\x01</a></r>",
     ["<a>1</a>", "the document is broken here: PCDATA invalid Char value 1; what follows cannot be read"]),
    ("<r><a>1</a><a><b><b><b><b><b/></b></b></b></b></a><a>3</a></r>",
     ["<a>1</a>", "the record is nested deeper than 4", "<a>3</a>"]),
    (f"<r><a>1</a><a><b c='{'x' * 51}'/></a><a>3</a></r>",
     ["<a>1</a>", "a value of 51 characters is longer than the limit of 50", "<a>3</a>"]),
]  # fmt: skip


@pytest.mark.parametrize(("document", "expected"), XML_LEFT_OUT)
def test_xml_that_cannot_be_read(tmp_path: Path, document: str, expected: list[str]) -> None:
    rows, found = read(tmp_path, "a.xml", document, records="/r/a")

    assert [data for _, data in rows] == expected
    assert found == []


def test_an_entity_of_an_attribute_that_nothing_declares_is_reported(tmp_path: Path) -> None:
    document = '<!DOCTYPE r SYSTEM "http://example.org/r.dtd"><r>\n<a>&x;</a><a b="&y;"/></r>'
    rows, found = read(tmp_path, "a.xml", document, records="/r/a")

    assert [data for _, data in rows] == ["the entity `&x;` is not read", '<a b=""/>']
    assert [(f.code, str(f.place), f.message) for f in found] == [
        ("value", "a.xml:2", "the entity `&y;` is not read: what it stands for is missing here")
    ]


def test_a_growing_entity_is_never_expanded(tmp_path: Path) -> None:
    # the "billion laughs" attack, in a text and in an attribute
    declared = '<!ENTITY a0 "ha">' + "".join(
        f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10)
    )
    for body in ("<a>&a9;</a>", "<a b='&a9;'/>"):
        rows, _ = read(tmp_path, "a.xml", f"<!DOCTYPE r [{declared}]><r>{body}</r>", records="/r/a")

        assert [data for _, data in rows] == [
            "the document is broken here: Maximum entity amplification factor exceeded, "
            "see xmlCtxtSetMaxAmplification.; what follows cannot be read"
        ]


def test_a_record_larger_than_the_limit_is_passed_over(tmp_path: Path) -> None:
    limits = Limits(record_chars=100_000, field_chars=1000)
    large = "<a>" + "<b><c>x</c><c>y</c></b>" * 20_000 + "</a>"
    rows, _ = read(tmp_path, "a.xml", f"<r><a>1</a>{large}<a>3</a></r>", limits, records="/r/a")

    assert [data for _, data in rows] == [
        "<a>1</a>", "the record is longer than the limit of 100,000", "<a>3</a>",
    ]  # fmt: skip


def test_much_that_is_no_record_ends_the_reading(tmp_path: Path) -> None:
    limits = Limits(record_chars=100_000)
    much = "<b>x</b>" * 50_000
    rows, _ = read(tmp_path, "a.xml", f"<r><a>1</a>{much}</r>", limits, records="/r/a")

    assert [data for _, data in rows] == [
        "<a>1</a>", "no record begins in what follows here; what follows cannot be read",
    ]  # fmt: skip


XML_REFUSED = [
    # content, options, message, hint
    (b"<r/>", {}, "the mapping does not say which elements of `a.xml` are records",
     "write `records` under `reads`, such as `records: /list/item`"),
    (b"<r/>", {"records": "/r/a"}, "`records` leads nowhere in `a.xml`: `/r/a` is not there", "write the path from the root on, such as `/list/object`"),
    (b"<r/>", {"records": "/r/a[1]"},
     "`[1]` in `/r/a[1]` cannot be followed while reading, declared as `records` of `a.xml`",
     "write element names joined by `/` or `//`, such as `/list/item`"),
    (b"<r/>", {"records": "/m:r", "namespaces": {"n": "urn:n"}},
     "the prefix `m` of `m:r` has no namespace, in `records` of `a.xml`",
     "declare it under `namespaces` of the mapping"),
    (b"<r><a>\xe9</a></r>", {"records": "/r/a"},
     "`a.xml` is not in the encoding that it names: Invalid bytes in character encoding, in line 1",
     'declare what it is, for example `encoding = "cp1252"`, or `--encoding cp1252`'),
    (b'<?xml version="1.0" encoding="x-own"?><r/>', {"records": "/r/a"},
     "`a.xml` is not in the encoding that it names: Unsupported encoding: x-own, in line 1",
     'declare what it is, for example `encoding = "cp1252"`, or `--encoding cp1252`'),
]  # fmt: skip


@pytest.mark.parametrize(("content", "options", "message", "hint"), XML_REFUSED)
def test_xml_refused(
    tmp_path: Path, content: bytes, options: dict[str, Any], message: str, hint: str
) -> None:
    with pytest.raises(UsageError) as error:
        read(tmp_path, "a.xml", content, **options)

    assert (error.value.message, error.value.hint) == (message, hint)


@pytest.mark.parametrize(
    ("content", "encoding"),
    [
        ("<r><a>é</a></r>".encode("cp1252"), "cp1252"),
        ('<?xml version="1.0" encoding="iso-8859-1"?><r><a>é</a></r>'.encode("latin-1"), ""),
        ("<r><a>é</a></r>".encode("utf-16"), ""),
        ("<r><a>é</a></r>".encode("utf-8-sig"), ""),
    ],
)
def test_xml_encodings(tmp_path: Path, content: bytes, encoding: str) -> None:
    rows, _ = read(tmp_path, "a.xml", content, records="/r/a", encoding=encoding)

    assert [data for _, data in rows] == ["<a>é</a>"]
