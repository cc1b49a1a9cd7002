"""Pieces that the manifests of albums and of items share: heads, links, pictures, regions."""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache

from lodpipe.iris import segment
from lodpipe.publish.iiif import rows
from lodpipe.publish.iiif.described import described
from lodpipe.publish.iiif.plan import FRONT, Plan, Sheet
from lodpipe.publish.iiif.saying import credit_of, safe, statements, summary_of
from lodpipe.publish.iiif.settings import (
    LanguageMap,
    Site,
    View,
    manifest_iri,
    phrase,
    short_key,
    word,
)
from lodpipe.publish.iiif.tiles import FULL, scaled, sized
from lodpipe.records import Box, Image, Tree

CONTEXT = "http://iiif.io/api/presentation/3/context.json"
NAV_PLACE_CONTEXT = "http://iiif.io/api/extension/navplace/context.json"
MEDIA_FRAGMENTS = "http://www.w3.org/TR/media-frags/"
NAMES = 10_000
"""Names that are kept: of an album its own, its pages' and its items'."""
LINKED_ART_PROFILE = "https://linked.art/ns/v1/linked-art.json"


@dataclass(frozen=True, slots=True)
class Desk:
    """Everything that one call needs: the plan, what may leave, and the settings.

    Attributes:
        name: returns a reader's name of a document. `provider`: the publisher. Both are the same
            lists and maps every time: they are written out, never changed.
    """

    plan: Plan
    view: View
    site: Site
    name: Callable[[str], LanguageMap] = field(init=False)
    provider: list[Tree] = field(init=False)

    def __post_init__(self) -> None:
        """Keep what many manifests say in the same words."""
        name = lru_cache(NAMES)(lambda uri: rows.name_of(uri, self.view, self.site))
        object.__setattr__(self, "name", name)
        object.__setattr__(self, "provider", provider(self.site))

    def has_manifest(self, uri: str) -> bool:
        """Return whether there is a manifest of an album, of an item, or of a single print."""
        if uri in self.plan.on and uri not in self.plan.places:
            leaves = (uri, *(placed.thing for placed in self.plan.on[uri]))
            seen = any(leaf in self.plan.sheets and self.may_leave(leaf) for leaf in leaves)
            return seen and self.may_leave(uri)
        return self.has_picture(uri)

    def has_picture(self, uri: str) -> bool:
        """Return whether there is a picture of a thing that may be seen, and so a manifest."""
        if uri in self.view.hidden or not self.may_leave(uri):
            return False
        if uri in self.plan.sheets:
            return True
        spot = self.plan.cut(uri)
        return spot is not None and spot[1].thing not in self.view.hidden

    def may_leave(self, uri: str) -> bool:
        """Return whether the caller has a document for this IRI."""
        return self.view.get(uri) is not None


def picture_key(image: Image, site: Site) -> str:
    """Return the name of a picture below `iiif/image/`: the thing's, its side, its capture.

    A key is one segment, so what follows a slash can be no part of the key of another thing.
    """
    parts = [short_key(site.base, image.thing)]
    if image.side not in FRONT:
        parts.append(image.side)
    if image.capture:
        parts += ["capture", segment(image.capture)]
    return "/".join(parts)


def picture_iri(image: Image, site: Site) -> str:
    """Return the base IRI of a picture: its own service, or a folder of the export."""
    return image.service or f"{site.base}iiif/image/{picture_key(image, site)}"


def whole_iri(image: Image, site: Site) -> str:
    """Return the address of a whole picture."""
    return f"{picture_iri(image, site)}/full/{_largest(image)}/0/default.jpg"


def region_iri(image: Image, area: Box) -> str:
    """Return the address at which the service of a picture gives a part of it."""
    return f"{image.service}/{','.join(map(str, area))}/{_largest(image)}/0/default.jpg"


def _largest(image: Image) -> str:
    # all of 2 know `full`, https://iiif.io/api/image/2.1/#size; 3 knows only `max`
    return "full" if image.service and image.version == 2 else "max"


def crop_iri(thing: str, site: Site) -> str:
    """Return the base IRI of the cropped picture of a pasted item: a folder of the export."""
    return f"{site.base}iiif/image/{short_key(site.base, thing)}"


