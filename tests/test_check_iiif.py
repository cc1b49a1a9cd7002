"""Rules for IIIF documents: a table of faults, no false alarm on what is published, counts."""

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conformance.iiif_rules import Schema
from hypothesis import given, settings
from hypothesis import strategies as st

from lodpipe.check import iiif

Tree = dict[str, Any]
BASE = "https://collections.example.org/iiif/"
P3 = "http://iiif.io/api/presentation/3/context.json"
SPECIFICATION = "https://iiif.io/api/presentation/3.0/#"


def canvas(number: int = 1) -> Tree:
    own = f"{BASE}canvas/{number}"
    return {
        "id": own,
        "type": "Canvas",
        "label": {"en": [f"Page {number}"]},
        "height": 1000,
        "width": 750,
        "items": [
            {
                "id": f"{own}/page",
                "type": "AnnotationPage",
                "items": [
                    {
                        "id": f"{own}/image",
                        "type": "Annotation",
                        "motivation": "painting",
                        "body": {
                            "id": f"{BASE}image/{number}/full/max/0/default.jpg",
                            "type": "Image",
                            "format": "image/jpeg",
                            "height": 2000,
                            "width": 1500,
                            "service": [
                                {
                                    "id": f"{BASE}image/{number}",
                                    "type": "ImageService3",
                                    "profile": "level0",
                                }
                            ],
                        },
                        "target": own,
                    }
                ],
            }
        ],
        "annotations": [
            {
                "id": f"{own}/notes",
                "type": "AnnotationPage",
                "items": [
                    {
                        "id": f"{own}/note",
                        "type": "Annotation",
                        "motivation": "linking",
                        "body": {"id": f"{BASE}manifest/item-0101", "type": "Manifest"},
                        "target": {
                            "type": "SpecificResource",
                            "source": {"id": own, "type": "Canvas"},
                            "selector": {"type": "FragmentSelector", "value": "xywh=40,40,500,600"},
                        },
                    }
                ],
            }
        ],
    }


def manifest() -> Tree:
    return {
        "@context": P3,
        "id": f"{BASE}manifest/album-1",
        "type": "Manifest",
        "label": {"en": ["Album of the Sorn Railway"]},
        "summary": {"en": ["Views of the Upper Section."]},
        "metadata": [{"label": {"en": ["Compiled by"]}, "value": {"none": ["Jonas Vey"]}}],
        "requiredStatement": {"label": {"en": ["Held by"]}, "value": {"en": ["The library"]}},
        "rights": "http://creativecommons.org/publicdomain/mark/1.0/",
        "navDate": "1873-01-01T00:00:00Z",
        "viewingDirection": "left-to-right",
        "behavior": ["paged"],
        "thumbnail": [{"id": f"{BASE}image/1/full/80,/0/default.jpg", "type": "Image"}],
        "provider": [
            {
                "id": "https://collections.example.org/group/library",
                "type": "Agent",
                "label": {"en": ["The library"]},
                "logo": [{"id": f"{BASE}logo.png", "type": "Image"}],
            }
        ],
        "homepage": [
            {"id": "https://collections.example.org/a", "type": "Text", "label": {"en": ["Page"]}}
        ],
        "start": {"id": f"{BASE}canvas/2", "type": "Canvas"},
        "items": [canvas(1), canvas(2)],
        "structures": [
            {
                "id": f"{BASE}manifest/album-1/range/1",
                "type": "Range",
                "label": {"en": ["Contents"]},
                "items": [
                    {"id": f"{BASE}canvas/1", "type": "Canvas"},
                    {
                        "type": "SpecificResource",
                        "source": f"{BASE}canvas/2",
                        "selector": {
                            "type": "SvgSelector",
                            "value": '<svg xmlns="http://www.w3.org/2000/svg">'
                            '<polygon points="10,10 700,20 650,980"/></svg>',
                        },
                    },
                ],
            }
        ],
    }


def collection() -> Tree:
    return {
        "@context": P3,
        "id": f"{BASE}collection/top",
        "type": "Collection",
        "label": {"en": ["All albums"]},
        "items": [
            {"id": f"{BASE}manifest/1", "type": "Manifest", "label": {"en": ["One"]}},
            {"id": f"{BASE}manifest/2", "type": "Manifest", "label": {"en": ["Two"]}},
        ],
    }


def put(path: str, value: Any) -> Callable[[Tree], None]:
    """A change: set what stands at a path (`items 0 height`); DELETE takes it away."""

    def change(tree: Tree) -> None:
        node: Any = tree
        *above, last = (int(part) if part.isdigit() else part for part in path.split())
        for part in above:
            node = node[part]
        if value is DELETE:
            del node[last]
        else:
            node[last] = value

    return change


