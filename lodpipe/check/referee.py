"""The referee: pySHACL, one document at a time, on the same triples as the compiled engine.

pySHACL reads what the compiled engine refuses, and re-checks a sample of what it has checked.
Each document is a graph of its own here too: in one graph of a hundred documents the type that
one gives to a person would hide that another gives a wrong one.
"""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import rdflib
from rdflib import BNode, URIRef
from rdflib.term import Node as RdfNode

from lodpipe.check.graph import Graph, Node, quote
from lodpipe.check.literals import datatype_of, language_of, text_of
from lodpipe.check.paths import PathFaultError, read_path
from lodpipe.check.results import Raw
from lodpipe.check.words import SH

_TERMS = logging.getLogger("rdflib.term")


@contextmanager
def exact_literals() -> Iterator[None]:
    """Keep rdflib from rewriting literals (`...Z` to `...+00:00`), and set it back afterwards.

    pySHACL sets `NORMALIZE_LITERALS` to True when it is done, whatever it was before. While the
    referee works, rdflib's log of every ill-typed literal is held back: the check reports them.
    """
    before, level = rdflib.NORMALIZE_LITERALS, _TERMS.level
    rdflib.NORMALIZE_LITERALS = False
    _TERMS.setLevel(logging.ERROR)
    try:
        yield
    finally:
        rdflib.NORMALIZE_LITERALS = before
        _TERMS.setLevel(level)


class Referee:
    """pySHACL over one set of shapes, read once.

    Args:
        shapes: the shapes graph. `only`: nodes of the shapes to run; empty for all.
    """

    def __init__(self, shapes: Graph, only: frozenset[Node] = frozenset()) -> None:
        import pyshacl

        self._validator = pyshacl.Validator
        self._graph = shapes
        with exact_literals():
            self._shapes = pyshacl.ShapesGraph(to_rdflib(shapes))
            if only:
                kept = [shape for shape in self._shapes.shapes if from_rdflib(shape.node) in only]
                self._shapes._shapes = kept

    def check(self, data: Graph) -> list[Raw]:
        """Return the results for the triples of one document, in order.

        Raises:
            whatever pySHACL raises on shapes that it cannot run: lint and compile name those.
        """
        from pyshacl.graph_abstraction import DataGraph

        with exact_literals():
            validator = self._validator(
                DataGraph.from_rdflib_graph(to_rdflib(data)),
                shacl_graph=rdflib.Graph(),
                options={"inplace": True, "logger": logging.getLogger("lodpipe.referee")},
            )
            validator.shacl_graph = self._shapes
            _, report, _ = validator.run()
            return sorted(self._results(report))

    def _results(self, report: Any) -> Iterator[Raw]:
        term = URIRef
        for _, _, node in report.triples((None, term(f"{SH}result"), None)):
            found = {str(p)[len(SH) :]: o for _, p, o in report.triples((node, None, None))}
            component = str(found["sourceConstraintComponent"])
            yield Raw(
                focus=from_rdflib(found["focusNode"]),
                path=self._path(found.get("resultPath")),
                component=component.removeprefix(SH).removesuffix("ConstraintComponent"),
                value=from_rdflib(found["value"]) if "value" in found else "",
                shape=from_rdflib(found["sourceShape"]),
            )

    def _path(self, path: RdfNode | None) -> str:
        if path is None:
            return ""
        try:
            return str(read_path(self._graph, from_rdflib(path)))
        except PathFaultError as error:
            return f"? ({error})"


def to_rdflib(graph: Graph) -> rdflib.Graph:
    """Return the same triples as an rdflib graph; blank nodes keep their labels."""
    terms: dict[Node, RdfNode] = {}

    def term(node: Node) -> RdfNode:
        found = terms.get(node)
        if found is None:
            found = terms[node] = _term(node)
        return found

    made = rdflib.Graph(bind_namespaces="none")
    for subject, properties in graph.spo.items():
        for predicate, values in properties.items():
            for value in values:
                made.add((term(subject), term(predicate), term(value)))
    return made


def _term(node: Node) -> RdfNode:
    if node.startswith("<"):
        return URIRef(node[1:-1])
    if node.startswith("_:"):
        return BNode(node[2:])
    language = language_of(node)
    datatype = datatype_of(node)
    if language:
        return rdflib.Literal(text_of(node), lang=language)
    plain = not node.endswith(">")
    return rdflib.Literal(text_of(node), datatype=None if plain else URIRef(datatype))


def from_rdflib(term: RdfNode) -> Node:
    """Return an rdflib term as a node."""
    if isinstance(term, rdflib.Literal):
        return quote(str(term), str(term.datatype or ""), term.language or "")
    return f"_:{term}" if isinstance(term, BNode) else f"<{term}>"
