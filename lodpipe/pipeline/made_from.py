"""What pass 2 makes a document from, beside its row of the index and the names that it reads."""

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, groupby
from typing import Any

import msgspec
import orjson

from lodpipe.parts import IndexReader, Why, pack_finding
from lodpipe.parts.pack import unpack_claim
from lodpipe.pipeline.barrier import Barrier
from lodpipe.pipeline.fingerprint import code
from lodpipe.pipeline.workshop import Workshop, speakers_of

Kinds = dict[str, list[Any]]


def common(shop: Workshop, middle: Barrier, shapes: str, engine: str) -> dict[str, str]:
    """Return what all documents are made from, as hashes by kind.

    Args:
        shapes: digest of the shapes. `engine`: what checks with them.
    """
    project = shop.project
    settings = [project.site, project.dates, project.check.gate, engine, speakers_of(shop)]
    # names that may not be said are looked for in every text
    access = [sorted(middle.withheld), sorted(middle.words), middle.unsaid.names]
    return {
        "access": _hash(access),
        "code": code(),
        "setting": _hash(settings),
        "shapes": shapes,
        # they name nested nodes, which findings point at
        "term": _hash([(concept.iri, concept.slug) for concept in shop.concepts]),
    }


def beside(shop: Workshop, middle: Barrier, index: IndexReader) -> dict[str, bytes]:
    """Return what documents are made from beside their row: hashes by kind, as JSON, by document.

    Most have nothing there, and are left out.
    """
    found: defaultdict[str, Kinds] = defaultdict(dict)
    for uri, kind, value in chain(_claims(middle, index), _rest(middle), _pictures(middle, index)):
        found[uri].setdefault(kind, []).append(value)
    terms = _hash(list(shop.concepts))
    for kinds in found.values():
        for kind in kinds.keys() & {"access", "claim"}:  # their words name concepts
            kinds[kind].append(terms)
    return {
        uri: orjson.dumps({kind: _hash(kinds[kind]) for kind in sorted(kinds)})
        for uri, kinds in found.items()
    }


def _claims(middle: Barrier, index: IndexReader) -> Iterator[tuple[str, str, Any]]:
    for uri, body in index.claims():
        yield uri, "claim", body.decode()
        claim = unpack_claim(body)
        if claim.value in middle.sessions:
            yield uri, "claim", middle.sessions[claim.value]
        if claim.key in middle.verdicts:
            yield uri, "fact", middle.verdicts[claim.key]
    for uri, needs in middle.brought.items():
        yield uri, "claim", needs
    for uri, claims in middle.silenced.items():
        yield uri, "claim", claims


def _rest(middle: Barrier) -> Iterator[tuple[str, str, Any]]:
    for uri, findings in middle.about.items():
        yield uri, "fact", [pack_finding(finding) for finding in findings]
    for uri, notices in middle.held.notices.items():
        yield uri, "access", notices
    for uri in middle.showing:
        yield uri, "layout", "shows what is withheld"


def _pictures(middle: Barrier, index: IndexReader) -> Iterator[tuple[str, str, Any]]:
    layout = middle.layout
    things = {image.thing for image in layout.images}
    things.update(chain.from_iterable((row.thing, row.on) for row in layout.placed))
    for uri in things:
        manifest, shown = middle.pictures.manifest(uri), middle.pictures.of(uri)
        if manifest or shown:
            yield uri, "layout", [manifest, shown]
    if middle.pictures.wanted:
        for uri, images in groupby(index.pictures(), key=lambda image: image.thing):
            yield uri, "layout", list(images)


def reasons(why: Why, old: Iterable[tuple[str, str, str]], new: Iterable[Sequence[str]]) -> Why:
    """Return why a document is made anew, with the inputs that differ in place of its row.

    Args:
        old, new: its inputs in the last release and now: kind, key, hash.
    """
    before, now = set(old), {(kind, key, digest) for kind, key, digest in new}
    differ = [list(pair) for pair in sorted({(kind, key) for kind, key, _ in before ^ now})]
    found: Why = []
    for kind, key in why:
        found += differ if kind == "row" and differ else [[kind, key]]
    return found


def _hash(value: Any) -> str:
    packed = orjson.dumps(value, default=msgspec.to_builtins, option=orjson.OPT_SORT_KEYS)
    return hashlib.blake2b(packed, digest_size=16).hexdigest()
