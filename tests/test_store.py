"""A release in a store of triples: the same quads as in the dump, later only the changes.

https://www.w3.org/TR/sparql11-http-rdf-update/. The stores are pyoxigraph and Virtuoso, see
`stores.py`; that both hold what we sent is read back by queries that know nothing of us.
"""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pyoxigraph
import pytest
import requests
from click.testing import CliRunner, Result
from conformance.released import Released, demo
from stores import RESULTS, Running, oxigraph, virtuoso

from lodpipe import pipeline, project
from lodpipe.archive import Archive
from lodpipe.cli import main
from lodpipe.errors import LodpipeError, NotFinishedError, UsageError
from lodpipe.export import quads
from lodpipe.export import store as stores
from lodpipe.export.graph_store import GraphStore
from lodpipe.export.store import Stored, store
from lodpipe.patience import Patience
from lodpipe.pipeline.progress import Silent

pytestmark = pytest.mark.loopback
BASE = "https://collections.example.org/"
ARCHIVE = Path("archive", "archive.sqlite")
STATE = BASE + "release"
AT_ONCE = Patience(wait=lambda seconds: None)
ALL = "SELECT ?g ?s ?p ?o WHERE { GRAPH ?g { ?s ?p ?o } }"


@pytest.fixture(scope="module")
def released(tmp_path_factory: pytest.TempPathFactory) -> Released:
    return demo(tmp_path_factory.mktemp("demo"))


