"""Manifests a second: `python -m bench.manifests [--albums 1000]`.

Albums of ten pages with ten pasted items each; every item has a maker with a hedge, a date, a
process and a licence. What counts is CPU time from parsed documents and layout to bytes, on one
core; the best of the rounds, since other work on the machine only ever adds.
"""

import argparse
from time import process_time

from bench.emitter import record
from lodpipe.publish import iiif
from lodpipe.records import Image, Layout, Placed, Tree
from lodpipe.terms import concepts

BASE = "https://collections.example.org/"
PAGES, ITEMS = 10, 10
ROUNDS = 3


def catalogue(albums: int) -> tuple[Layout, dict[str, Tree]]:
    """Return layout and documents of so many albums of a hundred items."""
    images, placed, documents = [], [], dict[str, Tree]()
    item = record()
    name = item["identified_by"][0]
    made = item["produced_by"]
    made["referred_to_by"] = [
        {
            "type": "LinguisticObject",
            "content": "attributed to Mira Dolen; formerly attributed to Anselm Korvath",
            "classified_as": [{"id": f"{BASE}vocab/statement/attribution", "type": "Type"}],
            "language": name["language"],
        }
    ]

    def add(key: str, title: str, **more: object) -> str:
        uri = f"{BASE}object/{key}"
        own = {**name, "content": title}
        kind = {"type": "HumanMadeObject", "_label": title, "identified_by": [own]}
        documents[uri] = {"id": uri, **kind, **more}
        return uri

    for number in range(albums):
        album = add(f"album-{number}", f"Album {number}")
        for leaf in range(1, PAGES + 1):
            page = add(f"album-{number}-p{leaf}", f"Page {leaf}")
            images.append(Image(page, f"{number}-{leaf}.jpg", width=6000, height=4500))
            placed.append(Placed(page, album, leaf, "recto"))
            for at in range(ITEMS):
                key = f"item-{number}-{leaf}-{at}"
                thing = add(key, f"View {key}", produced_by=made, subject_to=RIGHTS)
                region = (100 + 580 * at, 300, 500, 400)
                placed.append(Placed(thing, page, at, region=region))
    return Layout(tuple(images), tuple(placed)), documents


RIGHTS = [{"classified_as": [{"id": "http://creativecommons.org/publicdomain/mark/1.0/"}]}]


def main() -> None:
    """Print manifests a second, and how long plan and collections take."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--albums", type=int, default=1_000)
    layout, documents = catalogue(parser.parse_args().albums)
    site = iiif.Site(
        BASE, {"en": "Library"}, ("en", "de"), tags=iiif.language_tags(concepts(), BASE),
        pages=True, tiles=True, crops=True, thumbnail=400,
    )  # fmt: skip
    best, planned, size, made = 1e9, 0.0, 0, set[str]()
    for _ in range(ROUNDS):
        begun = process_time()
        plan = iiif.plan(layout)
        planned = process_time() - begun
        view = iiif.View(documents.get)
        begun, size, made = process_time(), 0, set()
        for uri, tree in iiif.manifests(plan, view, site):
            size += len(iiif.to_bytes(tree))
            made.add(uri)
        best = min(best, process_time() - begun)
    begun = process_time()
    count = sum(1 for _ in iiif.collections({"en": ["All"]}, plan, view, site, made))
    gathered = process_time() - begun
    print(f"{len(made):,} manifests, {size / 1e6:.0f} MB: {len(made) / best:,.0f} a second")
    print(f"plan {planned:.1f} s, {count} collections {gathered:.1f} s")


if __name__ == "__main__":
    main()
