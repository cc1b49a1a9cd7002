"""The header row of a table: every column gets a name of its own."""

from collections.abc import Sequence

from lodpipe.errors import UsageError
from lodpipe.findings import Finding, Report
from lodpipe.records import Place

TITLE_COLUMNS = 3
"""From how many columns on a row that names only one of them is a title, and no header."""


def column_names(cells: Sequence[str], place: Place, report: Report) -> list[str]:
    """Return a unique name for each column; report duplicate and empty ones.

    White space around and line breaks inside a name do not count; tabs inside stay, for they say
    that the file was read with the wrong delimiter. The second `Title` becomes
    `Title (2)`, a column without a name `column 7`.

    Raises:
        UsageError: the row names one column of many, as a title above a table does.
    """
    given = ["\t".join(" ".join(s.split()) for s in cell.strip().split("\t")) for cell in cells]
    titles = [name for name in given if name]
    if len(titles) == 1 and len(given) >= TITLE_COLUMNS:
        raise UsageError(
            f"the first row names one column of {len(given)}, `{titles[0]}`: it looks like a title",
            hint="take out what stands above the names of the columns",
            where=str(place),
        )
    taken: set[str] = set()
    names = []
    for number, name in enumerate(given, 1):
        unique = _unique(name or f"column {number}", taken | (set(given) - {name}))
        if unique != name:
            report(_fault(name, unique, number, place))
        taken.add(unique)
        names.append(unique)
    return names


def _unique(name: str, taken: set[str]) -> str:
    unique, count = name, 1
    while unique in taken:
        count += 1
        unique = f"{name} ({count})"
    return unique


def _fault(name: str, unique: str, number: int, place: Place) -> Finding:
    if name:
        message = f"the name `{name}` stands over two columns; the one in column {number} is read as `{unique}`"
    else:
        message = f"column {number} has no name and is read as `{unique}`"
    return Finding("header", message, place, value=name, hint="give each column a name of its own")
