"""The two engines give the same answers: on broken records, and on random graphs."""

import random
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_check_shapes import RECORDS, TEXTS, record

from lodpipe.check import Checker
from lodpipe.check.compile import Compiler
from lodpipe.check.graph import RDF, XSD, Graph, Node, quote
from lodpipe.check.referee import Referee, differences
from lodpipe.check.results import Raw
from lodpipe.check.shapes import ShapeSet, load
from lodpipe.check.targets import compile_targets
from lodpipe.check.words import PARAMETERS, PATHS, TARGETS, sh

ALL_CORE = (Path(__file__).parent / "check_data" / "all_core.ttl").read_text(encoding="utf-8")
MUTANTS = 2000
"""Broken records, as many for each kind of record."""


@dataclass
class Example:
    lines: list[str]
    nodes: dict[str, str] = field(default_factory=dict)


def mutate(lines: list[str], spare: list[str], chance: random.Random) -> list[str]:
    """Return a record with one to four faults of the kinds that mappings make."""
    triples = [line[:-2].split(" ", 2) for line in lines]
    others = [line[:-2].split(" ", 2) for line in spare]
    for _ in range(chance.randint(1, 4)):
        index = chance.randrange(len(triples))
        subject, predicate, object_ = triples[index]
        other = chance.choice(others)
        kind = chance.randrange(8)
        if kind == 0 and len(triples) > 3:
            del triples[index]
        elif kind == 1:
            triples.append([subject, predicate, other[2]])
        elif kind == 2:
            triples[index] = [subject, predicate, other[2]]
        elif kind == 3:
            triples[index] = [subject, other[1], object_]
        elif kind == 4:
            triples.append([subject, other[1], other[2]])
        elif kind == 5 and object_.startswith('"'):
            triples[index] = [subject, predicate, damage(object_, chance)]
        elif kind == 6:
            triples = [t for t in triples if (t[0], t[1]) != (subject, predicate)] or triples
        else:
            triples.append([subject, f"<{RDF}type>", other[2]])
    return sorted({" ".join(triple) + " ." for triple in triples if not triple[0].startswith('"')})


def damage(literal: Node, chance: random.Random) -> Node:
    body, _, tail = literal[1:].rpartition('"')
    return chance.choice(
        (
            f'" {body}"{tail}',
            f'""{tail}',
            f'"{body}"',
            f'"{body}"@en',
            f'"{body}"^^<{XSD}gYear>',
            f'"{body[:-1]}"{tail}',
            f'"{body}x"{tail}',
        )
    )


@pytest.mark.parametrize("name", RECORDS)
def test_broken_records(name: str) -> None:
    checker = Checker(TEXTS, sample=None)
    uri, lines = record(name)
    spare = [line for other in RECORDS for line in record(other)[1]]
    chance = random.Random(name)
    count = MUTANTS // len(RECORDS)
    batch = [(f"{uri}/{number}", Example(mutate(lines, spare, chance))) for number in range(count)]
    batch = [
        (new, Example([line.replace(f"<{uri}", f"<{new}") for line in document.lines]))
        for new, document in batch
    ]
    found = checker.check(batch)

    assert [f for f in found.findings if "gives no answer" not in f.message] == []
    assert len(found.refereed) > count * 0.98
    assert len({r.uri for r in found.results}) > count // 3
    assert len({r.shape for r in found.results}) >= 5


def compiled(shapes: ShapeSet, data: Graph) -> list[Raw]:
    compiler = Compiler(shapes)
    found: list[Raw] = []
    for shape in shapes.targets():
        plan = compiler.compile(shape.node)
        for focus in compile_targets(shapes.graph, shape.node)(data):
            plan.collect(data, focus, found)
    return found


EX = "https://example.org/"
NODES = [f"<{EX}{name}>" for name in "abcdef"]
LITERALS = [
    *(quote(text) for text in ("x", "ab", "Bcde", "")),
    *(quote(text, language=tag) for text, tag in (("x", "en"), ("y", "en"), ("x", "de-at"))),
    *(quote(text, f"{XSD}integer") for text in ("1", "2", "01", "7", "one")),
    *(quote(text, f"{XSD}decimal") for text in ("1.0", "5.5")),
    quote("2", f"{XSD}string"),
    quote("true", f"{XSD}boolean"),
]
COMPARABLE = [
    *(quote(text, f"{XSD}integer") for text in ("1", "2", "3")),
    quote("2.5", f"{XSD}decimal"),
    *(quote(text, f"{XSD}dateTime") for text in ("1871-05-01T00:00:00Z", "1872-05-01T00:00:00Z")),
    quote("1871-05-01T00:00:00", f"{XSD}dateTime"),
    quote("a"),
    quote("b"),
]
CLASSES = [f"<{EX}{name}>" for name in ("A", "B", "C", "Implicit")]


