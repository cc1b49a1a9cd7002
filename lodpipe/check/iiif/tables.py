"""What IIIF Presentation 3.0 says of keys and classes, as tables: <https://iiif.io/api/presentation/3.0/>.

Read from the specification's own sentences with MUST and MUST NOT, not from the official JSON
Schema, which lets much of it pass.
"""

from dataclasses import dataclass

PRESENTATION = "http://iiif.io/api/presentation/3/context.json"
NAV_PLACE = "http://iiif.io/api/extension/navplace/context.json"
SPECIFICATION = "https://iiif.io/api/presentation/3.0/"

SHOWN = frozenset({"Collection", "Manifest", "Canvas", "Range"})
NOTES = frozenset({"Annotation", "AnnotationPage", "AnnotationCollection"})
OURS = SHOWN | NOTES | {"Agent"}
"""Classes that the specification defines; what else has a type is content, or of W3C Annotation."""

MEDIA = frozenset({"Dataset", "Image", "Model", "Sound", "Text", "Video"})
"""<https://iiif.io/api/presentation/3.0/#type>"""

LISTS = frozenset(
    {"metadata", "provider", "thumbnail", "homepage", "logo", "rendering", "service", "services"}
    | {"seeAlso", "partOf", "behavior", "items", "structures", "annotations"}
)
"""Keys whose value is an array even for one: `#43-properties-with-multiple-values`."""

TEXTS = ("label", "summary")
PAIRS = ("metadata", "requiredStatement")

ONLY: dict[str, frozenset[str]] = {
    "navDate": SHOWN,
    "navPlace": SHOWN,
    "placeholderCanvas": SHOWN,
    "accompanyingCanvas": SHOWN,
    "viewingDirection": frozenset({"Collection", "Manifest", "Range"}),
    "start": frozenset({"Manifest", "Range"}),
    "supplementary": frozenset({"Range"}),
    "structures": frozenset({"Manifest"}),
    "items": SHOWN | {"AnnotationPage"},
    "annotations": SHOWN,
    "height": frozenset({"Canvas"}),
    "width": frozenset({"Canvas"}),
    "duration": frozenset({"Canvas"}),
    "format": frozenset(),
}
"""Keys that no other class of `OURS` may have: "Other types of resource MUST NOT have ..."."""

ITEMS: dict[str, frozenset[str]] = {
    "Collection": frozenset({"Collection", "Manifest"}),
    "Manifest": frozenset({"Canvas"}),
    "Canvas": frozenset({"AnnotationPage"}),
    "AnnotationPage": frozenset({"Annotation"}),
    "Range": frozenset({"Range", "Canvas", "SpecificResource"}),
}
"""<https://iiif.io/api/presentation/3.0/#items>"""


@dataclass(frozen=True, slots=True)
class Link:
    """What the objects under a key must have; `classes` is empty where any will do."""

    must: tuple[str, ...]
    classes: frozenset[str] = frozenset()


_ID = ("id", "type")
LINKS: dict[str, Link] = {
    "homepage": Link((*_ID, "label")),
    "rendering": Link((*_ID, "label")),
    "seeAlso": Link(_ID),
    "thumbnail": Link(_ID),
    "partOf": Link(_ID),
    "provider": Link((*_ID, "label"), frozenset({"Agent"})),
    "logo": Link(_ID, frozenset({"Image"})),
    "placeholderCanvas": Link(_ID, frozenset({"Canvas"})),
    "accompanyingCanvas": Link(_ID, frozenset({"Canvas"})),
    "start": Link(_ID, frozenset({"Canvas", "SpecificResource"})),
    "supplementary": Link(_ID, frozenset({"AnnotationCollection"})),
    "structures": Link(_ID, frozenset({"Range"})),
    "annotations": Link(_ID, frozenset({"AnnotationPage"})),
    "body": Link(("type",)),
}

_PLAYED = SHOWN
_LAID_OUT = frozenset({"Collection", "Manifest", "Range"})
_CANVAS = frozenset({"Canvas"})
_COLLECTION = frozenset({"Collection"})
_RANGE = frozenset({"Range"})
BEHAVIORS: dict[str, frozenset[str]] = {
    "auto-advance": _PLAYED,
    "no-auto-advance": _PLAYED,
    "repeat": frozenset({"Collection", "Manifest"}),
    "no-repeat": frozenset({"Collection", "Manifest"}),
    "unordered": _LAID_OUT,
    "individuals": _LAID_OUT,
    "continuous": _LAID_OUT,
    "paged": _LAID_OUT,
    "facing-pages": _CANVAS,
    "non-paged": _CANVAS,
    "multi-part": _COLLECTION,
    "together": _COLLECTION,
    "sequence": _RANGE,
    "thumbnail-nav": _RANGE,
    "no-nav": _RANGE,
    "hidden": NOTES | {"SpecificResource", "Choice"},
}
"""Value -> classes that it is valid on: <https://iiif.io/api/presentation/3.0/#behavior>."""

DISJOINT: tuple[frozenset[str], ...] = (
    frozenset({"auto-advance", "no-auto-advance"}),
    frozenset({"repeat", "no-repeat"}),
    frozenset({"unordered", "individuals", "continuous", "paged"}),
    frozenset({"facing-pages", "non-paged"}),
    frozenset({"multi-part", "together"}),
    frozenset({"sequence", "thumbnail-nav", "no-nav"}),
)

DIRECTIONS = frozenset({"left-to-right", "right-to-left", "top-to-bottom", "bottom-to-top"})

RIGHTS = (
    "http://creativecommons.org/licenses/",
    "http://creativecommons.org/publicdomain/",
    "http://rightsstatements.org/vocab/",
)
