"""What the tests of mappings share: a compiled mapping, a record, and what it makes."""

from collections.abc import Mapping as Dict
from textwrap import dedent, indent
from typing import Any

from lxml import etree

from lodpipe import terms
from lodpipe.errors import UsageError, nearest
from lodpipe.findings import Finding
from lodpipe.mapping import Mapping, SourceContext, loads
from lodpipe.nodes import Nodes
from lodpipe.project import Limits
from lodpipe.records import Draft, Mapped, Place, Record

BASE = "https://collections.example.org/"
NODES = Nodes(BASE, terms.concepts())
CONTEXT = SourceContext("catalogue/items.csv", 1, "group/railway-library", "2024-03-11")

TABLES = {
    "kinds": """
        term (any case),iri,label,meta,part
        albumen print,http://vocab.getty.edu/aat/300127121,Albumen Print,type-of-work,exposure
        stereo card,http://vocab.getty.edu/aat/300127197,Stereograph,type-of-work,exposure
        stereo card,http://vocab.getty.edu/aat/300046300,Photograph,type-of-work,exposure
        lithograph,vocab/work/lithograph,Lithograph,type-of-work,drawing
        papers,,,,making
    """,
    "qualifiers": """
        term (any case),qualifier,family,standing,role,iri,aat,aat_seen_in
        possibly by,possibly,doubt,,,vocab/qualifier/possibly,,
        formerly attributed to,attributed-to,doubt,former,,,,
        and a pupil,,,,,,,
        and a pupil,pupil-of,workshop,,,,,
        possible architects,possibly,doubt,,architect,,,
        associated with,,,proposed,,,,
    """,
}


def table(name: str) -> terms.Table:
    """One of the tables above, as `terms.read_table` would read it from a file."""
    if name not in TABLES:
        raise UsageError(f"there is no table `{name}`", hint=nearest(name, TABLES))
    rows = [line.split(",") for line in dedent(TABLES[name]).strip().splitlines()]
    lines: dict[str, tuple[dict[str, str], ...]] = {}
    for cells in rows[1:]:
        line = dict(zip(rows[0], cells, strict=True))
        lines[cells[0]] = (*lines.get(cells[0], ()), line)
    return terms.Table(name, tuple(rows[0]), lines, True)


def compiled(text: str, **limits: int) -> Mapping:
    """A mapping named item.yaml, compiled with the tables above."""
    return loads(
        dedent(text).lstrip("\n"), "item.yaml", nodes=NODES, tables=table, limits=Limits(**limits)
    )


def row(**cells: str) -> Record:
    """A row of a table; it stands in line 2 of its file."""
    return Record(dict(cells), Place("catalogue/items.csv", 2, 1), "table")


def js(value: Any) -> Record:
    """A line of JSON Lines."""
    return Record(value, Place("catalogue/items.jsonl", 1, 1), "json")


def xml(text: str, path: str = ".") -> Record:
    """The element of a document that a path leads to, by itself the outermost one."""
    root = etree.fromstring(text)
    element = root.xpath(path, namespaces={"x": "urn:x"})
    found = root if path == "." else element[0]
    return Record(found, Place("catalogue/items.xml", 1, 1, "", "/items/item"), "xml")


class Told(list[Finding]):
    """Findings, as rows of code, message and place."""

    def rows(self) -> list[tuple[str, str, str]]:
        return [(f.code, f.message, str(f.place or "")) for f in self]


def mapped(
    mapping: Mapping, record: Record, context: SourceContext = CONTEXT
) -> tuple[Mapped | None, Told]:
    """What a record makes, and what was told."""
    told = Told()
    return mapping.map(record, context, told.append), told


def documents(text: str, record: Record) -> tuple[list[Draft], Told]:
    """The documents that a mapping makes of a record."""
    made, told = mapped(compiled(text), record)
    return made.documents if made else [], told


def with_fields(fields: str, body: str) -> str:
    """A mapping of one document: fields (besides the key `no`) and keys of the document."""
    return (
        "reads:\n  key: no\n  fields:\n    no: no\n"
        + indent(dedent(fields).strip(), "    ")
        + "\nmakes:\n  - id: object/{no}\n    type: HumanMadeObject\n    _label: x\n"
        + indent(dedent(body).strip(), "    ")
        + "\n"
    ).replace("id: object/{no}", 'id: "object/{no}"')


def shown(fields: str, text: str, record: Record) -> tuple[Any, Told]:
    """What the text of a template becomes; None where nothing is made of it."""
    body = f"identified_by: {{type: Name, content: {text!r}}}"
    made, told = documents(with_fields(fields, body), record)
    names = made[0].tree.get("identified_by")
    return (names[0]["content"] if names else None), told


def tree_of(fields: str, body: str, record: Record) -> tuple[Dict[str, Any], Told]:
    """The tree of one document, without what every test document has."""
    made, told = documents(with_fields(fields, body), record)
    tree = dict(made[0].tree)
    for key in ("id", "type", "_label"):
        tree.pop(key)
    return tree, told