def head(
    uri: str, tree: Tree, productions: list[tuple[str, Tree]], desk: Desk
) -> tuple[Tree, bool]:
    """Return the beginning of a manifest, and whether a notice stands before all the rest of it.

    Args:
        productions: of the thing, by role (`rows.productions_of`).
    """
    made: Tree = {
        "@context": CONTEXT,
        "id": manifest_iri(desk.site.base, uri),
        "type": "Manifest",
        "label": desk.name(uri),
    }
    describe = desk.view.describe
    told = describe(uri, tree) if describe else described(tree, productions, desk.view, desk.site)
    lines = [(label, value) for label, value in told if any(value.values())]
    notice = rows.notice_of(tree, uri, desk.view, desk.site)
    made |= statements(
        notice,
        credit_of(tree, desk.view, desk.site),
        summary_of(tree, lines, desk.site),
        desk.site,
    )
    if lines:
        made["metadata"] = [{"label": label, "value": safe(value)} for label, value in lines]
    return made, notice is not None


def add_links(made: Tree, uri: str, tree: Tree, desk: Desk) -> None:
    """Add licence, provider, record and page to a manifest."""
    rights = rows.rights_of(tree, desk.view, desk.site)
    if rights:
        made["rights"] = rights
    made["provider"] = desk.provider
    made["seeAlso"] = [
        {
            **link(uri, "Dataset", word("record", desk.site.languages), "application/ld+json"),
            "profile": LINKED_ART_PROFILE,
        }
    ]
    if desk.site.pages:
        page = f"{desk.site.base}page/{short_key(desk.site.base, uri)}"
        made["homepage"] = [link(page, "Text", made["label"], "text/html")]


def provider(site: Site) -> list[Tree]:
    """Return the publisher as an Agent: https://iiif.io/api/presentation/3.0/#provider."""
    name = {tag: [text] for tag, text in site.name.items()}
    return [
        {
            "id": site.provider or site.base,
            "type": "Agent",
            "label": name,
            "homepage": [link(site.base, "Text", name, "text/html")],
        }
    ]


def link(uri: str, kind: str, label: LanguageMap, media_type: str) -> Tree:
    """Return a link to something outside the manifest."""
    return {"id": uri, "type": kind, "label": label, "format": media_type}


def reference(uri: str, kind: str, desk: Desk, label: LanguageMap | None = None) -> Tree:
    """Return a reference to the manifest of a thing."""
    return {
        "id": manifest_iri(desk.site.base, uri),
        "type": kind,
        "label": label or desk.name(uri),
    }


def lead(uri: str, desk: Desk, label: LanguageMap | None = None) -> Tree:
    """Return what a region leads to: the manifest of a thing, or the record of one without pictures."""
    if desk.has_picture(uri):
        return reference(uri, "Manifest", desk, label)
    return link(uri, "Dataset", label or desk.name(uri), "application/ld+json")


def add_thumbnail(made: Tree, *, noticed: bool) -> None:
    """Give a manifest the small picture of its first canvas that has one.

    Not where a notice stands before the pictures: lists show a small picture without any words.
    """
    small = next((canvas["thumbnail"] for canvas in made["items"] if "thumbnail" in canvas), None)
    if small and not noticed:
        made["thumbnail"] = small


def whole(sheet: Sheet, site: Site) -> Tree:
    """Return a whole picture as the body of a painting annotation; several captures as a choice.

    https://iiif.io/cookbook/recipe/0033-choice/
    """
    if len(sheet.captures) == 1:
        return body(sheet.image, site)
    return {
        "type": "Choice",
        "items": [
            {**body(image, site), "label": _capture(image, number, site)}
            for number, image in enumerate(sheet.captures, start=1)
        ],
    }


def _capture(image: Image, number: int, site: Site) -> LanguageMap:
    if image.capture:
        return {"none": [image.capture]}
    return phrase("capture", site.languages, number={"none": [str(number)]})


