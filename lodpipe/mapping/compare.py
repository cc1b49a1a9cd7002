"""Comparing the words of a date with the dates that the source gives for machines.

What agrees with what is said in `lodpipe.dates.compare`; here the values are found and told of.
"""

from collections.abc import Callable, Mapping

from lodpipe import dates
from lodpipe.dates import Events, Reading
from lodpipe.mapping.compiler import Compiler
from lodpipe.mapping.paths import Access
from lodpipe.mapping.reading import clean_value
from lodpipe.mapping.spaces import Run, Scope
from lodpipe.mapping.specs import Spec
from lodpipe.mapping.values import Dated

Compare = Callable[[Run, Scope, str, Mapping[str, Dated]], None]
"""Takes the events that a text tells of, by their words; the first has none."""


def comparison(spec: Spec, pair: list[list[Access]], compiler: Compiler) -> Compare | None:
    """Return what reports a text and machine dates that disagree; None where they have no place."""
    if len(pair) != 2 or not pair[0] or not pair[1]:
        return None
    first, last = pair[0][0], pair[1][0]
    circa = compiler.circa_years

    def compare(run: Run, scope: Scope, column: str, events: Mapping[str, Dated]) -> None:
        start, end = (
            "" if text in spec.empty else text
            for text in (
                clean_value(run, scope, spec, place.column, place.first(scope.raw))
                for place in (first, last)
            )
        )
        text = events[""].verbatim
        why = dates.compare(_read(text, events), start, end, circa)
        if why:
            message = f"`{text}` and the dates for machines disagree: {why}"
            run.tell(scope, column, "date-disagrees", message, text)

    return compare


def _read(text: str, events: Mapping[str, Dated]) -> Reading | Events:
    main = events[""]
    if main.edtf is not None and main.edtf.interval:
        return Reading(main.verbatim, main.edtf)  # of a life, the others are its two ends
    readings = tuple(
        (word, Reading(one.verbatim, one.edtf))
        for word, one in events.items()
        if one.edtf is not None
    )
    return Events(text, readings) if len(readings) > 1 else readings[0][1]
