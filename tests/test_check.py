"""The check itself: what shapes say, who checks them, where results lead, what checks nothing."""

import logging
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import pyoxigraph
import pytest
import rdflib
from hypothesis import given, settings
from hypothesis import strategies as st
from test_check_shapes import TEXTS

from lodpipe.check import Checker, sample_of
from lodpipe.check.graph import XSD, Graph, Node, canonical, quote
from lodpipe.check.lint import lint
from lodpipe.check.literals import compare, datatype_of, language_of, text_of, well_formed
from lodpipe.check.paths import Path, compact, compile_path, path_of, read_path
from lodpipe.check.patterns import PatternFaultError, compile_pattern, is_linear
from lodpipe.check.referee import exact_literals, from_rdflib, to_rdflib
from lodpipe.check.report_turtle import turtle_path
from lodpipe.check.results import Raw
from lodpipe.check.shapes import load
from lodpipe.check.words import PARAMETERS, SH, TERMS
from lodpipe.errors import UsageError

PREFIXES = """
@prefix ex: <https://example.org/> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix sh: <http://www.w3.org/ns/shacl#> .
@prefix xsd: <http://www.w3.org/2001/XMLSchema#> .
"""
URI = "https://example.org/a"


@dataclass
class Example:
    lines: list[str]
    nodes: dict[str, str] = field(default_factory=dict)


def triples(turtle: str) -> list[str]:
    return canonical(pyoxigraph.parse(PREFIXES + turtle, format=pyoxigraph.RdfFormat.TURTLE))


def found(shapes: str, data: str, **options: object) -> list[tuple[str, str, str, str]]:
    """Return focus, path, component and value of each result for one document."""
    checker = Checker({"shapes.ttl": PREFIXES + shapes}, **options)  # type: ignore[arg-type]
    results = checker.check([(URI, Example(triples(data)))]).results
    return [(r.focus.removeprefix(URI), r.path, r.component, r.value) for r in results]


