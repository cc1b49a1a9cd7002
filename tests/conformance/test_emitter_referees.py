"""The emitter against two JSON-LD processors, in two steps.

First without minting: the same triples as PyLD and rdflib make of the document under the official
Linked Art context. Then with minting: the same triples with each blank node replaced, one to one,
by the IRI that stands for it.
"""

import re
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from conformance.referees import (
    BASE,
    EXAMPLES,
    REFUSED_DATES,
    REFUSED_KEYS,
    by_pyld,
    by_rdflib,
    canonical,
    documents,
    mended,
    official_context,
)

from lodpipe.errors import DateError, TermError
from lodpipe.rdf import Emitted, Emitter, context
from lodpipe.terms import concepts

pytestmark = pytest.mark.reference

RDFLIB_DIFFERS = {
    # rdflib writes a double as Python does (0.77), JSON-LD 1.1 section 8.6 wants 7.7E-1
    "object.0": {"0.77", "0.53"},
    "provenance.1": {"8.8"},
}


@pytest.fixture(scope="module")
def trees(reference: Path) -> dict[str, dict[str, Any]]:
    """All documents; those with refused dates or keys with these put right."""
    found = documents(reference, *EXAMPLES)
    assert len(found) == 233
    return {name: mended(name, tree) for name, tree in found.items()}


def test_what_is_refused_is_listed(reference: Path) -> None:
    emitter = Emitter(BASE, concepts())
    dates, keys = set(), set()
    for name, tree in documents(reference, *EXAMPLES).items():
        try:
            emitter.emit(tree)
        except DateError:
            dates.add(name.removeprefix("examples-2022/").removesuffix(".json"))
        except TermError:
            keys.add(name.removeprefix("examples-2022/").removesuffix(".json"))

    assert dates == REFUSED_DATES
    assert keys == set(REFUSED_KEYS)


def test_without_minting_as_pyld(reference: Path, trees: dict[str, dict[str, Any]]) -> None:
    official, emitter = official_context(reference), Emitter(BASE, concepts(), mint=False)
    differ = {
        name
        for name, tree in trees.items()
        if canonical(emitter.emit(tree).lines) != canonical(by_pyld(tree, official))
    }

    assert differ == set()


@pytest.mark.filterwarnings("ignore::DeprecationWarning:rdflib.*")  # between its own modules
def test_without_minting_as_rdflib(reference: Path, trees: dict[str, dict[str, Any]]) -> None:
    official, emitter = official_context(reference), Emitter(BASE, concepts(), mint=False)
    differ = {}
    for name, tree in trees.items():
        ours = set(canonical(emitter.emit(tree).lines))
        theirs = set(canonical(by_rdflib(tree, official)))
        if ours != theirs:
            stem = name.removeprefix("examples-2022/").removesuffix(".json")
            differ[stem] = {re.search('"(.*)"', line)[1] for line in theirs - ours}  # type: ignore[index]

    assert differ == RDFLIB_DIFFERS


def test_our_context_says_the_same(reference: Path, trees: dict[str, dict[str, Any]]) -> None:
    official, own = official_context(reference), context()
    differ = {
        name
        for name, tree in trees.items()
        if canonical(by_pyld(tree, official)) != canonical(by_pyld(tree, own))
    }

    assert differ == set()


def with_ids(tree: dict[str, Any], emitted: Emitted) -> dict[str, Any]:
    """Return the document with the IRI of every node that had none written into it."""
    tree = deepcopy(tree)
    for iri, pointer in emitted.nodes.items():
        node: Any = tree
        for step in pointer.split("/")[1:]:
            node = node[int(step)] if isinstance(node, list) else node[step]
        assert node.setdefault("id", iri) == iri
    return tree


def test_minting_replaces_blank_nodes_one_to_one(
    reference: Path, trees: dict[str, dict[str, Any]]
) -> None:
    official = official_context(reference)
    minting, plain = Emitter(BASE, concepts()), Emitter(BASE, concepts(), mint=False)
    replaced = 0
    for name, tree in trees.items():
        emitted, blank = minting.emit(tree), plain.emit(tree)
        stem = tree["id"] + "#"
        minted = {iri for iri in emitted.nodes if iri not in blank.nodes}
        labels = {label for label in blank.nodes if label.startswith("_:")}

        assert not any("_:" in re.sub('"(?:[^"\\\\]|\\\\.)*"', "", line) for line in emitted.lines)
        assert len(minted) == len(labels), name
        assert all(iri.startswith(stem) for iri in minted), name
        assert canonical(by_pyld(with_ids(tree, emitted), official)) == canonical(emitted.lines)
        replaced += len(minted)

    assert replaced == 1154
