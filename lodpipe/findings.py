"""Findings: what to tell the user about the data, and the one list of their codes.

A finding names what is wrong, where, and what to do. Codes are words; each stands once in
findings.toml with a title, the severity and the cure that it has unless the finding says
otherwise, what it means, and an example. The page of each code in the guides is made from it.
"""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from importlib.resources import files

from lodpipe.errors import LodpipeError
from lodpipe.records import Place

VIOLATION, WARNING, INFO = "violation", "warning", "info"
SEVERITIES = (VIOLATION, WARNING, INFO)
"""From worst to mildest; the gate compares by position."""


@dataclass(frozen=True, slots=True)
class Code:
    """One kind of finding, for the reader.

    Attributes:
        title: what it is. `severity`: the usual one. `meaning`: what follows from it.
        cure: what to do, where a finding has no hint of its own; empty only where every message
            says it.
        message: an example, and its `place`.
    """

    title: str
    severity: str
    meaning: str
    cure: str
    message: str
    place: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something to tell the user about the data.

    Attributes:
        code: a key of `CODES`.
        message: what is wrong, lower case, the offending text in backticks, no full stop.
        place: where in the source; None when it concerns the project as a whole.
        severity: `violation`, `warning` or `info`; empty takes the severity of the code.
        value: the offending value, verbatim.
        hint: what to do; empty takes the cure of the code.
        uri: the document concerned, `path` the JSON Pointer in it.
        rule: URL of the published rule; IRI of the shape where the shape itself is meant.
        shape: IRI of the shape that found it, when one did.
    """

    code: str
    message: str
    place: Place | None = None
    severity: str = ""
    value: str = ""
    hint: str = ""
    uri: str = ""
    path: str = ""
    rule: str = ""
    shape: str = ""

    def __post_init__(self) -> None:
        known = CODES[self.code]
        if not self.severity:
            object.__setattr__(self, "severity", known.severity)
        if not self.hint:
            object.__setattr__(self, "hint", known.cure)


Report = Callable[[Finding], None]
"""What a stage calls for each finding: the caller decides where findings go."""


def finding_of(
    error: LodpipeError, place: Place | None, *, code: str = "", uri: str = ""
) -> Finding:
    """Return the finding for an error that was raised on one value, with the place added."""
    return Finding(
        code or (error.code if error.code in CODES else "value"),
        error.message,
        place,
        hint=error.hint,
        uri=uri,
    )


def at_least(severity: str, gate: str) -> bool:
    """Return whether a severity is as bad as the gate, or worse."""
    return SEVERITIES.index(severity) <= SEVERITIES.index(gate)


def _codes() -> dict[str, Code]:
    text = (files("lodpipe") / "findings.toml").read_text(encoding="utf-8")
    return {code: Code(**told) for code, told in tomllib.loads(text).items()}


CODES = _codes()
