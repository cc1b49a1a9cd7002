"""Reading a mapping file: its parts in their order, and all its faults together."""

from collections.abc import Callable
from hashlib import blake2b
from pathlib import Path

from lodpipe.dates import Policy
from lodpipe.errors import UsageError
from lodpipe.mapping import language
from lodpipe.mapping.claims import MakeClaims, MakeRows, compile_claim, compile_layout
from lodpipe.mapping.compile import Document, Mapping, Reads
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.fields import Fields
from lodpipe.mapping.nested import is_nested
from lodpipe.mapping.spaces import Ref, Space
from lodpipe.mapping.specs import Source, empty_words
from lodpipe.mapping.template import Templates
from lodpipe.mapping.uris import compile_uri
from lodpipe.mapping.when import compile_when
from lodpipe.mapping.yaml_nodes import Faults, Node, read_yaml
from lodpipe.nodes import Nodes
from lodpipe.project import Limits
from lodpipe.terms import Table

MOST_BYTES = 1_000_000
"""Size of a mapping file."""


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
    return loads(
        _text(path, name),
        name,
        nodes=nodes,
        tables=tables,
        policy=policy,
        circa_years=circa_years,
        limits=limits,
    )


def _text(path: Path, name: str) -> str:
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise UsageError(
            f"the mapping `{name}` cannot be read: {error.strerror}",
            hint="look whether it is there and may be read",
        ) from error
    if len(raw) > MOST_BYTES:
        raise UsageError(
            f"the mapping `{name}` has more than {MOST_BYTES:,} bytes",
            hint="look whether it is the right file",
        )
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UsageError(
            f"the mapping `{name}` is not UTF-8: byte {error.start + 1}", hint="save it as UTF-8"
        ) from error


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
            [c for c in map(self._claim, self._items("claims")) if c is not None],
            [r for r in map(self._row, self._items("layout")) if r is not None],
        )
        if not any(section in root.value for section in ("makes", "claims", "layout")):
            compiler.faults.add(root, "the mapping makes nothing", "write `makes:`")
        self.fields.finish()
        if not compiler.faults.errors:
            compiler.used_up(self.space)
        compiler.faults.stop()
        assert key is not None
        return Mapping(compiler, self.fields, self.space, reads, key, parts, dropped, digest)

    def _claim(self, node: Node) -> MakeClaims | None:
        return compile_claim(node, self.space, self.compiler, self.templates)

    def _row(self, node: Node) -> MakeRows | None:
        return compile_layout(node, self.space, self.compiler, self.templates)

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

    def _dropped(self, root: Node) -> dict[Source, str]:
        reads = root.get("reads")
        node = reads.get("dropped") if reads is not None else None
        if node is None:
            return {}
        if not node.is_map:
            self.compiler.faults.add(node, "`dropped` takes places and the reason for each")
            return {}
        found = {}
        for path, reason in node.value.items():
            if not isinstance(reason.value, str) or not reason.value.strip():
                self.compiler.faults.add(
                    node, f"`{path}` is dropped without a reason", "say why", key=path
                )
            found[Source(path, node.keys[path])] = str(reason.value)
        return found

    def _document(self, node: Node) -> Document | None:
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
        refs: list[Ref] = []
        compiler.refs = refs
        uri = compile_uri(node.value["id"], space, compiler) if "id" in node.value else None
        taken = ("each", "when", "id")
        rest = {k: v for k, v in node.value.items() if k not in taken}
        if "_label" not in rest:
            compiler.faults.add(node, "the document has no `_label`", "what is it called?")
        body = Node(rest, node.line, node.column, node.keys)
        make = self.templates.document(body, space)
        if uri is None or make is None:
            return None
        return Document(elements, when, uri, make, tuple(refs))
