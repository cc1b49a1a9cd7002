"""Claims merged into documents, against the hand-made and validated examples of the handbook."""

import copy
import json
import re
from pathlib import Path
from typing import Any

import pytest

from lodpipe.assemble import Merger
from lodpipe.findings import Finding
from lodpipe.nodes import Nodes
from lodpipe.records import Claim, Entry
from lodpipe.terms import concepts

pytestmark = pytest.mark.reference

BASE = "https://collections.example.org/"
ITEM, VISUAL = BASE + "object/item-0101", BASE + "visual/0102"
TARROW, DIARY = BASE + "person/tarrow", BASE + "text/diary-3"
CARD, SALE = BASE + "text/card-1958", BASE + "text/sale-1994"
LETTER, KETTERHOLM = BASE + "text/council-letter", BASE + "object/ketterholm-77"
DOLEN, KORVATH, VEY, ESKER = (
    BASE + f"person/{name}" for name in ("dolen", "korvath", "vey", "esker")
)
PAGE_12 = ", p. 12 (14 February 1872)"


def line(key: str, aspect: str, value: str = "", **cells: Any) -> Claim:
    """A ledger line of Ines Tarrow's about item 0101, unless the cells say otherwise."""
    cells = {"about": ITEM, "by": TARROW, "on": "2024-03-11", **cells}
    cells.setdefault("effective", cells.get("standing", "current"))
    return Claim(key, aspect=aspect, value=value, **cells)


C0104 = line(
    "c0104",
    "maker",
    KORVATH,
    effective="former",
    by=BASE + "person/stroud",
    on="1958",
    basis="Most prints of the album bear the stamp of the studio.",
    sources=(CARD,),
    locators=(", card 101",),
)
C0105 = line(
    "c0105",
    "maker",
    DOLEN,
    qualifier="attributed-to",
    basis="Korvath had left the railway on 20 May 1871; the snow shed in the picture was put up in "
    "February 1872. Dolen was at Sorn Pass.",
    sources=(BASE + "text/pay-book", DIARY, "w12"),
    locators=(", fol. 88 (last payment to A. Korvath, 20 May 1871)", PAGE_12),
    replaces="c0104",
)
C0103 = line(
    "c0103",
    "maker",
    VEY,
    qualifier="possibly",
    standing="proposed",
    basis="Vey owned a camera from 1870.",
    sources=(DIARY,),
    locators=(PAGE_12,),
)
C0106 = line(
    "c0106",
    "maker",
    ESKER,
    standing="proposed",
    effective="rejected",
    by=BASE + "group/auction-house",
    on="1994",
    basis="Named in the sale list without a reason; Esker was a lithographer and is not known to "
    "have photographed.",
    sources=(SALE,),
    locators=(", no. 17",),
)
C0110 = line(
    "c0110",
    "date",
    "1872-02",
    basis="The snow shed was put up on 12 February 1872 and burned on 2 March.",
    sources=(DIARY,),
    locators=(PAGE_12,),
)
C0111 = line(
    "c0111",
    "place",
    BASE + "place/sorn-pass",
    basis="Outline of the ridge; caption.",
    sources=(BASE + "text/caption-0101",),
)
C0115 = line(
    "c0115",
    "process",
    BASE + "vocab/process/albumen-silver",
    value_text="albumen silver print",
    basis="Seen under magnification: paper fibres visible, two-layer structure.",
)
C0117 = line(
    "c0117",
    "printed_from",
    BASE + "object/negative-31",
    qualifier="probably",
    basis="Same crack in the lower left corner as in the print Ketterholm 77.",
    sources=(KETTERHOLM,),
    locators=("Compared with the print Ketterholm 77",),
)
C0118 = line(
    "c0118",
    "title",
    value_text="The Great Fall",
    qualifier="possibly",
    standing="proposed",
    basis="Title of no. 9 in the list of views sold in 1873.",
    sources=(SALE,),
    locators=(", no. 17",),
)
C0119 = line(
    "c0119",
    "later_than",
    BASE + "object/item-0102",
    basis="The shed that is being built in item 0102 is finished here.",
)
C0120 = line(
    "c0120",
    "same_session_as",
    BASE + "activity/session-sorn-1",
    value_text="item 0106",
    basis="Same light, same sledge.",
)
C0121 = line(
    "c0121",
    "date_mounted",
    "1873/1876",
    basis="Paper of the page: mill mark of 1873; the album is listed in the inventory of 1876.",
)
BOTH = {
    "basis": "Both were at the pass that week.",
    "sources": (DIARY,),
    "locators": (PAGE_12,),
}