def triple(predicates: str, objects: list[Node]) -> st.SearchStrategy[tuple[Node, Node, Node]]:
    return st.tuples(
        st.sampled_from(NODES),
        st.sampled_from([f"<{EX}{name}>" for name in predicates]),
        st.sampled_from(objects),
    )


TRIPLES = st.lists(
    st.one_of(
        triple("ptu", NODES),
        triple("pq", NODES + LITERALS),
        triple("rs", LITERALS),
        triple("mn", COMPARABLE),
        st.tuples(st.sampled_from(NODES), st.just(f"<{RDF}type>"), st.sampled_from(CLASSES)),
        st.just((CLASSES[2], "<http://www.w3.org/2000/01/rdf-schema#subClassOf>", CLASSES[0])),
    ),
    min_size=1,
    max_size=25,
)
KNOWN = """
@prefix ex: <https://example.org/> .
@prefix sh: <http://www.w3.org/ns/shacl#> .
@prefix xsd: <http://www.w3.org/2001/XMLSchema#> .
ex:S a sh:NodeShape ; sh:targetNode ex:a ;
    sh:property [ sh:path ex:day ; sh:datatype xsd:dateTime ] ,
        [ sh:path ex:year ; sh:datatype xsd:gYear ] ,
        [ sh:path ex:m ; sh:lessThan ex:n ] , [ sh:path ex:true ; sh:maxExclusive 5 ] .
"""
A, DAY, YEAR, LESS, MORE = (f"<{EX}{name}>" for name in ("a", "day", "year", "m", "n"))


def moment(text: str) -> Node:
    return quote(text, f"{XSD}dateTime")


DIFFERENCES = {
    # name: triples, results of ours, of pySHACL
    "years after 9999": ([f"{A} {DAY} {moment('10000-01-01T00:00:00Z')} ."], 0, 1),
    "years before 0001": ([f"{A} {DAY} {moment('-0044-03-15T00:00:00Z')} ."], 0, 1),
    "a form of Python's": ([f"{A} {DAY} {moment('18710501T000000Z')} ."], 1, 0),
    "gYear not looked at": ([f"{A} {YEAR} {quote('1865?', f'{XSD}gYear')} ."], 1, 0),
    "a truth value and a number": (
        [f"{A} <{EX}true> {quote('true', f'{XSD}boolean')} ."],
        1,
        0,
    ),
    "a day and a number": (
        [
            f"{A} {LESS} {moment('1871-05-01T00:00:00Z')} .",
            f"{A} {MORE} {quote('1', f'{XSD}integer')} .",
        ],
        1,
        0,
    ),
    "with and without zone": (
        [
            f"{A} {LESS} {moment('1871-05-01T00:00:00')} .",
            f"{A} {MORE} {moment('1872-05-01T00:00:00Z')} .",
        ],
        1,
        0,
    ),
}

CORE = load({"all_core.ttl": ALL_CORE})
REFEREE = Referee(CORE.graph)


@given(TRIPLES)
@settings(max_examples=250, deadline=None)
def test_random_graphs(triples: list[tuple[Node, Node, Node]]) -> None:
    data = Graph(sorted({f"{s} {p} {o} ." for s, p, o in triples}))
    ours, theirs = compiled(CORE, data), REFEREE.check(data)

    assert differences(CORE.graph, data, ours, theirs) == []


def test_every_known_difference_is_one() -> None:
    """Where pySHACL is wrong: when a line stops failing, it can go from `excused`."""
    shapes = load({"shapes.ttl": KNOWN})
    for name, (triples, ours, theirs) in DIFFERENCES.items():
        data = Graph(sorted(triples))
        one, other = compiled(shapes, data), Referee(shapes.graph).check(data)

        assert (len(one), len(other)) == (ours, theirs), name
        assert differences(shapes.graph, data, one, other) == [], name


def test_the_shapes_for_random_graphs_use_all_of_core() -> None:
    used = {predicate for properties in CORE.graph.spo.values() for predicate in properties}
    words = {*PARAMETERS, *PATHS, *TARGETS, "path", "message", "severity", "deactivated"}

    assert {word for word in words if sh(word) not in used} == set()
