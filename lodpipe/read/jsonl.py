"""JSON Lines: one JSON value a line (https://jsonlines.org/), in UTF-8 unless declared."""

from collections.abc import Iterator
from pathlib import Path

from lodpipe.findings import Report
from lodpipe.project import Limits
from lodpipe.read.json_ import parsed
from lodpipe.read.options import ReadOptions
from lodpipe.records import Place, Record, Unreadable, nesting_of
from lodpipe.tables.delimited import blank_rows
from lodpipe.tables.files import DAMAGED, Utf8Bytes, undecodable


def records(
    path: Path, name: str, options: ReadOptions, limits: Limits, report: Report
) -> Iterator[Record | Unreadable]:
    """Yield the value of each line; a line that is not JSON is left out and reading goes on.

    Sizes are bytes of UTF-8.

    Raises:
        UsageError: no such file, wrong encoding.
    """
    stream = Utf8Bytes(path, name, options.encoding)
    number = blank = first_blank = line = 0
    try:
        while text := stream.readline(limits.record_chars + 1):
            line += 1
            if text.isspace():
                blank += 1
                first_blank = first_blank or line
                continue
            number += 1
            if options.unparsed:
                yield Record(text, Place(name, line, number), "json")
            if options.share.has(number) and not options.unparsed:
                yield _record(text, stream, Place(name, line, number), limits)
            elif len(text) > limits.record_chars:
                _pass_over(text, stream, limits)
    except UnicodeDecodeError:
        raise undecodable(path, name, stream.codec) from None
    except DAMAGED as error:
        yield Unreadable(
            Place(name, line + 1, number + 1),
            f"the compressed file is damaged here: {error}",
            "unpack it anew",
        )
    finally:
        stream.close()
    if blank:
        report(blank_rows(blank, Place(name, first_blank)))


def _record(text: bytes, stream: Utf8Bytes, place: Place, limits: Limits) -> Record | Unreadable:
    if len(text) > limits.record_chars:
        _pass_over(text, stream, limits)
        return parsed(None, 0, place, limits)
    brackets = text.count(b"{") + text.count(b"[")
    if brackets <= limits.nesting:  # cannot be nested deeper than it has brackets
        return parsed(text, 0, place, limits)
    # the parser itself refuses more than 1,024 levels, so that this cannot run away
    record = parsed(text, 0, place, limits)
    if isinstance(record, Record) and (nesting := nesting_of(record.data)) > limits.nesting:
        return parsed(text, nesting, place, limits)
    return record


def _pass_over(text: bytes, stream: Utf8Bytes, limits: Limits) -> None:
    """Read to the end of a line that is longer than a record may be."""
    while not text.endswith(b"\n") and (more := stream.readline(limits.record_chars)):
        text = more
