"""Documents of the IIIF Presentation API against its musts."""

from lodpipe.check.iiif import of_documents, of_keys, of_structure, of_texts
from lodpipe.check.iiif.looking import RULES, Looked, Rule, check, is_iiif, is_old

__all__ = [
    "RULES",
    "Looked",
    "Rule",
    "check",
    "is_iiif",
    "is_old",
    "of_documents",
    "of_keys",
    "of_structure",
    "of_texts",
]
