"""Mutated sources, mappings, ledgers, shapes and documents: what the program makes of them.

    python -m bench.fuzz [--examples 20000] [--kind source]

Each example is one file of a small project with a few edits: bytes taken out, doubled, swapped
with others, or replaced by what breaks readers. It goes where a user would send it. Counted are
tracebacks (anything raised that is no LodpipeError), books that do not balance, and what an audit
hook of Python sees: files written outside the project, processes, connections. Edits come from
hypothesis, so that a failing example is made small before it is shown.
"""

import argparse
import gzip
import os
import re
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from click.testing import CliRunner
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from lodpipe import evidence, pipeline, project, read, terms
from lodpipe.aspects import builtin_aspects
from lodpipe.cli import main as lodpipe
from lodpipe.errors import LodpipeError, NotFinishedError
from lodpipe.findings import Finding
from lodpipe.mapping import SourceContext, loads
from lodpipe.nodes import Nodes
from lodpipe.pipeline.progress import Silent
from lodpipe.project import Limits
from lodpipe.read import ReadOptions
from lodpipe.records import Record

BASE = "https://collections.example.org/"
LIMITS = Limits(field_chars=500, record_chars=3_000, nesting=16)
TOKENS = (
    b"\x00", b"\xff\xfe", b"\xed\xa0\x80", "\u202e".encode(), "\ufeff".encode(), "\U0001f4f7".encode(),
    b"\\ud800", b"&#xD800;", b"../../../x", b"/etc/passwd", b"..", b"%2e%2e%2f", b"\r", b"\n", b"\r\n",
    b'"', b"'", b",", b";", b"\t", b"{", b"}", b"[", b"]", b"<", b">", b"&", b"<!--", b"]]>", b"<![CDATA[",
    b'<!DOCTYPE a [<!ENTITY b "c">]>', b"&b;", b"<script>alert(1)</script>", b"=1+1", b"=cmd|'/c calc'!A0",
    b"@SUM(1)", b"&x ", b"*x", b"!!python/object/apply:os.system ['x']", b"!t ", b"<<: *x", b"---\n", b"%YAML 1.3\n",
    b"(a+)+$", b"(?=a)", b"\\1", b"$(touch x)", b"`x`", b"{no}", b"{{", b"}}", b"{x", b"null", b"true", b"-1",
    b"1e999", b"99999999999999999999", b"NaN", b"0000-00-00", b"9999999-99", b"-0044", b"Y-170000002",
    b"1872/1871", b"~", b"?", b"XX", b"http://[::1", b"javascript:x", b"urn:x", b"https://collections.example.org/",
    b"_:b", b"@base <x> .", b"sh:pattern", b"rdf:nil", b"( ( ( (", b"[ [ [ [", b"[" * 40, b"{\"a\":" * 40, b"<a>" * 40,
    b"x" * 600, b"@context", b"@reverse", b"@type", b"id", b"type", b"current", b"rejected", b"possibly", b"copy_of",
)  # fmt: skip

