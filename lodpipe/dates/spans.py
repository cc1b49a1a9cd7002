"""Dates and spans while a shape is read: pieces of EDTF that do not have their values yet."""

from dataclasses import dataclass, replace

from lodpipe.dates.edtf import ALL_OF, DATE, INTERVAL, ONE_OF
from lodpipe.dates.plans import Piece
from lodpipe.dates.single import SIGNS

OPEN, UNKNOWN_END = "..", ""


@dataclass(frozen=True, slots=True)
class Simple:
    """One EDTF date: its pieces and its mark (bits as in `single.MARKS`)."""

    pieces: tuple[Piece, ...]
    mark: int = 0

    def text(self) -> tuple[Piece, ...]:
        """Return the pieces with the mark behind them."""
        return (*self.pieces, SIGNS[self.mark]) if self.mark else self.pieces

    def marked(self, mark: int) -> "Simple":
        """Return the date with one mark more."""
        return replace(self, mark=self.mark | mark)


End = Simple | None
"""None: no bound."""


@dataclass(frozen=True, slots=True)
class Span:
    """What one or several dates come to.

    Attributes:
        form: of EDTF (`edtf.DATE` and so on).
        members: first and last date of each member; a date or an interval has one.
        missing: what stands for an end of an interval that is not there: `..` or nothing.
    """

    form: str
    members: tuple[tuple[End, End], ...]
    missing: str = OPEN

    @property
    def first(self) -> End:
        """The first date of the first member."""
        return self.members[0][0]

    @property
    def simple(self) -> Simple | None:
        """The date, when it is one date and nothing else."""
        return self.first if self.form == DATE else None

    def marked(self, mark: int, *, start: bool = True, end: bool = True) -> "Span":
        """Return the span with a mark on the first and last date of each member, or on one."""
        if not mark:
            return self
        if self.form == DATE and self.first is not None:
            return date(self.first.marked(mark))
        members = tuple(
            (
                low.marked(mark) if low and start else low,
                high.marked(mark) if high and end else high,
            )
            for low, high in self.members
        )
        return replace(self, members=members)

    def pieces(self) -> tuple[Piece, ...]:
        """Return the pieces of its EDTF."""
        low, high = self.members[0]
        if self.form == DATE and low is not None:
            return low.text()
        if self.form == INTERVAL:
            return (
                *(low.text() if low else (self.missing,)),
                "/",
                *(high.text() if high else (self.missing,)),
            )
        made: list[Piece] = ["[" if self.form == ONE_OF else "{"]
        for position, (low, high) in enumerate(self.members):
            if position:
                made.append(",")
            made.extend(low.text() if low else ())
            if low != high:
                made.append("..")
                made.extend(high.text() if high else ())
        made.append("]" if self.form == ONE_OF else "}")
        return tuple(made)


def date(simple: Simple) -> Span:
    """Return the span of one date."""
    return Span(DATE, ((simple, simple),))


def within(low: End, high: End) -> Span:
    """Return the span of something that happened once between two dates."""
    return Span(ONE_OF, ((low, high),))


def interval(low: End, high: End, missing: str = OPEN) -> Span:
    """Return the span of something that went on from one date to another."""
    return Span(INTERVAL, ((low, high),), missing)


def between(left: Span, right: Span) -> Span:
    """Return the range from one span to another.

    EDTF intervals have plain dates as ends. Where an end is itself a choice (`1921 or 1922`) or
    has only one bound (`after 1900`), the range becomes all that lies between the bounds: that
    says less, and nothing that is not so.
    """
    if left.simple and right.simple:
        return interval(left.simple, right.simple)
    lows = [low for low, _ in left.members]
    highs = [high for _, high in right.members]
    if None in lows:
        lows = [None]
    if None in highs:
        highs = [None]
    return Span(ONE_OF, tuple((low, high) for low in lows for high in highs))


def alternatives(spans: list[Span]) -> Span:
    """Return one of several spans."""
    return Span(ONE_OF, tuple(member for span in spans for member in span.members))


def together(spans: list[Span]) -> Span:
    """Return all of several spans, or one of their dates where a member is itself a choice."""
    if len(spans) == 1:
        return spans[0]
    form = ONE_OF if any(span.form == ONE_OF for span in spans) else ALL_OF
    return Span(form, tuple(member for span in spans for member in span.members))


@dataclass(slots=True)
class Point:
    """One end of a range, or a date alone; it may still lack its year, its month or its unit.

    Attributes:
        y, m, d: places of the year, month and day.
        number: place of a bare number and its letter: a day, or the elided end of a year.
        ordinal: place of an ordinal; without a century it takes that of the next point.
        century: place of the ordinal of a century, for a point before that lacks it.
        season: place of the name of a season.
        part: place of early, mid or late without what it is a part of.
        era: `E` before, `F` after Christ.
        span: the meaning, where it is not year, month and day.
        mark: marks of its own.
        about_behind: whether `circa` stands behind it.
    """

    y: int | None = None
    m: int | None = None
    d: int | None = None
    number: tuple[int, str] | None = None
    ordinal: int | None = None
    first_century: bool = False
    century: int | None = None
    part: int | None = None
    season: int | None = None
    decade: int | None = None
    hundreds: int | None = None
    era: str = ""
    span: Span | None = None
    mark: int = 0
    about_behind: bool = False
