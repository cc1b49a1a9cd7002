"""Collections: all that has a manifest, the members of each set, the certain works of each maker.

Manifests are referred to, never embedded: https://iiif.io/api/presentation/3.0/#51-collection.
Being listed under a maker says who made a thing, so only what is certain is listed there.
"""

from collections.abc import Collection, Iterable, Iterator

from lodpipe.iris import document_iri
from lodpipe.publish.iiif import rows
from lodpipe.publish.iiif.common import CONTEXT, Desk, add_links, link, provider, reference
from lodpipe.publish.iiif.plan import Plan
from lodpipe.publish.iiif.saying import house_of, notice_on, statements, together
from lodpipe.publish.iiif.settings import LanguageMap, Site, View, phrase, short_key, word
from lodpipe.records import Tree


def collections(
    label: LanguageMap, plan: Plan, view: View, site: Site, made: Collection[str]
) -> Iterator[Tree]:
    """Yield the collection of everything, then one for each set and for each certain maker.

    Args:
        label: of the first. `made`: the things that have a manifest.
    """
    desk = Desk(plan, view, site)
    members: dict[str, list[str]] = {}
    works: dict[str, list[str]] = {}
    for thing in sorted(made):
        tree = view.get(thing) or {}
        for group, named in ((members, _sets_of(tree)), (works, rows.makers_of(tree))):
            for uri in filter(desk.may_leave, named):
                group.setdefault(uri, []).append(thing)
    below = [
        *(_of(uri, desk.name(uri), {}, members[uri], desk) for uri in sorted(members)),
        *(_works(uri, works[uri], desk) for uri in sorted(works)),
    ]
    whole = collection("all", label, plan, view, site, made=made, below=(*members, *works))
    if whole:
        whole["items"] += [{key: one[key] for key in ("id", "type", "label")} for one in below]
        yield whole
    yield from below


def collection(
    key: str,
    label: LanguageMap,
    plan: Plan,
    view: View,
    site: Site,
    *,
    made: Collection[str] | None = None,
    below: Iterable[str] = (),
) -> Tree | None:
    """Return a collection of all albums and of the things in no album; None when there are none.

    Args:
        key: last part of its IRI. `label`: what readers see.
        made: the things that have a manifest, where the caller knows; else each is tried.
        below: sets and makers whose collections the caller lists in this one.
    """
    desk = Desk(plan, view, site)
    named = [
        uri
        for uri in (*plan.albums, *plan.singles)
        if (desk.has_manifest(uri) if made is None else uri in made)
    ]
    if not named:
        return None
    tree = _begun(key, label, site)
    tree |= _said((*named, *below), word("everything", site.languages), desk)
    tree["provider"] = provider(site)
    if site.pages:
        page = document_iri(site.base, "page/" + key)
        tree["homepage"] = [link(page, "Text", label, "text/html")]
    tree["items"] = [reference(uri, "Manifest", desk) for uri in named]
    return tree


def _works(uri: str, things: list[str], desk: Desk) -> Tree:
    label = phrase("works-of", desk.site.languages, name=desk.name(uri))
    return _of(uri, label, word("no-doubted-works", desk.site.languages), things, desk)


def _of(uri: str, label: LanguageMap, more: LanguageMap, things: list[str], desk: Desk) -> Tree:
    """Return the collection of what belongs to a set, or is by a maker; albums first.

    Args:
        more: what is said after the description, by language.
    """
    made = _begun(short_key(desk.site.base, uri), label, desk.site)
    tree = desk.view.get(uri) or {}
    summary = dict(rows.description_of(tree, desk.site))
    for tag, texts in more.items():
        summary[tag] = [*summary.get(tag, ()), *texts]
    made |= _said((uri, *things), summary, desk)
    add_links(made, uri, tree, desk)
    made.pop("rights", None)  # a licence is that of a picture
    albums = frozenset(desk.plan.albums)
    things = sorted(things, key=lambda thing: (thing not in albums, thing))
    made["items"] = [reference(thing, "Manifest", desk) for thing in things]
    return made


def _said(named: Iterable[str], summary: LanguageMap, desk: Desk) -> Tree:
    """Return what a collection says: the notices of all that it names stand before the list."""
    found = (notice_on(uri, desk.view, desk.site) for uri in named)
    notice = together((one for one in found if one), desk.site)
    return statements(notice, house_of(desk.site), summary, desk.site)


def _begun(key: str, label: LanguageMap, site: Site) -> Tree:
    return {
        "@context": CONTEXT,
        "id": document_iri(site.base, "iiif/collection/" + key),
        "type": "Collection",
        "label": label,
    }


def _sets_of(tree: Tree) -> list[str]:
    return list(dict.fromkeys(ref["id"] for ref in tree.get("member_of", ()) if "id" in ref))
