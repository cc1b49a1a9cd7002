"""Keys of the evidence made IRIs: the path of a document under base, or its last segment alone."""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable

from lodpipe.errors import IriError, ValueFault, nearest
from lodpipe.iris import segment
from lodpipe.records import Entry
from lodpipe.terms import Concepts

BEINGS = frozenset({"Person", "Group"})
GROUPS = frozenset({"Group"})
OBJECTS = frozenset({"HumanMadeObject"})
PLACES = frozenset({"Place"})
TEXTS = frozenset({"LinguisticObject", "HumanMadeObject", "DigitalObject", "Set", "VisualItem"})
CONCEPTS = frozenset({"Type", "Material", "Language", "MeasurementUnit", "Currency"})
ANY: frozenset[str] = frozenset()

Entries = Callable[[], Iterable[Entry]]
"""What gives all documents of a run, as often as it is called."""
Get = Callable[[str], Entry | None]
"""What gives the document that has an IRI."""


class KeyFault(ValueFault):
    """A key that leads to no document, or to several; `code` is that of the finding."""

    def __init__(self, message: str, code: str, hint: str = "") -> None:
        super().__init__(message, hint=hint)
        self.finding_code = code


class Keys:
    """Finds the document that a key means.

    Args:
        base: base IRI of the project. `entries`: all documents. `concepts`: our own concepts.
        wanted: keys that will be asked for; only documents that may be meant are remembered.
        get: finds a document by its IRI. With it, keys that are whole paths need not be `wanted`:
            a mapping writes those by the ten thousand.
    """

    def __init__(
        self,
        base: str,
        entries: Entries,
        concepts: Concepts,
        wanted: Collection[str],
        get: Get | None = None,
    ) -> None:
        self.base = base
        self._entries = entries
        self._get = get
        self._by_segment: defaultdict[str, list[tuple[str, str]]] = defaultdict(list)
        self._hints: dict[str, list[str]] = {}
        segments = {self._path(key).rsplit("/", 1)[-1] for key in wanted}
        for entry in entries():
            last = entry.uri.rsplit("/", 1)[-1]
            if last in segments:
                self._by_segment[last].append((entry.uri, entry.type))
        for concept in concepts:
            iri = concept.iri if ":" in concept.iri else base + concept.iri
            for last in {concept.term, concept.term.rsplit("/", 1)[-1], iri.rsplit("/", 1)[-1]}:
                found = (iri, concept.type)
                if found not in self._by_segment[last]:
                    self._by_segment[last].append(found)

    def find(self, key: str, *kinds: frozenset[str]) -> str:
        """Return the IRI of the document that a key means.

        Args:
            kinds: Linked Art classes that the column takes, the preferred ones first; the first
                of them that has a candidate decides.

        Raises:
            KeyFault: no document, several, or one of another class.
        """
        if (uri := self.whole(key, kinds[0])) is not None:
            return uri
        path = self._path(key)
        last = path.rsplit("/", 1)[-1]
        known = self._by_segment.get(last, [])
        whole = [pair for pair in known if pair[0] in (self.base + path, key)]
        # a term of ours may have a `/` itself: `process/lithography`
        candidates = whole or (self._by_segment.get(key, []) if "/" in path else known)
        for kind in kinds:
            found = sorted({uri for uri, type_ in candidates if not kind or type_ in kind})
            if len(found) == 1:
                return found[0]
            if found:
                names = ", ".join(f"`{uri.removeprefix(self.base)}`" for uri in found)
                raise KeyFault(
                    f"the key `{key}` is that of {len(found)} documents: {names}",
                    "ambiguous-key",
                    "write the path, not only its last part",
                )
        wanted = " or ".join(sorted(name for kind in kinds for name in kind)) or "any kind"
        if candidates:
            type_ = candidates[0][1]
            raise KeyFault(f"`{key}` is a {type_}, and this column takes {wanted}", "unknown-key")
        raise KeyFault(f"no document has the key `{key}`", "unknown-key", self._nearest(path))

    def whole(self, key: str, kind: frozenset[str]) -> str | None:
        """Return the IRI of the document whose whole path a key is, where it is of the kind."""
        if self._get is None or (":" in key and not key.startswith(self.base)):
            return None
        entry = self._get(self.base + self._path(key))
        return entry.uri if entry and (not kind or entry.type in kind) else None

    def all(self, key: str) -> tuple[str, ...]:
        """Return every document that a key may mean."""
        path = self._path(key)
        known = self._by_segment.get(path.rsplit("/", 1)[-1], [])
        whole = [uri for uri, _ in known if uri == self.base + path]
        return tuple(sorted(set(whole or (() if "/" in path else (uri for uri, _ in known)))))

    def _path(self, key: str) -> str:
        """Return a key as the path that a document under base has, percent-encoded."""
        if key.startswith(self.base):
            return key[len(self.base) :]
        try:
            return "/".join(part if "%" in part else segment(part) for part in key.split("/"))
        except IriError:
            return key

    def _nearest(self, path: str) -> str:
        """Return the hint for an unknown key: those of its folder, or that begin like it."""
        folder, _, last = path.rpartition("/")
        start = f"{folder}/{last[:1]}"
        if start not in self._hints:
            named = (entry.uri.removeprefix(self.base) for entry in self._entries())
            self._hints[start] = [
                other if folder else other.rpartition("/")[2]
                for other in named
                if other.rpartition("/")[2].startswith(last[:1])
                and (not folder or other.rpartition("/")[0] == folder)
            ][:5000]
        return nearest(path, self._hints[start])


def candidates(
    keys: Collection[str], base: str, entries: Entries, concepts: Concepts
) -> dict[str, tuple[str, ...]]:
    """Return every document that each key may mean; none for a key that leads nowhere."""
    found = Keys(base, entries, concepts, keys)
    return {key: found.all(key) for key in keys}
