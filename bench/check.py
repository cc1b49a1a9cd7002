"""The two engines on the same documents and shapes, in one run.

    python -m bench.check [--documents 1000]

Documents are the example records of tests/shapes (a photograph with its claims, and what is seen
on it), each under an address of its own; every twentieth has one fault. CPU time, the least of three.
"""

import argparse
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from time import process_time

import pyoxigraph
import pyshacl
import rdflib

from bench.table import Row, show
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


def rows(count: int) -> Iterator[Row]:
    """Yield the rows of the table: the compiled engine, and pySHACL in two ways."""
    texts = {p.name: p.read_text(encoding="utf-8") for p in (ROOT / "shapes").glob("*.ttl")}
    batch = documents(count)
    triples = sum(len(document.lines) for _, document in batch) / len(batch)
    few = batch[:: max(1, len(batch) // 100)]
    compiled, referee = Checker(texts), Checker(texts, engine="referee")
    shapes = rdflib.Graph()
    for text in texts.values():
        shapes.parse(data=text, format="turtle")
    ours = seconds(lambda: compiled.check(batch)) / len(batch)
    what = f"check {len(batch):,} documents of {triples:.0f} triples"
    yield Row(what, f"{ours * 1000:.3f} ms a document", f"{len(compiled.shapes.shapes)} shapes")
    alone = seconds(lambda: referee.check(few)) / len(few)
    together = seconds(lambda: as_it_comes(few, shapes)) / len(few)
    for how, each in (("one by one", alone), ("in graphs of a hundred", together)):
        yield Row(f"pySHACL, {how}", f"{each * 1000:.1f} ms a document", f"{each / ours:.0f} times")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m bench.check")
    parser.add_argument("--documents", type=int, default=1000)
    show(rows(parser.parse_args().documents))


if __name__ == "__main__":
    main()
