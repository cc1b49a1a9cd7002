"""The W3C SHACL test suite, Core: <https://github.com/w3c/data-shapes>, data-shapes-test-suite.

Every test through the compiled engine, compared in full: focus node, path, component, value,
severity, source shape. What the engine refuses is listed by id with the reason.
"""

from collections import Counter
from pathlib import Path

import pyoxigraph
import pytest

from lodpipe.check.compile import Compiler, RefusedError
from lodpipe.check.graph import RDF, Graph, Node, canonical
from lodpipe.check.literals import text_of
from lodpipe.check.paths import read_path
from lodpipe.check.results import Raw
from lodpipe.check.shapes import ShapeSet, load_lines
from lodpipe.check.targets import compile_targets
from lodpipe.check.words import SH, sh

pytestmark = pytest.mark.reference

MF = "http://www.w3.org/2001/sw/DataAccess/tests/test-manifest#"
SHT = "http://www.w3.org/ns/shacl-test#"

CORE_TESTS = 98
REFUSED: dict[str, str] = {}
"""Test id -> the construct that the engine refuses to compile."""


def read(path: Path) -> Graph:
    """Read a file of the suite; its base is a name, so that no path of a machine gets in."""
    text = path.read_text(encoding="utf-8")
    base = f"https://tests.example/{path.name}"
    return Graph(
        canonical(pyoxigraph.parse(text, format=pyoxigraph.RdfFormat.TURTLE, base_iri=base))
    )


def suite_of(folder: Path) -> dict[str, tuple[Path, Graph, Node]]:
    """Return the tests of a folder: id -> file, its graph, the node of the test."""
    found = {}
    for path in sorted(folder.rglob("*.ttl")):
        if path.name == "manifest.ttl" or "sht:Validate" not in path.read_text(encoding="utf-8"):
            continue
        graph = read(path)
        for node in graph.subjects(f"<{RDF}type>", f"<{SHT}Validate>"):
            found[f"{path.parent.name}/{text_of(node).rsplit('/', 1)[-1]}"] = (path, graph, node)
    return found


def part(path: Path, graph: Graph, test: Node, role: str) -> Graph:
    """Return the data or shapes graph of a test: the file itself, or one beside it."""
    (action,) = graph.objects(test, f"<{MF}action>")
    (file,) = graph.objects(action, f"<{SHT}{role}>")
    name = text_of(file).rsplit("/", 1)[-1]
    return graph if name == path.name else read(path.parent / name)


def expected(graph: Graph, test: Node) -> Counter[tuple[str, ...]]:
    """Return the results that a test wants: focus, path, component, value, severity, shape."""
    (report,) = graph.objects(test, f"<{MF}result>")
    found: Counter[tuple[str, ...]] = Counter()
    for result in graph.objects(report, sh("result")):

        def one(name: str, result: Node = result) -> str:
            values = graph.objects(result, sh(name))
            return values[0] if values else ""

        path = one("resultPath")
        found[
            (
                one("focusNode"),
                str(read_path(graph, path)) if path else "",
                one("sourceConstraintComponent"),
                one("value"),
                one("resultSeverity"),
                one("sourceShape"),
            )
        ] += 1
    return found


def severity(shapes: ShapeSet, node: Node) -> Node:
    """Return the severity as the shape gives it: the suite has one of its own."""
    given = shapes.graph.objects(node, sh("severity"))
    return given[0] if given else sh("Violation")


def found(shapes: ShapeSet, data: Graph) -> Counter[tuple[str, ...]]:
    """Return what the compiled engine finds, in the form of `expected`."""
    compiler = Compiler(shapes)
    raws: list[Raw] = []
    for shape in shapes.targets():
        plan = compiler.compile(shape.node)
        for focus in compile_targets(shapes.graph, shape.node)(data):
            plan.collect(data, focus, raws)
    return Counter(
        (
            raw.focus,
            raw.path,
            f"<{SH}{raw.component}ConstraintComponent>",
            raw.value,
            severity(shapes, raw.shape),
            raw.shape,
        )
        for raw in raws
    )


def test_the_compiled_engine_passes_every_core_test(reference: Path) -> None:
    suite = suite_of(reference / "reference/w3c/shacl-tests/core")
    wrong: dict[str, str] = {}
    refused: dict[str, str] = {}
    for name, (path, graph, test) in suite.items():
        shapes = load_lines(part(path, graph, test, "shapesGraph").lines())
        try:
            got = found(shapes, part(path, graph, test, "dataGraph"))
        except RefusedError as error:
            refused[name] = str(error)
            continue
        want = expected(graph, test)
        if got != want:
            wrong[name] = f"missing {want - got}, too many {got - want}"

    assert len(suite) == CORE_TESTS
    assert wrong == {}
    assert refused == REFUSED
