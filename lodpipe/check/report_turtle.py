"""The report as a validation report of SHACL, in Turtle: section 3.6 of
<https://www.w3.org/TR/shacl/#validation-report>.

Findings that are no results of shapes have no place in it. Messages carry no language tag, as in
the shapes.
"""

from collections.abc import Iterable, Sequence

from lodpipe.check.graph import quote
from lodpipe.check.paths import PREFIXES, Path, path_of
from lodpipe.check.report import About, Entry, groups
from lodpipe.check.words import PARAMETERS, SH

_SEVERITY = {"violation": "sh:Violation", "warning": "sh:Warning", "info": "sh:Info"}
_COMPONENTS = {p.component for p in PARAMETERS.values()} | {"SPARQL"}
_RULE = "urn:lodpipe:component:"
_WORDS = {"^": "inversePath", "*": "zeroOrMorePath", "+": "oneOrMorePath", "?": "zeroOrOnePath"}


def as_turtle(entries: Sequence[Entry], about: About) -> str:
    """Return the results as an `sh:ValidationReport`; each result also says from which cells."""
    shown = [entry for group in groups(entries) for entry in group.entries if entry.component]
    lines = [f"@prefix {name}: <{PREFIXES[name]}> ." for name in ("dcterms", "rdfs", "sh", "xsd")]
    lines += [
        "",
        "[] a sh:ValidationReport ;",
        f"    sh:conforms {'false' if shown else 'true'} ;",
        f"    dcterms:title {quote(about.title)} ;",
        f"    dcterms:creator {quote(about.tool)} ;",
        f"    dcterms:source {quote(f'sha256:{about.data}')} ;",
        f"    dcterms:conformsTo {quote(f'sha256:{about.shapes}')}" + (" ;" if shown else " ."),
    ]
    for number, entry in enumerate(shown, 1):
        lines += _result(entry)
        lines.append("    ]" + (" ;" if number < len(shown) else " ."))
    return "\n".join(lines) + "\n"


def _result(entry: Entry) -> Iterable[str]:
    yield "    sh:result [ a sh:ValidationResult ;"
    known = entry.component in _COMPONENTS
    component = f"{SH}{entry.component}ConstraintComponent" if known else _RULE + entry.component
    parts = [
        ("sh:resultSeverity", _SEVERITY[entry.severity]),
        ("sh:focusNode", _node(entry.focus)),
        ("sh:resultPath", turtle_path(path_of(entry.path)) if entry.path else ""),
        ("sh:value", entry.term if not entry.term.startswith("_:") else "[]"),
        ("sh:sourceConstraintComponent", f"<{component}>"),
        ("sh:sourceShape", f"<{entry.shape}>" if " " not in entry.shape else "[]"),
        ("sh:resultMessage", quote(entry.message)),
        *(("rdfs:comment", quote(str(step.place))) for step in entry.places),
    ]
    yield " ;\n".join(f"        {name} {value}" for name, value in parts if value)


def _node(focus: str) -> str:
    return "[]" if focus.startswith("_:") else f"<{focus}>"


def turtle_path(path: Path) -> str:
    """Return a path as Turtle: SHACL, section 2.3.1."""
    if not path.op:
        return path.predicate
    parts = " ".join(turtle_path(part) for part in path.parts)
    if path.op == "/":
        return f"( {parts} )"
    if path.op == "|":
        return f"[ sh:alternativePath ( {parts} ) ]"
    return f"[ sh:{_WORDS[path.op]} {parts} ]"
