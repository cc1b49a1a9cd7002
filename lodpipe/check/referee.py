"""The referee: pySHACL, one document at a time, on the same triples as the compiled engine.

pySHACL reads what the compiled engine refuses, and re-checks a sample of what it has checked.
Each document is a graph of its own here too: in one graph of a hundred documents the type that
one gives to a person would hide that another gives a wrong one.
"""

import logging
import warnings
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from types import MappingProxyType
from typing import Any

import rdflib
from rdflib import BNode, URIRef
from rdflib.term import Node as RdfNode

from lodpipe.check.graph import XSD, Graph, Node, quote
from lodpipe.check.literals import datatype_of, language_of, text_of, value_of
from lodpipe.check.paths import PathFaultError, read_path
from lodpipe.check.results import Raw
from lodpipe.check.words import SH, sh
from lodpipe.errors import UsageError

_TERMS = logging.getLogger("rdflib.term")


@contextmanager
def exact_literals() -> Iterator[None]:
    """Keep rdflib from rewriting literals (`...Z` to `...+00:00`), and set it back afterwards.

    pySHACL sets `NORMALIZE_LITERALS` to True when it is done, whatever it was before. While the
    referee works, rdflib's log of every ill-typed literal is held back, and so is the warning
    that Python gives when rdflib compares one: the check reports them.
    """
    before, level = rdflib.NORMALIZE_LITERALS, _TERMS.level
    rdflib.NORMALIZE_LITERALS = False
    _TERMS.setLevel(logging.ERROR)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)
            yield
    finally:
        rdflib.NORMALIZE_LITERALS = before
        _TERMS.setLevel(level)


class NoAnswerError(Exception):
    """pySHACL gave up on one document; the message is its own."""


class Referee:
    """pySHACL over one set of shapes, read once.

    Args:
        shapes: the shapes graph. `only`: nodes of the shapes to run; empty for all.
        prefixes: what queries in the shapes may use besides what they declare.
    """

    def __init__(
        self,
        shapes: Graph,
        only: frozenset[Node] = frozenset(),
        prefixes: Mapping[str, str] = MappingProxyType({}),
    ) -> None:
        import pyshacl

        class Chosen(pyshacl.ShapesGraph):
            """Only the shapes that this referee is asked about have targets."""

            @property
            def shapes(self) -> list[Any]:
                return [s for s in super().shapes if not only or from_rdflib(s.node) in only]

        self._validator = pyshacl.Validator
        self._graph = shapes
        self._prefixes = prefixes
        with exact_literals():
            self._shapes = Chosen(to_rdflib(shapes))

    def check(self, data: Graph) -> list[Raw]:
        """Return the results for the triples of one document, in order.

        Raises:
            UsageError: pySHACL cannot run the shapes.
            NoAnswerError: it gives up on this document.
        """
        from pyshacl.errors import ConstraintLoadError, ReportableRuntimeError, ShapeLoadError
        from pyshacl.graph_abstraction import DataGraph

        with exact_literals():
            graph = to_rdflib(data)
            for prefix, iri in self._prefixes.items():
                graph.bind(prefix, iri)  # rdflib looks there for those that a query uses
            validator = self._validator(
                DataGraph.from_rdflib_graph(graph),
                shacl_graph=rdflib.Graph(),
                options={"inplace": True, "logger": logging.getLogger("lodpipe.referee")},
            )
            validator.shacl_graph = self._shapes
            try:
                _, report, _ = validator.run()  # type: ignore[no-untyped-call]
            except (ConstraintLoadError, ShapeLoadError) as error:
                raise UsageError(
                    f"pySHACL cannot run the shapes: {error}", hint="mend the shape that it names"
                ) from error
            except (NotImplementedError, ReportableRuntimeError, TypeError) as error:
                # a TypeError comes from rdflib, where it compares what it could not read
                raise NoAnswerError(str(error)) from error
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
                message=str(found.get("resultMessage", "")),
            )

    def _path(self, path: RdfNode | None) -> str:
        if path is None:
            return ""
        try:
            return str(read_path(self._graph, from_rdflib(path)))
        except PathFaultError as error:
            return f"? ({error})"


def differences(
    shapes: Graph, data: Graph, ours: list[Raw], theirs: list[Raw]
) -> list[tuple[Raw, int, int]]:
    """Return the results that the two engines do not give equally often, with both counts.

    Compared are focus node, path, component and value. Left out are the differences that we know
    (`excused`).
    """
    one, other = Counter(map(_key, ours)), Counter(map(_key, theirs))
    examples = {_key(raw): raw for raw in (*theirs, *ours)}
    return [
        (examples[key], one[key], other[key])
        for key in sorted(one.keys() | other.keys())
        if one[key] != other[key] and not excused(shapes, data, examples[key])
    ]


def _key(raw: Raw) -> tuple[str, str, str, str]:
    return (raw.focus, raw.path, raw.component, raw.value)


def excused(shapes: Graph, data: Graph, raw: Raw) -> bool:
    """Return whether a difference is one that we know, where the standard is on our side.

    rdflib reads days and times by Python's rules: years 1 to 9999 only, and forms that XML Schema
    does not have; gYear and gYearMonth it does not look at. It compares everything: what it could
    not read, moments with and without a zone, a day with a number. SHACL says that such values
    have no order (4.3, 4.5.3).
    """
    if raw.component == "Datatype":
        return datatype_of(raw.value).removeprefix(XSD) in _DAYS_OF_PYTHON
    limits = shapes.objects(raw.shape, sh(raw.component[:1].lower() + raw.component[1:]))
    if raw.component in ("LessThan", "LessThanOrEquals"):
        limits = [limit for predicate in limits for limit in data.objects(raw.focus, predicate)]
    elif raw.component not in _RANGES:
        return False
    with exact_literals():
        return any(_unread(node) for node in (raw.value, *limits)) or any(
            _kind(limit) != _kind(raw.value) for limit in limits
        )


_DAYS_OF_PYTHON = ("date", "dateTime", "gYear", "gYearMonth", "time")
_RANGES = ("MinExclusive", "MinInclusive", "MaxExclusive", "MaxInclusive")


def _kind(node: Node) -> tuple[str, bool] | None:
    """Return what a value may be compared with: its kind, and whether it has a zone."""
    value = value_of(node)
    return None if value is None else (value[0], isinstance(value[1], tuple) and value[1][2])


def _unread(node: Node) -> bool:
    term = _term(node) if node.startswith('"') else None
    return isinstance(term, rdflib.Literal) and term.value is None


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
