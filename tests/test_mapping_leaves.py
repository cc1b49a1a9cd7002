"""What is neither mapped nor dropped, and what a mapping names in vain."""

from typing import Any

import pytest
from mapping_help import CONTEXT, Told, compiled, js, row, with_fields, xml

from lodpipe.errors import ManyErrors
from lodpipe.mapping import Mapping
from lodpipe.records import Record


def leftovers(mapping: Mapping, *records: Record) -> list[tuple[str, str, str, str]]:
    told = Told()
    for record in records:
        mapping.map(record, CONTEXT, lambda _: None)
    mapping.leftover(told.append)
    return [(f.code, f.severity, f.message, str(f.place or "")) for f in told]


def test_a_column_that_nobody_mentions() -> None:
    mapping = compiled(with_fields("t: T", 'identified_by: {type: Name, content: "{t}"}'))
    records = [row(no="1", T="x", Loc="", Note=""), row(no="2", T="x", Loc="B 12", Note="")]
    mapping.map(records[0], CONTEXT, lambda _: None)

    assert leftovers(mapping, records[1], records[1]) == [
        (
            "unmapped",
            "warning",
            "`Loc` is neither mapped nor dropped, and holds a value 2 times",
            "catalogue/items.csv:2 (record 1) [Loc]",
        )
    ]


DROPPED = with_fields("t: T", 'identified_by: {type: Name, content: "{t}"}').replace(
    "  fields:\n", "  dropped: {Loc: internal shelf mark, Gone: not there}\n  fields:\n"
)


def test_a_column_that_is_dropped_with_a_reason() -> None:
    assert leftovers(compiled(DROPPED), row(no="1", T="x", Loc="B 12")) == [
        ("column", "info", "`Gone` is dropped, and no record has it", "item.yaml:3")
    ]


DATA: dict[str, Any] = {
    "no": "1",
    "title": "Sorn Pass",
    "empty": None,
    "people": [
        {"name": "Dolen", "mark": "M", "roles": ["printer"], "at": {"place": "Sorn"}},
        {"name": "Vey"},
    ],
    "tree": {
        "id": 1,
        "name": "a",
        "below": [{"id": 2, "name": "b", "below": [{"id": 3, "x": "y"}]}],
    },
    "list": ["a", "b"],
    "group": {"id": 7, "deep": {"er": "z"}},
}

JSON = [
    # fields, and keys of the document; dropped; what is left
    ("p: {each: /people}", '{each: p, node: {type: Name, content: "{name}"}}', "{title: r, /tree: r, list: r, group: r}",
     ["/people/at/place", "/people/mark", "/people/roles"]),
    ("p: {each: /people}", '{each: p, node: {each: roles, node: {type: Name, content: "{.} {^name}"}}}',
     '{title: r, "$..at": r, "$.people[*].mark": r, tree: r, list: r, group: r}', []),
    ("t: {walk: /tree, children: below}", '{each: t, node: {type: Name, content: "{name}"}}', "{title: r, people: r, list: r, group: r}",
     ["/tree/below/below/id", "/tree/below/below/x", "/tree/below/id", "/tree/id"]),
    ("l: list\nd: /group/deep/er", '{each: l, node: {type: Name, content: "{.} {^d}"}}', "{title: r, people: r, tree: r}",
     ["/group/id"]),
    ("l: list\nd: $..er", '{each: l, node: {type: Name, content: "{.} {^d}"}}', '{title: r, people: r, tree: r, "/group/id": r}', []),
]  # fmt: skip


@pytest.mark.parametrize(("fields", "body", "dropped", "want"), JSON)
def test_leaves_of_json(fields: str, body: str, dropped: str, want: list[str]) -> None:
    text = with_fields(fields, f"identified_by: {body}").replace(
        "  fields:\n", f"  dropped: {dropped}\n  fields:\n"
    )
    told = leftovers(compiled(text), js(DATA))

    assert [(code, message.split("`")[1]) for code, _, message, _ in told] == [
        ("unmapped", path) for path in want
    ]


