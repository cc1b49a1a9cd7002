"""Manifests and collections read by iiif-prezi3, and held against recipes of the IIIF cookbook.

The library: https://github.com/iiif-prezi/iiif-prezi3; it refuses types and keys that its model,
made from the official schema, does not know. Recipes: https://iiif.io/api/cookbook/.
"""

import json
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import iiif_prezi3
import pytest
from test_iiif import DOCUMENTS, LAYOUT, SITE, changed, everything, made, making, span, uri
from test_sample import folder as demo  # noqa: F401 - a fixture

from lodpipe.publish import iiif
from lodpipe.records import Image, Placed, Tree

FULL = replace(SITE, tiles=True, crops=True, thumbnail=400, pages=True, languages=("en", "de"))
READERS = {"Manifest": iiif_prezi3.Manifest, "Collection": iiif_prezi3.Collection}


def plain(value: Any) -> Any:
    """A tree without what JSON written by the library adds or sorts otherwise: nulls."""
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items() if inner is not None}
    return [plain(inner) for inner in value] if isinstance(value, list) else value


def lost(tree: Tree) -> list[str]:
    """What of a tree is not in what the library has read: pointers, empty when it lost nothing.

    Its model has no `partOf` on the source of a region, where the specification allows one:
    https://iiif.io/api/presentation/3.0/#partof, any resource.
    """
    read = READERS[tree["type"]](**{k: v for k, v in tree.items() if k != "@context"})
    again = json.loads(read.json())
    again["@context"] = tree["@context"]  # the library writes the plain one
    found = differences(plain(tree), plain(again))
    return [pointer for pointer in found if not pointer.endswith("/target/source/partOf")]


def differences(one: Any, other: Any, pointer: str = "") -> Iterator[str]:
    if isinstance(one, dict) and isinstance(other, dict):
        for key in one:
            yield from differences(one.get(key), other.get(key), f"{pointer}/{key}")
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for number, pair in enumerate(zip(one, other, strict=True)):
            yield from differences(*pair, f"{pointer}/{number}")
    elif one != other:
        yield pointer


@pytest.mark.parametrize("site", [replace(SITE, crops=True), FULL], ids=["plain", "full"])
def test_the_library_reads_manifests_and_collections_without_loss(site: iiif.Site) -> None:
    trees = everything(LAYOUT, site)
    assert {tree["type"] for tree in trees} == READERS.keys()
    assert [(tree["id"], lost(tree)) for tree in trees if lost(tree)] == []


def test_the_library_reads_the_demo_without_loss(demo: Path) -> None:  # noqa: F811
    paths = [p for p in (demo / "export/iiif").rglob("*.json") if p.name != "info.json"]
    trees = [json.loads(path.read_bytes()) for path in sorted(paths)]
    assert len(trees) > 70
    assert [(tree["id"], lost(tree)) for tree in trees if lost(tree)] == []


def test_a_loss_is_seen() -> None:
    tree = made(site=FULL)[uri("item-0102")]
    read = json.loads(json.dumps(tree))
    del read["items"][0]["label"]
    assert list(differences(tree, read)) == ["/items/0/label"]


# --- recipes: what each shows of the part that it is about, ours shows too


