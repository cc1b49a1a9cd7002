"""Which claims may leave when others may not."""

from dataclasses import replace

import pytest

from lodpipe.findings import Finding
from lodpipe.pipeline.access import Restricted
from lodpipe.pipeline.leaving_claims import claims_that_may_leave
from lodpipe.pipeline.unsaid import Unsaid
from lodpipe.records import Claim

A, B, C = (Claim(key, "item", "maker", f"person-{key}", by="tarrow") for key in "abc")
NOBODY = Unsaid((), "")


def left(claims: list[Claim], *withheld: str, documents: tuple[str, ...] = ()) -> list[Claim]:
    held = Restricted(frozenset(documents), frozenset(withheld))
    found: list[Finding] = []
    leaving, staying = claims_that_may_leave(claims, held, NOBODY, found.append)
    assert sorted(c.key for c in (*leaving, *staying)) == sorted(c.key for c in claims)
    return leaving


B_OF_A, C_OF_A = replace(B, alternative_to="a"), replace(C, alternative_to="a")
C_OF_B = replace(C, alternative_to="b")


@pytest.mark.parametrize(
    ("claims", "wanted"),
    [
        ([A, B_OF_A], {}),
        ([A, B_OF_A, C_OF_A], {"b": "", "c": "b"}),
        ([A, B_OF_A, C_OF_B], {"b": "", "c": "b"}),
        ([A, B, C], {"b": "", "c": ""}),
    ],
    ids=["of two none", "of three two", "one after another", "no alternatives"],
)
def test_of_what_is_left_of_alternatives(claims: list[Claim], wanted: dict[str, str]) -> None:
    assert {claim.key: claim.alternative_to for claim in left(claims, "a")} == wanted


def test_what_replaced_a_withheld_line_replaces_what_that_replaced() -> None:
    chain = [A, replace(B, replaces="a"), replace(C, replaces="b")]

    assert [(claim.key, claim.replaces) for claim in left(chain, "b")] == [("a", ""), ("c", "a")]


@pytest.mark.parametrize(
    ("sources", "wanted"),
    [
        (("diary",), None),
        (("diary", "letter"), (("letter",), ("fol. 2",), "")),
        (("letter",), (("letter",), ("fol. 1",), "It says so.")),
        ((), ((), ("fol. 1", "fol. 2"), "It says so.")),
    ],
)
def test_a_claim_leaves_on_its_other_grounds(
    sources: tuple[str, ...], wanted: tuple[tuple[str, ...], tuple[str, ...], str] | None
) -> None:
    locators = ("fol. 1", "fol. 2") if len(sources) != 1 else ("fol. 1",)
    claim = replace(A, sources=sources, locators=locators, basis="It says so.")

    found = [(c.sources, c.locators, c.basis) for c in left([claim], documents=("diary",))]

    assert found == ([] if wanted is None else [wanted])


@pytest.mark.parametrize("column", ["about", "value", "by"])
def test_a_claim_that_names_what_is_withheld_stays_here(column: str) -> None:
    claim = replace(A, **{column: "secret"})  # type: ignore[arg-type]

    assert left([claim, B], documents=("secret",)) == [B]


def test_a_name_is_taken_out_of_its_words() -> None:
    unsaid = Unsaid({"Edmund Arle", "Vey"}, "[name withheld]")
    claim = replace(
        A, basis="EDMUND ARLE drew it, not Vey or Arleson.", value_text="by Edmund Arle"
    )
    held = Restricted(frozenset({"person/arle"}))

    (found,), _ = claims_that_may_leave([claim], held, unsaid, lambda _: None)

    assert found.basis == "[name withheld] drew it, not Vey or Arleson."
    assert found.value_text == "by [name withheld]"
    assert found.written != ""
