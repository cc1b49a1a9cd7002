"""Findings: what to tell the user about the data, and the one list of their codes.

A finding names what is wrong, where, and what to do. Codes are words; each stands once in
`CODES` with a title, the severity that it has unless the finding says otherwise, and what it
means. The page of each code in the documentation is made from this table.
"""

from collections.abc import Callable
from dataclasses import dataclass

from lodpipe.errors import LodpipeError
from lodpipe.records import Place

VIOLATION, WARNING, INFO = "violation", "warning", "info"
SEVERITIES = (VIOLATION, WARNING, INFO)
"""From worst to mildest; the gate compares by position."""


@dataclass(frozen=True, slots=True)
class Code:
    """One kind of finding: a title, its usual severity, and what it means for the reader."""

    title: str
    severity: str
    meaning: str


@dataclass(frozen=True, slots=True)
class Finding:
    """Something to tell the user about the data.

    Attributes:
        code: a key of `CODES`.
        message: what is wrong, lower case, the offending text in backticks, no full stop.
        place: where in the source; None when it concerns the project as a whole.
        severity: `violation`, `warning` or `info`; empty takes the severity of the code.
        value: the offending value, verbatim.
        hint: what to do.
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


def _code(title: str, severity: str, meaning: str) -> Code:
    return Code(title, severity, meaning)


CODES: dict[str, Code] = {
    # reading
    "unreadable": _code(
        "a record that cannot be read", VIOLATION, "The record is left out; the others are read."
    ),
    "header": _code(
        "a fault in the header row",
        WARNING,
        "Two columns share a name, or one has none; they are told apart by number.",
    ),
    "ragged": _code(
        "a row with too many or too few cells",
        WARNING,
        "Missing cells are empty; surplus cells are kept in the finding and not mapped.",
    ),
    "blank-row": _code("blank rows", INFO, "Rows without any value are passed over."),
    "too-long": _code(
        "a value longer than the limit",
        VIOLATION,
        "The record is left out; raise `[limits]` if the value is right.",
    ),
    "characters": _code(
        "control or replacement characters",
        WARNING,
        "The text was damaged before it came here; the characters are taken out of what is published.",
    ),
    "typed-cell": _code(
        "a spreadsheet cell that is not text",
        WARNING,
        "The spreadsheet program turned a date or key into a number; format the column as text.",
    ),
    # mapping
    "key": _code(
        "a record without a usable key",
        VIOLATION,
        "A document needs a stable identity; the record is left out.",
    ),
    "duplicate": _code(
        "two records with one key",
        WARNING,
        "One of them is mapped, whatever the order of the rows; the others are counted as duplicates.",
    ),
    "pattern": _code(
        "a value that its pattern does not match",
        WARNING,
        "The parts that the pattern should give stay empty.",
    ),
    "parallel": _code(
        "parallel columns of different length",
        WARNING,
        "The columns are read as far as the leading one goes.",
    ),
    "no-branch": _code(
        "a value that no branch takes up",
        WARNING,
        "`when` or `choose` tests the value and no case fits, so nothing is made of it.",
    ),
    "term": _code(
        "a term that the table does not have",
        WARNING,
        "Terms are looked up exactly and never guessed; add a line to the table.",
    ),
    "no-records": _code(
        "a source without records",
        WARNING,
        "It was read, and there is nothing in it.",
    ),
    "undecided": _code(
        "something that waits for a decision",
        WARNING,
        "Columns and terms that are marked `to decide` are left out of what is published.",
    ),
    "unmapped": _code(
        "a field that is neither mapped nor dropped",
        WARNING,
        "Map it, or list it under `dropped` with the reason.",
    ),
    "number": _code("a value that is not a number", WARNING, "Nothing is published for it."),
    "size": _code(
        "dimensions that cannot be read",
        WARNING,
        "The text is kept as it stands; no measured value is published.",
    ),
    "url": _code("a value that is not a web address", WARNING, "Nothing is published for it."),
    "date": _code(
        "a date that cannot be read",
        WARNING,
        "The words are kept as the name of the time span, without days.",
    ),
    "date-disagrees": _code(
        "a date text and machine dates that disagree",
        WARNING,
        "The text is published; look at the source.",
    ),
    "iri": _code("something that cannot be an IRI", VIOLATION, "Nothing is published under it."),
    "join": _code(
        "a key that the joined file does not have",
        WARNING,
        "The record is mapped without the joined rows.",
    ),
    "value": _code("a value that cannot be used", WARNING, "Nothing is published for it."),
    # assembling
    "disagreement": _code(
        "records that disagree on one value",
        WARNING,
        "The source with the highest rank wins, then the lowest key.",
    ),
    "class-clash": _code(
        "records that disagree on the class of a document", VIOLATION, "The document is stopped."
    ),
    "dangling": _code(
        "a link to something that is not there",
        WARNING,
        "The link is taken out of what is published.",
    ),
    "cycle": _code(
        "things that are part of one another", VIOLATION, "The documents of the circle are stopped."
    ),
    "doubted-value": _code(
        "a plain value that a claim doubts",
        WARNING,
        "The doubt wins: the value is published as a claim only, not as a fact.",
    ),
    "claim-homeless": _code(
        "a claim that finds no node",
        VIOLATION,
        "The thing, or the node of the thing that the aspect needs, is not there.",
    ),
    # evidence
    "unknown-file": _code(
        "a file of the evidence folder that nothing reads", WARNING, "What it says is not weighed."
    ),
    "column": _code("an unknown column", VIOLATION, "The column is not read."),
    "unknown-key": _code("a key that no document has", VIOLATION, "The line is not used."),
    "ambiguous-key": _code(
        "a key that several documents have", VIOLATION, "Write the path, not only its last part."
    ),
    "unknown-word": _code(
        "a word that the list does not have",
        VIOLATION,
        "The line is not used; where it says a role, the word is kept as it stands.",
    ),
    "ledger": _code(
        "a ledger line that breaks a rule", VIOLATION, "The line is not used until it is mended."
    ),
    "no-grounds": _code(
        "a claim without basis and without source",
        VIOLATION,
        "Say on what grounds, or name a source.",
    ),
    "fact": _code("a fact that cannot be used", VIOLATION, "The row is not used."),
    "layout": _code("a layout row that cannot be used", WARNING, "The row is not used."),
    "image": _code("an image that cannot be used", WARNING, "The picture is not published."),
    "access": _code(
        "an access value that cannot be read", WARNING, "What it stands for is withheld."
    ),
    "withheld": _code(
        "something left out because of what it names",
        INFO,
        "It names something that is withheld; this line is for the house only.",
    ),
    "renamed": _code(
        "an old address that leads nowhere", WARNING, "It has a tombstone until its row is mended."
    ),
    "review-due": _code(
        "an access that was to be looked at again",
        WARNING,
        "It holds until somebody changes it: ask those at whose wish it was made.",
    ),
    "left-alone": _code(
        "something that only withheld things point at",
        WARNING,
        "It may tell of them: withhold it too, or let something else point at it.",
    ),
    "names-withheld": _code(
        "a text that names something withheld",
        WARNING,
        "Words are not withheld by themselves: decide whether they may stand.",
    ),
    # weighing
    "contradicted": _code(
        "a claim that the evidence contradicts", WARNING, "No day is left on which it could hold."
    ),
    "evidence-conflict": _code(
        "facts that contradict one another",
        WARNING,
        "On these days nothing is concluded from them.",
    ),
    # between documents
    "number-twice": _code(
        "two things with one accession number",
        WARNING,
        "One of them is wrong: a number names one thing.",
    ),
    "outside-whole": _code(
        "a part that is younger than its whole",
        WARNING,
        "It was made only after the whole was finished.",
    ),
    "page-order": _code(
        "pages out of order", WARNING, "A page number stands twice, or is missing."
    ),
    # checking
    "shape": _code("a document that breaks a shape", VIOLATION, "See the message of the shape."),
    "shape-unused": _code(
        "a shape that met no node",
        WARNING,
        "It checked nothing in this release; look whether its target is right.",
    ),
    "shape-term": _code(
        "an unknown term in a shape", VIOLATION, "A misspelt `sh:` term checks nothing."
    ),
    "shape-fault": _code(
        "a shape that says what SHACL does not allow",
        VIOLATION,
        "It checks nothing, or less than it seems to.",
    ),
    "shape-refused": _code(
        "a shape outside of SHACL Core", INFO, "pySHACL checks it alone, which takes longer."
    ),
    "shape-off": _code("a shape that is switched off", INFO, "It checks nothing."),
    "referee": _code(
        "two engines that disagree",
        VIOLATION,
        "The compiled shapes and the referee give different answers.",
    ),
    "context": _code(
        "JSON-LD whose context is not to be had",
        WARNING,
        "No triples can be made of the document, so nothing of it was checked.",
    ),
    "no-rules": _code(
        "a file that no rule is there for",
        INFO,
        "It belongs to another part of IIIF, or to an earlier version; nothing of it was checked.",
    ),
    "no-project": _code(
        "a ledger outside of a project",
        INFO,
        "Its keys were not looked up, since there are no documents that could have them.",
    ),
    "dropped-key": _code(
        "a key that JSON-LD drops",
        VIOLATION,
        "The context does not know it: it stands in the JSON, and no triple says it.",
    ),
    "edm-not-sent": _code(
        "a record that is not sent to aggregators",
        WARNING,
        "They would refuse it, or it would say more than we know; other formats have the thing.",
    ),
    "stopped": _code("a document stopped at the gate", INFO, "It stays published as it last was."),
}
