"""Paths and URI templates: ours give what the libraries give."""

from typing import Any
from urllib.parse import unquote

import jsonpath
import pytest
import uritemplate
from hypothesis import assume, given
from hypothesis import strategies as st
from lxml import etree
from mapping_help import compiled, js, mapped, with_fields

from lodpipe.errors import IriError, UsageError
from lodpipe.mapping.leaves import fits
from lodpipe.mapping.paths import access, escape, singular, xpath_shape
from lodpipe.mapping.uris import encode

# --- JSONPath, https://www.rfc-editor.org/rfc/rfc9535 ----------------------------------------

DOCUMENT = {
    "a": {"b c": [1, {"d": "x"}, [2, 3]], "é": "e", "'": "q"},
    "list": [{"n": "1"}, {"n": "2"}, {"m": 3}],
    "0": "zero",
    "n": None,
}

SINGULAR = [
    "$.a", "$['a']", "$.a['b c']", '$.a["b c"][0]', "$.a['b c'][1].d", "$.a.é",
    "$.list[0].n", "$.list[2].n", "$.list[9].n", "$.list.n", "$['0']", "$.n", "$.n.x", "$.x.y",
    "$.a['b c'][1]['d']", "$.list[ 1 ].n",
]  # fmt: skip


@pytest.mark.parametrize("path", SINGULAR)
def test_singular_queries_are_those_of_the_library(path: str) -> None:
    steps = singular(path)
    assert steps is not None
    ours = access(path, "json", {}).first(DOCUMENT)
    theirs = jsonpath.findall(path, DOCUMENT)

    assert ([] if ours is None else [ours]) == [value for value in theirs if value is not None]
    assert jsonpath.compile(path).singular_query()


MANY = [
    # path                     shape
    ("$.list[*].n",            ("list", "*", "n")),
    ("$..n",                   ("**", "n")),
    ("$.list[?@.n=='2'].n",    ("list", "*", "n")),
    ("$.list[0:2].n",          ("list", "*", "n")),
    ("$.a['b c'][-1][0]",      ("a", "b c", "*", "*")),
    ("$.a.*",                  ("a", "*")),
    ("$..['b c'][1]",          ("**", "b c", "*")),
]  # fmt: skip


@pytest.mark.parametrize(("path", "shape"), MANY)
def test_queries_for_many_values(path: str, shape: tuple[str, ...]) -> None:
    found = access(path, "json", {})
    theirs: list[Any] = []
    for value in jsonpath.findall(path, DOCUMENT):
        theirs.extend(value if isinstance(value, list) else [value])

    assert singular(path) is None
    assert [value for value, _ in found.every(DOCUMENT)] == [v for v in theirs if v is not None]
    assert found.shape == shape


_NAMES = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=5)
_JSON = st.recursive(
    st.one_of(_NAMES, st.integers(), st.booleans()),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(_NAMES, inner, max_size=3)
    ),
    max_leaves=10,
)


_RECORDS = _JSON.filter(lambda data: not isinstance(data, str))  # the library would parse a text


@given(_RECORDS, st.lists(st.one_of(_NAMES, st.integers(0, 3)), min_size=1, max_size=4))
def test_pointers_are_those_of_the_library(data: Any, steps: list[str | int]) -> None:
    pointer = "".join(f"/{escape(str(step))}" for step in steps)
    ours = access(pointer, "json", {}).first(data)
    try:
        theirs = jsonpath.JSONPointer(pointer, unicode_escape=False).resolve(data)
    except jsonpath.JSONPointerError:
        theirs = None

    assert ours == theirs


def test_columns_lead_to_their_values() -> None:
    for path in [*SINGULAR, *(path for path, _ in MANY)]:
        for value, column in access(path, "json", {}).every(DOCUMENT):
            pointer = jsonpath.JSONPointer(column, unicode_escape=False)
            assert pointer.resolve(DOCUMENT) == value, column


# --- XPath 1.0 -------------------------------------------------------------------------------

XML = etree.fromstring(
    "<r xmlns:x='urn:x'><x:a n='1'>one<b> two</b></x:a><x:a n='2'/><c><d>  </d><d>four</d></c></r>"
)
XPATHS = ["x:a", "x:a/@n", ".//d", "c/d[2]", "c/d[2]/text()", "count(x:a)", "string(x:a)", "b|c/d"]


