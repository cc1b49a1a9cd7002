"""Linked data read back: what each format gives, and what is said of what cannot be read."""

import gzip
import json
from pathlib import Path
from typing import Any

import pytest
import zstandard

from lodpipe.errors import UsageError
from lodpipe.findings import Finding
from lodpipe.publish.linked_art import document_bytes
from lodpipe.publish.nquads import Beliefs, document_lines
from lodpipe.rdf import CONTEXT_URL, Emitted, Emitter
from lodpipe.rdf_read import found, read
from lodpipe.terms import concepts

BASE = "https://collections.example.org/"
ITEM = f"{BASE}object/item-0201"
LABEL = "<http://www.w3.org/2000/01/rdf-schema#label>"
VEY = {
    "id": f"{BASE}person/vey",
    "type": "Person",
    "_label": "Jonas Vey",
    "identified_by": [{"type": "Name", "content": "Jonas Vey"}],
    "born": {"type": "Birth", "timespan": {"type": "TimeSpan", "_label": "1841"}},
}
ALBUM = {"id": f"{BASE}object/album-2", "type": "HumanMadeObject", "_label": "Album 2"}


def all_of(path: Path, name: str = "") -> tuple[list[Emitted], list[Finding]]:
    findings: list[Finding] = []
    return list(read(path, name or path.name, findings.append)), findings


def write(folder: Path, name: str, text: str | bytes) -> Path:
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def test_a_document_is_read_as_it_was_emitted(tmp_path: Path) -> None:
    path = write(tmp_path, "vey.json", document_bytes(VEY))
    (got,), findings = all_of(path)
    plain = Emitter(BASE, concepts(), mint=False).emit(VEY)

    assert findings == []
    assert got == plain
    assert got.nodes["_:b0"] == "/identified_by/0"


def test_lines_packed(tmp_path: Path) -> None:
    text = document_bytes(VEY) + b"\n\n" + document_bytes(ALBUM) + b"\n"
    packed = [
        write(tmp_path, "all.jsonl", text),
        write(tmp_path, "all.jsonl.gz", gzip.compress(text)),
        write(tmp_path, "all.ndjson.zst", zstandard.compress(text)),
        write(tmp_path, "two.jsonl.zst", b"".join(map(zstandard.compress, text.splitlines(True)))),
    ]
    for path in packed:
        got, findings = all_of(path)

        assert [one.uri for one in got] == [VEY["id"], ALBUM["id"]]
        assert findings == []


def test_quads_one_document_a_graph(tmp_path: Path) -> None:
    emitter, beliefs = Emitter(BASE, concepts()), Beliefs(BASE, concepts())
    trees = (VEY, ALBUM)
    lines = [line for tree in trees for line in document_lines(emitter.emit(tree), beliefs)]
    for turned in (lines, sorted(lines), lines[::2] + lines[1::2]):
        got, findings = all_of(write(tmp_path, "all.nq", "\n".join(turned)))

        assert {one.uri: one.lines for one in got} == {
            tree["id"]: emitter.emit(tree).lines for tree in trees
        }
        assert len(got) == 2
        assert findings == []


GRAPHS = [
    ("one.nt", f'<{ITEM}> {LABEL} "x" .\n<{ITEM}> {LABEL} "y" .\n'),
    ("one.ttl", f'@prefix r: <http://www.w3.org/2000/01/rdf-schema#> . <{ITEM}> r:label "y", "x" .'),
    ("one.trig", f'<{ITEM}> {LABEL} "x", "y" .'),
    ("one.rdf",
     '<r:RDF xmlns:r="http://www.w3.org/1999/02/22-rdf-syntax-ns#" '
     'xmlns:s="http://www.w3.org/2000/01/rdf-schema#">'
     f'<r:Description r:about="{ITEM}"><s:label>x</s:label><s:label>y</s:label></r:Description>'
     "</r:RDF>"),
    ("one.nq", f'<{ITEM}> {LABEL} "y" .\n<{ITEM}> {LABEL} "x" .\n'),
]  # fmt: skip


@pytest.mark.parametrize(("name", "text"), GRAPHS, ids=[row[0] for row in GRAPHS])
def test_formats(tmp_path: Path, name: str, text: str) -> None:
    (got,), findings = all_of(write(tmp_path, name, text))

    assert got == Emitted(name, [f'<{ITEM}> {LABEL} "x" .', f'<{ITEM}> {LABEL} "y" .'], {ITEM: ""})
    assert findings == []


