"""The value of a claim: the node that it assigns, the node of the direct statement, its words."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace

import orjson

from lodpipe.aspects import Aspects
from lodpipe.assemble.names import Names
from lodpipe.assemble.targets import Spot, group_of, main_node
from lodpipe.errors import TermError
from lodpipe.iris import key_of, segment
from lodpipe.records import Claim, Tree
from lodpipe.wording import date_words, edtf_of


@dataclass(frozen=True, slots=True)
class Value:
    """What a claim says.

    Attributes:
        kind: Linked Art class.
        words: how running text calls it.
        make: makes its node, fresh each time.
        iri: of the value; empty for a node without IRI (a time span, a name).
        linked: whether it may be stated directly: not where the claim has words only.
        others: `words` in further languages of the project, where they are others there.
    """

    kind: str
    words: str
    make: Callable[[], Tree]
    iri: str = ""
    linked: bool = True
    others: Mapping[str, str] = field(default_factory=dict)

    def words_in(self, language: str) -> str:
        """Return how running text in a language calls it."""
        return self.others.get(language, self.words)


@dataclass(frozen=True, slots=True)
class Placement:
    """One claim with everything that decides how it is written.

    `holds`: whether it is current and certain, so that its value is stated directly as well.
    """

    claim: Claim
    spot: Spot
    value: Value
    holds: bool


class Values:
    """Makes the values of claims.

    Args:
        sessions: things to the IRI of the session that claims put them into.
        circa_years: how far `~` moves the outer ends of a time span.
    """

    def __init__(
        self, names: Names, aspects: Aspects, sessions: Mapping[str, str], circa_years: int
    ) -> None:
        self._names = names
        self._nodes = names.nodes
        self._index = names.index
        self._further = names.languages[1:]
        self._aspects = aspects
        self._sessions = sessions
        self._circa_years = circa_years

    def of(self, claim: Claim, document: Tree) -> Value | None:
        """Return the value of a claim; None where it names a document that does not exist.

        Args:
            document: the one that the claim goes into.

        Raises:
            TermError: the value is of a kind that the aspect does not take.
        """
        value = self._first(claim, document)
        if value is None or not self._further:
            return value
        return replace(value, others=dict(self._others(claim, value.words)))

    def _others(self, claim: Claim, words: str) -> Iterator[tuple[str, str]]:
        """Yield what a value is called in the further languages: a day, or a title in quotes."""
        edtf = edtf_of(claim) if "date" in self._aspects.get(claim.aspect).takes else None
        quoted = edtf is None and claim.value and self._names.words(claim.value) == words
        for language in self._further:
            if edtf is not None:
                yield language, date_words(edtf, language)
            elif quoted:
                yield language, self._names.words(claim.value, language)

    def _first(self, claim: Claim, document: Tree) -> Value | None:
        """Return the value of a claim with its words in the first language."""
        takes = self._aspects.get(claim.aspect).takes
        if "date" in takes:
            return self._date(claim)
        if "text" in takes:
            return self._text(claim)
        if not claim.value:
            return self._in_words(claim, document["id"])
        if "iri" in takes:
            return self._same_as(claim, document["type"])
        if claim.aspect in ("earlier_than", "later_than"):
            return self._event(claim)
        if claim.aspect == "same_session_as":
            return self._session(claim)
        if claim.aspect == "same_sitter_as":
            return self._sitter(claim)
        return self._entity(claim)

    def _entity(self, claim: Claim) -> Value | None:
        names = self._names
        iri = group_of(claim, self._aspects, self._index, self._nodes.base) or claim.value
        kind = names.kind(iri)
        call = (
            names.label if claim.aspect == "depicts" else names.words
        )  # what is seen, by its name
        words = claim.value_text or call(claim.value)
        takes = self._aspects.get(claim.aspect).takes
        if not kind:
            if iri.startswith(self._nodes.base) or "Type" not in takes:
                return None
            label = claim.value_text or iri.rpartition("/")[2]
            return Value("Type", label, lambda: {"id": iri, "type": "Type", "_label": label}, iri)
        if kind not in takes:
            wanted = " or ".join(sorted(takes))
            raise TermError(
                f"the {claim.aspect} `{key_of(self._nodes.base, iri) or iri}` is a {kind}",
                hint=f"the value of this aspect is a {wanted}",
            )
        concept = names.concept(iri)
        if concept is not None and concept.meta:
            term = concept.term
            return Value(kind, words, lambda: self._nodes.term(term), iri)
        label = names.label(iri)
        return Value(kind, words, lambda: {"id": iri, "type": kind, "_label": label}, iri)

    def _in_words(self, claim: Claim, document: str) -> Value | None:
        """A value that no record is of: a node of the claim's own, shown and never linked.

        A maker in words is a Group, never a Person: nobody has said that it is one.
        """
        kind = _IN_WORDS.get(claim.aspect)
        if kind is None or not claim.value_text:
            return None
        iri, words = f"{claim_iri(document, claim.key)}-assigned", claim.value_text
        return Value(kind, words, lambda: {"id": iri, "type": kind, "_label": words}, iri, False)

    def _date(self, claim: Claim) -> Value:
        edtf = edtf_of(claim)
        language = self._names.language
        name = date_words(edtf, language) if edtf is not None else claim.value_text or claim.value
        span = self._nodes.timespan(name, edtf, circa_years=self._circa_years, language=language)
        packed = orjson.dumps(span)  # unpacking is the fastest way to a fresh copy
        return Value("TimeSpan", name, lambda: orjson.loads(packed))

    def _text(self, claim: Claim) -> Value:
        text, language = claim.value_text or claim.value, self._nodes.first_language
        if claim.aspect == "inscription":
            term = "inscription-statement"
            return Value(
                "LinguisticObject", text, lambda: self._nodes.statement(text, term, language)
            )
        return Value("Name", text, lambda: self._nodes.name(text, "primary-name", language))

    def _same_as(self, claim: Claim, about_type: str) -> Value:
        iri, words = claim.value, claim.value_text or claim.value

        def make() -> Tree:
            node = {"id": iri, "type": about_type}
            return {**node, "_label": claim.value_text} if claim.value_text else node

        return Value(about_type, words, make, iri)

    def _event(self, claim: Claim) -> Value | None:
        entry = self._index.get(claim.value)
        if entry is None:
            return None
        thing, role = claim.value, main_node(entry.roles, self._aspects)
        words = claim.value_text or self._names.words(thing)
        return Value("Activity", words, lambda: self._names.event(thing, role), f"{thing}#{role}")

    def _session(self, claim: Claim) -> Value | None:
        iri = self._sessions.get(claim.value, claim.value)
        words = claim.value_text or self._names.words(claim.value)
        return self._link(iri, words)

    def _sitter(self, claim: Claim) -> Value | None:
        words = claim.value_text or self._names.words(claim.value)
        return self._link(sitter_of(claim.value, self._nodes.base), words)

    def _link(self, iri: str, words: str) -> Value | None:
        if self._index.get(iri) is None:
            return None
        return Value(self._names.kind(iri), words, lambda: self._names.reference(iri) or {}, iri)


_IN_WORDS = {
    **dict.fromkeys(("maker", "sitter", "same_sitter_as", "member_of"), "Group"),
    **dict.fromkeys(("copy_of", "printed_from", "composed_of"), "HumanMadeObject"),
    **dict.fromkeys(("earlier_than", "later_than", "same_session_as"), "Activity"),
    **dict.fromkeys(("process", "format", "depicts"), "Type"),
    "place": "Place",
}
"""Class of a value that a claim has in words only, by aspect."""


def claim_iri(document: str, key: str) -> str:
    """Return the IRI of a claim in its document."""
    return f"{document}#claim-{segment(key)}"


def sitter_of(thing: str, base: str) -> str:
    """Return the IRI of the Person who stands for whoever sits in a picture."""
    return f"{base}person/sitter-of-{key_of(base, thing).rpartition('/')[2]}"
