"""XML with records somewhere inside it, read as a stream.

Entities are never expanded, external DTDs never loaded, nothing is fetched
(https://cheatsheetseries.owasp.org/cheatsheets/XML_External_Entity_Prevention_Cheat_Sheet.html):
a record that needs an entity is left out and named. The parser's own guards stay on: no element
deeper than 256, no text longer than ten million characters.
"""

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import cast

from lxml import etree

from lodpipe.errors import UsageError
from lodpipe.findings import Finding, Report
from lodpipe.project import Limits
from lodpipe.read.options import ReadOptions
from lodpipe.read.xml_path import ElementPath, path_below, place_of
from lodpipe.records import Place, Record, Unreadable
from lodpipe.tables.delimited import too_long
from lodpipe.tables.files import DAMAGED, encoding_of, open_bytes

_CHUNK = 1 << 16
_MOST_LEFT = 1_000  # elements outside records that stay beside them, as fields of what is above
_ENTITY = re.compile(rb"&(?!amp;|lt;|gt;|quot;|apos;|#)([^;\s]{1,60});")
_WRITE_IT_OUT = "write the character itself in its place"
_ENCODING_FAULTS = (  # xmlParserErrors in libxml2's xmlerror.h
    etree.ErrorTypes.ERR_UNKNOWN_ENCODING,
    etree.ErrorTypes.ERR_UNSUPPORTED_ENCODING,
    etree.ErrorTypes.ERR_INVALID_ENCODING,
)


def records(
    path: Path, name: str, options: ReadOptions, limits: Limits, report: Report
) -> Iterator[Record | Unreadable]:
    """Yield the elements that `options.records` leads to, each with its line and XPath.

    Records may lie in one another: all of an outermost one are yielded in document order once it
    is whole, and then forgotten. An element yielded is good until the next one is asked for. Its
    ancestors' own fields stand before it in them. Sizes are bytes of the file.

    Raises:
        UsageError: no such file, no `records`, a path that leads nowhere, wrong encoding.
    """
    if not options.records:
        raise UsageError(
            f"the mapping does not say which elements of `{name}` are records",
            hint="write `records` under `reads`, such as `records: /list/item`",
        )
    wanted = ElementPath(options.records, options.namespaces, name)
    with open_bytes(path, name) as stream:
        codec = ""
        if options.encoding:
            codec = encoding_of(stream.read(4), options.encoding, name).removesuffix("-sig")
            stream.seek(0)
        document = _Document(name, wanted, options, limits, codec)
        try:
            while chunk := stream.read(_CHUNK):
                yield from document.feed(chunk)
                document.report_entities(report)
            yield from document.close()
        except etree.XMLSyntaxError as error:
            line = error.position[0] if error.position else 0
            yield from document.broken(str(error.msg), line, getattr(error, "code", 0) or 0)
        except _FatalError as error:
            yield from document.broken(*error.args)
        except _TooFarError:
            if document.record:
                yield document.rest("no record begins in what follows here", document.line)
        except DAMAGED as error:
            yield document.rest(f"the compressed file is damaged: {error}", 0)
    if not document.record:
        raise UsageError(
            f"`records` leads nowhere in `{name}`: `{options.records}` is not there",
            hint="write the path from the root on, such as `/list/object`",
        )


class _FatalError(Exception):
    """What the parser logs as fatal and does not raise: message, line, number of the error."""


class _TooFarError(Exception):
    """More than a record may take was read, and none of it belongs to a record."""


