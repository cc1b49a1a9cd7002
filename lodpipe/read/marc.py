"""MARC 21 and UNIMARC: ISO 2709 and MARCXML, a record at a time, in one shape.

https://www.loc.gov/marc/specifications/specrecstruc.html, https://www.loc.gov/standards/marcxml/.
A record of ISO 2709 becomes the element that it would be in MARCXML, so that one mapping reads
both. Its letters are never guessed: UTF-8 where the leader says so, MARC-8 where every byte of the
record is MARC-8 (https://www.loc.gov/marc/specifications/speccharmarc8.html), what the project
declares; else the record is refused. MARC in JSON is not read.
"""

import contextlib
import io
import logging
import unicodedata
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, cast

from lxml import etree
from pymarc import Record as MarcRecord
from pymarc.exceptions import BadSubfieldCodeWarning, PymarcException
from pymarc.marc8 import marc8_to_unicode

from lodpipe.errors import UsageError, ValueFault
from lodpipe.findings import Finding, Report
from lodpipe.project import Limits
from lodpipe.read import xml
from lodpipe.read.options import ReadOptions
from lodpipe.records import Place, Record, Unreadable
from lodpipe.tables.files import DAMAGED, encoding_of, open_bytes

SPACE = "http://www.loc.gov/MARC21/slim"
END = b"\x1d"
ESCAPE = 0x1B
_CHUNK = 1 << 16
_NOT_SORTED = {0x88: None, 0x89: None, 0x98: None, 0x9C: None}
"""Marks around words that do not count in sorting: they are no letters."""
_DECLARE = 'declare what it is, for example `encoding = "cp1251"`, or `--encoding cp1251`'

logging.getLogger("pymarc").addHandler(logging.NullHandler())  # what it notes becomes a finding


class MarcFault(ValueFault):
    """A record that cannot be read as MARC."""

    code = "unreadable"


def records(
    path: Path, name: str, options: ReadOptions, limits: Limits, report: Report
) -> Iterator[Record | Unreadable]:
    """Yield the records of a file of ISO 2709, or of MARCXML, as elements of MARCXML.

    Raises:
        UsageError: no such file, MARC in JSON, an encoding that there is not.
    """
    with open_bytes(path, name) as stream:
        try:
            head = stream.read(64).removeprefix(b"\xef\xbb\xbf").lstrip()
        except DAMAGED as error:
            raise UsageError(
                f"the compressed file `{name}` is damaged: {error}",
                hint="copy it again, or unpack it first",
            ) from error
    if head[:1] in (b"{", b"["):
        raise UsageError(
            f"`{name}` is MARC in JSON, which is not read",
            hint="export it as ISO 2709 or as MARCXML",
        )
    if head[:1] == b"<":
        yield from xml.records(path, name, options, limits, report)
        return
    codec = ""
    if options.encoding:
        codec = encoding_of(b"", options.encoding, name)
    with open_bytes(path, name) as stream:
        number = 0
        for number, raw in enumerate(_raw(stream, limits.record_chars), start=1):
            place = Place(name, 0, number, "", f"record[{number}]")
            yield _record(raw, place, codec, limits, report)
    if not number:
        raise UsageError(
            f"`{name}` holds no record of MARC",
            hint="look whether it is the right file, and what `format` it has",
        )


def _raw(stream: BinaryIO, most: int) -> Iterator[bytes]:
    """Yield the bytes of one record after another, each with its end where it has one.

    They are told apart by their ends, not by the lengths that they claim: one wrong length does
    not take the rest of the file away. Of a record that is too long no more than `most` is kept.
    """
    rest = b""
    while True:
        try:
            chunk = stream.read(_CHUNK)
        except DAMAGED:
            chunk = b""
        if not chunk:
            break
        *whole, rest = (rest + chunk).split(END)
        for one in whole:
            yield one.lstrip(b"\r\n\t \0") + END
        rest = rest[: most + 1]
    if rest.strip(b"\r\n\t \0\x1a"):
        yield rest.lstrip(b"\r\n\t \0")


def _record(
    raw: bytes, place: Place, codec: str, limits: Limits, report: Report
) -> Record | Unreadable:
    if len(raw) > limits.record_chars:
        return Unreadable(
            place, f"the record is longer than the limit of {limits.record_chars:,}",
            "raise `record_chars` in `[limits]` if it is right", "too-long",
        )  # fmt: skip
    try:
        return Record(_element(_parsed(raw), raw, codec, place, report), place, "xml")
    except MarcFault as fault:
        return Unreadable(place, fault.message, fault.hint or "have it exported anew")