CASES: dict[str, tuple[Claim, ...]] = {
    "01-maker-current-certain": (
        line(
            "c0101",
            "maker",
            DOLEN,
            basis="The diary of the Upper Section names the photographer and the day; the snow "
            "shed in the picture was put up that week.",
            sources=(DIARY, KETTERHOLM),
            locators=(PAGE_12, "Compared with the print Ketterholm 77"),
        ),
    ),
    "02-maker-current-attributed-to": (
        line(
            "c0102",
            "maker",
            DOLEN,
            qualifier="attributed-to",
            basis="Same hand on the caption and same camera position as three signed prints.",
            sources=(BASE + "text/caption-0101",),
        ),
    ),
    "03-maker-proposed-possibly": (C0103,),
    "04-maker-former-overturned": (C0104, C0105),
    "05-maker-rejected": (C0106,),
    "06-date": (C0110,),
    "07-place": (C0111,),
    "08-sitter": (
        line(
            "c0130",
            "sitter",
            VEY,
            about=BASE + "object/item-0102",
            qualifier="probably",
            basis="Resembles the signed portrait of 1869; the caption has “J. V.”.",
            sources=(BASE + "text/caption-0102",),
        ),
    ),
    "09-sitter-unnamed-community": (
        line(
            "c0131",
            "sitter",
            BASE + "person/unnamed-0102-2",
            about=BASE + "object/item-0102",
            value_text="a Teveli guide, name not recorded",
            basis="Stands at the left; the dress is described by the Teveli Council.",
            sources=(LETTER,),
            locators=(", 2 May 2023",),
        ),
    ),
    "09b-unnamed-sitter-community": (
        line(
            "c0132",
            "member_of",
            BASE + "group/teveli",
            about=BASE + "person/unnamed-0102-2",
            qualifier="probably",
            basis="Dress; letter of the Teveli Council.",
            sources=(LETTER,),
            locators=(", 2 May 2023",),
        ),
    ),
    "10-maker-studio-of": (
        line(
            "c0112",
            "maker",
            BASE + "group/studio-korvath",  # the firm has a record: it is its own studio
            value_text="Anselm Korvath",
            qualifier="studio-of",
            standing="proposed",
            basis="Blind stamp of the studio on the mount.",
            sources=(CARD,),
            locators=(", card 101",),
        ),
    ),
    "11-maker-circle-of": (
        line(
            "c0113",
            "maker",
            KORVATH,
            qualifier="circle-of",
            standing="proposed",
            basis="Style only.",
            sources=(CARD,),
            locators=(", card 101",),
        ),
    ),
    "12-maker-after": (
        line(
            "c0140",
            "maker",
            DOLEN,
            about=BASE + "object/item-0104",
            qualifier="after",
            basis="Lettered “from a photograph by Miss Dolen”.",
        ),
    ),
    "13-process": (C0115,),
    "14-copy-of": (
        line(
            "c0150",
            "copy_of",
            ITEM,
            about=BASE + "object/item-0106",
            qualifier="possibly",
            standing="proposed",
            basis="Edge of a mount is visible.",
        ),
    ),
    "15-printed-from": (C0117,),
    "16-title": (C0118,),
    "17-alternatives": (
        line("c0122", "maker", DOLEN, **BOTH),
        line("c0123", "maker", VEY, alternative_to="c0122", **BOTH),
    ),
    "18-after-and-same-session": (C0119, C0120),
    "19-date-mounted": (C0121,),
}
TWELVE = (
    C0103, C0104, C0105, C0106, C0110, C0111, C0115, C0117, C0118, C0119, C0120, C0121,
)  # fmt: skip

DIRECT = ("timespan", "took_place_at", "after", "part_of")
"""What the twelve claims state directly on the exposure."""


class Known:
    """An index of the example records."""

    def __init__(self, folder: Path) -> None:
        self.trees = {
            tree["id"]: tree for tree in (json.loads(p.read_text()) for p in folder.glob("*.json"))
        }

    def get(self, uri: str) -> Entry | None:
        tree = self.trees.get(uri)
        if tree is None:
            return None
        parts = tree.get("produced_by", {}).get("part", ())
        return Entry(
            uri,
            tree["type"],
            tree["_label"],
            shows=tuple(ref["id"] for ref in tree.get("shows", ())),
            roles=tuple(part["id"].partition("#")[2] for part in parts),
        )


def bare(tree: dict[str, Any]) -> dict[str, Any]:
    """The document as the catalogue has it: without claims and what they state."""
    tree = copy.deepcopy(tree)
    tree.pop("@context")
    tree.pop("modified_by", None)
    tree.pop("represents", None)
    tree.pop("attributed_by", None)
    production = tree.get("produced_by", {})
    production.pop("referred_to_by", None)
    for part in production.get("part", ()):
        part.pop("attributed_by", None)
        if part["id"] == ITEM + "#exposure":
            for key in (*DIRECT, "carried_out_by"):
                part.pop(key, None)
        if part["id"] == ITEM + "#printing":
            part.pop("technique", None)
    return tree


def once_labelled(tree: dict[str, Any]) -> dict[str, Any]:
    """The handbook's document without `(replaced by this one)`, which gives a node a second label.

    It is true only where it stands, and RDF puts both at the one node; we repeat its own label.
    """
    text = json.dumps(tree, ensure_ascii=False)
    for key in re.findall(r'"Claim (\w+) \(replaced by this one\)"', text):
        (own,) = set(re.findall(rf'"(Claim {key}: (?:[^"\\]|\\.)*)"', text))
        text = text.replace(f"Claim {key} (replaced by this one)", own)
    golden: dict[str, Any] = json.loads(text)
    golden.pop("@context")
    return golden


def merged(tree: dict[str, Any], claims: tuple[Claim, ...], index: Known) -> dict[str, Any]:
    found: list[Finding] = []
    result = Merger(Nodes(BASE, concepts()), index).merge(tree, claims, found.append)
    assert found == []
    return result.tree


@pytest.mark.parametrize("case", CASES)
def test_each_case_is_rebuilt_from_its_ledger_lines(case: str, reference: Path) -> None:
    golden = json.loads((reference / "examples/claims" / f"{case}.json").read_text())
    index = Known(reference / "examples/linked-art")

    tree = merged(bare(golden), CASES[case], index)

    assert tree == once_labelled(golden)


@pytest.mark.parametrize("claims", [TWELVE, TWELVE[::-1]], ids=["in order", "backwards"])
def test_the_item_with_twelve_claims_is_rebuilt(claims: tuple[Claim, ...], reference: Path) -> None:
    index = Known(reference / "examples/linked-art")
    golden = index.trees[ITEM]

    tree = merged(bare(golden), claims, index)

    assert tree == once_labelled(golden)


def test_all_cases_of_the_handbook_are_here(reference: Path) -> None:
    files = {path.stem for path in (reference / "examples/claims").glob("*.json")}

    assert files == set(CASES)
