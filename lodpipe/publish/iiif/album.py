"""The manifest of an album: a canvas for each side of a page, ranges, links to the pasted items."""

from collections.abc import Iterator

from lodpipe.iris import document_iri
from lodpipe.publish.iiif import rows
from lodpipe.publish.iiif.common import (
    Desk,
    add_links,
    add_thumbnail,
    head,
    lead,
    linking,
    painting,
    region,
    thumbnail,
    whole,
)
from lodpipe.publish.iiif.plan import Sheet, box, inside
from lodpipe.publish.iiif.settings import OBJECT, LanguageMap, phrase, short_key, word
from lodpipe.records import Placed, Stop, Tree

SHORT_TEXT = 80
"""A text of a stop up to this length is its label; a longer one is a comment on the picture."""

UNTURNED = ("fold-out", "loose")
"""Leaves that are no page of a bound book: https://iiif.io/cookbook/recipe/0035-foldouts/"""

Leaf = tuple[Placed, Sheet, str]
"""What is placed, the side of it that is seen, and the last part of the canvas's id."""


def album(uri: str, tree: Tree, desk: Desk) -> Tree:
    """Return the manifest of an album; `items` is empty when no page of it has a picture."""
    made, noticed = head(uri, tree, rows.productions_of(tree), desk)
    leaves = list(_leaves(uri, desk))
    paged = any("verso" in (placed.side, sheet.side) for placed, sheet, _ in leaves)
    made["behavior"] = ["paged" if paged else "individuals"]
    add_links(made, uri, tree, desk)
    made["items"] = []
    contents: list[Tree] = []
    ids = _Ids(made["id"] + "/range/")
    for placed, sheet, key in leaves:
        canvas = _canvas(made["id"], placed, sheet, key, desk)
        if paged and placed.side in UNTURNED:
            canvas["behavior"] = ["non-paged"]
        made["items"].append(canvas)
        contents.append(_range(canvas, sheet, ids.of(key), ids, desk))
    add_thumbnail(made, noticed=noticed)
    if contents:
        made["structures"] = [
            {
                "id": made["id"] + "/range/contents",
                "type": "Range",
                "label": word("contents", desk.site.languages),
                "items": contents,
            },
            *_threads(made, leaves, ids, desk),
        ]
    return made


def _leaves(uri: str, desk: Desk) -> Iterator[Leaf]:
    """Yield each canvas of an album in order: its own pictures first, then what is placed on it."""
    own = [Placed(uri, uri)] if uri in desk.plan.sheets else []
    seen = set()
    for placed in (*own, *desk.plan.on[uri]):
        if placed.thing in seen or not desk.may_leave(placed.thing):
            continue
        seen.add(placed.thing)
        key = _leaf_key(uri, placed.thing, desk)
        for number, sheet in enumerate(desk.plan.sheets.get(placed.thing, ())):
            yield placed, sheet, f"{key}-{sheet.side}" if number and sheet.side else key


def _leaf_key(album: str, page: str, desk: Desk) -> str:
    """Return the page's key without the album's, unless an item of the album has that name."""
    whole = short_key(desk.site.base, page)
    short = whole.removeprefix(short_key(desk.site.base, album) + "-")
    if short == whole or document_iri(desk.site.base, OBJECT + short) in desk.plan.places:
        return whole
    return short


def _canvas(manifest_id: str, placed: Placed, sheet: Sheet, key: str, desk: Desk) -> Tree:
    made: Tree = {
        "id": f"{manifest_id}/canvas/{key}",
        "type": "Canvas",
        "label": rows.page_name(placed, sheet.side, desk.view, desk.site),
        "width": sheet.image.width,
        "height": sheet.image.height,
    }
    if sheet.thing in desk.view.hidden:
        made["requiredStatement"] = {
            "label": word("not-shown", desk.site.languages),
            "value": word("page-not-shown", desk.site.languages),
        }
        made["items"] = []
        return made
    picture = whole(sheet, desk.site)
    if small := thumbnail(picture, desk.site):
        made["thumbnail"] = small
    made["items"] = [painting(made["id"], picture)]
    source = {
        "id": made["id"],
        "type": "Canvas",
        "partOf": [{"id": manifest_id, "type": "Manifest"}],
    }
    links = [
        linking(
            f"{made['id']}/items/{short_key(desk.site.base, item.thing)}",
            lead(item.thing, desk),
            region(source, item.region, sheet.image),
        )
        for item in pasted_on(sheet, desk)
    ]
    if links:
        made["annotations"] = [
            {"id": made["id"] + "/items", "type": "AnnotationPage", "items": links}
        ]
    return made


def pasted_on(sheet: Sheet, desk: Desk) -> list[Placed]:
    """Return what lies on a side with a region on its picture and may leave, each thing once."""
    found: dict[str, Placed] = {}
    if sheet.thing in desk.view.hidden:
        return []
    for placed in desk.plan.on.get(sheet.thing, ()):
        seen = desk.plan.sheet_of(placed) is sheet and bool(placed.region)
        if seen and inside(box(placed.region), sheet.image) and desk.may_leave(placed.thing):
            found.setdefault(placed.thing, placed)
    return list(found.values())


