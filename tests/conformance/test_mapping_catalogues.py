"""The shipped mappings on real catalogues: everything is traced, nothing is passed over."""

from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from lodpipe import terms
from lodpipe.errors import UsageError
from lodpipe.findings import Finding
from lodpipe.mapping import Mapping, SourceContext, load
from lodpipe.nodes import Nodes
from lodpipe.project import Limits
from lodpipe.read import ReadOptions, records
from lodpipe.records import Mapped, Record

pytestmark = pytest.mark.reference

ROOT = Path(__file__).parents[2]
BASE = "https://collections.example.org/"
CATALOGUES = [
    ("cmoa-csv.yaml", "cmoa/objects-derived.csv", 500),
    ("cmoa-jsonl.yaml", "cmoa/objects.jsonl", 500),
    ("tate-objects.yaml", "tate/objects.jsonl", 300),
    ("tate-artists.yaml", "tate/artists.jsonl", 500),
    ("nga-history.yaml", "edge/nga-attributions/objects_historical_data.csv", 500),
    ("lido.yaml", "edge/lido/LIDO-Extended-Example.xml", 1),
]


def table(name: str) -> terms.Table:
    path = ROOT / "mappings" / "vocab" / f"{name}.csv"
    if not path.is_file():
        raise UsageError(f"there is no table `{name}`")
    return terms.read_table(name, path)


def ready(name: str) -> Mapping:
    return load(ROOT / "mappings" / name, name, nodes=Nodes(BASE, terms.concepts()), tables=table)


def mapped(
    mapping: Mapping, source: Path, most: int
) -> tuple[list[Mapped], list[Finding], Counter[str]]:
    """What the first records of a source make, all findings, and those of `leftover` by code."""
    told: list[Finding] = []
    options = ReadOptions(records=mapping.reads.records, namespaces=mapping.reads.namespaces or {})
    context = SourceContext(source.name, 1, "group/museum", "2017")
    made = []
    for number, record in enumerate(records(source, source.name, options, Limits(), told.append)):
        if number == most:
            break
        assert isinstance(record, Record)
        found = mapping.map(record, context, told.append)
        assert found is not None
        made.append(found)
    left: list[Finding] = []
    mapping.leftover(left.append)
    return made, told, Counter(f.code for f in left)


def leads_to(tree: Any, pointer: str) -> Any:
    for step in pointer.split("/")[1:]:
        tree = tree[int(step)] if isinstance(tree, list) else tree[step]
    return tree


def values(tree: Any, pointer: str = "") -> list[str]:
    """Pointers of all links and texts of a tree."""
    if isinstance(tree, dict):
        return [p for key, inner in tree.items() for p in values(inner, f"{pointer}/{key}")]
    if isinstance(tree, list):
        return [p for n, inner in enumerate(tree) for p in values(inner, f"{pointer}/{n}")]
    return [pointer]


@pytest.mark.parametrize(("name", "file", "most"), CATALOGUES, ids=[c[0] for c in CATALOGUES])
def test_a_real_catalogue(reference: Path, name: str, file: str, most: int) -> None:
    made, told, left = mapped(ready(name), reference / "data" / file, most)
    drafts = [draft for one in made for draft in one.documents]
    claims = [claim for one in made for claim in one.claims]

    assert len(made) == most or name == "lido.yaml"
    assert len(drafts) >= len(made)
    assert left["unmapped"] == 0
    assert {f.code for f in told} <= {"date", "date-disagrees", "size", "parallel", "characters"}
    assert all(f.place is not None and f.place.file for f in told)
    for draft in drafts:
        assert draft.tree["id"] == draft.uri
        assert all(leads_to(draft.tree, entry.path) for entry in draft.trace)
        assert {"row", "mapping"} <= {i.kind for i in draft.inputs}
    assert len({c.key for c in claims}) == len(
        {(c.key, c.about, c.value, c.qualifier) for c in claims}
    )
    assert all(c.by == f"{BASE}group/museum" and c.on and c.basis for c in claims)


def _plain(made: Mapped) -> list[object]:
    """What a record made, whenever its traces were made and however its bytes are kept."""
    drafts = [(one.uri, one.tree, list(one.trace), one.inputs) for one in made.documents]
    return [made.key, drafts, made.claims, made.layout]


def test_a_second_time_makes_the_same(reference: Path) -> None:
    source = reference / "data" / "cmoa" / "objects-derived.csv"
    first, *_ = mapped(ready("cmoa-csv.yaml"), source, 50)
    second, *_ = mapped(ready("cmoa-csv.yaml"), source, 50)

    assert [_plain(one) for one in first] == [_plain(one) for one in second]
    assert len(values(first[0].documents[0].tree)) > 20
