"""The check on everything that the demo and two open catalogues publish: parity, false alarms.

Both engines must give the same results for each document; what differs would be a finding that
names both answers. pySHACL <https://github.com/RDFLib/pySHACL> is the slow one, so of a catalogue
a hundred documents are taken, the same ones each time.
"""

import json
import random
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from click.testing import CliRunner
from conformance.referees import BASE
from conformance.released import Released
from test_check_shapes import TEXTS

from lodpipe.archive import Archive
from lodpipe.check import Checker
from lodpipe.cli import main
from lodpipe.findings import CODES
from lodpipe.pipeline.cross import cross_findings
from lodpipe.rdf import Emitted, Emitter
from lodpipe.terms import concepts

pytestmark = pytest.mark.reference
CATALOGUES = {"demo": 367, "cmoa-csv": 120, "tate": 120}
"""Release -> documents that both engines check: of the demo all of them."""


@pytest.fixture(scope="module", params=CATALOGUES)
def released(request: pytest.FixtureRequest, releases: Callable[[str], Released]) -> Released:
    return releases(request.param)


def emitted(released: Released) -> Iterator[tuple[str, Emitted]]:
    own = released.folder / "mappings/vocab/concepts.csv"
    emitter = Emitter(BASE, concepts(*([own] if own.is_file() else [])))
    for document in released.documents():
        del document["@context"]
        yield document["id"], emitter.emit(document)


def test_both_engines_give_the_same_results(released: Released) -> None:
    every = list(emitted(released))
    batch = random.Random(31).sample(every, min(len(every), CATALOGUES[released.name]))
    found = Checker(TEXTS, sample=None).check(batch)
    results = {}
    for engine in ("compiled", "referee"):
        results[engine] = Checker(TEXTS, engine=engine).check(batch[:40]).results

    assert len(found.refereed) == len(batch) == CATALOGUES[released.name]
    assert found.findings == []
    assert results["compiled"] == results["referee"]
    assert len(found.results) > 20  # not equal because nothing was found


def check(released: Released) -> Any:
    done = CliRunner().invoke(main, ["check", str(released.folder), "--json"])
    return json.loads(done.stdout)


BETWEEN = {
    # What stands between documents, looked at one by one: nothing of it is a false alarm.
    "demo": {},
    # an artist who died before being born is stopped, so nothing may link to the record
    "cmoa-csv": {},
    # sketchbooks of which not every leaf is catalogued: told, and stops nothing
    "tate": {("page-order", "info"): 60},
}


def test_what_is_told_between_documents_is_true(released: Released) -> None:
    with Archive(released.folder / "archive/archive.sqlite") as archive:
        found = list(cross_findings(archive, released.result.latest, BASE))

    assert Counter((one.code, one.severity) for one in found) == BETWEEN[released.name]


def test_the_check_says_what_the_run_said(released: Released) -> None:
    told = check(released)
    worst = Counter(
        one["shape"] if one["shape"] in CODES else "shape"
        for one in told["results"]
        if one["severity"] == "violation"
    )
    run = Counter[str]()
    for (severity, code, _), count in released.result.tally.counts.items():
        if severity == "violation":
            run[code] += count

    assert worst == run
    assert told["refereed"] >= 50
    assert all(one["places"] for one in told["results"] if one["severity"] == "violation")
