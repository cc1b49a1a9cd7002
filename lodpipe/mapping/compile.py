"""A mapping file, compiled: from a record to the documents, claims and layout rows it makes."""

from collections.abc import Callable
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path
from typing import Any

from lodpipe.dates import Policy
from lodpipe.errors import UsageError
from lodpipe.findings import Report
from lodpipe.mapping import language
from lodpipe.mapping.claims import MakeClaims, MakeRows, compile_claim, compile_layout
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.fields import Fields, Source, empty_words
from lodpipe.mapping.leaves import Leaves, Names, Seen
from lodpipe.mapping.lists import SpaceBinder
from lodpipe.mapping.nested import above, is_nested
from lodpipe.mapping.shapes import readings_of
from lodpipe.mapping.spaces import Ref, Run, Scope, SourceContext, Space, row_hash
from lodpipe.mapping.template import Templates
from lodpipe.mapping.texts import Make, Uri, compile_uri
from lodpipe.mapping.when import Condition, compile_when
from lodpipe.mapping.yaml_nodes import Faults, Node, read_yaml
from lodpipe.nodes import Nodes
from lodpipe.project import Limits
from lodpipe.records import Draft, Input, Mapped, Record
from lodpipe.terms import Table

MOST_BYTES = 1_000_000
"""Size of a mapping file."""


@dataclass(frozen=True, slots=True)
class Reads:
    """What reading must know: where records are, and columns that must hold text."""

    records: str = ""
    sheet: str = ""
    namespaces: dict[str, str] | None = None
    text_columns: frozenset[str] = frozenset()


@dataclass(slots=True)
class _Document:
    """One entry of `makes`, compiled."""

    elements: Callable[[Scope], Any] | None
    when: Condition | None
    uri: Uri
    make: Make


class Mapping:
    """One mapping, ready to map records of one source.

    Attributes:
        name: of the file, as messages show it. hash: changes when the file does.
        reads: what the reader of the source must know.
        joins: column of each joined file that its rows are looked up by; "" is the first one.
        has_claims: whether it makes claims, so that the source must say who speaks, and when.
    """

    def __init__(
        self,
        compiler: Compiler,
        fields: Fields,
        space: Space,
        reads: Reads,
        key: Ref,
        parts: tuple[list[_Document], list[MakeClaims], list[MakeRows]],
        dropped: list[Source],
        digest: str,
    ) -> None:
        self.name = compiler.name
        self.hash = digest
        self.reads = reads
        self.joins = dict(compiler.joins)
        self.has_claims = bool(parts[1])
        self._compiler = compiler
        self._fields = fields
        self._space = space
        self._key = key
        self._documents, self._claims, self._rows = parts
        self._dropped = dropped
        self._form = ""
        self._look: Callable[[Record], None] = lambda record: None
        self._leaves: Leaves | None = None
        self._mapping_input = Input("mapping", compiler.name, digest)
        self._get_key = key.text()
        self._looks_up = compiler.looks_up

    # --- one record -----------------------------------------------------------------------

    def map(self, record: Record, context: SourceContext, report: Report) -> Mapped | None:
        """Return what a record makes, or None when it has no usable key.

        Raises:
            ManyErrors: the mapping does not fit the source: a column that is not there.
        """
        if record.form != self._form:
            self._bind(record)
        run = Run(context, record.origin, report)
        outer = above(record, self._space) if self._looks_up else None
        scope = Scope(record.data, record.origin, outer, record.origin.column)
        self._space.read(run, scope)
        self._look(record)
        run.key = self._get_key(scope)
        if not run.key:
            field = self._key.field
            run.tell(
                scope,
                field.column_in(scope),
                "key",
                f"the record has no `{field.label}`",
                hint="give it a key, or say under `key` which field it has",
            )
            return None
        mapped = Mapped(run.key)
        for document in self._documents:
            self._document(document, scope, run, mapped)
        run.uri = mapped.documents[0].uri if mapped.documents else ""
        counts: dict[tuple[str, ...], int] = {}
        for claims in self._claims:
            claims(scope, run, counts, mapped.claims)
        for rows in self._rows:
            rows(scope, run, mapped.layout)
        self._inputs(record, run, mapped)
        return mapped

    def _document(self, document: _Document, scope: Scope, run: Run, mapped: Mapped) -> None:
        elements = (scope,) if document.elements is None else document.elements(scope)
        context = run.context
        for element in elements:
            if document.when is not None and not document.when(element):
                continue
            run.uri = ""
            run.trace = []
            uri = document.uri.make(element, run, "/id")
            if uri is None:
                run.tell(
                    element, "", "key", "a document has no `id`: a part of it is empty",
                    severity="warning",
                )  # fmt: skip
                continue
            run.uri = uri
            tree = {"id": uri, **document.make(element, run, "")}
            mapped.documents.append(
                Draft(uri, tree, run.trace, [], context.source, context.rank, run.key)
            )

    def _inputs(self, record: Record, run: Run, mapped: Mapped) -> None:
        source = run.context.source or record.origin.file
        row = Input("row", f"{source}#{run.key}", row_hash(record))
        inputs = [row, self._mapping_input, *run.inputs.values()]
        for draft in mapped.documents:
            draft.inputs = list(inputs)

    # --- one source -----------------------------------------------------------------------

    def _bind(self, record: Record) -> None:
        """Get ready for records of a form, at the first of them."""
        compiler = self._compiler
        binder = SpaceBinder(compiler, record.form, record.data)
        binder.space(self._space, self._fields.of)
        leaves = self._leaves = self._leaves_of(record.form)
        compiler.faults.stop()
        if record.form == "table":
            self._look = lambda r: leaves.row(r.data, r.origin)
        elif record.form == "json":
            self._look = lambda r: leaves.value(r.data, r.origin)
        else:
            names = Names(compiler.namespaces)
            nested = is_nested(self.reads.records)
            self._look = lambda r: leaves.element(r.data, names, r.origin, nested=nested)
        self._form = record.form

    def _leaves_of(self, form: str) -> Leaves:
        return Leaves(*readings_of(self._fields, self._space, self._dropped, form, self._compiler))

    def seen(self) -> tuple[str, int, Seen]:
        """Return what this process met, to be handed to another one's `absorb`."""
        if self._leaves is None:
            return "", 0, []
        return self._form, self._leaves.records, self._leaves.seen()

    def absorb(self, seen: tuple[str, int, Seen]) -> None:
        """Take over what another process met, before `leftover` is asked for."""
        form, records, paths = seen
        if not form:
            return
        if self._leaves is None:
            self._leaves = self._leaves_of(form)
            self._form = form
        self._leaves.absorb(paths, records)

    def leftover(self, report: Report) -> None:
        """Report, after the last record, what is neither mapped nor dropped (`unmapped`).

        Places that the mapping names and no record has are told too (`column`).
        """
        if self._leaves is not None:
            self._leaves.report(report, self._form, self.name)


