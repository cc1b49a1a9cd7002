"""What the server remembers, and when it forgets: as soon as the archive or a page is another one."""

import asyncio
import sqlite3
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from conformance.released import Released, demo

from lodpipe import pipeline, project
from lodpipe.archive import Archive
from lodpipe.serve import Settings, create
from lodpipe.serve.front import Front, Memory, Ready
from lodpipe.serve.reading import Answer

BASE = "https://collections.example.org/"
ITEM = "/object/item-0101"
Headers = dict[str, str]


@pytest.fixture(scope="module")
def released(tmp_path_factory: pytest.TempPathFactory) -> Released:
    return demo(tmp_path_factory.mktemp("demo"))


@pytest.fixture
def front(released: Released) -> Front:
    chosen = project.load(released.folder)
    concepts = pipeline.open_workshop(chosen).concepts
    made = create(Settings(chosen, concepts, lambda: "2026-03-01T00:00:00Z"))
    assert isinstance(made, Front)
    return made


def read(
    front: Front, path: str = ITEM, query: bytes = b"", **headers: str
) -> tuple[int, Headers, bytes]:
    """Status, headers and body of one request."""
    raw = [(k.replace("_", "-").lower().encode(), v.encode()) for k, v in headers.items()]
    scope: dict[str, Any] = {
        "type": "http", "method": "GET", "path": path, "raw_path": path.encode(),
        "query_string": query, "headers": raw, "root_path": "", "scheme": "http",
        "server": ("x", 80), "client": ("y", 1), "http_version": "1.1",
    }  # fmt: skip
    sent: list[dict[str, Any]] = []

    async def send(message: Any) -> None:
        sent.append(message)

    asked = [{"type": "http.request", "body": b"", "more_body": False}]

    async def receive() -> Any:
        return asked.pop() if asked else await asyncio.Event().wait()  # nobody goes away

    asyncio.run(front(scope, receive, send))
    found = {name.decode(): value.decode() for name, value in sent[0]["headers"]}
    return sent[0]["status"], found, b"".join(m.get("body", b"") for m in sent[1:])


def forbidden(*_: object) -> Any:
    raise AssertionError("the application was asked")


@pytest.mark.parametrize("accept", ["", "application/ld+json", "text/turtle", "text/html"])
@pytest.mark.parametrize("encoding", ["", "gzip, br"])
def test_what_was_answered_is_answered_again_from_memory(
    front: Front, accept: str, encoding: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    headers = {"accept": accept, "accept-encoding": encoding}
    first = read(front, **headers)
    monkeypatch.setattr(front, "_app", forbidden)
    second = read(front, **headers)
    known = read(front, if_none_match=second[1]["etag"], **headers)

    assert first[0] == second[0] == 200
    assert first[1]["etag"] == second[1]["etag"]
    assert ("content-encoding" in second[1]) is bool(encoding)
    if not encoding:
        assert first[2] == second[2]
    assert known[0] == 304
    assert known[2] == b""


def commit(path: Path, change: str, *values: str) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute(change, values)


def test_every_commit_of_somebody_else_is_seen_at_once(front: Front, released: Released) -> None:
    path = released.folder / "archive" / "archive.sqlite"
    assert read(front)[0] == 200
    commit(path, "UPDATE documents SET to_release = 1 WHERE uri = ?", BASE + ITEM[1:])
    gone = read(front)[0]
    commit(path, "UPDATE documents SET to_release = NULL WHERE uri = ?", BASE + ITEM[1:])

    assert gone == 404
    assert read(front)[0] == 200


def test_while_somebody_commits_what_is_remembered_is_answered(
    front: Front, released: Released
) -> None:
    read(front)
    with closing(
        sqlite3.connect(released.folder / "archive" / "archive.sqlite", isolation_level=None)
    ) as db:
        db.execute("BEGIN EXCLUSIVE")
        assert read(front)[0] == 200
        db.execute("ROLLBACK")


def test_a_release_that_takes_too_long_to_write_is_told_of(
    front: Front, released: Released, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("lodpipe.serve.threads.SECONDS", 0.3)
    with closing(
        sqlite3.connect(released.folder / "archive" / "archive.sqlite", isolation_level=None)
    ) as db:
        db.execute("BEGIN EXCLUSIVE")
        status, headers, body = read(front, "/object/item-0102")
        db.execute("ROLLBACK")

    assert (status, headers["retry-after"]) == (503, "30")
    assert body in (b"a release is being written\n", b"the answer takes too long\n")


def test_a_page_that_was_written_anew_is_read_anew(front: Front, released: Released) -> None:
    page = released.folder / "export" / "page" / "item-0101.html"
    before = page.read_bytes()
    assert read(front, accept="text/html")[2] == before
    new = page.with_suffix(".new")
    new.write_bytes(b"<p>new</p>")
    new.replace(page)
    after = read(front, accept="text/html")[2]
    page.unlink()
    without = read(front, accept="text/html")[0]
    page.write_bytes(before)

    assert after == b"<p>new</p>"
    assert without == 406
    assert read(front, accept="text/html")[2] == before


def answer(size: int) -> Answer:
    return Answer({"ETag": '"x"'}, b"x" * size, "2026-01-31T10:00:00Z")


def test_memory_has_a_limit() -> None:
    memory = Memory(most=10 * Ready.of(answer(1_000), packed=False).size)
    for number in range(50):
        memory.put((str(number), "", False), Ready.of(answer(1_000), packed=False))
        memory.get(("0", "", False))  # what is asked for stays

    kept = [n for n in range(50) if memory.get((str(n), "", False))]
    assert kept == [0, *range(41, 50)]


def in_parallel(make: Callable[[str], bytes], paths: list[str]) -> list[bytes]:
    with ThreadPoolExecutor(8) as threads:
        return list(threads.map(make, paths))


def test_triples_are_written_in_many_threads_at_once(front: Front, released: Released) -> None:
    """The emitter compiles its plans as it goes: two threads in it disturbed each other."""
    with Archive(released.folder / "archive" / "archive.sqlite") as archive:
        paths = ["/" + uri.removeprefix(BASE) for uri in archive.uris(1)][:150]
    first = in_parallel(lambda path: read(front, path, accept="application/n-triples")[2], paths)

    assert all(body.endswith(b" .\n") for body in first)
