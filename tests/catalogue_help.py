"""What the tests of shipped mappings share: a project on a source, and everything it maps to.

What a catalogue says is counted with plain Python from its file, never with lodpipe.
"""

import gzip
import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import orjson
import zstandard

from lodpipe import pipeline, project
from lodpipe.findings import Finding
from lodpipe.pipeline import Options
from lodpipe.pipeline.progress import Silent
from lodpipe.records import Draft, Mapped, Record, Tree

BASE = "https://collections.example.org/"
NOBODY = BASE + "group/unidentified-maker"
NOW = "2026-01-31T10:00:00Z"
HEAD = """
[site]
base = "https://collections.example.org/"
name = {en = "An open catalogue"}
publisher = "group/museum"
rights = "http://creativecommons.org/publicdomain/zero/1.0/"
[access]
default = "open"
[export]
outputs = ["linked-art", "nquads"]
files_up_to = 0
"""
SOURCE = """
[[source]]
file = "{file}"
mapping = "builtin:{mapping}"
rank = {rank}
by = "group/museum"
dated = "2017-03-17"
"""

CMOA_QUALIFIERS = {
    # role in the data: qualifier, standing, role of ours
    "after": ("after", "current", ""),
    "possibly by": ("possibly", "current", ""),
    "attributed to": ("attributed-to", "current", ""),
    "probably by": ("probably", "current", ""),
    "school of": ("school-of", "current", ""),
    "workshop of": ("workshop-of", "current", ""),
    "manner of": ("manner-of", "current", ""),
    "circle of": ("circle-of", "current", ""),
    "follower of": ("follower-of", "current", ""),
    "copyist of": ("copyist-of", "current", ""),
    "studio of": ("studio-of", "current", ""),
    "formerly attributed to": ("attributed-to", "former", ""),
    "attributed manufacturer": ("attributed-to", "current", "manufacturer"),
    "attributed designer": ("attributed-to", "current", "designer"),
    "attributed decorator": ("attributed-to", "current", "decorator"),
    "attributed modeller": ("attributed-to", "current", "modeller"),
    "attributed cabinetmaker": ("attributed-to", "current", "cabinetmaker"),
    "attributed clockworks maker": ("attributed-to", "current", "clockworks maker"),
    "possible architects": ("possibly", "current", "architect"),
    "possible designer": ("possibly", "current", "designer"),
    "publisher?": ("possibly", "current", "publisher"),
}
TATE_QUALIFIERS = {
    "after": ("after", "current", ""),
    "prints after": ("after", "current", ""),
    "attributed to": ("attributed-to", "current", ""),
    "formerly attributed to": ("attributed-to", "former", ""),
    "doubtfully attributed to": ("possibly", "current", ""),
    "manner of": ("manner-of", "current", ""),
    "style of": ("style-of", "current", ""),
    "imitator of": ("imitator-of", "current", ""),
    "follower of": ("follower-of", "current", ""),
    "circle of": ("circle-of", "current", ""),
    "pupil of": ("pupil-of", "current", ""),
    "school of": ("school-of", "current", ""),
    "studio of": ("studio-of", "current", ""),
    # nobody knows how sure: words, proposed
    "pseudo": ("", "proposed", ""),
    "associated with": ("", "proposed", ""),
}
TATE_TWO = {
    # one maker for certain, and others round him
    "and a pupil": "pupil-of",
    "and assistants": "workshop-of",
    "and studio": "studio-of",
    "and other artists": "",
}


@dataclass(slots=True)
class Catalogue:
    """Everything that one shipped mapping makes of one file.

    `count` records were mapped; `unlabelled` are the documents that nobody could tell apart.
    """

    count: int = 0
    unlabelled: set[str] = field(default_factory=set)
    mapped: list[Mapped] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    def drafts(self, class_name: str = "") -> Iterator[Draft]:
        for one in self.mapped:
            for draft in one.documents:
                if not class_name or draft.tree["type"] == class_name:
                    yield draft

    def codes(self) -> set[str]:
        return {f.code for f in self.findings if f.severity != "info"}


