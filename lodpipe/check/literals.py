"""What literals mean: their parts, whether they are well formed, and which of two is smaller."""

import re

from lodpipe.check.graph import XSD, Node

_UNESCAPE = re.compile(r"\\(?:([tbnrf\"'\\])|u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8}))")
_CHARACTERS = {"t": "\t", "b": "\b", "n": "\n", "r": "\r", "f": "\f"}


def text_of(node: Node) -> str:
    """Return the text of a node as SPARQL's `str` gives it: IRI or lexical form."""
    if node.startswith("<"):
        return node[1:-1]
    if not node.startswith('"'):
        return node
    body = node[1 : node.rindex('"')]
    return _UNESCAPE.sub(_character, body) if "\\" in body else body


def _character(match: re.Match[str]) -> str:
    short, four, eight = match.groups()
    return _CHARACTERS.get(short, short) if short else chr(int(four or eight, 16))


def datatype_of(node: Node) -> str:
    """Return the datatype IRI of a literal (without brackets); empty for IRIs and blank nodes."""
    if not node.startswith('"'):
        return ""
    tail = node[node.rindex('"') + 1 :]
    if tail.startswith("^^"):
        return tail[3:-1]
    if tail:
        return "http://www.w3.org/1999/02/22-rdf-syntax-ns#langString"
    return f"{XSD}string"


def language_of(node: Node) -> str:
    """Return the language tag of a literal, in lower case; empty when it has none."""
    if not node.startswith('"'):
        return ""
    tail = node[node.rindex('"') + 1 :]
    return tail[1:].lower() if tail.startswith("@") else ""
