"""How fast the pages of a large collection are made: `python -m bench.pages [ALBUMS]`.

An invented collection of so many albums, each of a hundred pasted prints on twenty-five pages;
every fourth print has a maker in doubt and one that was given up. Documents come from memory, as an
archive gives them; laying out and writing the files is measured, in CPU time of one core.
"""

import sys
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from time import process_time
from typing import Any

import orjson

from lodpipe.dates import parse
from lodpipe.evidence.facts import Stay
from lodpipe.nodes import Nodes
from lodpipe.publish import iiif, site
from lodpipe.records import Claim, Image, Layout, Placed, Tree
from lodpipe.terms import concepts
from lodpipe.wording import claim_words

BASE = "https://collections.example.org/"
ITEMS, LEAVES = 100, 25
PEOPLE = tuple(BASE + "person/" + key for key in ("dolen", "korvath", "vey", "esker"))
NAMES = ("Mira Dolen", "Anselm Korvath", "Jonas Vey", "Bruno Esker")
NODES = Nodes(BASE, concepts())


class Collection:
    """An invented release; each document is made when it is asked for."""

    def __init__(self, albums: int) -> None:
        self._albums = albums
        self.placed: list[Placed] = []
        self.images: list[Image] = []
        for album in range(albums):
            top = f"{BASE}object/album-{album}"
            for leaf in range(LEAVES):
                page = f"{top}-p{leaf}"
                self.placed.append(Placed(page, top, leaf, "recto"))
                self.images.append(Image(page, "p.jpg", "", "recto", "", 1620, 1200))
                for spot in range(ITEMS // LEAVES):
                    item = f"{BASE}object/item-{album}-{leaf * ITEMS // LEAVES + spot}"
                    box = (100 + 350 * spot, 200, 300, 220)
                    self.placed.append(Placed(item, page, spot, "recto", box))

    def uris(self) -> Iterator[str]:
        yield from (f"{BASE}object/{kind}" for kind in self._keys())
        yield from PEOPLE

    def _keys(self) -> Iterator[str]:
        for album in range(self._albums):
            yield f"album-{album}"
            yield from (f"album-{album}-p{leaf}" for leaf in range(LEAVES))
            yield from (f"item-{album}-{item}" for item in range(ITEMS))

    def documents(self) -> Iterator[Tree]:
        for uri in self.uris():
            yield orjson.loads(orjson.dumps(self.get(uri)))

    def get(self, uri: str) -> Tree:
        if uri in PEOPLE:
            name = NODES.name(NAMES[PEOPLE.index(uri)])
            return {"id": uri, "type": "Person", "_label": uri, "identified_by": [name]}
        key = uri.rpartition("/")[2]
        tree: Tree = {
            "id": uri,
            "type": "HumanMadeObject",
            "_label": key,
            "identified_by": [
                NODES.name(f"Summit cutting, {key}", language="en"),
                NODES.identifier(f"HRL {key}", "accession-number"),
            ],
        }
        if key.startswith("item"):
            exposure = NODES.role(uri, "exposure")
            exposure["timespan"] = NODES.timespan("February 1872", parse("1872-02"))
            said = self.claims(uri)
            if said:
                exposure["attributed_by"] = [_act(uri, claim) for claim in said]
            else:
                exposure["carried_out_by"] = [{"id": PEOPLE[int(key[-1]) % 4], "type": "Person"}]
            tree["produced_by"] = {"id": uri + "#production", "part": [exposure]}
        return tree

    def lines(self) -> Iterator[tuple[str, Claim]]:
        for uri in self.uris():
            for claim in self.claims(uri):
                yield uri, claim

    def claims(self, uri: str) -> list[Claim]:
        key = uri.rpartition("/")[2]
        if not key.startswith("item") or int(key.rpartition("-")[2]) % 4:
            return []
        old = Claim(f"{key}-a", uri, "maker", PEOPLE[1], by=PEOPLE[2], on="1958",
                    basis="Most prints bear the stamp of the studio.", effective="former")  # fmt: skip
        new = Claim(f"{key}-b", uri, "maker", PEOPLE[0], qualifier="attributed-to", by=PEOPLE[2],
                    on="2024-03-11", basis="He had left the railway.", replaces=old.key)  # fmt: skip
        return [old, new]

    def verdicts(self, uri: str) -> Mapping[str, Any]:
        days = [["1872-02-12", "1872-02-29"]]
        return {c.key: {"verdict": "placed", "feasible": days} for c in self.claims(uri)}

    def stays(self) -> tuple[Stay, ...]:
        return ()


def _act(uri: str, claim: Claim) -> Tree:
    words = claim_words(claim, "Mira Dolen", "en", node="exposure")
    return {
        "id": f"{uri}#claim-{claim.key}",
        "type": "AttributeAssignment",
        "identified_by": [
            NODES.identifier(claim.key, "claim-key"),
            NODES.name(words, "display-name", "en"),
        ],
        "assigned": [{"id": claim.value, "type": "Person"}],
    }


def main() -> None:
    """Measure and print."""
    albums = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000
    collection = Collection(albums)
    plan = iiif.plan(Layout(tuple(collection.images), tuple(collection.placed)))
    settings = site.Settings(BASE, {"en": "Highland Railway Library"}, contact="a@example.org")
    count = size = most = 0
    with tempfile.TemporaryDirectory() as folder:
        begun = process_time()
        for name, body in site.pages(collection, plan, settings):
            path = Path(folder) / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(body)
            count, size, most = count + 1, size + len(body), max(most, len(body))
        seconds = process_time() - begun
    print(
        f"{count:,} pages of {albums:,} albums in {seconds:.1f} s: {count / seconds:,.0f} a second; "
        f"{size / count / 1000:.1f} kB on average, {most / 1000:.1f} kB at most"
    )


if __name__ == "__main__":
    main()
