"""Plain values over which a line of the ledger decides that may not be seen."""

from collections.abc import Iterable

from lodpipe.aspects import Aspects
from lodpipe.assemble.attribution import UNIDENTIFIED
from lodpipe.assemble.nodes_of import DocumentNodes
from lodpipe.assemble.plain import Ledger, Moves, Taken, take_plain
from lodpipe.assemble.targets import spot
from lodpipe.records import Claim


def take_silenced(
    claims: Iterable[Claim], places: DocumentNodes, aspects: Aspects, base: str, moves: Moves
) -> list[Taken]:
    """Take the plain values off their nodes; nothing is said of them.

    To state them would be to say what the line may have refuted; to say that they are given up
    would be to tell that there is such a line. A Group of unidentified makers stays.
    """
    decides = Ledger(base + UNIDENTIFIED)
    taken: list[Taken] = []
    for claim in claims:
        aspect = aspects.get(claim.aspect)
        if claim.mapped or not aspect.decides:
            continue
        kinds = ("", *sorted(aspect.takes))
        # what the value is cannot be looked up: it may be withheld as well
        spots = dict.fromkeys(spot(claim, aspects, places.roles(), kind) for kind in kinds)
        for where in spots:
            for node, pointer, _ in places.reach(where.node, aspects.main_nodes):
                taken += take_plain(node, pointer, where.key, decides, aspect, moves)
    return taken