def load(
    path: Path,
    name: str,
    *,
    nodes: Nodes,
    tables: Callable[[str], Table],
    policy: Policy | None = None,
    circa_years: int = 5,
    limits: Limits | None = None,
) -> Mapping:
    """Read and compile a mapping.

    Args:
        path: the YAML file; `name` is what messages call it.
        nodes: makes the small nodes, below the base of the site.
        tables: gives a table of terms by its name, and raises a LodpipeError when there is none.
        policy: what ambiguous dates mean. circa_years: how far `~` reaches.
        limits: what one record may cost.

    Raises:
        UsageError: the file cannot be read.
        ManyErrors: every fault that it has, each with file, line and column.
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise UsageError(f"the mapping `{name}` cannot be read: {error.strerror}") from error
    if len(raw) > MOST_BYTES:
        raise UsageError(f"the mapping `{name}` has more than {MOST_BYTES:,} bytes")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UsageError(
            f"the mapping `{name}` is not UTF-8: byte {error.start + 1}", hint="save it as UTF-8"
        ) from error
    return loads(
        text,
        name,
        nodes=nodes,
        tables=tables,
        policy=policy,
        circa_years=circa_years,
        limits=limits,
    )


def loads(
    text: str,
    name: str,
    *,
    nodes: Nodes,
    tables: Callable[[str], Table],
    policy: Policy | None = None,
    circa_years: int = 5,
    limits: Limits | None = None,
) -> Mapping:
    """Compile the text of a mapping; see `load`.

    Raises:
        ManyErrors: every fault that it has, each with file, line and column.
    """
    faults = Faults(name)
    compiler = Compiler(
        name,
        faults,
        nodes=nodes,
        tables=tables,
        policy=policy or Policy(),
        circa_years=circa_years,
        limits=limits or Limits(),
    )
    root = read_yaml(text, faults)
    digest = blake2b(text.encode(), digest_size=16).hexdigest()
    return _Loader(compiler, root).mapping(digest)


class _Loader:
    """Compiles the parts of one file in their order; all faults are told together."""

    def __init__(self, compiler: Compiler, root: Node) -> None:
        self.compiler = compiler
        self.root = root
        self.space = Space("")
        self.space.outer = Space("", fields=self.space.fields)
        self.space.outer.outer = self.space.outer
        self.fields = Fields(compiler, frozenset({""}))
        self.fields.spaces.append(self.space)
        self.templates = Templates(compiler)

    def mapping(self, digest: str) -> Mapping:
        compiler, root = self.compiler, self.root
        if not root.is_map:
            compiler.faults.add(root, "a mapping has the keys `reads` and `makes`")
            compiler.faults.stop()
        compiler.known_keys(root, language.MAPPING, "a mapping")
        reads, key = self._reads(root.get("reads"))
        dropped = self._dropped(root)
        parts = (
            [d for d in map(self._document, self._items("makes")) if d is not None],
            [
                c
                for c in (
                    compile_claim(n, self.space, compiler, self.templates)
                    for n in self._items("claims")
                )
                if c is not None
            ],
            [
                r
                for r in (
                    compile_layout(n, self.space, compiler, self.templates)
                    for n in self._items("layout")
                )
                if r is not None
            ],
        )
        if not any(section in root.value for section in ("makes", "claims", "layout")):
            compiler.faults.add(root, "the mapping makes nothing", "write `makes:`")
        self.fields.finish()
        if not compiler.faults.errors:
            compiler.used_up(self.space)
        compiler.faults.stop()
        assert key is not None
        return Mapping(compiler, self.fields, self.space, reads, key, parts, dropped, digest)

    def _items(self, section: str) -> list[Node]:
        node = self.root.get(section)
        if node is None:
            return []
        if not node.is_list:
            self.compiler.faults.add(node, f"`{section}` takes a list", "begin each with `- `")
            return []
        items: list[Node] = node.value
        return items

    def _reads(self, node: Node | None) -> tuple[Reads, Ref | None]:
        compiler, root = self.compiler, self.root
        if node is None or not node.is_map:
            compiler.faults.add(node or root, "the mapping has no `reads`", "write `reads:`")
            compiler.faults.stop()
        assert node is not None
        compiler.known_keys(node, language.READS, "`reads`")
        spaces = node.get("namespaces")
        if spaces is not None and spaces.is_map:
            compiler.namespaces = {
                prefix: compiler.text(uri, "a namespace") for prefix, uri in spaces.value.items()
            }
        elif spaces is not None:
            compiler.faults.add(spaces, "`namespaces` takes prefixes and their URIs")
        records = node.get("records")
        path = records.value if records is not None and isinstance(records.value, str) else ""
        compiler.nested = is_nested(path) and not path.startswith("$")
        if "empty" in node.value:
            self.fields.empty = empty_words(node.value["empty"], compiler)
        self._lists_ahead()
        self.fields.declare_all(node.get("fields"), self.space)
        self._turn_into_lists()
        self.fields.settle()
        key = self._key(node)
        reads = Reads(
            compiler.text(node.get("records"), "`records`"),
            compiler.text(node.get("sheet"), "`sheet`"),
            dict(compiler.namespaces),
            self._text_columns(key),
        )
        return reads, key

    def _key(self, node: Node) -> Ref | None:
        written = node.get("key")
        if written is None:
            self.compiler.faults.add(
                node, "`reads` does not say which field is the `key`", "write `key:` and a field"
            )
            return None
        name = self.compiler.text(written, "`key`")
        ref = self.compiler.resolve(name, self.space, (written.line, written.column))
        if ref is not None and ref.is_list:
            self.compiler.faults.add(written, f"the key `{name}` is a list")
            return None
        return ref

    def _text_columns(self, key: Ref | None) -> frozenset[str]:
        """Columns that a spreadsheet must not have turned into numbers or dates."""
        columns: set[str] = set()
        for spec in self.fields.of(self.space):
            name = key.field.name if key is not None else ""
            if spec.field.kind == "date" or spec.field.name == name.partition(".")[0]:
                columns.update(source.path for source in spec.sources)
        return frozenset(columns)

    def _lists_ahead(self) -> None:
        """Find the names that some `each` goes over, before anything uses them."""
        self.looped: set[str] = set()
        stack = [self.root.get(s) for s in ("makes", "claims", "layout")]
        while stack:
            node = stack.pop()
            if node is None:
                continue
            if node.is_list:
                stack.extend(node.value)
            elif node.is_map:
                each = node.get("each")
                if each is not None and isinstance(each.value, str):
                    self.looped.add(each.value.lstrip("^"))
                stack.extend(node.value.values())

    def _turn_into_lists(self) -> None:
        for space in self.fields.spaces:
            for spec in self.fields.of(space):
                if spec.field.name in self.looped and not spec.cases:
                    self.fields.make_list(spec, space)

    def _dropped(self, root: Node) -> list[Source]:
        reads = root.get("reads")
        node = reads.get("dropped") if reads is not None else None
        if node is None:
            return []
        if not node.is_map:
            self.compiler.faults.add(node, "`dropped` takes places and the reason for each")
            return []
        found = []
        for path, reason in node.value.items():
            if not isinstance(reason.value, str) or not reason.value.strip():
                self.compiler.faults.add(
                    node, f"`{path}` is dropped without a reason", "say why", key=path
                )
            found.append(Source(path, node.keys[path]))
        return found

    def _document(self, node: Node) -> _Document | None:
        compiler, space = self.compiler, self.space
        if not node.is_map:
            compiler.faults.add(node, "a document is not a mapping", "begin with `id:`")
            return None
        elements = None
        if "each" in node.value:
            found = self.templates.elements(node.value["each"], space)
            if found is None:
                return None
            elements, space = found[0].value(), found[1]
        when = compile_when(node.value["when"], space, compiler) if "when" in node.value else None
        if "id" not in node.value:
            compiler.faults.add(node, "the document has no `id`", "write a path under base")
        uri = compile_uri(node.value["id"], space, compiler) if "id" in node.value else None
        taken = ("each", "when", "id")
        rest = {k: v for k, v in node.value.items() if k not in taken}
        if "_label" not in rest:
            compiler.faults.add(node, "the document has no `_label`", "what is it called?")
        body = Node(rest, node.line, node.column, node.keys)
        make = self.templates.document(body, space)
        if uri is None or make is None:
            return None
        return _Document(elements, when, uri, make)
