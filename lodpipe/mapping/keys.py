"""Which keys and classes Linked Art has, and which keys take a list.

The words come from `terms.csv`; how many values a key takes is what the official JSON Schemas say
(https://linked.art/api/1.0/json-ld/, the schema of each endpoint).
"""

from functools import cache

from lodpipe.terms import keys

_ONE_ALL_THE_SAME = frozenset({"held_or_supported_by"})
"""Lists in the context, one value in the schema."""
_LIST_ALL_THE_SAME = frozenset({"current_permanent_custodian"})
"""One value in the context, a list in the schema."""
_PART_OF_SEVERAL = frozenset(
    {"Place", "VisualItem", "LinguisticObject", "Type", "Material", "Language", "Set", "TimeSpan"}
)
LITERALS = frozenset(
    {
        "content",
        "_label",
        "value",
        "lower_value_limit",
        "upper_value_limit",
        "format",
        "defined_by",
        "begin_of_the_begin",
        "begin_of_the_end",
        "end_of_the_begin",
        "end_of_the_end",
        "notation",
        "assigned_property",
    }
)
"""Keys whose value is a text or a number, never a node."""


@cache
def classes() -> frozenset[str]:
    """Return the classes of Linked Art: the keys that begin with a capital."""
    return frozenset(k.key for k in keys() if not k.scope and k.key[:1].isupper())


@cache
def known_keys(class_name: str) -> frozenset[str]:
    """Return the keys that a node of a class may carry."""
    return frozenset(
        k.key
        for k in keys()
        if (not k.scope or k.scope == class_name) and k.key[:1].islower() and k.iri[-1:] != "/"
    ) | {"id", "type", "_label"}


@cache
def takes_list(class_name: str, key: str) -> bool:
    """Return whether a key takes a list of values on a node of a class."""
    if key == "part_of":
        return class_name in _PART_OF_SEVERAL
    if key in _ONE_ALL_THE_SAME or key in _LIST_ALL_THE_SAME:
        return key in _LIST_ALL_THE_SAME
    found = [k for k in keys() if k.key == key and k.scope in ("", class_name)]
    return any(k.container == "@set" for k in found)
