"""Pages of makers, places, sources, threads and sessions."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from lodpipe.evidence.facts import Stay
from lodpipe.publish.iiif.rows import edtf_of
from lodpipe.publish.site.catalogue import Pair
from lodpipe.publish.site.desk import Desk, Link
from lodpipe.publish.site.frame import About, Context, Page, about, page_path
from lodpipe.publish.site.lists import Card, Lister, Section, numbered, sectioned, words_of
from lodpipe.publish.site.reading import (
    BIOGRAPHY,
    CITATION,
    DESCRIPTION,
    DISPLAY_NAME,
    FORMER_NAME,
    PRIMARY_NAME,
    has_type,
    listed,
    tag_of,
    texts,
)
from lodpipe.publish.site.table import groups_of
from lodpipe.publish.site.timeline import Item, chart, stays_of
from lodpipe.records import Claim, Tree
from lodpipe.terms import VOCAB
from lodpipe.wording import aspect_word

KINDS = ("certain", "hedged", "proposed", "former", "rejected")
_HEADS = {
    "certain": "made-sure",
    "hedged": "made-hedged",
    "proposed": "made-proposed",
    "former": "made-former",
    "rejected": "made-rejected",
}
_LIVES = (
    ("born", "born"),
    ("died", "died"),
    ("formed_by", "formed"),
    ("dissolved_by", "dissolved"),
)


def maker(uri: str, tree: Tree, desk: Desk, lister: Lister) -> Iterator[Page]:
    """Yield the pages of a person or group: the certain, the doubted and the given up kept apart."""
    catalogue = desk.catalogue
    pairs = catalogue.by_value.get(uri, ())
    made = by_standing(pairs, ("maker",), desk, lister, catalogue.made.get(uri, {}))
    shown = by_standing(
        pairs, ("sitter", "depicts", "same_sitter_as"), desk, lister, _seen(uri, desk)
    )
    sections = [*made, *(_under(desk.word("seen-here"), section) for section in shown)]
    sections.append(Section(desk.word("members"), _cards(catalogue.members.get(uri, ()), desk)))
    sections.append(
        Section(desk.word("claims-by", name=desk.name(uri)), _spoken(uri, desk, lister))
    )
    yield from _listed(
        uri,
        tree,
        desk,
        "maker.html",
        sections,
        {
            "terms": _life(tree, desk),
            "text": _texts(tree, desk, BIOGRAPHY, DESCRIPTION),
            "groups": groups_of(uri, tree, desk),
            **whereabouts(catalogue.stays_of.get(uri, ()), desk),
            "stays_head": desk.word("whereabouts-of", name=desk.name(uri)),
            "apart": bool(pairs),
        },
        "makers",
    )


def place(uri: str, tree: Tree, desk: Desk, lister: Lister) -> Iterator[Page]:
    """Yield the pages of a place: its names of all times, what was made there, who was there."""
    catalogue = desk.catalogue
    pairs = catalogue.by_value.get(uri, ())
    plain = dict.fromkeys(catalogue.placed.get(uri, ()), "")
    sections = [
        _under(desk.word("made-here"), section)
        for section in by_standing(pairs, ("place",), desk, lister, plain)
    ]
    sections += [
        _under(desk.word("seen-here"), section)
        for section in by_standing(pairs, ("depicts",), desk, lister, _seen(uri, desk))
    ]
    inside = [one for one in catalogue.parts.get(uri, ()) if catalogue.kind(one) == "place"]
    sections.append(Section(desk.word("places-in"), _cards(inside, desk)))
    lies = [desk.link(node["id"]) for node in listed(tree.get("part_of")) if "id" in node]
    yield from _listed(
        uri,
        tree,
        desk,
        "place.html",
        sections,
        {
            "names": _names(tree, desk),
            "terms": [(desk.word("lies-in"), lies)] if lies else [],
            "text": _texts(tree, desk, DESCRIPTION),
            "groups": groups_of(uri, tree, desk),
            **whereabouts(catalogue.stays_at.get(uri, ()), desk, by_who=True),
            "stays_head": desk.word("whereabouts-at", name=desk.name(uri)),
        },
        "places",
    )


def source(uri: str, tree: Tree, desk: Desk, lister: Lister) -> Iterator[Page]:
    """Yield the pages of a source: what it is, and what rests on it."""
    catalogue = desk.catalogue
    sections = []
    for kind, section in zip(
        KINDS, by_standing(catalogue.by_source.get(uri, ()), (), desk, lister, {}), strict=True
    ):
        sections.append(Section(f"{desk.word('claims')}: {section.head}", section.cards, kind))
    created = tree.get("created_by", {})
    terms = [
        (desk.word("written"), [Link(text)])
        for text in [_when(created.get("timespan", {}), desk)]
        if text
    ]
    authors = [desk.link(node["id"]) for node in created.get("carried_out_by", ()) if "id" in node]
    terms += [(desk.word("who-wrote"), authors)] if authors else []
    yield from _listed(
        uri,
        tree,
        desk,
        "source.html",
        sections,
        {
            "text": _texts(tree, desk, CITATION, DESCRIPTION),
            "terms": terms,
            "groups": groups_of(uri, tree, desk),
            **whereabouts(catalogue.stays_from.get(uri, ()), desk, by_who=True),
            "stays_head": desk.word("facts"),
        },
        "",
    )


def thread(uri: str, tree: Tree, desk: Desk, lister: Lister) -> Iterator[Page]:
    """Yield the pages of a thread: its stops in order with their words; or of another set."""
    stops: list[Card] = []
    for stop in desk.catalogue.plan.threads.get(uri, ()):
        if not desk.catalogue.kind(stop.thing):
            continue
        card = lister.card(stop.thing, desk)
        same = bool(stops) and stops[-1].link.href == card.link.href
        other = stop.language not in ("", desk.language)
        if same and other:
            continue  # the words of this stop stand there in the language of the page, or another
        language = stop.language if other else ""
        stops.append(replace(card, said=stop.text, language=language))
    known = {card.link.href for card in stops}
    members = desk.catalogue.members.get(uri, ())
    rest = [member for member in members if desk.href(member) not in known]
    sections = [
        Section(desk.word("stops"), stops, "stops"),
        Section(desk.word("things"), [lister.card(one, desk) for one in rest]),
    ]
    context = {
        "text": _texts(tree, desk, DESCRIPTION),
        "terms": [],
        "groups": groups_of(uri, tree, desk),
        "thread": bool(stops),
    }
    yield from _listed(uri, tree, desk, "thread.html", sections, context, "")


def event(uri: str, tree: Tree, desk: Desk, lister: Lister) -> Iterator[Page]:
    """Yield the pages of a session or another act: when, where, and what belongs to it."""
    things = [lister.card(one, desk) for one in desk.catalogue.members.get(uri, ())]
    terms = [
        (desk.word("places"), [desk.link(n["id"]) for n in tree.get("took_place_at", ())]),
        (desk.word("makers"), [desk.link(n["id"]) for n in tree.get("carried_out_by", ())]),
    ]
    context = {
        "text": _texts(tree, desk, DESCRIPTION),
        "terms": [(head, links) for head, links in terms if links],
        "groups": groups_of(uri, tree, desk),
        "thread": False,
    }
    yield from _listed(
        uri, tree, desk, "thread.html", [Section(desk.word("things"), things)], context, ""
    )


def by_standing(
    pairs: Iterable[Pair],
    aspects: Sequence[str],
    desk: Desk,
    lister: Lister,
    plain: dict[str, str],
) -> list[Section]:
    """Return things by how surely they are somebody's: certain, hedged, proposed, given up, rejected.

    Args:
        aspects: of the claims that count; empty for all.
        plain: things of which it is stated, with the role of the act if it is one of making; those
            that a claim below states are not told twice.
    """
    cards: dict[str, list[Card]] = {kind: [] for kind in KINDS}
    told = set()
    for document, claim in desk.catalogue.claims(pairs):
        if aspects and claim.aspect not in aspects:
            continue
        kind = words_of(document, claim, desk)[1]
        for thing in desk.catalogue.things_of(document):
            told.add(thing)
            card = lister.claim(thing, document, claim, desk)
            cards["hedged" if kind == "alternative" else kind].append(card)
    stated = [
        replace(lister.card(thing, desk, pictured=False), said=_as(role, desk))
        for thing, role in plain.items()
        if thing not in told
    ]
    cards["certain"] = [*stated, *cards["certain"]]
    return [Section(desk.word(_HEADS[kind]), cards[kind], kind) for kind in KINDS]


def _as(role: str, desk: Desk) -> str:
    """Return as what somebody worked on a thing, where that is not the taking of the picture."""
    return aspect_word("maker", desk.language, node=role) if role not in ("", "exposure") else ""


def _listed(
    uri: str,
    tree: Tree,
    desk: Desk,
    template: str,
    sections: Sequence[Section],
    more: Context,
    here: str,
) -> Iterator[Page]:
    """Yield a document's page and, where its lists are long, the pages on which they go on."""
    parts = sectioned(sections)
    paths = [page_path(uri, desk, number) for number in range(1, len(parts) + 1)]
    text = next((link.text for link in more["text"]), "")
    found = About(uri, tree, text, notices=desk.catalogue.notices(uri))
    for number, part in enumerate(parts, start=1):
        context = about(desk, found, paths[number - 1], here)
        context |= more | numbered(paths, desk, number) | {"sections": part}
        yield Page(paths[number - 1], template, context)


