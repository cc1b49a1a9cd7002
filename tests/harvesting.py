"""A small archive for tests of what harvesters get: renditions by hand, one release after another."""

from collections.abc import Mapping
from pathlib import Path

from lodpipe import archive
from lodpipe.archive import Archive, Harvest, Outgoing, Render, Rendition, Stamp

BASE = "https://collections.example.org/"
DC = (
    '<oai_dc:dc xmlns:oai_dc="http://www.openarchives.org/OAI/2.0/oai_dc/"'
    ' xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:title>{}</dc:title></oai_dc:dc>'
)


def instant(number: int) -> str:
    """The instant of a release: one a day."""
    return f"2026-01-{number:02}T10:00:00Z"


def release(path: Path, titles: Mapping[str, Mapping[str, str]], sets: str = "") -> int | None:
    """Make the next release.

    Args:
        titles: title of each thing by its key, by format.
        sets: the sets that every thing is in.
    """

    def make(opened: Archive, number: int, wanted: object) -> list[Outgoing]:
        made: dict[str, list[Rendition]] = {}
        for name, things in titles.items():
            for key, title in things.items():
                uri, body = f"{BASE}object/{key}", DC.format(title).encode()
                made.setdefault(uri, []).append(Rendition(uri, name, body, tuple(sets.split())))
        return [Outgoing(uri, frozenset(), tuple(made[uri])) for uri in sorted(made)]

    last = 0
    if path.is_file():
        with Archive(path) as opened:
            last = max(Harvest(opened).instants(), default=0)
    stamp = Stamp(instant(last + 1), instant(last + 1), {}, "", "lodpipe 0", {})
    booked = archive.plan(path, [], [])
    render = Render(tuple(titles), f"release {last + 1}", make)
    return archive.commit(path, [], booked, stamp, [], [], render=render)