def test_leaves_of_xml() -> None:
    text = """
        reads:
          records: //x:item
          namespaces: {x: "urn:x"}
          key: no
          fields: {no: "@no", t: "x:title"}
          dropped: {"x:admin": internal}
        makes: [{id: "object/{no}", type: HumanMadeObject, _label: "{t}"}]
    """
    document = """<x:item xmlns:x="urn:x" xmlns:y="urn:y" no="1" state="new"><x:title lang="en">Sorn <x:i>Pass</x:i></x:title>
      <x:admin by="me">B 12</x:admin><y:note>hm</y:note><x:note>  </x:note><x:people>Dolen<x:and/>Vey</x:people>
      <x:item no="2"><x:title>inner</x:title><x:lost>told with the inner one</x:lost></x:item></x:item>"""
    told = leftovers(compiled(text), xml(document))

    assert [message.split("`")[1] for _, _, message, _ in told] == [
        "@state",
        "x:people",
        "x:title/@lang",
        "{urn:y}note",
    ]
    assert "2 times" in told[1][2]


def test_a_path_that_no_record_has_is_told_with_the_nearest_one() -> None:
    mapping = compiled(
        with_fields(
            "t: titel\np: {each: /peple}",
            'identified_by: {each: p, node: {type: Name, content: "{nam} {^t}"}}',
        )
    )
    told = Told()
    mapping.map(js({"no": "1", "title": "x", "people": [{"name": "y"}]}), CONTEXT, lambda _: None)
    mapping.leftover(told.append)

    assert [(f.code, f.message, f.hint) for f in told if f.code == "column"] == [
        ("column", "`titel` is read, and no record has it", "did you mean `/title`?"),
        (
            "column",
            "`/peple` is read, and no record has it",
            "did you mean `/people` or `/people/name`?",
        ),
    ]


def test_a_member_that_no_element_has() -> None:
    mapping = compiled(
        with_fields(
            "p: {each: people}", 'identified_by: {each: p, node: {type: Name, content: "{nam}"}}'
        )
    )
    told = leftovers(mapping, js({"no": "1", "people": [{"name": "y"}]}))

    assert [message for code, _, message, _ in told if code == "column"] == [
        "`nam` is read, and no record has it"
    ]


def test_members_of_a_list_that_is_always_empty_are_not_told() -> None:
    mapping = compiled(
        with_fields(
            "p: {each: people}", 'identified_by: {each: p, node: {type: Name, content: "{name}"}}'
        )
    )

    assert leftovers(mapping, js({"no": "1", "people": []}), js({"no": "2", "people": None})) == []


def test_what_several_processes_met_is_told_together() -> None:
    text = with_fields("t: title", 'identified_by: {type: Name, content: "{t}"}')
    first, second, third = (compiled(text) for _ in range(3))
    first.map(js({"no": "1", "a": "x"}), CONTEXT, lambda _: None)
    second.map(js({"no": "2", "a": "y", "title": "z"}), CONTEXT, lambda _: None)
    whole = compiled(text)
    for part in (first, second, third):
        whole.absorb(part.seen())

    assert leftovers(whole) == [
        (
            "unmapped",
            "warning",
            "`/a` is neither mapped nor dropped, and holds a value 2 times",
            "catalogue/items.jsonl:1 [/a]",
        )
    ]


def test_a_mapping_reads_one_source_after_another() -> None:
    mapping = compiled(DROPPED)
    first = leftovers(mapping, row(no="1", T="x", Loc="B", Gone="", Odd="y"))
    second = leftovers(mapping, row(no="2", T="x", Loc="", Gone="z"))

    assert [message for _, _, message, _ in first] == [
        "`Odd` is neither mapped nor dropped, and holds a value once"
    ]
    assert second == []
    with pytest.raises(ManyErrors, match="the source has no column `T`"):
        leftovers(mapping, row(no="3", t="x"))


def test_nothing_is_said_of_a_source_without_records() -> None:
    assert leftovers(compiled(DROPPED)) == []


def test_names_that_are_identifiers_stay_bounded() -> None:
    mapping = compiled(with_fields("t: title", 'identified_by: {type: Name, content: "{t}"}'))
    told = leftovers(
        mapping, js({"no": "1", "title": "x", "by": {f"id{n}": "v" for n in range(2_000)}})
    )

    assert 500 <= len(told) <= 502
    assert told[0][2] == "`/by/*` is neither mapped nor dropped, and holds a value 1,500 times"
