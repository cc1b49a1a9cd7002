"""What the manifests need beside the documents: settings, words, and language maps.

The caller turns its project file into a `Site` and passes only what may leave in a `View`;
nothing here knows of access or of files.
"""

import csv
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache, lru_cache
from importlib.resources import files

from lodpipe.iris import key_of, segment
from lodpipe.project import Project
from lodpipe.publish.iiif.tiles import THUMBNAIL
from lodpipe.records import Layout, Tree
from lodpipe.terms import Concepts

LanguageMap = dict[str, list[str]]
"""Language tag (or `none`) to texts: https://iiif.io/api/presentation/3.0/#language-of-property-values"""

Row = tuple[LanguageMap, LanguageMap]
"""One line of metadata: label and value."""

OBJECT = "object/"


@dataclass(frozen=True, slots=True)
class Site:
    """Who publishes, where, and what is exported beside the manifests.

    Attributes:
        base: where every IRI starts.
        name: the publisher's name, by language.
        languages: languages of the words that we add ourselves; the first is the site's own.
        provider: IRI of the publisher's document; empty: `base`.
        tags: IRI of a language concept to its BCP 47 tag (see `language_tags`).
        rights: licence of pictures whose documents state none; empty: none is named.
        pages: whether a page for readers is exported for each thing.
        tiles: whether a static image service (level 0) is exported for each local picture.
        crops: whether a cropped picture is exported for each pasted item.
        thumbnail: longest side, in pixels, of the small pictures that are exported; 0: none.
    """

    base: str
    name: Mapping[str, str]
    languages: tuple[str, ...] = ("en",)
    provider: str = ""
    tags: Mapping[str, str] = field(default_factory=dict)
    rights: str = ""
    pages: bool = False
    tiles: bool = False
    crops: bool = False
    thumbnail: int = 0


@dataclass(frozen=True, slots=True)
class Notice:
    """What a community asks readers to know before looking, in its own words first."""

    label: LanguageMap
    text: LanguageMap


@dataclass(frozen=True, slots=True)
class View:
    """What may leave, and the words for it.

    Attributes:
        get: the document of an IRI; None when there is none, or when it may not leave.
        label: a reader's name for an IRI, where it is not the primary name of its document.
        describe: lines of metadata; None: they are read from the document (`described`).
        notices: notices by IRI of the thing; None where the document's own statements suffice.
        hidden: things whose page is shown as an empty canvas, since its picture may not leave.
    """

    get: Callable[[str], Tree | None]
    label: Mapping[str, LanguageMap] = field(default_factory=dict)
    describe: Callable[[str, Tree], list[Row]] | None = None
    notices: Mapping[str, Notice] = field(default_factory=dict)
    hidden: frozenset[str] = frozenset()


def site_of(project: Project, concepts: Concepts) -> Site:
    """Return the settings of a project, as its manifests are exported and disseminated."""
    base = project.site.base
    return Site(
        base=base,
        name=project.site.name,
        languages=project.site.languages,
        provider=base + project.site.publisher,
        tags=language_tags(concepts, base),
        pages="site" in project.export.outputs,
        tiles=True,
        crops=True,
        thumbnail=THUMBNAIL,
    )


def view_of(layout: Layout, get: Callable[[str], Tree | None]) -> View:
    """Return what may leave of a release; a picture without a file or service may not."""
    hidden = (image.thing for image in layout.images if not image.file and not image.service)
    return View(get=get, hidden=frozenset(hidden))


def language_tags(concepts: Concepts, base: str) -> dict[str, str]:
    """Return the BCP 47 tag of each language concept by its absolute IRI.

    >>> from lodpipe.terms import concepts
    >>> language_tags(concepts(), "https://example.org/")["http://vocab.getty.edu/aat/300388277"]
    'en'
    """
    return {
        (row.iri if "://" in row.iri else base + row.iri): row.slug
        for row in concepts
        if row.type == "Language" and row.slug
    }


@cache
def _table() -> dict[str, dict[str, str]]:
    text = (files(__package__) / "words.csv").read_text(encoding="utf-8")
    return {line["word"]: line for line in csv.DictReader(text.splitlines())}


@cache
def word(key: str, languages: tuple[str, ...]) -> LanguageMap:
    """Return one of our own words in the languages asked for; English where there is none.

    Every call returns the same map: whoever wants another makes a copy.
    """
    line = _table()[key]
    return {tag: [line[tag]] for tag in languages if line.get(tag)} or {"en": [line["en"]]}


def phrase(key: str, languages: tuple[str, ...], **parts: LanguageMap) -> LanguageMap:
    """Return one of our phrases with names set in, each name in the nearest language there is."""
    return {
        tag: [texts[0].format(**{name: nearest(part, tag) for name, part in parts.items()})]
        for tag, texts in word(key, languages).items()
    }


def nearest(names: LanguageMap, tag: str) -> str:
    """Return the text in a language, else without language, else the first there is."""
    for choice in (tag, "none", *names):
        if names.get(choice):
            return names[choice][0]
    return ""


@lru_cache(maxsize=10_000)
def short_key(base: str, uri: str) -> str:
    """Return the path of a document below base as it stands in IIIF ids, without `object/`.

    A document that is not below base is named by its whole IRI, percent-encoded.
    """
    key = key_of(base, uri)
    return key.removeprefix(OBJECT) if key else segment(uri)


def manifest_iri(base: str, uri: str) -> str:
    """Return the IRI of the manifest of a thing: `iiif/manifest/item-0101`."""
    return f"{base}iiif/manifest/{short_key(base, uri)}"
