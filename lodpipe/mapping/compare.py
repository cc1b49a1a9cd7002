"""Comparing the words of a date with the days that the source gives for machines."""

from collections.abc import Callable

from lodpipe.dates import Edtf, outer_bounds
from lodpipe.errors import ValueFault
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.paths import Access
from lodpipe.mapping.reading import clean_value
from lodpipe.mapping.spaces import Run, Scope
from lodpipe.mapping.specs import Spec
from lodpipe.mapping.values import Dated, edtf, year_date

Compare = Callable[[Run, Scope, str, Dated], None]


def comparison(spec: Spec, pair: list[list[Access]], compiler: Compiler) -> Compare | None:
    """Return what reports a text and machine dates of which neither holds the other.

    `c. 1825` with 1820 and 1830 agrees, `June 1873` with 1873 and 1873 too: one lies within the
    other. `1900` with 1899-12-31 and 1900-12-30 does not.
    """
    if len(pair) != 2 or not pair[0] or not pair[1]:
        return None
    first, last = pair[0][0], pair[1][0]
    circa = compiler.circa_years

    def compare(run: Run, scope: Scope, column: str, read: Dated) -> None:
        texts = [
            clean_value(run, scope, spec, place.column, place.first(scope.raw))
            for place in (first, last)
        ]
        days = [_days(text, spec) for text in texts]
        if read.edtf is None or days[0] is None or days[1] is None:
            return
        earliest, latest = outer_bounds(read.edtf, circa)
        begin, end = days[0].earliest, days[1].latest
        if _within(earliest, latest, begin, end) or _within(begin, end, earliest, latest):
            return
        run.tell(
            scope,
            column,
            "date-disagrees",
            f"`{read.verbatim}` and the days `{texts[0]}` to `{texts[1]}` disagree",
            read.verbatim,
        )

    return compare


def _days(text: str, spec: Spec) -> Edtf | None:
    if not text or text in spec.empty:
        return None
    try:
        return (year_date if len(text) < 5 else edtf)(text).edtf
    except ValueFault:
        return None


def _within(earliest: int | None, latest: int | None, begin: int | None, end: int | None) -> bool:
    """Whether the first range lies in the second; None is open."""
    return (begin is None or (earliest is not None and begin <= earliest)) and (
        end is None or (latest is not None and latest <= end)
    )
