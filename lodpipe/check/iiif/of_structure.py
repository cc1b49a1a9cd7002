"""Rules of IIIF about structure: items, sizes, annotations, parts of canvases.

What is said of a rule's reach: `check.iiif.looking`.
"""

from collections.abc import Iterator
from typing import Any

from lodpipe.check.iiif.looking import Fault, Spot, listed, rule
from lodpipe.check.iiif.parts import PartFaultError, check_part, targets
from lodpipe.check.iiif.tables import MEDIA
from lodpipe.findings import WARNING


@rule(
    "items", "items", "there are no `items`: a manifest needs a canvas, a Range a canvas or Range"
)
def _items(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#items>; a collection may be empty (`#51-collection`)"""
    top = spot.above is None
    if not (top and spot.kind in ("Collection", "Manifest")) and not (
        spot.kind == "Range" and ("items" in spot.node or top)
    ):
        return None
    items = spot.node.get("items")
    good = isinstance(items, list) and (bool(items) or spot.kind == "Collection")
    return iter([] if good else [("/items", items)])


@rule(
    "embedded",
    "51-collection",
    "a manifest stands whole in a collection: name it by `id`, `type` and `label` alone",
)
def _embedded(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#51-collection>"""
    if spot.kind != "Manifest" or spot.above is None or spot.above.kind != "Collection":
        return None
    return iter([("/items", None)] if "items" in spot.node else [])


@rule(
    "extent",
    "53-canvas",
    "a size is missing or not a positive number: a canvas has height and width together, or a duration",
)
def _extent(spot: Spot) -> Iterator[Fault] | None:
    """`#53-canvas`, `#height`, `#width`, `#duration`"""
    canvas = spot.kind == "Canvas" and (
        spot.is_embedded
        or (spot.above is not None and spot.above.kind == "Manifest" and spot.key == "items")
    )
    if not canvas and spot.kind not in MEDIA:
        return None
    node = spot.node
    wrong = [
        (f"/{key}", node[key])
        for key in ("height", "width")
        if key in node and (type(node[key]) is not int or node[key] <= 0)
    ]
    if "duration" in node and (type(node["duration"]) not in (int, float) or node["duration"] <= 0):
        wrong.append(("/duration", node["duration"]))
    if canvas and (
        ("height" in node) != ("width" in node) or not {"height", "duration"} & node.keys()
    ):
        wrong.append(("", None))
    return iter(wrong)


@rule(
    "motivation",
    "53-canvas",
    "painting belongs into `items` of a canvas, and everything else into `annotations`",
)
def _motivation(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#53-canvas>, `#annotations`"""
    page = spot.above
    if spot.kind != "Annotation" or page is None or page.above is None:
        return None
    motivations = listed(spot.node.get("motivation"))
    if page.key == "items" and page.above.kind == "Canvas":
        broken = "painting" not in motivations
    elif page.key == "annotations":
        broken = "painting" in motivations
    else:
        return None
    return iter([("/motivation", spot.node.get("motivation"))] if broken else [])


@rule("target", "56-annotation", "the `target` of an annotation is not the canvas that it hangs on")
def _target(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#56-annotation>, `#annotations`"""
    if spot.kind != "Annotation":
        return None
    named = [iri.partition("#")[0] for iri, _ in targets(spot.node.get("target"))]
    page = spot.above
    canvas = page.above if page is not None else None
    broken = not named
    if canvas is not None and canvas.kind == "Canvas":
        broken = canvas.node.get("id") not in named
    return iter([("/target", named[0] if named else None)] if broken else [])


@rule("dimension", "53-canvas", "content has a height or duration that its canvas does not have")
def _dimension(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#53-canvas>: "content MUST NOT be associated" """
    canvas = spot.holder("Canvas")
    note = spot.holder("Annotation")
    if canvas is None or note is None or spot.kind not in MEDIA or not canvas.is_embedded:
        return None
    if "painting" not in listed(note.node.get("motivation")) or "/body" not in spot.pointer:
        return None
    lacks = [key for key in ("height", "duration") if key in spot.node and key not in canvas.node]
    return iter([(f"/{key}", spot.node[key]) for key in lacks])


@rule("part", "53-canvas", "a part lies outside its canvas, or cannot be read: look at its numbers")
def _part(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#53-canvas>"""
    parts = list(_parts(spot))
    if not parts:
        return None
    return _part_faults(spot, parts)


def _parts(spot: Spot) -> Iterator[tuple[str, Any]]:
    """Yield IRI and selector of every canvas that an object names: as target, as item, as start."""
    if spot.kind == "Annotation":
        yield from targets(spot.node.get("target"))
    elif spot.key in ("items", "start") and (
        spot.kind == "SpecificResource" or (spot.kind == "Canvas" and not spot.is_embedded)
    ):
        yield from targets(spot.node)


def _part_faults(spot: Spot, parts: list[tuple[str, Any]]) -> Iterator[Fault]:
    canvases = spot.document.canvases
    for iri, selector in parts:
        canvas = canvases.get(iri.partition("#")[0])
        if canvas is None:
            continue
        try:
            check_part(iri, selector, canvas)
        except PartFaultError as fault:
            yield "", str(fault)


@rule(
    "no-canvas",
    "54-range",
    "a Range or `start` names a canvas that this manifest does not have",
    WARNING,
)
def _no_canvas(spot: Spot) -> Iterator[Fault] | None:
    """<https://iiif.io/api/presentation/3.0/#54-range>: structure of the object "represented as a Manifest" """
    above = spot.above
    if (
        above is None
        or spot.document.kind != "Manifest"
        or spot.kind not in ("Canvas", "SpecificResource")
    ):
        return None
    if not (above.kind == "Range" and spot.key == "items") and spot.key != "start":
        return None
    canvases = spot.document.canvases
    return iter(
        [("", iri) for iri, _ in targets(spot.node) if iri.partition("#")[0] not in canvases]
    )