def body(image: Image, site: Site) -> Tree:
    """Return one capture as an Image, with its service where there is one."""
    base = picture_iri(image, site)
    if not image.service:
        return _image(base, image.width, image.height, tiled=site.tiles)
    made = _image(base, image.width, image.height, tiled=False)
    made["id"] = whole_iri(image, site)
    made["service"] = [_service(image)]
    return made


def _service(image: Image) -> Tree:
    """Return an image service in another place: https://iiif.io/api/presentation/3.0/#service."""
    if image.version == 2:
        profile = f"http://iiif.io/api/image/2/level{image.level}.json"
        return {"@id": image.service, "@type": "ImageService2", "profile": profile}
    profile = f"level{image.level}"
    return {"id": image.service, "type": "ImageService3", "profile": profile}


def cut(thing: str, area: tuple[int, int, int, int], sheet: Sheet, desk: Desk) -> Tree:
    """Return a region of a picture as body: a cropped file of its own, or a selector.

    A static service (level 0) cannot answer a region, so a static export has a picture for each
    item: https://iiif.io/api/image/3.0/compliance/.
    """
    _, _, width, height = area
    if desk.site.crops and not sheet.image.service:
        return _image(crop_iri(thing, desk.site), width, height, tiled=desk.site.tiles)
    return {
        "id": manifest_iri(desk.site.base, thing) + "/crop",
        "type": "SpecificResource",
        "source": body(sheet.image, desk.site),
        "selector": {"type": "ImageApiSelector", "region": ",".join(map(str, area))},
    }


def thumbnail(picture: Tree, site: Site) -> list[Tree]:
    """Return the small picture of a body that has a service, or nothing."""
    picture = picture["items"][0] if picture["type"] == "Choice" else picture
    if not site.thumbnail or picture["type"] != "Image" or "service" not in picture:
        return []
    service, whole = picture["service"][0], (picture["width"], picture["height"])
    base = service.get("id") or service["@id"]
    if base.startswith(site.base):
        url, width, height = sized(base, *whole, site.thumbnail)
    elif "level0" in service["profile"]:  # which sizes it has, only it knows
        return []
    else:
        width, height = scaled(*whole, site.thumbnail)
        url = f"{base}/full/{width},/0/default.jpg"
    return [
        {
            "id": url,
            "type": "Image",
            "format": "image/jpeg",
            "width": width,
            "height": height,
            "service": picture["service"],
        }
    ]


def painting(canvas: str, picture: Tree) -> Tree:
    """Return the annotation page that paints a picture on the whole of a canvas."""
    return {
        "id": canvas + "/painting",
        "type": "AnnotationPage",
        "items": [
            {
                "id": canvas + "/painting/1",
                "type": "Annotation",
                "motivation": "painting",
                "body": picture,
                "target": canvas,
            }
        ],
    }


def linking(uri: str, target_manifest: Tree, target: Tree) -> Tree:
    """Return an annotation that leads from a region to a manifest."""
    return {
        "id": uri,
        "type": "Annotation",
        "motivation": "linking",
        "body": target_manifest,
        "target": target,
    }


def region(source: str | Tree, area: tuple[int, ...], image: Image) -> Tree:
    """Return a region of a canvas: a box as media fragment, a polygon as SVG.

    https://www.w3.org/TR/annotation-model/#fragment-selector, #svg-selector
    """
    if len(area) == 4:
        selector = {
            "type": "FragmentSelector",
            "conformsTo": MEDIA_FRAGMENTS,
            "value": "xywh=" + ",".join(map(str, area)),
        }
    else:
        points = " ".join(f"{x},{y}" for x, y in zip(area[0::2], area[1::2], strict=True))
        selector = {
            "type": "SvgSelector",
            "value": f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {image.width} '
            f'{image.height}"><polygon points="{points}"/></svg>',
        }
    return {"type": "SpecificResource", "source": source, "selector": selector}


def _image(base: str, width: int, height: int, *, tiled: bool) -> Tree:
    made: Tree = {
        "id": base + FULL,
        "type": "Image",
        "format": "image/jpeg",
        "width": width,
        "height": height,
    }
    if tiled:
        made["service"] = [{"id": base, "type": "ImageService3", "profile": "level0"}]
    return made
