"""Reading a document for its page: names, texts, acts of making, and what is claimed of it."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lodpipe import aspects
from lodpipe.records import Claim, Tree
from lodpipe.terms import VOCAB

AAT = "http://vocab.getty.edu/aat/"
PRIMARY_NAME = AAT + "300404670"
FORMER_NAME = AAT + "300435719"
DISPLAY_NAME = AAT + "300404669"
ACCESSION = AAT + "300312355"
DESCRIPTION = AAT + "300435416"
BIOGRAPHY = AAT + "300435422"
CITATION = AAT + "300026497"
INSCRIPTION = AAT + "300435414"
DIMENSIONS = AAT + "300435430"
RIGHTS = AAT + "300435434"
PHOTOGRAPH = AAT + "300046300"
MAKING = ("exposure", "drawing", "making", "production", "compiling", "pasting")
"""The roles whose maker, day and place a reader asks for first."""
_PRIVATE = re.compile(r"q[a-t][a-z]")
UNIDENTIFIED = "group/unidentified-"
"""Begins the keys of Groups that stand for makers whom nobody knows."""
CATALOGUE = "catalogue-"
"""Begins the keys of views of the catalogue that the ledger has set aside."""

Names = dict[str, str]
"""Language tag, or empty, to a text."""


@dataclass(frozen=True, slots=True)
class Act:
    """A node of a document, and what role it has in its making: `record` for the document itself."""

    role: str
    node: Tree


@dataclass(frozen=True, slots=True)
class Said:
    """One claim as it stands in its document.

    Attributes:
        document: the document that it stands in. `node`: role of the node that it is about.
        alternatives: of how many claims only one holds; 0 outside such a set.
    """

    claim: Claim
    document: str
    node: str
    alternatives: int = 0


def listed(value: Any) -> list[Any]:
    """Return a value that may be one, or many, or none as a list."""
    if value is None:
        return []
    return value if isinstance(value, list) else [value]


def has_type(node: Tree, term: str) -> bool:
    """Return whether a node is classified as a concept."""
    return any(concept.get("id") == term for concept in node.get("classified_as", ()))


def tag_of(node: Tree, tags: Mapping[str, str]) -> str:
    """Return the language of a text, empty where none is said."""
    languages = node.get("language", ())
    return html_tag(tags.get(languages[0].get("id", ""), "")) if languages else ""


def html_tag(tag: str) -> str:
    """Return a language tag as browsers and readers' tools take it.

    The codes from qaa to qtz are for private use (ISO 639-2, section 4.1.3), and tools do not know
    them; a language without a code is `mis`, with what we call it as a private subtag (RFC 5646
    section 2.2.7).

    >>> html_tag("qtv"), html_tag("de")
    ('mis-x-qtv', 'de')
    """
    return f"mis-x-{tag}" if _PRIVATE.fullmatch(tag) else tag


def names(tree: Tree, tags: Mapping[str, str]) -> Names:
    """Return the primary names of a document, by language; its first name where none is primary."""
    found: Names = {}
    other: Names = {}
    for node in tree.get("identified_by", ()):
        if node.get("type") == "Name" and node.get("content"):
            tag = tag_of(node, tags)
            (found if has_type(node, PRIMARY_NAME) else other).setdefault(tag, node["content"])
    return found or dict(list(other.items())[:1])


def texts(tree: Tree, term: str, tags: Mapping[str, str]) -> list[tuple[str, str]]:
    """Return the texts of one kind, each with its language, without repeats."""
    found = [
        (tag_of(node, tags), str(node["content"]))
        for node in tree.get("referred_to_by", ())
        if node.get("content") and has_type(node, term)
    ]
    said: dict[str, str] = {}
    for tag, text in found:
        if tag or text not in said:
            said[text] = tag
    return [(tag, text) for text, tag in said.items()]


def acts(tree: Tree) -> list[Act]:
    """Return the parts of the production, the taking before the printing, then what came later.

    A production without parts stands for itself.
    """
    whole = tree.get("produced_by") or {}
    parts = [part for part in whole.get("part", ()) if "type" in part]
    made = [Act(_role(node, "production"), node) for node in ([] if parts else [whole]) if node]
    made += [Act(_role(node, "production"), node) for node in parts]
    made.sort(key=lambda act: MAKING.index(act.role) if act.role in MAKING else 99)
    if parts and (whole.get("carried_out_by") or whole.get("attributed_by")):
        made.insert(0, Act("production", {k: v for k, v in whole.items() if k != "part"}))
    made += [Act(_role(node, "modification"), node) for node in tree.get("modified_by", ())]
    return made


def _role(node: Tree, usual: str) -> str:
    for concept in node.get("classified_as", ()):
        _, found, role = concept.get("id", "").partition(VOCAB + "role/")
        if found:
            return str(role)
    return usual


def said_in(tree: Tree, lines: Sequence[Claim]) -> list[Said]:
    """Return the claims of a document in the order in which it tells them.

    Args:
        lines: of the ledger. Views of the catalogue that the ledger has set aside are no lines;
            they are read from the document.
    """
    by_key = {claim.key: claim for claim in lines}
    sets = alternatives(lines)
    found = []
    for act in (*acts(tree), Act("record", tree)):
        for node in act.node.get("attributed_by", ()):
            key = key_of_claim(node)
            claim = by_key.get(key)
            if claim is None and key.startswith(CATALOGUE):
                claim = _set_aside(key, node, tree["id"])
            if claim is not None:
                found.append(Said(claim, tree["id"], act.role, sets.get(key, 0)))
    return found


def key_of_claim(node: Tree) -> str:
    """Return the key of a claim, from its Identifier."""
    for name in node.get("identified_by", ()):
        if name.get("type") == "Identifier":
            return str(name["content"])
    return ""


def _set_aside(key: str, node: Tree, document: str) -> Claim:
    value: Tree = next(iter(listed(node.get("assigned"))), {})
    content = value.get("content") or next(
        (n["content"] for n in value.get("identified_by", ()) if n["type"] == "Name"), ""
    )
    aspect = next(
        (
            kind["id"].rpartition("/")[2]
            for kind in node.get("classified_as", ())
            if "/aspect/" in kind.get("id", "")
        ),
        "title",
    )
    edtf = next((n["content"] for n in value.get("identified_by", ()) if n["type"] != "Name"), "")
    basis = next(
        (
            text["content"]
            for text in node.get("referred_to_by", ())
            if any(
                "statement/basis" in kind.get("id", "") for kind in text.get("classified_as", ())
            )
        ),
        "",
    )
    dates = node.get("timespan", {}).get("identified_by", ())
    return Claim(
        key,
        document,
        aspect,
        value.get("id", "") or edtf,
        value_text=str(content),
        by=next((one["id"] for one in node.get("carried_out_by", ()) if "id" in one), ""),
        on=next((n["content"] for n in dates if n["type"] == "Identifier"), ""),
        basis=str(basis),
        standing="former",
        effective="former",
        mapped=True,
    )


def alternatives(claims: Iterable[Claim]) -> dict[str, int]:
    """Return, for each claim of a set of which one holds, how many the set has."""
    return {key: size for key, (_, size) in aspects.alternatives(claims).items()}


def references(tree: Tree) -> Iterator[Tree]:
    """Yield every node that points at another document, claims left aside."""
    stack: list[Any] = [value for key, value in tree.items() if key != "attributed_by"]
    while stack:
        node = stack.pop()
        if isinstance(node, list):
            stack.extend(node)
        elif isinstance(node, dict):
            if "id" in node and "#" not in node["id"]:
                yield node
            stack.extend(value for key, value in node.items() if key != "attributed_by")