TARGET = "ex:S a sh:NodeShape ; sh:targetNode ex:a ; "
ANSWERS = [
    # constraint on ex:a, data, results: path, component, value
    ("sh:property [ sh:path ex:p ; sh:minCount 2 ]", "ex:a ex:p 1 .", [("MinCount", "")]),
    ("sh:property [ sh:path ex:p ; sh:maxCount 1 ]", "ex:a ex:p 1, 2 .", [("MaxCount", "")]),
    (
        "sh:property [ sh:path ex:p ; sh:minCount 3 ; sh:maxCount 1 ]",
        "ex:a ex:p 1, 2 .",
        [("MaxCount", ""), ("MinCount", "")],
    ),
    ("sh:property [ sh:path ex:p ; sh:datatype xsd:date ]", 'ex:a ex:p "1865-02-29"^^xsd:date .', [("Datatype", "1865-02-29")]),
    ("sh:property [ sh:path ex:p ; sh:datatype xsd:gYear ]", 'ex:a ex:p "1865?"^^xsd:gYear .', [("Datatype", "1865?")]),
    ("sh:property [ sh:path ex:p ; sh:datatype xsd:gYear ]", 'ex:a ex:p "1865"^^xsd:gYear .', []),
    ("sh:property [ sh:path ex:p ; sh:datatype xsd:byte ]", 'ex:a ex:p "128"^^xsd:byte .', [("Datatype", "128")]),
    ("sh:property [ sh:path ex:p ; sh:datatype rdfs:Literal ]", "ex:a ex:p 1, ex:b .", [("Datatype", "https://example.org/b")]),
    ("sh:property [ sh:path ex:p ; sh:nodeKind sh:Literal ]", "ex:a ex:p ex:b .", [("NodeKind", "https://example.org/b")]),
    ("sh:property [ sh:path ex:p ; sh:class ex:C ]", "ex:a ex:p ex:b . ex:b a ex:D . ex:D rdfs:subClassOf ex:E . ex:E rdfs:subClassOf ex:C .", []),
    ("sh:property [ sh:path ex:p ; sh:class ex:C ]", "ex:a ex:p ex:b . ex:b a ex:D .", [("Class", "https://example.org/b")]),
    ("sh:property [ sh:path ex:p ; sh:maxLength 3 ]", 'ex:a ex:p "four" .', [("MaxLength", "four")]),
    ("sh:property [ sh:path ex:p ; sh:minInclusive 1 ]", 'ex:a ex:p "1"^^xsd:float, 0.5, "x" .', [("MinInclusive", "0.5"), ("MinInclusive", "x")]),
    ('sh:property [ sh:path ex:p ; sh:pattern "^a$" ]', 'ex:a ex:p "a\\n", "a" .', [("Pattern", "a\n")]),
    ('sh:property [ sh:path ex:p ; sh:pattern "A" ; sh:flags "i" ]', 'ex:a ex:p "a" .', []),
    ('sh:property [ sh:path ex:p ; sh:pattern "a.c" ; sh:flags "q" ]', 'ex:a ex:p "abc" .', [("Pattern", "abc")]),
    ('sh:property [ sh:path ex:p ; sh:languageIn ( "de" ) ]', 'ex:a ex:p "a"@de-AT, "b"@den .', [("LanguageIn", "b")]),
    ("sh:property [ sh:path ex:p ; sh:uniqueLang true ]", 'ex:a ex:p "a"@de, "b"@DE, "c" .', [("UniqueLang", "")]),
    ("sh:property [ sh:path ex:p ; sh:equals ex:q ]", "ex:a ex:p 1, 2 ; ex:q 2, 3 .", [("Equals", "1"), ("Equals", "3")]),
    ("sh:property [ sh:path ex:p ; sh:disjoint ex:q ]", "ex:a ex:p 1, 2 ; ex:q 2 .", [("Disjoint", "2")]),
    ("sh:disjoint ex:p", "ex:a ex:p ex:a .", [("Disjoint", "https://example.org/a")]),
    ("sh:property [ sh:path ex:p ; sh:lessThan ex:q ]", "ex:a ex:p 1, 3 ; ex:q 2, 1 .", [("LessThan", "1"), ("LessThan", "3"), ("LessThan", "3")]),
    ("sh:property [ sh:path ex:p ; sh:in ( 1 2 ) ]", "ex:a ex:p 1, 01 .", [("In", "01")]),
    ("sh:property [ sh:path ex:p ; sh:hasValue 1 ]", "ex:a ex:p 2 .", [("HasValue", "")]),
    ("sh:closed true ; sh:ignoredProperties ( ex:q )", "ex:a ex:p 1, 2 ; ex:q 3 .", [("Closed", "1"), ("Closed", "2")]),
    ("sh:not [ sh:nodeKind sh:IRI ]", "ex:a ex:p 1 .", [("Not", "https://example.org/a")]),
    ("sh:xone ( [ sh:nodeKind sh:IRI ] [ sh:nodeKind sh:IRIOrLiteral ] )", "", [("Xone", "https://example.org/a")]),
    ("sh:and ( [ sh:nodeKind sh:IRI ] [ sh:minLength 99 ] )", "", [("And", "https://example.org/a")]),
    ("sh:node [ sh:property [ sh:path ex:p ; sh:minCount 1 ] ]", "", [("Node", "https://example.org/a")]),
    ("sh:property [ sh:path ex:p ; sh:qualifiedValueShape [ sh:class ex:C ] ; sh:qualifiedMinCount 1 ]", "ex:a ex:p ex:b .", [("QualifiedMinCount", "")]),
    ("sh:deactivated true ; sh:nodeKind sh:Literal", "", []),
]  # fmt: skip


@pytest.mark.parametrize(("constraint", "data", "results"), ANSWERS)
def test_each_constraint(constraint: str, data: str, results: list[tuple[str, str]]) -> None:
    got = [(component, value) for _, _, component, value in found(f"{TARGET}{constraint} .", data)]

    assert got == results


def test_a_result_leads_to_its_place() -> None:
    shapes = """
        ex:S a sh:NodeShape ; sh:targetClass ex:Span ; rdfs:seeAlso <https://example.org/rule> ;
            sh:property [ sh:path ( ex:p ex:q ) ; sh:maxCount 0 ; sh:message "too much"@en ;
                sh:severity sh:Warning ] .
    """
    nodes = {URI: "", f"{URI}#exposure": "/produced_by/part/0"}
    data = triples("<https://example.org/a#exposure-timespan> a ex:Span ; ex:p [ ex:q 1 ] .")
    (result,) = Checker({"s.ttl": PREFIXES + shapes}).check([(URI, Example(data, nodes))]).results

    assert result.uri == URI
    assert result.focus == f"{URI}#exposure-timespan"
    assert result.pointer == "/produced_by/part/0"
    assert result.shape == "https://example.org/S <https://example.org/p>/<https://example.org/q>"
    assert (result.severity, result.message) == ("warning", "too much")
    assert result.rule == "https://example.org/rule"


