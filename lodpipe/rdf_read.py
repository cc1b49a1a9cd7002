"""Reads linked data back, ours or anybody's: one file to the triples of each document in it.

JSON-LD goes through PyLD with contexts from memory only, N-Triples, N-Quads, Turtle, TriG and
RDF/XML through pyoxigraph, each also as `.gz` or `.zst`. What one document or line breaks costs
that document or line, with a finding.

JSON-LD drops what its context does not know, without a word. So every document that names the
Linked Art context is also walked by our table of keys: a key, a class or an IRI that would be
lost is a finding with its JSON Pointer.
"""

import gzip
import io
import re
import zlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import IO, Any, cast

import orjson
import pyoxigraph as ox
import zstandard
from pyld import jsonld

from lodpipe.errors import LodpipeError, UsageError, ValueFault
from lodpipe.findings import Finding, Report
from lodpipe.iris import check_iri
from lodpipe.rdf import CONTEXT_URL, Emitted, assigned_iri, class_iri, loader
from lodpipe.rdf.context import properties, unknown_key
from lodpipe.records import Place, nesting_of

FORMATS: dict[str, ox.RdfFormat] = {
    ".nt": ox.RdfFormat.N_TRIPLES,
    ".nq": ox.RdfFormat.N_QUADS,
    ".ttl": ox.RdfFormat.TURTLE,
    ".trig": ox.RdfFormat.TRIG,
    ".rdf": ox.RdfFormat.RDF_XML,
    ".owl": ox.RdfFormat.RDF_XML,
    ".xml": ox.RdfFormat.RDF_XML,
}
"""Endings that pyoxigraph reads."""

MOST_NESTED = 128
_STUMBLES = (ValueError, TypeError, KeyError, AttributeError, RecursionError)
JSON_ENDINGS = (".json", ".jsonld")
LINE_ENDINGS = (".jsonl", ".ndjson")
_PACKED = (".gz", ".zst")
_LINE_FORMATS = (ox.RdfFormat.N_TRIPLES, ox.RdfFormat.N_QUADS)
_STAND_IN = "urn:x-lodpipe:node:"
_STOOD_IN = re.compile(f"<{_STAND_IN}([0-9]+)>")
_NO_NODES = ("@value", "@list", "@set", "@graph")


def found(path: Path) -> list[Path]:
    """Return the files that can be read at a path: itself, or all in the folder below it, sorted.

    Raises:
        UsageError: nothing there that we read.
    """
    if path.is_dir():
        files = sorted(file for file in path.rglob("*") if file.is_file() and ending(file))
        if files:
            return files
    elif path.is_file() and ending(path):
        return [path]
    endings = ", ".join((*JSON_ENDINGS, *LINE_ENDINGS, *FORMATS))
    raise UsageError(
        f"`{path.name}` has no linked data that we read",
        hint=f"endings: {endings}, each also with .gz or .zst",
    )


def read(path: Path, name: str, report: Report) -> Iterator[Emitted]:
    """Yield the triples of each document or graph of a file.

    Args:
        path: a file that `found` gives.
        name: what findings call it.

    Yields:
        One `Emitted` a JSON document or named graph; triples without graph come last, under the
        name of the file. Blank nodes have labels in their order; `nodes` leads to JSON Pointers
        in Linked Art JSON, to "" elsewhere.

    Raises:
        UsageError: the file cannot be opened or unpacked.
    """
    form = ending(path)
    try:
        with opened(path) as stream:
            if form in FORMATS:
                yield from _graphs(path, stream, FORMATS[form], name, report)
            elif form in LINE_ENDINGS:
                for number, line in enumerate(stream, start=1):
                    if line.strip():
                        yield from _json(line, Place(name, number), report)
            else:
                yield from _json(stream.read(), Place(name), report)
    except (OSError, EOFError, zlib.error, zstandard.ZstdError) as error:
        raise UsageError(
            f"`{name}` cannot be read: {error}",
            hint="look whether it is there, may be read, and was copied whole",
        ) from None


