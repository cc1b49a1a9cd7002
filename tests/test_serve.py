"""The server over real HTTP on this machine, with the demo behind it.

https://www.rfc-editor.org/rfc/rfc9110 (negotiation, conditional requests, methods);
https://linked.art/api/1.0/protocol/ (GET and OPTIONS, CORS).
"""

import gzip
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pyoxigraph
import pytest
import requests
import uvicorn
from conformance.released import demo
from lxml import etree
from sickle import Sickle

from lodpipe import pipeline, project
from lodpipe.errors import UsageError
from lodpipe.pipeline.progress import Silent
from lodpipe.serve import LIMITS, Settings, create, listening
from lodpipe.serve.forms import LINKED_ART, NTRIPLES, TURTLE, chosen

pytestmark = pytest.mark.loopback
BASE = "https://collections.example.org/"
ITEM = "object/item-0101"


@dataclass
class Served:
    """A running server: its address, the project behind it, its clock."""

    url: str
    port: int
    folder: Path
    now: str = "2026-03-01T00:00:00Z"

    def get(self, path: str, **headers: str) -> requests.Response:
        names = {name.replace("_", "-"): value for name, value in headers.items()}
        return requests.get(self.url + path, headers=names, timeout=10, allow_redirects=False)


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("demo")
    demo(folder)
    text = (folder / "catalogue" / "items.csv").read_text(encoding="utf-8")
    renamed = text.replace("The burned snow shed", "The burned shed")
    (folder / "catalogue" / "items.csv").write_text(renamed, encoding="utf-8")
    with (folder / "evidence" / "access.csv").open("a", encoding="utf-8") as file:
        file.write("object/item-0106,thing,withheld,,Teveli Council,,,2026-02-01,\n")
    options = pipeline.Options("2026-02-10T10:00:00Z", accept_losses=True)
    assert pipeline.run(project.load(folder), options, Silent()).release == 2
    found = Served("", 0, folder)
    chosen_ = project.load(folder)
    settings = Settings(chosen_, pipeline.open_workshop(chosen_).concepts, lambda: found.now)
    config = uvicorn.Config(create(settings), host="127.0.0.1", port=0, **LIMITS)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    found.port = server.servers[0].sockets[0].getsockname()[1]
    found.url = f"http://127.0.0.1:{found.port}/"
    yield found
    server.should_exit = True
    thread.join()


def test_a_document_is_answered_in_the_form_that_is_asked_for(served: Served) -> None:
    as_json = served.get(ITEM)
    turtle = served.get(ITEM, Accept="text/turtle")
    triples = served.get(ITEM, Accept="application/n-triples")
    of_turtle = set(pyoxigraph.parse(turtle.content, format=pyoxigraph.RdfFormat.TURTLE))
    of_triples = set(pyoxigraph.parse(triples.content, format=pyoxigraph.RdfFormat.N_TRIPLES))

    assert as_json.json()["id"] == BASE + ITEM
    assert as_json.headers["Content-Type"].startswith("application/ld+json;profile=")
    assert of_turtle == of_triples
    assert len(of_triples) > 100
    for answer in (as_json, turtle, triples):
        assert answer.status_code == 200
        assert "Accept" in answer.headers["Vary"]
        assert answer.headers["Access-Control-Allow-Origin"] == "*"
        assert answer.headers["Last-Modified"] == "Tue, 10 Feb 2026 10:00:00 GMT"
    assert len({a.headers["ETag"] for a in (as_json, turtle, triples)}) == 3
    page = served.get(ITEM, Accept="text/html,application/xhtml+xml,*/*;q=0.8")
    assert page.headers["Content-Type"] == "text/html; charset=utf-8"
    assert "Accept" in page.headers["Vary"]
    assert b"Summit cutting" in page.content
    assert served.get(ITEM + "?at=2026-02-20", Accept="text/html").status_code == 406
    assert served.get(ITEM, Accept="image/png").status_code == 406


@pytest.mark.parametrize(
    ("accept", "form"),
    [
        ("", LINKED_ART), ("*/*", LINKED_ART), ("application/*", LINKED_ART),
        ("text/turtle", TURTLE), ("TEXT/TURTLE", TURTLE), ("text/*", TURTLE),
        ("application/n-triples;q=0.9, text/turtle;q=0.8", NTRIPLES),
        ("text/turtle;q=0, */*", LINKED_ART),
        ("application/ld+json;q=0.1, */*;q=0.5", TURTLE),
        ("text/turtle;q=x", None), ("image/png", None),
    ],
)  # fmt: skip
def test_negotiation(accept: str, form: object) -> None:
    found = chosen(accept, (LINKED_ART, TURTLE, NTRIPLES))
    if accept.startswith("application/ld+json;q=0.1"):
        assert found in (LINKED_ART, TURTLE, NTRIPLES)  # application/json falls in */*
    else:
        assert found == form