class _Document:
    """State of reading one document."""

    def __init__(
        self, name: str, wanted: ElementPath, options: ReadOptions, limits: Limits, codec: str
    ) -> None:
        self.name, self.wanted, self.limits = name, wanted, limits
        self.chunk = 0
        self.prefixes = {iri: prefix for prefix, iri in options.namespaces.items()}
        self.parser = etree.XMLPullParser(
            events=("start", "end"),
            tag=wanted.last,
            encoding=codec or None,
            resolve_entities=False,
            no_network=True,
            load_dtd=False,
            dtd_validation=False,
            attribute_defaults=False,
            remove_comments=True,
            remove_pis=True,
            huge_tree=False,
        )
        self.record = 0
        self.line = 0
        self.open: list[etree._Element] = []  # records that have begun, outermost first
        self.found: list[etree._Element] = []  # records inside the outermost one, in order
        self.size = 0  # bytes that the current record may have, at most
        self.since = 0  # bytes since the last outermost record was done, at least
        self.pruned = False
        self.logged = 0
        self.unread: list[tuple[str, int]] = []  # entities that nothing declares: name, line

    def feed(self, chunk: bytes) -> Iterator[Record | Unreadable]:
        """Take the next bytes and yield the records that are whole with them."""
        self.chunk = len(chunk)
        self.size += self.chunk
        self.since += self.chunk
        self.parser.feed(chunk)
        self._look_at_log()
        yield from self._read()
        if self.since <= self.limits.record_chars:
            return
        if not self.open:
            raise _TooFarError
        _prune(self.open[0])
        self.pruned = True

    def close(self) -> Iterator[Record | Unreadable]:
        """Yield what the end of the file makes whole."""
        self.parser.close()
        yield from self._read()

    def _look_at_log(self) -> None:
        """Note entities that are not declared; raise what the parser takes for fatal."""
        log = list(self.parser.feed_error_log)
        for entry in log[self.logged :]:
            if entry.level == etree.ErrorLevels.FATAL:
                raise _FatalError(entry.message, entry.line, entry.type)
            if entry.type == etree.ErrorTypes.WAR_UNDECLARED_ENTITY:
                self.unread.append((entry.message.split("'")[1], entry.line))
        self.logged = len(log)

    def report_entities(self, report: Report) -> None:
        """Report entities that are missing somewhere and in no text: in an attribute."""
        for name, line in self.unread:
            message = f"the entity `&{name};` is not read: what it stands for is missing here"
            report(Finding("value", message, Place(self.name, line), hint=_WRITE_IT_OUT))
        self.unread.clear()

    def broken(self, message: str, line: int, code: int) -> Iterator[Record | Unreadable]:
        """Yield what was whole before the fault, and what stands for the rest."""
        yield from self._read()
        reason = message.partition(", line ")[0].strip()
        if code in _ENCODING_FAULTS:
            raise UsageError(
                f"`{self.name}` is not in the encoding that it names: {reason}, in line {line}",
                hint='declare what it is, for example `encoding = "cp1252"`, or `--encoding cp1252`',
            )
        yield self.rest(f"the document is broken here: {reason}", line)

    def rest(self, reason: str, line: int) -> Unreadable:
        """Return what stands for the rest of a document."""
        self.record += 1
        return Unreadable(
            Place(self.name, line, self.record),
            f"{reason}; what follows cannot be read",
            "mend the file, or have it exported anew",
        )

    def _read(self) -> Iterator[Record | Unreadable]:
        for event, item in self.parser.read_events():
            element = cast("etree._Element", item)  # start and end come with elements only
            if event == "start":
                if self.wanted.matches(element):
                    self.line = _line(element)
                    self.open.append(element)
                    self.found.append(element)
            elif self.open and element is self.open[-1]:
                self.open.pop()
                if not self.open:
                    yield from self._outermost(element)

    def _outermost(self, element: etree._Element) -> Iterator[Record | Unreadable]:
        fault = self._fault(element)
        for record in [element] if fault else self.found:
            self.record += 1
            place = Place(
                self.name,
                _line(record),
                self.record,
                "",
                place_of(record, self.record, self.prefixes),
            )
            if fault:
                yield Unreadable(place, *fault)
            else:
                yield self._checked(record, place)
        self.found.clear()
        _forget(element)
        self.size = self.chunk  # the rest of the chunk has been taken, and may hold all of the next
        self.since = 0
        self.pruned = False

    def _fault(self, element: etree._Element) -> tuple[str, str, str] | None:
        """Return what keeps an outermost record, with all in it, from being read."""
        if self.pruned:
            return (
                f"the record is longer than the limit of {self.limits.record_chars:,}",
                "raise `record_chars` in `[limits]` if it is right",
                "too-long",
            )
        name = self._entity(element)
        if name:
            return (
                f"the entity `&{name};` is not read",
                _WRITE_IT_OUT,
                "unreadable",
            )
        if _deeper(self.limits.nesting)(element):
            return (
                f"the record is nested deeper than {self.limits.nesting}",
                "raise `nesting` in `[limits]` if it is right",
                "too-long",
            )
        return None

    def _entity(self, element: etree._Element) -> str:
        """Return the name of an entity that the record uses, empty when there is none.

        Only a document type can make entities that the parser lets pass. They show when the
        element is written out again, also in attributes if something declares them.
        """
        if element.getroottree().docinfo.internalDTD is None:
            return ""
        names = [
            found[1].decode()
            for found in _ENTITY.finditer(etree.tostring(element, with_tail=False))
        ]
        for name in names:
            noted = next((entry for entry in self.unread if entry[0] == name), None)
            if noted:
                self.unread.remove(noted)
        return names[0] if names else ""

    def _checked(self, record: etree._Element, place: Place) -> Record | Unreadable:
        if self.size > self.limits.field_chars:
            size, longest = 0, record
            for node in record.iter(etree.Element):
                texts = (node.text or "", *map(str, node.attrib.values()))
                if (most := max(map(len, texts))) > size:
                    size, longest = most, node
            if size > self.limits.field_chars:
                at = place.at(place.column + path_below(record, longest, self.prefixes))
                return too_long(at, size, self.limits.field_chars)
        return Record(record, place, "xml")


@cache
def _deeper(levels: int) -> etree.XPath:
    """Return the test whether an element holds others more than so many levels deep."""
    return etree.XPath("boolean(" + "/".join("*" * (levels + 1)) + ")")


def _prune(element: etree._Element) -> None:
    """Take out what is whole inside an element that is still being read.

    The last child of each level may be open in the parser, so it must stay.
    """
    step: etree._Element | None = element
    while step is not None and len(step):
        del step[:-1]
        step = step[-1]


def _line(element: etree._Element) -> int:
    return cast("int | None", element.sourceline) or 0


def _forget(element: etree._Element) -> None:
    """Take an outermost record out of the tree, with the containers before it that are done."""
    element.clear()
    step = element
    parent = step.getparent()
    while parent is not None:
        done = [before for before in step.itersiblings(preceding=True) if before.tag == step.tag]
        for before in done:
            parent.remove(before)
        if (index := parent.index(step)) > _MOST_LEFT:
            del parent[:index]
        step, parent = parent, parent.getparent()
