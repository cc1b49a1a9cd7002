"""What the pages need beside the documents: who publishes, in which languages, and where things lie."""

import csv
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any, Protocol

from lodpipe.evidence.facts import Stay
from lodpipe.iris import key_of, segment
from lodpipe.records import Claim, Tree

OBJECT = "object/"


@dataclass(frozen=True, slots=True)
class Settings:
    """Who publishes, which release it is, and what is exported beside the pages.

    Attributes:
        base: where every IRI starts.
        name: the publisher's name, by language.
        languages: of the words that we add; each has a tree of pages, the first at the top.
        contact: address for corrections, of mail or of a page; empty: none is offered.
        rights: URI of the licence of the metadata.
        tags: IRI of a language concept to its BCP 47 tag.
        release, day: number of the release and the day on which it was made, ISO 8601.
        records: whether a file of each document is exported. `manifests`: whether manifests and
            pictures are.
    """

    base: str
    name: Mapping[str, str]
    languages: tuple[str, ...] = ("en",)
    contact: str = ""
    rights: str = ""
    tags: Mapping[str, str] = field(default_factory=dict)
    release: int = 1
    day: str = ""
    records: bool = True
    manifests: bool = True


class Reader(Protocol):
    """A release, as far as pages are made from it."""

    def documents(self) -> Iterator[Tree]:
        """Yield every document, in IRI order."""

    def get(self, uri: str) -> Tree | None:
        """Return one document, or None."""

    def lines(self) -> Iterator[tuple[str, Claim]]:
        """Yield document and claim, of all documents in IRI order."""

    def claims(self, uri: str) -> list[Claim]:
        """Return the claims of a document."""

    def verdicts(self, uri: str) -> Mapping[str, Any]:
        """Return what the evidence makes of the claims of a document, by their keys."""

    def stays(self) -> tuple[Stay, ...]:
        """Return who was where, when."""


Say = Callable[..., str]
"""Key and places of one of our own words -> the word, in the language of a page."""


@cache
def _table() -> dict[str, dict[str, str]]:
    text = (files(__package__) / "words.csv").read_text(encoding="utf-8")
    return {line["word"]: line for line in csv.DictReader(text.splitlines())}


def words() -> tuple[str, ...]:
    """Return the keys of all words of the pages."""
    return tuple(_table())


def word(language: str, key: str, /, **places: object) -> str:
    """Return one of the words of the pages, with its places filled.

    >>> word("de", "page-of", number=12)
    'Seite 12'
    """
    text = _table()[key][language]
    return text.format(**places) if places else text


def path_of(base: str, uri: str) -> str:
    """Return the path of the page of a document, percent-encoded as in an IRI.

    >>> path_of("https://example.org/", "https://example.org/person/dolen")
    'page/person/dolen.html'
    """
    key = key_of(base, uri)
    return f"page/{key.removeprefix(OBJECT) if key else segment(uri)}.html"
