"""Harvests over HTTP on this machine: ours, and sickle's, a harvester that others wrote.

https://www.openarchives.org/OAI/openarchivesprotocol.html, sections 2.5 (deletions), 2.7
(selective harvests) and 3.5 (flow control); the client is the library sickle.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from harvesting import instant, release
from lxml import etree
from repository import Repository, serving
from sickle import Sickle

from lodpipe.cli import main
from lodpipe.errors import LodpipeError, NotFinishedError, UsageError
from lodpipe.harvest import Client, Harvested, Query, harvest
from lodpipe.patience import Patience

pytestmark = pytest.mark.loopback
AT_ONCE = Patience(wait=lambda seconds: None)
SEVEN = {key: f"Title {key}" for key in "abcdefg"}
O = "{http://www.openarchives.org/OAI/2.0/}"  # noqa: E741


@pytest.fixture
def repository(tmp_path: Path) -> Iterator[Repository]:
    path = tmp_path / "archive.sqlite"
    release(path, {"oai_dc": SEVEN})
    with serving(path) as found:
        yield found


def titles(file: Path) -> dict[str, str]:
    """Title by last part of the identifier, of what a harvest has written."""
    return {
        str(record.findtext(f"{O}header/{O}identifier")).rpartition("/")[2]: str(
            record.findtext(".//{http://purl.org/dc/elements/1.1/}title")
        )
        for record in etree.parse(file).getroot()
    }


def ours(repository: Repository, file: Path, *, whole: bool = False) -> Harvested:
    client = Client(repository.url, AT_ONCE)
    return harvest(client, Query("oai_dc"), file, whole=whole)


def next_release(repository: Repository, **changes: str | None) -> None:
    """The next release, with titles that changed, came, or went (None); the clock moves on."""
    after = {**SEVEN, **{key: title for key, title in changes.items() if title}}
    for key, title in changes.items():
        if title is None:
            del after[key]
    release(repository.path, {"oai_dc": after})


def test_everything_is_harvested(repository: Repository, tmp_path: Path) -> None:
    file = tmp_path / "out" / "records.xml"
    found = ours(repository, file)

    assert titles(file) == SEVEN
    assert (found.changed, found.deleted, found.records) == (7, 0, 7)


def test_the_next_harvest_asks_only_for_what_changed(
    repository: Repository, tmp_path: Path
) -> None:
    file = tmp_path / "records.xml"
    repository.now = "2026-01-01T23:00:00Z"
    ours(repository, file)
    next_release(repository, b="New", c=None, z="Came")
    repository.now = "2026-01-03T00:00:00Z"
    repository.asked.clear()
    found = ours(repository, file)

    assert titles(file) == {**{k: v for k, v in SEVEN.items() if k != "c"}, "b": "New", "z": "Came"}
    assert (found.changed, found.deleted, found.since) == (2, 1, "2026-01-01T23:00:00Z")
    assert "from=2026-01-01T23%3A00%3A00Z" in repository.asked[-1]
    again = ours(repository, file)
    assert (again.changed, again.deleted, again.records) == (0, 0, 7)


def test_a_harvest_that_is_broken_off_goes_on(repository: Repository, tmp_path: Path) -> None:
    file = tmp_path / "records.xml"
    client = Client(repository.url, AT_ONCE)
    met = 0

    def stop(records: int) -> None:
        nonlocal met
        met += records
        if met >= 6:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        harvest(client, Query("oai_dc"), file, advance=stop)
    assert not file.exists()
    repository.asked.clear()
    found = ours(repository, file)

    assert titles(file) == SEVEN
    assert found.resumed
    assert len(repository.asked) == 1
    assert repository.asked[0].startswith("verb=ListRecords&resumptionToken=")


def test_a_list_that_the_server_has_forgotten_begins_again(
    repository: Repository, tmp_path: Path
) -> None:
    file = tmp_path / "records.xml"
    test_a_harvest_that_is_broken_off_goes_on(repository, tmp_path)
    import sqlite3

    with sqlite3.connect(tmp_path / "records.xml.harvest") as db:
        db.execute("UPDATE state SET value = 'gone' WHERE name = 'token'")
    ours(repository, file)

    assert titles(file) == SEVEN


def test_a_whole_harvest_finds_what_is_gone_without_a_word(
    repository: Repository, tmp_path: Path
) -> None:
    file = tmp_path / "records.xml"
    ours(repository, file)
    repository.path.unlink()
    release(repository.path, {"oai_dc": {"a": "Title a"}})
    found = ours(repository, file, whole=True)

    assert titles(file) == {"a": "Title a"}
    assert found.deleted == 6


@pytest.mark.parametrize("faults", [[503], [500, 502, 429], [503, 503, 503, 503, 503]])
def test_faults_that_pass_are_waited_for(
    repository: Repository, tmp_path: Path, faults: list[int]
) -> None:
    file, waited, said = tmp_path / "records.xml", list[float](), list[str]()
    repository.faults = [*faults]
    harvest(Client(repository.url, Patience(waited.append, said.append)), Query("oai_dc"), file)

    assert titles(file) == SEVEN
    assert len(waited) == len(said) == len(faults)
    if faults[0] == 503:
        assert set(waited) == {7.0}  # what the server asked for


WRONG: list[tuple[list[int | bytes], type[LodpipeError], str]] = [
    ([503] * 6, NotFinishedError, "{url} answers 503"),
    ([404], UsageError, "{url} answers 404"),
    ([b"<html>not found"], UsageError, "{url} does not answer in XML: Premature end of data in tag html line 1, line 1, column 16"),
    ([b"<html/>"], UsageError, "{url} does not answer in OAI-PMH: its answer is `html`"),
    (
        [b'<OAI-PMH xmlns="http://www.openarchives.org/OAI/2.0/"><error code="badVerb">no</error></OAI-PMH>'],
        UsageError, "{url} answers badVerb: no",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("faults", "kind", "message"), WRONG)
def test_what_cannot_be_harvested_is_said(
    repository: Repository,
    tmp_path: Path,
    faults: list[int | bytes],
    kind: type[LodpipeError],
    message: str,
) -> None:
    repository.faults = [*faults]
    with pytest.raises(kind) as caught:
        ours(repository, tmp_path / "records.xml")

    assert caught.value.message == message.format(url=repository.url)
    assert not (tmp_path / "records.xml").exists()


def test_a_server_that_is_not_there_is_said(tmp_path: Path) -> None:
    client = Client("http://127.0.0.1:9/oai", AT_ONCE)
    with pytest.raises(NotFinishedError) as caught:
        harvest(client, Query("oai_dc"), tmp_path / "records.xml")

    assert caught.value.message == "http://127.0.0.1:9/oai cannot be reached: ConnectionError"


def test_a_file_of_another_harvest_is_refused(repository: Repository, tmp_path: Path) -> None:
    file = tmp_path / "records.xml"
    ours(repository, file)
    with pytest.raises(UsageError) as caught:
        harvest(Client(repository.url), Query("edm"), file)

    assert caught.value.message == "`records.xml` holds a harvest of another prefix: `oai_dc`"


@pytest.mark.parametrize(
    ("query", "message", "hint"),
    [
        (Query("marcxml"), "{url} has no format `marcxml`", "there are oai_dc, edm"),
        (Query("oai-dc"), "{url} has no format `oai-dc`", "did you mean `oai_dc`?"),
        (Query("oai_dc", "albun"), "{url} has no set `albun`", "did you mean `album`?"),
        (Query("oai_dc", "x"), "{url} has no set `x`", "there are album"),
    ],
)
def test_what_a_repository_does_not_have_is_said_with_what_it_has(
    repository: Repository, tmp_path: Path, query: Query, message: str, hint: str
) -> None:
    with pytest.raises(UsageError) as caught:
        harvest(Client(repository.url, AT_ONCE), query, tmp_path / "records.xml")

    assert caught.value.message == message.format(url=repository.url)
    assert caught.value.hint == hint


def test_a_set_without_records_is_an_empty_harvest(repository: Repository, tmp_path: Path) -> None:
    file = tmp_path / "records.xml"
    found = harvest(Client(repository.url, AT_ONCE), Query("oai_dc", "album"), file)

    assert found.records == 0


def test_no_entity_is_read(repository: Repository, tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("secret", encoding="utf-8")
    repository.faults = [
        b'<!DOCTYPE x [<!ENTITY e SYSTEM "file://%s">]>'
        b'<OAI-PMH xmlns="http://www.openarchives.org/OAI/2.0/"><responseDate/><Identify>'
        b"<granularity>&e;</granularity></Identify></OAI-PMH>" % str(secret).encode()
    ]
    ours(repository, tmp_path / "records.xml")

    assert all("secret" not in query for query in repository.asked)


def test_the_command(repository: Repository, tmp_path: Path) -> None:
    file = tmp_path / "records.xml"
    done = CliRunner().invoke(main, ["harvest", repository.url, str(file), "--prefix", "oai_dc"])

    assert (done.exit_code, done.stdout) == (
        0, f"7 came or changed, 0 were deleted\n7 records in {file}\n",
    )  # fmt: skip


# --- a harvester that others wrote -----------------------------------------------------------


def of_sickle(repository: Repository, **arguments: str) -> dict[str, bool]:
    """Whether it is deleted, by last part of the identifier."""
    found = Sickle(repository.url).ListRecords(metadataPrefix="oai_dc", **arguments)
    return {r.header.identifier.rpartition("/")[2]: bool(r.header.deleted) for r in found}


def test_sickle_harvests_all_and_what_changed(repository: Repository) -> None:
    assert of_sickle(repository) == dict.fromkeys(SEVEN, False)

    next_release(repository, b="New", c=None)
    assert of_sickle(repository, **{"from": instant(2)}) == {"b": False, "c": True}
    assert of_sickle(repository) == {**dict.fromkeys(SEVEN, False), "c": True}


def test_sickle_that_is_stopped_midway_goes_on_from_its_token(repository: Repository) -> None:
    first = Sickle(repository.url).ListRecords(metadataPrefix="oai_dc")
    met = [next(first).header.identifier for _ in range(3)]
    token = first.resumption_token.token
    next_release(repository, a="New")  # meanwhile
    rest = [r.header.identifier for r in Sickle(repository.url).ListRecords(resumptionToken=token)]

    assert [i[-1] for i in (*met, *rest)] == list("abcdefg")
    assert of_sickle(repository, **{"from": instant(2)}) == {"a": False}


def test_sickle_reads_identify_formats_and_one_record(repository: Repository) -> None:
    sickle = Sickle(repository.url)
    record = sickle.GetRecord(
        metadataPrefix="oai_dc", identifier="oai:collections.example.org:object/a"
    )

    assert sickle.Identify().granularity == "YYYY-MM-DDThh:mm:ssZ"
    assert [f.metadataPrefix for f in sickle.ListMetadataFormats()] == ["oai_dc", "edm"]
    assert record.metadata["title"] == ["Title a"]
