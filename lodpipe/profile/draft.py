"""A first mapping made from a profile: what names and values leave no doubt about, and no more.

A column is mapped when its name stands in `headers.csv`, and then as words only: a maker's name
becomes a statement, not a person, since nobody has said yet which doubts the column hides. All
other columns are listed as left out, for a person to decide.
"""

import csv
import json
import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from lodpipe.errors import UsageError
from lodpipe.profile.results import ColumnProfile, Profile

UNDECIDED = "to decide"
"""How the reason begins for which a new mapping leaves a column out, and the source of a term."""

_WORDS = ("true", "false", "null", "yes", "no", "on", "off", "y", "n")
"""What a YAML reader, of 1.2 or older, takes for something else than a text."""
MOST_KEY = 200
"""Characters that a key may have: longer ones are texts."""
_STATEMENTS = {
    "maker": "makers-statement",
    "material": "materials-statement",
    "size": "dimensions-statement",
    "credit": "credit-line",
    "description": "description",
    "inscription": "inscription-statement",
}


@dataclass(frozen=True, slots=True)
class Chosen:
    """A column that the mapping reads: what it means, and the name of its field."""

    means: str
    field: str
    column: ColumnProfile


@dataclass(frozen=True, slots=True)
class Draft:
    """What a new project needs for one source.

    Attributes:
        mapping: the text of the mapping. `tables`: name of a vocabulary table -> its rows: term,
            concept, source.
        mapped: columns that are read. `undecided`: entries that are left out until decided.
        open_terms: terms of the tables that have no concept yet.
        example: the key of one record.
    """

    mapping: str
    tables: dict[str, list[tuple[str, str, str]]]
    mapped: int
    undecided: int
    open_terms: int
    example: str


def draft(profile: Profile, source: str, known: Callable[[str], tuple[str, str]]) -> Draft:
    """Return a first mapping of a source.

    Args:
        source: its file, relative to the project.
        known: a term -> the concept that a shipped table has for exactly this term, and the
            name of that table; two empty texts where none has it.

    Raises:
        UsageError: no column tells the records apart.
    """
    key = _key(profile)
    chosen = list(_chosen(profile, key))
    left = _left_out(profile, {one.column.name for one in chosen} | {key.name})
    tables = {
        one.field: [(term, *_known(known, term)) for term, _ in sorted(one.column.terms)]
        for one in chosen
        if one.means == "kind"
    }
    open_terms = sum(not concept for rows in tables.values() for _, concept, _ in rows)
    text = "\n".join(_lines(profile, source, key, chosen, left)) + "\n"
    return Draft(text, tables, len(chosen) + 1, len(left), open_terms, key.samples[0][0])


def _known(known: Callable[[str], tuple[str, str]], term: str) -> tuple[str, str]:
    concept, table = known(term)
    return (concept, f"shipped table {table}") if concept else ("", UNDECIDED)


def plain(name: str) -> str:
    """Return the name of a column as words: the last step of a path, small letters, no accents.

    >>> plain("/dateRange/startYear"), plain("lido:objectPublishedID"), plain("Künstler_2")
    ('start year', 'object published id', 'kunstler 2')
    """
    last = re.split(r"[/:@]", name)[-1] or name
    last = re.sub(r"(?<=[a-z0-9])(?=[A-Z])", " ", last)
    letters = unicodedata.normalize("NFKD", last.replace("ß", "ss"))
    letters = "".join(sign for sign in letters if not unicodedata.combining(sign))
    return " ".join(re.sub(r"[^A-Za-z0-9']+", " ", letters).lower().split())


@cache
def _headers() -> dict[str, str]:
    with (Path(__file__).parent / "headers.csv").open(encoding="utf-8", newline="") as handle:
        return {row["header"]: row["means"] for row in csv.DictReader(handle)}


def _key(profile: Profile) -> ColumnProfile:
    """The column that identifies a record: one that could, by preference named like a number."""
    able = [column for column in profile.columns if column.look("key")]
    able = [column for column in able if column.longest <= MOST_KEY and not column.look("link")]
    if able:
        return min(able, key=_rank)  # the first of those that are equally likely
    raise UsageError(
        f"no column of `{profile.file}` is always there and always different: "
        "nothing tells its records apart",
        hint="give each record a number of its own in one column; `lodpipe profile` shows the columns",
    )


def _rank(column: ColumnProfile) -> int:
    """How little the name of a column says that it holds numbers of things."""
    name = plain(column.name)
    if _headers().get(name) == "accession":
        return 0
    if name in ("id", "identifier", "key", "number", "no"):
        return 1
    return 2 if name.split()[-1:] in (["id"], ["number"], ["no"], ["key"]) else 3


def _chosen(profile: Profile, key: ColumnProfile) -> Iterator[Chosen]:
    """The columns whose names say what they hold; of two that mean the same the first."""
    taken: set[str] = set()
    fields = {"key"}
    for column in profile.columns:
        means = _headers().get(plain(column.name), "")
        if not means or means in taken or column.most != 1 or not column.values:
            continue
        if (means == "date" and not column.look("date")) or (
            means == "page" and not column.look("link")
        ):
            continue
        if means == "kind" and (not column.terms or column.look("list")):
            continue
        if column is key:
            continue
        taken.add(means)
        field = re.sub(r"\W+", "_", plain(column.name)).strip("_")
        while field in fields or not field or field[0].isdigit():
            field = f"field_{field}" if not field or field[0].isdigit() else f"{field}_2"
        fields.add(field)
        yield Chosen(means, field, column)


