"""Where a claim goes: into which document, on which of its nodes, with which property.

The table of aspects (`mappings/claims.yaml`) says so; here it is read against what the index knows
of the thing. What a claim needs beside its own document is found here as well: Groups that stand
for a workshop, sessions, nodes of other documents that it points at.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from lodpipe.aspects import MAIN, RECORD, Aspect, Aspects, alternatives, holds, slug
from lodpipe.findings import Finding, Report
from lodpipe.iris import key_of
from lodpipe.records import Claim, Index

_SAME_HOUSE = frozenset({"workshop-of", "studio-of"})
PRODUCTION = "production"


@dataclass(frozen=True, slots=True)
class Spot:
    """A node of a document and the property that a claim gives it.

    `node` is `record` for the document itself, or the role of a node; `key` the Linked Art key of
    a direct statement; `assigned` what `assigned_property` says.
    """

    node: str
    key: str
    assigned: str


def target(claim: Claim, aspects: Aspects, index: Index) -> str:
    """Return the IRI of the document that a claim goes into; empty where it finds none.

    Raises:
        TermError: the aspect is not in the table.
    """
    about = index.get(claim.about)
    if about is None:
        return ""
    if aspects.get(claim.aspect).document == "about" or about.type == "VisualItem":
        return claim.about
    return next((uri for uri in about.shows if index.get(uri) is not None), "")


def place_claims(
    claims: Iterable[Claim], aspects: Aspects, index: Index, report: Report
) -> dict[str, list[Claim]]:
    """Return claims by the document that they go into; report those that find none."""
    found: dict[str, list[Claim]] = {}
    for claim in claims:
        uri = target(claim, aspects, index)
        if uri:
            found.setdefault(uri, []).append(claim)
        else:
            report(homeless(claim, index))
    return found


def homeless(claim: Claim, index: Index) -> Finding:
    """Return the finding for a claim whose document is not there."""
    missing = "document" if index.get(claim.about) is None else "image that it shows"
    return Finding(
        "claim-homeless",
        f"the claim `{claim.key}` on the {claim.aspect} of `{claim.about}` finds no {missing}",
        claim.place,
        value=claim.about,
        hint="map the thing" if missing == "document" else "map what it `shows`, a VisualItem",
        uri=claim.about,
    )


def main_node(roles: Iterable[str], aspects: Aspects) -> str:
    """Return the role of the node on which a thing was made, by the roles that it has."""
    have = set(roles)
    return next((role for role in aspects.main_nodes if role in have), PRODUCTION)


def spot(claim: Claim, aspects: Aspects, roles: Iterable[str], kind: str) -> Spot:
    """Return where in its document a claim goes.

    Args:
        roles: of the nodes that the document has.
        kind: Linked Art class of the value; empty when it is not a document.
    """
    aspect = aspects.get(claim.aspect)
    node = _node(claim, aspect, aspects, set(roles))
    family = aspect.families.get(aspects.family(claim.qualifier)) if claim.qualifier else None
    key = aspect.of.get(kind) or aspect.at.get(node) or aspect.property
    if family is not None and family.property:
        key = family.property
    direct = aspect.direct if key == aspect.property else key
    return Spot(node, direct, key)


def _node(claim: Claim, aspect: Aspect, aspects: Aspects, roles: set[str]) -> str:
    node = aspect.node
    if claim.aspect == "maker" and claim.role in aspects.roles:
        node = aspects.roles[claim.role].node
    if node == RECORD:
        return RECORD
    main = main_node(roles, aspects)
    if node == MAIN or node in roles:
        return main if node == MAIN else node
    # a thing of which nobody has said how it was made: its making as a whole stands for that
    return main if node in aspects.main_nodes and main == PRODUCTION else node


def group_of(claim: Claim, aspects: Aspects, index: Index, base: str) -> str:
    """Return the IRI of the Group that stands for a workshop, circle ...; empty for none.

    The workshop or studio of a firm is the firm. For a person it is `group/studio-of-KEY`.
    """
    family = aspects.get(claim.aspect).families.get(aspects.family(claim.qualifier))
    if family is None or not family.group or not claim.value:
        return ""
    master = index.get(claim.value)
    if master is None:
        return ""
    name = slug(claim.qualifier)
    if master.type == "Group" and name in _SAME_HOUSE:
        return claim.value
    return group_iri(name, claim.value, base)


def group_iri(name: str, master: str, base: str) -> str:
    """Return the IRI of the workshop, circle or the like (`name`) of a person."""
    words = key_of(base, master).split("/")
    words = words[1:] if words[0] == "person" and len(words) > 1 else words
    return f"{base}group/{name}-{'-'.join(words)}"


def sessions(claims: Iterable[Claim], index: Index, base: str) -> dict[str, str]:
    """Return, for things that claims put into one session, the IRI of that session.

    Only claims that hold (current, certain) join things; a doubted one still needs the session
    that it speaks of. A session is named after the first of its things by IRI.
    """
    first: dict[str, str] = {}

    def root(thing: str) -> str:
        while first.setdefault(thing, thing) != thing:
            first[thing] = first[first[thing]]
            thing = first[thing]
        return thing

    rows = [c for c in claims if c.aspect == "same_session_as" and _is_thing(c.value, index)]
    apart = alternatives(rows)
    for claim in rows:
        value, about = root(claim.value), root(claim.about)
        if holds(claim, apart):
            first[max(value, about)] = min(value, about)
    return {thing: session_of(root(thing), base) for thing in sorted(first)}


def _is_thing(uri: str, index: Index) -> bool:
    entry = index.get(uri) if uri else None
    return entry is not None and entry.type != "Activity"


def session_of(thing: str, base: str) -> str:
    """Return the IRI of the session that is named after a thing."""
    return f"{base}activity/session-{key_of(base, thing).rpartition('/')[2]}"
