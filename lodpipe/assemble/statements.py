"""One claim as an AttributeAssignment: who says it, when, on what grounds, how surely.

https://linked.art/model/assertion/ and https://linked.art/api/1.0/shared/assignment/, in the
direct form: the claim stands on the very node that it is about, with the real property and the
value itself, so that no query on productions meets a value that is in doubt.
"""

from collections.abc import Mapping, Sequence

import orjson

from lodpipe.aspects import Aspects, slug
from lodpipe.assemble.names import Names
from lodpipe.assemble.targets import Spot
from lodpipe.assemble.values import Value, claim_iri
from lodpipe.dates import parse
from lodpipe.errors import DateError
from lodpipe.records import Claim, Tree
from lodpipe.wording import USUAL_ROLES, claim_words, date_words, say

_EXAMINED = frozenset({"HumanMadeObject", "Set"})
"""Classes of sources that were looked at; the schema takes no others in `used_specific_object`."""


class Statements:
    """Makes the AttributeAssignments of a project's documents."""

    def __init__(self, names: Names, aspects: Aspects) -> None:
        self._names = names
        self._nodes = names.nodes
        self._aspects = aspects
        self._language = names.language
        self._days: dict[str, bytes] = {}

    def make(
        self,
        document: str,
        claim: Claim,
        spot: Spot,
        value: Value,
        apart: Mapping[str, tuple[str, int]],
        replaced: Claim | None,
    ) -> tuple[Tree, list[str]]:
        """Return the claim's node and the IRIs that it should name and that do not exist.

        Args:
            document: IRI of the document that it goes into.
            apart: sets of claims of which one holds (`targets.alternatives`).
            replaced: the claim that this one replaces, if it stands in the same document.
        """
        nodes = self._nodes
        words = self.words(claim, spot, value, apart)
        node: Tree = {"type": "AttributeAssignment"}
        if spot.node != "record":
            node["id"] = claim_iri(document, claim.key)
        node["_label"] = say(self._language, "label.claim", key=claim.key, words=words)
        node["classified_as"] = self._types(claim, apart)
        node["identified_by"] = [
            nodes.identifier(claim.key, "claim-key"),
            nodes.name(words, "display-name", self._language),
            *(
                nodes.name(self.words(claim, spot, value, apart, tag), "display-name", tag)
                for tag in self._names.languages[1:]
            ),
        ]
        texts = self._texts(claim, spot)
        if texts:
            node["referred_to_by"] = texts
        missing = self._speaker(node, claim)
        missing += self._sources(node, claim)
        if replaced is not None:
            label = say(self._language, "label.replaced", key=replaced.key)
            old = {"id": claim_iri(document, replaced.key), "type": "Activity", "_label": label}
            node.setdefault("influenced_by", []).append(old)
        node["assigned_property"] = spot.assigned
        node["assigned"] = [value.make()]
        return node, missing

    def words(
        self,
        claim: Claim,
        spot: Spot,
        value: Value,
        apart: Mapping[str, tuple[str, int]],
        language: str = "",
    ) -> str:
        """Return what a claim says, as its name, in the first language unless one is given."""
        size = apart[claim.key][1] if claim.key in apart else 0
        tag = language or self._language
        return claim_words(claim, value.words_in(tag), tag, node=spot.node, alternatives=size)

    def _speaker(self, node: Tree, claim: Claim) -> list[str]:
        """Say who makes the claim, and when; return the speaker if no document is of them."""
        if claim.on:
            node["timespan"] = self._when(claim.on)
        if not claim.by:
            return []
        speaker = self._names.reference(claim.by)
        if speaker is None:
            return [claim.by]
        node["carried_out_by"] = [speaker]
        return []

    def _types(self, claim: Claim, apart: Mapping[str, tuple[str, int]]) -> list[Tree]:
        terms = [f"aspect/{claim.aspect}", f"standing/{claim.effective}"]
        if claim.key in apart and claim.effective in ("current", "proposed"):
            terms.append("standing/alternative")
        if claim.qualifier:
            terms.append(f"qualifier/{slug(claim.qualifier)}")
        return [self._nodes.term(term) for term in terms]

    def _texts(self, claim: Claim, spot: Spot) -> list[Tree]:
        """Grounds, places in the sources, and what the ledger has no node for."""
        language = self._nodes.first_language
        pairs = [("basis-statement", claim.basis)] if claim.basis else []
        for source, locator in zip(claim.sources, claim.locators, strict=False):
            if locator:
                stands_alone = not locator.startswith(",")
                name = "" if stands_alone else self._names.label(source)
                pairs.append(("bibliography-statement", name + locator))
        if claim.part:
            pairs.append(("part-statement", claim.part))
        if claim.role and claim.role != USUAL_ROLES.get(spot.node):
            pairs.append(("role-statement", claim.role))
        return [self._nodes.statement(text, term, language) for term, text in pairs]

    def _when(self, text: str) -> Tree:
        """The day on which somebody said so; a ledger has few, so each is made once and copied."""
        packed = self._days.get(text)
        if packed is None:
            packed = self._days[text] = orjson.dumps(self._day(text))
        day: Tree = orjson.loads(packed)
        return day

    def _day(self, text: str) -> Tree:
        try:
            edtf = parse(text)
        except DateError:
            return self._nodes.timespan(text, None)
        name = date_words(edtf, self._language)
        return self._nodes.timespan(name, edtf, language=self._language)

    def _sources(self, node: Tree, claim: Claim) -> list[str]:
        """Cite the sources of a claim; return those that have no document."""
        missing = []
        for source in claim.sources:
            if ":" not in source:
                continue  # the key of a fact: a premise, which the N-Quads state
            reference = self._names.reference(source)
            if reference is None:
                missing.append(source)
                continue
            key = "used_specific_object" if reference["type"] in _EXAMINED else "influenced_by"
            node.setdefault(key, []).append(reference)
        return missing


def label_replaced(document: str, claims: Sequence[Tree]) -> None:
    """Call each claim that another one replaces as it calls itself, in place: it is one node.

    Args:
        document: IRI of the document. `claims`: all that stand in it.
    """
    labels = {
        claim_iri(document, node["identified_by"][0]["content"]): node["_label"] for node in claims
    }
    for node in claims:
        for cited in node.get("influenced_by", ()):
            if cited["id"] in labels:
                cited["_label"] = labels[cited["id"]]