def form(value: Any) -> Any:
    """The structure of a value: keys and types, texts and numbers left out; first of a list only."""
    if isinstance(value, dict):
        if value and all(
            isinstance(v, list) and v and isinstance(v[0], str) for v in value.values()
        ):
            return "words"
        return {key: form(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [form(value[0])] if value else []
    return type(value).__name__


def lacking(theirs: Any, ours: Any, pointer: str = "") -> Iterator[str]:
    """Pointers of what a recipe has and ours does not."""
    if isinstance(theirs, dict) and isinstance(ours, dict):
        for key, inner in theirs.items():
            if key in ours:
                yield from lacking(inner, ours[key], f"{pointer}/{key}")
            else:
                yield f"{pointer}/{key}"
    elif isinstance(theirs, list) and isinstance(ours, list):
        if theirs and ours:
            yield from lacking(theirs[0], ours[0], f"{pointer}/*")
        elif theirs:
            yield f"{pointer}/*"
    elif theirs != ours:
        yield pointer


def nodes(value: Any) -> Iterator[Tree]:
    if isinstance(value, dict):
        yield value
        for inner in value.values():
            yield from nodes(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from nodes(inner)


def first(tree: Tree, **wanted: Any) -> Tree:
    """The first node below (not the tree itself) with these values."""
    found = nodes(tree)
    next(found)
    return next(n for n in found if all(n.get(k) == v for k, v in wanted.items()))


def body(tree: Tree) -> Tree:
    return first(tree, motivation="painting")["body"]


def only(*keys: str) -> Callable[[Tree], Tree]:
    return lambda tree: {key: tree[key] for key in keys}


def of_album(tree: Tree) -> Tree:
    return first(tree, type="Canvas")


def small(tree: Tree) -> Tree:
    """The thumbnail of a manifest without its service: that of the recipe is one of level 1."""
    return {key: value for key, value in tree["thumbnail"][0].items() if key != "service"}


RAKING = Image(uri("item-0104"), "images/r.jpg", capture="raking light", width=300, height=200)
BOUND = replace(
    LAYOUT,
    images=(
        *LAYOUT.images,
        RAKING,
        *(Image(uri(f"album-1-p{n}"), f"images/p{n}.jpg", width=9, height=4) for n in (14, 15)),
    ),
    placed=(
        *LAYOUT.placed,
        Placed(uri("album-1-p14"), uri("album-1"), 15, "fold-out"),
        Placed(uri("album-1-p15"), uri("album-1"), 16, "verso"),
    ),
)
DATED = changed(
    "item-0102",
    produced_by={
        "type": "Production",
        "part": [making("exposure", timespan=span("1 March 1872", "1872-03-01"))],
    },
    subject_to=[{"classified_as": [{"id": "http://creativecommons.org/publicdomain/mark/1.0/"}]}],
)
Picked = Callable[[Tree], Tree]

RECIPES: tuple[tuple[str, str, Picked, Picked, dict[str, str]], ...] = (
    # recipe, our thing, the part of theirs, the part of ours, what ours lacks and why
    ("0005-image-service/manifest", "item-0102", body, body, {}),
    ("0006-text-language/manifest", "item-0102", only("label"), only("label"), {}),
    ("0008-rights/manifest", "item-0102", only("rights"), only("rights"), {}),
    ("0024-book-4-toc/manifest", "album-1", lambda t: t["structures"][0], lambda t: t["structures"][0], {}),
    ("0033-choice/manifest", "item-0104", body, body, {}),
    ("0047-homepage/manifest", "item-0102", only("homepage"), only("homepage"), {
        "/homepage/*/language": "a page is in every language of the site",
    }),
    ("0053-seeAlso/manifest", "item-0102", only("seeAlso"), only("seeAlso"), {}),
    ("0117-add-image-thumbnail/manifest", "item-0102", small, small, {}),
    ("0230-navdate/navdate_map_1-manifest", "item-0102", only("navDate"), only("navDate"), {}),
    ("0234-provider/manifest", "item-0102", only("provider"), only("provider"), {
        "/provider/*/homepage/*/language": "a page is in every language of the site",
            "/provider/*/logo": "a project has none",
        "/provider/*/seeAlso": "the provider's id is its record",
    }),
    ("0261-non-rectangular-commenting/manifest", "album-1",
     lambda t: first(t, motivation="tagging")["target"],
     lambda t: next(n for n in nodes(t["structures"]) if "Svg" in str(n.get("selector"))), {}),
    ("0306-linking-annotations-to-manifests/annotationpage", "album-1",
     lambda t: first(t, motivation="commenting")["target"],
     lambda t: first(t, motivation="linking")["target"], {}),
    ("0266-full-canvas-annotation/manifest", "album-1",
     lambda t: first(t, motivation="commenting")["body"],
     lambda t: first(t, motivation="commenting")["body"], {}),
)  # fmt: skip


@pytest.mark.reference
@pytest.mark.parametrize("recipe", RECIPES, ids=lambda recipe: recipe[0])
def test_the_patterns_of_recipes_are_ours(
    reference: Path, recipe: tuple[str, str, Picked, Picked, dict[str, str]]
) -> None:
    name, key, theirs, ours, less = recipe
    path = reference / f"reference/iiif/cookbook/{name}.json"
    wanted = theirs(json.loads(path.read_text(encoding="utf-8")))
    tree = made(BOUND, site=FULL, documents={**DATED, **MORE})[uri(key)]
    assert sorted(lacking(form(wanted), form(ours(tree)))) == sorted(less)


MORE = {
    uri(key): {**DOCUMENTS[uri("album-1-p12")], "id": uri(key)}
    for key in ("album-1-p14", "album-1-p15")
}


def test_an_album_with_backs_is_paged_and_what_folds_out_is_not_turned(reference: Path) -> None:
    """https://iiif.io/cookbook/recipe/0035-foldouts/, and 0011-book-3-behavior for its other forms."""
    path = reference / "reference/iiif/cookbook/0035-foldouts/manifest.json"
    recipe = json.loads(path.read_text(encoding="utf-8"))
    album = made(BOUND, site=FULL, documents={**DOCUMENTS, **MORE})[uri("album-1")]
    assert album["behavior"] == recipe["behavior"] == ["paged"]
    behaviors = {
        canvas["id"].rpartition("/")[2]: canvas.get("behavior") for canvas in album["items"]
    }
    assert behaviors == {
        "p12": None, "p13": None, "item-0104": ["non-paged"], "p14": ["non-paged"], "p15": None,
    }  # fmt: skip
    assert ["non-paged"] in [canvas.get("behavior") for canvas in recipe["items"]]
    assert made(site=FULL)[uri("album-1")]["behavior"] == ["individuals"]


def test_a_collection_refers_and_never_embeds(reference: Path) -> None:
    """https://iiif.io/cookbook/recipe/0032-collection/"""
    path = reference / "reference/iiif/cookbook/0032-collection/collection.json"
    recipe = json.loads(path.read_text(encoding="utf-8"))
    whole = next(tree for tree in everything(LAYOUT, FULL) if tree["type"] == "Collection")
    for tree in (recipe, whole):
        assert {key for item in tree["items"] for key in item} <= {
            "id",
            "type",
            "label",
            "thumbnail",
        }
    assert list(lacking(form(recipe), form(whole))) in ([], ["/requiredStatement"])


def test_a_page_that_is_not_shown_keeps_an_empty_canvas(reference: Path) -> None:
    """https://iiif.io/cookbook/recipe/0283-missing-image/: a canvas for a page without image."""
    path = reference / "reference/iiif/cookbook/0283-missing-image/manifest.json"
    recipe = json.loads(path.read_text(encoding="utf-8"))
    assert any(not canvas.get("items") for canvas in recipe["items"])
    page = made(hidden=frozenset({uri("album-1-p12")}))[uri("album-1")]["items"][0]
    assert page["items"] == []
    assert re.fullmatch(r"\d+ \d+", f"{page['width']} {page['height']}")
