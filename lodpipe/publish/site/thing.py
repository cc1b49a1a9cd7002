"""Pages of things: an album, a page of it, and whatever lies on it or stands alone."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lodpipe.publish import iiif
from lodpipe.publish.site.desk import Desk, Link
from lodpipe.publish.site.frame import About, Page, about, numbers, page_path
from lodpipe.publish.site.lists import Lister, numbered
from lodpipe.publish.site.reading import (
    DESCRIPTION,
    DIMENSIONS,
    INSCRIPTION,
    MAKING,
    RIGHTS,
    acts,
    listed,
    texts,
)
from lodpipe.publish.site.table import Group, Short, groups_of, in_short
from lodpipe.publish.site.timeline import Chart, Item, chart, spans_of, stays_of
from lodpipe.records import Placed, Tree

AROUND = 200
"""Days before and after the days that are left in which whereabouts are shown."""


@dataclass(frozen=True, slots=True)
class Region:
    """What lies on a picture: corners of its outline in pixels of it, and where it leads."""

    points: str
    link: Link


def thing(uri: str, tree: Tree, desk: Desk, lister: Lister) -> Iterator[Page]:
    """Yield the page of a thing."""
    groups = groups_of(uri, tree, desk)
    short = in_short(groups, tree, desk)
    line = lister.keep(uri, desk.language, short)
    found = About(
        uri,
        tree,
        line,
        credit(groups, short),
        desk.pictures(uri),
        desk.catalogue.notices(uri),
    )
    path = page_path(uri, desk)
    context = about(desk, found, path, crumbs=crumbs(uri, desk))
    context |= {
        "short": short,
        "pictures": found.pictures,
        "regions": regions(uri, desk),
        "groups": groups,
        "terms": terms(tree, desk),
        "chart": evidence(groups, uri, tree, desk),
        "threads": threads(uri, desk),
        "same": [desk.link(other) for other in _same_picture(uri, tree, desk)],
        "parts_of": [lister.card(part, desk, above=found.notices) for part in _parts(uri, desk)],
        "sessions": _sessions(tree, desk),
    }
    yield Page(path, "thing.html", context)


def album(uri: str, tree: Tree, desk: Desk, lister: Lister) -> Iterator[Page]:
    """Yield the pages of an album: its leaves in order, with what lies on each."""
    groups = groups_of(uri, tree, desk)
    short = in_short(groups, tree, desk)
    line = lister.keep(uri, desk.language, short)
    found = About(uri, tree, line, pictures=desk.pictures(uri), notices=desk.catalogue.notices(uri))
    cards = []
    for leaf in leaves(uri, desk):
        card = lister.card(leaf, desk, above=found.notices)
        items = [
            lister.card(item, desk, pictured=False, above=found.notices) for item in on(leaf, desk)
        ]
        cards.append((card, items))
    size = 30
    parts = [cards[at : at + size] for at in range(0, len(cards), size)] or [[]]
    paths = [page_path(uri, desk, number) for number in range(1, len(parts) + 1)]
    for number, part in enumerate(parts, start=1):
        context = about(desk, found, paths[number - 1], "albums")
        context |= numbered(paths, desk, number)
        context |= {
            "short": short,
            "pictures": found.pictures,
            "leaves": part,
            "groups": groups,
            "terms": terms(tree, desk),
            "threads": threads(uri, desk),
        }
        yield Page(paths[number - 1], "album.html", context)


def leaf(uri: str, tree: Tree, desk: Desk, lister: Lister) -> Iterator[Page]:
    """Yield the page of a page: its picture with regions that lead to what lies there."""
    items = on(uri, desk)
    notices = desk.catalogue.notices_on(uri)
    pictures = desk.pictures(uri)
    found = About(uri, tree, pictures=pictures, notices=notices)
    path = page_path(uri, desk)
    context = about(desk, found, path, crumbs=crumbs(uri, desk))
    groups = groups_of(uri, tree, desk)
    before, after = _beside(uri, desk)
    context |= {
        "pictures": pictures,
        "regions": regions(uri, desk),
        "hidden": uri in desk.catalogue.plan.sheets and not pictures,
        "items": [lister.card(item, desk, above=notices) for item in items],
        "groups": groups,
        "terms": terms(tree, desk),
        "before": before,
        "after": after,
    }
    yield Page(path, "leaf.html", context)


def credit(groups: Sequence[Group], short: Sequence[Short]) -> str:
    """Return the line of attribution of a thing, empty where nobody says who made it."""
    made = groups and groups[0].aspect == "maker" and groups[0].node in MAKING
    return short[0].text if made else ""


def leaves(uri: str, desk: Desk) -> list[str]:
    """Return what is placed on an album, in order, each once, as far as it may leave."""
    placed = desk.catalogue.plan.on.get(uri, ())
    return list(dict.fromkeys(row.thing for row in placed if desk.catalogue.kind(row.thing)))


def on(uri: str, desk: Desk) -> list[str]:
    """Return what lies on a thing, in order, each once."""
    return [thing for thing in leaves(uri, desk) if thing != uri]


def crumbs(uri: str, desk: Desk) -> list[Link]:
    """Return the way from the album down to a thing, itself left out."""
    found: list[Link] = []
    at, seen = uri, {uri}
    while True:
        placed = desk.catalogue.plan.places.get(at)
        tree = desk.catalogue.reader.get(at) or {}
        above = placed[0].on if placed else ""
        if not above:
            parents = [*listed(tree.get("part_of")), *listed(tree.get("held_or_supported_by"))]
            above = next((node["id"] for node in parents if "id" in node), "")
        if not above or above in seen or not desk.catalogue.kind(above):
            return found
        seen.add(above)
        found.insert(0, desk.link(above))
        at = above


def regions(uri: str, desk: Desk) -> list[Region]:
    """Return the regions of the first picture of a thing, in the order of the layout."""
    plan = desk.catalogue.plan
    sheets = plan.sheets.get(uri)
    if not sheets:
        return []
    image = sheets[0].image
    return [
        Region(_points(row), desk.link(row.thing))
        for row in plan.on.get(uri, ())
        if row.region
        and plan.sheet_of(row) == sheets[0]
        and desk.catalogue.kind(row.thing)
        and iiif.box(row.region)[2] <= image.width
    ]


def _points(row: Placed) -> str:
    region = row.region
    if len(region) == 4:
        x, y, width, height = region
        region = (x, y, x + width, y, x + width, y + height, x, y + height)
    return " ".join(f"{x},{y}" for x, y in zip(region[0::2], region[1::2], strict=True))


def terms(tree: Tree, desk: Desk) -> list[tuple[str, list[Link]]]:
    """Return what the record says of a thing that no claim is about: heads and texts."""
    tags = desk.settings.tags
    found = []
    for head, term in (
        ("description", DESCRIPTION),
        ("inscription", INSCRIPTION),
        ("size", DIMENSIONS),
        ("rights-picture", RIGHTS),
    ):
        said = [Link(text, "", tag) for tag, text in texts(tree, term, tags)]
        own = [link for link in said if link.language in ("", desk.language)]
        chosen = said if term == INSCRIPTION else own or said
        found.append((desk.word(head), chosen))
    owners = [desk.link(node["id"]) for node in tree.get("current_owner", ()) if "id" in node]
    found.append((desk.word("kept"), owners))
    found.append((desk.word("number"), [Link(text) for text in numbers(tree)]))
    return [(head, links) for head, links in found if links]


def evidence(groups: Sequence[Group], uri: str, tree: Tree, desk: Desk) -> Chart | None:
    """Return the picture of the days that are left, and of where those in question were then."""
    verdicts = dict(desk.catalogue.reader.verdicts(uri))
    for node in tree.get("shows", ()):
        verdicts |= desk.catalogue.reader.verdicts(node["id"])
    lanes: list[tuple[str, list[Item]]] = []
    for row in (row for group in groups for row in group.rows):
        spans = spans_of(verdicts[row.key]["feasible"]) if row.key in verdicts else []
        if spans and (row.kind not in ("former", "rejected")):
            href = f"#{row.anchor}"
            lanes.append((row.words, [Item(span, row.words, href, "days") for span in spans]))
    if not lanes:
        return None
    days = [item.span for _, items in lanes for item in items]
    low, high = min(first for first, _ in days) - AROUND, max(last for _, last in days) + AROUND
    people = dict.fromkeys(
        claim.value
        for claim in desk.catalogue.reader.claims(uri)
        if claim.aspect in ("maker", "sitter") and claim.value
    )
    for who in people:
        near = [
            item
            for _, items in stays_of(desk.catalogue.stays_of.get(who, ()), desk)
            for item in items
            if item.span[1] >= low and item.span[0] <= high
        ]
        near = [_within(item, low, high) for item in near]
        if near:
            lanes.append((desk.word("whereabouts-of", name=desk.name(who)), near))
    return chart(lanes)


def _within(item: Item, low: int, high: int) -> Item:
    span = max(item.span[0], low), min(item.span[1], high)
    return Item(span, item.text, item.href, item.kind, item.sources)


def threads(uri: str, desk: Desk) -> list[tuple[Link, Link | None]]:
    """Return the threads that lead to a thing, each with its next stop."""
    found = []
    for thread in desk.catalogue.threads_of.get(uri, ()):
        things = list(dict.fromkeys(stop.thing for stop in desk.catalogue.plan.threads[thread]))
        if desk.catalogue.kind(thread):
            after = next((t for t in things[things.index(uri) + 1 :] if desk.href(t)), "")
            found.append((desk.link(thread), desk.link(after) if after else None))
    return found


def _same_picture(uri: str, tree: Tree, desk: Desk) -> list[str]:
    others = [
        other
        for node in tree.get("shows", ())
        for other in desk.catalogue.images.get(node["id"], ())
    ]
    return [other for other in dict.fromkeys(others) if other != uri]


def _parts(uri: str, desk: Desk) -> list[str]:
    laid = on(uri, desk)
    return [*laid, *(part for part in desk.catalogue.parts.get(uri, ()) if part not in laid)]


def _sessions(tree: Tree, desk: Desk) -> list[Link]:
    nodes = [node for act in acts(tree) for node in listed(act.node.get("part_of"))]
    return [desk.link(node["id"]) for node in nodes if "id" in node]


def _beside(uri: str, desk: Desk) -> tuple[Link | None, Link | None]:
    placed = desk.catalogue.plan.places.get(uri, ())
    order = leaves(placed[0].on, desk) if placed else []
    if uri not in order:
        return None, None
    at = order.index(uri)
    return (
        desk.link(order[at - 1]) if at else None,
        desk.link(order[at + 1]) if at + 1 < len(order) else None,
    )
