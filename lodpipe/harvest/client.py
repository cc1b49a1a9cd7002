"""A client of OAI-PMH 2.0: one answer after another, with patience.

https://www.openarchives.org/OAI/openarchivesprotocol.html. Answers are read with entities off and
no network of their own; an answer that is no XML, too long or not of the protocol is refused.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import requests
from lxml import etree

from lodpipe.errors import UsageError, nearest
from lodpipe.patience import AGENT, TIMEOUT, Patience

SPACE = "{http://www.openarchives.org/OAI/2.0/}"
MOST_BYTES = 100_000_000
MOST_PAGES_OF_NAMES = 50


class OaiError(UsageError):
    """An error of the protocol; `name` is its code (section 3.6)."""

    def __init__(self, name: str, message: str, url: str) -> None:
        super().__init__(f"{url} answers {name}: {message or 'without a reason'}")
        self.name = name


@dataclass(frozen=True, slots=True)
class Query:
    """What is asked for: the format, a set or empty, and from when on or empty."""

    prefix: str
    set: str = ""
    since: str = ""

    def arguments(self) -> dict[str, str]:
        """Return the arguments of the first request."""
        given = {"metadataPrefix": self.prefix, "set": self.set, "from": self.since}
        return {name: value for name, value in given.items() if value}


@dataclass(frozen=True, slots=True)
class Header:
    """Identifier, datestamp and deletion of a record, with its XML; empty of one deleted."""

    identifier: str
    datestamp: str
    deleted: bool
    xml: bytes = b""


@dataclass(frozen=True, slots=True)
class Page:
    """One part of a list: its records, the token of the next part or empty, the server's time."""

    records: tuple[Header, ...]
    token: str
    instant: str
    size: int = 0


@dataclass(slots=True)
class Client:
    """Asks one repository."""

    url: str
    patience: Patience = field(default_factory=Patience)
    session: requests.Session = field(default_factory=requests.Session)

    def granularity(self) -> str:
        """Return the granularity of the repository's datestamps, as it names it."""
        root = self._ask({"verb": "Identify"})
        return root.findtext(f"{SPACE}Identify/{SPACE}granularity") or "YYYY-MM-DD"

    def page(self, query: Query, token: str = "") -> Page:
        """Return one part of a list of records.

        Raises:
            OaiError: an answer of the protocol that is an error; `noRecordsMatch` is an empty page.
            NotFinishedError: the repository cannot be reached, however often it is tried.
        """
        arguments = {"resumptionToken": token} if token else query.arguments()
        try:
            root = self._ask({"verb": "ListRecords", **arguments})
        except OaiError as error:
            if not token:
                self._look_for(query, error)
            if error.name != "noRecordsMatch" or token:
                raise
            return Page((), "", "")
        records = tuple(_header(record) for record in root.iter(f"{SPACE}record"))
        mark = root.find(f"{SPACE}ListRecords/{SPACE}resumptionToken")
        following = (mark.text or "").strip() if mark is not None else ""
        size = mark.get("completeListSize", "0") if mark is not None else "0"
        instant = root.findtext(f"{SPACE}responseDate") or ""
        return Page(records, following, instant, int(size) if size.isdigit() else 0)

    def pages(self, query: Query, token: str = "") -> Iterator[Page]:
        """Yield every part of a list from its beginning, or from a token on.

        Raises:
            UsageError: the repository gives one token again and again.
        """
        while True:
            page = self.page(query, token)
            yield page
            if not page.token:
                return
            if page.token == token:
                raise UsageError(
                    f"{self.url} gives the same resumption token again",
                    hint="tell the other house; its list would never end",
                )
            token = page.token

    def _look_for(self, query: Query, error: OaiError) -> None:
        """Say what there is where a format or a set is asked for that there is not.

        Many repositories answer for an unknown set that no record matches.
        """
        if error.name == "cannotDisseminateFormat":
            known = self._names({"verb": "ListMetadataFormats"}, "metadataPrefix")
            kind, asked = "format", query.prefix
        elif query.set and error.name in ("noRecordsMatch", "noSetHierarchy", "badArgument"):
            known = self._names({"verb": "ListSets"}, "setSpec")
            kind, asked = "set", query.set
            if asked in known:
                return
        else:
            return
        raise UsageError(
            f"{self.url} has no {kind} `{asked}`",
            hint=nearest(asked, known) or f"there are {', '.join(known) or 'none'}",
        ) from error

    def _names(self, arguments: dict[str, str], element: str) -> list[str]:
        """Return the names in a list of the repository; none where it refuses to tell."""
        found: list[str] = []
        for _ in range(MOST_PAGES_OF_NAMES):
            try:
                root = self._ask(arguments)
            except OaiError:
                break
            found += [node.text or "" for node in root.iter(f"{SPACE}{element}")]
            token = root.findtext(f".//{SPACE}resumptionToken")
            if not token:
                break
            arguments = {"verb": arguments["verb"], "resumptionToken": token}
        return found

    def _ask(self, arguments: Mapping[str, str]) -> etree._Element:
        root = _parsed(self._fetch(arguments), self.url)
        error = root.find(f"{SPACE}error")
        if error is not None:
            raise OaiError(error.get("code", "an error"), (error.text or "").strip(), self.url)
        return root

    def _fetch(self, arguments: Mapping[str, str]) -> bytes:
        """Return the bytes of one answer, asking again after faults that pass."""

        def send() -> requests.Response:
            return self.session.get(
                self.url, params=arguments, timeout=TIMEOUT, stream=True,
                headers={"User-Agent": AGENT, "Accept": "text/xml"},
            )  # fmt: skip

        return self.patience.ask(self.url, send, self._body)

    def _body(self, answer: requests.Response) -> bytes:
        if answer.status_code != requests.codes.ok:
            raise UsageError(
                f"{self.url} answers {answer.status_code}", hint="look whether the address is right"
            )
        found = bytearray()
        for chunk in answer.iter_content(1 << 16):
            found += chunk
            if len(found) > MOST_BYTES:
                raise UsageError(
                    f"{self.url} sends more than {MOST_BYTES:,} bytes in one answer",
                    hint="tell the other house, or harvest one set at a time with `--set`",
                )
        return bytes(found)


def _parsed(body: bytes, url: str) -> etree._Element:
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False
    )
    try:
        root = etree.fromstring(body, parser)
    except etree.XMLSyntaxError as error:
        raise UsageError(
            f"{url} does not answer in XML: {error.msg}", hint="look whether the address is right"
        ) from error
    if root.tag != f"{SPACE}OAI-PMH":
        raise UsageError(
            f"{url} does not answer in OAI-PMH: its answer is `{etree.QName(root).localname}`",
            hint="look whether the address is right",
        )
    return root


def _header(record: etree._Element) -> Header:
    header = record.find(f"{SPACE}header")
    found = header if header is not None else record
    deleted = found.get("status") == "deleted"
    return Header(
        (found.findtext(f"{SPACE}identifier") or "").strip(),
        (found.findtext(f"{SPACE}datestamp") or "").strip(),
        deleted,
        b"" if deleted else etree.tostring(record, encoding="utf-8", with_tail=False),
    )