DELETE = object()
SVG = '<svg xmlns="http://www.w3.org/2000/svg">{}</svg>'
NOTE = "items 0 annotations 0 items 0"
PAINTED = "items 0 items 0 items 0"
REGION = f"{NOTE} target selector value"
FAULTS = [
    # rule, change of a good manifest, JSON Pointer; * where the official schema finds nothing
    ("*context", put("@context", [P3, "https://example.org/more.json"]), "/@context"),
    ("*context", put("@context", [P3, P3]), "/@context"),
    ("*context", put("items 0 @context", P3), "/items/0/@context"),
    ("*context", put("@context", DELETE), "/@context"),
    ("context", put("@graph", []), "/@context"),
    ("*navplace-context", put("navPlace", {"type": "FeatureCollection"}), "/navPlace"),
    ("type", put("items 0 type", "canvas"), "/items/0/type"),
    ("type", put("items 0 type", DELETE), "/items/0/type"),
    ("type", put("items 0 items 0 type", "Annotation"), "/items/0/items/0/type"),
    ("type", put("provider 0 type", "Person"), "/provider/0/type"),
    ("*type", put("provider 0 logo 0 type", "Text"), "/provider/0/logo/0/type"),
    ("id", put("id", DELETE), "/id"),
    ("id", put("id", "urn:isbn:1"), "/id"),
    ("*id", put("id", f"{BASE}manifest/album 1"), "/id"),
    ("id", put("items 0 id", "canvas/1"), "/items/0/id"),
    ("id", put(f"{PAINTED} body id", DELETE), f"/{PAINTED.replace(' ', '/')}/body/id"),
    ("id", put("thumbnail 0 id", DELETE), "/thumbnail/0/id"),
    ("*canvas-id", put("items 0 id", f"{BASE}canvas#1"), "/items/0/id"),
    ("*same-id", put("items 1 id", f"{BASE}canvas/1"), "/items/1/id"),
    ("*same-id", put(f"{NOTE} id", f"{BASE}canvas/1/image"), f"/{NOTE.replace(' ', '/')}/id"),
    ("*place-of-key", put("structures 0 structures", []), "/structures/0/structures"),
    ("*place-of-key", put("items 0 viewingDirection", "left-to-right"), "/items/0/viewingDirection"),
    ("place-of-key", put("items 0 items 0 annotations", []), "/items/0/items/0/annotations"),
    ("*place-of-key", put(f"{PAINTED} navDate", "1873-01-01T00:00:00Z"), f"/{PAINTED.replace(' ', '/')}/navDate"),
    ("list", put("behavior", "paged"), "/behavior"),
    ("list", put("thumbnail", {"id": f"{BASE}t.jpg", "type": "Image"}), "/thumbnail"),
    ("list", put(f"{PAINTED} body service", {"id": BASE, "type": "ImageService3"}), f"/{PAINTED.replace(' ', '/')}/body/service"),
    ("link", put("label", DELETE), "/label"),
    ("*link", put("homepage 0 label", DELETE), "/homepage/0/label"),
    ("*link", put("provider 0 label", DELETE), "/provider/0/label"),
    ("service", put(f"{PAINTED} body service 0 id", DELETE), f"/{PAINTED.replace(' ', '/')}/body/service/0"),
    ("language", put("label", "Album"), "/label"),
    ("language", put("label", {"@none": ["Album"]}), "/label"),
    ("language", put("label", {"english text": ["Album"]}), "/label"),
    ("language", put("label", {"en": "Album"}), "/label/en"),
    ("language", put("metadata 0 value", "Jonas Vey"), "/metadata/0/value"),
    ("language", put("metadata 0 value", DELETE), "/metadata/0/value"),
    ("language", put("requiredStatement label", DELETE), "/requiredStatement/label"),
    ("*label-html", put("label", {"en": ["<b>Album</b>"]}), "/label"),
    ("*html", put("summary", {"en": ["<p>Views <br> more</p>"]}), "/summary"),
    ("*html", put("metadata 0 value", {"en": ["<5 or 6>"]}), "/metadata/0/value"),
    ("*empty", put("summary", {}), "/summary"),
    ("*empty", put("metadata 0 value", {"en": [" "]}), "/metadata/0/value"),
    ("*empty", put("thumbnail", []), "/thumbnail"),
    ("rights", put("rights", "https://creativecommons.org/publicdomain/mark/1.0/"), "/rights"),
    ("rights", put("rights", "public domain"), "/rights"),
    ("rights", put("rights", ["http://creativecommons.org/publicdomain/mark/1.0/"]), "/rights"),
    ("*navdate", put("navDate", "1873-01-01T00:00:00"), "/navDate"),
    ("*navdate", put("navDate", "1873"), "/navDate"),
    ("*navdate", put("navDate", "1873-02-29T00:00:00Z"), "/navDate"),
    ("rights", put("rights", "https://www.example.org/wiki/License"), "/rights"),
    ("type", put("provider 0 seeAlso", [{"id": "https://example.org/x"}]), "/provider/0/seeAlso/0/type"),
    ("direction", put("viewingDirection", "rtl"), "/viewingDirection"),
    ("*behavior", put("behavior", ["paged", "continuous"]), "/behavior"),
    ("*behavior", put("items 0 behavior", ["paged"]), "/items/0/behavior"),
    ("behavior-unknown", put("behavior", ["pagd"]), "/behavior"),
    ("items", put("items", DELETE), "/items"),
    ("*items", put("structures 0 items", []), "/structures/0/items"),
    ("extent", put("items 0 width", DELETE), "/items/0"),
    ("extent", put("items 0 height", 0), "/items/0/height"),
    ("extent", put("items 0 height", 10.5), "/items/0/height"),
    ("extent", put("items 0 duration", "10"), "/items/0/duration"),
    ("*motivation", put(f"{PAINTED} motivation", "commenting"), f"/{PAINTED.replace(' ', '/')}/motivation"),
    ("*motivation", put(f"{NOTE} motivation", "painting"), f"/{NOTE.replace(' ', '/')}/motivation"),
    ("*target", put(f"{PAINTED} target", f"{BASE}canvas/2"), f"/{PAINTED.replace(' ', '/')}/target"),
    ("*target", put(f"{PAINTED} target", DELETE), f"/{PAINTED.replace(' ', '/')}/target"),
    ("*dimension", put(f"{PAINTED} body duration", 12.5), f"/{PAINTED.replace(' ', '/')}/body/duration"),
    ("*part", put(REGION, "xywh=40,40,800,600"), f"/{NOTE.replace(' ', '/')}"),
    ("*part", put(REGION, "xywh=-1,40,80,60"), f"/{NOTE.replace(' ', '/')}"),
    ("*part", put(REGION, "xywh=40,40,0,60"), f"/{NOTE.replace(' ', '/')}"),
    ("*part", put(REGION, "xywh=a,b,c,d"), f"/{NOTE.replace(' ', '/')}"),
    ("*part", put(REGION, "xywh=percent:50,50,60,10"), f"/{NOTE.replace(' ', '/')}"),
    ("*part", put(REGION, "t=3,9"), f"/{NOTE.replace(' ', '/')}"),
    ("*part", put("structures 0 items 1 selector value", SVG.format('<polygon points="1,2 3,4 5,1001"/>')), "/structures/0/items/1"),
    ("*part", put("structures 0 items 1 selector value", "<svg>"), "/structures/0/items/1"),
    ("*part", put("structures 0 items 0 id", f"{BASE}canvas/1#xywh=0,0,751,10"), "/structures/0/items/0"),
    ("*no-canvas", put("structures 0 items 0 id", f"{BASE}canvas/9"), "/structures/0/items/0"),
    ("*no-canvas", put("start id", f"{BASE}canvas/9"), "/start"),
]  # fmt: skip
OF_COLLECTIONS = [
    ("link", put("label", DELETE), "/label"),
    ("*link", put("items 0 label", DELETE), "/items/0/label"),
    ("type", put("items 0 type", "Canvas"), "/items/0/type"),
    ("embedded", put("items 0 items", [canvas()]), "/items/0/items"),
    ("*items", put("items", DELETE), "/items"),
]
TABLE = [(name, manifest, change, pointer) for name, change, pointer in FAULTS] + [
    (name, collection, change, pointer) for name, change, pointer in OF_COLLECTIONS
]
IDS = [f"{number}-{row[0].lstrip('*')}" for number, row in enumerate(TABLE)]


