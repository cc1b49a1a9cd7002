"""What reading a date text can come to, and what a project declares about doubtful texts."""

from dataclasses import dataclass

from lodpipe.dates.edtf import DATE, Edtf, parse
from lodpipe.dates.tables import LANGUAGES
from lodpipe.errors import UsageError

_ALLOWED = {
    "seasons": ("north", "south", "north begins", "north ends", "south begins", "south ends"),
    "c_years": ("copyright", "circa"),
    "hundreds": ("decade", "century"),
}


@dataclass(frozen=True, slots=True)
class Policy:
    """What ambiguous texts mean in one project: the `[dates]` keys; None is not declared.

    Attributes:
        day_first: whether `3/1/1828` is 3 January (True) or 1 March (False).
        year_month: whether `1901-07` is July 1901 (True) or 1901 to 1907 (False).
        two_digit_years: first year of the hundred that two-digit years stand for: with 1850,
            `5/6/64` is of 1864 and `5/6/49` of 1949.
        seasons: `north` or `south`, and for a season that goes over New Year whether the year
            that is written is the one in which it `begins` or `ends`: `north begins`. `north` or
            `south` alone leaves that season unread.
        present: what `1964-present` ends with: `open`, or an EDTF date.
        c_years: whether `c1911` (no full stop, no space) is the year of a `copyright` or `circa`.
        hundreds: whether `1900s` is a `decade` or a `century`.
        languages: word tables to read with; None: all.
    """

    day_first: bool | None = None
    year_month: bool | None = None
    two_digit_years: int | None = None
    seasons: str | None = None
    present: str | None = None
    c_years: str | None = None
    hundreds: str | None = None
    languages: tuple[str, ...] | None = None

    def __post_init__(self) -> None:
        for key, allowed in _ALLOWED.items():
            value = getattr(self, key)
            if value is not None and value not in allowed:
                raise UsageError(
                    f"`{value}` is not a value of `{key}` in [dates]",
                    hint="it takes " + ", ".join(f"`{one}`" for one in allowed),
                )
        for language in self.languages or ():
            if language not in LANGUAGES:
                raise UsageError(
                    f"no table of date words for the language `{language}`",
                    hint="there is " + ", ".join(f"`{one}`" for one in LANGUAGES),
                )
        if self.present not in (None, "open") and parse(self.present or "").form != DATE:
            raise UsageError(
                f"`present` in [dates] is one date or `open`, not `{self.present}`",
                hint="write a day such as `2026-01-30`, or leave it out",
            )


@dataclass(frozen=True, slots=True)
class Reading:
    """A text that was read: as it stood, what it means, and what else it says."""

    verbatim: str
    edtf: Edtf
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Events:
    """A text that names what happened, each with its date; "" where it has no word for it."""

    verbatim: str
    events: tuple[tuple[str, Reading], ...]


@dataclass(frozen=True, slots=True)
class Unread:
    """A text that was not read, and why; `undated` when it says that there is no date."""

    verbatim: str
    reason: str
    undated: bool = False
