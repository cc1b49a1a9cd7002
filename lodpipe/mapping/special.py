"""Special nodes of templates: links, terms, lookups, languages, time spans and dimensions."""

from functools import lru_cache
from typing import Any

import orjson

from lodpipe.dates import parse
from lodpipe.errors import LodpipeError, TermError, nearest
from lodpipe.mapping.compiler import REMEMBERED, Compiler
from lodpipe.mapping.keys import LITERALS, classes
from lodpipe.mapping.language import TIMESPAN_KEYS
from lodpipe.mapping.lookups import compile_lookup
from lodpipe.mapping.pieces import Piece, constant, found
from lodpipe.mapping.spaces import DATES, SIZE, YEAR, Ref, Run, Scope, Space
from lodpipe.mapping.texts import compile_text
from lodpipe.mapping.uris import compile_uri
from lodpipe.mapping.values import Dated, year_date
from lodpipe.mapping.yaml_nodes import Node
from lodpipe.records import Tree
from lodpipe.wording import date_words


def compile_ref(node: Node, space: Space, compiler: Compiler) -> Piece | None:
    """Return a link to a document; pass 2 fills in its label."""
    good = compiler.known_keys(node, ("ref", "type", "_label", "when"), "a reference")
    uri = compile_uri(node.value["ref"], space, compiler)
    kind = node.get("type")
    if kind is None:
        compiler.faults.add(node, "the reference has no `type`", "name the class it leads to")
        return None
    type_text = compile_text(kind, space, compiler)
    label = compile_text(node.value["_label"], space, compiler) if "_label" in node.value else None
    if not good or uri is None or type_text is None:
        return None
    if type_text.constant is not None:
        known_class(kind, type_text.constant, compiler)
    known = (uri.constant, type_text.constant, "" if label is None else label.constant)
    if None not in known:
        return constant({"id": known[0], "type": known[1], "_label": known[2] or None})
    make_uri, make_type = uri.make, type_text.get

    def make(scope: Scope, run: Run, path: str) -> Any:
        iri = make_uri(scope, run, f"{path}/id")
        if iri is None:
            return None
        words = label.get(scope, run) if label is not None else None
        return {"id": iri, "type": make_type(scope, run), "_label": words or None}

    return Piece(make=make, fixed=uri.constant is not None)


def known_class(node: Node, name: str, compiler: Compiler) -> None:
    """Note a class that Linked Art does not have."""
    if name not in classes():
        compiler.faults.add(
            node, f"`{name}` is not a class of Linked Art", nearest(name, classes())
        )


def compile_term(node: Node, space: Space, compiler: Compiler) -> Piece | None:
    """Return the concept of a term that stands in the mapping or in the data."""
    if not compiler.known_keys(node, ("term", "when"), "a term"):
        return None
    written = node.value["term"]
    text = compile_text(written, space, compiler)
    if text is None:
        return None
    nodes, term = compiler.nodes, text.constant
    if term is not None:
        if not compiler.term(written, term):
            return None
        return constant(nodes.term(term))
    return Piece(make=found(text.make, nodes.term))


def compile_looked_up(node: Node, key: str, space: Space, compiler: Compiler) -> Piece | None:
    """Return the concepts of the lines of a table, or the text of a column."""
    if key in LITERALS or key in ("id", "type") or "column" in node.value:
        if key not in LITERALS and key not in ("id", "type", "language"):
            compiler.faults.add(node, f"`{key}` takes a node, not a text", "leave `column` out")
            return None
        text = compile_text(node, space, compiler)
        if text is not None and key == "language":
            return Piece(make=found(text.make, compiler.nodes.language))
        return None if text is None else Piece(make=text.make)
    lookup = compile_lookup(node, space, compiler)
    if lookup is None:
        return None

    def spread(scope: Scope, run: Run, path: str, out: list[Any]) -> None:
        for concept in lookup.concepts(scope, run):
            lookup.note(run, scope, f"{path}/{len(out)}")
            out.append(concept)

    return Piece(spread=spread)