@pytest.mark.parametrize("path", XPATHS)
def test_xpaths_are_those_of_the_library(path: str) -> None:
    ours = access(path, "xml", {"x": "urn:x"})
    theirs = XML.xpath(path, namespaces={"x": "urn:x"})
    want = [
        "".join(v.itertext()) if hasattr(v, "itertext") else str(v).removesuffix(".0")
        for v in (theirs if isinstance(theirs, list) else [theirs])
    ]
    got = [v if isinstance(v, str) else "".join(v.itertext()) for v, _ in ours.every(XML)]

    assert got == want
    assert ours.first(XML) == next((text for text in want if text.strip()), None)


SHAPES = [
    ("x:a/@n", ("x:a", "@n")),
    ("//b", ("**", "b")),
    (".//b/c", ("**", "b", "c")),
    ("a[b[c='1']/d]/e", ("a", "e")),
    ("a/text()", ("a",)),
    ("./a", ("a",)),
    ("a//@n", ("a", "**", "@n")),
]


@pytest.mark.parametrize(("path", "shape"), SHAPES)
def test_shapes_of_xpaths(path: str, shape: tuple[str, ...]) -> None:
    assert xpath_shape(path) == shape


REFUSED = [
    ("a[", "xml", "`a[` is not an XPath: Invalid expression"),
    ("$.a[?", "json", "`$.a[?` is not a JSONPath: unexpected end of expression"),
]


@pytest.mark.parametrize(("path", "form", "message"), REFUSED)
def test_refused(path: str, form: str, message: str) -> None:
    with pytest.raises(UsageError) as caught:
        access(path, form, {})

    assert caught.value.message == message


def test_a_prefix_without_namespace() -> None:
    with pytest.raises(UsageError, match="`y:a` is not an XPath here: Undefined namespace prefix"):
        access("y:a", "xml", {}).first(XML)


# --- shapes ----------------------------------------------------------------------------------

FITS = [
    (("a", "b"), ("a", "b"), True),
    (("a", "b"), ("a",), False),
    (("a",), ("a", "b"), False),
    (("a", "*", "b"), ("a", "b"), True),
    (("a", "*", "b"), ("a", "x", "b"), True),
    (("a", "*", "b"), ("a", "x", "y", "b"), False),
    (("**", "b"), ("x", "y", "b"), True),
    (("**", "b"), ("b", "c"), False),
    (("a", "**"), ("a",), True),
    (("a", "@*"), ("a", "@n"), True),
    (("a", "@*"), ("a", "n"), False),
]


@pytest.mark.parametrize(("shape", "path", "want"), FITS)
def test_fits(shape: tuple[str, ...], path: tuple[str, ...], want: bool) -> None:
    assert fits(shape, path) is want


# --- URI templates, https://www.rfc-editor.org/rfc/rfc6570 level 1 -----------------------------


@given(st.text(st.characters(codec="utf-8"), min_size=1, max_size=20))
def test_a_segment_is_what_the_library_expands_to(key: str) -> None:
    try:
        ours = encode(key)
    except IriError:
        assume(False)
        return

    assert unquote(ours) == unquote(uritemplate.expand("{key}", key=key)) or not key.isascii()
    if key.isascii():
        assert ours == uritemplate.expand("{key}", key=key)


KEYS = [
    "HRL 1866.1.12a",
    "12/3",
    "a:b",
    "x~y_z-1",
    "50%",
    "a+b&c=d",
    "Sorn’s",
    "a?b#c",
    "[1]",
    "a;b,c",
]


@pytest.mark.parametrize("key", KEYS)
def test_templates_are_those_of_the_library(key: str) -> None:
    text = with_fields("k: k", 'part_of: {ref: "set/{no}-{k}/part", type: HumanMadeObject}')
    made, _ = mapped(compiled(text), js({"no": "1", "k": key}))
    assert made is not None
    want = uritemplate.expand("set/{no}-{k}/part", no="1", k=key)

    assert made.documents[0].tree["part_of"]["id"] == f"https://collections.example.org/{want}"
