"""The application: which address is answered by what. No state but the archive's path."""

import hashlib
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from urllib.parse import parse_qsl, urlsplit

import orjson
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from lodpipe.archive import Archive, Document, Harvest
from lodpipe.errors import LodpipeError, UsageError
from lodpipe.iris import document_iri
from lodpipe.project import Project
from lodpipe.publish import gone, iiif
from lodpipe.publish.harvest import about, changes, formats_of, oai
from lodpipe.publish.harvest.dataset import MAIL
from lodpipe.serve import documents, files
from lodpipe.serve.forms import HTML, LINKED_ART, chosen
from lodpipe.serve.front import KEEP, Front
from lodpipe.serve.reading import COMMON, Reader, http_date, is_known
from lodpipe.serve.threads import Threads
from lodpipe.terms import Concepts

METHODS = ["GET", "HEAD", "OPTIONS"]
MOST_QUERY = 8_000
MOST_BODY = 16_000
OAI_FORMATS = ("oai_dc", "edm")


@dataclass(frozen=True, slots=True)
class Settings:
    """What is served. `clock` gives the instant of a request, UTC with `Z`."""

    project: Project
    concepts: Concepts
    clock: Callable[[], str] = lambda: datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def create(settings: Settings) -> ASGIApp:
    """Return the application.

    Raises:
        UsageError: there is no archive, or the project has no mail address for Identify.
    """
    project = settings.project
    if not MAIL.fullmatch(project.site.contact):
        raise UsageError(
            f"`{project.site.contact}` is no mail address: harvesters are told whom to write to",
            hint='write `[site] contact = "data@..."`',
        )
    Archive(project.archive).close()  # what is wrong with it shows before anything listens
    threads = Threads(project.archive)
    desk = _Desk(settings, Reader.of(project, settings.concepts), threads)
    below = urlsplit(project.site.base).path
    routes = [
        Route(f"{below}health", desk.answer(desk.health), methods=METHODS),
        Route(f"{below}oai", desk.harvested, methods=[*METHODS, "POST"]),
        Route(f"{below}activity/{{name}}", desk.answer(desk.stream), methods=METHODS),
        Route(f"{below}activity/{{name}}/page/{{number}}", desk.answer(desk.page), methods=METHODS),
        Route(below + "{path:path}", desk.answer(desk.thing), methods=METHODS),
    ]
    handlers = {HTTPException: _refused, LodpipeError: _failed, Exception: _failed}
    app = Starlette(
        routes=routes,
        middleware=[Middleware(GZipMiddleware, minimum_size=600)],
        exception_handlers=handlers,  # type: ignore[arg-type]
    )
    return Front(app, desk.reader, settings.clock)


async def _refused(request: Request, error: HTTPException) -> Response:
    return _plain(error.status_code, str(error.detail), error.headers)


async def _failed(request: Request, error: Exception) -> Response:
    """Say that it is our fault, and nothing of how: what it was goes to the server's own log."""
    return _plain(500, "something went wrong on this side")


def _plain(status: int, words: str, headers: Mapping[str, str] | None = None) -> Response:
    return Response(
        f"{words}\n", status, {**COMMON, **(headers or {})}, "text/plain; charset=utf-8"
    )