def test_what_a_client_has_already_is_not_sent_again(served: Served) -> None:
    first = served.get(ITEM)
    tag, changed = first.headers["ETag"], first.headers["Last-Modified"]

    for headers, status in (
        ({"If_None_Match": tag}, 304),
        ({"If_None_Match": f'"x", W/{tag}'}, 304),
        ({"If_None_Match": '"x"'}, 200),
        ({"If_Modified_Since": changed}, 304),
        ({"If_Modified_Since": "Thu, 01 Jan 2026 00:00:00 GMT"}, 200),
        ({"If_Modified_Since": "yesterday"}, 200),
        ({"If_None_Match": tag, "Accept": "text/turtle"}, 200),
    ):
        assert served.get(ITEM, **headers).status_code == status, headers
    assert served.get(ITEM, If_None_Match=tag).content == b""


def test_head_options_and_compression(served: Served) -> None:
    head = requests.head(served.url + ITEM, timeout=10)
    options = requests.options(served.url + ITEM, timeout=10)
    raw = requests.get(
        served.url + ITEM, headers={"Accept-Encoding": "gzip"}, timeout=10, stream=True
    )

    assert (head.status_code, head.content) == (200, b"")
    assert head.headers["ETag"] == served.get(ITEM).headers["ETag"]
    assert options.status_code == 204
    assert options.headers["Access-Control-Allow-Methods"] == "GET, HEAD, OPTIONS"
    assert raw.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(raw.raw.read()) == served.get(ITEM).content
    assert requests.post(served.url + ITEM, timeout=10).status_code == 405
    assert requests.delete(served.url + ITEM, timeout=10).status_code == 405


def test_what_is_withheld_since_answers_gone_and_says_nothing_of_it(served: Served) -> None:
    for query in ("", "?at=2026-01-31", "?at=2026-02-28"):
        gone = served.get("object/item-0106" + query)
        assert gone.status_code == 410
        assert gone.json() == {
            "id": f"{BASE}object/item-0106", "type": "Tombstone", "status": 410,
            "gone_since": "2026-02-10T10:00:00Z",
        }  # fmt: skip
    assert served.get("iiif/manifest/item-0106").status_code == 404
    assert served.get("object/item-0107").status_code == 404  # withheld from the start: no trace


def test_a_document_as_it_was(served: Served) -> None:
    now = served.get("object/item-0110").json()["_label"]
    then = served.get("object/item-0110?at=2026-01-31")

    assert "burned shed" in now
    assert "burned snow shed" in then.json()["_label"]
    assert then.headers["Memento-Datetime"] == "Sat, 31 Jan 2026 10:00:00 GMT"
    assert served.get("object/item-0110?at=2026-01-30").status_code == 404
    assert served.get("object/item-0110?at=2026-01-31T09:59:59Z").status_code == 404
    assert served.get("object/item-0110?at=soon").status_code == 400
    assert served.get("object/item-0110?at=2999-01-01").json()["_label"] == now


def test_a_new_release_shows_from_its_instant_on_without_a_restart(served: Served) -> None:
    later, served.now = served.now, "2026-02-10T09:59:59Z"
    before = (served.get("health").json(), served.get("object/item-0110").json()["_label"])
    served.now = later
    after = (served.get("health").json(), served.get("object/item-0110").json()["_label"])

    assert before[0] == {"release": 1, "visible_from": "2026-01-31T10:00:00Z"}
    assert after[0] == {"release": 2, "visible_from": "2026-02-10T10:00:00Z"}
    assert before[1] != after[1]


def test_harvesters_are_answered(served: Served) -> None:
    sickle = Sickle(served.url + "oai")
    every = list(sickle.ListRecords(metadataPrefix="edm"))
    since = list(sickle.ListRecords(metadataPrefix="edm", **{"from": "2026-02-01"}))
    posted = requests.post(served.url + "oai", data={"verb": "Identify"}, timeout=10)

    assert len(every) >= 60
    assert {r.header.identifier.rpartition("/")[2]: r.header.deleted for r in since} == {
        "item-0106": True, "item-0110": False,
    }  # fmt: skip
    assert sorted(one.setSpec for one in sickle.ListSets()) == ["album-1", "snow"]
    assert posted.headers["Content-Type"] == "text/xml; charset=utf-8"
    assert b"<repositoryName>Highland Railway Library" in posted.content
    assert b'code="badVerb"' in served.get("oai").content


