"""Linked Art JSON-LD: the bytes of one document, the same whatever way its tree was put together.

https://linked.art/api/1.0/json-ld/. Keys come in one order at every level: what a node is, what
it is called, what is said about it (notices stand before images), then the rest by name. Lists
keep their order, which is that of the source.
"""

from typing import Any

import orjson

from lodpipe.rdf import CONTEXT_URL
from lodpipe.records import Tree

PROFILE = "https://linked.art/ns/v1/linked-art.json"
"""Says of JSON-LD that it is Linked Art: https://linked.art/api/1.0/json-ld/"""

_FIRST = (
    "@context id type _label _complete content value unit currency classified_as identified_by "
    "referred_to_by language equivalent attributed_by assigned_by timespan"
)
_LAST = "assigned_property assigned representation subject_of"
_RANK = {
    **{key: number for number, key in enumerate(_FIRST.split())},
    **{key: 1000 + number for number, key in enumerate(_LAST.split())},
}
_orders: dict[tuple[str, ...], tuple[str, ...]] = {}


def document_bytes(tree: Tree) -> bytes:
    """Return a document as compact UTF-8 JSON with the official context, no line end.

    Args:
        tree: a document with `id` and `type`; it is not changed. Keys without a value (None, an
            open slot that stayed open) are left out.

    >>> document_bytes({"type": "Person", "id": "https://c.example/1", "_label": None})
    b'{"@context":"https://linked.art/ns/v1/linked-art.json","id":"https://c.example/1","type":"Person"}'
    """
    return orjson.dumps(_ordered({"@context": CONTEXT_URL, **tree}))


def _ordered(value: Any) -> Any:
    if type(value) is dict:
        order = _order(tuple(value))
        return {
            key: _ordered(value[key]) if type(value[key]) in (dict, list) else value[key]
            for key in order
            if value[key] is not None
        }
    if type(value) is list:
        return [_ordered(item) if type(item) in (dict, list) else item for item in value]
    return value


def _order(keys: tuple[str, ...]) -> tuple[str, ...]:
    order = _orders.get(keys)
    if order is None:
        order = tuple(sorted(keys, key=lambda key: (_RANK.get(key, 500), key)))
        if len(_orders) > 4096:
            _orders.clear()
        _orders[keys] = order
    return order
