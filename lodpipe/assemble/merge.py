"""Merging claims into their documents: what is stated, and what is only said.

A value is stated directly if and only if its claim is current, certain and not one of several
alternatives. Every claim, whatever its standing, stays in `attributed_by` of the node that it is
about, with who says so. The line of attribution says all of it in words.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from lodpipe.aspects import RECORD, Aspects, alternatives, builtin_aspects, holds
from lodpipe.assemble.attribution import UNIDENTIFIED, attribution
from lodpipe.assemble.names import Names
from lodpipe.assemble.nodes_of import PRODUCTION, DocumentNodes
from lodpipe.assemble.plain import (
    SINGLE,
    Doubt,
    Ledger,
    Moves,
    Speaker,
    Taken,
    as_former,
    doubted,
    moved_trace,
    name_of,
    take_plain,
)
from lodpipe.assemble.silence import take_silenced
from lodpipe.assemble.statements import Statements, label_replaced
from lodpipe.assemble.targets import Spot, main_node, spot
from lodpipe.assemble.values import Placement, Value, Values
from lodpipe.errors import ValueFault
from lodpipe.findings import Finding, Report, finding_of
from lodpipe.nodes import MODIFICATIONS, Nodes
from lodpipe.records import Claim, Index, TraceEntry, Tree

_RANK = {"current": 0, "proposed": 1, "former": 2, "rejected": 3}


@dataclass(frozen=True, slots=True)
class Brought:
    """What another document's claim needs of this one: a node, and the session it belongs to."""

    role: str
    session: str = ""


@dataclass(slots=True)
class Merged:
    """A document with its claims: the tree (changed in place) and where all of it came from."""

    tree: Tree
    trace: list[TraceEntry] = field(default_factory=list)


class Merger:
    """Merges claims into documents; one for all documents of a run.

    Args:
        index: of the run, with the Groups, sessions and sitters of `house.called_for`.
        speakers: by file of a source, who speaks in it; the empty name stands for all others.
        sessions: of `targets.sessions`.
        brought: by document, what claims elsewhere need of it (`house.brought_by`).
        silenced: by document, claims that may not be seen (`take_silenced`).
    """

    def __init__(
        self,
        nodes: Nodes,
        index: Index,
        *,
        aspects: Aspects | None = None,
        circa_years: int = 5,
        speakers: Mapping[str, Speaker] | None = None,
        sessions: Mapping[str, str] | None = None,
        brought: Mapping[str, Sequence[Brought]] | None = None,
        silenced: Mapping[str, Sequence[Claim]] | None = None,
    ) -> None:
        self.aspects = aspects or builtin_aspects()
        self.names = Names(nodes, index)
        self.nodes = nodes
        self._values = Values(self.names, self.aspects, sessions or {}, circa_years)
        self._statements = Statements(self.names, self.aspects)
        self._speakers = speakers or {}
        self._brought = brought or {}
        self.silenced = silenced or {}

    def merge(
        self,
        tree: Tree,
        claims: Sequence[Claim],
        report: Report,
        trace: Sequence[TraceEntry] = (),
    ) -> Merged:
        """Merge the claims of a document, in place.

        Args:
            tree: with its slots filled (`fill`).
            claims: all that go into this document, in any order.
            report: takes findings: values of a wrong kind, links that lead nowhere, two values
                for what takes one.
            trace: of the document so far; comes back with what the claims add.
        """
        brought = self._brought.get(tree["id"], ())
        return _Merging(self, tree, claims, report, trace).run(brought)

    def value_of(self, claim: Claim, tree: Tree, report: Report) -> Value | None:
        """Return the value of a claim, or report why it has none."""
        try:
            value = self._values.of(claim, tree)
        except ValueFault as fault:
            report(finding_of(fault, claim.place, code="ledger", uri=tree["id"]))
            return None
        if value is None:
            report(self.dangling(claim.value or claim.value_text, claim, tree))
        return value

    def dangling(self, uri: str, claim: Claim, tree: Tree) -> Finding:
        """Return the finding for a document that a claim names and that does not exist."""
        return Finding(
            "dangling",
            f"the claim `{claim.key}` names `{self.names.key(uri) or uri}`, which no document has",
            claim.place,
            value=uri,
            hint="map the record that it names, or mend its key; until then the claim is left out",
            uri=tree["id"],
        )

    def statement(
        self,
        tree: Tree,
        placement: Placement,
        apart: Mapping[str, tuple[str, int]],
        replaced: Claim | None,
        report: Report,
    ) -> Tree:
        """Return the AttributeAssignment of a claim; report what it names in vain."""
        claim = placement.claim
        node, missing = self._statements.make(
            tree["id"], claim, placement.spot, placement.value, apart, replaced
        )
        for uri in missing:
            report(self.dangling(uri, claim, tree))
        return node

    def speakers(self) -> Mapping[str, Speaker]:
        """Return who speaks in the sources."""
        return self._speakers


