"""A small world for tests of assembling: the album of the Sorn Railway, as an index knows it."""

from collections.abc import Iterator
from typing import Any

from lodpipe.assemble.plain import name_of
from lodpipe.nodes import Nodes
from lodpipe.records import Claim, Entry
from lodpipe.terms import concepts

BASE = "https://collections.example.org/"
NODES = Nodes(BASE, concepts())
ITEM, OTHER, PRINT = (BASE + f"object/item-010{n}" for n in (1, 2, 4))
VISUAL = BASE + "visual/0101"
DOLEN, KORVATH, VEY, ESKER, TARROW = (
    BASE + f"person/{name}" for name in ("dolen", "korvath", "vey", "esker", "tarrow")
)
STUDIO, PASS = BASE + "group/studio-korvath", BASE + "place/sorn-pass"
DIARY, NEGATIVE = BASE + "text/diary-3", BASE + "object/negative-31"
ALBUMEN = BASE + "vocab/process/albumen-silver"


class World(dict[str, Entry]):
    """An index in memory."""

    def know(self, uri: str, kind: str, label: str, **more: tuple[str, ...]) -> None:
        self[uri] = Entry(uri, kind, label, **more)


def world() -> World:
    """The records that claims of the tests speak of."""
    index = World()
    made = ("production", "exposure", "printing")
    index.know(ITEM, "HumanMadeObject", "Summit cutting (item 0101)", shows=(VISUAL,), roles=made)
    index.know(OTHER, "HumanMadeObject", "Two men (item 0102)", roles=made)
    index.know(PRINT, "HumanMadeObject", "The cutting (item 0104)", roles=("production", "drawing"))
    index.know(NEGATIVE, "HumanMadeObject", "Negative 31 (lost)")
    index.know(VISUAL, "VisualItem", "Image of item 0101")
    for uri, label in (
        (DOLEN, "Mira Dolen"),
        (KORVATH, "Anselm Korvath"),
        (VEY, "Jonas Vey"),
        (ESKER, "Bruno Esker"),
        (TARROW, "Ines Tarrow"),
    ):
        index.know(uri, "Person", label)
    index.know(STUDIO, "Group", "Korvath & Daughters")
    index.know(PASS, "Place", "Sorn Pass")
    index.know(DIARY, "LinguisticObject", "Diary of the Upper Section, vol. 3")
    return index


def item(uri: str = ITEM, *roles: str) -> dict[str, Any]:
    """A thing as the catalogue has it, with the parts of its production."""
    tree: dict[str, Any] = {"id": uri, "type": "HumanMadeObject", "_label": "A thing"}
    if roles:
        tree["produced_by"] = {
            "id": f"{uri}#production",
            "type": "Production",
            "part": [NODES.role(uri, role) for role in roles],
        }
    return tree


def part(tree: dict[str, Any], role: str) -> dict[str, Any]:
    """The node of a role in a document."""
    nodes = [
        tree["produced_by"],
        *tree["produced_by"].get("part", []),
        *tree.get("modified_by", []),
    ]
    (found,) = [node for node in nodes if node["id"].endswith("#" + role)]
    return found


def claim(key: str, aspect: str, value: str = "", **cells: Any) -> Claim:
    """A ledger line of Ines Tarrow's about item 0101, unless the cells say otherwise."""
    cells = {"about": ITEM, "by": TARROW, "on": "2024-03-11", "basis": "Seen.", **cells}
    cells.setdefault("effective", cells.get("standing", "current"))
    return Claim(key, aspect=aspect, value=value, **cells)


def stated(tree: dict[str, Any]) -> set[tuple[str, str, str]]:
    """What a plain query finds: (class of the node, key, value) of the document and its events.

    Claims are looked over, as a query on productions does: they are not productions.
    """
    return {
        (node["type"], key, name_of(value))
        for node in _events(tree)
        for key, values in node.items()
        for value in (values if isinstance(values, list) else [values])
        if isinstance(value, dict) and key not in ("attributed_by", "part") and not _line(value)
    }


def _line(node: dict[str, Any]) -> bool:
    kinds = [kind["id"] for kind in node.get("classified_as", [])]
    return NODES.iri("attribution-statement") in kinds


def _events(tree: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield tree
    for key in ("produced_by", "modified_by", "part"):
        nodes = tree.get(key, [])
        for node in nodes if isinstance(nodes, list) else [nodes]:
            yield from _events(node)


def said(tree: dict[str, Any]) -> list[dict[str, Any]]:
    """All claims in a document."""
    return [c for node in _events(tree) for c in node.get("attributed_by", [])]


def attribution_of(tree: dict[str, Any]) -> str:
    """The line of attribution; empty where there is none."""
    kind = NODES.iri("attribution-statement")
    texts = tree.get("produced_by", {}).get("referred_to_by", [])
    return "".join(t["content"] for t in texts if t["classified_as"][0]["id"] == kind)
