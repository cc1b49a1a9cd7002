"""Reading authority files that lie on this machine: SKOS in any form of RDF, and tables.

SKOS: https://www.w3.org/TR/skos-reference/#labels. Nothing is fetched.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pyoxigraph

from lodpipe.errors import UsageError, nearest
from lodpipe.project import Limits
from lodpipe.records import Record
from lodpipe.tables import csv_rows

_SKOS = "http://www.w3.org/2004/02/skos/core#"
_LABELS = {
    f"{_SKOS}prefLabel": 0,
    f"{_SKOS}altLabel": 1,
    "http://www.w3.org/2000/01/rdf-schema#label": 0,
    "http://xmlns.com/foaf/0.1/name": 0,
    "https://schema.org/name": 0,
    "http://schema.org/name": 0,
}
"""Properties that give a name, and whether it is another than the preferred one."""
_FORMS = {
    ".ttl": pyoxigraph.RdfFormat.TURTLE,
    ".nt": pyoxigraph.RdfFormat.N_TRIPLES,
    ".nq": pyoxigraph.RdfFormat.N_QUADS,
    ".rdf": pyoxigraph.RdfFormat.RDF_XML,
    ".xml": pyoxigraph.RdfFormat.RDF_XML,
    ".jsonld": pyoxigraph.RdfFormat.JSON_LD,
}
_MUST = ("uri", "label")
_COLUMNS = (*_MUST, "other", "born", "died")
_YEAR = re.compile(r"(?<!\d)\d{4}(?!\d)")


@dataclass(frozen=True, slots=True)
class Heading:
    """One entry of an authority file.

    Attributes:
        names: the preferred one first. `born`, `died`: years, None where the file has none.
        source: the name of the file.
    """

    uri: str
    names: tuple[str, ...]
    source: str
    born: int | None = None
    died: int | None = None


def headings(path: Path) -> list[Heading]:
    """Return the entries of an authority file, in the order of their IRIs.

    Args:
        path: RDF with SKOS labels (.ttl, .nt, .nq, .rdf, .xml, .jsonld), or a CSV table with the
            columns uri and label, and if it has them other (names parted by `;`), born, died.

    Raises:
        UsageError: the file cannot be read, or holds no name.
    """
    ending = path.suffix.lower()
    if ending == ".csv":
        found = list(_table(path))
    elif ending in _FORMS:
        found = list(_skos(path, _FORMS[ending]))
    else:
        raise UsageError(
            f"`{path.name}` is no authority file that can be read",
            hint="CSV with the columns uri and label, or RDF: " + ", ".join(_FORMS),
        )
    if not found:
        raise UsageError(f"`{path.name}` names nothing", hint="SKOS names are skos:prefLabel")
    return sorted(found, key=lambda heading: heading.uri)


def _table(path: Path) -> Iterator[Heading]:
    rows = csv_rows(
        path,
        path.name,
        delimiter=",",
        encoding="",
        field_chars=Limits().field_chars,
        record_chars=Limits().record_chars,
        report=lambda finding: None,
    )
    for number, item in enumerate(rows):
        if not isinstance(item, Record):
            continue
        if not number:
            _know(path, item.data)
        row = item.data
        if row["uri"] and row["label"]:
            others = tuple(filter(None, map(str.strip, row.get("other", "").split(";"))))
            yield Heading(
                row["uri"],
                (row["label"], *others),
                path.name,
                year_of(row.get("born", "")),
                year_of(row.get("died", "")),
            )


def _know(path: Path, columns: Iterable[str]) -> None:
    there = list(columns)
    for name in _MUST:
        if name not in there:
            raise UsageError(
                f"`{path.name}` has no column `{name}`",
                hint=nearest(name, there) or "its columns are " + ", ".join(_COLUMNS),
            )


def _skos(path: Path, form: pyoxigraph.RdfFormat) -> Iterator[Heading]:
    names: dict[str, list[tuple[int, str]]] = {}
    try:
        with path.open("rb") as handle:
            for quad in pyoxigraph.parse(handle, format=form, base_iri="urn:here:"):
                rank = _LABELS.get(quad.predicate.value)
                if (
                    rank is not None
                    and isinstance(quad.subject, pyoxigraph.NamedNode)
                    and isinstance(quad.object, pyoxigraph.Literal)
                ):
                    names.setdefault(quad.subject.value, []).append((rank, quad.object.value))
    except OSError as error:
        raise UsageError(
            f"`{path.name}` cannot be read: {error.strerror}",
            hint="look whether it is there and may be read",
        ) from error
    except (SyntaxError, ValueError) as error:
        raise UsageError(
            f"`{path.name}` is broken: {error}",
            hint="ask for the file again, or mend it at that place",
        ) from error
    for uri, labels in names.items():
        yield Heading(uri, tuple(dict.fromkeys(label for _, label in sorted(labels))), path.name)


def year_of(text: str) -> int | None:
    """Return the first year of four digits in a text; None where there is none."""
    found = _YEAR.search(text)
    return int(found.group()) if found else None
