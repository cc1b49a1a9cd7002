"""What a manifest is told by the document: names, notices, licence, day, place, makers.

A document states directly only what is current and certain; what is doubted stands in it as a
claim, whose words are for `described`.
"""

import re
from collections.abc import Iterable

from lodpipe.publish.iiif.settings import (
    LanguageMap,
    Notice,
    Site,
    View,
    nearest,
    phrase,
    word,
)
from lodpipe.records import Placed, Tree
from lodpipe.terms import VOCAB

PRIMARY_NAME = "http://vocab.getty.edu/aat/300404670"
DISPLAY_NAME = "http://vocab.getty.edu/aat/300404669"
DESCRIPTION = "http://vocab.getty.edu/aat/300435416"

SIDES = ("verso", "cover")
PLACINGS = ("fold-out", "loose")
"""How a leaf lies in its album, where its label says so."""

# the roles whose maker, day and place a reader asks for first
MAKING = ("exposure", "drawing", "making", "production", "compiling", "pasting")

FACTS = ("carried_out_by", "timespan", "took_place_at", "technique", "attributed_by")
"""What a production may say of itself beside its parts."""

# https://iiif.io/api/presentation/3.0/#rights: one URI of these two houses, in its http form
RIGHTS = re.compile(
    r"http://(?:creativecommons\.org/(?:licenses|publicdomain)/|rightsstatements\.org/vocab/).+"
)

# a day or a month, without `?`, `~` or an interval: anything longer would be a placeholder
NAV_DATE = re.compile(r"[0-9]{4}-[0-9]{2}(-[0-9]{2})?")
POINT = re.compile(r"POINT ?\((-?[0-9.]+) (-?[0-9.]+)\)")


def name_of(uri: str, view: View, site: Site, reference: Tree | None = None) -> LanguageMap:
    """Return a reader's name: the caller's, else the document's, else the label of a reference.

    Labels are in the first language of the site; the name of a person or place is in none.
    """
    if given := view.label.get(uri):
        return given
    tree = view.get(uri)
    found = names(tree, site) if tree else {}
    if found:
        return found
    node = tree or reference or {}
    tag = site.languages[0] if node.get("type") == "Type" else "none"
    return {tag: [node.get("_label") or uri]}


def names(tree: Tree, site: Site) -> LanguageMap:
    """Return the primary names of a document, by language."""
    return texts_of(
        (node for node in tree.get("identified_by", ()) if node.get("type") == "Name"),
        PRIMARY_NAME,
        site,
    )


def page_name(placed: Placed, side: str, view: View, site: Site) -> LanguageMap:
    """Return the label of a canvas: the name of the page, or `Page 12`, with its side."""
    tree = view.get(placed.thing)
    name = view.label.get(placed.thing) or (names(tree, site) if tree else {})
    if not name:
        name = phrase("page", site.languages, number={"none": [str(placed.order)]})
    if placed.side in PLACINGS:
        name = phrase(f"side-{placed.side}", site.languages, name=name)
    return side_name(name, side, site)


def side_name(name: LanguageMap, side: str, site: Site) -> LanguageMap:
    """Return a name with the side that is shown, where it is not the front."""
    return phrase(f"side-{side}", site.languages, name=name) if side in SIDES else name


def notice_of(tree: Tree, uri: str, view: View, site: Site) -> Notice | None:
    """Return the notice of a thing: the caller's, else the notices that its document states.

    The community's own language stands before the languages of the site. Notices that say whose
    they are have that in their label.
    """
    if given := view.notices.get(uri):
        return given
    said, term = tree.get("referred_to_by", ()), site.base + VOCAB + "statement/community-notice"
    text = texts_of(said, term, site)
    own_first = sorted(text, key=lambda tag: tag in site.languages)
    text = {tag: text[tag] for tag in own_first}
    named = (
        name for one in said if texts_of([one], term, site) for name in one.get("identified_by", ())
    )
    whose = "; ".join(dict.fromkeys(name["content"] for name in named))
    label = word("notice", site.languages)
    if whose:
        label = phrase("notice-of", site.languages, authority={"none": [whose]})
    return Notice(label, text) if text else None


def description_of(tree: Tree, site: Site) -> LanguageMap:
    """Return the descriptions of a document, by language."""
    return texts_of(tree.get("referred_to_by", ()), DESCRIPTION, site)


def rights_of(tree: Tree, view: View, site: Site) -> str:
    """Return the licence of the picture, in the http form; empty when none that IIIF knows is named."""
    for holder in (tree, *shown(tree, view)):
        for right in holder.get("subject_to", ()):
            for concept in right.get("classified_as", ()):
                uri = _http(concept.get("id", ""))
                if uri:
                    return uri
    return _http(site.rights)


