"""Assembling documents: what several records say united, open slots filled, claims merged."""

from lodpipe.assemble.fill import TakenOut, fill
from lodpipe.assemble.house import (
    UNIDENTIFIED,
    brought_by,
    called_for,
    house_documents,
    house_iris,
    house_prefixes,
    named_after,
)
from lodpipe.assemble.links import Picture, link
from lodpipe.assemble.merge import Brought, Merged, Merger
from lodpipe.assemble.plain import Speaker
from lodpipe.assemble.targets import homeless, place_claims, sessions, target
from lodpipe.assemble.unite import unite
from lodpipe.parts import United

__all__ = [
    "UNIDENTIFIED",
    "Brought",
    "Merged",
    "Merger",
    "Picture",
    "Speaker",
    "TakenOut",
    "United",
    "brought_by",
    "called_for",
    "fill",
    "homeless",
    "house_documents",
    "house_iris",
    "house_prefixes",
    "link",
    "named_after",
    "place_claims",
    "sessions",
    "target",
    "unite",
]