def found(tree: Tree) -> set[tuple[str, str]]:
    return {
        (one.shape.removeprefix("urn:lodpipe:shape:iiif-"), one.pointer)
        for one in iiif.check(tree, "x.json").results
    }


@pytest.mark.parametrize("make", [manifest, collection])
def test_nothing_is_said_of_good_documents(make: Callable[[], Tree]) -> None:
    assert found(make()) == set()


@pytest.mark.parametrize(("name", "make", "change", "pointer"), TABLE, ids=IDS)
def test_each_fault_is_found_where_it_is(
    name: str, make: Callable[[], Tree], change: Callable[[Tree], None], pointer: str
) -> None:
    tree = make()
    change(tree)

    assert (name.lstrip("*"), pointer) in found(tree)


def test_every_rule_has_a_fault_and_names_its_clause() -> None:
    names = {rule.name.removeprefix("urn:lodpipe:shape:iiif-") for rule in iiif.RULES}

    assert {row[0].lstrip("*") for row in TABLE} == names
    assert len(iiif.RULES) == len(names) == 27
    for rule in iiif.RULES:
        assert rule.clause.startswith((SPECIFICATION, "https://iiif.io/api/extension/"))
        assert rule.look.__doc__


def test_a_result_leads_to_the_clause() -> None:
    tree = manifest()
    tree["rights"] = "public domain"
    (result,) = iiif.check(tree, "x.json").results

    assert (result.uri, result.focus) == (tree["id"], tree["id"])
    assert (result.pointer, result.value) == ("/rights", "public domain")
    assert result.rule == "https://iiif.io/api/presentation/3.0/#rights"
    assert result.message == (
        "`rights` is no licence URI of Creative Commons or RightsStatements.org in its http form: "
        "words go into requiredStatement"
    )


