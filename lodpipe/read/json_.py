"""JSON documents (RFC 8259) with records somewhere inside them."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import orjson

from lodpipe.errors import UsageError, nearest
from lodpipe.findings import Report
from lodpipe.project import Limits
from lodpipe.read.json_path import ANY, Step, pointer_of, steps_of
from lodpipe.read.json_scan import END, BrokenError, Scanner
from lodpipe.read.options import ReadOptions
from lodpipe.records import Place, Record, Unreadable
from lodpipe.tables.delimited import too_long
from lodpipe.tables.files import DAMAGED, Utf8Bytes, undecodable

_MOST_NAMES = 50  # member names that we remember for a message


def records(
    path: Path, name: str, options: ReadOptions, limits: Limits, report: Report
) -> Iterator[Record | Unreadable]:
    """Yield the values that `options.records` leads to, each with its line and JSON Pointer.

    Without `records` they are the elements of an outermost array, or the one outermost object.
    Sizes are bytes of UTF-8. Where the document itself is broken, what came before is kept, and
    one Unreadable stands for the rest.

    Raises:
        UsageError: no such file, wrong encoding, a path that leads nowhere.
    """
    steps = steps_of(options.records, name) if options.records else None
    stream = Utf8Bytes(path, name, options.encoding)
    document = _Document(name, stream, limits)
    try:
        yield from document.records(steps)
    except UnicodeDecodeError:
        raise undecodable(path, name, stream.codec) from None
    except BrokenError as error:
        yield document.broken(error.reason, error.line)
    except DAMAGED as error:
        yield document.broken(f"the compressed file is damaged: {error}", document.line)
    finally:
        stream.close()


class _Document:
    """State of reading one document."""

    def __init__(self, name: str, stream: Utf8Bytes, limits: Limits) -> None:
        self.name, self.limits = name, limits
        self.scan = Scanner(stream.read, limits.record_chars)
        self.record = 0
        self.reached = 0  # steps of the path that something was found for
        self.names: dict[int, list[str]] = {}  # member names where a step found nothing

    @property
    def line(self) -> int:
        return self.scan.line

    def broken(self, reason: str, line: int) -> Unreadable:
        """Return what stands for the rest of a document that is broken."""
        self.record += 1
        return Unreadable(
            Place(self.name, line, self.record),
            f"{reason}; what follows cannot be read",
            "mend the file, or ask its maker for JSON Lines",
        )

    def records(self, steps: tuple[Step, ...] | None) -> Iterator[Record | Unreadable]:
        first = self.scan.peek()
        if first == END:
            raise UsageError(
                f"`{self.name}` is empty",
                hint="look whether it is the right file, and whether it was saved whole",
            )
        if steps is None:
            steps = (ANY,) if first == ord("[") else ()
        yield from self._walk(steps, 0, ())
        if not self.record and self.reached < len(steps) and not self._empty_list(steps):
            raise self._nowhere(steps)
        if self.scan.peek() != END:
            raise BrokenError("text follows the end of the document", self.line)

    def _empty_list(self, steps: tuple[Step, ...]) -> bool:
        return steps[-1] is ANY and self.reached == len(steps) - 1

    def _nowhere(self, steps: tuple[Step, ...]) -> UsageError:
        step = steps[self.reached]
        names = self.names.get(self.reached, [])
        missing = "any element" if step is ANY else f"`{step}`"
        hint = nearest(str(step), names) if step is not ANY else ""
        if not hint and names:
            hint = "there is " + ", ".join(f"`{name}`" for name in names[:10])
        return UsageError(
            f"`records` leads nowhere in `{self.name}`: {missing} is not there", hint=hint
        )

    def _walk(
        self, steps: tuple[Step, ...], depth: int, keys: tuple[str | int, ...]
    ) -> Iterator[Record | Unreadable]:
        if depth == len(steps):
            yield self._record(keys)
            return
        opening = self.scan.peek()
        if opening == ord("{"):
            members = self._members()
        elif opening == ord("["):
            members = self._elements()
        else:
            self.scan.value()
            return
        if steps[depth] is ANY:
            self.reached = max(self.reached, depth)
        for key in members:
            if steps[depth] is ANY or key == steps[depth]:
                self.reached = max(self.reached, depth + 1)
                yield from self._walk(steps, depth + 1, (*keys, key))
            else:
                if isinstance(key, str) and len(self.names.setdefault(depth, [])) < _MOST_NAMES:
                    self.names[depth].append(key)
                self.scan.value()

    def _members(self) -> Iterator[str | int]:
        """Yield each member name of an object; the caller passes over the value in between."""
        scan = self.scan
        scan.take(b"{")
        if scan.peek() == ord("}"):
            scan.take(b"}")
            return
        while True:
            if scan.peek() != ord('"'):
                scan.take(b'"')
            name, _ = scan.value()
            if name is None:
                raise BrokenError("a member name is longer than a record may be", self.line)
            try:
                text = str(orjson.loads(name))
            except orjson.JSONDecodeError as error:
                name.decode()
                raise BrokenError(f"a member name is not JSON: {error.msg}", self.line) from None
            scan.take(b":")
            yield text
            if scan.take(b",}") == b"}":
                return
            scan.peek()

    def _elements(self) -> Iterator[str | int]:
        """Yield each index of an array; the caller passes over the value in between."""
        scan = self.scan
        scan.take(b"[")
        if scan.peek() == ord("]"):
            scan.take(b"]")
            return
        index = 0
        while True:
            yield index
            index += 1
            if scan.take(b",]") == b"]":
                return

    def _record(self, keys: tuple[str | int, ...]) -> Record | Unreadable:
        self.record += 1
        self.scan.peek()
        place = Place(self.name, self.line, self.record, "", pointer_of(keys))
        text, nesting = self.scan.value()
        return parsed(text, nesting, place, self.limits)


def parsed(text: bytes | None, nesting: int, place: Place, limits: Limits) -> Record | Unreadable:
    """Return the record that a JSON text holds, or what is wrong with it.

    Args:
        text: the bytes of one value; None when they were more than a record may have.
        nesting: how deep its arrays and objects lie in one another.

    Raises:
        UnicodeDecodeError: the bytes are not UTF-8.
    """
    if text is None:
        return Unreadable(
            place,
            f"the record is longer than the limit of {limits.record_chars:,}",
            "raise `record_chars` in `[limits]` if it is right",
            "too-long",
        )
    if nesting > limits.nesting:
        return Unreadable(
            place,
            f"the record is nested {nesting:,} deep, more than {limits.nesting}",
            "raise `nesting` in `[limits]` if it is right",
            "too-long",
        )
    try:
        data = orjson.loads(text)
    except orjson.JSONDecodeError as error:
        text.decode()
        return Unreadable(
            place,
            f"the record is not JSON: {error.msg}",
            "mend it, or have it exported anew",
        )
    if len(text) > limits.field_chars:
        size, pointer = _longest(data)
        if size > limits.field_chars:
            return too_long(place.at(place.column + pointer), size, limits.field_chars)
    return Record(data, place, "json")


def _longest(data: Any) -> tuple[int, str]:
    """Return the length of the longest text in a JSON value, and the JSON Pointer to it."""
    longest, at = 0, ""
    waiting: list[tuple[Any, str]] = [(data, "")]
    while waiting:
        value, pointer = waiting.pop()
        if isinstance(value, str):
            if len(value) > longest:
                longest, at = len(value), pointer
        elif isinstance(value, dict):
            waiting += [(name, pointer) for name in value]
            waiting += [(inner, pointer + pointer_of((name,))) for name, inner in value.items()]
        elif isinstance(value, list):
            waiting += [
                (inner, pointer + pointer_of((number,))) for number, inner in enumerate(value)
            ]
    return longest, at