def _under(head: str, section: Section) -> Section:
    return Section(f"{head}: {section.head}", section.cards, section.kind)


def _seen(uri: str, desk: Desk) -> dict[str, str]:
    images = desk.catalogue.shown.get(uri, ())
    return {thing: "" for image in images for thing in desk.catalogue.things_of(image)}


def _cards(uris: Iterable[str], desk: Desk) -> list[Card]:
    return [Card(desk.link(uri)) for uri in uris if desk.catalogue.kind(uri)]


def _spoken(uri: str, desk: Desk, lister: Lister) -> list[Card]:
    found: list[tuple[str, Claim]] = desk.catalogue.claims(desk.catalogue.by_speaker.get(uri, ()))
    return [
        lister.claim(thing, document, claim, desk)
        for document, claim in found
        for thing in desk.catalogue.things_of(document)
    ]


def whereabouts(stays: Iterable[Stay], desk: Desk, *, by_who: bool = False) -> Context:
    """Return whereabouts as a picture and as a list, by place or by person."""
    if by_who:
        people: dict[str, list[Stay]] = {}
        for stay in stays:
            people.setdefault(stay.who, []).append(stay)
        lanes: list[tuple[str, list[Item]]] = [
            (desk.name(who), [item for _, items in stays_of(mine, desk) for item in items])
            for who, mine in people.items()
        ]
    else:
        lanes = stays_of(stays, desk)
    items = sorted((item for _, found in lanes for item in found), key=lambda item: item.span)
    return {"lanes": lanes, "chart": chart(lanes), "stays": items}


