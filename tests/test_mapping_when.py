"""Conditions, and the values that no branch takes up."""

import pytest
from mapping_help import compiled, mapped, row, tree_of

TESTS = [
    # what k must be                     values that fit        values that do not
    ("present",                          ["a"],                 [""]),
    ("absent",                           [""],                  ["a"]),
    ("a",                                ["a"],                 ["A", "ab", ""]),
    ("12",                               ["12"],                ["12.0"]),
    ("true",                             ["true"],              ["yes"]),
    ('["", a, 3]',                       ["", "a", "3"],        ["b"]),
    ("{lookup: kinds}",                  ["Lithograph"],        ["map", ""]),
    ('{matches: "^un"}',                 ["unknown"],           ["sun", ""]),
    ('{matches: "un"}',                  ["sun"],               ["UN"]),
    ('{matches: "(?i)^UN"}',             ["unknown"],           ["sun"]),
    ("{not: a}",                         ["b", ""],             ["a"]),
    ("{not: [a, b]}",                    ["c", ""],             ["a", "b"]),
    ("{not: {matches: x}}",              ["a", ""],             ["ax"]),
    ("{not: {not: a}}",                  ["a"],                 ["b"]),
    ("{not: present}",                   [""],                  ["a"]),
    ('"no"',                             ["no"],                ["false"]),
    ("no",                               ["no"],                ["false"]),   # YAML 1.2: a word
]  # fmt: skip


@pytest.mark.parametrize(("test", "fit", "unfit"), TESTS)
def test_conditions(test: str, fit: list[str], unfit: list[str]) -> None:
    body = f'identified_by: {{when: {{k: {test}}}, node: {{type: Name, content: "x {{no}}"}}}}'
    for value in fit + unfit:
        tree, _ = tree_of("k: K", body, row(no="1", K=value))

        assert ("identified_by" in tree) == (value in fit), value


def test_all_fields_must_hold() -> None:
    body = 'identified_by: {when: {a: x, b: y, c: z}, node: {type: Name, content: "{no}"}}'
    made = [
        bool(tree_of("a: A\nb: B\nc: C", body, row(no="1", A=a, B=b, C=c))[0])
        for a, b, c in (("x", "y", "z"), ("x", "y", ""), ("x", "", "z"), ("", "y", "z"))
    ]

    assert made == [True, False, False, False]


def test_a_list_is_present_or_absent() -> None:
    body = 'identified_by: {when: {s: present}, node: {type: Name, content: "{no}"}}'
    fields = 's: {from: S, split: ";"}'

    assert tree_of(fields, body, row(no="1", S="a"))[0]
    assert not tree_of(fields, body, row(no="1", S=";"))[0]


ROLES = """
    reads:
      key: no
      fields:
        no: no
        status: status
        m:
          together: {id: id, role: role, kind: kind}
          split: "|"
          choose:
            class: [{when: {kind: Person}, is: Person}, {when: {kind: Firm}, is: Group}]
    makes:
      - id: "object/{no}"
        type: HumanMadeObject
        _label: x
        produced_by:
          type: Production
          carried_out_by:
            each: m
            when: {role: ["", artist]}
            node: {ref: "person/{id}", type: "{class}"}
        member_of: {ref: set/shown, type: Set, when: {status: {not: [draft, hidden]}}}
    claims:
      - each: m
        when: {role: {lookup: qualifiers}}
        about: "object/{^no}"
        aspect: maker
        value: "person/{id}"
        qualifier: {lookup: qualifiers, from: role}
"""

BRANCHES = [
    # role, kind, status          what is told: severity and message
    (("", "Person", ""),          []),
    (("artist", "Person", ""),    []),
    (("possibly by", "Firm", ""), []),
    (("engraver", "Person", ""),  [("warning", "no branch takes up `engraver` of `m.role`")]),
    (("artist", "School", ""),    [("warning", "no case of `m.class` fits")]),
    (("artist", "Person", "draft"), [("info", "no branch takes up `draft` of `status`")]),
    (("artist", "Person", "sold"), []),
]  # fmt: skip


@pytest.mark.parametrize(("cells", "want"), BRANCHES)
def test_values_that_no_branch_takes_up(
    cells: tuple[str, str, str], want: list[tuple[str, str]]
) -> None:
    role, kind, status = cells
    _, told = mapped(compiled(ROLES), row(no="1", id="7", role=role, kind=kind, status=status))

    assert [(f.severity, f.message) for f in told] == want
    assert {f.code for f in told} <= {"no-branch"}


def test_each_place_is_told_not_each_value_once() -> None:
    mapping = compiled(ROLES)
    record = row(no="1", id="7|8", role="engraver|engraver", kind="Person|Person", status="")
    _, told = mapped(mapping, record)
    _, again = mapped(mapping, record)

    assert [len(told), len(again)] == [2, 2]
    assert told[0].value == "engraver"
