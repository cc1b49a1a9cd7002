"""Two open catalogues run whole: valid records, balanced books, no doubt within reach of a query."""

import json
import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from catalogue_help import (
    BASE,
    CMOA_QUALIFIERS,
    NOBODY,
    TATE_QUALIFIERS,
    Published,
    lines,
    makers,
    publish,
)
from conformance.crm import CRM, FILE, Crm
from conformance.naive import doubted_hits, hits
from conformance.schemas import Schemas

pytestmark = pytest.mark.reference

CARRIED_OUT = f"<{CRM}P14_carried_out_by>"
MADE = f"<{CRM}E12_Production>"


def sample(source: Path, target: Path, every: int, wanted: frozenset[str] = frozenset()) -> Path:
    """Copy one line in so many, and those whose `id` is wanted."""
    with source.open(encoding="utf-8") as read, target.open("w", encoding="utf-8") as write:
        for number, line in enumerate(read):
            if number % every == 0 or (wanted and str(json.loads(line)["id"]) in wanted):
                write.write(line)
    return target


def cmoa(reference: Path, folder: Path, every: int) -> Published:
    file = sample(reference / "data/cmoa/objects.jsonl", folder / "objects.jsonl", every)
    return publish(folder, (file, "cmoa-jsonl.yaml"))


def tate(reference: Path, folder: Path, every: int) -> Published:
    file = sample(reference / "data/tate/objects.jsonl", folder / "objects.jsonl", every)
    named = frozenset(str(c["id"]) for row in lines(file) for c in row["contributors"])
    artists = sample(reference / "data/tate/artists.jsonl", folder / "artists.jsonl", every, named)
    return publish(folder, (file, "tate-objects.yaml"), (artists, "tate-artists.yaml"))


RUNS = {"cmoa": cmoa, "tate": tate}


@pytest.fixture(scope="module", params=RUNS)
def run(
    request: pytest.FixtureRequest, reference: Path, tmp_path_factory: pytest.TempPathFactory
) -> Published:
    """One record in twelve."""
    return RUNS[request.param](reference, tmp_path_factory.mktemp(request.param), 12)


def named(row: dict[str, Any]) -> tuple[str, list[tuple[str, str]]]:
    """The IRI of a thing, and the key and role of everybody whom the source names."""
    if "acno" in row:
        return f"object/{row['acno']}", [(str(c["id"]), c["role"]) for c in row["contributors"]]
    makers_of = [(c["artist_id"].rpartition("/")[2], c["role"]) for c in row["creator"] or []]
    return f"object/{row['id'].rpartition('/')[2]}", makers_of


def check_doubts(run: Published) -> int:
    """No doubted maker in `carried_out_by` of a production, nor behind its P14; returns how many.

    A claim is an activity too, and has who made the claim: only productions count.
    """
    productions = {line.split(" ", 1)[0] for line in run.quads if f" {MADE} " in line}
    stated: dict[str, set[str]] = {}
    for line in run.quads:
        subject, key, value = line.split(" ", 3)[:3]
        if key == CARRIED_OUT and subject in productions:
            stated.setdefault(subject.strip("<>").partition("#")[0], set()).add(value.strip("<>"))
    met = 0
    for row in lines(run.source):
        path, whom = named(row)
        free = {key for key, role in whom if role not in {*CMOA_QUALIFIERS, *TATE_QUALIFIERS}}
        plain = makers(run.documents[BASE + path])
        assert plain == stated.get(BASE + path, set())
        for key in {key for key, _ in whom} - free:
            met += 1
            assert not plain & {BASE + f"person/{key}", BASE + f"group/{key}"}, path
    return met


def test_the_books_balance_and_all_but_a_hundredth_is_published(run: Published) -> None:
    run.result.books.balance()
    records, documents = run.result.books.records, run.result.books.documents
    assert records["mapped"] + records["duplicate"] == sum(records.values())
    assert documents["new"] >= 0.99 * sum(documents.values())
    assert len(run.documents) == documents["new"]
    assert {BASE + named(row)[0] for row in lines(run.source)} <= run.documents.keys()


def test_every_published_document_is_valid(run: Published, reference: Path) -> None:
    schemas = Schemas(reference)
    wrong = {iri: errors for iri, tree in run.documents.items() if (errors := schemas.errors(tree))}
    assert wrong == {}
    assert len(run.documents) > 800


def test_no_doubted_maker_is_behind_a_production(run: Published) -> None:
    assert check_doubts(run) > 90


def test_no_naive_query_meets_a_doubted_value(run: Published, reference: Path) -> None:
    crm = Crm(reference / FILE)
    assert doubted_hits(run.quads, crm) == []
    assert len(hits(run.quads, crm)) > 500


def test_nobody_in_particular_is_no_person(run: Published) -> None:
    people = [tree for tree in run.documents.values() if tree["type"] == "Person"]
    assert people
    for tree in people:
        assert not re.match(r"unknown|anonymous|.*\bSchool\b", tree["_label"], re.I), tree["id"]
    assert run.documents[NOBODY]["type"] == "Group"
    assert sum(NOBODY in makers(tree) for tree in run.documents.values()) > 20


@pytest.mark.slow
@pytest.mark.parametrize("name", RUNS)
def test_the_catalogues_as_a_whole(name: str, reference: Path, tmp_path: Path) -> None:
    """All records; what is not published is named: one person who dies before being born."""
    run = RUNS[name](reference, tmp_path, 1)
    run.result.books.balance()
    schemas = Schemas(reference)
    assert [iri for iri, tree in run.documents.items() if schemas.errors(tree)] == []
    assert check_doubts(run) > 1_000
    stopped = Counter({"stopped": run.result.books.documents["stopped"]})
    assert stopped == Counter({"stopped": 1 if name == "cmoa" else 0})
    assert run.result.books.records["duplicate"] == (0 if name == "cmoa" else 4)
