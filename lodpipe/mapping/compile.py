"""A mapping file, compiled: from a record to the documents, claims and layout rows it makes."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from lodpipe.errors import UsageError
from lodpipe.findings import Report
from lodpipe.mapping.claims import MakeClaims, MakeRows
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.fields import Fields
from lodpipe.mapping.leaves import Leaves, Met, Names
from lodpipe.mapping.lists import SpaceBinder
from lodpipe.mapping.nested import above, tags_inside
from lodpipe.mapping.repeated import Repeated, slots_of
from lodpipe.mapping.shapes import readings_of
from lodpipe.mapping.spaces import Ref, Run, Scope, SourceContext, Space, row_hash
from lodpipe.mapping.specs import Source
from lodpipe.mapping.texts import Make
from lodpipe.mapping.uris import Uri
from lodpipe.mapping.when import Condition
from lodpipe.records import Draft, Input, Mapped, Record, Tree

_POSITION = re.compile(r"\[[0-9]+\]")


@dataclass(frozen=True, slots=True)
class Reads:
    """What reading must know: where records are, and columns that must hold text."""

    records: str = ""
    sheet: str = ""
    namespaces: dict[str, str] | None = None
    text_columns: frozenset[str] = frozenset()


@dataclass(slots=True)
class Document:
    """One entry of `makes`, compiled."""

    elements: Callable[[Scope], Any] | None
    when: Condition | None
    uri: Uri
    make: Make
    refs: tuple[Ref, ...] = ()
    repeated: Repeated | None = None

    def tree(self, element: Scope, run: Run) -> Tree | None:
        """Return the tree of an element, its trace in `run.trace`; None when it cannot be named."""
        run.uri = ""
        run.trace = []
        run.refused = False
        uri = self.uri.make(element, run, "/id")
        if uri is None:
            if not run.refused:
                run.tell(
                    element, "", "key", "a document has no `id`: a part of it is empty",
                    severity="warning",
                )  # fmt: skip
            return None
        run.uri = uri
        return {"id": uri, **self.make(element, run, "")}

    def add(self, element: Scope, run: Run, mapped: Mapped) -> bool:
        """Add the document of an element; False when it cannot be named."""
        if self.repeated is not None:
            return self.repeated.add(element, run, mapped)
        tree, context = self.tree(element, run), run.context
        if tree is None:
            return False
        made = Draft(run.uri, tree, run.trace, [], context.source, context.rank, run.key)
        mapped.documents.append(made)
        return True


class Mapping:
    """One mapping, ready to map records of one source.

    Attributes:
        name: of the file, as messages show it. hash: changes when the file does.
        reads: what the reader of the source must know.
        joins: column of each joined file that its rows are looked up by; "" is the first one.
        has_claims: whether it makes claims, so that the source must say who speaks, and when.
        reasons: what is dropped -> why.
    """

    def __init__(
        self,
        compiler: Compiler,
        fields: Fields,
        space: Space,
        reads: Reads,
        key: Ref,
        parts: tuple[list[Document], list[MakeClaims], list[MakeRows]],
        dropped: dict[Source, str],
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
        self.reasons = {source.path: reason for source, reason in dropped.items()}
        self._dropped = list(dropped)
        self._form = ""
        self._inner: frozenset[str] = frozenset()
        self._look: Callable[[Record], None] = lambda record: None
        self._leaves: Leaves | None = None
        self._mapping_input = Input("mapping", compiler.name, digest)
        self._get_key = key.text()
        self._looks_up = compiler.looks_up

    def line_of(self, field: str, column: str = "") -> int:
        """Return the line of the mapping that reads a field, 0 when there is none.

        Args:
            field: as the trace calls it, `makers.uri`. column: where it stood, looked for among
                the paths of the mapping when no field has the name.
        """
        specs = [spec for specs in self._fields.specs.values() for spec in specs]
        found = [spec.field.at for spec in specs if spec.field.label == field]
        found += [one.at for spec in specs for one in spec.sources if _leads(one.path, column)]
        return found[0][0] if found else 0

    # --- one record -----------------------------------------------------------------------

    def map(self, record: Record, context: SourceContext, report: Report) -> Mapped | None:
        """Return what a record makes, or None when it has no key that can be published.

        Raises:
            ManyErrors: the mapping does not fit the source: a column that is not there.
        """
        if record.form != self._form:
            self._bind(record)
        run = Run(context, record.origin, report)
        outer = above(record, self._space, self._inner) if self._looks_up else None
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
            named = self._document(document, scope, run, mapped)
            if not named and document is self._documents[0]:
                return None  # without its own document nothing else of the record has a place
        run.uri = mapped.documents[0].uri if mapped.documents else ""
        counts: dict[tuple[str, ...], int] = {}
        for claims in self._claims:
            claims(scope, run, counts, mapped.claims)
        for rows in self._rows:
            rows(scope, run, mapped.layout)
        self._inputs(record, run, mapped)
        scope.values.clear()  # elements know their record: what they hold goes at once, not later
        return mapped

    def _document(self, document: Document, scope: Scope, run: Run, mapped: Mapped) -> bool:
        """Make a document, or one for each element; False where a key of one was refused."""
        elements = (scope,) if document.elements is None else document.elements(scope)
        named = True
        for element in elements:
            if document.when is not None and not document.when(element):
                continue
            if not document.add(element, run, mapped) and run.refused:
                named = False  # and told
        return named

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
        if compiler.faults.errors:
            _look_for_delimiter(record)
        compiler.faults.stop()
        if record.form == "table":
            self._look = lambda r: leaves.row(r.data, r.origin)
        elif record.form == "json":
            self._look = lambda r: leaves.value(r.data, r.origin)
        else:
            names = Names(compiler.namespaces)
            inner = self._inner = tags_inside(self.reads.records, compiler.namespaces)
            self._look = lambda r: leaves.element(r.data, names, r.origin, inner)
        self._form = record.form
        for document in self._documents[1:]:
            slots = slots_of(document.refs) if document.elements is not None else None
            document.repeated = None if slots is None else Repeated(document.tree, slots)

    def _leaves_of(self, form: str) -> Leaves:
        return Leaves(*readings_of(self._fields, self._space, self._dropped, form, self._compiler))

    def seen(self) -> Met:
        """Return what was met since the last time, to be handed to `absorb`, here or elsewhere."""
        leaves = self._leaves
        if leaves is None:
            return "", 0, []
        met = self._form, leaves.records, leaves.seen()
        leaves.forget()
        return met

    def absorb(self, seen: Met) -> None:
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

        Places that the mapping names and no record has are told too (`column`). After that the
        mapping is ready for another source.
        """
        if self._leaves is not None:
            self._leaves.report(report, self._form, self.name)
        self._leaves, self._form = None, ""


def _leads(path: str, column: str) -> bool:
    """Whether a path of a mapping is the end of a place in a source, positions left out."""
    if path == column:
        return True
    plain = _POSITION.sub("", column)
    return bool(path) and plain.endswith("/" + path.removeprefix("$.").lstrip("/"))


def _look_for_delimiter(record: Record) -> None:
    """Say once, for all columns that are missing, that the table was not divided into columns.

    Raises:
        UsageError: most names have another delimiter in them.
    """
    if record.form != "table" or record.origin.sheet:
        return
    for sign, shown in ((";", ";"), ("\t", "\\t"), ("|", "|"), (",", ",")):
        first = next((name for name in record.data if sign in name), "")
        if sum(name.count(sign) for name in record.data) >= len(record.data):
            first = first.replace(sign, shown)
            raise UsageError(
                f"the header row has `{shown}` between its columns, and it is read with another "
                f"delimiter: the first column is `{first}`",
                hint=f'declare `delimiter = "{shown}"` for this source in lodpipe.toml',
                where=record.origin.file,
            )
