"""Pages about no single document: the way in, lists, what is open, the timeline, how we know."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from lodpipe.publish.site.desk import Desk, Link
from lodpipe.publish.site.frame import Context, Page, frame
from lodpipe.publish.site.lists import MOST, Lister, Section, numbered, sectioned, words_of
from lodpipe.publish.site.others import whereabouts
from lodpipe.publish.site.settings import path_of
from lodpipe.publish.site.timeline import Item, chart, spans_of
from lodpipe.records import Claim
from lodpipe.wording import has, held_words, say

FEW = 12
"""Entries of a list on the start page; the rest stands on a page of its own."""
HELD = ("certain", "hedged", "alternative", "proposed", "former", "rejected")
OPEN = ("contradicted", "alternative", "proposed", "hedged")
QUALIFIERS = (
    "probably", "attributed-to", "possibly", "workshop-of", "studio-of", "circle-of", "school-of",
    "pupil-of", "follower-of", "manner-of", "style-of", "imitator-of", "after", "copyist-of",
)  # fmt: skip

Questions = dict[str, list[tuple[str, str, Claim]]]
"""By kind of `OPEN`: thing, document and claim."""


def survey(desk: Desk) -> tuple[Counter[str], Questions]:
    """Return how many claims are held in each way, and those that are open."""
    counts: Counter[str] = Counter()
    questions: Questions = {kind: [] for kind in OPEN}
    catalogue = desk.catalogue
    for document in list(dict.fromkeys(document for document, _ in catalogue.reader.lines())):
        things = catalogue.things_of(document)
        verdicts = catalogue.reader.verdicts(document)
        for claim in catalogue.reader.claims(document):
            kind = words_of(document, claim, desk)[1]
            counts[kind] += 1
            verdict = verdicts.get(claim.key, {}).get("verdict")
            if verdict == "contradicted" and kind in ("certain", "hedged", "alternative"):
                kind = "contradicted"
            if kind in OPEN and things and catalogue.kind(things[0]):
                questions[kind].append((things[0], document, claim))
    return counts, questions


def start(desk: Desk, lister: Lister, counts: Counter[str], questions: Questions) -> Iterator[Page]:
    """Yield the page on which readers begin."""
    kinds = _by_kind(desk)
    context = frame(desk, "index.html", context_title(desk), "start")
    lists = []
    for key in ("albums", "threads", "makers", "places", "sources"):
        uris = kinds[key]
        if key == "makers":  # those of whom there is most to tell
            uris = sorted(uris, key=lambda uri: -_told_of(uri, desk))
        pictured = key == "albums"
        cards = [lister.card(uri, desk, pictured=pictured) for uri in uris[:FEW]]
        if cards:
            more = Link(desk.word("all-of", what=desk.word(key), count=len(uris)), f"{key}.html")
            lists.append((key, Section(desk.word(key), cards), more if len(uris) > FEW else None))
    total = sum(counts.values())
    first = [
        (
            desk.word(f"open-{kind}"),
            [lister.claim(*found, desk) for found in questions[kind][:3]],
            kind,
        )
        for kind in OPEN
        if questions[kind]
    ]
    context |= {
        "lists": lists,
        "total": total,
        "counts": [
            (kind, held_words(kind, desk.language), counts[kind], 100 * counts[kind] / total)
            for kind in HELD
            if counts[kind]
        ],
        "questions": first,
        "all_things": len(kinds["things"]),
    }
    yield Page("index.html", "start.html", context)


def lists(desk: Desk, lister: Lister) -> Iterator[Page]:
    """Yield the lists of everything of one kind."""
    for key, uris in _by_kind(desk).items():
        here, first = desk, f"{key}.html"
        if key == "things":  # the page that the collection of all manifests leads to
            here = replace(desk, root="../", top=f"{desk.top}../")
            first = "page/all.html"
        sections = [Section("", [lister.card(uri, here) for uri in uris])]
        yield from _paged(here, first, desk.word(key), key, sections)


def open_questions(desk: Desk, lister: Lister, questions: Questions) -> Iterator[Page]:
    """Yield the pages of what is not settled, what speaks most against itself first."""
    sections = [
        Section(
            desk.word(f"open-{kind}"),
            [lister.claim(*found, desk) for found in questions[kind]],
            kind,
        )
        for kind in OPEN
    ]
    yield from _paged(desk, "questions.html", desk.word("questions"), "questions", sections)


def timeline(desk: Desk) -> Iterator[Page]:
    """Yield the pages of who was where, and of the days on which each picture can have been made."""
    catalogue = desk.catalogue
    parts = [
        (desk.link(who), whereabouts(stays, desk)) for who, stays in catalogue.stays_of.items()
    ]
    parts.sort(key=lambda part: part[0].text)
    axis = [lane for _, found in parts for lane in found["lanes"]]
    for _, found in parts:
        found["chart"] = chart(found["lanes"], axis)
    pages = _timeline_pages(parts, _days(desk))
    paths = ["timeline.html" if n == 0 else f"timeline~{n + 1}.html" for n in range(len(pages))]
    for number, (people, left) in enumerate(pages, start=1):
        context = frame(desk, paths[number - 1], desk.word("timeline"), "timeline")
        context |= numbered(paths, desk, number)
        context |= {
            "people": people,
            "days": left,
            "days_chart": chart([(item.text, [item]) for item in left]),
        }
        yield Page(paths[number - 1], "timeline.html", context)


_People = list[tuple[Link, Context]]


def _timeline_pages(parts: _People, days: list[Item]) -> list[tuple[_People, list[Item]]]:
    """Return people and days page by page: all on one where that is short enough."""
    if sum(len(found["stays"]) for _, found in parts) + len(days) <= MOST:
        return [(parts, days)]
    pages: list[tuple[_People, list[Item]]] = []
    left = 0
    for part in parts:
        if left < len(part[1]["stays"]):
            pages.append(([], []))
            left = MOST
        pages[-1][0].append(part)
        left -= len(part[1]["stays"])
    return pages + [([], days[at : at + MOST]) for at in range(0, len(days), MOST)]


def tombstone(desk: Desk, uri: str, since: str, told: str) -> Page:
    """Return what a reader meets at the address of a page whose document is gone.

    Args:
        since: the instant from which it was gone. `told`: why, in words for the public, or empty.
    """
    path = path_of(desk.settings.base, uri)
    context = frame(desk, path, desk.word("gone"))
    context |= {"since": desk.word("gone-since", day=desk.date(since[:10])), "told": told}
    return Page(path, "gone.html", context)


def method(desk: Desk) -> Iterator[Page]:
    """Yield the page on how claims are made, read and corrected."""
    context = frame(desk, "method.html", desk.word("method"), "method")
    kinds = ("certain", "catalogue", "hedged", "alternative", "proposed", "former", "rejected")
    context |= {
        "kinds": [(k, held_words(k, desk.language), desk.word(f"method-{k}")) for k in kinds],
        "qualifiers": [
            say(desk.language, f"qualifier.{name}")
            for name in QUALIFIERS
            if has(desk.language, f"qualifier.{name}")
        ],
    }
    yield Page("method.html", "method.html", context)


def _told_of(uri: str, desk: Desk) -> int:
    return len(desk.catalogue.made.get(uri, ())) + len(desk.catalogue.by_value.get(uri, ()))


def context_title(desk: Desk) -> str:
    """Return the title of the start page: the publisher's name."""
    names = desk.settings.name
    return names.get(desk.language) or next(iter(names.values()))


