"""Reading back gives what was published, and says nothing where nothing is wrong."""

from pathlib import Path

import pytest
from conformance.referees import BASE, by_pyld, canonical, documents, official_context

from lodpipe.findings import Finding
from lodpipe.rdf import Emitter
from lodpipe.rdf_read import read
from lodpipe.terms import concepts

pytestmark = pytest.mark.reference


def test_worked_examples_are_read_without_a_word(reference: Path) -> None:
    official, plain = official_context(reference), Emitter(BASE, concepts(), mint=False)
    trees = documents(reference, "examples/linked-art", "examples/claims")
    findings: list[Finding] = []
    for name, tree in trees.items():
        (got,) = read(reference / "examples" / name, name, findings.append)

        assert canonical(got.lines) == canonical(by_pyld(tree, official)), name
        assert got.nodes == plain.emit(tree).nodes, name

    assert findings == []


def test_worked_quads_are_read_line_for_line(reference: Path) -> None:
    findings: list[Finding] = []
    files = sorted((reference / "examples").glob("*/*.nq"))
    for file in files:
        (got,) = read(file, file.name, findings.append)
        expected = file.read_text(encoding="utf-8").splitlines()

        assert [f"{line[:-1]}<{got.uri}> ." for line in got.lines] == sorted(expected), file.name

    assert len(files) == 42
    assert findings == []


LOST_IN_OFFICIAL_EXAMPLES = {
    # keys of the context of 2022 that the present one does not have
    ("provenance.6.json", "dropped-key", "`starts_after_the_end_of` is not a key in Activity"),
    ("provenance.6.json", "dropped-key", "`ends_before_the_start_of` is not a key in Activity"),
}


def test_official_examples_lose_what_is_listed(reference: Path) -> None:
    folder = "reference/linked-art/examples-2022"
    lost = set()
    for name in documents(reference, folder):
        file = reference / folder / Path(name).name
        findings: list[Finding] = []
        assert len(list(read(file, file.name, findings.append))) == 1
        lost |= {(file.name, finding.code, finding.message) for finding in findings}

    assert lost == LOST_IN_OFFICIAL_EXAMPLES
