"""How long the triples of one typical record take: `python -m bench.emitter`.

The record has about 110 triples: names, dimensions, a production in two parts, one claim and an image. 300 variants of it are parsed anew, as they come from a part file, so that no string is
known; the best of several rounds counts, in CPU time. PyLD makes the same triples beside it.
"""

import json
from time import process_time
from typing import Any

import orjson
from pyld import jsonld

from lodpipe.dates import parse
from lodpipe.nodes import Nodes
from lodpipe.publish.linked_art import document_bytes
from lodpipe.rdf import CONTEXT_URL, Emitter, loader
from lodpipe.terms import concepts

BASE = "https://collections.example.org/"
KEY = "item-0301"
VARIANTS, ROUNDS = 300, 15


def record() -> dict[str, Any]:
    """Return a pasted print of the album as pass 2 leaves it."""
    nodes, uri = Nodes(BASE, concepts()), f"{BASE}object/{KEY}"
    measured = [
        {
            "type": "Dimension",
            "value": value,
            "unit": nodes.term("millimeters"),
            "classified_as": [nodes.term(kind), nodes.term("measured-image")],
        }
        for kind, value in (("height", 142), ("width", 195))
    ]
    exposure, printing = nodes.role(uri, "exposure"), nodes.role(uri, "printing")
    exposure["timespan"] = nodes.timespan("February 1872", parse("1872-02"))
    exposure["attributed_by"] = [claim(nodes, uri)]
    printing["technique"] = [nodes.term("process/albumen-silver")]
    image = {"id": f"{BASE}iiif/image/{KEY}", "type": "DigitalObject", "format": "image/jpeg"}
    return {
        "id": uri,
        "type": "HumanMadeObject",
        "_label": f"Summit cutting below Sorn Pass ({KEY})",
        "classified_as": [nodes.term("albumen-print"), nodes.term("photograph")],
        "identified_by": [
            nodes.name("Summit cutting below Sorn Pass", language="en"),
            nodes.identifier("HRL 1866.1.12a", "accession-number"),
        ],
        "dimension": measured,
        "part_of": {"id": f"{BASE}object/album-1-p12", "type": "HumanMadeObject", "_label": "Page"},
        "shows": [{"id": f"{BASE}visual/{KEY}", "type": "VisualItem", "_label": "Image"}],
        "produced_by": {
            "id": f"{uri}#production",
            "type": "Production",
            "part": [exposure, printing],
        },
        "representation": [{"type": "VisualItem", "digitally_shown_by": [image]}],
    }


def claim(nodes: Nodes, uri: str) -> dict[str, Any]:
    """Return a doubted maker."""
    return {
        "id": f"{uri}#claim-c0301",
        "type": "AttributeAssignment",
        "_label": "Claim c0301: possibly by Jonas Vey",
        "classified_as": [
            nodes.term("aspect/maker"),
            nodes.term("standing/proposed"),
            nodes.term("qualifier/possibly"),
        ],
        "identified_by": [nodes.identifier("c0301", "claim-key")],
        "carried_out_by": [
            {"id": f"{BASE}person/tarrow", "type": "Person", "_label": "Ines Tarrow"}
        ],
        "assigned_property": "carried_out_by",
        "assigned": [{"id": f"{BASE}person/vey", "type": "Person", "_label": "Jonas Vey"}],
    }


def main() -> None:
    """Print the times and their ratio."""
    text = document_bytes(record()).decode()
    emitter = Emitter(BASE, concepts())
    triples = len(emitter.emit(json.loads(text)).lines)
    trees = [
        orjson.loads(text.replace(KEY, f"item-{number}")) for number in range(1000, 1000 + VARIANTS)
    ]
    best = min(timed(emitter.emit, trees) for _ in range(ROUNDS))
    options = {"documentLoader": loader(), "format": "application/n-quads"}
    assert CONTEXT_URL in text
    slow = timed(lambda tree: jsonld.to_rdf(tree, options), trees)
    print(f"{triples} triples a record, {VARIANTS} records")
    print(f"emitter {best:.4f} ms, PyLD {slow:.2f} ms a record: {slow / best:.0f} times")


def timed(make: Any, trees: list[dict[str, Any]]) -> float:
    """Return milliseconds a tree."""
    start = process_time()
    for tree in trees:
        make(tree)
    return (process_time() - start) / len(trees) * 1000


if __name__ == "__main__":
    main()