def write_project(folder: Path, *sources: tuple[Path, str]) -> project.Project:
    """Write a project on some sources; what is named first has the lowest rank."""
    text = HEAD + "".join(
        SOURCE.format(file=file, mapping=mapping, rank=rank)
        for rank, (file, mapping) in enumerate(sources, 1)
    )
    (folder / "lodpipe.toml").write_text(text, encoding="utf-8")
    (folder / "evidence").mkdir(exist_ok=True)
    (folder / "evidence/people.csv").write_text(
        "key,name,kind\ngroup/museum,The museum,group\n", encoding="utf-8"
    )
    return project.load(folder)


@cache
def catalogue(file: Path, mapping: str, *, keep: bool = True) -> Catalogue:
    """Map a whole file with a shipped mapping; without `keep`, what it made is only counted."""
    shop = pipeline.open_workshop(write_project(Path(mkdtemp()), (file, mapping)))
    source = shop.project.sources[0]
    found = Catalogue()
    chosen = shop.mapping(source.mapping)
    context = shop.context(source, found.findings.append)
    for record in shop.read(source, found.findings.append):
        assert isinstance(record, Record), record
        mapped = chosen.map(record, context, found.findings.append)
        assert mapped is not None, record.origin
        found.count += 1
        found.unlabelled |= {d.uri for d in mapped.documents if not d.tree.get("_label")}
        if keep:
            found.mapped.append(mapped)
    chosen.leftover(found.findings.append)
    return found


@cache
def lines(file: Path) -> list[dict[str, Any]]:
    """Return the objects of a JSON Lines file."""
    raw = file.read_bytes()
    text = gzip.decompress(raw) if file.suffix == ".gz" else raw
    return [json.loads(line) for line in text.splitlines()]


@dataclass(slots=True)
class Published:
    """What a whole run published of a source: its result, documents by IRI, lines of N-Quads."""

    source: Path
    result: pipeline.Result
    documents: dict[str, Tree]
    quads: list[str]


def publish(folder: Path, *sources: tuple[Path, str]) -> Published:
    """Run a project whole, and read back what it exported."""
    chosen = write_project(folder, *sources)
    result = pipeline.run(chosen, Options(now=NOW), Silent())
    assert result.written is not None, result.outcome
    documents: dict[str, Tree] = {}
    quads: list[str] = []
    for name in result.written.written:
        path = folder / "export" / name
        if name.endswith(".zst"):
            reader = zstandard.ZstdDecompressor().stream_reader(
                path.read_bytes(), read_across_frames=True
            )
            text = reader.read().decode()
            if name.endswith(".jsonl.zst"):
                for line in text.splitlines():
                    tree = orjson.loads(line)
                    documents[tree["id"]] = tree
            else:
                quads = text.splitlines()
    return Published(sources[0][0], result, documents, quads)


def nodes(tree: Any) -> Iterator[dict[str, Any]]:
    """Yield every node of a document, but nothing inside what a claim assigns."""
    if isinstance(tree, list):
        for item in tree:
            yield from nodes(item)
    elif isinstance(tree, dict):
        yield tree
        for key, value in tree.items():
            if key not in ("assigned", "attributed_by"):
                yield from nodes(value)


def makers(tree: Tree) -> set[str]:
    """Return whom the production of a thing states as its makers."""
    return {
        who["id"]
        for node in nodes(tree.get("produced_by", {}))
        if node.get("type") == "Production"
        for who in node.get("carried_out_by", ())
    }


def words(tree: Tree, term: str) -> list[str]:
    """Return the statements of a thing that have a type, by the end of its IRI."""
    return [
        node["content"]
        for node in tree.get("referred_to_by", ())
        if any(kind["id"].endswith(term) for kind in node.get("classified_as", ()))
    ]
