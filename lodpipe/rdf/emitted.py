"""What the emitter hands out, and what it knows while it works on one document."""

from dataclasses import dataclass, field

from lodpipe.records import Tree

Kept = tuple[str, Tree, tuple[str, ...], tuple[tuple[str, str], ...]]
"""A node that stands in many documents: its text, the node, its lines, nodes with pointers."""


@dataclass(frozen=True, slots=True)
class Assignment:
    """A claim in a document: what it says of which node.

    Attributes:
        iri: of the AttributeAssignment; `carrier` is the node that has it in `attributed_by`.
        property: IRI that `assigned_property` stands for; "" when it has none.
        values: IRIs of what is assigned, in their order.
        tree: the node itself, not to be changed.
    """

    iri: str
    carrier: str
    property: str
    values: tuple[str, ...]
    tree: Tree


@dataclass(frozen=True, slots=True)
class Emitted:
    """The triples of one document.

    Attributes:
        uri: IRI of the document.
        lines: N-Triples lines without line end, sorted by code point, none twice.
        nodes: IRI of each node (or label of a blank node) -> JSON Pointer of the place where it
            stands first.
        assignments: the claims, in the order of the document.
    """

    uri: str
    lines: list[str]
    nodes: dict[str, str]
    assignments: tuple[Assignment, ...] = ()


@dataclass(slots=True)
class Claim:
    """A claim whose parts are still being met; its carrier as text."""

    carrier: str
    carrier_class: str
    tree: Tree
    property: str = ""
    values: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Run:
    """What is known while one document is emitted; subjects and targets are N-Triples text.

    Attributes:
        stem: IRI of the document with `#`.
        used: how often each role was given; "" counts blank nodes.
        stated: roles of nodes that have their own `id` in the JSON; `minted`: those made
            here, each with its JSON Pointer.
        claims: by text of the AttributeAssignment.
        mixed: whether one role was given in two different lists.
        done: repeated nodes whose lines this document has already, by identity.
    """

    stem: str
    used: dict[str, int]
    lines: set[str] = field(default_factory=set)
    nodes: dict[str, str] = field(default_factory=dict)
    stated: set[str] = field(default_factory=set)
    minted: dict[str, str] = field(default_factory=dict)
    claims: dict[str, Claim] = field(default_factory=dict)
    mixed: bool = False
    done: dict[int, Kept] = field(default_factory=dict)
