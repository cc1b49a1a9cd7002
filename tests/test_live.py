"""The server as `lodpipe serve` starts it, in processes of its own: killed harvesters, releases meanwhile.

https://www.openarchives.org/OAI/openarchivesprotocol.html, section 3.5; sickle is the harvester
that others wrote.
"""

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Thread

import pytest
import requests
from lxml import etree
from sickle import Sickle
from stores import free_ports
from test_harvest import AT_ONCE, titles

from lodpipe import archive
from lodpipe.archive import Outgoing, Render, Rendition, Stamp
from lodpipe.harvest import Client, Query, harvest

pytestmark = [pytest.mark.loopback, pytest.mark.slow]
BASE = "https://collections.example.org/"
PROJECT = f"""
[site]
base = "{BASE}"
name = {{en = "Highland Railway Library"}}
contact = "library@example.org"
[access]
default = "open"
[oai]
page = 50
"""
DC = (
    '<oai_dc:dc xmlns:oai_dc="http://www.openarchives.org/OAI/2.0/oai_dc/"'
    ' xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:title>{}</dc:title></oai_dc:dc>'
)
HARVESTER = """
import sys, time
from sickle import Sickle

at = {"resumptionToken": sys.argv[2]} if sys.argv[2:] else {"metadataPrefix": "oai_dc"}
found = Sickle(sys.argv[1]).ListRecords(**at)
for record in found:
    token = found.resumption_token
    print(record.header.identifier, token.token if token and token.token else "-", flush=True)
    time.sleep(0.002)
"""


def now(ahead: float = 0) -> str:
    return (datetime.now(UTC) + timedelta(seconds=ahead)).strftime("%Y-%m-%dT%H:%M:%SZ")


def release(folder: Path, titles: Mapping[str, str], ahead: float = 1) -> None:
    """Make the next release; it shows a second after its transaction, as that of a run does."""
    path = folder / "archive" / "archive.sqlite"
    going = []
    for key, title in sorted(titles.items()):
        uri = f"{BASE}object/{key}"
        made = Rendition(uri, "oai_dc", DC.format(title).encode())
        going.append(Outgoing(uri, frozenset(), (made,)))
    render = Render(("oai_dc",), str(time.time_ns()), lambda opened, number, wanted: going)
    stamp = Stamp(now(), now(), {}, "", "lodpipe 0", {})
    booked = archive.plan(path, [], [])
    archive.commit(path, [], booked, stamp, [], [], render=render, visible=lambda: now(ahead))


@contextmanager
def serving(folder: Path) -> Iterator[str]:
    """Serve a project; gives the address of its repository."""
    (port,) = free_ports(1)
    process = subprocess.Popen(
        [sys.executable, "-m", "lodpipe", "serve", str(folder), "--port", str(port)],
        stderr=subprocess.PIPE,
    )
    try:
        for _ in range(300):
            try:
                requests.get(f"http://127.0.0.1:{port}/health", timeout=5)
                break
            except requests.ConnectionError:
                time.sleep(0.1)
        yield f"http://127.0.0.1:{port}/oai"
    finally:
        process.terminate()
        _, said = process.communicate()
        assert b"Traceback" not in said


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "evidence").mkdir()
    (tmp_path / "lodpipe.toml").write_text(PROJECT, encoding="utf-8")
    return tmp_path


def test_sickle_that_is_killed_midway_goes_on_from_its_last_token(folder: Path) -> None:
    every = {f"{number:04}": f"Picture {number}" for number in range(1_000)}
    release(folder, every, ahead=-1)
    with serving(folder) as url:
        command = [sys.executable, "-c", HARVESTER, url]
        killed = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        assert killed.stdout
        first = [killed.stdout.readline().split() for _ in range(420)]
        os.kill(killed.pid, signal.SIGKILL)
        killed.communicate()
        # the token of the part that it was in: what came with the part before
        token = next(token for _, token in reversed(first) if token != first[-1][1])
        rest = subprocess.run([*command, token], capture_output=True, text=True, check=True)
        second = [line.split() for line in rest.stdout.splitlines()]
        last = etree.fromstring(
            requests.get(
                url, params={"verb": "ListRecords", "resumptionToken": second[-51][1]}, timeout=10
            ).content
        )

    assert killed.returncode == -signal.SIGKILL
    assert len(second) < 1_000 - 350
    assert {name.rpartition("/")[2] for name, _ in (*first, *second)} == set(every)
    assert second[-1][1] == "-"
    (mark,) = last.iter("{http://www.openarchives.org/OAI/2.0/}resumptionToken")
    assert not mark.text
    assert mark.get("cursor") == "950"


def test_harvests_while_releases_are_made_miss_nothing(folder: Path, tmp_path: Path) -> None:
    """Two harvesters ask again and again for what changed, while release follows release.

    A release is larger than what SQLite keeps in memory, so that readers meet its locks too.
    """
    dice = random.Random(8)
    every = {f"{number:04}": dice.randbytes(4_000).hex() for number in range(700)}
    release(folder, every, ahead=-1)
    done: list[bool] = []

    def releases() -> None:
        for turn in range(6):
            for key in dice.sample(sorted(every), 30):
                del every[key]
            for key in dice.sample(sorted(every), 500 if turn % 2 else 20):
                every[key] = dice.randbytes(4_000).hex()
            every[f"new-{turn}"] = f"Came in turn {turn}"
            release(folder, every)
            time.sleep(dice.random() * 1.5)
        time.sleep(1.5)  # the last one shows
        done.append(True)

    file = tmp_path / "records.xml"
    theirs: dict[str, str] = {}
    since = rounds = 0
    with serving(folder) as url:
        writer = Thread(target=releases)
        writer.start()
        while not (done and since):
            since = len(done)  # one more round after the last release
            harvest(Client(url, AT_ONCE), Query("oai_dc"), file)
            theirs |= _by_sickle(url, theirs)
            rounds += 1
        writer.join()

    assert titles(file) == every
    assert {key: title for key, title in theirs.items() if key and title} == every
    assert rounds > 3


def _by_sickle(url: str, before: Mapping[str, str]) -> dict[str, str]:
    """Title by key of what changed since the last time, "" of what is deleted."""
    since = {"from": before[""]} if before else {}
    sickle = Sickle(url, max_retries=5, default_retry_after=1)
    found = {"": now()}
    if not list(_records(sickle, since, found)):
        return dict(before)
    return found


def _records(sickle: Sickle, since: Mapping[str, str], found: dict[str, str]) -> Iterator[None]:
    from sickle.oaiexceptions import NoRecordsMatch

    try:
        for record in sickle.ListRecords(metadataPrefix="oai_dc", **since):
            key = record.header.identifier.rpartition("/")[2]
            found[key] = "" if record.deleted else record.metadata["title"][0]
            yield
    except NoRecordsMatch:
        return
