"""The two engines on the same documents and shapes, in one run.

    python -m bench.check [--documents 1000]

Documents are the example records of tests/shapes (a photograph with its claims, and what is seen
on it), each under an address of its own; every twentieth has one fault. Time is CPU time.
"""

import argparse
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from time import process_time

import pyoxigraph
import pyshacl
import rdflib

from lodpipe.check import Checker
from lodpipe.check.graph import canonical
from lodpipe.check.referee import exact_literals

ROOT = Path(__file__).parent.parent
EXAMPLES = ROOT / "tests" / "shapes"


@dataclass
class Document:
    """What the check needs of a document."""

    lines: list[str]
    nodes: dict[str, str] = field(default_factory=dict)


def documents(count: int) -> list[tuple[str, Document]]:
    """Return that many documents, photographs and pictures by turns."""
    prefixes = (EXAMPLES / "prefixes.ttl").read_text(encoding="utf-8")
    made = []
    for name in ("object", "visual"):
        text = (EXAMPLES / f"{name}.ttl").read_text(encoding="utf-8")
        match = re.match(r"@base <(.*)> \.", text)
        assert match is not None
        uri = match.group(1)
        lines = canonical(
            pyoxigraph.parse(prefixes + text, format=pyoxigraph.RdfFormat.TURTLE, base_iri=uri)
        )
        for number in range(count // 2):
            new = f"{uri}-{number}"
            own = [line.replace(f"<{uri}", f"<{new}") for line in lines]
            if number % 20 == 0:
                own = [line for line in own if "#label" not in line or f"<{new}> " not in line]
            made.append((new, Document(sorted(own))))
    return made


def seconds(work: Callable[[], object], times: int = 3) -> float:
    """Return the least CPU time that some work takes."""
    best = float("inf")
    for _ in range(times):
        begun = process_time()
        work()
        best = min(best, process_time() - begun)
    return best


def as_it_comes(batch: list[tuple[str, Document]], shapes: rdflib.Graph) -> None:
    """pySHACL as its manual says: one graph of a hundred documents, `validate`."""
    with exact_literals():
        graph = rdflib.Graph()
        graph.parse(
            data="\n".join(line for _, document in batch for line in document.lines), format="nt"
        )
        pyshacl.validate(graph, shacl_graph=shapes, inplace=True)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m bench.check")
    parser.add_argument("--documents", type=int, default=1000)
    count = parser.parse_args().documents
    texts = {p.name: p.read_text(encoding="utf-8") for p in (ROOT / "shapes").glob("*.ttl")}
    batch = documents(count)
    triples = sum(len(document.lines) for _, document in batch) / len(batch)
    few = batch[:: max(1, len(batch) // 100)]
    compiled, referee = Checker(texts), Checker(texts, engine="referee")
    shapes = rdflib.Graph()
    for text in texts.values():
        shapes.parse(data=text, format="turtle")
    rows = [
        ("compiled", seconds(lambda: compiled.check(batch)) / len(batch)),
        ("pySHACL, a document at a time", seconds(lambda: referee.check(few)) / len(few)),
        ("pySHACL, a hundred in one graph", seconds(lambda: as_it_comes(few, shapes)) / len(few)),
    ]
    print(
        f"{len(batch)} documents of {triples:.0f} triples, {len(compiled.shapes.shapes)} shapes; "
        f"CPU time, least of 3"
    )
    for name, each in rows:
        print(
            f"{name:<34}{each * 1000:8.3f} ms a document{each / triples * 110_000:9.3f} ms per 110 "
            f"triples{1 / each:9.0f} documents a second{each / rows[0][1]:7.1f} x"
        )


if __name__ == "__main__":
    main()