PROJECT = """\
[site]
base = "https://collections.example.org/"
name = {en = "Highland Railway Library"}
publisher = "group/library"
[[source]]
file = "items.csv"
mapping = "items.yaml"
dated = "2026-01-30"
[access]
default = "open"
[check]
shapes = ["shapes"]
most_losses = "100 %"
[limits]
field_chars = 500
record_chars = 3_000
nesting = 16
"""
MAPPING = """\
reads:
  key: no
  fields:
    no: No
    title: Title
    made: {from: Date, as: date}
    by: {from: Maker, pattern: "(?P<who>[a-z]+)"}
    sure: Sure
makes:
  - id: "object/{no}"
    type: HumanMadeObject
    _label: "{title}"
    classified_as: [{term: photograph}]
    identified_by:
      - {type: Name, content: "{title}", language: en, classified_as: {term: primary-name}}
    produced_by:
      type: Production
      timespan: {timespan: made}
      carried_out_by:
        - {ref: "person/{by}", type: Person, when: {sure: absent}}
  - id: "person/{by}"
    type: Person
    _label: "{by}"
    identified_by:
      - {type: Name, content: "{by}", classified_as: {term: primary-name}}
claims:
  - when: {sure: {lookup: qualifiers}}
    about: "object/{no}"
    aspect: maker
    value: "person/{by}"
    qualifier: {lookup: qualifiers, from: sure}
"""
ITEMS = """\
No,Title,Date,Maker,Sure
1,Summit cutting,1872-02,dolen,attributed to
2,Snow shed,"between 1872 and 1873",dolen,
3,"Camp Nine, ""long"", north",ca. 1871,korvath,possibly
"""
SHAPES = """\
@prefix sh: <http://www.w3.org/ns/shacl#> .
@prefix crm: <http://www.cidoc-crm.org/cidoc-crm/> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix xsd: <http://www.w3.org/2001/XMLSchema#> .
<urn:example:shape:object> a sh:NodeShape ;
  sh:targetClass crm:E22_Human-Made_Object ;
  sh:property [ sh:path rdfs:label ; sh:minCount 1 ; sh:pattern "^[A-Z].*" ; sh:severity sh:Warning ;
    sh:message "a label begins with a capital" ] ;
  sh:property [ sh:path ( crm:P108i_was_produced_by [ sh:alternativePath ( crm:P9_consists_of crm:P14_carried_out_by ) ] ) ;
    sh:maxCount 3 ; sh:nodeKind sh:IRI ; sh:or ( [ sh:class crm:E21_Person ] [ sh:datatype xsd:string ] ) ] .
"""
JSON = """\
{"@context": "https://linked.art/ns/v1/linked-art.json", "id": "https://collections.example.org/object/1",
 "type": "HumanMadeObject", "_label": "Snow shed",
 "identified_by": [{"type": "Name", "content": "Snow shed", "language": [{"id": "http://vocab.getty.edu/aat/300388277", "type": "Language"}]}],
 "produced_by": {"type": "Production", "timespan": {"type": "TimeSpan", "begin_of_the_begin": "1872-01-01T00:00:00Z"},
  "carried_out_by": [{"id": "https://collections.example.org/person/dolen", "type": "Person", "_label": "dolen"}]}}
"""
MANIFEST = """\
{"@context": "http://iiif.io/api/presentation/3/context.json", "id": "https://example.org/m", "type": "Manifest",
 "label": {"en": ["Album"]}, "items": [{"id": "https://example.org/c", "type": "Canvas", "height": 10, "width": 10,
 "items": [{"id": "https://example.org/p", "type": "AnnotationPage", "items": [{"id": "https://example.org/a", "type": "Annotation",
 "motivation": "painting", "target": "https://example.org/c", "body": {"id": "https://example.org/i.jpg", "type": "Image"}}]}]}]}
"""
SOURCES = {
    "items.csv": ITEMS,
    "items.jsonl": '{"No": "1", "Title": "Summit cutting", "Date": "1872", "Maker": "dolen", "Sure": ""}\n'
    * 3,
    "items.json": '{"list": [{"No": "1", "Title": "Snow shed", "Date": "1872", "Maker": "dolen", "Sure": ["x", {"y": 1}]}, {"No": 2}]}',
    "items.xml": '<?xml version="1.0"?>\n<list><item n="1"><No>1</No><Title>Snow &amp; shed</Title><Maker>dolen</Maker></item><item/></list>',
}
RECORDS = {"items.xml": "/list/item", "items.json": "$.list[*]"}
LEDGERS = {
    "claims.csv": "claim,about,aspect,role,value,value_text,part,qualifier,standing,by,on,basis,sources,replaces,alternative_to\n"
    'c1,object/1,maker,photographer,person/dolen,,,possibly,current,group/library,2024-03-11,same hand,"text/diary, p. 3",,\n'
    "c2,object/1,maker,,person/korvath,,,,former,group/library,2020,caption,,,\n"
    "c3,object/2,date,,1872-02/1872-06,,,,current,person/arle,2024-03,itinerary,text/diary; w1,,\n"
    "c4,object/2,place,,place/aldmark,,,possibly,current,person/arle,2024-03,<b>sure</b>,,,\n"
    "c5,object/2,date,,1872-04~,,,,current,person/arle,2024-04,diary again,text/diary,c3,\n"
    "c6,object/3,copy_of,,object/2,,,,proposed,person/arle,2024-04,,text/diary,,\n",
    "people.csv": "key,name,kind,born,died,active,sources,born_sources,died_sources,notes\n"
    "person/dolen,Ines Dolen,person,1840,1901~,,text/diary,,,\nperson/korvath,Ada Korvath,person,,,,,,,\n",
    "whereabouts.csv": "key,who,place,when,presence,event,sources,note\n"
    "w1,person/dolen,place/aldmark,1872-02/1872-04,at,,text/diary,\n",
    "places.csv": "key,name,former_names,within,near,latitude,longitude,sources\nplace/aldmark,Aldmark,,,,47.1,-12.5,\n",
    "sources.csv": "key,citation,kind,date,url,withdrawn\ntext/diary,Diary of the Upper Section,diary,1872,,\n",
    "access.csv": "key,kind,access,notice,authority,public_reason,internal_reason,decided,review_on\n"
    "object/3,thing,withheld,,council,At their wish,secret,2024-01-01,2030-01-01\n",
    "layout.csv": "thing,on,order,side,region,capture\nobject/2,object/1,1,recto,,\n",
}
DOCUMENTS = {
    "one.json": JSON,
    "two.jsonl": JSON.replace("\n", "") + "\n",
    "three.ttl": SHAPES,
    "four.nq": '<https://e.org/a> <http://www.w3.org/2000/01/rdf-schema#label> "x"@en <https://e.org/g> .\n'
    * 2,
    "five.rdf": '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about="https://e.org/a"><rdf:value>x</rdf:value></rdf:Description></rdf:RDF>',
    "manifest.json": MANIFEST,
}