def test_change_streams_are_answered_and_tell_of_the_deletion(served: Served) -> None:
    head = served.get("activity/changes").json()
    page = served.get(head["last"]["id"].removeprefix(BASE)).json()
    told = {(i["type"], i["object"]["id"].rpartition("/")[2]) for i in page["orderedItems"]}
    tag = served.get("activity/changes").headers["ETag"]

    assert {("Delete", "item-0106"), ("Update", "item-0110"), ("Update", "album-1")} <= told
    assert served.get("activity/records").json()["totalItems"] > head["totalItems"]
    assert served.get("activity/changes/page/99").status_code == 404
    assert served.get("activity/changes", If_None_Match=tag).status_code == 304
    assert served.get("activity/session-item-0084").json()["type"] == "Activity"


def test_files_of_the_export_are_answered(served: Served) -> None:
    for path, kind in (
        ("iiif/manifest/item-0101", "application/ld+json;profile"),
        ("iiif/image/item-0101/full/max/0/default.jpg", "image/jpeg"),
        ("dataset.ttl", "text/turtle"),
        ("sitemap-1.xml", "application/xml"),
        ("robots.txt", "text/plain"),
        ("page/item-0101.html", "text/html"),
        ("site.css", "text/css"),
        ("", "text/html"),
    ):
        answer = served.get(path)
        assert answer.status_code == 200, path
        assert answer.headers["Content-Type"].startswith(kind)
        assert answer.headers["Access-Control-Allow-Origin"] == "*"


OUTSIDE = (
    "iiif/../../lodpipe.toml", "iiif/%2e%2e/%2e%2e/lodpipe.toml", "iiif/..%2f..%2flodpipe.toml",
    "../lodpipe.toml", "lodpipe.toml", "archive/archive.sqlite", "evidence/access.csv",
    "iiif//etc/passwd", "iiif/%00", "iiif/manifest/item-0101%00.json", "release.json",
    "iiif/.hidden", "iiif/C:/x", "iiif\\..\\..\\lodpipe.toml", "report.jsonl",
    "export/../archive/report.jsonl", "%2e%2e/archive/report.jsonl",
)  # fmt: skip


def raw(served: Served, request: bytes) -> tuple[int, bytes]:
    """Send bytes as they are; status (0 for none) and everything that came back."""
    found = b""
    with socket.create_connection(("127.0.0.1", served.port), timeout=1) as connection:
        connection.sendall(request)
        while chunk := connection.recv(65_536):
            found += chunk
    status = found[9:12]
    return (int(status) if status.isdigit() else 0), found


@pytest.mark.parametrize("path", OUTSIDE)
def test_nothing_outside_of_the_release_is_given_out(served: Served, path: str) -> None:
    request = f"GET /{path} HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n".encode()
    status, found = raw(served, request)

    assert 400 <= status < 500
    assert b"[site]" not in found
    assert b"internal" not in found


def hostile() -> Iterator[bytes]:
    """Over five hundred requests that nobody in good faith would send."""
    verbs = ("GET", "HEAD", "PUT", "TRACE", "BREW", "get", "POST")
    paths = (
        "/", "//", "/%", "/%zz", "/%ff%fe", "/object/", "/object/%2e%2e", "/object/" + "a" * 3_000,
        "/object/item-0101%0d%0aX:1", "/activity/x/page/1", "/activity/changes/page/-1",
        "/activity/changes/page/" + "9" * 400, "/oai?verb=" + "x" * 7_000, "/oai?" + "a=b&" * 500,
        "/oai?verb=ListRecords&resumptionToken=%00", "/oai?verb=GetRecord&identifier=%ff&metadataPrefix=edm",
        "/object/item-0101?at=99999-01-01", "/object/item-0101?at=%00", "*", "http://[::1/x",
        "/object/item-0101?" + "q" * 9_000, "/iiif/" + "a/" * 500, "/iiif/image/%F0%9F%98%80",
    )  # fmt: skip
    heads = (
        "Accept: " + ",".join(f"a/b;q=0.{n}" for n in range(900)), "Range: bytes=9-1,-,x",
        "Accept: ;;;,,,q=", "If-None-Match: \xff", "If-Modified-Since: Mon, 99 Foo 2026",
        "Content-Length: 99999999",
    )  # fmt: skip
    for verb in verbs:
        for path in paths:
            for head in ("X: 1", *heads)[:4] if verb != "GET" else ("X: 1", *heads):
                yield f"{verb} {path} HTTP/1.1\r\nHost: x\r\n{head}\r\nConnection: close\r\n\r\n".encode(
                    "latin-1"
                )
    yield b"GET / HTTP/1.1\r\n" + b"A: " + b"b" * 200_000 + b"\r\n\r\n"
    yield b"GET / HTTP/1.1\r\n" + b"A: b\r\n" * 4_000 + b"\r\n"
    yield b"GET /" + b"a" * 17_000 + b" HTTP/1.1\r\nHost: x\r\n\r\n"
    yield b"\x16\x03\x01\x02\x00\x01\x00"
    yield b"GET /object/item-0101 HTTP/9.9\r\n\r\n"
    yield b"POST /oai HTTP/1.1\r\nHost: x\r\nContent-Length: 40000\r\n\r\n" + b"verb=x&" * 5_714


