"""What every page has around it: names, ways, citation, data for machines."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from lodpipe.iris import file_link
from lodpipe.publish import iiif
from lodpipe.publish.site.catalogue import Notice
from lodpipe.publish.site.desk import Desk, Link
from lodpipe.publish.site.linked import address, publisher, schema_org, script
from lodpipe.publish.site.pictures import Picture
from lodpipe.publish.site.reading import ACCESSION, has_type
from lodpipe.publish.site.settings import path_of, word
from lodpipe.records import Tree

NAV = ("timeline", "makers", "places", "questions", "method")
LONGEST = 300
"""Characters of a description for machines."""

Context = dict[str, Any]
"""What a template is given."""


@dataclass(frozen=True, slots=True)
class Page:
    """One page before it is laid out: its path below the top of its language, template, contents."""

    path: str
    template: str
    context: Context


@dataclass(frozen=True, slots=True)
class About:
    """The document that a page is about, and what machines and citations are told of it.

    Attributes:
        description: in hedged words. `credit`: the line of attribution.
    """

    uri: str
    tree: Tree
    description: str = ""
    credit: str = ""
    pictures: Sequence[Picture] = ()
    notices: Sequence[Notice] = ()


def frame(
    desk: Desk, path: str, title: str, here: str = "", crumbs: Sequence[Link] = ()
) -> Context:
    """Return what the frame of a page needs.

    Args:
        path: of the page below the top of its language. `here`: the entry of the main navigation.
    """
    settings = desk.settings
    languages = [
        Link(word(tag, "in-language"), desk.top + _tree(tag, desk) + file_link(path), tag)
        for tag in settings.languages
    ]
    name = publisher(desk)
    day = desk.date(settings.day)
    release = desk.word("release", release=settings.release, day=day)
    whole = settings.base + _tree(desk.language, desk) + ("" if path == "index.html" else path)
    return {
        "language": desk.language,
        "say": desk.word,
        "name_of_site": name,
        "title": title,
        "root": desk.root,
        "top": desk.top,
        "nav": [Link(desk.word(key), f"{desk.root}{key}.html", key) for key in NAV],
        "here": here,
        "crumbs": crumbs,
        "languages": languages if len(languages) > 1 else [],
        "release": release,
        "rights": settings.rights,
        "address": whole,
        "citation": f"{name}: {title}. {release}. {whole}",
        "record": "",
        "manifest": f"{desk.top}iiif/collection/all.json" if settings.manifests else "",
        "manifest_words": desk.word("collection"),
        "uri": "",
        "letter": desk.letter(whole, title) if settings.contact else "",
        "description": desk.word("intro"),
        "graph": {"title": title, "site_name": name, "type": "website", "url": whole},
        "linked": "",
    }


def about(
    desk: Desk, found: About, path: str, here: str = "", crumbs: Sequence[Link] = ()
) -> Context:
    """Return the frame of a page about one document."""
    uri, title, settings = found.uri, desk.name(found.uri), desk.settings
    made = frame(desk, path, title, here, crumbs)
    picture = next(iter(found.pictures), None) if not found.notices else None
    description = _short(found.description)
    made |= {
        "title_language": desk.link(uri).language,
        "uri": uri,
        "record": desk.record(uri),
        "manifest": _manifest(uri, found, desk),
        "manifest_words": desk.word("manifest"),
        "letter": desk.letter(uri, title) if settings.contact else "",
        "citation": _citation(found, title, desk),
        "description": description or title,
        "linked": script(schema_org(uri, found.tree, desk, description, found.credit, picture)),
        "notices": found.notices,
        "numbers": numbers(found.tree),
    }
    made["graph"] = {
        "title": title,
        "site_name": publisher(desk),
        "type": "article",
        "url": address(uri, desk),
        "description": description or title,
    }
    if picture and picture.src.startswith(desk.top):
        made["graph"]["image"] = settings.base + picture.src.removeprefix(desk.top)
        made["graph"]["image:alt"] = desk.word("picture-of", title=title)
    return made


def numbers(tree: Tree) -> list[str]:
    """Return the numbers under which the house keeps a thing."""
    return [
        node["content"]
        for node in tree.get("identified_by", ())
        if node.get("type") == "Identifier" and has_type(node, ACCESSION)
    ]


def page_path(uri: str, desk: Desk, number: int = 1) -> str:
    """Return the path of the page of a document, or of a further page of a long one."""
    path = path_of(desk.settings.base, uri)
    return path if number == 1 else f"{path.removesuffix('.html')}~{number}.html"


def _manifest(uri: str, found: About, desk: Desk) -> str:
    plan = desk.catalogue.plan
    shown = any(canvas.src for canvas in found.pictures) or uri in plan.albums
    if not (shown and desk.settings.manifests):
        return ""
    if uri in desk.catalogue.leaves:  # a page is a canvas of its album
        uri = iiif.album_of(plan, uri)
    iri = iiif.manifest_iri(desk.settings.base, uri)
    return f"{desk.top}{file_link(iri.removeprefix(desk.settings.base))}.json"


def _citation(found: About, title: str, desk: Desk) -> str:
    number = "".join(f" ({text})" for text in numbers(found.tree)[:1])
    credit = f" {found.credit[:1].upper()}{found.credit[1:]}." if found.credit else ""
    settings = desk.settings
    release = desk.word("release", release=settings.release, day=desk.date(settings.day))
    return f"{publisher(desk)}: {title}{number}.{credit} {release}. {found.uri}"


def _tree(tag: str, desk: Desk) -> str:
    return "" if tag == desk.settings.languages[0] else f"{tag}/"


def _short(text: str) -> str:
    """Cut a description between two of its pieces, so that no hedge is cut from its value."""
    if len(text) <= LONGEST:
        return text
    kept = ""
    for piece in text.split("; "):
        longer = f"{kept}; {piece}" if kept else piece
        if len(longer) > LONGEST:
            break
        kept = longer
    return kept