def test_named_graphs_come_before_triples_without_graph(tmp_path: Path) -> None:
    text = f'<{ITEM}> {LABEL} "x" . <{BASE}b> {{ <{ITEM}> {LABEL} [ ] }} <{BASE}a> {{ <{ITEM}> {LABEL} [ ] }}'
    path = write(tmp_path, "all.trig", text)
    got, _ = all_of(path)

    assert [one.uri for one in got] == [f"{BASE}a", f"{BASE}b", "all.trig"]
    assert got[0].lines == got[1].lines == [f"<{ITEM}> {LABEL} _:b0 ."]
    assert all_of(path)[0] == got  # labels that a parser makes up are random; ours are not


def with_context(**keys: Any) -> str:
    return json.dumps({"@context": CONTEXT_URL, **VEY, **keys})


FAULTY = [
    # file, text; findings (code, message, line, JSON Pointer), documents that are still read
    ("a.json", with_context(birth=1),
     [("dropped-key", "`birth` is not a key in Person", 0, "/birth")], 1),
    ("a.json", with_context(born={"type": "Birth", "_lable": "x", "a/b": 1}),
     [("dropped-key", "`_lable` is not a key in Birth", 0, "/born/_lable"),
      ("dropped-key", "`a/b` is not a key in Birth", 0, "/born/a~1b")], 1),
    ("a.json", with_context(part_of=[]),
     [("dropped-key", "`part_of` is not a key in Person", 0, "/part_of")], 1),
    ("a.json", with_context(born={"type": "Brith"}),
     [("term", "`Brith` is not a Linked Art class", 0, "/born/type")], 1),
    ("a.json", with_context(attributed_by=[
        {"type": "AttributeAssignment", "assigned_property": "student_of"}]),
     [("term", "`student_of` is not a property that can be assigned", 0,
       "/attributed_by/0/assigned_property")], 1),
    ("a.json", with_context(equivalent=[{"id": "vey-2", "type": "Person"}]),
     [("iri", "`vey-2` is not an absolute IRI: it does not begin with a scheme such as `https:`", 0,
       "/equivalent/0/id")], 1),
    ("a.jsonl", document_bytes(ALBUM).decode() + "\n" + with_context(birth=1),
     [("dropped-key", "`birth` is not a key in Person", 2, "/birth")], 2),
    ("a.json", "[" + with_context() + "," + with_context(birth=1) + ",7]",
     [("dropped-key", "`birth` is not a key in Person", 0, "/1/birth"),
      ("unreadable", "not a JSON object", 0, "/2")], 2),
    ("a.json", '{"@context": {"name": "https://schema.org/name"}, "@id": "https://c.example/1",'
               '"name": "x", "titel": "lost"}',
     [("dropped-key", "`titel` is not a key of the context", 0, "")], 1),
    ("a.json", '{"@context": {"name": "https://schema.org/name", "note": null},'
               '"@id": "https://c.example/1", "name": "x", "note": "said to be dropped"}', [], 1),
    ("a.json", '{"@context": "https://elsewhere.example.org/c.json", "id": "https://c.example/1"}',
     [("context", "the context `https://elsewhere.example.org/c.json` is not one that we have, "
                  "and none is fetched", 0, "")], 0),
    ("a.json", '{"id": "https://c.example/1", "_label": "x"}',
     [("dropped-key", "`_label` is not a key of the context", 0, ""),
      ("dropped-key", "`id` is not a key of the context", 0, ""),
      ("context", "nothing of the document is linked data", 0, "")], 0),
    ("a.json", '{"@context": {"a": {"@id": 5}}, "@id": "https://c.example/1"}',
     [("unreadable", "not JSON-LD: Invalid JSON-LD syntax; @context @id value must be a string",
       0, "")], 0),
    ("a.json", '{"id":\n nope}',
     [("unreadable", "not JSON: invalid literal, expected 'null'", 2, "")], 0),
    ("a.jsonl", "nope\n" + document_bytes(VEY).decode() + "\n{\n",
     [("unreadable", "not JSON: invalid literal, expected 'null'", 1, ""),
      ("unreadable", "not JSON: unexpected end of data", 3, "")], 1),
    ("a.nq", f'<{ITEM}> {LABEL} "x" <{ITEM}> .\nnope\n<{ITEM}> {LABEL} "y" <{ITEM}> .\n',
     [("unreadable", "The subject of a triple must be an IRI or a blank node", 2, "")], 1),
    ("a.nq", f'<{ITEM}> {LABEL} "x" <{ITEM}> .\n<{ITEM} 2> {LABEL} "y" <{ITEM}> .\n',
     [("unreadable", "Invalid IRI code point ' '", 2, "")], 1),
    ("a.ttl", f'<{ITEM}> {LABEL} "x" .\n<relative> {LABEL} "y" .\n',
     [("unreadable", "No scheme found in an absolute IRI", 2, "")], 0),
    ("a.rdf", '<!DOCTYPE r [<!ENTITY a "ha">]><r/>',
     [("unreadable", "the XML declares entities, which are not resolved", 0, "")], 0),
]  # fmt: skip


