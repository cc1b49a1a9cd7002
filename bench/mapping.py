"""Microseconds a record for the shipped mappings on real catalogues, reading not included.

    LODPIPE_REFERENCE=... python -m bench.mapping [--profile]

CPU time, the best of three passes over all records, after one that fills what a mapping remembers.
"""

import argparse
import cProfile
import os
import pstats
import time
from pathlib import Path

from lodpipe import terms
from lodpipe.findings import Finding
from lodpipe.mapping import Mapping, SourceContext, load
from lodpipe.nodes import Nodes
from lodpipe.project import Limits
from lodpipe.read import ReadOptions, records
from lodpipe.records import Record

MAPPINGS = Path(__file__).parent.parent / "mappings"
CATALOGUES = (
    ("cmoa-csv.yaml", "cmoa/objects-derived.csv"),
    ("cmoa-jsonl.yaml", "cmoa/objects.jsonl"),
    ("tate-objects.yaml", "tate/objects.jsonl"),
    ("tate-artists.yaml", "tate/artists.jsonl"),
)


def table(name: str) -> terms.Table:
    """A table of terms that ships."""
    return terms.read_table(name, MAPPINGS / "vocab" / f"{name}.csv")


def silent(finding: Finding) -> None:
    """Findings are made, and not kept."""


def pass_over(mapping: Mapping, rows: list[Record], context: SourceContext) -> tuple[int, int]:
    """Map all records; how many documents and claims they make."""
    documents = claims = 0
    for row in rows:
        made = mapping.map(row, context, silent)
        if made is not None:
            documents += len(made.documents)
            claims += len(made.claims)
    return documents, claims


def measure(name: str, source: Path, profile: bool) -> str:
    """One line of the table."""
    nodes = Nodes("https://collections.example.org/", terms.concepts())
    mapping = load(MAPPINGS / name, name, nodes=nodes, tables=table)
    options = ReadOptions(records=mapping.reads.records)
    found = records(source, source.name, options, Limits(), silent)
    rows = [row for row in found if isinstance(row, Record)]
    context = SourceContext(source.name, 1, "group/museum", "2017")
    documents, claims = pass_over(mapping, rows, context)
    times = []
    for _ in range(3):
        start = time.process_time()
        pass_over(mapping, rows, context)
        times.append(time.process_time() - start)
    if profile:
        with cProfile.Profile() as profiler:
            pass_over(mapping, rows, context)
        pstats.Stats(profiler).sort_stats("tottime").print_stats(25)
    each = min(times) * 1e6
    return (
        f"| {name} | {len(rows):,} | {documents:,} | {claims:,} | {each / len(rows):.0f} "
        f"| {each / documents:.0f} |"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--profile", action="store_true")
    chosen = parser.parse_args()
    data = Path(os.environ["LODPIPE_REFERENCE"]) / "data"
    print("| mapping | records | documents | claims | µs a record | µs a document |")
    print("|---|---|---|---|---|---|")
    for name, file in CATALOGUES:
        print(measure(name, data / file, chosen.profile))


if __name__ == "__main__":
    main()
