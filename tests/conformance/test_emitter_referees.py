"""The emitter against two JSON-LD processors, in two steps.

First without minting: the same triples as PyLD and rdflib make of the document under the official
Linked Art context. Then with minting: the same triples with each blank node replaced, one to one,
by the IRI that stands for it.
"""

import re
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from conformance.referees import (
    EXAMPLES,
    by_pyld,
    by_rdflib,
    canonical,
    documents,
    official_context,
)

from lodpipe.errors import DateError, TermError
from lodpipe.rdf import Emitted, Emitter, context
from lodpipe.terms import concepts

pytestmark = pytest.mark.reference

BASE = "https://collections.example.org/"

REFUSED_DATES = {
    # official examples whose time spans hold what Linked Art 1.0 does not allow: a day without a
    # time, a moment without a zone, a placeholder; the emitter refuses, a processor passes it on
    "activity.1", "event.3", "event.5", "group.1", "object.17", "object.61", "person.8",
    "person.9", "set.3",
}  # fmt: skip
REFUSED_KEYS = {
    # keys of the context of 2022 that the present one does not have: a processor drops them
    "provenance.6": {"starts_after_the_end_of", "ends_before_the_start_of"},
}
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


def mended(name: str, tree: dict[str, Any]) -> dict[str, Any]:
    stem = name.removeprefix("examples-2022/").removesuffix(".json")
    tree = deepcopy(tree)
    if stem in REFUSED_DATES:
        for node in nodes(tree):
            for key in node.keys() & {"begin_of_the_begin", "end_of_the_end"}:
                node[key] = "1850-01-01T00:00:00Z"
    for node in nodes(tree):
        for key in REFUSED_KEYS.get(stem, ()):
            node.pop(key, None)
    return tree


def nodes(value: Any) -> Iterator[dict[str, Any]]:
    """Every node of a tree, itself included."""
    if isinstance(value, dict):
        yield value
    for item in value.values() if isinstance(value, dict) else value:
        if isinstance(item, (dict, list)):
            yield from nodes(item)


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
