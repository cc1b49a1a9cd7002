"""JSON-LD processors and RDF libraries as referees: documents to canonical N-Quads lines.

PyLD and rdflib convert; the blank nodes of both are named by RDFC-1.0 as pyoxigraph implements it
(https://www.w3.org/TR/rdf-canon/), so that equal graphs are equal lists of lines.
"""

import json
from collections.abc import Iterable, Iterator
from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any

import rdflib
from pyld import jsonld
from pyoxigraph import CanonicalizationAlgorithm, Dataset, RdfFormat, parse

from lodpipe.rdf import CONTEXT_URL, loader
from lodpipe.records import Premise

BASE = "https://collections.example.org/"
PREMISES = {
    "c0105": [
        Premise(
            "w12",
            "Anselm Korvath was definitely in Ketterholm from 20 May 1871 (whereabouts w12)",
            (f"{BASE}text/pay-book",),
        )
    ]
}

OFFICIAL = "reference/linked-art/ns/linked-art.json"
EXAMPLES = {
    # folder below the reference material -> number of documents in it
    "examples/linked-art": 50,
    "examples/claims": 20,
    "reference/linked-art/examples-2022": 157,
    "reference/linked-art/assertion-examples-transcribed": 6,
}

REFUSED_DATES = {
    # official examples whose time spans hold what Linked Art 1.0 does not allow: a day without a
    # time, a moment without a zone, a placeholder; the emitter refuses, a processor passes it on
    "activity.1", "event.3", "event.5", "group.1", "object.17", "object.61", "person.8",
    "person.9", "set.3",
}  # fmt: skip
REFUSED_KEYS = {
    # keys of the context of 2022 that the present one does not have: a processor drops them
    "provenance.6": {"starts_after_the_end_of", "ends_before_the_start_of"},
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


def mended(name: str, tree: dict[str, Any]) -> dict[str, Any]:
    """Return a document without what the emitter refuses in it, so that the rest is compared."""
    stem = name.removeprefix("examples-2022/").removesuffix(".json")
    tree = deepcopy(tree)
    if stem in REFUSED_DATES:
        for node in nodes(tree):
            for key in node.keys() & {"begin_of_the_begin", "end_of_the_end"}:
                node[key] = "1850-01-01T00:00:00Z"
    for node in nodes(tree):
        for key in REFUSED_KEYS.get(stem, ()):
            node.pop(key, None)
    return tree


def nodes(value: Any) -> Iterator[dict[str, Any]]:
    """Every node of a tree, itself included."""
    if isinstance(value, dict):
        yield value
    for item in value.values() if isinstance(value, dict) else value:
        if isinstance(item, (dict, list)):
            yield from nodes(item)


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