def test_hostile_requests_never_break_it(served: Served) -> None:
    every = list(hostile())
    wrong, answered = [], 0
    for request in every:
        try:
            status, found = raw(served, request)
        except (ConnectionError, TimeoutError):
            continue  # closed, or still waiting for the rest: as good as a refusal
        answered += status > 0
        if status >= 500 or b"Traceback" in found or b"lodpipe/" in found:
            wrong.append((request[:120], status))

    assert wrong == []
    assert len(every) >= 500
    assert answered >= 480
    assert served.get(ITEM).status_code == 200


SLOW = [
    (b"", b"408"),
    (b"GET /object/item-0101", b"408"),
    (b"GET /object/item-0101 HTTP/1.1\r\nHost: x\r\n", b"408"),
    (b"POST /oai HTTP/1.1\r\nHost: x\r\nContent-Length: 20\r\n\r\nverb=", b"408"),
    (b"GET /health HTTP/1.1\r\nHost: x\r\n\r\nGET /health HTTP/1.1\r\nHo", b"200"),
]


@pytest.mark.parametrize(("sent", "status"), SLOW)
def test_who_sends_a_byte_now_and_then_keeps_no_place(
    served: Served, monkeypatch: pytest.MonkeyPatch, sent: bytes, status: bytes
) -> None:
    monkeypatch.setattr(listening, "REQUEST_SECONDS", 0.4)
    begun, found = time.monotonic(), b""
    with socket.create_connection(("127.0.0.1", served.port), timeout=5) as connection:
        connection.sendall(sent)
        for _ in range(20):
            time.sleep(0.1)
            try:
                connection.sendall(b"x" if sent else b"")
            except ConnectionError:
                break
        try:
            while chunk := connection.recv(65_536):
                found += chunk
        except ConnectionError:
            pass

    assert found[9:12] in (status, b"")  # a byte after the end may take the answer with it
    assert time.monotonic() - begun < 4


@pytest.mark.parametrize(
    "head", [b"A: " + b"b" * 20_000, b"A: b\r\n" * 4_000 + b"A: b", b"A: " + b"b" * 200_000]
)
def test_the_head_of_a_request_has_a_limit(served: Served, head: bytes) -> None:
    try:
        status, _ = raw(served, b"GET /health HTTP/1.1\r\nHost: x\r\n" + head + b"\r\n\r\n")
    except ConnectionError:
        status = 431  # closed before all of it was sent
    assert status == 431


def test_a_project_without_a_mail_address_is_not_served(tmp_path: Path) -> None:
    (tmp_path / "evidence").mkdir()
    (tmp_path / "lodpipe.toml").write_text(
        f'[site]\nbase = "{BASE}"\nname = {{en = "x"}}\n[access]\ndefault = "open"\n',
        encoding="utf-8",
    )
    chosen_ = project.load(tmp_path)
    with pytest.raises(UsageError) as caught:
        create(Settings(chosen_, pipeline.open_workshop(chosen_).concepts))

    assert str(caught.value.message) == (
        "`` is no mail address: harvesters are told whom to write to"
    )


@pytest.mark.reference
def test_every_answer_of_a_harvest_is_valid(served: Served, reference: Path) -> None:
    schema = etree.XMLSchema(etree.parse(reference / "reference" / "oai-pmh" / "OAI-PMH.xsd"))
    for query in ("verb=Identify", "verb=ListRecords&metadataPrefix=oai_dc", "verb=ListSets", ""):
        schema.assertValid(etree.fromstring(served.get(f"oai?{query}").content))