def makers_of(tree: Tree) -> dict[str, Tree]:
    """Return those who are certain to have made the picture itself: references by IRI."""
    return {
        ref["id"]: ref
        for role, node in productions_of(tree)
        if role in MAKING
        for ref in node.get("carried_out_by", ())
        if "id" in ref
    }


def nav_date_of(productions: list[tuple[str, Tree]]) -> str:
    """Return the day under which a viewer may file the thing, empty when no single one is certain.

    https://iiif.io/api/presentation/3.0/#navdate: one instant, with a zone.
    """
    for role, node in productions:
        if role in ("exposure", "drawing", "making"):
            edtf = edtf_of(node.get("timespan", {}))
            if NAV_DATE.fullmatch(edtf):
                return f"{edtf}-01T00:00:00Z" if len(edtf) == 7 else f"{edtf}T00:00:00Z"
    return ""


def edtf_of(span: Tree) -> str:
    """Return the EDTF of a time span, empty where it has none."""
    for name in span.get("identified_by", ()):
        if name.get("type") == "Identifier":
            return str(name["content"])
    return ""


def nav_place_of(
    productions: list[tuple[str, Tree]], view: View, site: Site
) -> list[tuple[str, LanguageMap, float, float]]:
    """Return IRI, name, longitude and latitude of the certain places of a thing that have a point."""
    found = []
    for role, node in productions:
        if role not in MAKING:
            continue
        for reference in node.get("took_place_at", ()):
            place = view.get(reference["id"])
            point = POINT.fullmatch(place.get("defined_by", "")) if place else None
            if point:
                label = name_of(reference["id"], view, site)
                found.append((reference["id"], label, float(point[1]), float(point[2])))
    return found


def _http(uri: str) -> str:
    uri = "http" + uri.removeprefix("https") if uri.startswith("https:") else uri
    return uri if RIGHTS.fullmatch(uri) else ""


def shown(tree: Tree, view: View) -> list[Tree]:
    """Return the images that a thing shows, as documents."""
    found = (view.get(reference["id"]) for reference in tree.get("shows", ()))
    return [visual for visual in found if visual]


def productions_of(tree: Tree) -> list[tuple[str, Tree]]:
    """Return each part of the production with its role, the taking or drawing before the printing.

    A production without parts is its own part, and so is one that says of the whole what it does
    not say of a part: a maker, say, of whom the source does not tell what he did.
    """
    whole = tree.get("produced_by") or {}
    nodes = [part for part in whole.get("part", ()) if "type" in part]
    if whole and (not nodes or any(key in whole for key in FACTS)):
        nodes = [*nodes, {key: value for key, value in whole.items() if key != "part"}]
    found = [(_role(node), node) for node in nodes]
    if len(found) < 2:
        return found
    return sorted(found, key=lambda pair: MAKING.index(pair[0]) if pair[0] in MAKING else 99)


def _role(node: Tree) -> str:
    for concept in node.get("classified_as", ()):
        _, found, role = concept.get("id", "").partition(VOCAB + "role/")
        if found:
            return str(role)
    return "production"


def labels(references: Iterable[Tree], view: View, site: Site) -> LanguageMap:
    """Return the names of all documents that are pointed at, as one text a language."""
    return joined([name_of(node["id"], view, site, node) for node in references if "id" in node])


def joined(parts: list[LanguageMap]) -> LanguageMap:
    """Return several names as one text in each language that one of them has."""
    if not parts:
        return {}
    tags = dict.fromkeys(tag for part in parts for tag in part)
    if len(tags) > 1:
        tags.pop("none", None)
    return {tag: ["; ".join(nearest(part, tag) for part in parts)] for tag in tags}


def texts_of(nodes: Iterable[Tree], term: str, site: Site) -> LanguageMap:
    """Return the contents of the nodes of one type, by language tag; `none` without a language."""
    found: LanguageMap = {}
    for node in nodes:
        content = node.get("content")
        if not content:
            continue
        if is_a(node, term):
            languages = node.get("language")
            tag = site.tags.get(languages[0].get("id", ""), "none") if languages else "none"
            found.setdefault(tag, []).append(content)
    return found


def is_a(node: Tree, term: str) -> bool:
    """Return whether a node is classified as a concept."""
    for concept in node.get("classified_as", ()):  # noqa: SIM110 - asked so often that it counts
        if concept.get("id") == term:
            return True
    return False
