"""The straightforward stack on the same documents, and what no program can pass.

    LODPIPE_REFERENCE=... python -m bench.stack [--records 300]

The stack is what one would write first: every statement of a record added to an rdflib graph,
pySHACL over the graph with the same shapes, N-Triples out; then, marked as such, PyLD framing of
each document in front of its JSON-LD. It is given what our mapping made, so its mapping costs
nothing; and it keeps no archive, no trace and no claims. The limit is to dump the same documents
with orjson and to write these bytes to a file, one after another. CPU time of one process.
"""

import argparse
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from time import process_time
from typing import Any

import orjson
import pyshacl
import rdflib
from pyld import jsonld

from bench.projects import Catalogue, catalogues, write_project
from bench.table import Row, show
from lodpipe import pipeline, project
from lodpipe.archive import Archive
from lodpipe.check import Checker
from lodpipe.check.referee import exact_literals
from lodpipe.pipeline.progress import Silent
from lodpipe.rdf import CONTEXT_URL, Emitter, loader
from lodpipe.terms import concepts

NOW = "2026-01-31T10:00:00Z"
FRAMED = 40
"""Documents that are framed: enough to measure what takes tens of milliseconds each."""


@dataclass(frozen=True)
class Stack:
    """Milliseconds a record: of the stack without framing, of framing, of the physical limit."""

    catalogue: str
    records: int
    documents: int
    plain: float
    framing: float
    limit: float


def measure(catalogue: Catalogue, records: int) -> Stack:
    """Return what the stack and the limit take for the documents of the first records."""
    with tempfile.TemporaryDirectory() as folder:
        write_project(Path(folder), catalogue, records)
        chosen = project.load(Path(folder))
        options = pipeline.Options(now=NOW, accept_losses=True, export=False)
        result = pipeline.run(chosen, options, Silent())
        with Archive(chosen.archive) as archive:
            bodies = [document.body for document in archive.documents(result.latest)]
        trees = [orjson.loads(body) for body in bodies]
        written = Path(folder) / "written"
        limit = seconds(lambda: write(trees, written))
    made = sum(result.books.records.values())
    each = 1000 / made
    few = trees[:: max(1, len(trees) // FRAMED)]
    framing = seconds(lambda: frame(few)) / len(few) * len(trees)
    lines = triples(trees, chosen.site.base)
    plain = seconds(lambda: straight(lines))
    return Stack(catalogue.name, made, len(trees), plain * each, framing * each, limit * each)


def seconds(work: Callable[[], object]) -> float:
    """Return the CPU time that some work takes."""
    begun = process_time()
    work()
    return process_time() - begun


def shape_texts() -> dict[str, str]:
    """Return the shapes that ship, by the name of their file."""
    files = project.builtin("shapes").glob("*.ttl")
    return {path.name: path.read_text(encoding="utf-8") for path in files}


def triples(trees: list[dict[str, Any]], base: str) -> list[str]:
    """Return the N-Triples of each document, with the classes that the shapes speak of."""
    checker, emitter = Checker(shape_texts()), Emitter(base, concepts())
    return ["\n".join(checker.graph(tree["id"], emitter.emit(tree)).lines()) for tree in trees]


def straight(documents: list[str]) -> bytes:
    """One rdflib graph of all documents, pySHACL with our shapes over it, N-Triples of it."""
    graph, shapes = rdflib.Graph(), rdflib.Graph()
    for text in shape_texts().values():
        shapes.parse(data=text, format="turtle")
    with exact_literals():
        for document in documents:
            graph.parse(data=document, format="nt")
        pyshacl.validate(graph, shacl_graph=shapes, inplace=True)
        return graph.serialize(format="nt", encoding="utf-8")


def frame(trees: list[dict[str, Any]]) -> None:
    """Make the JSON-LD of each document out of its triples again, under our context."""
    options = {"documentLoader": loader()}
    for tree in trees:
        triples = jsonld.to_rdf(tree, {**options, "format": "application/n-quads"})
        graph = jsonld.from_rdf(triples, options)
        jsonld.frame(graph, {"@context": CONTEXT_URL, "id": tree["id"]}, options)


def write(trees: list[dict[str, Any]], path: Path) -> None:
    """Dump and write the documents: the least that has to be done."""
    with path.open("wb") as out:
        for tree in trees:
            out.write(orjson.dumps(tree, option=orjson.OPT_APPEND_NEWLINE))


def rows(ours: dict[str, float], records: int = 300) -> Iterator[Row]:
    """Yield the rows of the table.

    Args:
        ours: milliseconds that a whole run takes for a record, by catalogue; empty: no ratios.
    """
    for catalogue in catalogues():
        found = measure(catalogue, records)
        own = ours.get(found.catalogue, 0.0)
        for what, each in (
            ("straightforward stack, without framing", found.plain),
            ("straightforward stack, with framing", found.plain + found.framing),
            ("physical limit: orjson dump and write", found.limit),
        ):
            ratio = f"{each / own:.2f} times a whole run of ours" if own else ""
            yield Row(f"{found.catalogue}, {what}", f"{each:.3f} ms a record", ratio)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m bench.stack")
    parser.add_argument("--records", type=int, default=300)
    show(rows({}, parser.parse_args().records))


if __name__ == "__main__":
    main()
