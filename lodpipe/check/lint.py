"""What in a set of shapes checks nothing, or not what it seems to.

A misspelt `sh:` term is no error to any engine: the shape then conforms to everything. Nor is a
target class that no document has, a constraint on the wrong kind of shape, or a shape that
nothing refers to. Each is a finding here, with file, line and the nearest right word.
"""

from collections.abc import Iterator
from functools import cache

import pyoxigraph

from lodpipe.check.graph import RDF, XSD, Graph, Node
from lodpipe.check.literals import datatype_of, text_of
from lodpipe.check.paths import PREFIXES, compact
from lodpipe.check.shapes import RECORD, ShapeSet, line_of, parents
from lodpipe.check.words import KINDS, PARAMETERS, PATHS, SH, SPARQL, TERMS, sh
from lodpipe.errors import nearest
from lodpipe.findings import INFO, WARNING, Finding
from lodpipe.records import Place
from lodpipe.terms import keys

_START = f"<{SH}"
_NIL = f"<{RDF}nil>"
_NO_SHAPES = ("optional", "datatype", "select")
"""Terms beside which `sh:path` or `sh:message` belong to a parameter or a query, not a shape."""
_MODEL = ("crm", "la", "dig", "sci")
"""Prefixes whose terms documents can only have when terms.csv has them."""


def lint(shapes: ShapeSet) -> list[Finding]:
    """Return the findings about a set of shapes, file by file, then about the set as a whole."""
    found: list[Finding] = []
    for name, lines in shapes.files.items():
        text = shapes.texts[name]
        graph = Graph(lines)
        for word, finding in (*_words(graph), *_values(graph, shapes), *_model(graph)):
            line = line_of(text, word) if word else 0
            found.append(_placed(finding, Place(name, line=line)))
    found.extend(_whole(shapes))
    return found


def _placed(finding: Finding, place: Place) -> Finding:
    return Finding(
        finding.code,
        finding.message,
        place,
        severity=finding.severity,
        value=finding.value,
        hint=finding.hint,
        rule=finding.rule,
    )


def _words(graph: Graph) -> Iterator[tuple[str, Finding]]:
    """Terms of the SHACL namespace that SHACL does not have."""
    seen = {
        node
        for properties in graph.spo.values()
        for predicate, values in properties.items()
        for node in (predicate, *values)
        if node.startswith(_START)
    }
    for node in sorted(seen):
        term = node[len(_START) : -1]
        if term not in TERMS:
            yield (
                f"sh:{term}",
                Finding(
                    "shape-term",
                    f"`sh:{term}` is no term of SHACL: it checks nothing",
                    value=f"sh:{term}",
                    hint=_near(term),
                ),
            )


def _near(term: str) -> str:
    other_case = sorted(word for word in TERMS if word.casefold() == term.casefold())
    if other_case:
        return f"did you mean `sh:{other_case[0]}`?"
    return nearest(term, TERMS).replace("`", "`sh:", 1)


def _values(graph: Graph, shapes: ShapeSet) -> Iterator[tuple[str, Finding]]:
    """Parameters that stand where they do nothing, or with a value that they cannot take."""
    for node, properties in graph.spo.items():
        name = shapes.shapes[node].name if node in shapes.shapes else ""
        if not name:
            yield from _outside(node, properties)
            continue
        for word, parameter in PARAMETERS.items():
            for value in properties.get(sh(word), ()):
                reason = _unfit(shapes.graph, parameter.takes, value)
                if not reason and parameter.on == "property" and sh("path") not in properties:
                    reason = "does nothing on a shape without `sh:path`"
                if not reason and parameter.beside and sh(parameter.beside) not in properties:
                    reason = f"does nothing without `sh:{parameter.beside}`"
                if reason:
                    yield (
                        _anchor(node, word),
                        Finding(
                            "shape-fault",
                            f"`sh:{word}` of the shape `{name}` {reason}",
                            value=compact(value),
                            rule=name,
                        ),
                    )
        yield from _severity(node, properties, name)


def _outside(node: Node, properties: dict[Node, list[Node]]) -> Iterator[tuple[str, Finding]]:
    """A path on a node that is no shape: its constraints are missing, or misspelt."""
    if sh("path") in properties and not any(sh(word) in properties for word in _NO_SHAPES):
        yield (
            _anchor(node, "path"),
            Finding(
                "shape-fault",
                f"`sh:path` stands at {compact(node)}, which is no shape that checks anything",
                severity=WARNING,
            ),
        )


def _severity(
    node: Node, properties: dict[Node, list[Node]], name: str
) -> Iterator[tuple[str, Finding]]:
    for value in properties.get(sh("severity"), ()):
        if value not in (sh("Violation"), sh("Warning"), sh("Info")) and value.startswith(_START):
            yield (
                _anchor(node, "severity"),
                Finding(
                    "shape-fault",
                    f"{compact(value)} of the shape `{name}` is no severity of SHACL",
                    hint="write sh:Violation, sh:Warning or sh:Info",
                    rule=name,
                ),
            )
    if sh("deactivated") in properties and _is_true(properties[sh("deactivated")]):
        yield (
            _anchor(node, "deactivated"),
            Finding("shape-off", f"the shape `{name}` is switched off", rule=name),
        )


def _is_true(values: list[Node]) -> bool:
    return f'"true"^^<{XSD}boolean>' in values


