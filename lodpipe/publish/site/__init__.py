"""The pages for readers: static HTML that needs no script, the same bytes every time.

A page a document that readers have a use for: albums and their pages, things, makers, places,
sources, threads, sessions; beside them the way in, lists, what is open, a timeline, and how we
know. What is said of a claim is said by `wording`; nothing here turns a claim into a fact.
"""

from collections.abc import Callable, Iterator, Sequence

from lodpipe.publish.iiif import Plan
from lodpipe.publish.site import others, start, thing
from lodpipe.publish.site.catalogue import Catalogue
from lodpipe.publish.site.desk import Desk
from lodpipe.publish.site.frame import Page
from lodpipe.publish.site.lists import Lister
from lodpipe.publish.site.reader import ArchiveReader, settings_of
from lodpipe.publish.site.render import STYLE, render, style
from lodpipe.publish.site.settings import Reader, Settings, path_of
from lodpipe.records import Tree

__all__ = ["ArchiveReader", "Reader", "Settings", "pages", "path_of", "settings_of"]

_Maker = Callable[[str, Tree, Desk, Lister], Iterator[Page]]
_MAKERS: dict[str, _Maker] = {
    "album": thing.album,
    "leaf": thing.leaf,
    "thing": thing.thing,
    "maker": others.maker,
    "place": others.place,
    "source": others.source,
    "thread": others.thread,
    "event": others.event,
}


def pages(
    reader: Reader, plan: Plan, settings: Settings, gone: Sequence[tuple[str, str, str]] = ()
) -> Iterator[tuple[str, bytes]]:
    """Yield every file of the site: its path below the top of the export, and its bytes.

    Args:
        reader: the release. `plan`: what lies where in it.
        gone: IRI, instant and public reason of each document that is there no more.
    """
    catalogue = Catalogue(reader, plan, settings)
    yield STYLE, style()
    lister = Lister()
    for number, language in enumerate(settings.languages):
        tree = f"{language}/" if number else ""
        for page in _pages(catalogue, language, tree, lister, gone):
            yield tree + page.path, render(page)


def _pages(
    catalogue: Catalogue,
    language: str,
    tree: str,
    lister: Lister,
    gone: Sequence[tuple[str, str, str]],
) -> Iterator[Page]:
    def desk(path: str) -> Desk:
        depth = path.count("/")
        return Desk(catalogue, language, "../" * depth, "../" * (depth + tree.count("/")))

    at_top = desk("index.html")
    for uri in catalogue.entries:
        kind = catalogue.kind(uri)
        document = catalogue.reader.get(uri) if kind else None
        if document is not None:
            place = desk(path_of(catalogue.settings.base, uri))
            yield from _MAKERS[kind](uri, document, place, lister)
    for uri, since, told in gone:
        yield start.tombstone(desk(path_of(catalogue.settings.base, uri)), uri, since, told)
    counts, questions = start.survey(at_top)
    yield from start.start(at_top, lister, counts, questions)
    yield from start.lists(at_top, lister)
    yield from start.open_questions(at_top, lister, questions)
    yield from start.timeline(at_top)
    yield from start.method(at_top)
