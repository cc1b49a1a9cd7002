"""Which places of what we publish hold only a value, and which hold words.

A value slot cannot carry a hedge, so it is filled only from a claim that is current and certain,
or from a plain statement of the catalogue. A text slot takes the words of this package. Every
output names its slots here, and every other key of it as free of claims, with the reason: a test
reads each slot back against the ledger, and fails for a key that is nowhere.
"""

from collections.abc import Mapping
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
    Slot("edm", "dc:contributor@rdf:resource", ("maker",)),
    Slot("edm", "dcterms:created@rdf:resource", ("date",)),
    Slot("edm", "dcterms:spatial@rdf:resource", ("place",)),
    Slot("edm", "dc:subject@rdf:resource", ("sitter", "depicts", "same_sitter_as")),
    Slot("edm", "dcterms:medium@rdf:resource", ("process",)),
    Slot("edm", "dc:type@rdf:resource", ("format",)),
    Slot("edm", "edm:isDerivativeOf@rdf:resource", _COPIES),
    Slot("edm", "owl:sameAs@rdf:resource", ("same_as",)),
    Slot("edm", "skos:exactMatch@rdf:resource", ("same_as",)),
    Slot("oai", "dc:date[EDTF]", ("date",)),
    Slot("oai", "dc:relation[IRI]", _COPIES),
    Slot("site", "schema:creator", ("maker",)),
    Slot("site", "schema:dateCreated", _DATES),
    Slot("site", "schema:locationCreated", ("place",)),
    Slot("site", "schema:about", ("sitter", "depicts", "same_sitter_as")),
    Slot("site", "schema:sameAs", ("same_as",)),
    Slot("site", "schema:name", ("title",)),
    Slot("site", "og:title", ("title",)),
    Slot("site", "og:image:alt", ("title",)),
)
"""Filled only from claims that are current and certain."""

TEXT_SLOTS: tuple[Slot, ...] = (
    Slot("linked-art", "produced_by/referred_to_by[Attribution statement]/content", ("maker",)),
    Slot("linked-art", "AttributeAssignment/identified_by[Display Name]/content", ()),
    Slot("linked-art", "AttributeAssignment/_label", ()),
    Slot("nquads", "crm:P190_has_symbolic_content", ()),
    Slot("nquads", "rdfs:label", ()),
    Slot("iiif", "metadata", ()),
    Slot("iiif", "summary", ()),
    Slot("iiif", "requiredStatement", ()),
    Slot("edm", "dc:title", ("title",)),
    Slot("edm", "dc:creator", ("maker",)),
    Slot("edm", "dc:contributor", ("maker",)),
    Slot("edm", "dc:date", ("date_printed",)),
    Slot("edm", "dc:type", ("format",)),
    Slot("edm", "dc:relation", _COPIES),
    Slot("edm", "dc:subject", ("sitter", "depicts", "same_sitter_as")),
    Slot("edm", "dcterms:created", ("date",)),
    Slot("edm", "dcterms:spatial", ("place",)),
    Slot("edm", "dcterms:medium", ("process",)),
    Slot("oai", "dc:title", ("title",)),
    Slot("oai", "dc:creator", ("maker",)),
    Slot("oai", "dc:contributor", ("maker",)),
    Slot("oai", "dc:subject", ("sitter", "depicts", "same_sitter_as")),
    Slot("oai", "dc:date", ("date", "date_printed")),
    Slot("oai", "dc:type", ("format",)),
    Slot("oai", "dc:format", ("process",)),
    Slot("oai", "dc:relation", _COPIES),
    Slot("oai", "dc:coverage", ("place",)),
    Slot("site", "text", ()),
    Slot("site", "schema:description", ()),
    Slot("site", "schema:creditText", ("maker",)),
    Slot("site", "og:description", ()),
)
"""Filled with words that keep hedge and standing; no aspects means all of them."""


def _free(reasons: Mapping[str, str]) -> dict[str, str]:
    return {key: reason for reason, keys in reasons.items() for key in keys.split()}


