"""What a key or a class means where it stands: terms.csv, resolved as JSON-LD 1.1 resolves it.

A key has one meaning everywhere, or one for each class that it stands in (`part_of` of a place is
not `part_of` of a text): in JSON-LD terms, a type-scoped context. `assigned_property` holds a key
as its value, which is resolved below the `attributed_by` that leads to it: a property-scoped
context, which, unlike the type-scoped ones, stays in force further down.
See https://www.w3.org/TR/json-ld11/#scoped-contexts.
"""

from collections.abc import Callable, Iterable
from copy import deepcopy
from functools import cache
from typing import Any

from lodpipe.errors import IriError, TermError, UsageError, nearest
from lodpipe.iris import check_iri
from lodpipe.terms import Key, keys

CONTEXT_URL = "https://linked.art/ns/v1/linked-art.json"
"""The official Linked Art context, named in every document that we publish."""

RDF_TYPE = "http://www.w3.org/1999/02/22-rdf-syntax-ns#type"
XSD = "http://www.w3.org/2001/XMLSchema#"
CRM = "http://www.cidoc-crm.org/cidoc-crm/"

_KEYWORDS = ("id", "type")
_ASSIGNMENT = "AttributeAssignment"
_BELOW = "attributed_by/assigned_property"


@cache
def _prefixes() -> dict[str, str]:
    return {row.key: row.iri for row in keys() if not row.scope and row.iri.endswith(("/", "#"))}


@cache
def classes() -> dict[str, str]:
    """Return the classes by name, each with its full IRI."""
    return {
        row.key: full(row.iri)
        for row in keys()
        if not row.scope and row.key[0].isupper() and row.key not in _prefixes()
    }


@cache
def properties(class_name: str) -> dict[str, Key]:
    """Return every key that may stand in a node of a class ("" for a node without class).

    The rows have full IRIs; a key that only JSON knows has an empty one.
    """
    found = {}
    for row in keys():
        here = row.scope in ("", class_name)
        if here and row.key not in _prefixes() and row.key not in classes():
            coercion = row.coercion if row.coercion.startswith("@") else full(row.coercion)
            found[row.key] = Key(row.scope, row.key, full(row.iri), coercion, row.container)
    for keyword in _KEYWORDS:
        del found[keyword]
    return found


@cache
def inherited(class_name: str) -> str | None:
    """Return what `part_of` means in `assigned_property` below a class; None: nothing of its own."""
    for row in keys():
        if row.scope == f"{class_name}/{_BELOW}":
            return full(row.iri)
    return None


def class_iri(name: str) -> str:
    """Return the IRI of a Linked Art class, or raise a TermError that names the nearest one."""
    try:
        return classes()[name]
    except KeyError:
        raise TermError(
            f"`{name}` is not a Linked Art class", hint=nearest(name, classes())
        ) from None


def property_iri(class_name: str, key: str) -> str:
    """Return the property that a key stands for in a node of a class.

    Args:
        class_name: a Linked Art class; "" for a node without one.

    Raises:
        TermError: an unknown class, or a key that means nothing there.

    >>> property_iri("Place", "part_of")
    'http://www.cidoc-crm.org/cidoc-crm/P89_falls_within'
    """
    if class_name:
        class_iri(class_name)
    row = properties(class_name).get(key)
    if row is None or not row.iri:
        raise unknown_key(class_name, key)
    return row.iri


def unknown_key(class_name: str, key: str) -> TermError:
    """Return the error for a key that a class does not have."""
    where = f"in {class_name}" if class_name else "in a node without `type`"
    return TermError(
        f"`{key}` is not a key {where}",
        hint=nearest(key, [*properties(class_name), *_KEYWORDS]),
    )


@cache
def assigned_iri(class_name: str, word: str, below: str | None = None) -> str:
    """Return the property that a word of `assigned_property` stands for.

    Args:
        class_name: class of the node that carries `attributed_by`.
        word: a key (`carried_out_by`), a compact IRI (`crm:P107i_...`) or an IRI.
        below: what `part_of` means because of an `attributed_by` further up.

    Raises:
        TermError: not known; or JSON-LD makes another property of it than the key stands for on
            that class (`member_of` of a person): a plain IRI says what is meant.

    >>> assigned_iri("Production", "part_of")
    'http://www.cidoc-crm.org/cidoc-crm/P9i_forms_part_of'
    """
    own = inherited(class_name) or below
    if word == "part_of" and own:
        meant = own
    else:
        row = properties(_ASSIGNMENT).get(word)
        if row is None or not row.iri:
            return _spelled_out(word)
        meant = row.iri
    if class_name:
        direct = properties(class_name).get(word)
        if direct is None or direct.iri != meant:
            raise TermError(
                f"`{word}` in `assigned_property` of a claim on {class_name} means <{meant}>",
                hint=f"write <{direct.iri}>" if direct else "write the IRI of the property",
            )
    return meant


def _spelled_out(word: str) -> str:
    known = {row.iri for row in map(_resolved, keys()) if row.iri}
    try:
        iri = check_iri(full(word))
    except IriError:
        raise TermError(
            f"`{word}` is not a property that can be assigned",
            hint=nearest(word, properties(_ASSIGNMENT)),
        ) from None
    if iri.startswith(CRM) and iri not in known:
        raise TermError(f"<{iri}> is not a property of our table", hint=nearest(iri, known))
    return iri


def _resolved(row: Key) -> Key:
    return Key(row.scope, row.key, full(row.iri), row.coercion, row.container)


def full(compact: str) -> str:
    """Return a compact IRI (`crm:P14_...`) written out by the prefixes of our table, or what it got."""
    prefix, colon, rest = compact.partition(":")
    if colon and not rest.startswith("//") and prefix in _prefixes():
        return _prefixes()[prefix] + rest
    return compact


@cache
def _context() -> dict[str, Any]:
    top: dict[str, Any] = {"@version": 1.1}
    for row in keys():
        if not row.iri:
            value: Any = None  # a key of JSON only: said to be dropped
        elif not (row.scope or row.coercion or row.container) and row.key[0].islower():
            value = row.iri
        else:
            value = {
                name: part
                for name, part in (
                    ("@id", row.iri),
                    ("@type", row.coercion),
                    ("@container", row.container),
                )
                if part
            }
        scope = top
        for step in row.scope.split("/") if row.scope else ():
            scope = scope[step].setdefault("@context", {})
        scope[row.key] = value
    return {"@context": top}


def context() -> dict[str, Any]:
    """Return our context document, made from terms.csv: `{"@context": {...}}`, a fresh copy."""
    return deepcopy(_context())


def loader(further: Iterable[tuple[str, dict[str, Any]]] = ()) -> Callable[..., dict[str, Any]]:
    """Return a document loader for PyLD that answers from memory and never calls out.

    Args:
        further: more context documents, by URL.

    Returns:
        A function of URL and options. It raises a UsageError for any URL that it does not have.
    """
    known = {CONTEXT_URL: _context(), **dict(further)}

    def load(url: str, options: dict[str, Any]) -> dict[str, Any]:
        if url not in known:
            raise UsageError(
                f"the context `{url}` is not one that we have, and none is fetched",
                hint=f"use `{CONTEXT_URL}`, or write the context into the document",
            )
        return {
            "contextUrl": None,
            "documentUrl": url,
            "document": known[url],
            "contentType": "application/ld+json",
        }

    return load
