"""YAML 1.2 with places: what is read, and what is refused."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from lodpipe.errors import ManyErrors
from lodpipe.mapping.yaml_nodes import MOST_NODES, Faults, read_yaml

VALUES = [
    # written                  value
    ("a: 1",                   {"a": 1}),
    ("a: -1.5",                {"a": -1.5}),
    ("a: 0.0",                 {"a": 0.0}),
    ("a: 012",                 {"a": 12}),          # YAML 1.2: no octal numbers of this form
    ("a: '012'",               {"a": "012"}),
    ("a: true",                {"a": True}),
    ("a: no",                  {"a": "no"}),        # YAML 1.2 core schema: a word
    ("a: on",                  {"a": "on"}),
    ("a: 12:30",               {"a": "12:30"}),     # not a number in base 60
    ("a: 2024-03-11",          {"a": "2024-03-11"}),
    ("a: ~",                   {"a": None}),
    ("a:",                     {"a": None}),
    ("a: ''",                  {"a": ""}),
    ("a: |\n  b\n  c\n",       {"a": "b\nc\n"}),
    ("no: 1",                  {"no": 1}),
    ("1: x",                   {"1": "x"}),         # a key is a word
    ("{a: [b, {c: d}]}",       {"a": ["b", {"c": "d"}]}),
    ("a: &x [1]\nb: *x",       {"a": [1], "b": [1]}),
    ("# only\na: b # here",    {"a": "b"}),
    ("%YAML 1.2\n---\na: no",  {"a": "no"}),
]  # fmt: skip


@pytest.mark.parametrize(("text", "want"), VALUES)
def test_values(text: str, want: Any) -> None:
    faults = Faults("m.yaml")
    got = read_yaml(text, faults).plain()

    assert (got, faults.errors) == (want, [])


REFUSED = [
    # written                  where   what is told
    ("a: !!python/name:os.system x", "1:4", "the tag `tag:yaml.org,2002:python/name:os.system` is not allowed"),
    ("a: !mine x",             "1:4",  "the tag `!mine` is not allowed"),
    ("a: 1\na: 2",             "2:1",  "the key `a` stands twice"),
    ("a: *x",                  "1:4",  "there is no anchor `&x` before this alias"),
    ("a: &x [*x]",             "1:8",  "there is no anchor `&x` before this alias"),
    ("? [a]\n: b",             "1:3",  "a key that is not a word"),
    ("a: b: c",                "1:5",  "not YAML: mapping values are not allowed here"),
    ("a: [b",                  "1:6",  "not YAML: expected ',' or ']', but got '<stream end>'"),
    ("a: @x",                  "1:4",  "not YAML: found character '@' that cannot start any token"),
    ("a: 1\n---\nb: 2",        "1:1",  "the file holds more than one document"),
    ("",                       "1:1",  "the file is empty"),
    ("# nothing",              "1:1",  "the file is empty"),
    ("a: " + "[" * 70 + "]" * 70, "1:68", "nested deeper than 64 levels"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "where", "message"), REFUSED)
def test_refused(text: str, where: str, message: str) -> None:
    faults = Faults("m.yaml")
    with pytest.raises(ManyErrors) as caught:
        read_yaml(text, faults)
        faults.stop()

    assert (caught.value.errors[0].where, caught.value.errors[0].message) == (
        f"m.yaml:{where}",
        message,
    )


def test_what_aliases_unfold_to_is_bounded() -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 10)]
    with pytest.raises(ManyErrors, match=f"more than {MOST_NODES:,} values, aliases unfolded"):
        read_yaml("\n".join(lines), Faults("m.yaml"))


def test_places() -> None:
    node = read_yaml("a:\n  - b\n  - {c: 'd'}\n", Faults("m.yaml"))
    second = node.value["a"].value[1]

    assert node.keys == {"a": (1, 1)}
    assert (second.line, second.column) == (3, 5)
    assert second.keys == {"c": (3, 6)}
    assert (second.value["c"].line, second.value["c"].column, second.value["c"].quoted) == (
        3,
        9,
        True,
    )


# the library takes `?x` and `:x` at the start of a plain text for a mark, https://yaml.org/spec/1.2.2/#rule-ns-plain-first
_WORDS = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"], exclude_characters="?:"),
    max_size=12,
)
_TREES = st.recursive(
    st.one_of(_WORDS, st.integers(-999, 999), st.booleans(), st.none()),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(_WORDS, inner, max_size=4)
    ),
    max_leaves=12,
)


@given(st.dictionaries(_WORDS, _TREES, min_size=1, max_size=4))
def test_what_is_written_is_read_back(tree: dict[str, Any]) -> None:
    """The library's writer is the referee."""
    from io import StringIO

    out = StringIO()
    writer = YAML(typ="safe", pure=True)
    writer.width = 10_000
    writer.dump(tree, out)
    faults = Faults("m.yaml")

    assert read_yaml(out.getvalue(), faults).plain() == tree
    assert faults.errors == []
