"""The name of a nested node inside its document: what stands behind the `#` of its IRI.

A node without an `id` is named by its role: the word of its class and the slug of its type, after
the role of the node that holds it (`exposure-timespan-name-display`). Nothing of its content goes
into the name, so the IRI stays when the content is corrected; a second node of one role gets `-2`
in the order in which the source has them.
"""

from lodpipe.iris import segment
from lodpipe.records import Tree
from lodpipe.terms import Concepts

MOST_NAMES = 4096
"""Names kept in memory; when there are more, the memory starts afresh."""

CLAIM_KEY = "claim-key"
"""Term of the type of the Identifier that holds the key of a claim."""

_WORD_OF_KEY = {
    "referred_to_by": "statement",
    "subject_of": "subject",
    "representation": "image",
    "shows": "image",
    "assigned": "assigned",
}
_WORD_OF_CLASS = {
    "AttributeAssignment": "claim",
    "DigitalObject": "file",
    "DigitalService": "service",
    "LinguisticObject": "text",
    "VisualItem": "image",
}
_WORD_IN = {("referred_to_by", "DigitalObject"): "file", ("subject_of", "DigitalObject"): "file"}
_ALONE = {("part", "Production"), ("modified_by", "Modification")}


def word(key: str, class_name: str) -> str:
    """Return the word of the role of a node of a class, under the key that leads to it.

    >>> word("referred_to_by", "LinguisticObject"), word("timespan", "TimeSpan")
    ('statement', 'timespan')
    """
    if key == "produced_by":
        return "production"
    return (
        _WORD_IN.get((key, class_name))
        or _WORD_OF_KEY.get(key)
        or _WORD_OF_CLASS.get(class_name)
        or class_name.lower()
        or "node"
    )


class Roles:
    """Names nested nodes by the slugs of our concepts.

    Args:
        base: base of the site; concepts of our own lie below it.
        language: tag of the first language; a node in another one has it in its name.
    """

    def __init__(self, base: str, concepts: Concepts, language: str) -> None:
        self._slugs: dict[str, str] = {}
        self._claim = ""
        for concept in concepts:
            iri = concept.iri if ":" in concept.iri else base + concept.iri
            if concept.slug:
                self._slugs.setdefault(iri, concept.slug)
            if concept.term == CLAIM_KEY:
                self._claim = iri
            if concept.term == f"language/{language}":
                self._slugs[iri] = ""
        self._names: dict[tuple[str, str, str, str, str], str] = {}

    def role(self, node: Tree, key: str, class_name: str, holder: str) -> str:
        """Return the role of a node, without a number.

        Args:
            key: the key that leads to the node; `holder`: role of the node that has this key, ""
                for the record itself.
        """
        if class_name == "AttributeAssignment":
            claim = self.claim_key(node)
            if claim:
                return "claim-" + segment(claim)
        kinds, languages = node.get("classified_as"), node.get("language")
        try:
            known = (
                key,
                class_name,
                holder,
                kinds[0]["id"] if kinds else "",
                languages[0]["id"] if languages else "",
            )
        except (KeyError, TypeError):  # one node instead of a list, or a node without `id`
            return self._name(node, key, class_name, holder)
        role = self._names.get(known)
        if role is None:
            role = self._name(node, key, class_name, holder)
            if known[3] in self._slugs or not kinds:
                if len(self._names) > MOST_NAMES:
                    self._names.clear()
                self._names[known] = role
        return role

    def _name(self, node: Tree, key: str, class_name: str, holder: str) -> str:
        name = word(key, class_name)
        slug = self._slug(node)
        if slug and key != "produced_by":
            if (key, class_name) in _ALONE:
                return slug
            name = f"{name}-{slug}"
        if holder:
            name = f"{holder}-{name}"
        spoken = self._language(node)
        return f"{name}-{spoken}" if spoken else name

    def claim_key(self, node: Tree) -> str:
        """Return the key of a claim from its Identifier, or ""."""
        for name in node.get("identified_by", ()):
            for kind in name.get("classified_as", ()):
                if kind.get("id") == self._claim:
                    return str(name.get("content", ""))
        return ""

    def _slug(self, node: Tree) -> str:
        kinds = node.get("classified_as")
        if kinds:
            for kind in kinds if type(kinds) is list else (kinds,):
                slug = self._slugs.get(kind.get("id", "")) if type(kind) is dict else ""
                if slug:
                    return slug
        return ""

    def _language(self, node: Tree) -> str:
        languages = node.get("language")
        if not languages:
            return ""
        first = languages[0] if type(languages) is list else languages
        iri = first.get("id", "") if type(first) is dict else ""
        slug = self._slugs.get(iri)
        if slug is None and iri:
            # not a language of our tables: the end of its IRI still tells two texts apart
            slug = self._slugs[iri] = segment(iri.rstrip("/").rpartition("/")[2] or "language")
        return slug or ""
