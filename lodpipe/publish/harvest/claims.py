"""The claims on one thing that are held now, in their short words.

https://www.getty.edu/publications/categories-description-works-art/ is where the hedges come
from; the words are those of `lodpipe.wording`.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from lodpipe.aspects import holds, slug
from lodpipe.dates import parse
from lodpipe.iris import key_of
from lodpipe.publish.iiif import Site, View, rows
from lodpipe.publish.iiif.settings import LanguageMap, nearest
from lodpipe.records import Claim, Tree
from lodpipe.wording import (
    CURRENT,
    attribution_line,
    claim_words,
    date_phrase,
    language_for,
    nobody_known,
    say,
    short_words,
)
from lodpipe.wording import View as MakerView

UNIDENTIFIED = "group/unidentified-"


@dataclass(frozen=True, slots=True)
class Held:
    """Claims by key, and the sets of which only one holds, by the key of each member."""

    claims: Mapping[str, Claim]
    view: View
    site: Site
    apart: Mapping[str, tuple[str, int]] = field(default_factory=dict)

    def words(self, node: Tree, aspects: Collection[str]) -> list[LanguageMap]:
        """Return the short words of each claim of some aspects on a node that it does not state."""
        return [
            self._worded(claim)
            for claim in self._on(node)
            if claim.aspect in aspects and claim.effective == CURRENT and not self._stated(claim)
        ]

    def sentences(self, node: Tree, aspect: str, role: str) -> list[LanguageMap]:
        """Return the same in a form that tells what happened: `probably printed in 1872`."""
        return [
            {tag: [claim_words(c, self._label(c, tag), tag, node=role)] for tag in self._tags()}
            for c in self._on(node)
            if c.aspect == aspect and c.effective == CURRENT and not self._stated(c)
        ]

    def makers(self, node: Tree) -> list[LanguageMap]:
        """Return one text for each maker of a node, or set of makers, that is held with a hedge."""
        groups: dict[str, list[Claim]] = {}
        for claim in self._on(node):
            if claim.aspect != "maker" or claim.effective != CURRENT:
                continue
            if self._stated(claim):
                continue
            first = self.apart.get(claim.key, (claim.key, 0))[0]
            groups.setdefault(first, []).append(claim)
        return [
            {
                tag: [attribution_line([self._view(c, tag) for c in group], tag, short=True)]
                for tag in self._tags()
            }
            for group in groups.values()
        ]

    def is_disputed(self, node: Tree) -> bool:
        """Return whether anybody ever claimed that somebody made a node."""
        return any(claim.aspect == "maker" for claim in self._on(node))

    def nobody(self, role: str) -> LanguageMap:
        """Return what to say where claims are about who made it, and none is held."""
        return {tag: [nobody_known(tag, node=role)] for tag in self._tags()}

    def day(self, edtf: str, role: str) -> LanguageMap:
        """Return the words for a certain day of printing or publishing."""
        key = "date.printing" if role == "printing" else "date.publishing"
        return {tag: [say(tag, key, when=date_phrase(parse(edtf), tag))] for tag in self._tags()}

    def _on(self, node: Tree) -> list[Claim]:
        keys = [
            name.get("content", "")
            for act in node.get("attributed_by", ())
            for name in act.get("identified_by", ())
            if name.get("type") == "Identifier"
        ]
        return [self.claims[key] for key in keys if key in self.claims]

    def _stated(self, claim: Claim) -> bool:
        """Whether the node states the value itself: it is certain, and has an IRI or a date."""
        return bool(claim.value) and holds(claim, self.apart)

    def _worded(self, claim: Claim) -> LanguageMap:
        count = self.apart.get(claim.key, ("", 0))[1]
        return {
            tag: [short_words(claim, self._label(claim, tag), tag, alternatives=count)]
            for tag in self._tags()
        }

    def _view(self, claim: Claim, tag: str) -> MakerView:
        known = not key_of(self.site.base, claim.value).startswith(UNIDENTIFIED)
        alternative = self.apart.get(claim.key, ("", 0))[0]
        return MakerView(
            self._label(claim, tag), slug(claim.qualifier), alternative=alternative, known=known
        )

    def _label(self, claim: Claim, tag: str) -> str:
        if claim.value_text or not claim.value:
            return claim.value_text
        return nearest(rows.name_of(claim.value, self.view, self.site), tag)

    def _tags(self) -> list[str]:
        """The languages that words are made in, each under the tag that it then has."""
        return list(dict.fromkeys(language_for(tag) for tag in self.site.languages))