def compile_language(node: Node, space: Space, compiler: Compiler) -> Piece | None:
    """Return a language by its tag, which stands in the mapping or in the data."""
    text = compile_text(node, space, compiler)
    if text is None:
        return None
    nodes, tag = compiler.nodes, text.constant
    if tag is not None:
        try:
            return constant(nodes.language(tag))
        except TermError as error:
            compiler.faults.add(node, error.message, error.hint)
            return None
    return Piece(make=found(text.make, nodes.language))


def compile_timespan(node: Node, space: Space, compiler: Compiler) -> Piece | None:
    """Return the TimeSpan of a date field: its words, its EDTF, its ends.

    Dates repeat, and a time span has a dozen nodes: it is kept as JSON, and read anew for each
    document, which costs a tenth of making it.
    """
    good = compiler.known_keys(node, TIMESPAN_KEYS, "a time span")
    ref = _field(node.value["timespan"], space, compiler)
    state = compiler.flag(node.get("state"), "`state`", False)
    tag = compiler.text(node.get("language"), "a language tag")
    if (
        ref is None
        or not good
        or not _read_as(ref, DATES, "date", node.value["timespan"], compiler)
    ):
        return None
    if tag:
        try:
            compiler.nodes.language(tag)
        except LodpipeError as error:
            compiler.faults.add(node.value["language"], error.message, error.hint)
            return None
    nodes, circa, is_year = compiler.nodes, compiler.circa_years, ref.field.kind == YEAR
    tag = tag or ref.field.language
    get, note = ref.value(), ref.note()

    @lru_cache(maxsize=REMEMBERED)
    def span_of(verbatim: str, meaning: str) -> bytes:
        name = verbatim
        edtf = parse(meaning) if meaning else None
        if name == meaning:
            name = date_words(edtf, tag or nodes.first_language, lasting=state) if edtf else name
        span = nodes.timespan(name, edtf, state=state, circa_years=circa, language=tag)
        return orjson.dumps(span)

    def make(scope: Scope, run: Run, path: str) -> Any:
        value = get(scope)
        if value is None or value == "":
            return None
        date: Dated = year_date(str(value)) if is_year else value
        note(run, scope, path)
        return orjson.loads(span_of(date.verbatim, date.edtf.text if date.edtf else ""))

    return Piece(make=make)


def _read_as(ref: Ref, kinds: tuple[str, ...], what: str, at: Node, compiler: Compiler) -> bool:
    """Return whether a field is read as dates or sizes are; note a fault when it is not."""
    if ref.field.kind in kinds:
        return True
    name = ref.field.name
    compiler.faults.add(
        at, f"`{name}` is not read as a {what}", f"write `{name}: {{from: ..., as: {what}}}`"
    )
    return False


def _field(node: Node, space: Space, compiler: Compiler) -> Ref | None:
    name = compiler.text(node, "the name of a field").removeprefix("{").removesuffix("}")
    return compiler.resolve(name, space, (node.line, node.column)) if name else None


def compile_sizes(node: Node, space: Space, compiler: Compiler) -> Piece | None:
    """Return a Dimension for each size of a field: value in mm, kind, what was measured."""
    good = compiler.known_keys(node, ("size", "when"), "a size")
    ref = _field(node.value["size"], space, compiler)
    if ref is None or not good or not _read_as(ref, (SIZE,), "size", node.value["size"], compiler):
        return None
    nodes, get, note = compiler.nodes, ref.value(), ref.note()

    def spread(scope: Scope, run: Run, path: str, out: list[Any]) -> None:
        for element in get(scope):
            values = element.values
            note(run, scope, f"{path}/{len(out)}/value")
            types = [nodes.term(values["kind"])]
            if values["what"]:
                types.append(nodes.term(f"measured-{values['what']}"))
            dimension: Tree = {
                "type": "Dimension",
                "value": values["value"],
                "unit": nodes.term("millimeters"),
                "classified_as": types,
            }
            out.append(dimension)

    return Piece(spread=spread)
