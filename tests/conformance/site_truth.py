"""Reads every page back against the ledger, as a reader does and as a machine does.

A page is taken apart into pieces of text, each with the thing that it is told of: the page's own,
or that of the entry of a list in which it stands. What a piece names that is in doubt of that thing
has to be hedged in the same piece, by the rules that `truth` has for documents and manifests.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urljoin

import lxml.html
import orjson
from conformance import truth

from lodpipe.wording import VALUE_ONLY_SLOTS

BASE = "https://collections.example.org/"
OBJECT = "object/"
BLOCKS = frozenset(
    {"p", "dd", "dt", "li", "td", "th", "h1", "h2", "h3", "figcaption", "title", "text"}
)
ENTRIES = "card", "stop"
"""Classes of the entries of lists."""
OWN_WORDS = frozenset(
    {"basis", "cited", "facts", "stays", "weighed", "stop", "notice", "lead", "crumbs"}
)
"""Classes of what is not wording of claims: grounds and sources as their authors put them, facts
of the evidence and what they make of a claim, words of threads, notices, descriptions, names of what
a thing lies in."""
ASPECTS: Mapping[str, frozenset[str]] = {
    slot.path: frozenset(slot.aspects) for slot in VALUE_ONLY_SLOTS if slot.output == "site"
}


@dataclass(frozen=True)
class Piece:
    """One piece of text, the document that it is told of, and the claim that it is the words of."""

    text: str
    about: str
    claim: str = ""
    kind: str = ""


def uri_of(address: str) -> str:
    """The document that a page is about, by the address of the page."""
    path = unquote(address.partition("#")[0].removeprefix(BASE)).removesuffix(".html")
    for tree in ("de/", "fr/"):
        path = path.removeprefix(tree)
    key = path.removeprefix("page/").partition("~")[0]
    first = key.partition("/")[0]
    folders = ("person", "group", "place", "text", "set", "activity")
    return BASE + (key if first in folders and "/" in key else OBJECT + key)


def pieces(file: Path, out: Path) -> Iterator[Piece]:
    """Yield every piece of text of a page that wording has made."""
    name = file.relative_to(out).as_posix()
    root = lxml.html.fromstring(file.read_bytes())
    own = uri_of(BASE + name)
    for element in root.iter():
        if not isinstance(element.tag, str):
            continue
        inside = {c for e in [element, *element.iterancestors()] for c in _classes(e)}
        if inside & OWN_WORDS or _of_stays(element):
            continue
        text = " ".join(_own_text(element).split())
        if element.tag in BLOCKS and text:
            about, claim, kind = _entry(element, BASE + name, own)
            yield Piece(text, about, claim, kind)
        if element.tag == "meta" and element.get("content"):
            yield Piece(element.get("content"), own)


def _classes(element: Any) -> set[str]:
    return set((element.get("class") or "").split())


def _of_stays(element: Any) -> bool:
    """Whether it is the label or a bar of a picture of whereabouts, or a year of an axis."""
    if element.tag == "text" and "lane" not in _classes(element):
        return True
    for one in [element, *element.iterancestors()]:
        if one.tag in ("rect", "text") and {"stay", "within", "absent"} & _classes(one):
            return True
    return False


def _own_text(element: Any) -> str:
    """The text of a block, without that of blocks inside it."""
    parts = [element.text or ""]
    for child in element:
        if isinstance(child.tag, str) and child.tag not in BLOCKS | {"ul", "ol", "dl", "details"}:
            parts.append(_own_text(child))
        parts.append(child.tail or "")
    return "".join(parts)


def _entry(element: Any, page: str, own: str) -> tuple[str, str, str]:
    """The thing, claim and standing of the entry of a list that an element stands in."""
    for one in [element, *element.iterancestors()]:
        classes = _classes(one)
        if one.tag == "tr" and one.get("id", "").startswith("claim-"):
            return own, one.get("id").removeprefix("claim-"), ""
        links = one.xpath("./p[@class='name']/a/@href | ./div/p[@class='name']/a/@href")
        links += one.xpath("./a/@href") if one.tag == "li" and not classes else []
        if one.tag == "li" and links:
            address, _, anchor = urljoin(page, links[0]).partition("#")
            part = one.xpath("ancestor::section[contains(@class, 'part')]/@class")
            kind = part[0].removeprefix("part").strip() if part else ""
            return uri_of(address), anchor.removeprefix("claim-"), kind
    return own, "", ""


def piece_faults(
    piece: Piece,
    ledger: truth.Ledger,
    apart: Mapping[str, frozenset[str]],
    own_words: set[str],
) -> Iterator[str]:
    """Yield what a piece tells without its hedge, and a claim that stands under a wrong head."""
    about = [one for _, one in ledger.about(piece.about)]
    line = next((one.claim for one in about if one.claim.key == piece.claim), None)
    if line is not None and piece.kind == "certain":
        yield f"{piece.about}: {line.key} stands among what is certain"
    if piece.text in own_words or not about:
        return
    documents = (piece.about, *ledger.images.get(piece.about, ()))
    certain = {label for doc in documents for label in ledger.settled_labels.get(doc, ())}
    for claim, _ in truth.unhedged(piece.text, about, certain, apart):
        yield f"{piece.about}: {claim} stands unhedged in: {piece.text}"


def linked_data(file: Path) -> dict[str, Any]:
    """What machines find in a page: keys of schema.org and Open Graph, with their prefix."""
    root = lxml.html.fromstring(file.read_bytes())
    found = {node.get("property"): node.get("content") for node in root.xpath("//meta[@property]")}
    for text in root.xpath("//script[@type='application/ld+json']/text()"):
        found |= {f"schema:{key}": value for key, value in orjson.loads(str(text)).items()}
    return found


def slot_faults(uri: str, found: Mapping[str, Any], ledger: truth.Ledger) -> Iterator[str]:
    """Yield each value slot of a page that names what is in doubt."""
    documents = (uri, *ledger.images.get(uri, ()))
    settled = {pair for doc in documents for pair in ledger.settled.get(doc, ())}
    for _, one in ledger.about(uri):
        for slot, aspects in ASPECTS.items():
            if one.claim.aspect not in aspects or slot not in found:
                continue
            values = {
                said
                for value in truth.listed(found[slot])
                for said in ({value["@id"]} if isinstance(value, dict) else {str(value)})
            }
            met = {name for name in values & one.names if (one.claim.aspect, name) not in settled}
            if met:
                yield f"{uri}: {one.claim.key} fills {slot} with {min(met)}"
