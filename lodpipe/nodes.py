"""The small Linked Art nodes that several stages make, each in one form only.

Mappings, merged claims and house documents all need types, names, identifiers, statements and
time spans. They are built here, so that a concept is spelled one way wherever it stands. Every
call returns fresh dicts and lists: two documents never share a node, because a node that gets an
IRI in one document would otherwise carry it into the other.

The forms follow the Linked Art model, https://linked.art/model/base/ and, for time spans,
https://linked.art/api/1.0/shared/timespan/.
"""

from collections.abc import Callable, Sequence

from lodpipe.dates import Edtf, iso_day, outer_bounds
from lodpipe.errors import TermError
from lodpipe.records import Tree
from lodpipe.terms import Concept, Concepts

FIRST_DAY, LAST_DAY = 1, 3_652_059
"""0001-01-01 and 9999-12-31 as day numbers: RFC 3339 knows years of four digits only, and Linked
Art's schemas ask for `date-time` (https://www.rfc-editor.org/rfc/rfc3339#section-5.6)."""

_NO_DAYS = {
    "en": "{name} (outside the years 1 to 9999, so without days)",
    "de": "{name} (außerhalb der Jahre 1 bis 9999, daher ohne Tage)",
    "fr": "{name} (hors des années 1 à 9999, donc sans jours)",
}


