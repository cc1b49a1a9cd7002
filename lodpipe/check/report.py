"""Reports of a check: pure functions from entries to groups, JSON and CSV.

Text, JUnit, the W3C validation report and the HTML page have modules of their own beside this one
(`report_text`, `report_xml`, `report_turtle`, `report_page`). Every format names the hashes of data and shapes
and the tool, so that a second person can see that two reports are of the same thing; none names
the time, so that the same check gives the same bytes.
"""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import orjson

from lodpipe.check.results import Result
from lodpipe.check.shapes import short_name
from lodpipe.findings import CODES, SEVERITIES, VIOLATION, Finding, at_least
from lodpipe.records import Place, TraceEntry


@dataclass(frozen=True, slots=True)
class About:
    """What a report is about.

    Attributes:
        title: what was checked, in the user's words: `release 7`, `export/linked-art`.
        tool: name and version of the tool. `data`, `shapes`: SHA-256 in hex.
        documents: how many were checked; `refereed` of them by both engines.
        lines: of ledgers and facts that were checked.
        focus: shape -> number of nodes that it met; `messages`: shape -> what it says.
        gate: severity from which on a finding stops a document.
    """

    title: str
    tool: str
    data: str
    shapes: str
    documents: int
    focus: Mapping[str, int]
    messages: Mapping[str, str] = field(default_factory=dict)
    refereed: int = 0
    engine: str = "compiled"
    gate: str = VIOLATION
    lines: int = 0

    def is_empty(self) -> bool:
        """Return whether nothing was checked."""
        return not (self.documents or self.lines) or not sum(self.focus.values())

    def amount(self) -> str:
        """Return how much was checked: `366 documents`, `56 lines of evidence`."""
        lines = counted(self.lines, "line") + " of evidence"
        if not self.documents and self.lines:
            return lines
        return counted(self.documents, "document") + (f" and {lines}" if self.lines else "")

    def hashes(self) -> dict[str, str]:
        """Return what tells one check from another."""
        return {"tool": self.tool, "data_sha256": self.data, "shapes_sha256": self.shapes}

    def unused(self) -> list[str]:
        """Return the shapes that met no node."""
        return sorted(set(self.messages) - set(self.focus))


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a report: a result of a shape, or a finding of another kind.

    `places` are the cells that the value came from; all of them, where it came from several.
    `mapped` says of each where a mapping reads it (`mappings/items.yaml:12`), as far as one does.
    """

    severity: str
    shape: str
    message: str
    value: str = ""
    uri: str = ""
    path: str = ""
    pointer: str = ""
    places: tuple[TraceEntry, ...] = ()
    hint: str = ""
    component: str = ""
    rule: str = ""
    focus: str = ""
    term: str = ""
    mapped: tuple[str, ...] = ()

    def where(self) -> str:
        """Return the first place, and how many more there are; the node when there is none."""
        if not self.places:
            return self.pointer or (self.focus.removeprefix(self.uri) if self.focus else "")
        more = f" and {len(self.places) - 1} more" if len(self.places) > 1 else ""
        return f"{self.places[0].place}{more}"

    def kind(self) -> tuple[str, ...]:
        """Return what entries share that are told together.

        A shape has few messages, which say what to do; the message of another finding names its
        own value, so all findings of one code are of one kind.
        """
        if self.component or self.rule:
            return (self.severity, self.shape, self.path, self.message, self.hint, self.rule)
        return (self.severity, self.shape)


def entry_of(
    result: Result, places: Iterable[TraceEntry] = (), mapped: tuple[str, ...] = ()
) -> Entry:
    """Return the entry of a result of a shape, with the cells that its node came from."""
    return Entry(
        severity=result.severity,
        shape=result.shape,
        message=result.message,
        value=result.value,
        uri=result.uri,
        path=result.path,
        pointer=result.pointer,
        places=tuple(places),
        component=result.component,
        rule=result.rule,
        focus=result.focus,
        term=result.term,
        mapped=mapped,
    )


def entry_of_finding(finding: Finding, mapped: tuple[str, ...] = ()) -> Entry:
    """Return the entry of a finding; without a shape its code stands in the place of it."""
    place = finding.place
    return Entry(
        severity=finding.severity,
        shape=finding.shape or finding.code,
        message=finding.message,
        value=finding.value,
        uri=finding.uri,
        pointer=finding.path,
        places=() if place is None else (TraceEntry(finding.path, place.column, place),),
        hint=finding.hint,
        rule=finding.rule,
        mapped=mapped,
    )


@dataclass(frozen=True, slots=True)
class Group:
    """Entries of one kind: one shape, path and message, or one code.

    `message` is what they all say; where each says something else (`varied`), what their code
    means. `hint` is empty unless they share one.
    """

    severity: str
    shape: str
    path: str
    message: str
    hint: str
    rule: str
    entries: tuple[Entry, ...]
    varied: bool = False

    @property
    def documents(self) -> int:
        """Number of documents concerned."""
        return len({entry.uri for entry in self.entries})

    def mapped(self) -> list[str]:
        """Return the lines of mappings that read the cells concerned, each once."""
        return mapped_by(self.entries)


def mapped_by(entries: Iterable[Entry]) -> list[str]:
    """Return the lines of mappings that read the first cell of entries, each once, in order."""
    return list(dict.fromkeys(e.mapped[0] for e in entries if e.mapped and e.mapped[0]))


def groups(entries: Iterable[Entry]) -> list[Group]:
    """Return entries grouped by kind: worst first, then most frequent."""
    found: dict[tuple[str, ...], list[Entry]] = {}
    for entry in entries:
        found.setdefault(entry.kind(), []).append(entry)
    made = []
    for members in found.values():
        first = members[0]
        varied = any(entry.message != first.message for entry in members)
        message = meaning_of(first.shape) if varied else first.message
        hint = first.hint if all(entry.hint == first.hint for entry in members) else ""
        ordered = tuple(sorted(members, key=_order))
        made.append(
            Group(
                *(first.severity, first.shape, first.path, message, hint, first.rule),
                entries=ordered,
                varied=varied,
            )
        )
    return sorted(
        made,
        key=lambda g: (SEVERITIES.index(g.severity), -len(g.entries), g.shape, g.path, g.message),
    )


def meaning_of(code: str) -> str:
    """Return what a code of findings means, in a line: the kind of finding, and what follows."""
    known = CODES.get(code)
    return f"{known.title}: {known.meaning[0].lower()}{known.meaning[1:-1]}" if known else ""


def _order(entry: Entry) -> tuple[Any, ...]:
    place = entry.places[0].place if entry.places else Place("")
    return (
        (place.file, place.sheet, place.line, place.record, place.column),
        (entry.uri, entry.pointer, entry.focus, entry.component, entry.term, entry.message),
    )


def counted(number: int, word: str) -> str:
    """Return a number and its word in the right form, with thousands apart.

    >>> counted(2000, "violation")
    '2,000 violations'
    """
    return f"{number:,} {word}" + ("" if number == 1 else "s")


def headline(entries: Sequence[Entry], about: About) -> str:
    """Return the one sentence that says how it went; never `conforms` when nothing was checked."""
    nodes = sum(about.focus.values())
    checked = (
        f"{about.title}: {about.amount()} checked, "
        f"{counted(len(about.focus), 'shape')} met {counted(nodes, 'node')}"
    )
    if about.is_empty():
        return f"{checked}: nothing was checked"
    by_severity = [
        counted(count, severity)
        for severity in SEVERITIES
        if (count := sum(entry.severity == severity for entry in entries))
    ]
    return f"{checked}: " + (", ".join(by_severity) or "nothing was found")


def passes(entries: Iterable[Entry], about: About) -> bool:
    """Return whether a check lets the data through: something was checked, nothing at the gate."""
    return not about.is_empty() and not any(
        at_least(entry.severity, about.gate) for entry in entries
    )


def shortened(text: str, most: int = 60) -> str:
    """Return a value on one line, with its middle left out when it is long."""
    flat = " ".join(text.split())
    return flat if len(flat) <= most else f"{flat[: most - 20]} ... {flat[-15:]}"


def as_json(entries: Sequence[Entry], about: About) -> bytes:
    """Return the report for a program: everything that the others have."""
    report = {
        "title": about.title,
        **about.hashes(),
        "engine": about.engine,
        "gate": about.gate,
        "passes": passes(entries, about),
        "documents": about.documents,
        "lines": about.lines,
        "refereed": about.refereed,
        "shapes": [
            {
                "shape": name,
                "message": about.messages.get(name, ""),
                "nodes": about.focus.get(name, 0),
            }
            for name in sorted({*about.messages, *about.focus})
        ],
        "counts": {s: sum(entry.severity == s for entry in entries) for s in SEVERITIES},
        "results": [_data(entry) for group in groups(entries) for entry in group.entries],
    }
    return orjson.dumps(report, option=orjson.OPT_INDENT_2) + b"\n"


def _data(entry: Entry) -> dict[str, Any]:
    return {
        "severity": entry.severity,
        "shape": entry.shape,
        "component": entry.component,
        "message": entry.message,
        "hint": entry.hint,
        "value": entry.value,
        "document": entry.uri,
        "pointer": entry.pointer,
        "focus": entry.focus,
        "path": entry.path,
        "rule": entry.rule,
        "places": [
            {
                "file": step.place.file,
                "sheet": step.place.sheet,
                "line": step.place.line,
                "record": step.place.record,
                "column": step.place.column,
                "field": step.field,
                "mapping": mapping,
            }
            for step, mapping in zip(
                entry.places, entry.mapped or [""] * len(entry.places), strict=True
            )
        ],
    }


COLUMNS = (
    *("severity", "shape", "message", "value", "file", "sheet", "line", "record", "column"),
    *("other_places", "mapping", "document", "pointer", "path", "component", "rule"),
    *("tool", "data_sha256", "shapes_sha256"),
)


def as_csv(entries: Sequence[Entry], about: About) -> bytes:
    """Return the report as a table (UTF-8 with BOM, RFC 4180), for a spreadsheet program.

    A cell that such a program would run as a formula gets an apostrophe before it:
    <https://owasp.org/www-community/attacks/CSV_Injection>. With no results one row says so.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    hashes = tuple(about.hashes().values())
    for group in groups(entries):
        for entry in group.entries:
            writer.writerow(harmless(str(cell)) for cell in (*_cells(entry), *hashes))
    if not entries:
        writer.writerow(("none", "", headline(entries, about), *[""] * 13, *hashes))
    return b"\xef\xbb\xbf" + out.getvalue().encode()


def _cells(entry: Entry) -> tuple[object, ...]:
    place = entry.places[0].place if entry.places else Place("")
    others = "; ".join(str(step.place) for step in entry.places[1:])
    message = f"{entry.message} ({entry.hint})" if entry.hint else entry.message
    return (
        *(entry.severity, short_name(entry.shape), message, entry.value),
        *(place.file, place.sheet, place.line or "", place.record or "", place.column),
        *(
            others,
            "; ".join(mapped_by([entry])),
            entry.uri,
            entry.pointer,
            entry.path,
            entry.component,
            entry.rule,
        ),
    )


def harmless(cell: str) -> str:
    """Return a cell that no spreadsheet program takes for a formula.

    >>> harmless("=1+1")
    "'=1+1"
    """
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r", "\n") else cell
