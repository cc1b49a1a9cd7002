"""What may be told of a thing where no claim can carry the doubt: EDM and Dublin Core.

A value is a link only where the document states it, which it does only of what is current and
certain. What is held now with a hedge becomes words in their short form; former, proposed and
rejected views are not told at all, not in words either.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from lodpipe.iris import key_of
from lodpipe.publish.harvest.claims import Held
from lodpipe.publish.harvest.pictures import Picture, pictures_of
from lodpipe.publish.iiif import Site, View, rows
from lodpipe.publish.iiif.rows import MAKING, edtf_of, productions_of, texts_of
from lodpipe.publish.iiif.settings import LanguageMap
from lodpipe.records import Tree

EXTENT = "http://vocab.getty.edu/aat/300435430"
WEB_PAGE = "http://vocab.getty.edu/aat/300264578"
# books, manuscripts, account books: https://vocab.getty.edu/aat/, labels second-hand
TEXTS = frozenset(
    f"http://vocab.getty.edu/aat/{number}" for number in ("300028051", "300028569", "300027483")
)
UNIDENTIFIED = "group/unidentified-"
AGENTS = ("Person", "Group")
HELPING = ("printing", "publishing")
UNSURE = re.compile(r"[?~%]")
"""EDTF that says its own doubt: https://www.loc.gov/standards/datetime/"""


@dataclass(frozen=True, slots=True)
class Said:
    """One value: an entity with its name, or words alone where `uri` is empty.

    `kind` is the class of the entity in Linked Art. `node` is its tree: a document, or the time
    span that it is. `edtf` is that of a certain date.
    """

    words: LanguageMap
    uri: str = ""
    kind: str = ""
    node: Tree = field(default_factory=dict)
    edtf: str = ""


@dataclass(frozen=True, slots=True)
class Told:
    """Everything that may be told of one thing.

    Attributes:
        created: days of its making; `printed`: words on when it was printed or published.
        helpers: printers and publishers. `media`: techniques and materials.
        related: words on what it may be copied or printed from; `derived_from`: IRIs where certain.
        rights: licence of its pictures as stated, http form; empty for none.
        pictures: of the whole thing, the first one for the thing itself. `page`: for readers.
    """

    uri: str
    key: str
    titles: LanguageMap
    identifiers: tuple[str, ...] = ()
    descriptions: LanguageMap = field(default_factory=dict)
    notices: LanguageMap = field(default_factory=dict)
    extents: LanguageMap = field(default_factory=dict)
    types: tuple[Said, ...] = ()
    makers: tuple[Said, ...] = ()
    helpers: tuple[Said, ...] = ()
    created: tuple[Said, ...] = ()
    printed: tuple[Said, ...] = ()
    places: tuple[Said, ...] = ()
    subjects: tuple[Said, ...] = ()
    media: tuple[Said, ...] = ()
    related: tuple[Said, ...] = ()
    derived_from: tuple[str, ...] = ()
    part_of: str = ""
    languages: tuple[str, ...] = ()
    is_text: bool = False
    rights: str = ""
    manifest: str = ""
    page: str = ""
    pictures: tuple[Picture, ...] = ()