WHOLE = {
    "lodpipe.toml": PROJECT,
    "items.csv": ITEMS,
    "items.yaml": MAPPING,
    "shapes/s.ttl": SHAPES,
    **{f"evidence/{name}": text for name, text in LEDGERS.items()},
}


@dataclass
class Count:
    """What was met: examples of each kind, and what must never be."""

    examples: dict[str, int] = field(default_factory=dict)
    refused: dict[str, int] = field(default_factory=dict)
    slowest: dict[str, float] = field(default_factory=dict)
    outside: list[str] = field(default_factory=list)
    unbalanced: int = 0


COUNT = Count()
_allowed: list[str] = []
"""Folders that may be written while an example runs; empty when none does."""


def _watch(event: str, arguments: tuple[Any, ...]) -> None:
    """Note what an example does to the world outside its folder."""
    if not _allowed:
        return
    if event in (
        "subprocess.Popen",
        "os.system",
        "os.exec",
        "os.posix_spawn",
        "socket.connect",
        "socket.getaddrinfo",
    ):
        COUNT.outside.append(f"{event} {arguments!r}")
        return
    if event == "open":
        path, _, flags = arguments
        if isinstance(flags, int) and not flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
            return
    elif event in (
        "os.mkdir",
        "os.rename",
        "os.remove",
        "os.rmdir",
        "os.link",
        "os.symlink",
        "os.truncate",
    ):
        path = arguments[1] if event in ("os.rename", "os.link", "os.symlink") else arguments[0]
    else:
        return
    if isinstance(path, str | bytes | os.PathLike):
        folder = arguments[-1]
        if event in ("os.remove", "os.rmdir") and isinstance(folder, int) and folder >= 0:
            path = os.path.join(os.readlink(f"/proc/self/fd/{folder}"), os.fsdecode(path))  # noqa: PTH115, PTH118
        whole = os.path.realpath(os.fsdecode(path))
        if not whole.startswith((*_allowed, "/dev/")):
            COUNT.outside.append(f"{event} {whole}")


_WORD = re.compile(rb"[^\s,\"\[\]{}();]+")


@st.composite
def edits(draw: st.DrawFn) -> list[tuple[float, int, bytes, int]]:
    """Return a few edits: where (a share of the text), what, with which bytes, over how many."""
    some = st.tuples(
        st.floats(0, 1, exclude_max=True), st.integers(0, 6), st.sampled_from(TOKENS) | st.binary(max_size=4), st.integers(0, 40)
    )  # fmt: skip
    return draw(st.lists(some, min_size=1, max_size=3))