@pytest.fixture(scope="module")
def later(released: Released, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The archive after the next release: one title changed, one thing is withheld from now on."""
    folder = copied(released.folder, tmp_path_factory.mktemp("later"))
    items = folder / "catalogue" / "items.csv"
    text = items.read_text(encoding="utf-8")
    items.write_text(text.replace("The burned snow shed", "The burned shed"), encoding="utf-8")
    with (folder / "evidence" / "access.csv").open("a", encoding="utf-8") as file:
        file.write("object/item-0106,thing,withheld,,Teveli Council,,,2026-02-01,\n")
    options = pipeline.Options("2026-02-10T10:00:00Z", accept_losses=True, export=False)
    assert pipeline.run(project.load(folder), options, Silent()).release == 2
    return folder / ARCHIVE


@pytest.fixture
def own(released: Released, tmp_path: Path) -> Path:
    """A copy of the released demo that a test may change."""
    return copied(released.folder, tmp_path)


def copied(folder: Path, to: Path) -> Path:
    ignored = shutil.ignore_patterns("export", "drafts")
    return Path(shutil.copytree(folder, to / "demo", ignore=ignored))


@pytest.fixture
def running() -> Iterator[Running]:
    with oxigraph() as found:
        yield found


def send(folder: Path, running: Running, *, whole: bool = False, direct: bool = False) -> Stored:
    chosen = project.load(folder)
    target = GraphStore(running.url, running.query, BASE if direct else "", AT_ONCE)
    return store(chosen, pipeline.open_workshop(chosen).concepts, target, whole=whole)


def held(running: Running) -> set[pyoxigraph.Quad]:
    """What our store holds but for its own mark."""
    return {quad for quad in running.store if quad.graph_name.value != STATE}


def in_the_dump(folder: Path) -> set[pyoxigraph.Quad]:
    """The quads of the newest release, as an export writes them."""
    chosen = project.load(folder)
    with Archive(chosen.archive) as archive:
        latest = archive.latest()
        assert latest
        blocks = quads(chosen, pipeline.open_workshop(chosen).concepts, archive, latest.number)
        return set(pyoxigraph.parse(b"".join(blocks), format=pyoxigraph.RdfFormat.N_QUADS))


def next_release(folder: Path, later: Path) -> None:
    shutil.copyfile(later, folder / ARCHIVE)


@pytest.mark.parametrize("direct", [False, True])
def test_a_store_holds_what_the_dump_holds(released: Released, direct: bool) -> None:
    with oxigraph(BASE if direct else "") as running:
        done = send(released.folder, running, direct=direct)

        assert held(running) == in_the_dump(released.folder)
        assert (done.release, done.since, done.resumed, done.deleted) == (1, 0, False, 0)
        assert done.sent == done.documents == len(list(released.documents()))
        assert send(released.folder, running, direct=direct) == Stored(
            1, 1, documents=done.documents
        )


def test_later_only_what_changed_is_sent(own: Path, later: Path, running: Running) -> None:
    send(own, running)
    next_release(own, later)
    running.asked.clear()
    done = send(own, running)
    asked = {line.removeprefix("PUT ") for line in running.asked} - {STATE}

    assert held(running) == in_the_dump(own)
    assert (done.release, done.since) == (2, 1)
    assert f"DELETE {BASE}object/item-0106" in asked
    assert f"{BASE}object/item-0110" in asked
    assert len(asked) < 15
    assert not any("item-0106" in quad.graph_name.value for quad in running.store)


def test_what_is_withdrawn_leaves_the_store(own: Path, running: Running) -> None:
    send(own, running)
    done = CliRunner().invoke(
        main,
        ["withdraw", "object/item-0104", str(own), "--reason", "Letter of 2 May.",
         "--by", "Teveli Council", "--no-export"],
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    found = send(own, running)

    assert found.deleted >= 1
    assert held(running) == in_the_dump(own)
    assert b"item-0104" not in running.store.dump(format=pyoxigraph.RdfFormat.N_QUADS)


@pytest.mark.parametrize("meanwhile", [False, True], ids=["the same release", "a newer one"])
def test_a_transfer_that_is_broken_off_goes_on(
    own: Path, later: Path, running: Running, monkeypatch: pytest.MonkeyPatch, meanwhile: bool
) -> None:
    monkeypatch.setattr(stores, "AT_A_TIME", 20)
    chosen = project.load(own)
    concepts = pipeline.open_workshop(chosen).concepts
    left = 50

    def stop(steps: int) -> None:
        nonlocal left
        left -= steps
        if not left:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        store(chosen, concepts, GraphStore(running.url, running.query), advance=stop)
    if meanwhile:
        next_release(own, later)
    running.asked.clear()
    done = send(own, running)

    assert done.resumed is not meanwhile
    assert held(running) == in_the_dump(own)
    assert done.sent == done.documents - (0 if meanwhile else 40)
    assert send(own, running).sent == 0


@pytest.mark.parametrize(
    "harm", ["emptied", "of another archive", "of another version", "all again"]
)
def test_everything_is_sent_to_a_store_that_has_something_else(
    own: Path, running: Running, monkeypatch: pytest.MonkeyPatch, harm: str
) -> None:
    send(own, running)
    if harm == "emptied":
        running.store.clear()
    elif harm == "of another archive":
        with closing(sqlite3.connect(own / ARCHIVE, isolation_level=None)) as db:
            db.execute("UPDATE releases SET created = '2026-03-01T10:00:00Z'")
    elif harm == "of another version":
        monkeypatch.setattr(stores, "TOOL", "lodpipe 99")
    done = send(own, running, whole=harm == "all again")

    assert (done.since, done.sent) == (0, done.documents)
    assert held(running) == in_the_dump(own)


def test_faults_that_pass_are_waited_for(own: Path, running: Running) -> None:
    running.faults = [503, 502]
    send(own, running)

    assert held(running) == in_the_dump(own)


FAULTS: list[tuple[list[int], type[LodpipeError], str]] = [
    ([503] * 6, NotFinishedError, "{url} answers 503"),
    ([403], UsageError, "{url} answers 403"),
    ([404], UsageError, "{url} answers 404"),
    ([301], UsageError, "{url} answers 301"),
    ([400], UsageError, "{url} answers 400: <p>no more room</p>"),
]


@pytest.mark.parametrize(("faults", "kind", "message"), FAULTS)
def test_what_a_store_refuses_is_said(
    released: Released, running: Running, faults: list[int], kind: type[LodpipeError], message: str
) -> None:
    running.faults = faults
    with pytest.raises(kind) as caught:
        send(released.folder, running)

    assert caught.value.message == message.format(url=running.url)


def test_a_store_that_only_says_that_it_stored_is_found_out(
    released: Released, running: Running
) -> None:
    running.forget = True
    with pytest.raises(NotFinishedError) as caught:
        send(released.folder, running)

    assert caught.value.message.startswith(f"the store holds 0 triples of `{BASE}")
    assert caught.value.message.endswith("; 99 more are wrong")


def test_a_document_that_the_release_does_not_have_is_told(
    released: Released, running: Running
) -> None:
    strange = pyoxigraph.NamedNode(BASE + "object/strange")
    kind = pyoxigraph.NamedNode("http://www.w3.org/1999/02/22-rdf-syntax-ns#type")
    running.store.add(pyoxigraph.Quad(strange, kind, strange, strange))
    with pytest.raises(NotFinishedError) as caught:
        send(released.folder, running)

    count = len(list(released.documents()))
    assert caught.value.message == (
        f"the store holds {count + 1} documents below `{BASE}`, the release {count};"
        f" not of the release are `{BASE}object/strange`"
    )


def test_a_password_goes_only_to_who_asks_for_one(
    released: Released, running: Running, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    running.user = "library:secret"
    monkeypatch.setenv("HOME", str(tmp_path))
    with pytest.raises(UsageError) as nobody:
        send(released.folder, running)
    (tmp_path / ".netrc").write_text("machine 127.0.0.1 login library password secret\n")
    (tmp_path / ".netrc").chmod(0o600)
    assert send(released.folder, running).sent
    monkeypatch.setenv("LODPIPE_STORE_USER", "library")
    monkeypatch.setenv("LODPIPE_STORE_PASSWORD", "wrong")
    with pytest.raises(UsageError) as wrong:
        send(released.folder, running)

    assert nobody.value.message == f"{running.url} asks who is there"
    assert wrong.value.message == f"{running.url} answers 401"


def command(folder: Path, *arguments: str) -> Result:
    return CliRunner().invoke(main, ["export", str(folder), *arguments])


WRONG = [
    (["--query", "http://x/"], "`--query`, `--direct` and `--all` are of a store"),
    (["--all"], "`--query`, `--direct` and `--all` are of a store"),
    (["--store", "http://x/"], "a store is asked what it has, and what arrived"),
    (["--store", "http://x/", "--query", "http://x/", "--to", "y"], "a store gets the newest release"),
    (["--store", "x", "--query", "http://x/"], "`x` is not an address of a store"),
    (
        ["--store", "http://a:b@x/", "--query", "http://x/"],
        "a password in an address is seen by everybody on this machine",
    ),
    (
        ["--store", "http://x/s", "--query", "http://x/", "--direct"],
        "`http://x/s` cannot take the place of the base",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("arguments", "message"), WRONG)
def test_wrong_use_is_said(released: Released, arguments: list[str], message: str) -> None:
    done = command(released.folder, *arguments)

    assert done.exit_code == 2
    assert f"error[usage]: {message}\n" in done.stderr


def test_the_command(released: Released, running: Running) -> None:
    where = ("--store", running.url, "--query", running.query)
    count = len(list(released.documents()))
    first = command(released.folder, *where)
    again = command(released.folder, *where, "--json")

    assert (first.exit_code, first.stdout) == (
        0,
        f"release 1: {count} documents sent, 0 taken away\n"
        f"the store holds {count} documents, as many as the release\n",
    )
    assert '"sent": 0' in again.stdout


@pytest.mark.slow
def test_virtuoso_holds_the_release_and_then_the_next_one(
    own: Path, later: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LODPIPE_STORE_USER", "dba")
    monkeypatch.setenv("LODPIPE_STORE_PASSWORD", "dba")
    with virtuoso(tmp_path) as running:
        first = send(own, running)
        next_release(own, later)
        second = send(own, running)

        assert first.sent == first.documents
        assert (second.since, second.documents) == (1, len(_counts(running)))
        assert second.sent < 15
        assert second.deleted >= 1
        assert _counts(running) == _counted(in_the_dump(own))
        (label,) = _ask(
            running,
            f"SELECT ?o {{ GRAPH <{BASE}object/item-0110> {{ <{BASE}object/item-0110>"
            " <http://www.w3.org/2000/01/rdf-schema#label> ?o }}",
        )
        assert "burned shed" in label["o"]
        assert send(own, running).sent == 0


def _ask(running: Running, query: str) -> list[dict[str, str]]:
    answer = requests.post(
        running.query, data={"query": query}, headers={"Accept": RESULTS}, timeout=60
    )
    return [
        {name: one["value"] for name, one in row.items()}
        for row in answer.json()["results"]["bindings"]
    ]


def _counts(running: Running) -> dict[str, int]:
    rows = _ask(
        running,
        "SELECT ?g (COUNT(*) AS ?n) WHERE { GRAPH ?g { ?s ?p ?o }"
        f" FILTER(STRSTARTS(STR(?g), '{BASE}')) }} GROUP BY ?g",
    )
    return {row["g"]: int(row["n"]) for row in rows if row["g"] != STATE}


def _counted(quads: set[pyoxigraph.Quad]) -> dict[str, int]:
    found: dict[str, int] = {}
    for quad in quads:
        found[quad.graph_name.value] = found.get(quad.graph_name.value, 0) + 1
    return found
