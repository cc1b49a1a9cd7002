"""Finding where the values of a large JSON document begin and end, without parsing them.

A record is cut out by its brackets and quotes and then parsed by itself. So memory is bounded by
one record, its physical line is known, a fault inside one record (a broken escape, a lone
surrogate, NaN) leaves the others readable, and a record that is too large or nested too deep is
passed over as bytes. Event parsers were measured for this: the usual one turns lone surrogates
into question marks without a word, and stops for good at an integer of more than 64 bits.

Grammar: RFC 8259, https://www.rfc-editor.org/rfc/rfc8259.
"""

import re
from collections.abc import Callable

_CHUNK = 1 << 16
_WHITE = re.compile(rb"[ \t\r\n]*")
_SCALAR = re.compile(rb"[^ \t\r\n,\]}\[{\":]*")
# a whole string, a bracket, or (last) a quote whose string the buffer does not hold to its end
_TOKEN = re.compile(rb'"(?:[^"\\]+|\\.)*+"|[{}\[\]]|"', re.DOTALL)
_IN_STRING = re.compile(rb'(?:[^"\\]+|\\.)*+', re.DOTALL)
_QUOTE = ord('"')
END = -1


class BrokenError(Exception):
    """The document is not JSON at `line`; nothing after it can be found."""

    def __init__(self, reason: str, line: int) -> None:
        super().__init__(reason)
        self.reason, self.line = reason, line


class Scanner:
    """A place in a JSON text, moving forward only.

    Args:
        read: gives about as many bytes of UTF-8 as it is asked for, none at the end.
        most: bytes that a value may have and still be kept.
    """

    def __init__(self, read: Callable[[int], bytes], most: int) -> None:
        self._read, self._most = read, most
        self._buffer, self._at = b"", 0
        self._line, self._counted = 1, 0
        self._ended = False

    @property
    def line(self) -> int:
        """Return the physical line that we are on."""
        self._line += self._buffer.count(b"\n", self._counted, self._at)
        self._counted = self._at
        return self._line

    def peek(self) -> int:
        """Return the next byte that is not white space, or END."""
        while True:
            self._at = _WHITE.match(self._buffer, self._at).end()  # type: ignore[union-attr]
            if self._at < len(self._buffer):
                return self._buffer[self._at]
            if not self._more():
                return END

    def take(self, expected: bytes) -> bytes:
        """Pass over one of the expected bytes and return it."""
        found = self.peek()
        if found == END:
            raise BrokenError("the file ends here, inside the document", self.line)
        if found not in expected:
            wanted = " or ".join(f"`{chr(byte)}`" for byte in expected)
            raise BrokenError(f"`{chr(found)}` stands here in place of {wanted}", self.line)
        self._at += 1
        return bytes((found,))

    def value(self) -> tuple[bytes | None, int]:
        """Pass over one value; return its bytes, None if they are too many, and its nesting."""
        first = self.peek()
        begun = self.line
        if first == END:
            raise BrokenError("the file ends here, inside the document", begun)
        if first in b"{[":
            return self._nested(begun)
        if first == _QUOTE:
            return self._string(begun), 0
        return self._scalar(begun), 0

    def _more(self) -> bool:
        """Read on, and forget what lies behind; False at the end of the file."""
        if self._ended:
            return False
        self._line = self.line
        rest = self._buffer[self._at :]
        # the longer what we hold, the more we read: a long value is not copied over and over
        chunk = self._read(max(_CHUNK, len(rest)))
        self._ended = not chunk
        self._buffer, self._at, self._counted = rest + chunk, 0, 0
        return bool(chunk)

    def _scalar(self, begun: int) -> bytes | None:
        while True:
            end = _SCALAR.match(self._buffer, self._at).end()  # type: ignore[union-attr]
            if end < len(self._buffer) or not self._more():
                break
            if len(self._buffer) > self._most:
                raise BrokenError("a value without quotes does not end", begun)
        if end == self._at:
            if self._at == len(self._buffer):
                raise BrokenError("the file ends here, inside the document", begun)
            raise BrokenError(f"`{chr(self._buffer[self._at])}` stands in place of a value", begun)
        found = self._buffer[self._at : end]
        self._at = end
        return found

    def _string(self, begun: int) -> bytes | None:
        while True:
            found = _TOKEN.match(self._buffer, self._at)
            assert found is not None  # we stand on a quote
            if found.end() - found.start() > 1:
                self._at = found.end()
                return found.group() if found.end() - found.start() <= self._most else None
            if len(self._buffer) - self._at > self._most:
                self._at += 1
                self._pass_string(begun)
                return None
            if not self._more():
                raise BrokenError("the file ends inside the text that begins here", begun)

    def _pass_string(self, begun: int) -> None:
        """Pass over the rest of a string without keeping it; we stand inside it."""
        while True:
            self._at = _IN_STRING.match(self._buffer, self._at).end()  # type: ignore[union-attr]
            if self._buffer[self._at : self._at + 1] == b'"':
                self._at += 1
                return
            if not self._more():
                raise BrokenError("the file ends inside the text that begins here", begun)

    def _nested(self, begun: int) -> tuple[bytes | None, int]:
        depth = deepest = 0
        seen = 0  # how far beyond self._at the value has been looked at
        kept = True
        while True:
            for found in _TOKEN.finditer(self._buffer, self._at + seen):
                token = found.group()
                if len(token) > 1:
                    continue
                if token in b"{[":
                    depth += 1
                    deepest = max(depth, deepest)
                elif token in b"}]":
                    depth -= 1
                    if not depth:
                        value = self._buffer[self._at : found.end()]
                        self._at = found.end()
                        return (value if kept and len(value) <= self._most else None), deepest
                else:
                    seen = found.start() - self._at
                    break
            else:
                seen = len(self._buffer) - self._at
            if kept and len(self._buffer) - self._at > self._most:
                kept = False
            if not kept:
                self._at += seen
                seen = 0
                if self._buffer[self._at : self._at + 1] == b'"':
                    self._at += 1
                    self._pass_string(begun)
                    continue
            if not self._more():
                raise BrokenError("the file ends inside the record that begins here", begun)