@dataclass(frozen=True, slots=True)
class _Desk:
    settings: Settings
    reader: Reader
    threads: Threads

    def answer(
        self, make: Callable[[Request, Archive], Response]
    ) -> Callable[[Request], Awaitable[Response]]:
        """Return a handler that answers in a thread of its own, in time or not at all."""

        async def handler(request: Request) -> Response:
            if request.method == "OPTIONS":
                return _options()
            if len(request.url.query) > MOST_QUERY:
                raise HTTPException(414, "the query is too long")
            return await self.threads.ask(partial(make, request))

        return handler

    async def harvested(self, request: Request) -> Response:
        """Answer OAI-PMH, by GET or POST (section 3.1.1)."""
        if request.method == "OPTIONS":
            return _options()
        query = request.url.query
        if len(query) > MOST_QUERY:
            raise HTTPException(414, "the query is too long")
        if request.method == "POST":
            query = await _form(request)
        try:
            arguments = parse_qsl(query, keep_blank_values=True, max_num_fields=20)
        except ValueError:
            raise HTTPException(400, "too many arguments") from None
        return await self.threads.ask(partial(self._harvested, arguments))

    def _harvested(self, arguments: list[tuple[str, str]], archive: Archive) -> Response:
        project, now = self.settings.project, self.settings.clock()
        harvest = Harvest(archive)
        formats = [name for name in OAI_FORMATS if name in formats_of(project)]
        repository = oai.Repository(
            name=next(iter(project.site.name.values())),
            base=project.site.base,
            url=document_iri(project.site.base, "oai"),
            email=project.site.contact,
            formats=tuple(formats),
            sets=_set_names(project, archive, harvest.visible(now)),
            page=project.oai.page,
        )
        body = oai.answer(arguments, harvest, repository, now)
        return Response(body, 200, COMMON, "text/xml; charset=utf-8")

    def health(self, request: Request, archive: Archive) -> Response:
        """Say which release is shown."""
        harvest = Harvest(archive)
        number = harvest.visible(self.settings.clock())
        told = {"release": number, "visible_from": harvest.instants().get(number, "")}
        headers = {**COMMON, "Cache-Control": "no-store"}
        return Response(orjson.dumps(told), 200, headers, "application/json")

    def stream(self, request: Request, archive: Archive) -> Response:
        """Answer for the head of a change stream, or for a document below `activity/`."""
        stream = _stream(request)
        if stream is None:
            return self.thing(request, archive)
        harvest, project = Harvest(archive), self.settings.project
        release = self._release(request, harvest)
        total = harvest.count_activities(stream.format, release)
        if not total:
            raise HTTPException(404, "nothing has changed yet")
        site = iiif.site_of(project, self.settings.concepts)
        head = changes.collection(stream, total, site, project.site.rights)
        return self._json(request, head, harvest.instants()[release])

    def page(self, request: Request, archive: Archive) -> Response:
        """Answer for one page of a change stream."""
        stream, text = _stream(request), request.path_params["number"]
        if stream is None:
            return self.thing(request, archive)
        harvest = Harvest(archive)
        release = self._release(request, harvest)
        total = harvest.count_activities(stream.format, release)
        known = text.isascii() and text.isdigit() and len(text) < 9
        number = int(text) if known else -1
        if not 0 <= number < changes.pages(total):
            raise HTTPException(404, "there is no such page")
        site = iiif.site_of(self.settings.project, self.settings.concepts)
        tree = about.stream_page(stream, number, total, harvest, release, site)
        return self._json(request, tree, harvest.instants()[release])

    def thing(self, request: Request, archive: Archive) -> Response:
        """Answer for a document in the form that is asked for, or for a file of the export."""
        base = self.settings.project.site.base
        raw = request.scope["raw_path"].decode("ascii", "replace").partition("?")[0]
        path = raw.removeprefix(urlsplit(base).path)
        release = self._release(request, Harvest(archive))
        found = documents.look_up(archive, base + path, release)
        if found.document:
            return self._document(request, archive, found.document, release)
        if found.moved_to:
            return Response(b"", 301, {**COMMON, "Location": found.moved_to})
        if found.gone_since:
            return self._gone(request, base + path, found)
        root = self.settings.project.folder / self.settings.project.export.folder
        file = files.file_of(root, path)
        if file is None:
            raise HTTPException(404, "there is nothing here")
        stone = path.startswith("page/") and documents.is_gone(archive, base, path)
        return FileResponse(file[0], 410 if stone else 200, COMMON, file[1])

    def _gone(self, request: Request, uri: str, found: documents.Found) -> Response:
        """Answer for a document that is there no more: the page for readers, or JSON."""
        headers = {**COMMON, "Vary": "Accept"}
        page = self.reader.page(uri)
        if page and chosen(request.headers.get("accept", ""), (LINKED_ART, HTML)) is HTML:
            return FileResponse(page, 410, headers, HTML.media_type)
        body = gone.tombstone(uri, found.gone_since, found.told)
        return Response(body, 410, headers, "application/json")

    def _document(
        self, request: Request, archive: Archive, document: Document, release: int
    ) -> Response:
        accept, memento = request.headers.get("accept", ""), "at" in request.query_params
        answer = self.reader.answer(archive, document, accept, release, memento=memento)
        if answer is None:
            forms = self.reader.forms(document, memento=memento)
            names = ", ".join(form.accepted[0] for form in forms)
            raise HTTPException(406, f"there is no such form; there are {names}")
        if not memento and (keep := request.scope.get(KEEP)):
            keep(answer)
        if answer.is_known(request.headers):
            return Response(b"", 304, answer.headers)
        return Response(answer.body, 200, answer.headers)

    def _json(self, request: Request, tree: object, instant: str) -> Response:
        body = orjson.dumps(tree, option=orjson.OPT_APPEND_NEWLINE)
        headers = {
            **COMMON,
            "ETag": f'"{hashlib.sha256(body).hexdigest()[:24]}"',
            "Last-Modified": http_date(instant),
        }
        if is_known(headers["ETag"], instant, request.headers):
            return Response(b"", 304, headers)
        return Response(body, 200, headers, "application/ld+json")

    def _release(self, request: Request, harvest: Harvest) -> int:
        """Return the release that is asked for: that of `?at=`, else the newest visible one."""
        at, now = request.query_params.get("at", ""), self.settings.clock()
        if at:
            at = _instant(at)
        number = harvest.visible(min(at or now, now))
        if not number:
            raise HTTPException(404, "there was no release yet")
        return number


def _stream(request: Request) -> changes.Stream | None:
    name = request.path_params["name"]
    return next((stream for stream in changes.STREAMS if stream.name == name), None)


def _set_names(project: Project, archive: Archive, release: int) -> dict[str, str]:
    """Return the name for readers of each declared set: the label of its document."""
    names = {}
    for spec, key in project.oai.sets.items():
        document = archive.document(document_iri(project.site.base, key), release)
        tree = orjson.loads(document.body) if document else {}
        names[spec] = tree.get("_label") or spec
    return names


async def _form(request: Request) -> str:
    """Return the body of a form, as a query string."""
    body = bytearray()
    try:
        async for chunk in request.stream():
            body += chunk
            if len(body) > MOST_BODY:
                raise HTTPException(413, "the body is too long")
    except ClientDisconnect:
        raise HTTPException(400, "the body is not whole") from None
    return body.decode("utf-8", "replace")


def _options() -> Response:
    headers = {
        **COMMON,
        "Allow": ", ".join(METHODS),
        "Access-Control-Allow-Methods": ", ".join(METHODS),
        "Access-Control-Allow-Headers": "Accept, If-None-Match, If-Modified-Since",
    }
    return Response(b"", 204, headers)


def _instant(text: str) -> str:
    """Return the end of a day, or an instant, in UTC."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise HTTPException(400, "write the day like 2026-01-31") from None
    if len(text) <= 10:
        moment = moment.replace(hour=23, minute=59, second=59)
    moment = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
