"""OAI-PMH 2.0: the six verbs over the disseminations of an archive.

https://www.openarchives.org/OAI/openarchivesprotocol.html. Pure: arguments, archive and clock in,
XML out; whoever serves it adds the HTTP. Errors are answers too, with status 200.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from urllib.parse import urlsplit

from lodpipe.archive import Dissemination, Harvest, Slice
from lodpipe.errors import IriError, ValueFault
from lodpipe.iris import check_iri, document_iri, key_of
from lodpipe.publish.harvest import oai_xml, tokens
from lodpipe.publish.harvest.oai_xml import element

ARGUMENTS: Mapping[str, tuple[frozenset[str], frozenset[str]]] = {
    # verb -> required, optional arguments; section 4
    "Identify": (frozenset(), frozenset()),
    "ListMetadataFormats": (frozenset(), frozenset({"identifier"})),
    "ListSets": (frozenset(), frozenset()),
    "GetRecord": (frozenset({"identifier", "metadataPrefix"}), frozenset()),
    "ListIdentifiers": (frozenset({"metadataPrefix"}), frozenset({"from", "until", "set"})),
    "ListRecords": (frozenset({"metadataPrefix"}), frozenset({"from", "until", "set"})),
}
PAGED = ("ListSets", "ListIdentifiers", "ListRecords")
_SECONDS = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)
_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_WORD = r"[A-Za-z0-9\-_.!~*'()]+"
_PREFIX = re.compile(_WORD)
_SET = re.compile(rf"{_WORD}(?::{_WORD})*")


class OaiFault(ValueFault):
    """An error that the protocol has a name for (section 3.6)."""

    def __init__(self, name: str, message: str) -> None:
        super().__init__(message)
        self.name = name


@dataclass(frozen=True, slots=True)
class Repository:
    """What the repository says of itself.

    Attributes:
        base: where IRIs of documents start. `url`: where the protocol answers.
        sets: name for readers by setSpec. `page`: records in one answer.
    """

    name: str
    base: str
    url: str
    email: str
    formats: tuple[str, ...]
    sets: Mapping[str, str] = field(default_factory=dict)
    page: int = 100

    def identifier(self, uri: str) -> str:
        """Return the identifier of a document: `oai:collections.example.org:object/item-0101`."""
        return f"oai:{urlsplit(self.base).hostname}:{key_of(self.base, uri)}"

    def uri(self, identifier: str) -> str:
        """Return the document of an identifier; empty for one that is none of ours."""
        start = f"oai:{urlsplit(self.base).hostname}:"
        if not identifier.startswith(start):
            return ""
        try:
            return document_iri(self.base, identifier.removeprefix(start))
        except IriError:
            return ""


def answer(
    arguments: Sequence[tuple[str, str]], harvest: Harvest, repository: Repository, now: str
) -> bytes:
    """Return the answer to a request.

    Args:
        arguments: names and values as they were sent, `verb` among them.
        now: the instant of the request, UTC with `Z`.
    """
    echo: Mapping[str, str] = {}
    try:
        given = _checked(arguments)
        echo = given
        request = _Request(given, harvest, repository, now, harvest.instants())
        body = _VERBS[given["verb"]](request)
    except OaiFault as fault:
        if fault.name in ("badVerb", "badArgument"):
            echo = {}  # section 3.6
        body = element("error", fault.message, {"code": fault.name})
    return oai_xml.document(now, repository.url, echo, body)


def _checked(arguments: Sequence[tuple[str, str]]) -> dict[str, str]:
    """Return the arguments by name, each there once, allowed, and well formed."""
    verbs = [value for name, value in arguments if name == "verb"]
    if len(verbs) != 1 or verbs[0] not in ARGUMENTS:
        what = "the verb is missing" if not verbs else "the verb is repeated"
        raise OaiFault("badVerb", what if len(verbs) != 1 else "there is no such verb")
    given = dict(arguments)
    if len(given) != len(arguments):
        raise OaiFault("badArgument", "an argument is repeated")
    verb, names = verbs[0], given.keys() - {"verb"}
    required, optional = ARGUMENTS[verb]
    if "resumptionToken" in names and verb in PAGED:
        if names != {"resumptionToken"}:
            raise OaiFault("badArgument", "resumptionToken stands alone")
        return given
    if extra := sorted(names - required - optional):
        raise OaiFault("badArgument", f"{verb} takes no argument {oai_xml.shown(extra[0])}")
    if lacking := sorted(required - names):
        raise OaiFault("badArgument", f"{verb} needs the argument {lacking[0]}")
    _check_forms(given)
    return given


def _check_forms(given: Mapping[str, str]) -> None:
    if "metadataPrefix" in given and not _PREFIX.fullmatch(given["metadataPrefix"]):
        raise OaiFault("badArgument", "metadataPrefix has characters that none can have")
    if "set" in given and not _SET.fullmatch(given["set"]):
        raise OaiFault("badArgument", "set has characters that none can have")
    if "identifier" in given:
        try:
            check_iri(given["identifier"])
        except IriError:
            raise OaiFault("badArgument", "identifier is not a URI") from None
    dates = [given[name] for name in ("from", "until") if name in given]
    for date in dates:
        form = "%Y-%m-%d" if _DAY.fullmatch(date) else "%Y-%m-%dT%H:%M:%SZ"
        if not (_DAY.fullmatch(date) or _SECONDS.fullmatch(date)) or not _is_date(date, form):
            raise OaiFault("badArgument", f"{oai_xml.shown(date)} is no UTC date of the protocol")
    if len(dates) == 2:
        if len(dates[0]) != len(dates[1]):
            raise OaiFault("badArgument", "from and until have different granularities")
        if dates[0] > dates[1]:
            raise OaiFault("badArgument", "from is later than until")


def _is_date(text: str, form: str) -> bool:
    try:
        datetime.strptime(text, form)
    except ValueError:
        return False
    return True


@dataclass(frozen=True, slots=True)
class _Request:
    given: Mapping[str, str]
    harvest: Harvest
    repository: Repository
    now: str
    instants: Mapping[int, str]

    def release(self) -> int:
        """The newest release that is visible; 0 before the first one."""
        return max((n for n, instant in self.instants.items() if instant <= self.now), default=0)

    def format(self) -> str:
        """The format that is asked for."""
        prefix = self.given["metadataPrefix"]
        if prefix not in self.repository.formats:
            raise OaiFault("cannotDisseminateFormat", "the repository does not have this format")
        return prefix

    def formats(self, identifier: str) -> frozenset[str]:
        """The formats in which there is, or was, a record of an identifier."""
        uri = self.repository.uri(identifier)
        found = self.harvest.formats(uri, self.release()) & set(self.repository.formats)
        if not found:
            raise OaiFault("idDoesNotExist", "the repository has no item of this identifier")
        return found


def _identify(request: _Request) -> str:
    earliest = min(request.instants.values(), default=request.now)
    repository = request.repository
    parts = (
        ("repositoryName", repository.name),
        ("baseURL", repository.url),
        ("protocolVersion", "2.0"),
        ("adminEmail", repository.email),
        ("earliestDatestamp", earliest),
        ("deletedRecord", "persistent"),
        ("granularity", "YYYY-MM-DDThh:mm:ssZ"),
    )
    return oai_xml.wrap("Identify", [element(name, text) for name, text in parts])


def _formats(request: _Request) -> str:
    names = request.repository.formats
    if "identifier" in request.given:
        request.formats(request.given["identifier"])
        uri, release = request.repository.uri(request.given["identifier"]), request.release()
        live = [request.harvest.one(uri, name, release) for name in names]
        names = tuple(
            name for name, one in zip(names, live, strict=True) if one and not one.deleted
        )
        if not names:
            raise OaiFault("noMetadataFormats", "the item is deleted in every format")
    return oai_xml.wrap("ListMetadataFormats", [oai_xml.metadata_format(name) for name in names])


def _sets(request: _Request) -> str:
    if not request.repository.sets:
        raise OaiFault("noSetHierarchy", "the repository has no sets")
    if "resumptionToken" in request.given:
        raise OaiFault("badResumptionToken", "the list of sets is never split")
    sets = sorted(request.repository.sets.items())
    parts = [
        oai_xml.wrap("set", [element("setSpec", spec), element("setName", name)])
        for spec, name in sets
    ]
    return oai_xml.wrap("ListSets", parts)


def _record(request: _Request) -> str:
    known = request.formats(request.given["identifier"])
    name = request.format()
    if name not in known:
        raise OaiFault("cannotDisseminateFormat", "the item is not disseminated in this format")
    uri = request.repository.uri(request.given["identifier"])
    one = request.harvest.one(uri, name, request.release())
    assert one is not None
    return oai_xml.wrap("GetRecord", [_written(one, request, whole=True)])


def _list(request: _Request) -> str:
    token = _token(request)
    chosen = Slice(token.format, token.release, token.first, token.last, token.set)
    page = request.repository.page
    found = request.harvest.some(chosen, (token.at, token.uri), page + 1)
    if not found:
        if token.given:
            raise OaiFault("badResumptionToken", "the rest of the list has changed; begin again")
        raise OaiFault("noRecordsMatch", "no record matches")
    verb = request.given["verb"]
    parts = [_written(one, request, whole=verb == "ListRecords") for one in found[:page]]
    if token.given or len(found) > page:
        marks = {"completeListSize": str(token.size), "cursor": str(token.given)}
        last = found[:page][-1]
        after = tokens.Token(
            token.release, token.format, token.set, token.first, token.last,
            last.release, last.uri, token.given + len(found[:page]), token.size,
        )  # fmt: skip
        # the last part of a split list has an empty token: section 3.5
        parts.append(element("resumptionToken", str(after) if len(found) > page else "", marks))
    return oai_xml.wrap(verb, parts)


def _token(request: _Request) -> tokens.Token:
    """Return where the list begins or goes on."""
    given, release = request.given, request.release()
    if "resumptionToken" in given:
        try:
            token = tokens.read(given["resumptionToken"])
        except tokens.TokenFault as fault:
            raise OaiFault("badResumptionToken", fault.message) from None
        known = (*request.repository.sets, "")
        if (
            not 1 <= token.release <= release
            or token.format not in request.repository.formats
            or token.set not in known
            or not token.given
        ):
            raise OaiFault("badResumptionToken", "the token is of another repository")
        return token
    name, spec = request.format(), given.get("set", "")
    if spec and not request.repository.sets:
        raise OaiFault("noSetHierarchy", "the repository has no sets")
    if spec and spec not in request.repository.sets:
        raise OaiFault("noRecordsMatch", "there is no such set")
    first, last = _releases(given, request.instants, release)
    size = request.harvest.count(Slice(name, release, first, last, spec))
    return tokens.Token(release, name, spec, first, last, 0, "", 0, size)


def _releases(
    given: Mapping[str, str], instants: Mapping[int, str], release: int
) -> tuple[int, int]:
    """Return the releases, both inclusive, whose instants lie in the time that is asked for."""
    since, until = given.get("from", ""), given.get("until", "")
    until = until + "T23:59:59Z" if _DAY.fullmatch(until) else until
    fit = [
        number
        for number, instant in instants.items()
        if number <= release and since <= instant and (not until or instant <= until)
    ]
    return (min(fit), max(fit)) if fit else (1, 0)


def _written(one: Dissemination, request: _Request, *, whole: bool) -> str:
    gone = one.deleted or one.body is None
    header = oai_xml.header(
        request.repository.identifier(one.uri),
        request.instants[one.release],
        [spec for spec in one.sets if spec in request.repository.sets],
        deleted=gone,
    )
    if not whole:
        return header
    parts = [header]
    if one.body is not None and not gone:
        parts.append(oai_xml.wrap("metadata", [one.body.decode()]))
    return oai_xml.wrap("record", parts)


_VERBS: Mapping[str, Callable[[_Request], str]] = {
    "Identify": _identify,
    "ListMetadataFormats": _formats,
    "ListSets": _sets,
    "GetRecord": _record,
    "ListIdentifiers": _list,
    "ListRecords": _list,
}