def _left_out(profile: Profile, mapped: set[str]) -> dict[str, str]:
    """Everything else, a whole branch in one line where nothing below it is read."""
    left: dict[str, str] = {}
    for column in profile.columns:
        if column.name in mapped:
            continue
        branch = _branch(column.name, mapped)
        below = sum(
            one.name == branch or one.name.startswith(branch + "/") for one in profile.columns
        )
        shown = " · ".join(" ".join(value.split())[:30] for value, _ in column.samples[:2])
        words = f"{below} columns below it" if below > 1 else shown or "always empty"
        left.setdefault(branch, f"{UNDECIDED}: {words}")
    return left


def _branch(name: str, mapped: set[str]) -> str:
    """The highest step above a column under which nothing is read."""
    steps = [match.start() for match in re.finditer("/", name) if match.start()]
    for end in steps:
        branch = name[:end]
        if not any(other == branch or other.startswith(branch + "/") for other in mapped):
            return branch
    return name


def _lines(
    profile: Profile,
    source: str,
    key: ColumnProfile,
    chosen: list[Chosen],
    left: dict[str, str],
) -> Iterator[str]:
    by = {one.means: one for one in chosen}
    yield f"# A first mapping of {source}: change it, it is yours. `lodpipe run` tells what it does"
    yield "# not understand. The guide to the mapping language explains it."
    yield "#"
    yield "# Columns are read where their name says what they hold, and only as words: a maker's name"
    yield "# is a statement here, not yet a person. All others stand under `dropped` until you decide."
    yield "reads:"
    if "records" in profile.options:
        yield f"  records: {_quoted(profile.options['records'])}"
    named = {prefix: iri for prefix, iri in profile.namespaces.items() if prefix}
    if named:
        yield f"  namespaces: {json.dumps(named, ensure_ascii=False)}"
    if "sheet" in profile.options:
        yield f"  sheet: {_quoted(profile.options['sheet'])}"
    yield "  key: key                # what tells records apart; every address is made from it"
    yield '  empty: ["", "n/a"]      # what means nothing'
    yield "  fields:"
    yield f"    key: {_quoted(key.name)}"
    for one in chosen:
        yield f"    {one.field}: {_read(one)}"
    yield from _label(by)
    if left:
        yield "  dropped:                # take a line out and read the column under `fields`, or say why not"
        for name, reason in left.items():
            yield f"    {_quoted(name)}: {_quoted(reason)}"
    yield from _makes(by)


def _read(one: Chosen) -> str:
    name = _quoted(one.column.name)
    kinds = {"date": "date", "page": "url"}
    if one.means in kinds:
        return f"{{from: {name}, as: {kinds[one.means]}}}"
    return name


def _label(by: dict[str, Chosen]) -> Iterator[str]:
    yield "    label:                # what people see in lists"
    yield "      choose:"
    if "title" in by:
        yield f'        - {{when: {{{by["title"].field}: present}}, is: "{{{by["title"].field}}}"}}'
    yield '        - {is: "{key}"}'


def _makes(by: dict[str, Chosen]) -> Iterator[str]:
    yield "makes:"
    yield '  - id: "object/{key}"    # the address, below `base` of lodpipe.toml'
    yield "    type: HumanMadeObject"
    yield '    _label: "{label}"'
    if "kind" in by:
        field = by["kind"].field
        yield f"    # fill in what the terms mean: mappings/vocab/{field}.csv"
        yield f"    classified_as: {{lookup: {field}, from: {field}}}"
    yield "    identified_by:"
    yield '      - {type: Name, content: "{label}", classified_as: {term: primary-name}}'
    number = by["accession"].field if "accession" in by else "key"
    yield f'      - {{type: Identifier, content: "{{{number}}}", classified_as: {{term: accession-number}}}}'
    if number != "key":
        yield '      - {type: Identifier, content: "{key}", classified_as: {term: system-number}}'
    statements = [one for means, one in by.items() if means in _STATEMENTS]
    if statements:
        yield "    referred_to_by:"
        for one in statements:
            yield (
                f'      - {{type: LinguisticObject, content: "{{{one.field}}}", '
                f"classified_as: {{term: {_STATEMENTS[one.means]}}}}}"
            )
    if "date" in by:
        yield "    produced_by:          # making is the most general part; others are exposure, printing ..."
        yield "      type: Production"
        yield f"      part: [{{role: making, type: Production, timespan: {{timespan: {by['date'].field}}}}}]"
    if "page" in by:
        yield "    subject_of:"
        yield "      - type: LinguisticObject"
        yield "        classified_as: {term: web-page}"
        yield "        digitally_carried_by:"
        yield (
            "          - {type: DigitalObject, classified_as: {term: web-page}, format: text/html, "
            f'access_point: {{ref: "{{+{by["page"].field}}}", type: DigitalObject}}}}'
        )


def _quoted(text: str) -> str:
    """A scalar of YAML: plain where that is safe, else in double quotes, which JSON's are."""
    plain_one = re.fullmatch(r"[A-Za-z][A-Za-z0-9_]*", text) and text.lower() not in _WORDS
    return text if plain_one else json.dumps(text, ensure_ascii=False)
