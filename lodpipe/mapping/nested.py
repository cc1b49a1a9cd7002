"""XML records that lie in one another: an inner one sees the fields of those around it."""

from collections.abc import Collection, Mapping
from typing import Any

from lodpipe.findings import Finding
from lodpipe.mapping.spaces import Run, Scope, SourceContext, Space
from lodpipe.records import Record


class _Nothing(dict[str, Any]):
    """The values above the outermost record: there are none."""

    def __missing__(self, key: str) -> str:
        return ""


def above(record: Record, space: Space, tags: Collection[str]) -> Scope:
    """Return the scope of the record around a record, that of the next one around it, and so on.

    A record lies around another when its element holds it and has the same name, or one of
    `tags` (`tags_inside`). What is wrong with its values has been told when it was mapped itself.
    """
    top = Scope(None, record.origin, None, "")
    top.values = _Nothing()
    top.outer = top
    if record.form != "xml":
        return top
    around = list(record.data.iterancestors(record.data.tag, *tags))
    run = Run(SourceContext(), record.origin, _pass_over)
    scope = top
    for element in reversed(around):
        scope = Scope(element, record.origin, scope, record.origin.column + "/..")
        space.read(run, scope)
    return scope


def is_nested(records: str) -> bool:
    """Return whether the path of a mapping's records can find one inside another."""
    return bool(records) and (not records.startswith("/") or "//" in records)


def tags_inside(records: str, namespaces: Mapping[str, str]) -> frozenset[str]:
    """Return the tags of elements inside a record that are records themselves; none for none."""
    tags = set()
    for path in records.split("|"):
        if is_nested(path.strip()):
            prefix, colon, name = path.strip().rpartition("/")[2].rpartition(":")
            tags.add(f"{{{namespaces.get(prefix, '')}}}{name}" if colon else name)
    return frozenset(tags)


def _pass_over(finding: Finding) -> None:
    """Findings of the records around have been told."""
