"""How a source wants to be read, found by looking into it: for a first look, never for a run.

A run reads what a mapping declares. Here nobody has declared anything yet, so the most likely
reading is named, with what to declare, and the person decides.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import orjson
from lxml import etree

from lodpipe.errors import UsageError
from lodpipe.read.options import ReadOptions
from lodpipe.read.sources import format_of
from lodpipe.tables.files import open_bytes, open_text, undecodable

MOST_BYTES = 64 << 20
"""A larger JSON document is not looked through for its records."""
MOST_ELEMENTS = 20_000
"""Elements of an XML document that are looked at."""
_MARC_RECORD = "{http://www.loc.gov/MARC21/slim}record"
DELIMITERS = (",", "\t", ";", "|")


@dataclass(slots=True)
class _Level:
    """What is known of the elements at one path: how many, and whether they hold others."""

    count: int = 0
    full: bool = False
    namespaces: dict[str, str] = field(default_factory=dict)


def declared(path: Path, name: str, options: ReadOptions) -> ReadOptions:
    """Return the options with what the file itself shows filled in, where nothing is declared.

    `delimiter` of a table whose header has no comma (or tab), `records` of JSON and XML.

    Raises:
        UsageError: no such file, wrong encoding, or nothing in it that looks like records.
    """
    kind = format_of(name, options)
    found: dict[str, Callable[[], ReadOptions]] = {
        "csv": lambda: _table(path, name, options, ","),
        "tsv": lambda: _table(path, name, options, "\t"),
        "json": lambda: _json(path, name, options),
        "xml": lambda: _xml(path, name, options),
    }
    return found[kind]() if kind in found else options


def _table(path: Path, name: str, options: ReadOptions, usual: str) -> ReadOptions:
    if options.delimiter:
        return options
    stream, codec = open_text(path, name, options.encoding)
    with stream:
        try:
            header = stream.readline(1 << 16)
        except UnicodeDecodeError:
            raise undecodable(path, name, codec) from None
    counts = {sign: header.count(sign) for sign in DELIMITERS}
    best = max(DELIMITERS, key=lambda sign: counts[sign])
    if counts[usual] or not counts[best]:
        return options
    return replace(options, delimiter=best)


def _json(path: Path, name: str, options: ReadOptions) -> ReadOptions:
    """An outermost object: its member that holds the most objects in a list."""
    if options.records:
        return options
    with open_bytes(path, name) as stream:
        raw = stream.read(MOST_BYTES + 1)
    if len(raw) > MOST_BYTES or raw.lstrip()[:1] != b"{":
        return options
    try:
        document = orjson.loads(raw)
    except orjson.JSONDecodeError:
        return options
    lists = {
        member: sum(isinstance(item, dict) for item in items)
        for member, items in document.items()
        if isinstance(items, list)
    }
    longest = max(lists, key=lambda member: lists[member], default="")
    if not longest or not lists[longest]:
        return options
    step = f".{longest}" if longest.isidentifier() else f"[{orjson.dumps(longest).decode()}]"
    return replace(options, records=f"${step}[*]")


def _xml(path: Path, name: str, options: ReadOptions) -> ReadOptions:
    """The outermost elements that repeat and hold others; else the outermost element of all."""
    if options.records:
        return options
    levels = _levels(path, name)
    if not levels:
        raise UsageError(f"no element can be read in `{name}`", hint="look at the file: is it XML?")
    known = [steps for steps in levels if steps[-1] == _MARC_RECORD]
    likely = [steps for steps, level in levels.items() if level.full and len(steps) > 1]
    repeated = [steps for steps in likely if levels[steps].count > 1]
    steps = min(
        known or repeated or likely or list(levels),
        key=lambda steps: (len(steps), -levels[steps].count),
    )
    namespaces = _prefixes(steps, levels[steps].namespaces)
    written = "/".join(_written(tag, namespaces) for tag in steps)
    return replace(options, records=f"/{written}", namespaces=namespaces)


def _levels(path: Path, name: str) -> dict[tuple[str, ...], _Level]:
    levels: dict[tuple[str, ...], _Level] = {}
    parser = etree.XMLPullParser(
        events=("start", "end"), resolve_entities=False, no_network=True, load_dtd=False
    )
    steps: list[str] = []
    seen = 0
    with open_bytes(path, name) as stream:
        while seen < MOST_ELEMENTS and (chunk := stream.read(1 << 16)):
            try:
                parser.feed(chunk)
                events = list(parser.read_events())
            except etree.XMLSyntaxError:
                break
            for event, element in events:
                if not isinstance(element, etree._Element) or not isinstance(element.tag, str):
                    continue
                if event == "end":
                    steps.pop()
                    element.clear()
                    continue
                if steps:
                    levels[tuple(steps)].full = True
                steps.append(element.tag)
                level = levels.setdefault(tuple(steps), _Level())
                level.count += 1
                level.namespaces.update(
                    {iri: prefix or "" for prefix, iri in element.nsmap.items()}
                )
                seen += 1
    return levels


def _prefixes(steps: tuple[str, ...], known: dict[str, str]) -> dict[str, str]:
    """A prefix for each namespace of a path: the document's own, or one of ours."""
    wanted = Counter(tag[1:].partition("}")[0] for tag in steps if tag.startswith("{"))
    prefixes: dict[str, str] = {}
    for number, iri in enumerate(sorted({*wanted, *known} - {""}), 1):
        prefix = known.get(iri, "") or (iri.rstrip("/#").rpartition("/")[2].lower() or "ns")
        prefix = prefix if prefix.isidentifier() and prefix not in prefixes else f"ns{number}"
        prefixes[prefix] = iri
    return prefixes


def _written(tag: str, namespaces: dict[str, str]) -> str:
    if not tag.startswith("{"):
        return tag
    iri, _, local = tag[1:].partition("}")
    prefix = next(prefix for prefix, known in namespaces.items() if known == iri)
    return f"{prefix}:{local}"
