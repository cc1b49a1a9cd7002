"""N-Quads against the worked examples, against what reads them, and against naive readers."""

import json
from pathlib import Path
from typing import Any

import pyoxigraph
import pytest
import rdflib
from conformance.referees import BASE, PREMISES

from lodpipe.publish.nquads import Beliefs, document_lines
from lodpipe.rdf import Emitter
from lodpipe.terms import concepts

pytestmark = pytest.mark.reference


def worked(reference: Path) -> dict[Path, dict[str, Any]]:
    """The documents that have their N-Quads beside them."""
    folder = reference / "examples"
    files = [*sorted(folder.glob("claims/*.json")), folder / "linked-art/object-item-0101.json"]
    assert len(files) == 21
    return {file: json.loads(file.read_text(encoding="utf-8")) for file in files}


def quads(tree: dict[str, Any], *, rdf12: bool = False) -> list[str]:
    emitted = Emitter(BASE, concepts()).emit(tree)
    return document_lines(emitted, Beliefs(BASE, concepts(), rdf12=rdf12), PREMISES)


@pytest.mark.parametrize(("rdf12", "ending"), [(False, ".nq"), (True, ".rdf12.nq")])
def test_line_for_line_as_the_worked_examples(reference: Path, rdf12: bool, ending: str) -> None:
    for file, tree in worked(reference).items():
        expected = file.with_suffix(ending).read_text(encoding="utf-8").splitlines()

        assert quads(tree, rdf12=rdf12) == sorted(expected), file.name


@pytest.mark.filterwarnings("ignore::DeprecationWarning:rdflib.*")  # between its own modules
def test_read_back_alike_by_two_stores(reference: Path) -> None:
    total = 0
    for file, tree in worked(reference).items():
        lines = quads(tree)
        text = "\n".join(lines) + "\n"
        oxigraph = list(pyoxigraph.parse(text, format=pyoxigraph.RdfFormat.N_QUADS))
        dataset = rdflib.Dataset()
        dataset.parse(data=text, format="nquads")
        terms = [term for quad in oxigraph for term in quad]
        graphs = {quad.graph_name.value for quad in oxigraph}

        assert len(set(oxigraph)) == len(dataset) == len(lines), file.name
        assert not any(isinstance(term, pyoxigraph.BlankNode) for term in terms), file.name
        assert graphs == {tree["id"]}, file.name
        total += len(lines)

    assert total == 3965


def test_rdf12_is_read_by_pyoxigraph(reference: Path) -> None:
    reifiers = 0
    for tree in worked(reference).values():
        text = "\n".join(quads(tree, rdf12=True))
        read = list(pyoxigraph.parse(text, format=pyoxigraph.RdfFormat.N_QUADS))
        reifiers += sum(isinstance(quad.object, pyoxigraph.Triple) for quad in read)

    assert reifiers == 35
