"""The table of aspects: what a claim can be about, what it takes, and what it is weighed on."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from ruamel.yaml import YAML

from lodpipe.project import builtin

DATE, TEXT, IRI = "date", "text", "iri"


@dataclass(frozen=True, slots=True)
class Aspect:
    """One aspect of `mappings/claims.yaml`.

    Attributes:
        one: whether a thing has at most one certain current claim of it at a time.
        weighed_on: `exposure`, `print`, `mount`, `caption`; empty when it is not weighed.
        takes: Linked Art classes that a value may have, or `date`, `text`, `iri`.
    """

    name: str
    one: bool
    weighed_on: str
    takes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Aspects:
    """The whole table.

    Attributes:
        aspects: by name. `roles`: role of a maker to the event that it is weighed on.
        families: our qualifier to its family: doubt, workshop, influence, copy.
    """

    aspects: Mapping[str, Aspect]
    roles: Mapping[str, str]
    families: Mapping[str, str]

    def event(self, aspect: str, role: str) -> str:
        """Return the event that a claim is weighed on; a maker's depends on the role."""
        known = self.aspects[aspect]
        return self.roles.get(role, known.weighed_on) if aspect == "maker" else known.weighed_on

    def doubt(self, qualifier: str) -> bool:
        """Return whether a qualifier is empty or a doubt: only then do life and place bind."""
        return not qualifier or self.families.get(qualifier) == "doubt"


@cache
def shipped_aspects() -> Aspects:
    """Return the aspects that ship with lodpipe."""
    text = (builtin("mappings") / "claims.yaml").read_text(encoding="utf-8")
    return aspects_of(YAML(typ="safe").load(text))


def aspects_of(table: Mapping[str, Any]) -> Aspects:
    """Return the aspects of a table that has the form of `mappings/claims.yaml`."""
    return Aspects(
        {
            name: Aspect(
                name,
                entry["most"] == "one",
                entry.get("weighed_on") or "",
                tuple(entry["takes"]),
            )
            for name, entry in table["aspects"].items()
        },
        {role: entry.get("weighed_on") or "" for role, entry in table["roles"].items()},
        dict(table["qualifiers"]),
    )
