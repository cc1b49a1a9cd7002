"""The registry of formats, and the one function that reads a source."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from lodpipe.errors import UsageError, nearest
from lodpipe.findings import Finding, Report
from lodpipe.project import Limits
from lodpipe.read import json_, jsonl, marc, xml
from lodpipe.read.options import ReadOptions
from lodpipe.records import Place, Record, Unreadable
from lodpipe.tables import csv_rows, sheet_rows

Records = Iterator[Record | Unreadable]
"""The records of a source in their order, and those that cannot be read."""

Reader = Callable[[Path, str, ReadOptions, Limits, Report], Records]


@dataclass(frozen=True, slots=True)
class Format:
    """One format: its reader, the endings that stand for it, and the options that it takes."""

    read: Reader
    endings: tuple[str, ...]
    takes: frozenset[str]


def _csv(path: Path, name: str, options: ReadOptions, limits: Limits, report: Report) -> Records:
    return _delimited(path, name, options.delimiter or ",", options, limits, report)


def _tsv(path: Path, name: str, options: ReadOptions, limits: Limits, report: Report) -> Records:
    return _delimited(path, name, options.delimiter or "\t", options, limits, report)


def _delimited(
    path: Path, name: str, delimiter: str, options: ReadOptions, limits: Limits, report: Report
) -> Records:
    return csv_rows(
        path,
        name,
        delimiter=delimiter,
        encoding=options.encoding,
        field_chars=limits.field_chars,
        record_chars=limits.record_chars,
        report=report,
    )


def _xlsx(path: Path, name: str, options: ReadOptions, limits: Limits, report: Report) -> Records:
    return sheet_rows(
        path,
        name,
        sheet=options.sheet,
        text_columns=options.text_columns,
        field_chars=limits.field_chars,
        record_chars=limits.record_chars,
        report=report,
    )


FORMATS: dict[str, Format] = {
    "csv": Format(_csv, (".csv",), frozenset({"encoding", "delimiter"})),
    "tsv": Format(_tsv, (".tsv", ".tab"), frozenset({"encoding", "delimiter"})),
    "xlsx": Format(_xlsx, (".xlsx",), frozenset({"sheet"})),
    "json": Format(json_.records, (".json",), frozenset({"encoding", "records"})),
    "jsonl": Format(jsonl.records, (".jsonl", ".ndjson"), frozenset({"encoding"})),
    "xml": Format(xml.records, (".xml",), frozenset({"encoding", "records"})),
    "marc": Format(marc.records, (".mrc", ".marc"), frozenset({"encoding", "records"})),
}
_OF_ENDING = {ending: name for name, kind in FORMATS.items() for ending in kind.endings}


def records(path: Path, name: str, options: ReadOptions, limits: Limits, report: Report) -> Records:
    """Yield the records of a source that are wanted, in their order.

    Memory is bounded by one record. Every format is read through from its beginning: beside what
    a mapping takes that is little, and none needs an index of its records.

    An XML record is an lxml element that is only whole until the next record is asked for.
    A record that cannot be read is yielded as `Unreadable`, and not reported: see
    `unreadable_finding`.

    Args:
        path: the file. `name`: its path relative to the project, for places and messages.
        options: how to read it. `limits`: what one record may cost.
        report: takes findings that are not about a whole record.

    Raises:
        UsageError: the source cannot be read at all, or an option does not belong to its format.
            What is found out only while reading is raised from the iterator.
    """
    kind = format_of(name, options)
    for option in ("delimiter", "sheet", "records"):
        if getattr(options, option) and option not in FORMATS[kind].takes:
            raise UsageError(
                f"`{option}` does not belong to {kind.upper()}, declared for `{name}`",
                hint="take it out",
            )
    share = options.share

    def shared(finding: Finding) -> None:
        if share.has(finding.place.record if finding.place else 0):
            report(finding)

    found = FORMATS[kind].read(path, name, options, limits, shared)
    return (item for item in found if share.has(place_of(item).record))


def place_of(item: Record | Unreadable) -> Place:
    """Return where a record stands, whether it can be read or not."""
    return item.origin if isinstance(item, Record) else item.place


def stands_alone(name: str, options: ReadOptions) -> bool:
    """Whether nothing but a record itself decides what a mapping makes of it.

    A path may lead out of an element of XML, or of a part of a JSON file.
    """
    return format_of(name, options) in ("csv", "tsv", "xlsx", "jsonl")


def format_of(name: str, options: ReadOptions) -> str:
    """Return the format of a source: the declared one, or what the ending of its name says."""
    if options.format:
        if options.format not in FORMATS:
            raise UsageError(
                f"`{options.format}` is not a format, declared for `{name}`",
                hint=nearest(options.format, FORMATS) or "one of " + ", ".join(FORMATS),
            )
        return options.format
    plain = name.lower().removesuffix(".gz")
    for ending, kind in _OF_ENDING.items():
        if plain.endswith(ending):
            return kind
    raise UsageError(
        f"the ending of `{name}` does not say what format it has",
        hint="declare `format`, one of " + ", ".join(f'"{kind}"' for kind in FORMATS),
    )


def unreadable_finding(unreadable: Unreadable) -> Finding:
    """Return the finding for a record that cannot be read."""
    return Finding(unreadable.code, unreadable.reason, unreadable.place, hint=unreadable.hint)
