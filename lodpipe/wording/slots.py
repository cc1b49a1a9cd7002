"""Which places of what we publish hold only a value, and which hold words.

A value slot cannot carry a hedge, so it is filled only from a claim that is current and certain,
or from a plain statement of the catalogue. A text slot takes the words of this package. Every
output names its slots here: a test reads each of them back against the ledger.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Slot:
    """One place of one output.

    Attributes:
        output: linked-art, nquads, iiif, edm, oai or site.
        path: class and key, element, or property, as that output writes it.
        aspects: the aspects whose claims it could be filled from.
    """

    output: str
    path: str
    aspects: tuple[str, ...]


_DATES = ("date", "date_printed", "date_mounted", "date_captioned")
_COPIES = ("copy_of", "printed_from", "composed_of")

VALUE_ONLY_SLOTS: tuple[Slot, ...] = (
    Slot("linked-art", "Production/carried_out_by", ("maker",)),
    Slot("linked-art", "Production/influenced_by", ("maker", "copy_of")),
    Slot("linked-art", "Production/timespan", _DATES),
    Slot("linked-art", "Production/took_place_at", ("place",)),
    Slot("linked-art", "Production/technique", ("process",)),
    Slot("linked-art", "Production/used_specific_object", _COPIES),
    Slot("linked-art", "Production/part_of", ("same_session_as",)),
    Slot("linked-art", "Production/before", ("earlier_than",)),
    Slot("linked-art", "Production/after", ("later_than",)),
    Slot("linked-art", "Modification/carried_out_by", ("maker",)),
    Slot("linked-art", "Modification/timespan", _DATES),
    Slot("linked-art", "VisualItem/represents", ("sitter", "depicts", "same_sitter_as")),
    Slot("linked-art", "VisualItem/represents_instance_of_type", ("depicts",)),
    Slot("linked-art", "identified_by", ("title",)),
    Slot("linked-art", "referred_to_by[Inscription Statement]", ("inscription",)),
    Slot("linked-art", "classified_as", ("format",)),
    Slot("linked-art", "member_of", ("member_of",)),
    Slot("linked-art", "equivalent", ("same_as",)),
    Slot("nquads", "crm:P14_carried_out_by", ("maker",)),
    Slot("nquads", "crm:P15_was_influenced_by", ("maker", "copy_of")),
    Slot("nquads", "crm:P4_has_time-span", _DATES),
    Slot("nquads", "crm:P7_took_place_at", ("place",)),
    Slot("nquads", "crm:P32_used_general_technique", ("process",)),
    Slot("nquads", "crm:P16_used_specific_object", _COPIES),
    Slot("nquads", "crm:P9i_forms_part_of", ("same_session_as",)),
    Slot("nquads", "crm:P183_ends_before_the_start_of", ("earlier_than",)),
    Slot("nquads", "crm:P183i_starts_after_the_end_of", ("later_than",)),
    Slot("nquads", "crm:P138_represents", ("sitter", "depicts", "same_sitter_as")),
    Slot("nquads", "crm:P199_represents_instance_of_type", ("depicts",)),
    Slot("nquads", "crm:P1_is_identified_by", ("title",)),
    Slot("nquads", "crm:P67i_is_referred_to_by", ("inscription",)),
    Slot("nquads", "crm:P2_has_type", ("format",)),
    Slot("nquads", "crm:P107i_is_current_or_former_member_of", ("member_of",)),
    Slot("nquads", "la:equivalent", ("same_as",)),
    Slot("iiif", "navDate", _DATES),
    Slot("iiif", "navPlace", ("place",)),
    Slot("iiif", "label", ("title",)),
    Slot("edm", "dc:creator@rdf:resource", ("maker",)),
    Slot("edm", "dcterms:created@rdf:resource", _DATES),
    Slot("edm", "dcterms:spatial@rdf:resource", ("place",)),
    Slot("edm", "dc:subject@rdf:resource", ("sitter", "depicts", "same_sitter_as")),
    Slot("edm", "dc:format@rdf:resource", ("process", "format")),
    Slot("edm", "dcterms:isVersionOf@rdf:resource", _COPIES),
    Slot("edm", "owl:sameAs", ("same_as",)),
    Slot("oai", "dc:date[EDTF]", _DATES),
    Slot("site", "schema:creator", ("maker",)),
    Slot("site", "schema:dateCreated", _DATES),
    Slot("site", "schema:locationCreated", ("place",)),
    Slot("site", "schema:about", ("sitter", "depicts", "same_sitter_as")),
    Slot("site", "schema:sameAs", ("same_as",)),
)
"""Filled only from claims that are current and certain."""

TEXT_SLOTS: tuple[Slot, ...] = (
    Slot("linked-art", "produced_by/referred_to_by[Attribution statement]", ("maker",)),
    Slot("linked-art", "AttributeAssignment/identified_by[Display Name]", ()),
    Slot("linked-art", "AttributeAssignment/_label", ()),
    Slot("iiif", "metadata", ()),
    Slot("iiif", "summary", ()),
    Slot("edm", "dc:creator", ("maker",)),
    Slot("edm", "dc:subject", ("sitter", "depicts", "same_sitter_as")),
    Slot("edm", "dcterms:created", _DATES),
    Slot("edm", "dcterms:spatial", ("place",)),
    Slot("oai", "dc:creator", ("maker",)),
    Slot("oai", "dc:subject", ("sitter", "depicts", "same_sitter_as")),
    Slot("oai", "dc:date", _DATES),
    Slot("oai", "dc:coverage", ("place",)),
    Slot("site", "text", ()),
)
"""Filled with words that keep hedge and standing; no aspects means all of them."""
