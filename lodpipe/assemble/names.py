"""What the things that claims speak of are called, and the nodes that point at them."""

from urllib.parse import unquote

from lodpipe.iris import key_of
from lodpipe.nodes import Nodes
from lodpipe.records import Index, Tree
from lodpipe.terms import Concept
from lodpipe.wording import has, language_for, say

_THINGS = frozenset({"HumanMadeObject", "VisualItem", "Set"})


class Names:
    """Looks labels up and makes references, for one project.

    Attributes:
        languages: those of the project for which there are words, each once. `language`: the first.
    """

    def __init__(self, nodes: Nodes, index: Index) -> None:
        self.nodes = nodes
        self.index = index
        tags = nodes.first_language, *nodes.further
        self.languages = tuple(dict.fromkeys(map(language_for, tags)))
        self.language = self.languages[0]
        self._concepts = {nodes.absolute(concept.iri): concept for concept in nodes.concepts}

    def concept(self, iri: str) -> Concept | None:
        """Return the concept that has an IRI, if it is one of our tables'."""
        return self._concepts.get(iri)

    def kind(self, iri: str) -> str:
        """Return the Linked Art class of what an IRI names; empty when nothing is known of it."""
        entry = self.index.get(iri)
        if entry is not None:
            return entry.type
        concept = self._concepts.get(iri)
        return concept.type if concept is not None else ""

    def label(self, iri: str) -> str:
        """Return the label of a document or concept; empty when nothing is known of it."""
        entry = self.index.get(iri)
        if entry is not None:
            return entry.label
        concept = self._concepts.get(iri)
        return concept.label if concept is not None else ""

    def words(self, iri: str, language: str = "") -> str:
        """Return how running text calls something, in the first language unless one is given.

        A numbered thing is called by the end of its key where its label has these words (`item
        0101`), any other thing by its label in quotes, everything else by its label.
        """
        label = self.label(iri)
        if self.kind(iri) not in _THINGS:
            return label
        number = unquote(iri.rpartition("/")[2]).replace("-", " ")
        if number.casefold() in label.casefold() and any(letter.isdigit() for letter in number):
            return number
        return say(language or self.language, "label.quoted", value=label)

    def reference(self, iri: str) -> Tree | None:
        """Return a fresh reference to a document or concept; None when there is none."""
        entry = self.index.get(iri)
        if entry is not None:
            return {"id": iri, "type": entry.type, "_label": entry.label}
        concept = self._concepts.get(iri)
        if concept is not None:
            return {"id": iri, "type": concept.type, "_label": concept.label}
        return None

    def key(self, iri: str) -> str:
        """Return the key of a document of ours."""
        return key_of(self.nodes.base, iri)

    def event(self, thing: str, role: str) -> Tree:
        """Return a reference to the making of a thing, as an Activity (other types fail there)."""
        key = f"label.{role}" if has(self.language, f"label.{role}") else "label.making"
        label = say(self.language, key, value=self.words(thing))
        return {"id": f"{thing}#{role}", "type": "Activity", "_label": label}
