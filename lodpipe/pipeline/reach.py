"""How far access reaches: from what a row names to what lies below it and what shows the same.

Down: a page of a withheld album, an item of a withheld page. Sideways: the other prints of one
negative, copies, everything that shows one image, whatever the standing of the claim that says so,
unless it is rejected. A thing that a row opens by name is not reached by what is withheld
elsewhere.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from lodpipe.parts import IndexReader
from lodpipe.records import Claim, Tree

COPIES = ("copy_of", "printed_from")
HOLDS = "composed_of"
SEEN = ("sitter", "depicts")
REJECTED = "rejected"
COLLAGE = "pasting"

Graph = dict[str, set[str]]


@dataclass(slots=True)
class Links:
    """How documents hang together, as far as access goes along it.

    Attributes:
        above: what each document is part of. `below`: its parts.
        beside: what was printed or copied from one another, either way.
        shown: images by thing. `showing`: things by image.
        within: wholes that were put together from a thing (a collage), by that thing.
        seen: things and images by the person or place that is seen in them.
    """

    above: Graph = field(default_factory=dict)
    below: Graph = field(default_factory=dict)
    beside: Graph = field(default_factory=dict)
    shown: Graph = field(default_factory=dict)
    showing: Graph = field(default_factory=dict)
    within: Graph = field(default_factory=dict)
    seen: Graph = field(default_factory=dict)


def links(index: IndexReader, claims: Iterable[Claim]) -> Links:
    """Return how the documents of a run hang together, by their records and by claims."""
    found = Links()
    for uri, parents in index.parents().items():
        for parent in parents:
            _put(found.above, uri, parent)
            _put(found.below, parent, uri)
    for uri, images in index.images().items():
        for image in images:
            _put(found.shown, uri, image)
            _put(found.showing, image, uri)
    for uri, tree in index.trees_with("used_specific_object", "influenced_by", "represents"):
        _by_record(found, uri, tree)
    for claim in claims:
        if claim.effective == REJECTED or not claim.value:
            continue
        if claim.aspect in COPIES:
            _beside(found, claim.about, claim.value)
        elif claim.aspect == HOLDS:
            _put(found.within, claim.value, claim.about)
        elif claim.aspect in SEEN:
            _put(found.seen, claim.value, claim.about)
    return found


def _by_record(found: Links, uri: str, tree: Tree) -> None:
    for node in _listed(tree.get("represents")):
        if "id" in node:
            _put(found.seen, node["id"], uri)
    production = tree.get("produced_by") or {}
    for part in (production, *_listed(production.get("part"))):
        used = [*_listed(part.get("used_specific_object")), *_listed(part.get("influenced_by"))]
        for node in used:
            if node.get("type") != "HumanMadeObject" or "id" not in node:
                continue
            if str(part.get("id", "")).endswith(f"#{COLLAGE}"):
                _put(found.within, node["id"], uri)
            else:
                _beside(found, uri, node["id"])


def withheld(named: Iterable[str], opened: Iterable[str], along: Links) -> frozenset[str]:
    """Return what is withheld with everything that it reaches.

    An image that something else still shows, which was opened by name, stays.
    """
    first, free = frozenset(named), frozenset(opened)
    found = set(first)
    waiting = sorted(first)
    while waiting:
        uri = waiting.pop()
        for other in _reached(uri, along):
            if other not in found and other not in free:
                found.add(other)
                waiting.append(other)
    kept = {image for uri in free - found for image in along.shown.get(uri, ())}
    return frozenset(found - (kept - first))


def _reached(uri: str, along: Links) -> Iterator[str]:
    for graph in (along.below, along.beside, along.shown, along.showing):
        yield from graph.get(uri, ())


def with_notice(named: Mapping[str, Iterable[str]], along: Links) -> dict[str, tuple[str, ...]]:
    """Return the notices of each document, passed on to whatever shows what they are about.

    They go the same ways as withholding, and up as well: the picture of a page shows its items,
    and an album is a list of them. A notice on a person or place stands before what shows them.
    """
    found: dict[str, list[str]] = {}
    for uri, notices in sorted(named.items()):
        for other in sorted(_noticed(uri, along)):
            mine = found.setdefault(other, [])
            mine.extend(notice for notice in notices if notice not in mine)
    return {uri: tuple(notices) for uri, notices in found.items()}


def _noticed(uri: str, along: Links) -> set[str]:
    about = {uri, *along.seen.get(uri, ())}
    reached = set(withheld(about, (), along))
    waiting = sorted(reached)
    while waiting:
        one = waiting.pop()
        for graph in (along.above, along.within):
            more = graph.get(one, set()) - reached
            reached |= more
            waiting.extend(more)
    return reached


def carriers(along: Links) -> dict[str, tuple[str, ...]]:
    """Return on what a picture of each thing may be seen although no region says where.

    That is what it is part of, what was put together from it, and the prints and copies of that.
    """
    found: dict[str, set[str]] = {uri: set(parents) for uri, parents in along.above.items()}
    for component, wholes in along.within.items():
        found.setdefault(component, set()).update(wholes)
        for whole in wholes:
            found.setdefault(whole, set()).update(along.beside.get(whole, ()))
    return {uri: tuple(sorted(others)) for uri, others in found.items()}


def with_images(things: frozenset[str], along: Links) -> frozenset[str]:
    """Return things with the images that they show."""
    return things.union(*(along.shown.get(uri, ()) for uri in things))


def _put(graph: Graph, key: str, value: str) -> None:
    graph.setdefault(key, set()).add(value)


def _beside(found: Links, one: str, other: str) -> None:
    _put(found.beside, one, other)
    _put(found.beside, other, one)


def _listed(value: object) -> list[Tree]:
    values = value if isinstance(value, list) else [value]
    return [one for one in values if isinstance(one, dict)]
