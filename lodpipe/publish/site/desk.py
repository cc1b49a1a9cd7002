"""What the making of one page goes by: the catalogue, one language, and where the page lies."""

from dataclasses import dataclass
from urllib.parse import quote

from lodpipe.dates import parse
from lodpipe.errors import DateError
from lodpipe.iris import file_link, key_of
from lodpipe.publish.site.catalogue import Catalogue
from lodpipe.publish.site.pictures import Picture, pictures
from lodpipe.publish.site.settings import Settings, path_of, word
from lodpipe.records import Claim
from lodpipe.wording import date_words


@dataclass(frozen=True, slots=True)
class Link:
    """Words that lead somewhere; `href` is empty where there is no page, `language` where it is the page's."""

    text: str
    href: str = ""
    language: str = ""


@dataclass(frozen=True, slots=True)
class Desk:
    """One language of one page.

    Attributes:
        root: from the page to the top of its language, `../` or `../../` or empty.
        top: from the page to the top of the export.
    """

    catalogue: Catalogue
    language: str
    root: str = ""
    top: str = ""

    @property
    def settings(self) -> Settings:
        """Who publishes, and where."""
        return self.catalogue.settings

    def word(self, key: str, /, **places: object) -> str:
        """Return one of the words of the pages."""
        return word(self.language, key, **places)

    def name(self, uri: str) -> str:
        """Return a reader's name of a document."""
        return self.catalogue.name(uri, self.language)[0]

    def href(self, uri: str, anchor: str = "") -> str:
        """Return the way to the page of a document, empty where it has none."""
        if not self.catalogue.kind(uri):
            return ""
        return (
            self.root
            + file_link(path_of(self.settings.base, uri))
            + (f"#{anchor}" if anchor else "")
        )

    def link(self, uri: str, anchor: str = "") -> Link:
        """Return the name of a document, leading to its page."""
        text, language = self.catalogue.name(uri, self.language)
        return Link(text, self.href(uri, anchor), language)

    def record(self, uri: str) -> str:
        """Return the way to the file of a document, empty where none is exported."""
        path = key_of(self.settings.base, uri)
        return (
            f"{self.top}linked-art/{file_link(path)}.json" if path and self.settings.records else ""
        )

    def pictures(self, uri: str) -> list[Picture]:
        """Return the pictures of a thing, its front first, with the way to each file."""
        return pictures(uri, self.catalogue, self.top) if self.settings.manifests else []

    def value(self, claim: Claim) -> str:
        """Return how the value of a claim is called."""
        if claim.value_text:
            return claim.value_text
        if claim.aspect.startswith("date"):
            return self.date(claim.value)
        return self.name(claim.value)

    def date(self, edtf: str, *, lasting: bool = False) -> str:
        """Return a date in words; one that is no EDTF stays as it is."""
        try:
            return date_words(parse(edtf), self.language, lasting=lasting) if edtf else ""
        except DateError:
            return edtf

    def letter(self, uri: str, title: str, claim: str = "") -> str:
        """Return the address of a letter that proposes a correction, filled in as far as it goes.

        https://www.rfc-editor.org/rfc/rfc6068: subject and body are percent-encoded.
        """
        contact = self.settings.contact
        if "@" not in contact or "://" in contact:
            return contact
        subject = self.word("letter-subject", title=title)
        body = self.word("letter-body", uri=uri, release=self.settings.release)
        if claim:
            body = self.word("letter-claim", claim=claim) + "\n" + body
        body = body.replace("\n", "\r\n")
        return f"mailto:{quote(contact)}?subject={quote(subject)}&body={quote(body)}"
