"""Documents made once and remembered: the same as made anew, and each with its own way back."""

import gc

import pytest
from mapping_help import compiled, js, mapped

from lodpipe.pipeline.collecting import rare_collection

MAPPING = """
    reads:
      key: no
      fields:
        no: no
        makers: {each: /makers, fields: {id: id, name: name, kind: kind}}
    makes:
      - {id: "object/{no}", type: HumanMadeObject, _label: "{no}"}
      - each: makers
        id: "person/{id}"
        type: Person
        _label: "{name}"
        classified_as: {lookup: kinds, from: kind}
"""


def record(no: str, *makers: dict[str, str]) -> object:
    return js({"no": no, "makers": list(makers)})


def made(*records: object) -> list[tuple[object, ...]]:
    """Trees, traces, inputs and findings of records that one mapping maps one after another."""
    mapping, found = compiled(MAPPING), []
    for one in records:
        result, told = mapped(mapping, one)  # type: ignore[arg-type]
        assert result is not None
        drafts = [(d.tree, list(d.trace), d.inputs, d.key) for d in result.documents]
        found.append((drafts, told.rows()))
    return found


ANNA = {"id": "1", "name": "Anna", "kind": "papers"}
CASES = {
    "the same maker": (record("a", ANNA), record("b", ANNA)),
    "twice in one record": (record("a", ANNA), record("b", ANNA, ANNA)),
    "at another place": (record("a", ANNA), record("b", {**ANNA, "id": "2"}, ANNA)),
    "another name": (record("a", ANNA), record("b", {**ANNA, "name": "Anne"})),
    "another term": (record("a", ANNA), record("b", {**ANNA, "kind": "lithograph"})),
    "a finding each time": tuple(record(no, {**ANNA, "kind": "daguerreotype"}) for no in "ab"),
    "no key": (record("a", {"name": "Anna"}), record("b", {"name": "Anna"})),
}


@pytest.mark.parametrize("name", CASES)
def test_a_remembered_document_is_the_one_that_is_made_anew(name: str) -> None:
    first, second = CASES[name]
    assert made(first, second)[1] == made(second)[0]


def test_equal_words_share_one_tree() -> None:
    mapping = compiled(MAPPING)
    trees = []
    for no in "ab":
        result, _ = mapped(mapping, record(no, ANNA))  # type: ignore[arg-type]
        assert result is not None
        trees.append(result.documents[1].tree)
    assert trees[0] is trees[1]


def test_garbage_is_looked_for_as_before_when_a_run_ends() -> None:
    before = gc.get_threshold(), gc.get_freeze_count()
    with pytest.raises(KeyError), rare_collection():
        assert gc.get_threshold()[0] > before[0][0]
        raise KeyError
    assert (gc.get_threshold(), gc.get_freeze_count()) == before
