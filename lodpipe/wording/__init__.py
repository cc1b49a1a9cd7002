"""Every word about a claim or a date, in each language that has a table."""

from lodpipe.wording.claims import (
    CURRENT,
    FORMER,
    PROPOSED,
    REJECTED,
    STANDINGS,
    USUAL_ROLES,
    View,
    attribution_line,
    claim_words,
    edtf_of,
    nobody_known,
    role_word,
    short_words,
)
from lodpipe.wording.date_words import date_phrase, date_words
from lodpipe.wording.evidence_words import (
    aspect_word,
    days_words,
    fact_words,
    held_kind,
    held_words,
    verdict_words,
)
from lodpipe.wording.slots import FREE_OF_CLAIMS, TEXT_SLOTS, VALUE_ONLY_SLOTS, Slot
from lodpipe.wording.tables import has, joined, language_for, languages, say

__all__ = [
    "CURRENT",
    "FORMER",
    "FREE_OF_CLAIMS",
    "PROPOSED",
    "REJECTED",
    "STANDINGS",
    "TEXT_SLOTS",
    "USUAL_ROLES",
    "VALUE_ONLY_SLOTS",
    "Slot",
    "View",
    "aspect_word",
    "attribution_line",
    "claim_words",
    "date_phrase",
    "date_words",
    "days_words",
    "edtf_of",
    "fact_words",
    "has",
    "held_kind",
    "held_words",
    "joined",
    "language_for",
    "languages",
    "nobody_known",
    "role_word",
    "say",
    "short_words",
    "verdict_words",
]