def test_each_document_is_checked_alone() -> None:
    """In one graph the type that the second gives to `b` would hide that the first gives none."""
    shapes = "ex:S a sh:NodeShape ; sh:targetSubjectsOf ex:p ; sh:property [ sh:path ex:p ; sh:class ex:C ] ."
    checker = Checker({"s.ttl": PREFIXES + shapes}, sample=None)
    got = checker.check(
        [
            (URI, Example(triples("ex:a ex:p ex:b ."))),
            ("https://example.org/c", Example(triples("ex:c ex:p ex:b . ex:b a ex:C ."))),
        ]
    )

    assert [(r.uri, r.component) for r in got.results] == [(URI, "Class")]
    assert got.findings == []


def test_records_are_told_from_mentions() -> None:
    shapes = "ex:S a sh:NodeShape ; sh:targetClass <urn:lodpipe:record:Person> ; sh:property [ sh:path ex:name ; sh:minCount 1 ] ."
    person = "<http://www.cidoc-crm.org/cidoc-crm/E21_Person>"
    checker = Checker({"s.ttl": PREFIXES + shapes}, sample=None)
    lines = triples(f"ex:a a {person} . ex:b a {person} .")
    before = list(lines)
    got = checker.check([(URI, Example(lines))])

    assert [(r.focus, r.component) for r in got.results] == [(URI, "MinCount")]
    assert got.focus == {URI: {"https://example.org/S": 1}}
    assert lines == before


def test_subclass_facts_of_the_shape_files_count_as_data() -> None:
    shapes = f"{TARGET} sh:property [ sh:path ex:p ; sh:class ex:Actor ] . ex:Person rdfs:subClassOf ex:Actor ."

    assert found(shapes, "ex:a ex:p ex:b . ex:b a ex:Person .", sample=None) == []


def test_both_engines_give_one_answer() -> None:
    shapes = f"{TARGET} sh:property [ sh:path ex:p ; sh:maxCount 1 ; sh:nodeKind sh:IRI ] ."
    data = "ex:a ex:p 1, 2 ."

    assert found(shapes, data) == found(shapes, data, engine="referee")
    assert len(found(shapes, data)) == 3


def test_a_disagreement_names_both_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lodpipe.check.referee.Referee.check", lambda self, data: [])
    checker = Checker(
        {"s.ttl": f"{PREFIXES}{TARGET} sh:property [ sh:path ex:p ; sh:minCount 1 ] ."}, sample=None
    )
    (finding,) = checker.check([(URI, Example(triples("ex:a ex:q 1 .")))]).findings

    assert (finding.code, finding.severity, finding.uri) == ("referee", "violation", URI)
    assert finding.message == (
        "at `https://example.org/a` <https://example.org/p> the compiled shapes give "
        "1 MinCount, pySHACL no"
    )


def test_the_sample_is_the_same_on_every_run() -> None:
    uris = [f"https://example.org/{number}" for number in range(200)]

    assert len(sample_of(uris, "7")) == 50
    assert sample_of(reversed(uris), "7") == sample_of(uris, "7")
    assert sample_of(uris, "7") != sample_of(uris, "8")
    assert sample_of(uris[:3], "7") == frozenset(uris[:3])


def test_only_the_sample_is_refereed() -> None:
    checker = Checker(
        {"s.ttl": f"{PREFIXES}{TARGET} sh:nodeKind sh:IRI ."}, sample=frozenset([URI])
    )
    document = Example(triples("ex:a ex:q 1 ."))
    got = checker.check([(URI, document), ("https://example.org/b", document)])

    assert got.refereed == [URI]


