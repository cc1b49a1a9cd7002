"""The two tables that everything is spelled from: keys of the documents, and our own concepts.

`terms.csv` says which CRM property or class a Linked Art key stands for, in which scope, with
which coercion and container. `concepts.csv` names the concepts that lodpipe itself uses: term,
IRI (relative ones belong to the project's base), class, the slug that it gives to the IRI of a
node, label. A project adds concepts of its own in `mappings/vocab/concepts.csv`.
"""

import csv
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path

from lodpipe.errors import TermError, nearest

VOCAB = "vocab/"
"""Path under base of every concept of our own."""


@dataclass(frozen=True, slots=True)
class Key:
    """One row of terms.csv: what a JSON key (or a class name) means in one scope.

    `scope` is empty for everywhere, a class, or a path `Class/property`; `coercion` is empty, `@id`,
    `@vocab` or a datatype; `container` is empty or `@set`.
    """

    scope: str
    key: str
    iri: str
    coercion: str
    container: str


@dataclass(frozen=True, slots=True)
class Concept:
    """One concept: `iri` is absolute, or relative to base and then a document of ours."""

    term: str
    iri: str
    type: str
    slug: str
    label: str
    meta: str
    equivalent: str
    definition: str
    source: str


class Concepts:
    """The concepts that ship with lodpipe and those that a project adds, by term."""

    def __init__(self, rows: Iterable[Concept]) -> None:
        self._by_term = {row.term: row for row in rows}

    def __iter__(self) -> Iterator[Concept]:
        return iter(self._by_term.values())

    def __contains__(self, term: str) -> bool:
        return term in self._by_term

    def get(self, term: str) -> Concept:
        """Return the concept of a term, or raise a TermError that names the nearest one."""
        try:
            return self._by_term[term]
        except KeyError:
            raise TermError(
                f"`{term}` is not a term of ours", hint=nearest(term, self._by_term)
            ) from None


@cache
def keys() -> tuple[Key, ...]:
    """Return all rows of terms.csv, in their order."""
    return tuple(Key(*row) for row in _rows(_shipped("terms.csv")))


@cache
def shipped_concepts() -> tuple[Concept, ...]:
    """Return the concepts that ship with lodpipe."""
    return tuple(Concept(*row) for row in _rows(_shipped("concepts.csv")))


def concepts(*tables: Path) -> Concepts:
    """Return the shipped concepts and those of further tables; a later row replaces an earlier one.

    A table may leave out columns, but not `term`, `iri` and `label`.
    """
    rows = list(shipped_concepts())
    for table in tables:
        rows.extend(_read_concepts(table.read_text(encoding="utf-8-sig")))
    return Concepts(rows)


def _read_concepts(text: str) -> Iterator[Concept]:
    names = Concept.__dataclass_fields__
    for cells in csv.DictReader(text.splitlines()):
        values = {name: (cells.get(name) or "").strip() for name in names}
        values["type"] = values["type"] or "Type"
        yield Concept(**values)


def _rows(text: str) -> Iterator[list[str]]:
    reader = csv.reader(text.splitlines())
    next(reader)
    return reader


def _shipped(name: str) -> str:
    return (files("lodpipe") / name).read_text(encoding="utf-8")


@dataclass(frozen=True, slots=True)
class Table:
    """A table of source terms: one line a term, or several lines where one term means several things.

    The first column holds the term as the source writes it. Its header is `term`, or
    `term (any case)` where upper and lower case do not matter. Matching is exact otherwise.
    """

    name: str
    columns: tuple[str, ...]
    lines: dict[str, tuple[dict[str, str], ...]]
    any_case: bool

    def get(self, term: str) -> tuple[dict[str, str], ...]:
        """Return the lines of a term by column name; empty when the table does not have it."""
        key = " ".join(term.split())
        return self.lines.get(key.casefold() if self.any_case else key, ())


def read_table(name: str, *paths: Path) -> Table:
    """Read a table of terms; lines of a later file replace those of an earlier one, term by term.

    Raises:
        TermError: the first header is not `term` or `term (any case)`, or two files differ in it.
    """
    columns: tuple[str, ...] = ()
    lines: dict[str, tuple[dict[str, str], ...]] = {}
    for path in paths:
        rows = list(csv.reader(path.read_text(encoding="utf-8-sig").splitlines()))
        header = tuple(cell.strip() for cell in rows[0]) if rows else ()
        if not header or header[0] not in ("term", "term (any case)"):
            raise TermError(
                f"the table `{name}` does not begin with a column `term`",
                hint="name the first column `term`, or `term (any case)`",
                where=str(path.name),
            )
        if columns and header[0] != columns[0]:
            raise TermError(f"two files of the table `{name}` differ in their first column")
        columns = columns + tuple(name for name in header if name not in columns)
        lines.update(_lines(header, rows[1:]))
    return Table(name, columns, lines, bool(columns) and columns[0] != "term")


def _lines(header: tuple[str, ...], rows: list[list[str]]) -> dict[str, tuple[dict[str, str], ...]]:
    found: dict[str, tuple[dict[str, str], ...]] = {}
    for cells in rows:
        if not any(cell.strip() for cell in cells):
            continue
        line = dict(zip(header, (cell.strip() for cell in cells), strict=False))
        key = " ".join(cells[0].split())
        key = key if header[0] == "term" else key.casefold()
        found[key] = (*found.get(key, ()), line)
    return found