@pytest.mark.parametrize(("name", "text", "expected", "documents"), FAULTY)
def test_faults_are_findings(
    tmp_path: Path, name: str, text: str, expected: list[tuple[str, str, int, str]], documents: int
) -> None:
    got, findings = all_of(write(tmp_path, name, text), "export/a")
    said = [
        (one.code, one.message, one.place.line, one.place.column) for one in findings if one.place
    ]

    assert said == expected
    assert {one.place.file for one in findings if one.place} <= {"export/a"}
    assert len(got) == documents


def test_a_broken_line_costs_itself(tmp_path: Path) -> None:
    lines = [f'<{ITEM}> {LABEL} "x" <{ITEM}> .', f'<{ITEM}> {LABEL} "y" <{ITEM}> .']
    (got,), _ = all_of(write(tmp_path, "a.nq", "\nnope\n".join(lines)))

    assert got.lines == [f'<{ITEM}> {LABEL} "x" .', f'<{ITEM}> {LABEL} "y" .']


def test_an_entity_over_a_border_of_the_buffer(tmp_path: Path) -> None:
    # the parser asks for pieces of a size of its own; the word is cut at each likely one
    for border in (1024, 2048, 4096, 8192, 16384, 65536):
        for cut in range(1, 8):
            start = "<?xml version='1.0'?><!DOCTYPE r ["
            filled = start + " " * (border - cut - len(start))
            text = filled + '<!ENTITY a "ha">]><r/>'
            got, findings = all_of(write(tmp_path, "a.rdf", text))

            assert [one.message for one in findings] == [
                "the XML declares entities, which are not resolved"
            ]
            assert got == []


def test_a_key_of_json_only_is_no_loss(tmp_path: Path) -> None:
    path = write(tmp_path, "a.json", document_bytes({**ALBUM, "_complete": False}))
    (got,), findings = all_of(path)

    assert got.lines == Emitter(BASE, concepts()).emit(ALBUM).lines
    assert findings == []


BROKEN = [
    ("a.nq.gz", b"nope"),
    ("a.nq.gz", gzip.compress(f'<{ITEM}> {LABEL} "x" .\n'.encode() * 99, mtime=0)[:-20]),
    ("a.jsonl.gz", gzip.compress(b"{}\n" * 99, mtime=0)[:14] + b"\xff" * 40),
    ("a.nt.zst", b"nope"),
    ("a.nt.zst", zstandard.compress(f'<{ITEM}> {LABEL} "x" .\n'.encode() * 99)[:-9]),
    ("a.jsonl.zst", b"nope"),
]


@pytest.mark.parametrize(("name", "content"), BROKEN)
def test_a_file_that_cannot_be_unpacked(tmp_path: Path, name: str, content: bytes) -> None:
    path = write(tmp_path, name, content)
    with pytest.raises(UsageError) as caught:
        all_of(path)

    assert caught.value.message.startswith(f"`{name}` cannot be read: ")


def test_found(tmp_path: Path) -> None:
    (tmp_path / "b").mkdir()
    names = ["b/2.nq.zst", "a.JSON", "c.jsonl.gz"]
    for name in [*names, "readme.txt", "b/page.html", "noending"]:
        write(tmp_path, name, "")

    assert [str(path.relative_to(tmp_path)) for path in found(tmp_path)] == sorted(names)
    assert found(tmp_path / "a.JSON") == [tmp_path / "a.JSON"]


@pytest.mark.parametrize("name", ["readme.txt", "nowhere.nq", "b"])
def test_nothing_found(tmp_path: Path, name: str) -> None:
    (tmp_path / "b").mkdir()
    write(tmp_path, "readme.txt", "")
    with pytest.raises(UsageError) as caught:
        found(tmp_path / name)

    assert caught.value.message == f"`{name}` has no linked data that we read"
    assert caught.value.hint == (
        "endings: .json, .jsonld, .jsonl, .ndjson, .nt, .nq, .ttl, .trig, .rdf, .owl, .xml, "
        "each also with .gz or .zst"
    )