class _Merging:
    """The merging of one document."""

    def __init__(
        self,
        merger: Merger,
        tree: Tree,
        claims: Sequence[Claim],
        report: Report,
        trace: Sequence[TraceEntry],
    ) -> None:
        self.merger = merger
        self.tree = tree
        self.report = report
        self.trace = trace
        self.places = DocumentNodes(tree, merger.nodes)
        self.main_nodes = merger.aspects.main_nodes
        self.main = main_node(self.places.roles(), merger.aspects)
        self.apart = alternatives(claims)
        self.by_key = {claim.key: claim for claim in claims}
        self.added: list[TraceEntry] = []
        self.gone: dict[str, str] = {}
        self.moves = Moves()
        self.emptied: set[str] = set()
        self.said: list[Tree] = []
        self.set_aside: list[tuple[Taken, Placement | None]] = []

    def run(self, brought: Sequence[Brought]) -> Merged:
        roles = self.places.roles()
        placed: list[Placement] = []
        for claim in self.by_key.values():
            value = self.merger.value_of(claim, self.tree, self.report)
            if value is None:
                continue
            where = spot(claim, self.merger.aspects, roles, value.kind)
            if self.bears(claim, where):
                placed.append(Placement(claim, where, value, holds(claim, self.apart)))
        silenced, base = self.merger.silenced.get(self.tree["id"], ()), self.merger.nodes.base
        gone = take_silenced(silenced, self.places, self.merger.aspects, base, self.moves)
        self.set_aside += [(taken, None) for taken in gone]
        formers = self.decide(placed)
        placed.extend(formers)
        self.doubt(placed)
        self.sort(placed)
        placed = [placement for placement in placed if self.write(placement)]
        label_replaced(self.tree["id"], self.said)
        for need in brought:
            self.bring(need)
        names, aspects = self.merger.names, self.merger.aspects
        attribution(self.tree, self.places, placed, names, aspects, self.apart, self.emptied)
        for taken, claim_path in self.settled(placed):
            self.gone[taken] = claim_path
        trace = moved_trace(self.trace, self.gone, self.moves.now)
        return Merged(self.tree, trace + self.added)

    def bears(self, claim: Claim, where: Spot) -> bool:
        """Return whether a document of this class can bear such a claim; report it if not."""
        kind = self.tree["type"]
        if where.node != RECORD:
            wanted: tuple[str, ...] = ("HumanMadeObject",)
        elif self.merger.aspects.get(claim.aspect).document == "image":
            wanted = ("VisualItem",)
        elif where.key == "member_of":
            wanted = ("Person", "Group")
        else:
            return True
        if kind in wanted:
            return True
        self.report(
            Finding(
                "ledger",
                f"the claim `{claim.key}` on the {claim.aspect} is about a {kind}",
                claim.place,
                value=claim.about,
                hint=f"claims of this aspect are about a {' or '.join(wanted)}",
                uri=self.tree["id"],
            )
        )
        return False

    def decide(self, placed: Iterable[Placement]) -> list[Placement]:
        """Take plain values off the nodes on which the ledger decides; return them as claims."""
        lines: dict[tuple[str, str, str], Ledger] = {}
        nobody = self.merger.nodes.base + UNIDENTIFIED
        for p in placed:
            aspect = self.merger.aspects.get(p.claim.aspect)
            if aspect.decides and not p.claim.mapped and p.spot.key == p.spot.assigned:
                slot = (p.spot.node, p.spot.key, aspect.name)
                ledger = lines.setdefault(slot, Ledger(nobody))
                ledger.named.update((p.claim.value, p.value.iri))
                ledger.held |= p.claim.effective == "current"
        used = set(self.by_key)
        formers = []
        for (role, key, name), ledger in lines.items():
            aspect = self.merger.aspects.get(name)
            nodes = self.places.reach(role, self.main_nodes)
            if role != self.main:
                nodes = [one for one in nodes if role in one.roles or role == PRODUCTION]
            for node, pointer, _ in nodes:
                for taken in take_plain(node, pointer, key, ledger, aspect, self.moves):
                    self.note(name, role)
                    former = None if taken.named else self.former(taken, role, key, name, used)
                    self.set_aside.append((taken, former))
                    if former is not None:
                        formers.append(former)
        return formers

    def doubt(self, placed: Sequence[Placement]) -> None:
        """Take plain values off where a claim that is not certain names them: the doubt wins.

        They need not stand on the very node of the claim: a maker of the whole production is met
        by whoever asks for the maker of its exposure. What a certain claim names as well stays.
        """
        certain: dict[tuple[str, str], set[str]] = {}
        for p in placed:
            if p.holds:
                nodes = certain.setdefault((p.spot.key, name_of(p.value.make())), set())
                nodes.add(p.spot.node)
        for p in placed:
            reached = [] if p.holds else self.places.reach(p.spot.node, self.main_nodes)
            reached = [node for node in reached if p.spot.key in node.node]
            if not reached:
                continue
            doubt = Doubt(p.claim.key, p.claim.aspect, name_of(p.value.make()))
            settled = certain.get((p.spot.key, doubt.name), set())
            aspect = self.merger.aspects.get(p.claim.aspect)
            for node, pointer, roles in reached:
                if settled.isdisjoint(roles) if roles else not settled - MODIFICATIONS:
                    for taken in take_plain(node, pointer, p.spot.key, doubt, aspect, self.moves):
                        self.note(p.claim.aspect, p.spot.node)
                        self.set_aside.append((taken, None))
                        self.report(doubted(taken, doubt, self.tree["id"], self.trace))

    def note(self, aspect: str, role: str) -> None:
        """Note that a plain value was taken off, so that a maker given up is told as not known."""
        if aspect == "maker":
            self.emptied.add(role)

    def former(self, taken: Taken, role: str, key: str, aspect: str, used: set[str]) -> Placement:
        claim = as_former(
            taken,
            self.tree["id"],
            self.merger.aspects.get(aspect),
            self.trace,
            self.merger.speakers(),
            used,
            self.merger.names.language,
        )
        value = self.merger.value_of(claim, self.tree, _unheard) if claim.value else None
        if value is None:
            node = taken.value
            label = str(node.get("_label") or claim.value_text)
            value = Value(str(node["type"]), label, lambda: dict(node), str(node.get("id", "")))
        return Placement(claim, Spot(role, key, key), value, False)

    def sort(self, placed: list[Placement]) -> None:
        """Order on a node: aspect; the view held now with what it replaced; proposals; the rest."""
        chains = {p.claim.key: self.chain(p.claim) for p in placed}
        ranks: dict[str, int] = {}
        for p in placed:
            root = chains[p.claim.key][-1]
            rank = _RANK[p.claim.effective]
            ranks[root] = min(rank, ranks.get(root, rank))

        def order(p: Placement) -> tuple[int, int, str, int, str]:
            chain = chains[p.claim.key]
            aspect = self.merger.aspects.get(p.claim.aspect).order
            return (aspect, ranks[chain[-1]], chain[-1], len(chain), p.claim.key)

        placed.sort(key=order)

    def chain(self, claim: Claim) -> list[str]:
        """Return the keys of a claim and of what it replaced, back to the first."""
        keys = [claim.key]
        while claim.replaces in self.by_key and claim.replaces not in keys:
            claim = self.by_key[claim.replaces]
            keys.append(claim.key)
        return keys

    def write(self, placement: Placement) -> bool:
        """Put a claim on its node, and its value where it may be stated; False if it cannot be."""
        claim = placement.claim
        replaced = self.by_key.get(claim.replaces)
        try:
            statement = self.merger.statement(
                self.tree, placement, self.apart, replaced, self.report
            )
        except ValueFault as fault:  # a key that cannot be part of an IRI
            self.report(finding_of(fault, claim.place, code="ledger", uri=self.tree["id"]))
            return False
        node, pointer = self.places.get(placement.spot.node)
        said = node.setdefault("attributed_by", [])
        self.trail(claim, f"{pointer}/attributed_by/{len(said)}")
        said.append(statement)
        self.said.append(statement)
        if placement.holds and placement.value.linked:
            self.state(placement, node, pointer)
        return True

    def state(self, placement: Placement, node: Tree, pointer: str) -> None:
        """State the value of a claim that is current and certain."""
        key, value = placement.spot.key, placement.value.make()
        if key in SINGLE and placement.spot.node != RECORD:
            if key not in node:
                node[key] = value
                self.trail(placement.claim, f"{pointer}/{key}")
            elif name_of(node[key]) != name_of(value):
                self.two_values(placement, node[key])
            return
        values = node.setdefault(key, [])
        names = [name_of(other) for other in values if isinstance(other, dict)]
        if name_of(value) not in names:
            self.trail(placement.claim, f"{pointer}/{key}/{len(values)}")
            values.append(value)

    def two_values(self, placement: Placement, other: Tree) -> None:
        claim = placement.claim
        self.report(
            Finding(
                "disagreement",
                f"the claim `{claim.key}` and another certain statement of the {claim.aspect} "
                f"differ: `{placement.value.words}`, `{name_of(other)}`",
                claim.place,
                value=placement.value.words,
                hint="only the other is stated; give one of them a qualifier, or set it aside",
                uri=self.tree["id"],
            )
        )

    def bring(self, need: Brought) -> None:
        """Make the node that a claim elsewhere points at, and the session that it names."""
        node, _ = self.places.get(need.role)
        if need.session and "part_of" not in node:
            session = self.merger.names.reference(need.session)
            if session is not None:
                node["part_of"] = session

    def trail(self, claim: Claim, path: str) -> None:
        if claim.place is not None:
            self.added.append(TraceEntry(path, f"claim {claim.key}", claim.place))

    def settled(self, placed: Sequence[Placement]) -> Iterable[tuple[str, str]]:
        """Yield, for each plain value that was set aside, its pointer and that of its claim now."""
        paths = {e.field: e.path for e in reversed(self.added)}
        for taken, former in self.set_aside:
            yield taken.path, paths.get(f"claim {former.claim.key}", "") if former else ""


def _unheard(_: Finding) -> None:
    """Take a finding about a value that the catalogue itself holds; it was told of already."""
