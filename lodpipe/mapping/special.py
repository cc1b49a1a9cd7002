"""Special nodes of templates: time spans and dimensions, made from fields that read them."""

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from lodpipe.dates import parse
from lodpipe.errors import LodpipeError
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.language import TIMESPAN_KEYS
from lodpipe.mapping.spaces import DATES, SIZE, YEAR, Ref, Run, Scope, Space
from lodpipe.mapping.texts import Make
from lodpipe.mapping.values import Dated, year_date
from lodpipe.mapping.yaml_nodes import Node
from lodpipe.records import Tree
from lodpipe.wording import date_words


def compile_timespan(node: Node, space: Space, compiler: Compiler) -> Make | None:
    """Return what makes the TimeSpan of a date field: its words, its EDTF, its ends."""
    good = compiler.known_keys(node, TIMESPAN_KEYS, "a time span")
    ref = _field(node.value["timespan"], space, compiler)
    state = compiler.flag(node.get("state"), "`state`", False)
    tag = compiler.text(node.get("language"), "a language tag")
    if ref is None or not good:
        return None
    if ref.field.kind not in DATES:
        compiler.faults.add(
            node.value["timespan"],
            f"`{ref.field.name}` is not read as a date",
            f"write `{ref.field.name}: {{from: ..., as: date}}`",
        )
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

    def make(scope: Scope, run: Run, path: str) -> Any:
        value = get(scope)
        if value is None:
            return None
        date: Dated = year_date(str(value)) if is_year else value
        note(run, scope, path)
        name = date.verbatim
        if date.edtf is not None and name == date.edtf.text:
            name = _in_words(name, tag or nodes.first_language, state)
        return nodes.timespan(name, date.edtf, state=state, circa_years=circa, language=tag)

    return make


@lru_cache(maxsize=8_192)
def _in_words(edtf: str, language: str, lasting: bool) -> str:
    """Put a date that the source gives in EDTF into words: readers do not read `1846~`."""
    return date_words(parse(edtf), language, lasting=lasting)


def _field(node: Node, space: Space, compiler: Compiler) -> Ref | None:
    name = compiler.text(node, "the name of a field").removeprefix("{").removesuffix("}")
    return compiler.resolve(name, space, (node.line, node.column)) if name else None


def compile_sizes(
    node: Node, space: Space, compiler: Compiler
) -> Callable[[Scope, Run, str, list[Any]], None] | None:
    """Return what makes a Dimension for each size of a field: value in mm, kind, what."""
    good = compiler.known_keys(node, ("size", "when"), "a size")
    ref = _field(node.value["size"], space, compiler)
    if ref is None or not good:
        return None
    if ref.field.kind != SIZE:
        compiler.faults.add(
            node.value["size"],
            f"`{ref.field.name}` is not read as a size",
            f"write `{ref.field.name}: {{from: ..., as: size}}`",
        )
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

    return spread