def _life(tree: Tree, desk: Desk) -> list[tuple[str, list[Link]]]:
    found = []
    for key, head in _LIVES:
        for node in listed(tree.get(key)):
            text = _when(node.get("timespan", {}), desk)
            where = [desk.link(one["id"]) for one in node.get("took_place_at", ()) if "id" in one]
            found.append((desk.word(head), [*([Link(text)] if text else []), *where]))
    active = [_when(node.get("timespan", {}), desk) for node in tree.get("carried_out", ())]
    found.append((desk.word("active"), [Link(text) for text in dict.fromkeys(active) if text]))
    found.append((desk.word("belongs"), [desk.link(n["id"]) for n in tree.get("member_of", ())]))
    return [(head, links) for head, links in found if links]


def _when(span: Tree, desk: Desk) -> str:
    edtf = edtf_of(span)
    if edtf:
        return desk.date(edtf, lasting="/" in edtf)
    names = span.get("identified_by", ())
    return next((str(name["content"]) for name in names if has_type(name, DISPLAY_NAME)), "")


def _names(tree: Tree, desk: Desk) -> list[tuple[str, list[Link]]]:
    """Return all names of a place by kind, in the order of the record, each once."""
    community = desk.settings.base + VOCAB + "name/community"
    found: dict[str, dict[str, Link]] = {}
    for node in tree.get("identified_by", ()):
        if node.get("type") != "Name":
            continue
        kind = (
            "name-now"
            if has_type(node, PRIMARY_NAME)
            else "name-former"
            if has_type(node, FORMER_NAME)
            else "name-community"
            if has_type(node, community)
            else "name-other"
        )
        link = Link(node["content"], "", tag_of(node, desk.settings.tags))
        found.setdefault(desk.word(kind), {}).setdefault(node["content"], link)
    return [(head, list(links.values())) for head, links in found.items()]


def _texts(tree: Tree, desk: Desk, *terms: str) -> list[Link]:
    found = [
        Link(text, "", tag) for term in terms for tag, text in texts(tree, term, desk.settings.tags)
    ]
    return [link for link in found if link.language in ("", desk.language)] or found
