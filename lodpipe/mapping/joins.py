"""Rows of a joined file by the text of their key."""

from collections.abc import Iterable
from typing import Any

from lodpipe.mapping.paths import JSON, access
from lodpipe.mapping.values import clean, text_of
from lodpipe.records import Record


def joined(records: Iterable[Record], by: str = "") -> dict[str, list[Record]]:
    """Return the records of a joined file by key; those without a key are left out.

    Args:
        records: all of them; they stay in memory for the length of the run.
        by: the column (or member, or path) that holds the key, as `Mapping.joins` names it; ""
            takes the first column.
    """
    found: dict[str, list[Record]] = {}
    for record in records:
        key = _key(record, by)
        if key:
            found.setdefault(key, []).append(record)
    return found


def _key(record: Record, by: str) -> str:
    data: Any = record.data
    if not by:
        value = next(iter(data.values()), None) if isinstance(data, dict) else None
    else:
        value = access(by, record.form or JSON, {}).first(data)
    return clean(text_of(value) or "")
