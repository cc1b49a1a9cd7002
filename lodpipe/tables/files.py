"""Opening the user's files: compressed or not, in the encoding that they declare or show.

An encoding is never guessed. A byte order mark shows it
(https://www.unicode.org/versions/Unicode16.0.0/core-spec/chapter-23/#G19635); otherwise it is
what the project declares, or UTF-8. Text that does not decode stops the source: a wrong guess
would publish wrong letters, and nobody would see it.
"""

import codecs
import gzip
import io
import zlib
from pathlib import Path
from typing import BinaryIO, cast

from lodpipe.errors import UsageError, nearest

COMMON_ENCODINGS = ("utf-8", "utf-16", "cp1252", "cp1250", "cp1251", "iso-8859-1", "mac-roman")
DAMAGED = (EOFError, zlib.error, gzip.BadGzipFile)
"""What reading a damaged `.gz` raises; the text before the damage has been read."""

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),  # before UTF-16, whose mark it begins with
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_CHUNK = 1 << 20


def open_bytes(path: Path, name: str) -> BinaryIO:
    """Open a file for reading bytes; a name that ends in `.gz` is unpacked on the way.

    Args:
        path: where the file is. `name`: what messages call it, relative to the project.

    Raises:
        UsageError: there is no such file, or it may not be read, or it is not what `.gz` says.
    """
    try:
        plain: BinaryIO = path.open("rb")
    except FileNotFoundError:
        near = [other.name for other in path.parent.glob("*")] if path.parent.is_dir() else []
        raise UsageError(
            f"there is no file `{name}`", hint=nearest(path.name, near) or "look at its path"
        ) from None
    except IsADirectoryError:
        raise UsageError(f"`{name}` is a folder, not a file", hint="name a file in it") from None
    except PermissionError:
        raise UsageError(f"`{name}` may not be read", hint="look at its permissions") from None
    if path.suffix.lower() != ".gz":
        return plain
    if plain.read(2) != b"\x1f\x8b":
        plain.close()
        raise UsageError(f"`{name}` ends in `.gz` and is not compressed", hint="rename it")
    plain.seek(0)
    return cast(BinaryIO, _Unpacked(plain))


class _Unpacked(gzip.GzipFile):
    """A GzipFile that closes the file below it, which GzipFile leaves open."""

    def __init__(self, plain: BinaryIO) -> None:
        super().__init__(fileobj=plain, mode="rb")
        self._plain = plain

    def close(self) -> None:
        super().close()
        self._plain.close()


def encoding_of(head: bytes, declared: str, name: str) -> str:
    """Return the codec for a file that begins with `head`.

    Args:
        head: the first bytes, four or more where the file has them.
        declared: what the project says; empty for nothing.

    Raises:
        UsageError: no such encoding; a byte order mark says otherwise; UTF-16 without a mark.
    """
    marked = next((codec for mark, codec in _MARKS if head.startswith(mark)), "")
    codec = _codec(declared, name) if declared else ""
    if marked:
        if codec and not codec.startswith(marked.removesuffix("-sig")):
            raise UsageError(
                f"`{name}` is declared as `{declared}` and begins with the byte order mark of "
                f"{marked.removesuffix('-sig').upper()}",
                hint="take the declaration out",
            )
        return marked
    if codec:
        return codec
    if b"\0" in head[:4]:
        order = "utf-16-le" if head[1:2] == b"\0" else "utf-16-be"
        raise UsageError(
            f"`{name}` begins with a NUL byte, which no UTF-8 text does",
            hint=f'if it is UTF-16, declare `encoding = "{order}"`',
        )
    return "utf-8"


def _codec(declared: str, name: str) -> str:
    try:
        info = codecs.lookup(declared)
    except LookupError:
        info = None
    # some codecs turn bytes into bytes (base64); they are not encodings of text
    if info is None or not getattr(info, "_is_text_encoding", True):
        raise UsageError(
            f"`{declared}` is not an encoding, declared for `{name}`",
            hint=nearest(declared, COMMON_ENCODINGS) or 'such as `encoding = "cp1252"`',
        )
    return info.name


