"""Looking terms up in the tables of `mappings/vocab`: exactly, never guessed."""

from collections.abc import Callable
from dataclasses import dataclass
from hashlib import blake2b

from lodpipe.errors import IriError, TermError, nearest
from lodpipe.iris import check_iri
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.language import LOOKUP_KEYS
from lodpipe.mapping.spaces import Ref, Run, Scope, Space
from lodpipe.mapping.yaml_nodes import Node
from lodpipe.nodes import Nodes
from lodpipe.records import Input, Tree
from lodpipe.terms import Table

Line = dict[str, str]


@dataclass(slots=True)
class Lookup:
    """One `lookup` of a mapping: a table, the field that is looked up, the column asked for."""

    table: Table
    ref: Ref
    column: str
    nodes: Nodes
    note: Callable[[Run, Scope, str], None]
    _get: Callable[[Scope], str]
    _makers: dict[int, Callable[[], Tree | None]]
    _known: dict[str, tuple[tuple[Line, ...], Input]]

    def lines(self, scope: Scope, run: Run) -> tuple[Line, ...]:
        """Return the lines of the term at hand; a term that the table lacks is a finding."""
        text = self._get(scope)
        if not text:
            return ()
        known = self._known.get(text)
        if known is None:
            lines = self.table.get(text)
            known = (lines, Input("term", f"{self.table.name}:{text}", _hash(lines)))
            if lines:
                self._known[text] = known
        if known[0]:
            run.inputs[self.table.name, text] = known[1]
            return known[0]
        place = self.ref.scope()(scope)
        run.tell(
            place,
            self.ref.field.column_in(place),
            "term",
            f"the table `{self.table.name}` does not have `{text}`",
            text,
            nearest(text, self.table.lines)
            or f"add a line to mappings/vocab/{self.table.name}.csv",
        )
        return ()

    def texts(self, scope: Scope, run: Run) -> list[str]:
        """Return what the column says, line by line."""
        return [line.get(self.column, "") for line in self.lines(scope, run)]

    def concepts(self, scope: Scope, run: Run) -> list[Tree]:
        """Return a node for each line that names a concept."""
        found = []
        for line in self.lines(scope, run):
            maker = self._makers.get(id(line))
            if maker is None:
                maker = self._makers[id(line)] = concept_of(line, self.nodes)
            node = maker()
            if node is not None:
                found.append(node)
        return found


def _hash(lines: tuple[Line, ...]) -> str:
    text = "\n".join("\t".join(f"{k}={v}" for k, v in line.items()) for line in lines)
    return blake2b(text.encode(), digest_size=16).hexdigest()


def compile_lookup(node: Node, space: Space, compiler: Compiler) -> Lookup | None:
    """Return a lookup, its table and field found; None after a fault."""
    if not compiler.known_keys(node, LOOKUP_KEYS, "a lookup"):
        return None
    table = compiler.table(node.value["lookup"])
    source = node.get("from")
    if source is None:
        compiler.faults.add(node, "the lookup does not say of what", "write `from:` and a field")
        return None
    name = compiler.text(source, "`from`")
    ref = compiler.resolve(name, space, (source.line, source.column)) if name else None
    if table is None or ref is None:
        return None
    if ref.is_list:
        compiler.faults.add(
            source, f"`{name}` is a list", f"write `each: {name}`, and look up its elements"
        )
        return None
    column = compiler.text(node.get("column"), "`column`")
    if column and column not in table.columns:
        compiler.faults.add(
            node.value["column"],
            f"the table `{table.name}` has no column `{column}`",
            nearest(column, table.columns) or "it has " + ", ".join(table.columns),
        )
        return None
    lookup = Lookup(table, ref, column, compiler.nodes, ref.note(), ref.text(), {}, {})
    if not column and not _names_concepts(table, compiler, node):
        return None
    return lookup


def _names_concepts(table: Table, compiler: Compiler, node: Node) -> bool:
    """A table that gives concepts has `iri` and `label`, or `concept`; every line is tried now."""
    if "concept" not in table.columns and not {"iri", "label"} <= set(table.columns):
        compiler.faults.add(
            node,
            f"the table `{table.name}` names no concepts",
            "give it the columns `iri` and `label`, or ask for a `column`",
        )
        return False
    good = True
    for lines in table.lines.values():
        for line in lines:
            try:
                concept_of(line, compiler.nodes)()
            except (TermError, IriError) as error:
                compiler.faults.add(
                    node,
                    f"{error.message} (table `{table.name}`, term `{next(iter(line.values()))}`)",
                    error.hint,
                )
                good = False
    return good


def concept_of(line: Line, nodes: Nodes) -> Callable[[], Tree | None]:
    """Return what makes the concept of a line: by `concept` (a term of ours), or by `iri`.

    A line without either gives nothing: the term is known, and means no concept. `meta` names a
    term of ours that the concept is classified as, `equivalent` an IRI of another authority.
    """
    term = line.get("concept", "")
    if term:
        return lambda: nodes.term(term)
    iri, label = line.get("iri", ""), line.get("label", "")
    if not iri:
        return lambda: None
    absolute = check_iri(nodes.absolute(iri))
    kind, meta, equivalent = (
        line.get("type") or "Type",
        line.get("meta", ""),
        line.get("equivalent"),
    )
    if meta:
        nodes.concepts.get(meta)

    def make() -> Tree:
        node: Tree = {"id": absolute, "type": kind}
        if label:
            node["_label"] = label
        if meta:
            node["classified_as"] = [nodes.term(meta)]
        if equivalent:
            node["equivalent"] = [{"id": equivalent, "type": kind}]
        return node

    return make
