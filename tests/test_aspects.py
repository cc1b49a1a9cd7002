"""The table of aspects: data, checked whole, each fault with its place."""

import csv
from pathlib import Path

import pytest

from lodpipe.aspects import builtin_aspects, load
from lodpipe.errors import LodpipeError, ManyErrors, TermError, UsageError
from lodpipe.terms import concepts

ASPECTS = builtin_aspects()

GOOD = """\
main_nodes: [exposure, production]
roles:
  photographer: {node: exposure, weighed_on: exposure}
qualifiers:
  possibly: doubt
aspects:
  maker:
    most: many
    takes: [Person, Group]
    document: about
    node: main
    property: carried_out_by
"""


def test_every_aspect_and_qualifier_is_a_concept_of_ours() -> None:
    terms = {concept.term for concept in concepts()}

    assert {f"aspect/{name}" for name in ASPECTS.by_name} == {
        term for term in terms if term.startswith("aspect/")
    }
    assert {f"qualifier/{name}" for name in ASPECTS.qualifiers} == {
        term for term in terms if term.startswith("qualifier/")
    }
    nodes = {role.node for role in ASPECTS.roles.values()} | set(ASPECTS.main_nodes)
    nodes |= {aspect.node for aspect in ASPECTS.by_name.values()}
    assert {f"role/{node}" for node in nodes - {"record", "main"}} <= terms


def test_families_are_those_of_the_table_of_qualifiers() -> None:
    path = Path(__file__).parent.parent / "mappings" / "vocab" / "qualifiers.csv"
    with path.open(encoding="utf-8") as file:
        rows = [(row["qualifier"], row["family"]) for row in csv.DictReader(file)]

    assert {row for row in rows if row[0]} <= set(ASPECTS.qualifiers.items())


def test_one_and_many_are_those_of_the_ledger() -> None:
    one = {name for name, aspect in ASPECTS.by_name.items() if aspect.most == "one"}

    assert one == {"date", "place", "process", "date_printed", "date_mounted", "date_captioned"}


WEIGHED = [
    ("maker", "", "exposure"),
    ("maker", "printer", "print"),
    ("maker", "mounter", "mount"),
    ("maker", "architect", "exposure"),
    ("date_printed", "", "print"),
    ("date_captioned", "", "caption"),
    ("title", "", ""),
]


@pytest.mark.parametrize(("aspect", "role", "event"), WEIGHED)
def test_a_claim_is_weighed_on_its_event(aspect: str, role: str, event: str) -> None:
    assert ASPECTS.weighed_on(aspect, role) == event


UNKNOWN = [
    (lambda: ASPECTS.get("makr"), "`makr` is not an aspect", "did you mean `maker`?"),
    (
        lambda: ASPECTS.family("atributed to"),
        "`atributed to` is not a qualifier",
        "did you mean `attributed-to`?",
    ),
]


@pytest.mark.parametrize(("call", "message", "hint"), UNKNOWN)
def test_unknown_words_name_the_nearest(call: object, message: str, hint: str) -> None:
    with pytest.raises(TermError) as caught:
        call()  # type: ignore[operator]

    assert (caught.value.message, caught.value.hint) == (message, hint)


def test_a_qualifier_may_be_written_with_spaces() -> None:
    assert (ASPECTS.family("studio of"), ASPECTS.family("")) == ("workshop", "")


def errors_of(text: str, folder: Path) -> list[LodpipeError]:
    path = folder / "claims.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ManyErrors) as caught:
        load(path)
    return list(caught.value.errors)


FAULTS = [
    ("takes:", "take:", "claims.yaml:9:5", "unknown key `take`", "did you mean `takes`?"),
    ("most: many", "most: some", "claims.yaml:8:5", "`some` is not a number", "known are one, many"),
    (
        "Group]",
        "Gruop]",
        "claims.yaml:9:5",
        "`Gruop` is not a kind of value",
        "did you mean `Group`?",
    ),
    ("possibly: doubt", "possibly: dout", "claims.yaml:5:3", "`dout` is not a family", "did you mean `doubt`?"),
    ("{node: exposure, weighed_on", "{weighed_on", "claims.yaml:3:3", "the role has no `node`", ""),
    ("qualifiers:", "qualifyers:", "claims.yaml:4:1", "unknown key `qualifyers`", "did you mean `qualifiers`?"),
    ("    node: main\n", "", "claims.yaml:7:3", "the aspect `maker` has no `node`", ""),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "where", "message", "hint"), FAULTS)
def test_a_fault_is_named_with_its_place(
    old: str, new: str, where: str, message: str, hint: str, tmp_path: Path
) -> None:
    assert old in GOOD

    errors = errors_of(GOOD.replace(old, new), tmp_path)

    assert (errors[0].where, errors[0].message, errors[0].hint) == (where, message, hint)


def test_all_faults_are_named_in_one_run(tmp_path: Path) -> None:
    text = GOOD.replace("most: many", "most: some").replace("doubt", "dout")

    assert len(errors_of(text, tmp_path)) == 2


def test_a_table_of_a_project_is_read(tmp_path: Path) -> None:
    path = tmp_path / "claims.yaml"
    path.write_text(GOOD, encoding="utf-8")

    assert load(path).get("maker").property == "carried_out_by"


def test_what_is_no_table_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "claims.yaml"
    with pytest.raises(UsageError) as missing:
        load(path)
    path.write_text("aspects: [\n", encoding="utf-8")
    with pytest.raises(UsageError) as broken:
        load(path)

    assert missing.value.message == "cannot read the table of aspects: No such file or directory"
    assert broken.value.message.startswith("not YAML: ")
    assert broken.value.where == "claims.yaml:2:1"