def test_what_a_rule_did_not_meet_is_not_counted() -> None:
    focus = iiif.check(collection(), "x.json").focus

    assert focus["urn:lodpipe:shape:iiif-context"] == 1
    assert focus["urn:lodpipe:shape:iiif-id"] == 3
    assert "urn:lodpipe:shape:iiif-part" not in focus


KINDS = [
    ({"@context": P3}, True, False),
    ({"type": "Manifest"}, True, False),
    ({"@context": "http://iiif.io/api/presentation/2/context.json"}, True, True),
    ({"@context": "https://linked.art/ns/v1/linked-art.json", "type": "Person"}, False, False),
    ({"@context": "http://iiif.io/api/image/3/context.json"}, False, False),
    ({"type": "Person"}, False, False),
    ([], False, False),
]


@pytest.mark.parametrize(("tree", "ours", "old"), KINDS)
def test_which_documents_these_are(tree: Any, ours: bool, old: bool) -> None:
    assert iiif.is_iiif(tree) is ours
    if ours:
        assert iiif.is_old(tree) is old


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)  # fmt: skip


def spots(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Paths of everything in a document."""
    pairs: Any = value.items() if isinstance(value, dict) else enumerate(value)
    found: list[tuple[Any, ...]] = []
    for key, inner in pairs:
        found.append((*path, key))
        if isinstance(inner, dict | list):
            found += spots(inner, (*path, key))
    return found


SPOTS = spots(manifest())


@given(st.sampled_from(SPOTS), JSON)
@settings(max_examples=150, deadline=None)
def test_no_value_anywhere_breaks_the_rules(path: tuple[Any, ...], value: Any) -> None:
    tree = copy.deepcopy(manifest())
    node: Any = tree
    for part in path[:-1]:
        node = node[part]
    node[path[-1]] = value

    for result in iiif.check(tree, "x.json").results:
        assert result.message


# --- against what others published


TRUE_FAULTS = {
    # file of the cookbook -> what its text has wrong
    "0000_template/manifest.json": {
        ("id", "/id"),  # a blank after the address
        ("items", "/items"),  # a template: nothing filled in
        ("empty", "/label"),
    },
    "0229-behavior-ranges/manifest.json": {("id", "/id")},  # a blank after the address
    "0464-reuse-manifest/manifest.json": {
        # the note names a canvas of another manifest than the one it hangs on
        ("target", "/items/0/annotations/0/items/0/target")
    },
}


@pytest.mark.reference
def test_the_cookbook_gives_no_false_alarm(reference: Path) -> None:
    root = reference / "reference/iiif/cookbook"
    told = {}
    checked = 0
    for path in sorted(root.rglob("*.json")):
        tree = json.loads(path.read_text(encoding="utf-8"))
        if not iiif.is_old(tree):
            checked += 1
            if faults := found(tree):
                told[path.relative_to(root).as_posix()] = faults

    assert checked == 110
    assert told == TRUE_FAULTS


@pytest.mark.reference
def test_worked_examples_are_clean(reference: Path) -> None:
    paths = sorted((reference / "examples/iiif").glob("*.json"))

    assert len(paths) == 8
    for path in paths:
        assert found(json.loads(path.read_text(encoding="utf-8"))) == set(), path.name


@pytest.mark.reference
def test_what_the_official_schema_lets_pass(reference: Path) -> None:
    schema = Schema(reference)
    silent = []
    for name, make, change, _ in TABLE:
        tree = make()
        change(tree)
        if tree.get("type") in ("Manifest", "Collection") and not schema.faults(tree):
            silent.append(name)

    assert [name for name, *_ in TABLE if name.startswith("*")] == silent
    assert (len(silent), len(TABLE)) == (45, 83)