def ending(path: Path) -> str:
    """Return the ending of a file that we read, without what says that it is packed; else nothing."""
    name = path.name.lower()
    for packed in _PACKED:
        name = name.removesuffix(packed)
    suffix = Path(name).suffix
    return suffix if suffix in FORMATS or suffix in (*JSON_ENDINGS, *LINE_ENDINGS) else ""


def opened(path: Path) -> IO[bytes]:
    """Open a file, unpacked where its ending says that it is packed."""
    if path.suffix.lower() == ".gz":
        return cast(IO[bytes], gzip.open(path))
    if path.suffix.lower() == ".zst":
        return cast(IO[bytes], io.BufferedReader(_Frames(path.open("rb"))))
    return path.open("rb")


class _Frames(io.RawIOBase):
    """All frames of a zstd file; unlike the library's reader it notices that the end is missing."""

    def __init__(self, packed: IO[bytes]) -> None:
        self._packed = packed
        self._frame = zstandard.ZstdDecompressor().decompressobj()
        self._begun = False
        self._plain = b""

    def readable(self) -> bool:
        """Return True: this is what BufferedReader asks first."""
        return True

    def readinto(self, buffer: Any) -> int:
        """Fill a buffer with plain bytes; 0 at the end."""
        rest = b""
        while not self._plain:
            if self._frame.eof:
                rest = self._frame.unused_data
                self._frame = zstandard.ZstdDecompressor().decompressobj()
                self._begun = False
            packed = rest or self._packed.read(io.DEFAULT_BUFFER_SIZE)
            if not packed:
                if self._begun:
                    raise EOFError("the last frame has no end")
                return 0
            self._begun = True
            self._plain = self._frame.decompress(packed)
        size = min(len(buffer), len(self._plain))
        buffer[:size], self._plain = self._plain[:size], self._plain[size:]
        return size

    def close(self) -> None:
        """Close the file below."""
        self._packed.close()
        super().close()


def _graphs(
    path: Path, stream: IO[bytes], form: ox.RdfFormat, name: str, report: Report
) -> Iterator[Emitted]:
    if form == ox.RdfFormat.N_QUADS and _in_one_piece(path):
        yield from _runs(_quads(stream, form, name, report), name)
        return
    graphs: dict[str, list[ox.Quad]] = defaultdict(list)
    faults: list[Finding] = []
    for quad in _quads(stream, form, name, faults.append):
        graphs[_graph(quad)].append(quad)
    for fault in faults:
        report(fault)
    if faults and form not in _LINE_FORMATS:
        return  # half a graph would be found wanting for what stands in the other half
    for graph in sorted(graphs, key=lambda graph: (not graph, graph)):
        yield _emitted(graph or name, graphs[graph])


def _in_one_piece(path: Path) -> bool:
    """Return whether each graph of an N-Quads file stands together, so that it can be streamed."""
    seen: set[str] = set()
    last = None
    with opened(path) as stream:
        for line in stream:
            cut = line.rstrip().removesuffix(b".").rstrip()
            graph = cut[cut.rfind(b" ") :] if cut.endswith(b">") else b""
            if cut and not cut.startswith(b"#") and graph != last:
                last = graph
                text = graph.decode("utf-8", "replace")
                if text in seen:
                    return False
                seen.add(text)
    return True


def _runs(quads: Iterable[ox.Quad], name: str) -> Iterator[Emitted]:
    last, run = "", list[ox.Quad]()
    for quad in quads:
        graph = _graph(quad)
        if run and graph != last:
            yield _emitted(last or name, run)
            run = []
        last = graph
        run.append(quad)
    if run:
        yield _emitted(last or name, run)