@pytest.mark.parametrize("before", [True, False])
def test_the_check_leaves_data_and_library_as_they_were(
    before: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rdflib, "NORMALIZE_LITERALS", before)
    level = logging.getLogger("rdflib.term").level
    data = Example(triples('ex:a ex:p "2026-08-16T12:05:34Z"^^xsd:date, "1865-02-30"^^xsd:date .'))
    lines = list(data.lines)
    shapes = f"{PREFIXES}{TARGET} sh:property [ sh:path ex:p ; sh:datatype xsd:date ] ."
    got = Checker({"s.ttl": shapes}, sample=None).check([(URI, data)])

    assert sorted(r.value for r in got.results) == ["1865-02-30", "2026-08-16T12:05:34Z"]
    assert data.lines == lines
    assert before == rdflib.NORMALIZE_LITERALS
    assert logging.getLogger("rdflib.term").level == level


def test_sparql_is_refused_by_name_and_given_to_pyshacl() -> None:
    shapes = """
        ex:S a sh:NodeShape ; sh:targetNode ex:a ; sh:sparql [ sh:message "no p" ;
            sh:select "SELECT $this WHERE { FILTER NOT EXISTS { $this <https://example.org/p> ?x } }" ] .
        ex:T a sh:NodeShape ; sh:targetNode ex:a ; sh:nodeKind sh:Literal .
    """
    checker = Checker({"s.ttl": PREFIXES + shapes})
    got = checker.check([(URI, Example(triples("ex:a ex:q 1 .")))])
    (finding,) = checker.shape_findings()

    assert [(r.shape[-1], r.component, r.message) for r in got.results] == [
        ("S", "SPARQL", "no p"),
        ("T", "NodeKind", "the value is of another kind than is asked for"),
    ]
    assert (finding.code, finding.severity) == ("shape-refused", "info")
    assert finding.message == (
        "the shape `https://example.org/S` is checked by pySHACL alone: sh:sparql is not SHACL Core"
    )


def test_nothing_is_found_in_nothing_and_that_is_said() -> None:
    checker = Checker({"s.ttl": f"{PREFIXES}{TARGET} sh:nodeKind sh:IRI ."})
    got = checker.check([])

    assert (got.results, got.focus) == ([], {})
    assert [(f.code, f.message) for f in checker.unused(got.focus)] == [
        ("shape-unused", "the shape `https://example.org/S` met no node: it checked nothing")
    ]


def test_a_document_without_the_target_leaves_the_shape_unused() -> None:
    checker = Checker(
        {"s.ttl": f"{PREFIXES} ex:S a sh:NodeShape ; sh:targetClass ex:Photo ; sh:closed true ."}
    )
    got = checker.check([(URI, Example(triples("ex:a a ex:Foto .")))])

    assert got.focus == {URI: {}}
    assert len(checker.unused(name for met in got.focus.values() for name in met)) == 1


def test_shapes_that_are_no_turtle_stop_with_their_line() -> None:
    with pytest.raises(UsageError) as caught:
        Checker({"mine.ttl": "@prefix ex: <https://example.org/> .\nex:S sh:path ex:p ."})

    assert caught.value.where == "mine.ttl:2"
    assert caught.value.message.startswith("the shapes cannot be read: ")


