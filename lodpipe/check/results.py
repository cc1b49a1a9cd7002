"""What a check gives back: results, counts, and what the engines said of one another."""

from dataclasses import dataclass, field

from lodpipe.findings import Finding


@dataclass(frozen=True, slots=True)
class Result:
    """One validation result, attributed to the document that it was found in.

    Attributes:
        uri: the document. `focus`: IRI of the focus node, or a blank node label.
        shape: name of the shape (its IRI, or the IRI of the one that holds it and the path).
        path: property path as text (`crm:P4_has_time-span/crm:P82a_begin_of_the_begin`); empty
            for a result of a node shape.
        pointer: JSON Pointer in the document of the focus node, or of the nearest node above.
        severity: violation, warning or info.
        component: local name of the constraint component, `MinCount`.
        value: the offending value as text, empty when the result has none.
        rule: URL of the published rule that the shape comes from.
        term: the offending value as an N-Triples term.
    """

    uri: str
    focus: str
    shape: str
    path: str
    pointer: str
    severity: str
    component: str
    message: str
    value: str
    rule: str
    term: str = ""

    def sort_key(self) -> tuple[str, ...]:
        """Order of reports: document, place in it, shape, component, value."""
        return (self.uri, self.pointer, self.focus, self.shape, self.component, self.term)


@dataclass(slots=True)
class BatchResult:
    """What the check of a batch found.

    Attributes:
        results: in the order of documents, then of `Result.sort_key`.
        focus: document -> shape with targets -> number of focus nodes (shapes with none left out).
        seconds: shape -> time that it took in this batch, measured by the compiled engine.
        findings: disagreements of the two engines, one each.
        refereed: documents that both engines checked.
    """

    results: list[Result] = field(default_factory=list)
    focus: dict[str, dict[str, int]] = field(default_factory=dict)
    seconds: dict[str, float] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    refereed: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True, order=True)
class Raw:
    """A result as an engine gives it: nodes in N-Triples, `shape` the node of the shape.

    `message` is what pySHACL says, needed for SPARQL constraints, which carry their own.
    """

    focus: str
    path: str
    component: str
    value: str
    shape: str
    message: str = field(default="", compare=False)