def _quads(stream: IO[bytes], form: ox.RdfFormat, name: str, report: Report) -> Iterator[ox.Quad]:
    """Yield quads; a broken line is a finding; where lines hang together it is also the end."""
    source = _Watched(stream) if form == ox.RdfFormat.RDF_XML else stream
    parser = iter(ox.parse(cast(IO[bytes], source), format=form))
    while True:
        try:
            quad = next(parser, None)
        except SyntaxError as error:
            reason = re.sub(r"^Parser error .*?: | \(line \d+\)$", "", str(error.msg or error))
            report(Finding("unreadable", reason, Place(name, error.lineno or 0)))
            if form not in _LINE_FORMATS:
                return
            continue
        except ValueFault as error:
            report(Finding("unreadable", error.message, Place(name), hint=error.hint))
            return
        if quad is None:
            return
        yield quad


class _Watched:
    """A stream of RDF/XML that ends where entities are declared: a few lines can mean gigabytes."""

    def __init__(self, stream: IO[bytes]) -> None:
        self._stream = stream
        self._tail = b""

    def read(self, size: int = -1) -> bytes:
        """Return the next bytes, or raise a ValueFault."""
        chunk = self._stream.read(size)
        if b"<!ENTITY" in self._tail + chunk:
            raise ValueFault(
                "the XML declares entities, which are not resolved",
                hint="write the text itself in their place",
            )
        self._tail = (self._tail + chunk)[-7:]
        return chunk


def _graph(quad: ox.Quad) -> str:
    return "" if isinstance(quad.graph_name, ox.DefaultGraph) else quad.graph_name.value


def _emitted(uri: str, quads: Iterable[ox.Quad]) -> Emitted:
    """Return the triples of a graph; random labels of blank nodes become numbers in their order."""
    labels: dict[str, str] = {}

    def text(term: ox.NamedNode | ox.BlankNode | ox.Literal | ox.Triple) -> str:
        if isinstance(term, ox.BlankNode):
            return labels.setdefault(term.value, f"_:b{len(labels)}")
        if isinstance(term, ox.Triple):
            return f"<<( {text(term.subject)} {term.predicate} {text(term.object)} )>>"
        return str(term)

    lines = {f"{text(q.subject)} {q.predicate} {text(q.object)} ." for q in quads}
    subjects = {line.split(" ", 1)[0] for line in lines}
    nodes = {subject.strip("<>"): "" for subject in sorted(subjects)}
    return Emitted(uri, sorted(lines), nodes)


def _json(text: bytes, place: Place, report: Report) -> Iterator[Emitted]:
    try:
        value = orjson.loads(text)
    except orjson.JSONDecodeError as error:
        line = place.line or error.lineno
        report(Finding("unreadable", f"not JSON: {error.msg}", Place(place.file, line)))
        return
    if nesting_of(value) > MOST_NESTED:
        report(Finding("unreadable", f"the document is nested deeper than {MOST_NESTED}", place))
        return
    several = isinstance(value, list)
    for number, document in enumerate(value if several else [value]):
        here = place.at(f"/{number}") if several else place
        if isinstance(document, dict):
            emitted = _document(document, here, report)
            if emitted is not None:
                yield emitted
        else:
            report(Finding("unreadable", "not a JSON object", here))


