"""From a result of a shape to its cells, and from a cell to the line of the mapping."""

from typing import Any

import pytest
from mapping_help import compiled

from lodpipe.check import Result
from lodpipe.pipeline.back import cells_of, pointer_in, steps_of
from lodpipe.records import Place, TraceEntry

URI = "https://collections.example.org/object/1"
PATHS = (
    "/id",
    "/_label",
    "/classified_as/0",
    "/classified_as/1",
    "/identified_by/0/content",
    "/produced_by/part/0/timespan",
    "/produced_by/part/1/carried_out_by/0/id",
)
TRACE = [TraceEntry(path, path, Place("items.csv", 2, 1, "", path)) for path in PATHS]
NODES = {
    URI: "",
    "https://example.org/kind": "/classified_as/1",
    f"{URI}#production": "/produced_by",
    f"{URI}#exposure": "/produced_by/part/0",
    f"{URI}#exposure-timespan": "/produced_by/part/0/timespan",
    "https://example.org/elsewhere": "/produced_by",
}


def result(pointer: str, path: str, term: str = "", component: str = "Pattern") -> Result:
    values: dict[str, Any] = dict.fromkeys(Result.__dataclass_fields__, "")
    return Result(
        **values | {"pointer": pointer, "path": path, "term": term} | {"component": component}
    )


CELLS = [
    # node, path of the shape, offending value, constraint -> cells
    ("", "", "", "Closed", ["/id"]),
    ("", "rdfs:label", '"x"', "Pattern", ["/_label"]),
    ("", "rdfs:label", "", "MinCount", ["/id"]),
    ("", "crm:P2_has_type", "<https://example.org/kind>", "Class", ["/classified_as/1"]),
    ("", "crm:P2_has_type", "", "MaxCount", ["/classified_as/0", "/classified_as/1"]),
    ("", "crm:P2_has_type/crm:P2_has_type", "", "Or", ["/classified_as/0", "/classified_as/1"]),
    ("/produced_by", "", "", "Class", list(PATHS[5:])),
    ("/produced_by/part/0", "crm:P4_has_time-span", '"x"', "Class", [PATHS[5]]),
    ("/produced_by/part/0/timespan", "crm:P82a_begin_of_the_begin", '"x"', "LessThan", [PATHS[5]]),
    ("/identified_by/0", "crm:P190_has_symbolic_content", '" x"', "Pattern", [PATHS[4]]),
    ("/member_of/0", "", "", "Class", ["/id"]),
    # a value that is a node somewhere else in the document is not where this result is
    ("/identified_by/0", "crm:P72_has_language", "<https://example.org/elsewhere>", "Class", [PATHS[4]]),
]  # fmt: skip


@pytest.mark.parametrize(("pointer", "path", "term", "component", "cells"), CELLS)
def test_the_nearest_cells(
    pointer: str, path: str, term: str, component: str, cells: list[str]
) -> None:
    found = cells_of(result(pointer, path, term, component), NODES, TRACE)

    assert [step.path for step in found] == cells


def test_a_record_without_a_traced_key_is_all_its_cells() -> None:
    assert steps_of("", TRACE[1:]) == TRACE[1:]
    assert steps_of("/x", []) == []


MESSAGES = [
    ("`x` is not an IRI, at `/classified_as/0/id`", "/classified_as/0/id"),
    ("nothing of the kind", ""),
    ("at `/a` and no more", ""),
]


@pytest.mark.parametrize(("message", "pointer"), MESSAGES)
def test_the_pointer_that_a_message_ends_with(message: str, pointer: str) -> None:
    assert pointer_in(message) == pointer


MAPPING = """
reads:
  key: no
  records: /list/item
  fields:
    no: "@no"
    title: head/Title
    made: {from: [Date, When], as: date}
    makers: {each: people/person, fields: {name: Name}}
makes:
  - id: "object/{no}"
    type: HumanMadeObject
    _label: "{title}"
    identified_by:
      - {each: makers, type: Name, content: "{name}"}
    produced_by: {type: Production, timespan: {timespan: made}}
"""
LINES = [
    # field as the trace calls it, column -> line
    ("title", "", 7),
    ("made", "", 8),
    ("makers.name", "", 9),
    ("", "When", 8),
    ("", "(/list/item)[3]/Date", 8),
    ("", "(/list/item)[3]/head[2]/Title", 7),
    ("", "(/list/item)[3]/head[2]/Other", 0),
    ("", "", 0),
    ("claim c0101", "", 0),
]


@pytest.mark.parametrize(("field", "column", "line"), LINES)
def test_the_line_that_reads_a_field(field: str, column: str, line: int) -> None:
    text = MAPPING.lstrip("\n")
    found = compiled(text).line_of(field, column)

    assert found == (line - 1 if line else 0)