def _parsed(raw: bytes) -> MarcRecord:
    """Return the fields of a record, their bytes as they are."""
    if not raw.endswith(END):
        raise MarcFault("the record is cut off: its end is missing")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", BadSubfieldCodeWarning)
            return MarcRecord(raw, to_unicode=False)
    except BadSubfieldCodeWarning:
        raise MarcFault("a subfield has a code that is no ASCII letter or digit") from None
    except UnicodeDecodeError as error:
        raise MarcFault(
            f"leader, directory or indicators hold the byte 0x{error.object[error.start]:02X}"
        ) from error
    except (PymarcException, ValueError, IndexError) as error:
        words = str(error) or type(error).__name__
        raise MarcFault(f"leader or directory are broken: {words}") from error


def _element(
    record: MarcRecord, raw: bytes, codec: str, place: Place, report: Report
) -> etree._Element:
    decode = _Decoder(record, raw, codec, place, report)
    root = etree.Element(f"{{{SPACE}}}record", nsmap={"marc": SPACE})
    try:
        etree.SubElement(root, f"{{{SPACE}}}leader").text = str(record.leader)
        for field in record.fields:
            if field.control_field:
                node = etree.SubElement(root, f"{{{SPACE}}}controlfield", tag=field.tag)
                node.text = decode(cast("bytes", field.data))
                continue
            first, second = field.indicators or ("", "")
            node = etree.SubElement(
                root, f"{{{SPACE}}}datafield", tag=field.tag, ind1=first, ind2=second
            )
            for subfield in field.subfields:
                child = etree.SubElement(node, f"{{{SPACE}}}subfield", code=subfield.code)
                child.text = decode(cast("bytes", subfield.value))
    except ValueError as error:
        if isinstance(error, MarcFault):
            raise
        raise MarcFault("a field holds a control character that no text has") from error
    return root


class _Decoder:
    """Turns the bytes of one record into text, all by one rule."""

    def __init__(
        self, record: MarcRecord, raw: bytes, codec: str, place: Place, report: Report
    ) -> None:
        text = raw[24:]
        self.codec, self.why = codec, ""
        if not codec and str(record.leader)[9] == "a":
            self.codec, self.why = "utf-8", "as its leader says"
        elif not codec and max(text) > 0x7F and ESCAPE not in text and _is_utf8(text):
            # in MARC-8 an accent stands before its letter, which UTF-8 cannot have
            self.codec = "utf-8"
            report(
                Finding(
                    "value",
                    "the leader says MARC-8, and the record is UTF-8: it is read as UTF-8",
                    place,
                    hint="have position 9 of the leader set to `a`",
                )
            )

    def __call__(self, value: bytes) -> str:
        """Return the text of one value.

        Raises:
            MarcFault: its bytes are none of the encoding of the record.
        """
        if self.codec:
            try:
                text = value.decode(self.codec)
            except UnicodeDecodeError as error:
                byte = value[error.start]
                said = f", {self.why}" if self.why else ""
                raise MarcFault(
                    f"the record is not {self.codec.upper()}{said}: it holds the byte 0x{byte:02X}",
                    hint=_DECLARE,
                ) from error
        else:
            text = _marc8(value)
        return unicodedata.normalize("NFC", text.translate(_NOT_SORTED))


def _marc8(value: bytes) -> str:
    if max(value, default=0) <= 0x7F and ESCAPE not in value:
        return value.decode("ascii")
    complaints = io.StringIO()  # the library says there what it cannot read, and puts a space
    try:
        with contextlib.redirect_stderr(complaints):
            text = str(marc8_to_unicode(value))
    except (UnicodeDecodeError, ValueError, KeyError) as error:
        raise MarcFault("the record is not in MARC-8, as its leader says", hint=_DECLARE) from error
    if complaints.getvalue() or "\x1b" in text:
        raise MarcFault(
            "the record is not in MARC-8, as its leader says: "
            f"`{value[:40].decode('ascii', 'replace')}` has bytes that MARC-8 does not",
            hint=_DECLARE,
        )
    return text


def _is_utf8(text: bytes) -> bool:
    try:
        text.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True