FREE_OF_CLAIMS: Mapping[str, Mapping[str, str]] = {
    "linked-art": _free(
        {
            "the claim itself, which names its value without stating it": (
                "attributed_by assigned assigned_property assigned_by assigned_to"
            ),
            "leads to the node that claims are about, and says no more than that it is there": (
                "produced_by modified_by part"
            ),
            "says of a node which document, language or unit is meant": "language unit currency",
            "follows from the EDTF of the time span that it belongs to": (
                "begin_of_the_begin end_of_the_begin begin_of_the_end end_of_the_end duration"
            ),
            "no aspect leads to the lives and beginnings of people, groups and texts": (
                "born died formed_by dissolved_by created_by created carried_out participated_in "
                "residence contact_point possessed_by member"
            ),
            "no aspect leads to what a thing measures, consists of, or costs": (
                "dimension value lower_value_limit upper_value_limit made_of diminished "
                "removed_by destroyed_by paid_amount paid_from paid_to"
            ),
            "no aspect leads to who has a thing, or where it is kept": (
                "current_owner current_custodian current_location current_permanent_custodian "
                "current_permanent_location held_or_supported_by moved moved_from moved_to "
                "changed_ownership_through transferred transferred_from transferred_to "
                "transferred_title_of transferred_title_from transferred_title_to "
                "transferred_custody_of transferred_custody_from transferred_custody_to "
                "encountered encountered_by added_to added_member_by"
            ),
            "no aspect leads to pictures, files and services": (
                "representation digitally_shown_by digitally_shows digitally_carried_by "
                "digitally_carries digitally_available_via access_point conforms_to format "
                "shown_by shows carries"
            ),
            "no aspect leads to what texts are about, to rights, or to the tree of concepts": (
                "about subject_of refers_to translation_of subject_to applies_to establishes "
                "invalidates broader notation conceptually_part_of members_contained_by "
                "members_exemplified_by"
            ),
            "no aspect leads to other ties between events": (
                "caused caused_by motivated motivated_by during involved participant "
                "specific_purpose used_for"
            ),
            "no aspect leads to the shape of a place": "defined_by approximated_by",
        }
    ),
    "nquads": _free(
        {
            "the claim itself: belief, quoted proposition, premise, and who came to it from what": (
                "rdf:subject rdf:predicate rdf:object crminf:J1_used_as_premise "
                "crminf:J2_concluded_that crminf:J4_that crminf:J5_holds_to_be prov:generated "
                "prov:used prov:wasAssociatedWith prov:wasDerivedFrom prov:wasRevisionOf"
            ),
            "class of a node": "rdf:type",
            "what a thing, text or place lies in or consists of: there no aspect leads to it": (
                "crm:P46_is_composed_of crm:P46i_forms_part_of crm:P86_falls_within "
                "crm:P86i_contains crm:P89_falls_within crm:P89i_contains crm:P106_is_composed_of "
                "crm:P106i_forms_part_of crm:P148_has_component crm:P148i_is_component_of "
                "skos:narrower"
            ),
            "which set a thing is a member of: that aspect is about people and groups": (
                "la:member_of la:has_member"
            ),
        }
    ),
    "iiif": _free(
        {
            "what the resource is, and what it is for": (
                "@context id type format profile behavior motivation conformsTo language"
            ),
            "leads to another resource or to a part of this one": (
                "items structures annotations annotation body target source selector partOf "
                "seeAlso homepage provider thumbnail service"
            ),
            "measures pictures, or a region of one": "width height value",
            "follows from the navPlace that it belongs to": (
                "features geometry properties coordinates"
            ),
            "licence of the picture": "rights",
        }
    ),
    "edm": _free(
        {
            "what the record holds, and what class each entity is of": (
                "rdf:RDF edm:ProvidedCHO edm:WebResource edm:Agent edm:Place edm:TimeSpan "
                "skos:Concept svcs:Service ore:Aggregation edm:type"
            ),
            "names an entity that a value slot has led to": "skos:prefLabel skos:altLabel",
            "no aspect leads to the lives and beginnings of people and groups": (
                "rdaGr2:dateOfBirth rdaGr2:dateOfDeath rdaGr2:dateOfEstablishment "
                "rdaGr2:dateOfTermination rdaGr2:professionOrOccupation"
            ),
            "follows from the time span or place that it belongs to": (
                "edm:begin edm:end wgs84_pos:lat wgs84_pos:long"
            ),
            "no aspect leads to numbers, sizes, language, or the whole that a thing is part of": (
                "dc:identifier dc:language dcterms:extent dcterms:isPartOf"
            ),
            "words of the source: description and notices": "dc:description dc:rights",
            "leads to pictures, pages and services, or tells who sends the record": (
                "edm:aggregatedCHO edm:dataProvider edm:hasView edm:isShownAt edm:isShownBy "
                "edm:object edm:provider edm:rights dcterms:isReferencedBy svcs:has_service "
                "dcterms:conformsTo doap:implements dc:format"
            ),
        }
    ),
    "oai": _free(
        {
            "what the record holds": "oai_dc:dc",
            "no aspect leads to numbers and language": "dc:identifier dc:language",
            "words of the source, or the licence of the picture": "dc:description dc:rights",
        }
    ),
    "site": _free(
        {
            "which document and page it is, and of what kind": (
                "schema:@context schema:@id schema:@type schema:url og:type og:url"
            ),
            "no aspect leads to numbers, or to the whole that a thing is part of": (
                "schema:identifier schema:isPartOf"
            ),
            "leads to the picture, or tells who publishes and on what terms": (
                "schema:image schema:sdLicense schema:sdPublisher og:image og:site_name"
            ),
        }
    ),
}
"""Keys that no claim can fill, by output, each with the reason.

For N-Quads those beside the properties of the Linked Art keys.
"""