class Nodes:
    """Makes the small nodes of documents below one base IRI.

    Args:
        base: absolute IRI that ends in `/`; concepts of our own get IRIs below it.
        concepts: our own concepts and those of the project.
        language: BCP 47 tag of the project's first language: the names of time spans are in it
            unless the call says otherwise.
        further: tags of its other languages: what is said of claims is said in these as well.
    """

    def __init__(
        self, base: str, concepts: Concepts, language: str = "en", further: Sequence[str] = ()
    ) -> None:
        self.base = base
        self.concepts = concepts
        self.first_language, self.further = language, tuple(further)
        self._makers: dict[str, Callable[[], Tree]] = {}

    def iri(self, term: str) -> str:
        """Return the absolute IRI of a term; a TermError names the nearest term."""
        return self.absolute(self.concepts.get(term).iri)

    def absolute(self, iri: str) -> str:
        """Return a concept's IRI as absolute: one without scheme belongs to the base."""
        return iri if ":" in iri else self.base + iri

    def term(self, term: str) -> Tree:
        """Return the node of a concept: `id`, `type`, `_label`, and its class or its equivalent.

        Raises:
            TermError: the term is not in the tables.
        """
        maker = self._makers.get(term)
        if maker is None:
            maker = self._makers[term] = self._maker(self.concepts.get(term))
        return maker()

    def _maker(self, concept: Concept) -> Callable[[], Tree]:
        iri, kind, label = self.absolute(concept.iri), concept.type, concept.label
        meta = self._maker(self.concepts.get(concept.meta)) if concept.meta else None
        equivalent = concept.equivalent
        if meta is None and not equivalent:
            return lambda: {"id": iri, "type": kind, "_label": label}

        def make() -> Tree:
            node: Tree = {"id": iri, "type": kind, "_label": label}
            if meta is not None:
                node["classified_as"] = [meta()]
            if equivalent:
                node["equivalent"] = [{"id": equivalent, "type": kind}]
            return node

        return make

    def language(self, tag: str) -> Tree:
        """Return the node of a language by its BCP 47 tag; `de-AT` falls back to `de`.

        Raises:
            TermError: neither the tag nor its first part is in the tables.
        """
        maker = self._makers.get(f"language/{tag}")
        if maker is not None:
            return maker()
        for candidate in (tag, tag.split("-")[0]):
            if f"language/{candidate}" in self.concepts:
                return self.term(f"language/{candidate}")
        raise TermError(
            f"the language `{tag}` has no concept",
            hint=f"add a line `language/{tag}` to mappings/vocab/concepts.csv",
        )

    def name(self, content: str, term: str = "primary-name", language: str = "") -> Tree:
        """Return a Name; without `language` its language is not stated."""
        return self._text("Name", content, term, language)

    def identifier(self, content: str, term: str) -> Tree:
        """Return an Identifier, such as an accession number."""
        return {"type": "Identifier", "content": content, "classified_as": [self.term(term)]}

    def statement(self, content: str, term: str, language: str = "") -> Tree:
        """Return a text about something, for `referred_to_by`."""
        return self._text("LinguisticObject", content, term, language)

    def _text(self, kind: str, content: str, term: str, language: str) -> Tree:
        node: Tree = {"type": kind, "content": content}
        if term:
            node["classified_as"] = [self.term(term)]
        if language:
            node["language"] = [self.language(language)]
        return node

    def role(self, document: str, role: str) -> Tree:
        """Return the part of a production (or the modification) that has a role, with its IRI.

        >>> from lodpipe.terms import concepts
        >>> Nodes("https://c.example/", concepts()).role("https://c.example/object/1", "mounting")["type"]
        'Modification'
        """
        kind = "Modification" if role in MODIFICATIONS else "Production"
        return {
            "id": f"{document}#{role}",
            "type": kind,
            "classified_as": [self.term(f"role/{role}")],
        }

    def right(self, uri: str, label: str = "") -> Tree:
        """Return a Right whose type is the IRI of a licence or rights statement."""
        kind: Tree = {"id": uri, "type": "Type"}
        if label:
            kind["_label"] = label
        return {"type": "Right", "classified_as": [kind]}

    def timespan(
        self,
        name: str,
        edtf: Edtf | None,
        *,
        state: bool = False,
        circa_years: int = 5,
        language: str = "",
    ) -> Tree:
        """Return a TimeSpan with its name in words, its EDTF and its inclusive ends.

        Args:
            name: the words a reader sees; when empty, the EDTF itself.
            edtf: None when the words could not be read: the span then has no ends.
            state: whether something went on throughout (years of work, a membership): then the
                inner ends are given too, unless they would cross.
            circa_years: how far `~` moves the outer ends.
            language: of the words; empty means the project's first language.
        """
        if edtf is None:
            return {"type": "TimeSpan", "identified_by": [self._display(name, language)]}
        ends = _ends(edtf, state, circa_years)
        if not ends and _has_days(edtf):
            words = _NO_DAYS.get((language or self.first_language).split("-")[0], _NO_DAYS["en"])
            name = words.format(name=name or edtf.text)
        names = [self._display(name or edtf.text, language), self.identifier(edtf.text, "edtf")]
        return {"type": "TimeSpan", "identified_by": names, **ends}

    def _display(self, name: str, language: str) -> Tree:
        return self.name(name, "display-name", language or self.first_language)


MODIFICATIONS = frozenset({"mounting", "captioning"})
"""Roles of what is done to a thing that is already there: nodes of `modified_by`."""


def _has_days(edtf: Edtf) -> bool:
    return edtf.earliest is not None or edtf.latest is not None


def _ends(edtf: Edtf, state: bool, circa_years: int) -> dict[str, str]:
    earliest, latest = outer_bounds(edtf, circa_years)
    inner_start, inner_end = (edtf.latest_start, edtf.earliest_end) if state else (None, None)
    if inner_start is not None and inner_end is not None and inner_start >= inner_end:
        inner_start = inner_end = None
    days = (
        ("begin_of_the_begin", earliest, "T00:00:00Z"),
        ("end_of_the_begin", inner_start, "T23:59:59Z"),
        ("begin_of_the_end", inner_end, "T00:00:00Z"),
        ("end_of_the_end", latest, "T23:59:59Z"),
    )
    return {
        key: iso_day(day) + clock
        for key, day, clock in days
        if day is not None and FIRST_DAY <= day <= LAST_DAY
    }