def _anchor(node: Node, word: str) -> str:
    """The word to look for in the text: the shape when it has a name, else the term."""
    local = node[1:-1].replace("#", ":").replace("/", ":").rsplit(":", 1)[-1]
    return local if node.startswith("<") and local else f"sh:{word}"


def _unfit(graph: Graph, takes: str, value: Node) -> str:
    """Say why a parameter cannot take a value; empty when it can."""
    literal = value.startswith('"')
    if takes == "iri" and not value.startswith("<"):
        return f"takes an IRI, not {value}"
    if takes == "integer" and not (literal and datatype_of(value) == f"{XSD}integer"):
        return f"takes a whole number, not {compact(value)}"
    if takes == "boolean" and not (literal and datatype_of(value) == f"{XSD}boolean"):
        return f"takes true or false, not {compact(value)}"
    if takes in ("text", "literal") and not literal:
        return f"takes a literal, not {compact(value)}"
    if takes == "kind" and (not value.startswith(_START) or value[len(_START) : -1] not in KINDS):
        return f"takes a node kind, not {compact(value)}"
    if takes in ("list", "shapes") and value != _NIL and not graph.items(value):
        return "takes a list in round brackets"
    if takes == "shape" and value not in graph.spo:
        return f"refers to {compact(value)}, which is not there"
    return ""


def _model(graph: Graph) -> Iterator[tuple[str, Finding]]:
    """Classes and properties of the model that no document can have."""
    known = _known()
    starts = {f"<{PREFIXES[prefix]}": prefix for prefix in _MODEL}
    for node in sorted(_mentioned(graph)):
        for start, prefix in starts.items():
            term = node[len(start) : -1]
            if node.startswith(start) and compact(node) not in known:
                among = [word.partition(":")[2] for word in known if word.startswith(prefix)]
                yield (
                    f"{prefix}:{term}",
                    Finding(
                        "shape-term",
                        f"no document can have `{prefix}:{term}`: it is not in terms.csv",
                        severity=WARNING,
                        value=f"{prefix}:{term}",
                        hint=nearest(term, among),
                    ),
                )
        if node.startswith(f"<{RECORD}") and node[len(RECORD) + 1 : -1] not in _classes():
            term = node[len(RECORD) + 1 : -1]
            yield (
                term,
                Finding(
                    "shape-term",
                    f"there are no records of the class `{term}`",
                    value=term,
                    hint=nearest(term, _classes()),
                ),
            )


def _mentioned(graph: Graph) -> set[Node]:
    """Return the classes and predicates that shapes look for."""
    looked = {
        *("targetClass", "targetSubjectsOf", "targetObjectsOf", "class"),
        *("path", *PATHS, "equals", "disjoint", "lessThan", "lessThanOrEquals"),
    }
    found: set[Node] = set()
    for properties in graph.spo.values():
        for word in looked:
            for value in properties.get(sh(word), ()):
                found.update((value, *graph.items(value)))
        for head in properties.get(sh("ignoredProperties"), ()):
            found.update(graph.items(head))
    return {node for node in found if node.startswith("<")}


@cache
def _known() -> frozenset[str]:
    return frozenset(key.iri for key in keys())


@cache
def _classes() -> frozenset[str]:
    return frozenset(key.key for key in keys() if not key.scope and key.key[:1].isupper()) | {"Any"}


def _whole(shapes: ShapeSet) -> Iterator[Finding]:
    """Findings that need all files together."""
    graph = shapes.graph
    if not shapes.shapes:
        yield Finding("shape-fault", "the shape files hold no shape: nothing would be checked")
    for node, message in shapes.faults:
        name = shapes.shapes[node].name
        yield Finding("shape-fault", f"the path of `{name}` cannot be read: {message}", rule=name)
    for node, shape in shapes.shapes.items():
        held = next(parents(graph, node), None)
        if not shape.targets and held is None and node.startswith("<"):
            yield Finding(
                "shape-unused",
                f"the shape `{shape.name}` has no target and no shape refers to it",
                rule=shape.name,
            )
    for word in SPARQL[1:]:
        for node in sorted(n for n, properties in graph.spo.items() if sh(word) in properties):
            yield Finding(
                "shape-fault",
                f"`sh:{word}` at {compact(node)} is neither SHACL Core nor a SPARQL constraint",
                hint="no engine here runs it",
                severity=INFO if word == "rule" else "",
            )


def query_fault(shapes: ShapeSet, node: Node) -> str:
    """Return what is wrong with the queries of a shape; empty when they can be read.

    pySHACL hands them to rdflib, which stops the whole run at the first one that it cannot read.
    """
    graph = shapes.graph
    known = dict(shapes.prefixes)
    for holder in graph.inverse(sh("declare")):
        for declared in graph.objects(holder, sh("declare")):
            for prefix in graph.objects(declared, sh("prefix")):
                for iri in graph.objects(declared, sh("namespace")):
                    known[text_of(prefix)] = text_of(iri)
    head = "".join(f"PREFIX {prefix}: <{iri}>\n" for prefix, iri in sorted(known.items()))
    for constraint in graph.objects(node, sh("sparql")):
        for word in ("select", "ask"):
            for query in graph.objects(constraint, sh(word)):
                text = text_of(query).replace("$PATH", "<urn:path>")
                try:
                    pyoxigraph.Store().query(head + text)
                except SyntaxError as error:
                    return f"its query cannot be read: {error.msg}"
    return ""