class _Ids:
    """Ids of ranges: a thing that lies in two places of an album has a second one with `-2`."""

    def __init__(self, start: str) -> None:
        self._start, self._taken = start, set[str]()

    def of(self, key: str) -> str:
        """Return an id that no range of this album has yet."""
        free, number = key, 1
        while free in self._taken:
            number += 1
            free = f"{key}-{number}"
        self._taken.add(free)
        return self._start + free


def _range(canvas: Tree, sheet: Sheet, range_id: str, ids: _Ids, desk: Desk) -> Tree:
    items: list[Tree] = [{"id": canvas["id"], "type": "Canvas"}]
    items += [
        {
            "id": ids.of(short_key(desk.site.base, item.thing)),
            "type": "Range",
            "label": desk.name(item.thing),
            "items": [region(canvas["id"], item.region, sheet.image)],
        }
        for item in pasted_on(sheet, desk)
    ]
    return {"id": range_id, "type": "Range", "label": canvas["label"], "items": items}


# --- threads: further Range hierarchies, without `sequence`, which would turn the pages for everyone


def _threads(made: Tree, leaves: list[Leaf], ids: _Ids, desk: Desk) -> Iterator[Tree]:
    """Yield a Range for each thread that passes through the album; comments go onto its canvases."""
    canvases = {canvas["id"]: canvas for canvas in made["items"]}
    at = {
        (sheet.thing, sheet.side): f"{made['id']}/canvas/{key}"
        for _, sheet, key in leaves
        if sheet.thing not in desk.view.hidden
    }
    for thread, stops in desk.plan.threads.items():
        if not desk.may_leave(thread):
            continue
        key = short_key(desk.site.base, thread).removeprefix("set/")
        range_id, items = "", list[Tree]()
        for number, (stop, texts) in _numbered(stops):
            target = _target(stop, at, desk)
            if target is None:
                continue
            range_id = range_id or ids.of(key)
            short = texts and all(len(text) <= SHORT_TEXT for text in _flat(texts))
            items.append(
                {
                    "id": f"{range_id}/{number}",
                    "type": "Range",
                    "label": texts if short else desk.name(stop.thing),
                    "items": [target],
                }
            )
            if texts and not short:
                canvas = canvases[target.get("source") or target["id"]]
                _comment(canvas, f"{key}/{number}", texts, target)
        if items:
            yield {
                "id": range_id,
                "type": "Range",
                "label": phrase("thread", desk.site.languages, name=desk.name(thread)),
                "items": items,
            }


def _numbered(stops: tuple[Stop, ...]) -> list[tuple[str, tuple[Stop, LanguageMap]]]:
    """Return each stop once, with its text in every language; a second thing of one order gets -2."""
    found: dict[tuple[int, str], tuple[Stop, LanguageMap]] = {}
    for stop in stops:
        _, texts = found.setdefault((stop.order, stop.thing), (stop, {}))
        if stop.text:
            texts.setdefault(stop.language or "none", []).append(stop.text)
    numbers: list[str] = []
    for order, _ in found:
        before = sum(1 for number in numbers if number.split("-")[0] == str(order))
        numbers.append(f"{order}-{before + 1}" if before else str(order))
    return list(zip(numbers, found.values(), strict=True))


def _target(stop: Stop, at: dict[tuple[str, str], str], desk: Desk) -> Tree | None:
    """Return where a stop is seen: a region of a canvas, or a canvas; None when in another album."""
    if not desk.may_leave(stop.thing):
        return None
    spot = desk.plan.spot(stop.thing)
    own = next(iter(desk.plan.sheets.get(stop.thing, ())), None)
    sheet = spot[1] if spot else own
    canvas = at.get((sheet.thing, sheet.side)) if sheet else None
    if sheet is None or canvas is None:
        return None
    area = stop.region or (spot[0].region if spot else ())
    if area and inside(box(area), sheet.image):
        return region(canvas, area, sheet.image)
    return {"id": canvas, "type": "Canvas"}


def _comment(canvas: Tree, key: str, texts: LanguageMap, target: Tree) -> None:
    pages = canvas.setdefault("annotations", [])
    page_id = f"{canvas['id']}/comments"
    if not pages or pages[-1]["id"] != page_id:
        pages.append({"id": page_id, "type": "AnnotationPage", "items": []})
    for tag, text in zip(texts, _flat(texts), strict=True):
        body: Tree = {"type": "TextualBody", "value": text, "format": "text/plain"}
        if tag != "none":
            body["language"] = tag
        pages[-1]["items"].append(
            {
                "id": f"{page_id}/{key}" + ("" if tag == "none" else f"/{tag}"),
                "type": "Annotation",
                "motivation": "commenting",
                "body": body,
                "target": target if "selector" in target else canvas["id"],
            }
        )


def _flat(texts: LanguageMap) -> list[str]:
    return ["\n".join(contents) for contents in texts.values()]
