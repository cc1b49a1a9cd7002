"""Documents to triples, by our own table of keys; no JSON-LD processor on the hot path.

`terms.csv` says what each Linked Art key means in each scope. From it come the compiled emitter
(`Emitter`), our context document (`context`, answered by the frozen `loader`) and the one place
that resolves a key (`property_iri`). JSON-LD processors are the referees, in the tests.
"""

from lodpipe.rdf.context import CONTEXT_URL, assigned_iri, class_iri, context, loader, property_iri
from lodpipe.rdf.emitted import Assignment, Emitted
from lodpipe.rdf.emitter import Emitter

__all__ = [
    "CONTEXT_URL",
    "Assignment",
    "Emitted",
    "Emitter",
    "assigned_iri",
    "class_iri",
    "context",
    "loader",
    "property_iri",
]
