"""The words of SHACL, from the W3C Recommendation of 20 July 2017 <https://www.w3.org/TR/shacl/>.

Every term of the vocabulary file <https://www.w3.org/ns/shacl.ttl> is here, so that a misspelt
one can be told from a rare one; of the Core constraints also what their value must be.
"""

from dataclasses import dataclass

SH = "http://www.w3.org/ns/shacl#"


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter of a Core constraint component.

    Attributes:
        name: local name of the parameter. `component`: local name of the component whose results
            it makes; empty for a parameter that only goes with another.
        takes: what its value must be: iri, integer, boolean, text, list, shape, shapes, kind,
            literal, path or any.
        on: `both` kinds of shape, or only `property` shapes.
        beside: parameter without which it checks nothing.
        one: a shape may have it only once.
    """

    name: str
    component: str
    takes: str
    on: str = "both"
    beside: str = ""
    one: bool = False


PARAMETERS = {
    row.name: row
    for row in (
        Parameter("class", "Class", "iri"),
        Parameter("datatype", "Datatype", "iri", one=True),
        Parameter("nodeKind", "NodeKind", "kind", one=True),
        Parameter("minCount", "MinCount", "integer", "property", one=True),
        Parameter("maxCount", "MaxCount", "integer", "property", one=True),
        Parameter("minExclusive", "MinExclusive", "literal", one=True),
        Parameter("minInclusive", "MinInclusive", "literal", one=True),
        Parameter("maxExclusive", "MaxExclusive", "literal", one=True),
        Parameter("maxInclusive", "MaxInclusive", "literal", one=True),
        Parameter("minLength", "MinLength", "integer", one=True),
        Parameter("maxLength", "MaxLength", "integer", one=True),
        Parameter("pattern", "Pattern", "text"),
        Parameter("flags", "", "text", beside="pattern", one=True),
        Parameter("languageIn", "LanguageIn", "list", one=True),
        Parameter("uniqueLang", "UniqueLang", "boolean", "property", one=True),
        Parameter("equals", "Equals", "iri"),
        Parameter("disjoint", "Disjoint", "iri"),
        Parameter("lessThan", "LessThan", "iri", "property"),
        Parameter("lessThanOrEquals", "LessThanOrEquals", "iri", "property"),
        Parameter("not", "Not", "shape"),
        Parameter("and", "And", "shapes"),
        Parameter("or", "Or", "shapes"),
        Parameter("xone", "Xone", "shapes"),
        Parameter("node", "Node", "shape"),
        Parameter("property", "Property", "shape"),
        Parameter("qualifiedValueShape", "", "shape", "property"),
        Parameter(
            "qualifiedMinCount",
            "QualifiedMinCount",
            "integer",
            "property",
            "qualifiedValueShape",
            one=True,
        ),
        Parameter(
            "qualifiedMaxCount",
            "QualifiedMaxCount",
            "integer",
            "property",
            "qualifiedValueShape",
            one=True,
        ),
        Parameter(
            "qualifiedValueShapesDisjoint",
            "",
            "boolean",
            "property",
            "qualifiedValueShape",
            one=True,
        ),
        Parameter("closed", "Closed", "boolean", one=True),
        Parameter("ignoredProperties", "", "list", beside="closed", one=True),
        Parameter("hasValue", "HasValue", "any"),
        Parameter("in", "In", "list", one=True),
    )
}
"""The parameters of the Core constraint components, by local name (SHACL, section 4)."""

TARGETS = ("targetClass", "targetNode", "targetSubjectsOf", "targetObjectsOf")
PATHS = ("inversePath", "alternativePath", "zeroOrMorePath", "oneOrMorePath", "zeroOrOnePath")
BESIDES = (
    *TARGETS,
    "path",
    "message",
    "severity",
    "deactivated",
    "name",
    "description",
    "order",
    "group",
    "defaultValue",
)
"""What a Core shape may say besides its constraints (SHACL, sections 2.1 and 2.3)."""

SPARQL = (
    "sparql",
    "target",
    "rule",
    "expression",
    "js",
    "filterShape",
    "nodeValidator",
    "propertyValidator",
    "validator",
    "values",
)
"""Parameters outside SHACL Core that change what a shape finds (`values` belongs to drafts)."""

SEVERITIES = {"Violation": "violation", "Warning": "warning", "Info": "info"}

KINDS = {
    "IRI": "<",
    "BlankNode": "_",
    "Literal": '"',
    "BlankNodeOrIRI": "_<",
    "BlankNodeOrLiteral": '_"',
    "IRIOrLiteral": '<"',
}
"""Values of sh:nodeKind, with the first characters of the terms that they allow."""

_REST = """
AbstractResult ConstraintComponent Function JSConstraint JSConstraint-js JSConstraintComponent
JSExecutable JSFunction JSLibrary JSRule JSTarget JSTargetType JSValidator NodeKind NodeShape
Parameter Parameterizable PrefixDeclaration PropertyGroup PropertyShape ResultAnnotation Rule
SPARQLAskExecutable SPARQLAskValidator SPARQLConstraint SPARQLConstraintComponent
SPARQLConstraintComponent-sparql SPARQLConstructExecutable SPARQLExecutable SPARQLFunction
SPARQLRule SPARQLSelectExecutable SPARQLSelectValidator SPARQLTarget SPARQLTargetType
SPARQLUpdateExecutable Severity Shape Target TargetType TripleRule ValidationReport
ValidationResult Validator ExpressionConstraintComponent ExpressionConstraintComponent-expression
annotationProperty annotationValue annotationVarName ask condition conforms construct declare
detail entailment focusNode intersection jsFunctionName jsLibrary jsLibraryURL labelTemplate
namespace nodes object optional parameter predicate prefix prefixes result resultAnnotation
resultMessage resultPath resultSeverity returnType select shapesGraph shapesGraphWellFormed
sourceConstraint sourceConstraintComponent sourceShape subject suggestedShapesGraph this union
update value
"""


def _components() -> set[str]:
    found = set()
    for parameter in PARAMETERS.values():
        if parameter.component:
            name = f"{parameter.component}ConstraintComponent"
            found |= {name, f"{name}-{parameter.name}"}
    for side in ("QualifiedMinCount", "QualifiedMaxCount"):
        for name in ("qualifiedValueShape", "qualifiedValueShapesDisjoint"):
            found.add(f"{side}ConstraintComponent-{name}")
    found |= {"ClosedConstraintComponent-ignoredProperties", "PatternConstraintComponent-flags"}
    return found


TERMS = frozenset(
    {*PARAMETERS, *BESIDES, *PATHS, *SEVERITIES, *KINDS, *_REST.split(), *_components()}
    | (set(SPARQL) - {"values"})
)
"""Local names of all terms of the vocabulary."""


def component(name: str) -> str:
    """Return the IRI of a constraint component, in brackets."""
    return f"<{SH}{name}ConstraintComponent>"


def sh(name: str) -> str:
    """Return a SHACL term as a node: `<http://www.w3.org/ns/shacl#path>`."""
    return f"<{SH}{name}>"
