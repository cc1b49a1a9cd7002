"""Lists of things, each with the line that may be shown of it anywhere, and their pages."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice

from lodpipe.iris import file_link
from lodpipe.publish.site.catalogue import Notice
from lodpipe.publish.site.desk import Desk, Link
from lodpipe.publish.site.pictures import Picture
from lodpipe.publish.site.reading import said_in
from lodpipe.publish.site.table import NOBODY, Short, groups_of, in_short
from lodpipe.records import Claim
from lodpipe.wording import claim_words, held_kind

MOST = 90
"""Entries of one page: 100 KB hold them with all their words."""


@dataclass(frozen=True, slots=True)
class Card:
    """One thing in a list.

    Attributes:
        line: who and when, in hedged words. `said`: what a claim says that put it on this list.
        picture: None where there is none, or where a notice stands before it.
        language: of `said`, where it is not that of the page.
    """

    link: Link
    line: str = ""
    said: str = ""
    claim: str = ""
    by: str = ""
    picture: Picture | None = None
    notices: tuple[Notice, ...] = ()
    language: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """A part of a list, with its head; `kind` is how claims in it are held, empty for others."""

    head: str
    cards: list[Card] = field(default_factory=list)
    kind: str = ""


class Lister:
    """Makes the entries of lists; the line of a thing is worked out once a language."""

    def __init__(self) -> None:
        self._lines: dict[tuple[str, str], str] = {}

    def keep(self, uri: str, language: str, lines: Sequence[Short]) -> str:
        """Return the line of a thing, who and when, and remember it."""
        pieces: dict[str, str] = {}
        for short in lines:
            if short.aspect in ("maker", NOBODY):
                text = f"{short.head}: {short.text}" if short.aspect == NOBODY else short.text
                pieces.setdefault("who", text)
            elif short.aspect == "date":
                pieces.setdefault("when", short.text)
        text = "; ".join(pieces[key] for key in ("who", "when") if key in pieces)
        self._lines[uri, language] = text
        return text

    def line(self, uri: str, desk: Desk) -> str:
        """Return the line of a thing."""
        found = self._lines.get((uri, desk.language))
        if found is None:
            tree = desk.catalogue.reader.get(uri)
            if tree is None or tree["type"] != "HumanMadeObject":
                return ""
            found = self.keep(uri, desk.language, in_short(groups_of(uri, tree, desk), tree, desk))
        return found

    def card(
        self, uri: str, desk: Desk, *, pictured: bool = True, above: Sequence[Notice] = ()
    ) -> Card:
        """Return the entry of a document.

        Args:
            above: notices that stand at the head of the page already, before all pictures of it.
        """
        notices = tuple(n for n in desk.catalogue.notices_on(uri) if n not in above)
        shown = desk.pictures(uri) if pictured and not notices else []
        return Card(desk.link(uri), self.line(uri, desk), picture=next(iter(shown), None),
                    notices=notices)  # fmt: skip

    def claim(self, thing: str, document: str, claim: Claim, desk: Desk) -> Card:
        """Return the entry of a thing on the list of what a claim of it names."""
        words, _ = words_of(document, claim, desk)
        by = desk.name(claim.by) if claim.by else ""
        key = "" if claim.mapped else claim.key
        return Card(desk.link(thing, f"claim-{claim.key}"), said=words, claim=key, by=by,
                    notices=tuple(desk.catalogue.notices(thing)))  # fmt: skip


def words_of(document: str, claim: Claim, desk: Desk) -> tuple[str, str]:
    """Return what a claim says in words, and how it is held."""
    tree = desk.catalogue.reader.get(document)
    found = said_in(tree, desk.catalogue.reader.claims(document)) if tree else []
    one = next((one for one in found if one.claim.key == claim.key), None)
    node, size = (one.node, one.alternatives) if one else ("", 0)
    words = claim_words(claim, desk.value(claim), desk.language, node=node, alternatives=size)
    return words, held_kind(claim, alternatives=size)


def pages_of(sections: Iterable[Section], most: int = MOST) -> Iterator[list[Section]]:
    """Yield the parts of a long list page by page; a part that goes on keeps its head."""
    page: list[Section] = []
    left = most
    for section in sections:
        cards = iter(section.cards)
        while taken := list(islice(cards, left)):
            page.append(Section(section.head, taken, section.kind))
            left -= len(taken)
            if not left:
                yield page
                page, left = [], most
    if page:
        yield page


def sectioned(sections: Iterable[Section]) -> list[list[Section]]:
    """Return the parts of a list page by page, one empty page where there is nothing."""
    return list(pages_of(section for section in sections if section.cards)) or [[]]


def numbered(paths: Sequence[str], desk: Desk, number: int) -> dict[str, object]:
    """Return the ways to the pages before and after one of a list, `number` from 1."""
    count = len(paths)
    return {
        "number": number,
        "count": count,
        "previous": desk.root + file_link(paths[number - 2]) if number > 1 else "",
        "next": desk.root + file_link(paths[number]) if number < count else "",
    }
