"""The way of one document: from source cells through the document to its triples and findings."""

from pathlib import Path

import orjson

from lodpipe.archive import Archive
from lodpipe.errors import UsageError, ValueFault, nearest
from lodpipe.findings import Finding, finding_of
from lodpipe.mapping import SourceContext
from lodpipe.parts import finished
from lodpipe.pipeline.results import Explained
from lodpipe.pipeline.workshop import open_workshop
from lodpipe.project import BUILTIN, Project, Source
from lodpipe.publish import nquads
from lodpipe.rdf import Emitter
from lodpipe.records import Draft, Record, Tree


def explain_document(project: Project, what: str) -> Explained:
    """Explain a document of the newest release.

    Args:
        what: its IRI, its path below base, or the last segment of that alone.

    Raises:
        UsageError: no release, no such document, or several.
    """
    shop = open_workshop(project)
    with Archive(project.archive) as archive:
        latest = archive.latest()
        if latest is None:
            raise UsageError("there is no release yet", hint="make one with `lodpipe run`")
        uri = _find(archive, project.site.base, what, latest.number)
        document = archive.document(uri, latest.number)
        stopped = dict(archive.stopped(latest.number))
        explained = Explained(uri, latest.number, "stopped" if uri in stopped else "published")
        explained.trace = archive.trace(uri)
        explained.inputs = archive.inputs(uri)
        explained.why = finished.why(project.archive.parent, uri)
        explained.findings = list(archive.findings(latest.number, uri))
        premises = nquads.premises_of(claim for _, claim in archive.claims(latest.number, uri))
    if document is not None:
        explained.document = _indented(orjson.loads(document.body))
        writer = nquads.Writer(project.site.base, shop.concepts, project.language)
        explained.triples = writer.quads(document.body, premises)
    return explained


def _find(archive: Archive, base: str, what: str, release: int) -> str:
    for uri in (what, base + what):
        if archive.document(uri, release):
            return uri
    found = archive.uris_ending(what, release)
    if len(found) == 1:
        return found[0]
    if found:
        paths = ", ".join(uri.removeprefix(base) for uri in found[:5])
        raise UsageError(f"`{what}` is the key of {len(found)} documents", hint=f"one of {paths}")
    stopped = [
        uri for uri, _ in archive.stopped(release) if uri.endswith("/" + what) or uri == what
    ]
    if stopped:
        return stopped[0]
    tombstone = archive.tombstone(what) or archive.tombstone(base + what)
    if tombstone:
        raise UsageError(
            f"`{what}` is {tombstone[1]} since release {tombstone[0]}",
            hint="`lodpipe compare` tells what became of it",
        )
    known = [uri.rpartition("/")[2] for uri in archive.uris(release)]
    raise UsageError(
        f"no document has the IRI or key `{what}`", hint=nearest(what.rpartition("/")[2], known)
    )


def explain_record(project: Project, file: Path, mapping: str, key: str) -> Explained:
    """Try a mapping on one record of a file, before any run.

    Args:
        file: the source file. `mapping`: as `lodpipe.toml` would name it, or a path.
        key: of the record; the first record when empty.

    Raises:
        UsageError: the file or the mapping cannot be used, or no record has the key.
    """
    shop = open_workshop(project)
    name = mapping
    if not mapping.startswith(BUILTIN) and not project.path(mapping).is_file():
        name = str(Path(mapping).resolve())
    own = [s for s in shop.sources() if (project.folder / s.file).resolve() == file.resolve()]
    source = own[0] if own else Source(file=str(file.resolve()), mapping=name)
    source = Source(
        **{**{n: getattr(source, n) for n in source.__struct_fields__}, "mapping": name}
    )
    findings: list[Finding] = []
    context = shop.context(source, findings.append)
    chosen = shop.mapping(name)
    seen: list[str] = []
    for item in shop.read(source, findings.append):
        if not isinstance(item, Record):
            continue
        found: list[Finding] = []
        mapped = chosen.map(item, context, found.append)
        if mapped is None or (key and mapped.key != key):
            seen.append(mapped.key if mapped else "")
            continue
        return _tried(shop.project, mapped.documents, [*findings, *found], context)
    raise UsageError(f"no record of `{file.name}` has the key `{key}`", hint=nearest(key, seen))


def _tried(
    project: Project, drafts: list[Draft], findings: list[Finding], context: SourceContext
) -> Explained:
    if not drafts:
        raise UsageError(
            "the mapping makes no document of this record",
            hint="look at the `when` of what it `makes`",
        )
    shop = open_workshop(project)
    emitter = Emitter(project.site.base, shop.concepts, language=project.language)
    explained = Explained(drafts[0].uri, 0, "tried", findings=findings)
    trees: list[Tree] = []
    for draft in drafts:
        explained.trace += draft.trace
        explained.inputs += [(i.kind, i.key, i.hash) for i in draft.inputs]
        trees.append(draft.tree)
        try:
            explained.triples += emitter.emit(_closed(draft.tree)).lines
        except ValueFault as fault:
            explained.findings.append(finding_of(fault, None, uri=draft.uri))
    explained.document = _indented(trees[0] if len(trees) == 1 else trees)
    return explained


def _closed(value: object) -> Tree:
    """A copy without open slots: labels of other documents are only known in a run."""

    def copy(node: object) -> object:
        if isinstance(node, dict):
            return {key: copy(item) for key, item in node.items() if item is not None}
        if isinstance(node, list):
            return [copy(item) for item in node]
        return node

    closed = copy(value)
    assert isinstance(closed, dict)
    return closed


def _indented(value: object) -> str:
    return orjson.dumps(value, option=orjson.OPT_INDENT_2).decode()
