"""Which keys a node of each Linked Art class may carry, and which of them take a list.

As the official JSON Schemas of the API say (https://linked.art/api/1.0/, one for each endpoint): a
class here has the keys of all forms that it has there, as a record and inside another. Where the
schemas leave a class open, events inside records may carry `attributed_by` as well: claims do.
"""

from functools import cache

from lodpipe.terms import keys

_NODE = "classified_as identified_by"
_TEXTS = f"{_NODE} referred_to_by"
_ANY = f"{_TEXTS} attributed_by equivalent member_of subject_of"
_RECORD = f"{_ANY} representation"
_WORK = f"{_ANY} about conceptually_part_of created_by dimension subject_to"
_EVENT = f"{_TEXTS} attributed_by after before caused_by during timespan took_place_at"
_ACTIVITY = f"{_EVENT} carried_out_by influenced_by technique used_specific_object"
_CONCEPT = f"{_RECORD} broader created_by"
_ACTOR = f"{_RECORD} carried_out contact_point participated_in residence"
_OCCURRENCE = f"{_ACTIVITY} equivalent member_of part_of participant representation subject_of"
_AMOUNT = f"{_NODE} lower_value_limit upper_value_limit value"

CLASSES: dict[str, str] = {
    "Acquisition": f"{_ACTIVITY} part part_of transferred_title_from transferred_title_of transferred_title_to",
    "Activity": f"{_OCCURRENCE} part",
    "AttributeAssignment": f"{_ACTIVITY} assigned assigned_property part_of",
    "Birth": _EVENT,
    "Creation": f"{_ACTIVITY} part_of",
    "Currency": _CONCEPT,
    "Death": _EVENT,
    "Destruction": f"{_EVENT} part_of",
    "DigitalObject": f"{_RECORD} access_point conforms_to created_by digitally_available_via digitally_carries digitally_shows dimension format part_of used_for",
    "DigitalService": f"{_TEXTS} access_point conforms_to",
    "Dimension": f"{_AMOUNT} assigned_by unit",
    "Dissolution": f"{_EVENT} influenced_by part_of",
    "Encounter": f"{_ACTIVITY} encountered part_of",
    "Event": _OCCURRENCE,
    "Formation": f"{_ACTIVITY} part_of",
    "Group": f"{_ACTOR} dissolved_by formed_by",
    "HumanMadeObject": f"{_RECORD} carries changed_ownership_through current_custodian current_location current_owner current_permanent_custodian current_permanent_location destroyed_by dimension encountered_by held_or_supported_by made_of modified_by part part_of produced_by removed_by shows used_for",
    "Identifier": f"{_TEXTS} assigned_by content part",
    "Language": _CONCEPT,
    "LinguisticObject": f"{_WORK} content digitally_carried_by format language part_of representation used_for",
    "Material": _CONCEPT,
    "MeasurementUnit": _CONCEPT,
    "Modification": f"{_ACTIVITY} part part_of",
    "MonetaryAmount": f"{_AMOUNT} currency",
    "Move": f"{_ACTIVITY} moved moved_from moved_to",
    "Name": f"{_TEXTS} content language part",
    "PartRemoval": f"{_ACTIVITY} diminished part_of",
    "Payment": f"{_ACTIVITY} paid_amount paid_from paid_to",
    "Period": _OCCURRENCE,
    "Person": f"{_ACTOR} born died",
    "Place": f"{_RECORD} defined_by part_of",
    "Production": f"{_ACTIVITY} part part_of",
    "PropositionalObject": f"{_WORK} representation",
    "Right": f"{_TEXTS} created_by possessed_by",
    "RightAcquisition": f"{_ACTIVITY} establishes invalidates",
    "Set": f"{_RECORD} about created_by dimension members_contained_by members_exemplified_by used_for",
    "TimeSpan": f"{_NODE} begin_of_the_begin begin_of_the_end duration end_of_the_begin end_of_the_end",
    "TransferOfCustody": f"{_ACTIVITY} transferred_custody_from transferred_custody_of transferred_custody_to",
    "Type": _CONCEPT,
    "VisualItem": f"{_WORK} digitally_shown_by part_of represents represents_instance_of_type used_for",
}
"""Keys of each class, besides `id`, `type` and `_label`."""

LITERALS = frozenset(
    [
        "_label",
        "assigned_property",
        "begin_of_the_begin",
        "begin_of_the_end",
        "content",
        "defined_by",
        "end_of_the_begin",
        "end_of_the_end",
        "format",
        "lower_value_limit",
        "notation",
        "upper_value_limit",
        "value",
    ]
)
"""Keys whose value is a text or a number, never a node."""

ONE = LITERALS | frozenset(
    [
        "born",
        "created_by",
        "currency",
        "current_location",
        "current_permanent_location",
        "destroyed_by",
        "died",
        "diminished",
        "dissolved_by",
        "duration",
        "formed_by",
        "held_or_supported_by",
        "moved_from",
        "moved_to",
        "paid_amount",
        "produced_by",
        "timespan",
        "unit",
    ]
)
"""Keys that take one value; all others take a list, but for `part_of`."""

_PART_OF_SEVERAL = frozenset({"LinguisticObject", "Place", "VisualItem"})


@cache
def classes() -> frozenset[str]:
    """Return the classes that a node may have: those above, and every other that has an IRI."""
    return frozenset(CLASSES) | {k.key for k in keys() if not k.scope and k.key[:1].isupper()}


@cache
def known_keys(class_name: str) -> frozenset[str]:
    """Return the keys of a class; of a class that is known only from the data, those of all."""
    own = CLASSES.get(class_name)
    words = own.split() if own else " ".join(CLASSES.values()).split()
    return frozenset(words) | {"id", "type", "_label"}


def takes_list(class_name: str, key: str) -> bool:
    """Return whether a key takes a list of values on a node of a class."""
    if key == "part_of":
        return class_name in _PART_OF_SEVERAL
    return key not in ONE and key not in ("id", "type")
