"""The line of attribution of a document: the one line that every reader may be shown."""

from collections.abc import Container, Mapping, Sequence

from lodpipe.aspects import Aspects, slug
from lodpipe.assemble.names import Names
from lodpipe.assemble.nodes_of import DocumentNodes
from lodpipe.assemble.targets import main_node
from lodpipe.assemble.values import Placement
from lodpipe.nodes import MODIFICATIONS
from lodpipe.records import Claim, Tree
from lodpipe.wording import View, attribution_line, has, nobody_known, role_word, say

UNIDENTIFIED = "group/unidentified-"
_SECOND = ("printing", "publishing")


def attribution(
    tree: Tree,
    places: DocumentNodes,
    placed: Sequence[Placement],
    names: Names,
    aspects: Aspects,
    apart: Mapping[str, tuple[str, int]],
    emptied: Container[str] = (),
) -> None:
    """Add the attribution statement, in each language, to a document with claims about its makers.

    Nothing is added where all that is claimed is rejected and nothing is stated, but for nodes of
    which the catalogue did state a maker until a claim took it off.

    Args:
        emptied: roles of those nodes.
    """
    makers: dict[str, list[Placement]] = {}
    for placement in placed:
        if placement.claim.aspect == "maker" and placement.spot.node not in MODIFICATIONS:
            makers.setdefault(placement.spot.node, []).append(placement)
    if not makers:
        return
    order = (*aspects.main_nodes, *_SECOND)
    nodes = sorted(makers, key=lambda role: (order.index(role) if role in order else 99, role))
    stated = {node: _stated(places, node, aspects) for node in nodes}
    for language in names.languages:
        held = {
            node: _views(stated[node], makers[node], names, aspects, apart, language)
            for node in nodes
        }
        if text := _text(held, emptied, language):
            statement = names.nodes.statement(text, "attribution-statement", language)
            tree["produced_by"].setdefault("referred_to_by", []).append(statement)


def _text(held: Mapping[str, Sequence[View]], emptied: Container[str], language: str) -> str:
    """Return the line in one language: who is held to have made it, then who worked on it."""
    lines: list[str] = []
    for node, views in held.items():
        line = attribution_line(views, language, node=node)
        if not line and node in emptied:
            line = nobody_known(language, node=node)
        if line and (lines or node in _SECOND):
            key = f"worker.{node}"
            role = say(language, key) if has(language, key) else node
            line = say(language, "line.role", role=role, line=line)
        if line:
            lines.append(line)
    return say(language, "line.next").join(lines)


def _stated(places: DocumentNodes, node: str, aspects: Aspects) -> list[Tree]:
    """Return the makers that are stated on a node; on the main one also those of the whole."""
    if node != main_node(places.roles(), aspects):
        found = places.find(node)
        return list(found[0].get("carried_out_by", ())) if found else []
    makers = [
        maker
        for one in places.reach(node, aspects.main_nodes)
        for maker in one.node.get("carried_out_by", ())
    ]
    return list({maker["id"]: maker for maker in makers}.values())


def _views(
    makers: Sequence[Tree],
    claims: Sequence[Placement],
    names: Names,
    aspects: Aspects,
    apart: Mapping[str, tuple[str, int]],
    language: str,
) -> list[View]:
    """What is stated of a node, then the claims that are not."""

    def called(p: Placement) -> str:
        return _with_role(p.value.words_in(language), p.claim, aspects, language)

    stated = {p.value.iri: p for p in claims if p.holds}
    views = []
    for maker in makers:
        placement = stated.get(maker["id"])
        label = called(placement) if placement is not None else str(maker.get("_label", ""))
        views.append(View(label, known=_known(maker["id"], names)))
    for p in claims:
        if p.holds:
            if not p.value.linked:
                views.append(View(called(p)))
            continue
        views.append(
            View(
                called(p),
                slug(p.claim.qualifier),
                p.claim.effective,
                apart[p.claim.key][0] if p.claim.key in apart else "",
                _known(p.value.iri, names),
            )
        )
    return views


def _with_role(words: str, claim: Claim, aspects: Aspects, language: str) -> str:
    """Add a role that has no node of its own (an architect), so that it is not lost."""
    if not claim.role or claim.role in aspects.roles:
        return words
    return say(language, "with.role", words=words, role=role_word(claim.role, language))


def _known(iri: str, names: Names) -> bool:
    return not names.key(iri).startswith(UNIDENTIFIED) if iri else True