def open_text(path: Path, name: str, encoding: str) -> tuple[io.TextIOWrapper, str]:
    """Open a text file, with its line ends untouched, and return it with its codec.

    Reading may raise UnicodeDecodeError: pass it on as `undecodable(...)`.

    Raises:
        UsageError: as `open_bytes` and `encoding_of`.
    """
    stream = open_bytes(path, name)
    codec = _sniff(stream, encoding, name)
    return io.TextIOWrapper(stream, encoding=codec, errors="strict", newline=""), codec


def _sniff(stream: BinaryIO, encoding: str, name: str) -> str:
    try:
        head = stream.read(4)
        codec = encoding_of(head, encoding, name)
    except DAMAGED as error:
        stream.close()
        raise UsageError(
            f"`{name}` cannot be unpacked: {error}", hint="copy it again, or unpack it first"
        ) from None
    except UsageError:
        stream.close()
        raise
    stream.seek(0)
    return codec


class Utf8Bytes:
    """The bytes of a text file as UTF-8 without byte order mark, whatever it is encoded in.

    UTF-8 is passed through as it is, not checked; other encodings are checked as they are read.
    """

    def __init__(self, path: Path, name: str, encoding: str) -> None:
        self._path, self._name = path, name
        self._stream = open_bytes(path, name)
        self.codec = _sniff(self._stream, encoding, name)
        self._text: io.TextIOWrapper | None = None
        if self.codec == "utf-8-sig":
            self._stream.seek(3)
        elif self.codec != "utf-8":
            self._text = io.TextIOWrapper(self._stream, encoding=self.codec, newline="")

    def read(self, size: int) -> bytes:
        """Return about `size` bytes, or none at the end.

        Raises:
            UsageError: the bytes are not in the encoding.
        """
        if self._text is None:
            return self._stream.read(size)
        try:
            return self._text.read(size).encode()
        except UnicodeDecodeError:
            raise undecodable(self._path, self._name, self.codec) from None

    def readline(self, size: int) -> bytes:
        """Return the next line, or its first `size` bytes (characters outside UTF-8).

        Raises:
            UsageError: the bytes are not in the encoding.
        """
        if self._text is None:
            return self._stream.readline(size)
        try:
            return self._text.readline(size).encode()
        except UnicodeDecodeError:
            raise undecodable(self._path, self._name, self.codec) from None

    def close(self) -> None:
        """Close the file."""
        (self._text or self._stream).close()


def undecodable(path: Path, name: str, codec: str) -> UsageError:
    """Return the error for a file that does not decode, with line and byte of the first fault.

    The file is read again from its beginning: the reader that failed knows neither.
    """
    codec = codec.removesuffix("-sig")  # the mark is a character like others here
    decoder = codecs.getincrementaldecoder(codec)("strict")
    lines, before = 1, 0
    with open_bytes(path, name) as stream:
        while chunk := stream.read(_CHUNK):
            held = len(decoder.getstate()[0])
            try:
                text = decoder.decode(chunk)
            except UnicodeDecodeError as error:
                return _undecodable(name, codec, error, lines, before - held)
            lines += _line_ends(text)
            before += len(chunk)
    return UsageError(f"`{name}` ends in the middle of a character", hint=_cure(codec))


def _undecodable(
    name: str, codec: str, error: UnicodeDecodeError, lines: int, before: int
) -> UsageError:
    good = error.object[: error.start].decode(codec, "ignore")
    shown = codec.upper() if codec.startswith("utf") else codec
    return UsageError(
        f"`{name}` is not {shown}: byte 0x{error.object[error.start]:02x} in line "
        f"{lines + _line_ends(good)} (byte {before + error.start + 1} of the file)",
        hint=_cure(codec),
    )


def _line_ends(text: str) -> int:
    return text.count("\n") or text.count("\r")


def _cure(codec: str) -> str:
    if codec == "utf-8":
        return 'declare what it is, for example `encoding = "cp1252"`, or `--encoding cp1252`'
    return "the file is in another encoding than the one declared"