def _by_kind(desk: Desk) -> dict[str, list[str]]:
    """Return what the lists hold: documents of each kind, by name."""
    catalogue = desk.catalogue
    found: dict[str, list[str]] = {
        "albums": [], "threads": [], "makers": [], "places": [], "sources": [], "things": [],
    }  # fmt: skip
    heads = {
        "album": "albums", "thread": "threads", "maker": "makers", "place": "places",
        "source": "sources", "thing": "things",
    }  # fmt: skip
    for uri in catalogue.entries:
        key = heads.get(catalogue.kind(uri))
        if key and (key != "threads" or uri in catalogue.plan.threads):
            found[key].append(uri)
    for key, uris in found.items():
        if key != "things":
            uris.sort(key=lambda uri: (desk.name(uri).casefold(), uri))
    return found


def _paged(
    desk: Desk, first: str, title: str, here: str, sections: Sequence[Section]
) -> Iterator[Page]:
    parts = sectioned(sections)
    stem = first.removesuffix(".html")
    paths = [first if n == 0 else f"{stem}~{n + 1}.html" for n in range(len(parts))]
    for number, part in enumerate(parts, start=1):
        context = frame(desk, paths[number - 1], title, here)
        context |= numbered(paths, desk, number) | {"sections": part}
        yield Page(paths[number - 1], "list.html", context)


def _days(desk: Desk) -> list[Item]:
    """Return the days left to each thing by the claims that are held of it, the earliest first."""
    catalogue = desk.catalogue
    found: dict[str, Item] = {}
    for document in dict.fromkeys(document for document, _ in catalogue.reader.lines()):
        if catalogue.kind(document) != "thing":
            continue
        verdicts = catalogue.reader.verdicts(document)
        for claim in catalogue.reader.claims(document):
            verdict = verdicts.get(claim.key)
            if verdict is None or claim.effective != "current" or claim.aspect not in DATED:
                continue
            spans = spans_of(verdict["feasible"])
            if len(spans) == 1 and document not in found:
                item = Item(spans[0], desk.name(document), desk.href(document), "days")
                found[document] = replace(item, sources=(_why(claim, document, desk),))
    return sorted(found.values(), key=lambda item: (item.span, item.href))


DATED = ("maker", "date", "place")
"""Aspects whose claims are weighed on the day of the exposure."""


def _why(claim: Claim, document: str, desk: Desk) -> Link:
    words, _ = words_of(document, claim, desk)
    return Link(words, desk.href(document, f"claim-{claim.key}"))