def mutated(body: bytes, changes: list[tuple[float, int, bytes, int]]) -> bytes:
    """Return a text with edits: put in, put in place of, take out, double, swap."""
    for share, what, token, length in changes:
        at = int(share * (len(body) + 1))
        words = list(_WORD.finditer(body))
        if what > 4 and words:  # a word that stands elsewhere, or a token, in place of a word
            old, new = words[int(share * len(words))], words[length * 7 % len(words)][0]
            body = body[: old.start()] + (new if what == 5 else token) + body[old.end() :]
            continue
        piece = body[at : at + length]
        if what == 0:
            body = body[:at] + token + body[at:]
        elif what == 1:
            body = body[:at] + token + body[at + len(token) :]
        elif what == 2:
            body = body[:at] + body[at + length :]
        elif what == 3:
            body = body[:at] + piece * 2 + body[at + length :]
        else:
            body = body[:at] + body[at + length : at + 2 * length] + piece + body[at + 2 * length :]
    return body


class Bench:
    """A folder to work in, and one function for each kind of file."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.nodes = Nodes(BASE, terms.concepts())
        self.write_project({})
        self.shop = pipeline.open_workshop(project.load(folder / "project"))
        self.mappings = {
            name: loads(MAPPING, "items.yaml", nodes=self.nodes, tables=self.table, limits=LIMITS)
            for name in SOURCES
        }
        self.context = SourceContext("items.csv", 1, "group/library", "2026-01-30")
        self.evidence = folder / "evidence"
        self.evidence.mkdir(exist_ok=True)
        self.shapes = {"s.ttl": SHAPES}
        self.findings: list[Finding] = []

    def table(self, name: str) -> terms.Table:
        """A table of terms that ships, as a project finds it."""
        return self.shop.table(name)

    def write_project(self, changed: dict[str, bytes]) -> Path:
        """Write a whole project, some files of it changed, and return its folder."""
        folder = self.folder / "project"
        for name, text in WHOLE.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(changed.get(name, text.encode()))
        return folder

    def put(self, name: str, body: bytes) -> Path:
        """Write one file of the example."""
        path = self.folder / name
        path.write_bytes(body)
        return path

    def source(self, name: str, body: bytes) -> None:
        """Read a source, plain or packed, and map what it gives."""
        packed = len(body) % 4 == 0
        path = self.put(
            name + (".gz" if packed else ""), gzip.compress(body, 1) if packed else body
        )
        options = ReadOptions(records=RECORDS.get(name, ""))
        taken = mapped = 0
        for row in read.records(path, path.name, options, LIMITS, self.findings.append):
            taken += 1
            if isinstance(row, Record):
                mapped += (
                    self.mappings[name].map(row, self.context, self.findings.append) is not None
                )
        COUNT.unbalanced += mapped > taken

    def mapping_file(self, name: str, body: bytes) -> None:
        """Compile a mapping and map three records with it."""
        made = loads(
            body.decode("utf-8", "replace"),
            name,
            nodes=self.nodes,
            tables=self.table,
            limits=LIMITS,
        )
        path = self.put("items.csv", ITEMS.encode())
        for row in read.records(path, path.name, ReadOptions(), LIMITS, self.findings.append):
            if isinstance(row, Record):
                made.map(row, self.context, self.findings.append)

    def ledger(self, name: str, body: bytes) -> None:
        """Read a folder of evidence in which one table is mutated."""
        for other, text in LEDGERS.items():
            self.put(f"evidence/{other}", body if other == name else text.encode())
        evidence.load(
            self.evidence, "evidence", aspects=builtin_aspects(), qualifiers=self.table("qualifiers"),
            limits=LIMITS, report=self.findings.append,
        )  # fmt: skip

    def shape(self, name: str, body: bytes) -> None:
        """Compile shapes, and check a document with them."""
        path = self.put("shape.ttl", body)
        one = self.put("one.json", JSON.encode())
        pipeline.check((one,), (path,), engine="compiled", gate="violation", watcher=Silent())

    def document(self, name: str, body: bytes) -> None:
        """Check a file of linked data or a manifest with shapes of our own."""
        shapes = self.put("shape.ttl", SHAPES.encode())
        path = self.put(name, body)
        pipeline.check((path,), (shapes,), engine="compiled", gate="violation", watcher=Silent())

    def whole(self, name: str, body: bytes) -> None:
        """Run a project from the command line in which one file is mutated."""
        folder = self.write_project({name: body})
        done = CliRunner().invoke(
            lodpipe, ["run", str(folder), "--now", "2026-01-31T10:00:00Z", "--accept-losses"]
        )
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        COUNT.unbalanced += "books do not balance" in done.output or "do not add up" in done.output
        if done.exit_code not in (0, 1, 2, 3, 4):
            raise AssertionError(done.output)
        if done.exit_code > 1:
            COUNT.refused["whole"] = COUNT.refused.get("whole", 0) + 1


KINDS: dict[str, tuple[int, dict[str, str], Callable[[Bench, str, bytes], None]]] = {
    # share of all examples in a hundred, what is mutated, where it goes
    "source": (30, SOURCES, Bench.source),
    "mapping": (18, {"items.yaml": MAPPING}, Bench.mapping_file),
    "ledger": (20, LEDGERS, Bench.ledger),
    "shape": (9, {"s.ttl": SHAPES}, Bench.shape),
    "document": (18, DOCUMENTS, Bench.document),
    "whole": (
        5,
        WHOLE,
        Bench.whole,
    ),
}


def fuzz(kind: str, examples: int, folder: Path) -> None:
    """Try so many examples of a kind; the first failure is made small and raised."""
    _, seeds, work = KINDS[kind]
    bench = Bench(folder)

    @settings(
        max_examples=examples, deadline=None, database=None, derandomize=True,
        phases=(Phase.generate, Phase.shrink), suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(name=st.sampled_from(sorted(seeds)), changes=edits())
    def one(name: str, changes: list[tuple[float, int, bytes, int]]) -> None:
        body = mutated(seeds[name].encode(), changes)
        COUNT.examples[kind] = COUNT.examples.get(kind, 0) + 1
        bench.findings.clear()
        begun = time.process_time()
        _allowed.append(str(folder.resolve()))
        try:
            work(bench, name, body)
        except NotFinishedError as error:
            COUNT.unbalanced += "balance" in error.message
            COUNT.refused[kind] = COUNT.refused.get(kind, 0) + 1
        except LodpipeError:
            COUNT.refused[kind] = COUNT.refused.get(kind, 0) + 1
        finally:
            _allowed.clear()
        taken = time.process_time() - begun
        COUNT.slowest[kind] = max(taken, COUNT.slowest.get(kind, 0.0))
        assert not COUNT.outside, COUNT.outside
        assert not COUNT.unbalanced

    one()


_WATCHING = False


def watch() -> None:
    """Begin to see what examples do; a hook stays for the whole process."""
    global _WATCHING
    if not _WATCHING:
        sys.addaudithook(_watch)
        _WATCHING = True


def main() -> None:
    """Try all kinds and print one table."""
    parser = argparse.ArgumentParser(prog="python -m bench.fuzz")
    parser.add_argument("--examples", type=int, default=20_000)
    parser.add_argument("--kind", choices=sorted(KINDS), help="only this one, with all examples")
    chosen = parser.parse_args()
    watch()
    print(f"{'kind':<10}{'examples':>10}{'refused':>9}{'CPU s':>8}{'slowest s':>11}")
    for kind, (share, _, _) in KINDS.items():
        if chosen.kind in (None, kind):
            begun = time.process_time()
            with tempfile.TemporaryDirectory() as folder:
                fuzz(
                    kind,
                    chosen.examples if chosen.kind else chosen.examples * share // 100,
                    Path(folder),
                )
            print(
                f"{kind:<10}{COUNT.examples[kind]:>10,}{COUNT.refused.get(kind, 0):>9,}"
                f"{time.process_time() - begun:>8.0f}{COUNT.slowest[kind]:>11.2f}",
                flush=True,
            )
    print(
        f"{sum(COUNT.examples.values()):,} examples: 0 tracebacks, {COUNT.unbalanced} unbalanced books, "
        f"{len(COUNT.outside)} writes outside"
    )


if __name__ == "__main__":
    main()