LINTED = [
    # shapes, code, message, line, hint
    (
        "ex:S a sh:NodeShape ; sh:targetClass ex:C ;\n sh:property [ sh:path ex:p ; sh:minCont 1 ] .",
        "shape-term", "`sh:minCont` is no term of SHACL: it checks nothing", 7,
        "did you mean `sh:minCount`",
    ),
    (
        "ex:S a sh:NodeShape ; sh:targetClass ex:C ; sh:nodeKind sh:Iri .",
        "shape-term", "`sh:Iri` is no term of SHACL: it checks nothing", 6, "did you mean `sh:IRI`",
    ),
    (
        "ex:S a sh:NodeShape ; sh:targetClass ex:C ; sh:minCount 1 .",
        "shape-fault",
        "`sh:minCount` of the shape `https://example.org/S` does nothing on a shape without `sh:path`",
        6, "",
    ),
    (
        "ex:S a sh:NodeShape ; sh:targetClass ex:C ; sh:ignoredProperties ( ex:p ) .",
        "shape-fault",
        "`sh:ignoredProperties` of the shape `https://example.org/S` does nothing without `sh:closed`",
        6, "",
    ),
    (
        "ex:S a sh:NodeShape ; sh:targetClass ex:C ; sh:in ex:p .",
        "shape-fault",
        "`sh:in` of the shape `https://example.org/S` takes a list in round brackets", 6, "",
    ),
    (
        'ex:S a sh:PropertyShape ; sh:targetClass ex:C ; sh:path ex:p ; sh:minCount "1" .',
        "shape-fault",
        '`sh:minCount` of the shape `https://example.org/S` takes a whole number, not "1"', 6, "",
    ),
    (
        "ex:S a sh:NodeShape ; sh:targetClass ex:C ; sh:node ex:T .",
        "shape-fault",
        "`sh:node` of the shape `https://example.org/S` refers to <https://example.org/T>, which is not there",
        6, "",
    ),
    (
        "ex:S a sh:NodeShape ; sh:targetClass ex:C ; sh:closed true ; sh:deactivated true .",
        "shape-off", "the shape `https://example.org/S` is switched off", 6, "",
    ),
    (
        "ex:S a sh:NodeShape ; sh:closed true .",
        "shape-unused",
        "the shape `https://example.org/S` has no target and no shape refers to it", 0, "",
    ),
    (
        "ex:S a sh:NodeShape ; sh:targetClass <http://www.cidoc-crm.org/cidoc-crm/E22_Man-Made_Object> ; sh:closed true .",
        "shape-term", "no document can have `crm:E22_Man-Made_Object`: it is not in terms.csv", 0,
        "did you mean `E22_Human-Made_Object`?",
    ),
    (
        "ex:S a sh:NodeShape ; sh:targetClass <urn:lodpipe:record:Persons> ; sh:closed true .",
        "shape-term", "there are no records of the class `Persons`", 6, "did you mean `Person`",
    ),
    ("ex:S rdfs:label 1 .", "shape-fault", "the shape files hold no shape: nothing would be checked", 0, ""),
    (
        "ex:S a sh:PropertyShape ; sh:targetClass ex:C ; sh:path [ sh:inversPath ex:p ] ; sh:minCount 1 .",
        "shape-fault",
        "the path of `https://example.org/S` cannot be read: a path needs exactly one of "
        "sh:inversePath, sh:alternativePath, sh:zeroOrMorePath, sh:oneOrMorePath, sh:zeroOrOnePath",
        0, "",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("shapes", "code", "message", "line", "hint"), LINTED)
def test_what_checks_nothing_is_named(
    shapes: str, code: str, message: str, line: int, hint: str
) -> None:
    got = {f.message: f for f in lint(load({"mine.ttl": PREFIXES + shapes}))}

    assert message in got
    finding = got[message]
    assert finding.code == code
    assert finding.hint.startswith(hint)
    if line:
        assert finding.place is not None
        assert (finding.place.file, finding.place.line) == ("mine.ttl", line)


FAULTS = [
    ("ex:S sh:property [ sh:path ex:p ; sh:minCount -1 ]", "sh:minCount takes a whole number from 0"),
    ("ex:S sh:property [ sh:minCount 1 ]", "the property shape https://example.org/S property has no sh:path"),
    ("ex:S sh:node ex:Gone", "there is no shape <https://example.org/Gone>"),
    ('ex:S sh:pattern "(a"', "cannot be read"),
    ('ex:S sh:pattern "(?=a)+"', "cannot be run in linear time"),
    ("ex:S sh:nodeKind ex:IRI", "is no node kind"),
    ("ex:S sh:datatype xsd:date, xsd:gYear", "sh:datatype stands there 2 times"),
]  # fmt: skip


@pytest.mark.parametrize(("shapes", "reason"), FAULTS)
def test_a_shape_that_cannot_be_run_is_a_finding_and_stops_no_other(
    shapes: str, reason: str
) -> None:
    text = f"{PREFIXES}ex:S sh:targetNode ex:a . {shapes} . ex:T sh:targetNode ex:a ; sh:nodeKind sh:Literal ."
    checker = Checker({"s.ttl": text})
    got = checker.check([(URI, Example(triples("ex:a ex:q 1 .")))])
    faults = [f for f in checker.shape_findings() if "cannot be run" in f.message]

    assert [r.shape for r in got.results] == ["https://example.org/T"]
    assert reason in faults[0].message
    assert faults[0].severity == "violation"


def test_a_shape_that_refers_to_itself_is_refused() -> None:
    shapes = "ex:S sh:targetNode ex:a ; sh:property [ sh:path ex:p ; sh:node ex:S ] ."
    (finding,) = Checker({"s.ttl": PREFIXES + shapes}).shape_findings()

    assert finding.code == "shape-refused"
    assert "refers to itself" in finding.message


def test_a_typo_in_every_term_of_shacl_that_we_use_is_caught() -> None:
    used = {
        (name, term)
        for name, text in TEXTS.items()
        for term in re.findall(r"(?<![\w:])sh:(\w+)", re.sub(r'"[^"]*"', "", text))
    }
    for name, term in sorted(used):
        typo = term[:-1] if term[:-1] not in TERMS else f"{term}x"
        texts = dict(TEXTS) | {name: re.sub(rf"\bsh:{term}\b", f"sh:{typo}", TEXTS[name])}
        messages = [f.message for f in lint(load(texts)) if f.code == "shape-term"]

        assert f"`sh:{typo}` is no term of SHACL: it checks nothing" in messages, (name, term)
    assert len({term for _, term in used}) >= 25


@pytest.mark.reference
def test_the_terms_of_shacl_are_those_of_its_vocabulary_file(reference: object) -> None:
    """The file is <https://www.w3.org/ns/shacl.ttl>."""
    text = (reference / "reference/w3c/ns/shacl.ttl").read_text(encoding="utf-8")  # type: ignore[operator]
    names = set(re.findall(r"^sh:([\w-]+)", text, re.MULTILINE)) - {""}

    assert names == TERMS
    assert set(PARAMETERS) <= TERMS


TEXTS_OF = [
    # node, text, datatype, language
    ("<https://example.org/a>", "https://example.org/a", "", ""),
    ("_:b", "_:b", "", ""),
    ('"a\\"b\\\\n\\n"', 'a"b\\n\n', f"{XSD}string", ""),
    ('"\\u0007"', "\a", f"{XSD}string", ""),
    ('"a"@en-gb', "a", "http://www.w3.org/1999/02/22-rdf-syntax-ns#langString", "en-gb"),
    (f'"1"^^<{XSD}int>', "1", f"{XSD}int", ""),
]  # fmt: skip


@pytest.mark.parametrize(("node", "text", "datatype", "language"), TEXTS_OF)
def test_parts_of_a_node(node: Node, text: str, datatype: str, language: str) -> None:
    assert (text_of(node), datatype_of(node), language_of(node)) == (text, datatype, language)


@given(st.text(st.characters(exclude_categories=["Cs"])), st.sampled_from(["", f"{XSD}integer"]))
def test_a_literal_goes_through_every_library_unchanged(text: str, datatype: str) -> None:
    node = quote(text, datatype)
    graph = Graph([f"<https://example.org/a> <https://example.org/p> {node} ."])
    line = graph.lines()[0]

    assert text_of(node) == text
    assert canonical(pyoxigraph.parse(line, format=pyoxigraph.RdfFormat.N_TRIPLES)) == [line]
    with exact_literals():
        assert [from_rdflib(o) for o in to_rdflib(graph).objects()] == [node]


FORMS = [
    # datatype, well formed, not
    ("integer", ["0", "-1", "+1", "007"], ["1.0", "", " 1", "1e3"]),
    ("decimal", ["1", "1.", ".5", "-0.0"], ["1e3", ".", "INF"]),
    ("double", ["1", "1e3", "-INF", "NaN", ".5E-2"], ["e3", "inf", ""]),
    ("boolean", ["true", "false", "1", "0"], ["True", "yes", ""]),
    ("unsignedByte", ["0", "255"], ["256", "-1"]),
    ("date", ["1866-05-01", "-0044-03-15", "2024-02-29", "1866-05-01Z", "10000-01-01"],
     ["1865-02-29", "1866-5-1", "1866-13-01", "01866-01-01", "1866-05-01T00:00:00Z", "1866-05-01+15:00"]),
    ("dateTime", ["1866-05-01T24:00:00Z", "1866-05-01T00:00:00.5-05:00"],
     ["1866-05-01", "1866-05-01T24:00:01Z", "1866-05-01T12:60:00Z", "1866-05-01 12:00:00"]),
    ("gYear", ["1866", "-0044", "1866Z"], ["66", "1866?", "186X"]),
    ("gYearMonth", ["1866-05"], ["1866-13", "1866-5"]),
    ("time", ["23:59:59", "24:00:00Z"], ["25:00:00", "23:59"]),
    ("string", ["", "x"], []),
    ("anyURI", ["a b"], []),
]  # fmt: skip


@pytest.mark.parametrize(("name", "good", "bad"), FORMS)
def test_lexical_forms(name: str, good: Sequence[str], bad: Sequence[str]) -> None:
    assert [text for text in good if not well_formed(quote(text, XSD + name))] == []
    assert [text for text in bad if well_formed(quote(text, XSD + name))] == []


ORDER = [
    # left, right, answer
    (quote("1", f"{XSD}integer"), quote("1.0", f"{XSD}decimal"), 0),
    (quote("2", f"{XSD}byte"), quote("1e1", f"{XSD}double"), -1),
    (quote("NaN", f"{XSD}double"), quote("1", f"{XSD}integer"), None),
    (quote("b"), quote("a"), 1),
    (quote("b", language="en"), quote("a", language="en"), None),
    (quote("1"), quote("1", f"{XSD}integer"), None),
    ("<https://example.org/a>", "<https://example.org/b>", None),
    (quote("2002-10-10T12:00:00-05:00", f"{XSD}dateTime"), quote("2002-10-10T17:00:00Z", f"{XSD}dateTime"), 0),
    (quote("2002-10-10T12:00:00", f"{XSD}dateTime"), quote("2002-10-10T12:00:00Z", f"{XSD}dateTime"), None),
    (quote("-0044-03-15", f"{XSD}date"), quote("1866-05-01", f"{XSD}date"), -1),
    (quote("1866-05-31", f"{XSD}date"), quote("1866-06", f"{XSD}gYearMonth"), None),
]  # fmt: skip


@pytest.mark.parametrize(("left", "right", "answer"), ORDER)
def test_order(left: Node, right: Node, answer: int | None) -> None:
    assert compare(left, right) == answer
    assert compare(right, left) == (None if answer is None else -answer)


PATTERNS = [
    # pattern, flags, linear, found in, not found in
    ("^a", "", True, ["ab"], ["ba"]),
    ("a$", "", True, ["ba"], ["a\n", "ab"]),
    ("[$]a\\$", "", True, ["$a$"], ["a"]),
    ("^a.*z$", "", True, ["abz"], ["abz\n"]),
    ("(a+)+$", "", False, ["a"], ["b" * 40]),
    ("a.*b.*c", "", False, ["a1b2c"], ["abd"]),
    ("^(a|b)*$", "", False, ["abab", ""], ["abc"]),
    ("^\\d{4}$", "", True, ["1866"], ["186"]),
    ("\\d+-\\d+", "", False, ["1-2", "١-٢"], ["a-b"]),
    ("^a|b", "", True, ["ab", "cb"], ["ca"]),
    ("A B", "x", True, ["AB"], ["A B"]),
    ("a.b", "q", True, ["a.b"], ["axb"]),
    ("^b", "m", True, ["a\nb"], ["ab"]),
    ("^a.b", "s", True, ["a\nb"], ["ab"]),
    ("STRASSE", "qi", True, ["straße"], ["strase"]),
]  # fmt: skip


@pytest.mark.parametrize(("pattern", "flags", "linear", "there", "not_there"), PATTERNS)
def test_patterns(
    pattern: str, flags: str, linear: bool, there: list[str], not_there: list[str]
) -> None:
    search = compile_pattern(pattern, flags)

    assert is_linear(pattern) == linear
    assert [text for text in there if not search(text)] == []
    assert [text for text in not_there if search(text)] == []


@pytest.mark.parametrize(
    ("pattern", "flags", "message"),
    [
        ("(a", "", "the pattern `(a` cannot be read: missing ), unterminated subpattern at position 0"),
        (r"(a)\1+", "", r"the pattern `(a)\1+` cannot be run in linear time: invalid escape sequence: \1"),
        ("a", "g", "`g` has flags other than i, m, s, x and q"),
    ],
)  # fmt: skip
def test_patterns_that_are_refused(pattern: str, flags: str, message: str) -> None:
    with pytest.raises(PatternFaultError) as caught:
        compile_pattern(pattern, flags)

    assert str(caught.value) == message


EX = "https://example.org/"
PREDICATES = [f"<{EX}{name}>" for name in "pq"]
PATHS = st.recursive(
    st.sampled_from([Path("", predicate) for predicate in PREDICATES]),
    lambda inner: st.one_of(
        st.builds(lambda op, part: Path(op, parts=(part,)), st.sampled_from("^*+?"), inner),
        st.builds(
            lambda op, parts: Path(op, parts=tuple(parts)),
            st.sampled_from("/|"),
            st.lists(inner, min_size=2, max_size=3),
        ),
    ),
    max_leaves=5,
)
EDGES = st.lists(
    st.tuples(st.sampled_from("abcd"), st.sampled_from(PREDICATES), st.sampled_from("abcd")),
    max_size=10,
)


@given(PATHS, EDGES)
@settings(max_examples=200, deadline=None)
def test_paths_lead_where_sparql_says(path: Path, edges: list[tuple[str, str, str]]) -> None:
    """Outside check: the same path as a SPARQL 1.1 query, answered by oxigraph."""
    # `a` stands in the graph: oxigraph does not start a path of no step at a node that does not
    lines = sorted({f"<{EX}{s}> {p} <{EX}{o}> ." for s, p, o in [*edges, ("a", f"<{EX}r>", "a")]})
    store = pyoxigraph.Store()
    store.load("\n".join(lines), format=pyoxigraph.RdfFormat.N_TRIPLES)
    answer = store.query(f"SELECT DISTINCT ?x WHERE {{ <{EX}a> {path} ?x }}")
    got = compile_path(path)(Graph(lines), f"<{EX}a>")

    assert sorted(got) == sorted(str(row["x"]) for row in answer)  # type: ignore[union-attr]


LED = [
    # path, from a: the nodes that it leads to, for a p b, b q c, c p c
    ("^(ex:p/ex:q)", "c", "a"),
    ("^(ex:p|ex:q)", "c", "b c"),
    ("(ex:p/ex:q)?", "a", "a c"),
    ("ex:p+", "c", "c"),
    ("^ex:q/^ex:p", "c", "a"),
]


@pytest.mark.parametrize(("path", "start", "ends"), LED)
def test_paths(path: str, start: str, ends: str) -> None:
    graph = Graph(triples("ex:a ex:p ex:b . ex:b ex:q ex:c . ex:c ex:p ex:c ."))
    full = re.sub(r"ex:(\w)", rf"<{EX}\1>", path)
    got = compile_path(path_of(full))(graph, f"<{EX}{start}>")

    assert sorted(got) == [f"<{EX}{end}>" for end in ends.split()]


def test_language_tags_have_no_case() -> None:
    graph = Graph([f'<{EX}a> <{EX}p> "x"@DE-at .'])

    assert graph.objects(f"<{EX}a>", f"<{EX}p>") == ['"x"@de-at']


@given(PATHS)
def test_a_path_is_read_back_from_turtle(path: Path) -> None:
    graph = Graph(triples(f"ex:S sh:path {turtle(path)} ."))
    (node,) = graph.objects(f"<{EX}S>", f"<{SH}path>")

    assert read_path(graph, node) == path
    assert path_of(str(path)) == path
    assert turtle_path(path).split() == turtle(path).split()


def turtle(path: Path) -> str:
    if not path.op:
        return path.predicate
    parts = " ".join(turtle(part) for part in path.parts)
    words = {"^": "inverse", "*": "zeroOrMore", "+": "oneOrMore", "?": "zeroOrOne"}
    if path.op == "/":
        return f"( {parts} )"
    word = "alternative" if path.op == "|" else words[path.op]
    return f"[ sh:{word}Path {f'( {parts} )' if path.op == '|' else parts} ]"


def test_prefixes_are_used_where_they_fit() -> None:
    assert compact(f"<{SH}path>") == "sh:path"
    assert compact("<http://www.cidoc-crm.org/cidoc-crm/P1_is_identified_by>") == (
        "crm:P1_is_identified_by"
    )
    assert compact(f"<{SH}a/b>") == f"<{SH}a/b>"


def test_a_result_of_two_engines_is_equal_whatever_its_message() -> None:
    assert Raw("a", "b", "c", "d", "e", "one") == Raw("a", "b", "c", "d", "e", "two")
