"""What the grammar makes of a shape: a plan that turns the values of a text into EDTF.

A plan holds no text of its own. `1871-1873` and `1902-1915` have one shape (`Y-Y`) and one plan:
the template `%s/%s` filled with the first and the third value. Where a value must be worked out
(`1875-8` to 1878), the plan has a step for it; a step refuses what cannot be (`DateError`).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from lodpipe.errors import DateError

Piece = str | int
"""Fixed text, or the place of a value."""
Step = tuple[Callable[..., str], tuple[int | str, ...]]
"""A function of the values and its arguments; its result is one more value."""
Template = tuple[str, tuple[int, ...]]


class StuckError(DateError):
    """The grammar cannot go on; the message may have `{0}` for the value at that place."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How to read every text of one shape.

    Attributes:
        steps: what to work out first.
        dates: template of the event word ("" when the text has none) and of the EDTF.
        notes: templates of the notes.
        events: whether the dates are to be handed on with their events.
        reason: why nothing can be read; then there are no dates.
        undated: whether the text says that there is no date.
    """

    steps: tuple[Step, ...] = ()
    dates: tuple[tuple[Template, Template], ...] = ()
    notes: tuple[Template, ...] = ()
    events: bool = False
    reason: str = ""
    undated: bool = False


class Builder:
    """Collects the steps and notes of one plan while a shape is read."""

    def __init__(self, tokens: int) -> None:
        self.tokens = tokens
        self.steps: list[Step] = []
        self.notes: list[Template] = []

    def step(self, function: Callable[..., str], *arguments: int | str) -> int:
        """Add a step and return the place of its result."""
        self.steps.append((function, arguments))
        return self.tokens + len(self.steps) - 1

    def note(self, *pieces: Piece) -> None:
        """Add a note, once."""
        made = template(pieces)
        if made not in self.notes:
            self.notes.append(made)


def template(pieces: Sequence[Piece]) -> Template:
    """Return pieces as a format and the places of the values that fill it.

    >>> template((0, "-", 2, "~"))
    ('%s-%s~', (0, 2))
    """
    text = "".join("%s" if isinstance(piece, int) else piece.replace("%", "%%") for piece in pieces)
    return text, tuple(piece for piece in pieces if isinstance(piece, int))


def filled(made: Template, values: Sequence[str]) -> str:
    """Return a template with the values of one text in it."""
    text, places = made
    return text % tuple([values[place] for place in places])


# Steps: the values of the text, then places of values (int) or fixed words (str).


def as_written(values: Sequence[str], number: int) -> str:
    """Return a number without the zero that was put before it."""
    return values[number].lstrip("0")


def elided(values: Sequence[str], year: int, end: int, digits: str) -> str:
    """Return the year that an end with elided digits means: 1875 and `8` are 1878.

    It keeps the digits that are left out, so it must be later than the year before it.
    """
    whole = values[year][: 4 - int(digits)] + values[end][2 - int(digits) :]
    if whole <= values[year]:
        raise DateError(f"`{values[end][-int(digits) :]}` after {values[year]} is no later year")
    return whole


def elided_decade(values: Sequence[str], year: int, decade: int) -> str:
    """Return the decade of two digits in the century of a year before it: 1870 and 80s."""
    return values[year][:2] + values[decade]


def before_christ(values: Sequence[str], number: int) -> str:
    """Return the astronomical year of a year BCE: 1 BCE is 0000, 12 BCE is -0011 (ISO 8601)."""
    year = int(values[number]) - 1
    if year < 0:
        raise DateError("there is no year 0 before or after Christ")
    return f"-{year:04}" if year else "0000"


def after_christ(values: Sequence[str], number: int) -> str:
    """Return a year of four digits from one of any number of digits."""
    if int(values[number]) == 0:
        raise DateError("there is no year 0 before or after Christ")
    return values[number].zfill(4)


def century(values: Sequence[str], ordinal: int) -> str:
    """Return the mask of a century: the 19th is 18XX, as catalogues and EDTF count.

    The first is none: 00XX has a year 0, which is 1 BCE.
    """
    if int(values[ordinal]) < 2:
        raise DateError("the first century has no mask: write its years")
    return f"{int(values[ordinal]) - 1:02}XX"


def hundreds(values: Sequence[str], decade: int) -> str:
    """Return the mask of the century that starts with a decade such as 1900s."""
    return values[decade][:2] + "XX"


def first_year(values: Sequence[str], decade: int) -> str:
    """Return the first year of a mask: 187X is 1870."""
    return values[decade].replace("X", "0")


def decade_of(values: Sequence[str], year: int) -> str:
    """Return the decade that a year begins (`années 1890`)."""
    if values[year][3] != "0":
        raise DateError(f"no decade begins in {values[year]}")
    return values[year][:3] + "X"


CENTURY_PARTS = {"early": (0, 49), "mid": (25, 75), "late": (50, 99)}
DECADE_PARTS = {"early": (0, 5), "mid": (2, 7), "late": (5, 9)}
YEAR_PARTS = {"early": (1, 6), "mid": (4, 9), "late": (7, 12)}
"""First and last year of a part of a century, of a decade, first and last month of one of a year.
The parts overlap and are wide on purpose: catalogues mean anything from a third to a half (their
machine dates differ by that), and a narrow rule would leave out years that are meant. In CCO
4.2.3.2 the late 12th century begins in 1150."""


def part(values: Sequence[str], base: int, name: int, end: str, era: str = "") -> str:
    """Return the first (`end` 0) or last (1) year of early, mid or late in a mask."""
    mask = values[base]
    if mask.count("X") == 1:
        return f"{mask[:3]}{DECADE_PARTS[values[name]][int(end)]}"
    return _in_century(mask, CENTURY_PARTS[values[name]][int(end)], era)


def part_of_year(values: Sequence[str], year: int, name: int, end: str) -> str:
    """Return the first or last month of early, mid or late in a year."""
    return f"{values[year]}-{YEAR_PARTS[values[name]][int(end)]:02}"


def fraction(
    values: Sequence[str], base: int, ordinal: int, parts: str, end: str, era: str = ""
) -> str:
    """Return the first or last year of the n-th half, third or quarter of a century mask.

    The place -1 stands for the last one.
    """
    whole = int(parts)
    number = whole if ordinal < 0 else int(values[ordinal])
    if number > whole:
        raise DateError(f"a century has {whole} such parts, not {number}")
    years = (100 * (number - 1) // whole, 100 * number // whole - 1)
    return _in_century(values[base], years[int(end)], era)


def _in_century(mask: str, place: int, era: str) -> str:
    return f"-{mask[:2]}{99 - place:02}" if era == "E" else f"{mask[:2]}{place:02}"


def same_number(values: Sequence[str], first: int, second: int, year: int) -> str:
    """Return month or day of a date whose day and month are the same number: 5/5/1864."""
    one, two, y = values[first], values[second], values[year]
    if one != two:
        raise DateError(
            f"`{int(one)}/{int(two)}/{y}` may be {y}-{two}-{one} (day first) or {y}-{one}-{two} "
            "(month first); `day_first` in [dates] decides"
        )
    return one


def no_double_date(values: Sequence[str], year: int, end: int) -> str:
    """Return the year after a slash, unless it may be a double date of the Julian calendar.

    Until 1752 the year began in March in Britain and its colonies, and `1680/1` names one winter
    in both styles (common practice).
    """
    y, e = values[year], values[end]
    if y < "1753" and int(e) == int(y) + 1:
        raise DateError(
            f"`{y}/{e}` may be the years {y} to {e}, or one year in two calendars (Old and New "
            "Style)"
        )
    return e


def two_digit_year(values: Sequence[str], number: int, first: str) -> str:
    """Return the year with these two last digits in the hundred that begins with `first`."""
    start = int(first)
    return f"{start + (int(values[number]) - start) % 100:04}"