def _document(document: dict[str, Any], place: Place, report: Report) -> Emitted | None:
    """Return the triples of a JSON-LD document, or None with a finding."""
    own = document.get("id", document.get("@id"))
    uri = own if isinstance(own, str) else str(place)
    linked_art = document.get("@context") == CONTEXT_URL
    pointers: dict[str, str] = {}
    blank: list[str] = []
    if linked_art:
        for code, fault, pointer in _lost(document, ""):
            here = place.at(place.column + pointer)
            report(Finding(code, fault.message, here, hint=fault.hint, uri=uri, path=pointer))
        document = _labelled(document, "", pointers, blank)
    dropped: set[str] = set()
    processor = jsonld.JsonLdProcessor(on_property_dropped=lambda key: dropped.add(str(key)))
    options = {"documentLoader": loader(), "base": ""}
    try:
        expanded = processor.expand(document, options)
        quads: str = jsonld.to_rdf(expanded, {**options, "format": "application/n-quads"})
    except jsonld.JsonLdError as error:
        report(_refusal(error, place, uri))
        return None
    except _STUMBLES as error:  # of PyLD, where a context is no context
        report(Finding("context", f"not JSON-LD: {error}", place, uri=uri))
        return None
    if not linked_art:
        for key in sorted(dropped - {"None"}):
            message = f"`{key}` is not a key of the context"
            report(Finding("dropped-key", message, place, uri=uri, value=key))
    lines = sorted({_STOOD_IN.sub(r"_:b\1", line) for line in quads.splitlines()})
    if not lines:
        report(Finding("context", "nothing of the document is linked data", place, uri=uri))
        return None
    pointers.update((f"_:b{number}", pointer) for number, pointer in enumerate(blank))
    return Emitted(uri, lines, pointers)


def _labelled(node: Any, pointer: str, pointers: dict[str, str], blank: list[str]) -> Any:
    """Copy a tree and name its nodes without `id`, so that each blank node leads to its place.

    Args:
        pointers: filled with the places of nodes that have an `id`; `blank` with the others.
    """
    if isinstance(node, list):
        return [
            _labelled(item, f"{pointer}/{number}", pointers, blank)
            for number, item in enumerate(node)
        ]
    if not isinstance(node, dict) or any(key in node for key in _NO_NODES):
        return node
    own = node.get("id", node.get("@id"))
    named = {}
    if isinstance(own, str):
        pointers.setdefault(own, pointer)
    else:
        named["id"] = f"{_STAND_IN}{len(blank)}"
        blank.append(pointer)
    return named | {
        key: item if key == "@context" else _labelled(item, _below(pointer, key), pointers, blank)
        for key, item in node.items()
    }


def _lost(node: dict[str, Any], pointer: str) -> Iterator[tuple[str, LodpipeError, str]]:
    """Yield what JSON-LD would lose or misread in a node and below: code, error, JSON Pointer."""
    kinds = node.get("type", "")
    names = [str(kind) for kind in (kinds if isinstance(kinds, list) else [kinds]) if kind]
    known = set().union(*(properties(name) for name in names or [""]))
    for name in names:
        yield from _fault("term", class_iri, name, _below(pointer, "type"))
    for key, value in node.items():
        here = _below(pointer, key)
        if key == "id":
            yield from _fault("iri", check_iri, str(value), here)
        elif key == "assigned_property":
            yield from _fault("term", _assignable, str(value), here)
        elif key != "type" and key not in known and not (":" in key or key.startswith("@")):
            yield "dropped-key", unknown_key(" and ".join(names), key), here
        for number, item in enumerate(value if isinstance(value, list) else [value]):
            if isinstance(item, dict):
                yield from _lost(item, _below(here, str(number)) if item is not value else here)


def _fault(
    code: str, look: Callable[[str], object], text: str, pointer: str
) -> Iterator[tuple[str, LodpipeError, str]]:
    try:
        look(text)
    except ValueFault as error:
        yield code, error, pointer


def _assignable(word: str) -> str:
    return assigned_iri("", word)


def _refusal(error: jsonld.JsonLdError, place: Place, uri: str) -> Finding:
    cause: BaseException | None = error
    while cause is not None:
        if isinstance(cause, LodpipeError):
            return Finding("context", cause.message, place, hint=cause.hint, uri=uri)
        cause = getattr(cause, "cause", None) or cause.__cause__
    reason = str(error.args[0]) if error.args else str(error)
    return Finding("unreadable", f"not JSON-LD: {reason.rstrip('.')}", place, uri=uri)


def _below(pointer: str, key: str) -> str:
    """Return the JSON Pointer of a key: https://www.rfc-editor.org/rfc/rfc6901#section-3."""
    return f"{pointer}/{key.replace('~', '~0').replace('/', '~1')}"
