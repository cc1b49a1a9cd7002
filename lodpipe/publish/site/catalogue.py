"""A release as its readers go through it: names of everything, and what leads to what.

One pass over the documents and one over the ledger; kept are names and links only, so that a
catalogue of many thousand things stays small.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from lodpipe.evidence.facts import Stay
from lodpipe.publish.iiif import Plan
from lodpipe.publish.site.reading import Names, acts, has_type, listed, names, tag_of
from lodpipe.publish.site.settings import Reader, Settings
from lodpipe.records import Claim, Tree
from lodpipe.terms import VOCAB

NOTICE = VOCAB + "statement/community-notice"
PAGES = {
    "HumanMadeObject": "thing",
    "Person": "maker",
    "Group": "maker",
    "Place": "place",
    "LinguisticObject": "source",
    "Set": "thread",
    "Activity": "event",
    "Event": "event",
}
"""Linked Art class -> kind of page; other documents have none."""


@dataclass(frozen=True, slots=True)
class Notice:
    """What a community asks readers to know before they look: its words, whose, and whom to ask."""

    language: str
    text: str
    authority: str = ""
    contact: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """What is kept of one document: its class, its names, whether notices stand on it."""

    type: str
    names: Names
    label: str
    noticed: bool = False


Pair = tuple[str, str]
"""A document and the key of a claim in it."""


class Catalogue:
    """What every page looks things up in.

    Attributes:
        entries: of each document by IRI.
        made, placed, shown: things by the maker, place or subject that is stated of them plainly.
        parts: by a whole, what is part of it. `members`: of sets, groups and sessions.
        by_value, by_source, by_speaker: claims by what they name.
        stays_of, stays_at, stays_from: whereabouts by who, where, and source.
        threads_of: threads by the things that they lead through.
        leaves: the pages of albums.
    """

    def __init__(self, reader: Reader, plan: Plan, settings: Settings) -> None:
        self.reader, self.plan, self.settings = reader, plan, settings
        self.entries: dict[str, Entry] = {}
        self.made: defaultdict[str, dict[str, str]] = defaultdict(dict)
        self.placed: defaultdict[str, list[str]] = defaultdict(list)
        self.shown: defaultdict[str, list[str]] = defaultdict(list)
        self.parts: defaultdict[str, list[str]] = defaultdict(list)
        self.members: defaultdict[str, list[str]] = defaultdict(list)
        self.images: defaultdict[str, list[str]] = defaultdict(list)
        self.by_value: defaultdict[str, list[Pair]] = defaultdict(list)
        self.by_source: defaultdict[str, list[Pair]] = defaultdict(list)
        self.by_speaker: defaultdict[str, list[Pair]] = defaultdict(list)
        for tree in reader.documents():
            self._take(tree)
        for document, claim in reader.lines():
            self._claim(document, claim)
        self.stays_of: defaultdict[str, list[Stay]] = defaultdict(list)
        self.stays_at: defaultdict[str, list[Stay]] = defaultdict(list)
        self.stays_from: defaultdict[str, list[Stay]] = defaultdict(list)
        for stay in reader.stays():
            if not (stay.who in self.entries and stay.where in self.entries):
                continue
            self.stays_of[stay.who].append(stay)
            self.stays_at[stay.where].append(stay)
            for source in stay.sources:
                self.stays_from[source].append(stay)
        self.threads_of: defaultdict[str, list[str]] = defaultdict(list)
        for thread, stops in plan.threads.items():
            for thing in dict.fromkeys(stop.thing for stop in stops):
                self.threads_of[thing].append(thread)
        self.leaves = {
            placed.thing
            for album in plan.albums
            for placed in plan.on[album]
            if placed.thing not in plan.items
        }

    def kind(self, uri: str) -> str:
        """Return the kind of page that a document has, empty for none."""
        entry = self.entries.get(uri)
        if entry is None:
            return ""
        if uri in self.plan.on and uri not in self.plan.places:
            return "album"
        return "leaf" if uri in self.leaves else PAGES.get(entry.type, "")

    def name(self, uri: str, language: str) -> tuple[str, str]:
        """Return a reader's name of a document and its language, empty where that is the page's."""
        entry = self.entries.get(uri)
        if entry is None:
            return uri.removeprefix(self.settings.base), ""
        for tag in (language, "", self.settings.languages[0]):
            if tag in entry.names:
                return entry.names[tag], "" if tag in ("", language) else tag
        for tag, text in entry.names.items():
            return text, tag
        return entry.label, ""

    def things_of(self, document: str) -> list[str]:
        """Return the things that a document is about: itself, or what shows an image."""
        entry = self.entries.get(document)
        if entry is not None and entry.type == "VisualItem":
            return self.images.get(document, [])
        return [document]

    def claims(self, pairs: Iterable[Pair]) -> list[tuple[str, Claim]]:
        """Return claims with their documents, in IRI order; each document is asked for once."""
        wanted: dict[str, set[str]] = {}
        for document, key in pairs:
            wanted.setdefault(document, set()).add(key)
        return [
            (document, claim)
            for document in sorted(wanted)
            for claim in self.reader.claims(document)
            if claim.key in wanted[document]
        ]

    def notices(self, uri: str) -> list[Notice]:
        """Return the notices of a thing, those in a community's own language first."""
        entry = self.entries.get(uri)
        tree = self.reader.get(uri) if entry is not None and entry.noticed else None
        return notices_of(tree, self.settings) if tree else []

    def notices_on(self, uri: str) -> list[Notice]:
        """Return the notices of a thing and of all that lies on it, each once."""
        found = self.notices(uri)
        for placed in self.plan.on.get(uri, ()):
            if placed.thing != uri and uri in self.leaves:
                found += [n for n in self.notices(placed.thing) if n not in found]
        return found

    def _take(self, tree: Tree) -> None:
        uri, settings = tree["id"], self.settings
        self.entries[uri] = Entry(
            tree["type"],
            names(tree, settings.tags),
            str(tree.get("_label") or ""),
            bool(_notice_nodes(tree, settings)),
        )
        for act in acts(tree):
            for maker in act.node.get("carried_out_by", ()):
                if "id" in maker:
                    self.made[maker["id"]].setdefault(uri, act.role)
            for place in act.node.get("took_place_at", ()):
                self.placed[place["id"]].append(uri)
            for session in listed(act.node.get("part_of")):
                self.members[session["id"]].append(uri)
        for key, found in (
            ("shows", self.images),
            ("represents", self.shown),
            ("part_of", self.parts),
            ("held_or_supported_by", self.parts),
            ("member_of", self.members),
        ):
            for node in listed(tree.get(key)):
                if "id" in node:
                    found[node["id"]].append(uri)

    def _claim(self, document: str, claim: Claim) -> None:
        if document not in self.entries:
            return  # an earlier release holds claims of documents that are withheld by now
        pair = (document, claim.key)
        if claim.value and claim.value.startswith(self.settings.base):
            self.by_value[claim.value].append(pair)
        for source in dict.fromkeys(claim.sources):
            self.by_source[source].append(pair)
        if claim.by and not claim.mapped:
            self.by_speaker[claim.by].append(pair)


def _notice_nodes(tree: Tree, settings: Settings) -> list[Tree]:
    term = settings.base + NOTICE
    return [
        node
        for node in tree.get("referred_to_by", ())
        if node.get("content") and has_type(node, term)
    ]


def notices_of(tree: Tree, settings: Settings) -> list[Notice]:
    """Return the notices that a document states, a community's own language first."""
    found = []
    for node in _notice_nodes(tree, settings):
        tag = tag_of(node, settings.tags)
        authority = next((name["content"] for name in node.get("identified_by", ())), "")
        contact = next((text["content"] for text in node.get("referred_to_by", ())), "")
        found.append(Notice(tag, node["content"], authority, contact))
    return sorted(found, key=lambda notice: notice.language in (*settings.languages, "en"))
