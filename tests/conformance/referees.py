"""JSON-LD processors and RDF libraries as referees: documents to canonical N-Quads lines.

PyLD and rdflib convert; the blank nodes of both are named by RDFC-1.0 as pyoxigraph implements it
(https://www.w3.org/TR/rdf-canon/), so that equal graphs are equal lists of lines.
"""

import json
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

import rdflib
from pyld import jsonld
from pyoxigraph import CanonicalizationAlgorithm, Dataset, RdfFormat, parse

from lodpipe.rdf import CONTEXT_URL, loader

OFFICIAL = "reference/linked-art/ns/linked-art.json"
EXAMPLES = {
    # folder below the reference material -> number of documents in it
    "examples/linked-art": 50,
    "examples/claims": 20,
    "reference/linked-art/examples-2022": 157,
    "reference/linked-art/assertion-examples-transcribed": 6,
}


def documents(reference: Path, *folders: str) -> dict[str, dict[str, Any]]:
    """Return the documents of the folders by `folder/name`, their number checked."""
    found = {}
    for folder in folders:
        files = sorted((reference / folder).glob("*.json"))
        assert len(files) == EXAMPLES[folder], folder
        for file in files:
            found[f"{file.parent.name}/{file.name}"] = json.loads(file.read_text(encoding="utf-8"))
    return found


@cache
def official_context(reference: Path) -> dict[str, Any]:
    """Return the official Linked Art context document."""
    context: dict[str, Any] = json.loads((reference / OFFICIAL).read_text(encoding="utf-8"))
    return context


def by_pyld(document: dict[str, Any], context: dict[str, Any]) -> str:
    """Return a document as N-Quads, converted by PyLD under a context document."""
    answers = loader({CONTEXT_URL: context}.items())
    quads: str = jsonld.to_rdf(
        {**document, "@context": CONTEXT_URL},
        {"documentLoader": answers, "format": "application/n-quads", "base": document["id"]},
    )
    return quads


def by_rdflib(document: dict[str, Any], context: dict[str, Any]) -> str:
    """Return a document as N-Triples, converted by rdflib under a context document.

    rdflib rewrites literals while it reads (`...T00:00:00Z` becomes `...+00:00`) unless told not
    to; the switch is global, so it is put back.
    """
    before = rdflib.NORMALIZE_LITERALS
    rdflib.NORMALIZE_LITERALS = False
    try:
        graph = rdflib.Graph()
        text = json.dumps({**document, "@context": context["@context"]})
        graph.parse(data=text, format="json-ld", base=document["id"])
        return graph.serialize(format="nt")
    finally:
        rdflib.NORMALIZE_LITERALS = before


def canonical(triples: str | Iterable[str]) -> list[str]:
    """Return sorted N-Quads lines with the blank nodes named by RDFC-1.0."""
    text = triples if isinstance(triples, str) else "\n".join(triples)
    dataset = Dataset(parse(text, format=RdfFormat.N_QUADS))
    dataset.canonicalize(CanonicalizationAlgorithm.RDFC_1_0)
    return sorted(f"{quad} ." for quad in dataset)
