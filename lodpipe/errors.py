"""The errors that a person can act on, and how each says where it happened.

LodpipeError
├── UsageError      wrong use, a faulty project file, a source that cannot be read at all: exit 2
├── EmptyError      nothing to release, or nothing was checked: exit 3
├── NotFinishedError  disk, permission, lock, broken archive, books that do not balance: exit 4
└── ValueFault      one value that cannot be used; the loop over records makes it a finding
    ├── DateError   not EDTF, or not on the calendar
    ├── IriError    not an IRI or a language tag that we may publish
    └── TermError   a key or a term that no table has

A function on one value raises; the loop over records catches `ValueFault` only, adds the
place and goes on. Any other exception is a bug and stays a traceback.
"""

from collections.abc import Iterable
from difflib import get_close_matches
from typing import ClassVar


class LodpipeError(Exception):
    """Base of every error that comes from what the user gave us, not from a bug of ours.

    Args:
        message: what is wrong, with the offending value in backticks; no full stop.
        hint: what the reader can do; empty when we do not know.
        where: the place, when the raiser already knows it.
    """

    code: ClassVar[str] = "error"
    exit_status: ClassVar[int] = 2

    def __init__(self, message: str, *, hint: str = "", where: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint
        self.where = where

    def __str__(self) -> str:
        lines = [f"error[{self.code}]: {self.message}"]
        if self.where:
            lines.append(f"  --> {self.where}")
        if self.hint:
            lines.append(f"  hint: {self.hint}")
        return "\n".join(lines)


class UsageError(LodpipeError):
    """Wrong use, a faulty project or mapping file, a source that cannot be read at all."""

    code = "usage"


class ManyErrors(UsageError):  # noqa: N818  (it is several)
    """All the faults of one file in one run; `errors` keeps each with its place."""

    code = "usage"

    def __init__(self, errors: Iterable[LodpipeError]) -> None:
        self.errors = tuple(errors)
        super().__init__(f"{len(self.errors)} faults")

    def __str__(self) -> str:
        return "\n".join(str(error) for error in self.errors)


class EmptyError(LodpipeError):
    """The release would be empty, or nothing was checked."""

    code = "empty"
    exit_status = 3


class NotFinishedError(LodpipeError):
    """Not finished and nothing released: disk, permission, lock, archive, books."""

    code = "not-finished"
    exit_status = 4


class ValueFault(LodpipeError):  # noqa: N818  (a fault of the data, not of the program)
    """One value that cannot be used. Stages turn it into a finding with a place."""

    code = "value"


class DateError(ValueFault):
    """A date that is not EDTF, or not on the calendar."""

    code = "date"


class IriError(ValueFault):
    """An IRI, a key or a language tag that may not be published."""

    code = "iri"


class TermError(ValueFault):
    """A key, term or class that no table has."""

    code = "term"


def nearest(word: str, known: Iterable[str], *, most: int = 3) -> str:
    """Return a hint naming the known words nearest to one that is not known.

    >>> nearest("titel", ["title", "maker"])
    'did you mean `title`?'
    """
    close = get_close_matches(word, sorted(set(known)), n=most, cutoff=0.6)
    if not close:
        return ""
    return "did you mean " + " or ".join(f"`{name}`" for name in close) + "?"
