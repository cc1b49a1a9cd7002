"""The manifest of one thing: a pasted item, a loose insert, or a print in no album."""

from lodpipe.publish.iiif import rows
from lodpipe.publish.iiif.common import (
    CONTEXT,
    NAV_PLACE_CONTEXT,
    Desk,
    add_links,
    add_thumbnail,
    cut,
    head,
    lead,
    linking,
    painting,
    reference,
    region,
    thumbnail,
    whole,
)
from lodpipe.publish.iiif.plan import Sheet, album_of, box, inside
from lodpipe.publish.iiif.settings import phrase, word
from lodpipe.records import Image, Placed, Tree

HALVES = ("left", "right")


def item(uri: str, tree: Tree, desk: Desk) -> Tree:
    """Return the manifest of a thing; `items` is empty when there is no picture of it to show."""
    productions = rows.productions_of(tree)
    made, noticed = head(uri, tree, productions, desk)
    album = album_of(desk.plan, uri)
    if album and desk.may_leave(album):
        made["partOf"] = [reference(album, "Manifest", desk)]
    if day := rows.nav_date_of(productions):
        made["navDate"] = day
    _add_place(made, productions, desk)
    add_links(made, uri, tree, desk)
    made["items"] = []
    for number, (sheet, picture) in enumerate(_pictures(uri, desk), start=1):
        canvas: Tree = {
            "id": f"{made['id']}/canvas/{number}",
            "type": "Canvas",
            "label": rows.side_name(made["label"], sheet.side, desk.site),
            "width": sheet.image.width,
            "height": sheet.image.height,
        }
        if small := thumbnail(picture, desk.site):
            canvas["thumbnail"] = small
        canvas["items"] = [painting(canvas["id"], picture)]
        made["items"].append(canvas)
        if number == 1:
            _add_parts(made, canvas, uri, sheet.image, desk)
    add_thumbnail(made, noticed=noticed)
    return made


def _pictures(uri: str, desk: Desk) -> list[tuple[Sheet, Tree]]:
    """Return the pictures of a thing: its own, and where none shows its front, its place on the page."""
    own = () if uri in desk.view.hidden else desk.plan.sheets.get(uri, ())
    found = [(sheet, whole(sheet, desk.site)) for sheet in own]
    spot = desk.plan.cut(uri)
    unseen = desk.view.hidden & {uri, spot[1].thing if spot else uri}
    if spot is None or unseen or not desk.may_leave(spot[1].thing):
        return found
    placed, sheet = spot
    area = box(placed.region)
    image = Image(uri, width=area[2], height=area[3])
    return [(Sheet(uri, "", (image,)), cut(uri, area, sheet, desk)), *found]


def _add_parts(made: Tree, canvas: Tree, uri: str, image: Image, desk: Desk) -> None:
    """Add what is placed on the thing: halves as ranges, cut-out figures as links to their prints.

    The regions count from the corner of the thing's own picture.
    """
    placed = [
        row
        for row in desk.plan.on.get(uri, ())
        if row.region and inside(box(row.region), image) and desk.may_leave(row.thing)
    ]
    links = [
        linking(
            f"{canvas['id']}/parts/{number}",
            lead(
                row.thing,
                desk,
                phrase("cut-from", desk.site.languages, name=desk.name(row.thing)),
            ),
            region(canvas["id"], row.region, image),
        )
        for number, row in enumerate((r for r in placed if r.side not in HALVES), start=1)
    ]
    if links:
        canvas["annotations"] = [
            {"id": canvas["id"] + "/items", "type": "AnnotationPage", "items": links}
        ]
    halves = [
        _half(made["id"], canvas["id"], row, image, desk) for row in placed if row.side in HALVES
    ]
    if halves:
        made["structures"] = [
            {
                "id": made["id"] + "/range/halves",
                "type": "Range",
                "label": word("halves", desk.site.languages),
                "items": halves,
            }
        ]


def _half(manifest_id: str, canvas: str, row: Placed, image: Image, desk: Desk) -> Tree:
    return {
        "id": f"{manifest_id}/range/{row.side}",
        "type": "Range",
        "label": word(row.side, desk.site.languages),
        "items": [region(canvas, row.region, image)],
    }


def _add_place(made: Tree, productions: list[tuple[str, Tree]], desk: Desk) -> None:
    """Add the certain places as navPlace; its context stands before that of the Presentation API.

    https://iiif.io/api/extension/navplace/: GeoJSON, longitude first.
    """
    features = [
        {
            "id": uri + "#point",
            "type": "Feature",
            "properties": {"label": label},
            "geometry": {"type": "Point", "coordinates": [longitude, latitude]},
        }
        for uri, label, longitude, latitude in rows.nav_place_of(productions, desk.view, desk.site)
    ]
    if features:
        made["@context"] = [NAV_PLACE_CONTEXT, CONTEXT]
        made["navPlace"] = {
            "id": made["id"] + "/place",
            "type": "FeatureCollection",
            "features": features,
        }
