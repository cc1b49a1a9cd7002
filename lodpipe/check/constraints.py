"""The constraints of SHACL Core as closures: section 4 of <https://www.w3.org/TR/shacl/>.

Three kinds. A `Test` looks at one value node and nothing else, so its answer can be remembered.
A `Look` looks at one value node in its graph. A `Sweep` looks at all value nodes of a focus node
and returns the offending ones, `""` for a result without a value.
"""

from collections import Counter
from collections.abc import Callable, Sequence

from lodpipe.check.graph import RDFS, TYPE, XSD, Graph, Node
from lodpipe.check.literals import LANG_STRING, compare, language_of, text_of, well_formed
from lodpipe.check.patterns import compile_pattern
from lodpipe.check.words import KINDS, SH

Test = Callable[[Node], bool]
Look = Callable[[Graph, Node], bool]
Sweep = Callable[[Graph, Node, Sequence[Node]], list[Node]]

_NONE: list[Node] = []


class ShapeFaultError(ValueError):
    """A shape that says something SHACL does not allow; the message says what."""


def class_look(class_: Node) -> Look:
    """sh:class: the value is a SHACL instance of the class (4.1.1)."""

    def look(graph: Graph, value: Node) -> bool:
        properties = graph.spo.get(value)
        types = None if properties is None else properties.get(TYPE)
        if not types:
            return False
        return class_ in types or any(class_ in graph.classes(type_) for type_ in types)

    return look


def datatype_test(datatype: Node) -> Test:
    """sh:datatype: a literal of this datatype, not ill typed (4.1.2)."""
    iri = datatype[1:-1]
    if iri == f"{XSD}string":
        return lambda value: value[0] == '"' and value[-1] == '"'
    if iri == LANG_STRING:
        return lambda value: value[0] == '"' and value[-1] not in '">'
    if iri == f"{RDFS}Literal":
        return lambda value: value[0] == '"'
    ending = f'"^^{datatype}'
    return lambda value: value.endswith(ending) and value[0] == '"' and well_formed(value)


def kind_test(kind: Node) -> Test:
    """sh:nodeKind (4.1.3)."""
    starts = KINDS.get(kind[len(SH) + 1 : -1])
    if starts is None:
        raise ShapeFaultError(f"{kind} is no node kind")
    return lambda value: value[0] in starts


def range_test(name: str, limit: Node) -> Test:
    """sh:minExclusive, minInclusive, maxExclusive, maxInclusive (4.3)."""
    allowed = {
        "minExclusive": (1,),
        "minInclusive": (0, 1),
        "maxExclusive": (-1,),
        "maxInclusive": (0, -1),
    }[name]
    return lambda value: value[0] == '"' and compare(value, limit) in allowed


def length_test(name: str, limit: int) -> Test:
    """sh:minLength and sh:maxLength: characters of the IRI or the lexical form (4.4.1, 4.4.2)."""
    if name == "minLength":
        return lambda value: limit == 0 or (value[0] != "_" and len(text_of(value)) >= limit)
    return lambda value: value[0] != "_" and len(text_of(value)) <= limit


def pattern_test(pattern: str, flags: str) -> Test:
    """sh:pattern with sh:flags (4.4.3)."""
    found = compile_pattern(pattern, flags)
    return lambda value: value[0] != "_" and found(text_of(value))


def language_test(ranges: Sequence[Node]) -> Test:
    """sh:languageIn: basic filtering of RFC 4647, section 3.3.1 (4.4.4)."""
    wanted = tuple(text_of(item).lower() for item in ranges)

    def test(value: Node) -> bool:
        tag = language_of(value)
        return bool(tag) and any(
            item in ("*", tag) or tag.startswith(f"{item}-") for item in wanted
        )

    return test


def in_test(members: Sequence[Node]) -> Test:
    """sh:in (4.8.3)."""
    allowed = frozenset(members)
    return lambda value: value in allowed


def unique_sweep() -> Sweep:
    """sh:uniqueLang: one result for each tag that two values share, without a value (4.4.5)."""

    def sweep(graph: Graph, focus: Node, values: Sequence[Node]) -> list[Node]:
        tags = Counter(tag for tag in map(language_of, values) if tag)
        return [""] * sum(count > 1 for count in tags.values())

    return sweep


def equals_sweep(predicate: Node) -> Sweep:
    """sh:equals: the same set of values as of another property (4.5.1)."""

    def sweep(graph: Graph, focus: Node, values: Sequence[Node]) -> list[Node]:
        others = graph.objects(focus, predicate)
        return [v for v in values if v not in others] + [v for v in others if v not in values]

    return sweep


def disjoint_sweep(predicate: Node) -> Sweep:
    """sh:disjoint: no value in common with another property (4.5.2)."""

    def sweep(graph: Graph, focus: Node, values: Sequence[Node]) -> list[Node]:
        others = graph.objects(focus, predicate)
        return [v for v in values if v in others] if others else _NONE

    return sweep


def less_sweep(predicate: Node, allowed: tuple[int, ...]) -> Sweep:
    """sh:lessThan and sh:lessThanOrEquals: one result for each pair that fails (4.5.3, 4.5.4)."""

    def sweep(graph: Graph, focus: Node, values: Sequence[Node]) -> list[Node]:
        others = graph.objects(focus, predicate) if values else _NONE
        if not others:
            return _NONE
        return [v for v in values for other in others if compare(v, other) not in allowed]

    return sweep


def has_value_sweep(wanted: Node) -> Sweep:
    """sh:hasValue (4.8.2)."""
    return lambda graph, focus, values: _NONE if wanted in values else [""]


def qualified_sweep(
    conforms: Look, siblings: Sequence[Look], low: int | None, high: int | None
) -> Sweep:
    """sh:qualifiedMinCount or sh:qualifiedMaxCount, whichever is given (4.7.3)."""

    enough = low if low is not None else high + 1 if high is not None else 0

    def sweep(graph: Graph, focus: Node, values: Sequence[Node]) -> list[Node]:
        count = 0
        for value in values:
            if count == enough:
                break
            if conforms(graph, value) and not any(sibling(graph, value) for sibling in siblings):
                count += 1
        return [""] if (count < enough) == (low is not None) else _NONE

    return sweep
