"""Both engines over everything that the demo and two open catalogues publish, document by document.

    LODPIPE_REFERENCE=... python -m bench.parity [--every 1]

Minutes of work, since pySHACL takes some 10 ms a document: the tests do the same for the whole
demo and for samples of the catalogues. A difference is printed and makes the exit status 1.
"""

import argparse
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from time import process_time

import orjson

from bench.projects import Catalogue, write_project
from lodpipe.archive import Archive
from lodpipe.check import Checker
from lodpipe.rdf import Emitted, Emitter
from lodpipe.terms import concepts

ROOT = Path(__file__).parent.parent
CATALOGUES = (
    Catalogue("cmoa", (("cmoa/objects-derived.csv", "cmoa-csv.yaml"),), "2017-03-17"),
    Catalogue(
        "tate",
        (("tate/objects.jsonl", "tate-objects.yaml"), ("tate/artists.jsonl", "tate-artists.yaml")),
        "2020-10-28",
    ),
)
BASE = "https://collections.example.org/"


def released(project: Path, archive: Path, own: Path) -> Iterator[tuple[str, Emitted]]:
    """Run a project and yield what each published document says in triples."""
    subprocess.run(
        [sys.executable, "-m", "lodpipe", "run", str(project), "--no-export", "--accept-losses"],
        check=False,
        capture_output=True,
    )
    emitter = Emitter(BASE, concepts(*([own] if own.is_file() else [])))
    with Archive(archive) as store:
        latest = store.latest()
        if latest is None:
            raise SystemExit(f"{project.name}: nothing was released")
        for document in store.documents(latest.number):
            tree = orjson.loads(document.body)
            tree.pop("@context", None)
            yield document.uri, emitter.emit(tree)


def compare(name: str, documents: list[tuple[str, Emitted]], texts: dict[str, str]) -> int:
    """Ask both engines about each document; print a line, and return how many answers differ."""
    begun = process_time()
    Checker(texts, sample=frozenset()).check(documents)
    alone = process_time() - begun
    begun = process_time()
    found = Checker(texts, sample=None).check(documents)
    both = process_time() - begun
    differ = [one for one in found.findings if one.code == "referee"]
    for one in differ:
        print(one.message, one.place, file=sys.stderr)
    triples = sum(len(one.lines) for _, one in documents)
    print(
        f"{name:<8}{len(documents):8,} documents{triples:12,} triples{len(found.refereed):8,} asked"
        f" twice{len(found.results):8,} results{len(differ):5} differ"
        f"   compiled {alone / len(documents) * 1000:.3f} ms, pySHACL"
        f" {(both - alone) / len(documents) * 1000:.2f} ms a document"
    )
    return len(differ)


def main() -> None:
    """Run, compare, print."""
    parser = argparse.ArgumentParser(prog="python -m bench.parity")
    parser.add_argument("--every", type=int, default=1, help="take one document of so many")
    every = parser.parse_args().every
    texts = {p.name: p.read_text(encoding="utf-8") for p in (ROOT / "shapes").glob("*.ttl")}
    differ = 0
    with tempfile.TemporaryDirectory() as scratch:
        demo = Path(scratch) / "demo"
        shutil.copytree(ROOT / "sample", demo)
        projects = [demo]
        for catalogue in CATALOGUES:
            projects.append(Path(scratch) / catalogue.name)
            projects[-1].mkdir()
            write_project(projects[-1], catalogue)
        for project in projects:
            own = project / "mappings/vocab/concepts.csv"
            batch = list(released(project, project / "archive/archive.sqlite", own))
            differ += compare(project.name, batch[::every], texts)
    sys.exit(1 if differ else 0)


if __name__ == "__main__":
    main()
