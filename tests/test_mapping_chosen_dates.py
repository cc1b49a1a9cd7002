"""Dates that `choose` puts together: read like any other date, with the cell that they came from."""

from typing import Any

import pytest
from mapping_help import compiled, js, mapped, row, tree_of

from lodpipe.errors import ManyErrors

LIFE = """
birth: {from: Birth, pattern: "^(?P<year>[0-9]{4})-(?P<rest>.*)$"}
born:
  as: edtf
  choose:
    - {when: {birth.rest: "01-01"}, is: "{birth.year}"}
    - {is: "{birth}"}
"""
BODY = "produced_by: {type: Production, timespan: {timespan: born}}"


def span(tree: dict[str, Any]) -> tuple[str, ...]:
    made = tree["produced_by"]["timespan"]
    return tuple(name["content"] for name in made["identified_by"])


@pytest.mark.parametrize(
    ("cell", "told"),
    [
        ("1846-01-01", ("1846", "1846")),
        ("1846-05-12", ("12 May 1846", "1846-05-12")),
    ],
)
def test_the_first_case_that_holds_is_read_as_a_date(cell: str, told: tuple[str, ...]) -> None:
    tree, findings = tree_of(LIFE, BODY, row(no="1", Birth=cell))
    assert span(tree) == told
    assert findings.rows() == []


def test_nothing_chosen_is_no_date() -> None:
    tree, findings = tree_of(LIFE, BODY, row(no="1", Birth=""))
    assert "produced_by" not in tree
    assert findings.rows() == []


def test_what_cannot_be_read_is_told_at_its_cell() -> None:
    tree, findings = tree_of(LIFE, BODY, row(no="1", Birth="1846-13-40"))
    assert findings.rows() == [
        ("date", "`1846-13-40` is not on the calendar", "catalogue/items.csv:2 (record 1) [Birth]")
    ]
    assert span(tree) == ("1846-13-40",)


def test_elements_of_a_list_choose_dates_too() -> None:
    mapping = compiled(
        """
        reads:
          key: no
          fields:
            no: no
            makers:
              each: /makers
              fields: {name: name, from: from, to: to}
              choose:
                worked:
                  as: edtf
                  choose:
                    - {when: {from: present, to: present}, is: "{from}/{to}"}
                    - {is: "{from}"}
        makes:
          - each: makers
            id: "person/{name}"
            type: Person
            _label: "{name}"
            carried_out: [{type: Activity, timespan: {timespan: worked, state: true}}]
        """
    )
    made, told = mapped(
        mapping,
        js({"no": 1, "makers": [{"name": "vey", "from": "1866", "to": 1874}, {"name": "esker"}]}),
    )
    assert made is not None
    assert [
        [a["timespan"]["identified_by"][1]["content"] for a in d.tree.get("carried_out", [])]
        for d in made.documents
    ] == [["1866/1874"], []]
    assert told.rows() == []


@pytest.mark.parametrize(
    ("field", "message"),
    [
        ("{choose: [{is: x}], as: number}", "`number` is not a kind of date"),
        ("{choose: [{is: x}], from: A}", "`from` is not a key of a field that is chosen"),
    ],
)
def test_a_chosen_field_is_text_or_a_date(field: str, message: str) -> None:
    with pytest.raises(ManyErrors) as caught:
        tree_of(f"born: {field}", "referred_to_by: []", row(no="1", A="x"))
    assert message in [error.message for error in caught.value.errors]