@dataclass(frozen=True, slots=True)
class Telling:
    """Reads documents of one release.

    Attributes:
        view, site: as the manifests have them: what may leave, and the words for it.
    """

    view: View
    site: Site

    def told(self, uri: str, tree: Tree, held: Held, manifest: Tree | None, page: str = "") -> Told:
        """Return what may be told of one thing.

        Args:
            held: the claims on it and on its pictures.
            manifest: its IIIF manifest; None where there is none.
            page: the page of our own site for it; empty for none.
        """
        site = self.site
        parts = productions_of(tree)
        notice = rows.notice_of(tree, uri, self.view, site)
        types = tuple(self._entity(ref) for ref in tree.get("classified_as", ()))
        return Told(
            uri=uri,
            key=key_of(site.base, uri),
            titles=texts_of(names_of(tree), rows.PRIMARY_NAME, site)
            or next(iter(held.words(tree, ("title",))), {}),
            identifiers=tuple(dict.fromkeys(_numbers(tree))),
            descriptions=texts_of(tree.get("referred_to_by", ()), rows.DESCRIPTION, site),
            notices=notice.text if notice else {},
            extents=texts_of(tree.get("referred_to_by", ()), EXTENT, site),
            types=types + _worded(held.words(tree, ("format",))),
            makers=tuple(self._makers(parts, held, main=True)),
            helpers=tuple(self._makers(parts, held, main=False)),
            created=tuple(self._days(uri, parts, held)),
            printed=tuple(self._printings(parts, held)),
            places=tuple(self._places(parts, held)),
            subjects=tuple(self._subjects(tree, held)),
            media=tuple(self._media(tree, parts, held)),
            related=tuple(self._related(parts, held)),
            derived_from=tuple(dict.fromkeys(self._sources(parts))),
            part_of=self._whole(tree),
            languages=tuple(self._languages(tree)),
            is_text=any(said.uri in TEXTS for said in types),
            rights=rows.rights_of(tree, self.view, site),
            manifest=manifest["id"] if manifest else "",
            # our own page of a thing that we cannot show is nothing that readers elsewhere look for
            page=(page if manifest else "") or _page_of(tree),
            pictures=tuple(pictures_of(manifest)) if manifest else (),
        )

    def _entity(self, ref: Tree) -> Said:
        words = rows.name_of(ref["id"], self.view, self.site, ref)
        kind = ref.get("type", "")
        return Said(words, ref["id"], kind, self.view.get(ref["id"]) or ref)

    def _makers(self, parts: list[tuple[str, Tree]], held: Held, *, main: bool) -> Iterator[Said]:
        """Yield who made it: entities where stated, else words with every hedge."""
        told = set[str]()
        disputed = False
        for role, node in parts:
            if (role in HELPING) == main:
                continue
            for ref in node.get("carried_out_by", ()):
                if ref["id"] in told:
                    continue
                told.add(ref["id"])
                said = self._entity(ref)
                unknown = key_of(self.site.base, ref["id"]).startswith(UNIDENTIFIED)
                yield Said(said.words) if unknown else said
            disputed |= held.is_disputed(node)
            for words in held.makers(node):
                told.add("words")
                yield Said(words)
        if main and disputed and not told:
            yield Said(held.nobody(next((role for role, _ in parts if role in MAKING), "")))

    def _days(self, uri: str, parts: list[tuple[str, Tree]], held: Held) -> Iterator[Said]:
        for role, node in parts:
            if role in HELPING:
                continue
            span = node.get("timespan")
            if span:
                edtf = edtf_of(span)
                words = texts_of(names_of(span), rows.DISPLAY_NAME, self.site)
                if not edtf or UNSURE.search(edtf):
                    yield Said(words)
                else:
                    iri = (node.get("id") or f"{uri}#production") + "-timespan"
                    yield Said(words, iri, "TimeSpan", span, edtf)
            yield from _worded(held.words(node, ("date",)))

    def _printings(self, parts: list[tuple[str, Tree]], held: Held) -> Iterator[Said]:
        for role, node in parts:
            if role in HELPING and (span := node.get("timespan")) and (edtf := edtf_of(span)):
                yield Said(held.day(edtf, role))
            yield from _worded(held.sentences(node, "date_printed", role))

    def _places(self, parts: list[tuple[str, Tree]], held: Held) -> Iterator[Said]:
        for role, node in parts:
            if role not in HELPING:
                for ref in node.get("took_place_at", ()):
                    yield self._entity(ref)
                yield from _worded(held.words(node, ("place",)))

    def _subjects(self, tree: Tree, held: Held) -> Iterator[Said]:
        for shown in tree.get("shows", ()):
            image = self.view.get(shown["id"]) or {}
            for key in ("represents", "represents_instance_of_type", "about"):
                for ref in image.get(key, ()):
                    yield self._entity(ref)
            yield from _worded(held.words(image, ("sitter", "depicts", "same_sitter_as")))

    def _media(self, tree: Tree, parts: list[tuple[str, Tree]], held: Held) -> Iterator[Said]:
        met = set[str]()
        refs = [ref for _, node in parts for ref in node.get("technique", ())]
        for ref in (*refs, *tree.get("made_of", ())):
            if ref["id"] not in met:
                met.add(ref["id"])
                yield self._entity(ref)
        for _, node in parts:
            yield from _worded(held.words(node, ("process",)))

    def _related(self, parts: list[tuple[str, Tree]], held: Held) -> Iterator[Said]:
        for _, node in parts:
            yield from _worded(held.words(node, ("copy_of", "printed_from", "composed_of")))

    def _sources(self, parts: list[tuple[str, Tree]]) -> Iterator[str]:
        for _, node in parts:
            for key in ("influenced_by", "used_specific_object"):
                for ref in node.get(key, ()):
                    if ref.get("type") == "HumanMadeObject" and self.view.get(ref["id"]):
                        yield ref["id"]

    def _whole(self, tree: Tree) -> str:
        """Return the whole that it is a part of, at the top: an album rather than its page."""
        at, seen = tree, set[str]()
        found = ""
        while (above := up(at)) and above not in seen:
            seen.add(above)
            found = above
            at = self.view.get(above) or {}
        return found

    def _languages(self, tree: Tree) -> Iterator[str]:
        carried = [self.view.get(ref["id"]) or {} for ref in tree.get("carries", ())]
        for node in (tree, *carried):
            for ref in node.get("language", ()):
                tag = self.site.tags.get(ref.get("id", ""))
                if tag:
                    yield tag


def up(tree: Tree) -> str:
    """Return the IRI of what a thing is a part of, or lies in; empty for none."""
    for key in ("part_of", "held_or_supported_by"):
        value = tree.get(key)
        for ref in [value] if isinstance(value, dict) else value or ():
            return str(ref["id"])
    return ""


def names_of(tree: Tree) -> list[Tree]:
    """Return the names of a document or a time span, without its identifiers."""
    return [node for node in tree.get("identified_by", ()) if node.get("type") == "Name"]


def _numbers(tree: Tree) -> Iterator[str]:
    for node in tree.get("identified_by", ()):
        if node.get("type") == "Identifier":
            yield node["content"]


def _worded(found: Iterable[LanguageMap]) -> tuple[Said, ...]:
    return tuple(Said(words) for words in found)


def _page_of(tree: Tree) -> str:
    for text in tree.get("subject_of", ()):
        for carrier in text.get("digitally_carried_by", ()):
            if any(kind.get("id") == WEB_PAGE for kind in carrier.get("classified_as", ())):
                for point in carrier.get("access_point", ()):
                    return str(point["id"])
    return ""
