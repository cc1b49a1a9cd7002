"""Truth in words, over everything that the demo and three open catalogues publish.

No published source: it is what this project is for. Each slot that holds only a value and each
text is read back against the ledger (`truth`); plain queries over the whole dump meet no value of a
claim that is not current and certain; faults that are put in on purpose are found.
"""

import csv
import re
from collections import Counter
from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import orjson
import pyoxigraph as ox
import pytest
from conformance import truth
from conformance.claims import claims as faults_of_claims
from conformance.crm import CRM
from conformance.released import CATALOGUES, Released
from lxml import etree

from lodpipe import terms
from lodpipe.archive import Archive, Harvest, Slice
from lodpipe.aspects import builtin_aspects
from lodpipe.records import Claim, TraceEntry, Tree
from lodpipe.wording import FREE_OF_CLAIMS, TEXT_SLOTS, VALUE_ONLY_SLOTS

BASE = "https://collections.example.org/"
ROWS = terms.keys()
NAMES = ["demo", *(pytest.param(name, marks=pytest.mark.reference) for name in CATALOGUES)]
NAMESPACES = {
    key.key: key.iri for key in ROWS if key.iri.startswith("http")
} | {
    "crminf": "http://www.cidoc-crm.org/extensions/crminf/",
    "prov": "http://www.w3.org/ns/prov#",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
}  # fmt: skip
LINE = re.compile(r"<([^>]+)> <([^>]+)> <([^>]+)> <([^>]+)> \.")


def full(name: str) -> str:
    """An IRI from its short form, `crm:P14_carried_out_by`."""
    prefix, _, rest = name.partition(":")
    return NAMESPACES[prefix] + rest


@dataclass
class Reading:
    """A release with its ledger, ready to be read back."""

    released: Released

    @cached_property
    def archive(self) -> Archive:
        return Archive(self.released.folder / "archive" / "archive.sqlite")

    @cached_property
    def documents(self) -> dict[str, Tree]:
        return {tree["id"]: tree for tree in self.released.documents()}

    @cached_property
    def labels(self) -> dict[str, str]:
        return {uri: tree.get("_label", "") for uri, tree in self.documents.items()}

    @cached_property
    def lines(self) -> list[tuple[str, Claim]]:
        return list(self.archive.claims(self.released.result.latest))

    @cached_property
    def apart(self) -> dict[str, frozenset[str]]:
        return truth.together([claim for _, claim in self.lines])

    @cached_property
    def ledger(self) -> truth.Ledger:
        return truth.ledger_of(self.lines, self.documents, self.labels)

    @cached_property
    def manifests(self) -> list[Tree]:
        folder = self.released.folder / "export" / "iiif" / "manifest"
        return [orjson.loads(file.read_bytes()) for file in sorted(folder.glob("*.json"))]

    @cached_property
    def harvested(self) -> list[tuple[str, str, etree._Element]]:
        """IRI, output and XML of every record that harvesters get."""
        harvest, latest = Harvest(self.archive), self.released.result.latest
        return [
            (one.uri, output, etree.fromstring(one.body))
            for output, name in (("edm", "edm"), ("oai", "oai_dc"))
            for one in harvest.some(Slice(name, latest), most=1_000_000)
            if one.body
        ]

    def harvest_faults(self, records: list[tuple[str, str, etree._Element]]) -> list[str]:
        """All faults of harvested records."""
        return [
            fault
            for uri, output, root in records
            for fault in truth.harvested_faults(
                root, output, uri, self.ledger, self.apart, self.own_words
            )
        ]

    @cached_property
    def own_words(self) -> set[str]:
        """Texts of things and pictures that are neither wording of claims nor words of a date."""
        made = {f"{truth.VOCAB}statement/attribution", truth.DISPLAY_NAME}
        return {
            node["content"]
            for tree in self.documents.values()
            if tree["type"] in ("HumanMadeObject", "VisualItem", "Set")
            for _, node in truth.nodes(tree, skip=("attributed_by",))
            if node.get("type") in ("Name", "LinguisticObject")
            and "content" in node
            and made.isdisjoint(kind["id"] for kind in node.get("classified_as", ()))
        }

    @cached_property
    def store(self) -> ox.Store:
        store = ox.Store()
        store.bulk_load("\n".join(self.released.quads).encode(), format=ox.RdfFormat.N_QUADS)
        return store

    @cached_property
    def sources(self) -> dict[str, list[Any]]:
        """Records of the source files by name of the file."""
        return {}

    def cell(self, entry: TraceEntry) -> str:
        """What the source has in the cell, or below the JSON Pointer, to which a trace leads."""
        name, column = entry.place.file, entry.place.column
        if name not in self.sources:
            path = self.released.folder / name
            with path.open(encoding="utf-8-sig", newline="") as handle:
                if name.endswith(".csv"):
                    self.sources[name] = list(csv.DictReader(handle))
                else:
                    self.sources[name] = [orjson.loads(line) for line in handle]
        found = self.sources[name][entry.place.record - 1]
        for step in column.split("/")[1:] if column.startswith("/") else [column]:
            found = found[int(step)] if isinstance(found, list) else found[step]
        return str(found)

    def of_source(self, uri: str, pointer: str) -> list[TraceEntry]:
        """The cells of the catalogue that a place of a document came from; of claims none."""
        return [
            entry
            for entry in self.archive.trace(uri)
            if entry.path
            and not entry.field.startswith("claim ")
            and (
                pointer == entry.path
                or pointer.startswith(entry.path + "/")
                or entry.path.startswith(pointer + "/")
            )
        ]

    def faults(self, trees: dict[str, Tree], excused: list[str]) -> list[str]:
        """All faults of documents; `excused` gets what the source itself states or has in words."""
        found: list[str] = []
        for uri, tree in trees.items():

            def plain(pointer: str, uri: str = uri) -> bool:
                own = bool(self.of_source(uri, pointer))
                excused.extend([f"slot {uri}"] if own else [])
                return own

            def quoted(pointer: str, label: str, uri: str = uri) -> bool:
                own = any(label in self.cell(entry) for entry in self.of_source(uri, pointer))
                excused.extend([f"text {uri}"] if own else [])
                return own

            found += truth.slot_faults(tree, self.ledger, plain)
            found += truth.act_faults(tree, self.ledger, self.apart)
            found += truth.text_faults(tree, self.ledger, self.apart, quoted)
        return found

    def manifest_faults(self, manifests: list[Tree]) -> list[str]:
        """All faults of manifests."""
        return [
            fault
            for manifest in manifests
            for fault in truth.manifest_faults(
                manifest, self.documents[manifest["seeAlso"][0]["id"]],
                self.ledger, self.apart, self.own_words,
            )
        ]  # fmt: skip


@pytest.fixture(scope="module", params=NAMES)
def reading(request: pytest.FixtureRequest, releases: Callable[[str], Released]) -> Reading:
    return Reading(releases(request.param))


@pytest.fixture(scope="module")
def demo(releases: Callable[[str], Released]) -> Reading:
    return Reading(releases("demo"))


DOUBTED = {"demo": 65, "cmoa-csv": 1_400, "tate": 2_300, "nga": 3_000}
"""Claims that are not current and certain: at least so many, so that nothing passes empty."""
SOURCES_OWN_SLOTS = {
    # the source itself states a maker and names the same one in doubt: the thing, and how often
    "cmoa-csv": Counter({"b85744fc-04e0-4a50-840f-90cbf7e59621": 1}),
}


def test_no_slot_and_no_text_states_what_is_in_doubt(reading: Reading) -> None:
    name, excused = reading.released.name, list[str]()
    faults = reading.faults(reading.documents, excused)
    slots = Counter(e.rpartition("/")[2] for e in excused if e.startswith("slot "))

    assert faults == []
    assert sum(map(len, reading.ledger.doubted.values())) >= DOUBTED[name]
    assert slots == SOURCES_OWN_SLOTS.get(name, Counter())
    # titles, and names of givers, that have the name of a doubted maker in them
    assert len(excused) - slots.total() <= {"cmoa-csv": 19, "tate": 20}.get(name, 0)


def test_no_manifest_states_what_is_in_doubt(reading: Reading) -> None:
    assert reading.manifest_faults(reading.manifests) == []
    if reading.released.name == "demo":
        about = [m["seeAlso"][0]["id"] for m in reading.manifests]
        doubted = sum(1 for uri in about for _ in reading.ledger.about(uri))
        values = [text for m in reading.manifests for text in truth.texts_of(m)]
        assert len(about) >= 60
        assert doubted >= 40
        told = [words for group in truth.HEDGES.values() for words in group]
        told += [words for group in truth.STANDINGS.values() for words in group]
        assert sum(any(word in text for word in told) for text in values) >= 20
    else:
        assert reading.manifests == []


def test_collections_show_names_only(demo: Reading) -> None:
    people = {
        node["content"]
        for tree in demo.documents.values()
        for node in tree.get("identified_by", ())
        if tree["type"] in ("Person", "Group")
    }
    ours = {
        "Highland Railway Library", "Linked Art record", "Credit", "Notice: Teveli Council",
        EVERYTHING, NO_DOUBTED,
    }  # fmt: skip
    names = people | {f"Works: {name}" for name in people}
    trees = collections(demo)

    assert {
        text for tree in trees for text in truth.texts_of(tree)
    } <= demo.own_words | ours | names
    assert len(trees) >= 10


EVERYTHING = "Albums and pictures, and what belongs to a set or is certain to be by one maker."
NO_DOUBTED = "Works whose attribution is in doubt are not listed here."


def collections(reading: Reading) -> list[Tree]:
    folder = reading.released.folder / "export" / "iiif" / "collection"
    return [orjson.loads(path.read_bytes()) for path in sorted(folder.rglob("*.json"))]


def doubted_works(reading: Reading, trees: list[Tree]) -> list[str]:
    """Manifests in the collection of somebody whose part in the thing is in doubt."""
    found = []
    for tree in trees:
        maker = tree["id"].replace("/iiif/collection/", "/")
        for one in tree["items"]:
            thing = one["id"].replace(BASE + "iiif/manifest/", BASE + "object/")
            for _, doubt in reading.ledger.about(thing):
                if doubt.claim.aspect == "maker" and doubt.claim.value == maker:
                    found.append(f"{maker} {thing}")
    return found


def test_no_doubted_work_is_listed_under_its_maker(demo: Reading) -> None:
    trees = collections(demo)
    works = [tree for tree in trees if tree.get("summary", {}).get("en", [""])[-1] == NO_DOUBTED]

    assert len(works) >= 5
    assert doubted_works(demo, works) == []
    # and a planted one is found
    dolen = next(tree for tree in works if tree["id"].endswith("/person/dolen"))
    dolen["items"].append({"id": f"{BASE}iiif/manifest/item-0101"})
    assert doubted_works(demo, works) == [f"{BASE}person/dolen {BASE}object/item-0101"]


def test_no_harvested_record_states_what_is_in_doubt(reading: Reading) -> None:
    records = reading.harvested
    told = [words for group in truth.HEDGES.values() for words in group]
    texts = [element.text or "" for _, _, root in records for element in root.iter()]
    hedged = sum(any(word in text for word in told) for text in texts)

    own = SOURCES_OWN_SLOTS.get(reading.released.name, Counter())
    faults = reading.harvest_faults(records)

    assert [fault for fault in faults if not any(thing in fault for thing in own)] == []
    assert len(records) >= {"demo": 130, "cmoa-csv": 4_500}.get(reading.released.name, 2_000)
    assert hedged >= {"demo": 40, "cmoa-csv": 1_000, "tate": 1_000, "nga": 0}[reading.released.name]


def test_every_element_that_is_harvested_is_a_slot_or_declared_free_of_claims(
    demo: Reading,
) -> None:
    for output, least in (("edm", 45), ("oai", 11)):
        paths = [s.path for s in (*VALUE_ONLY_SLOTS, *TEXT_SLOTS) if s.output == output]
        slots = {path.partition("@")[0].partition("[")[0] for path in paths}
        free = FREE_OF_CLAIMS[output].keys()
        met = {
            truth.element_name(element)
            for _, kind, root in demo.harvested
            if kind == output
            for element in root.iter()
        }

        assert met - slots - free == set()
        assert slots.isdisjoint(free)
        assert len(met) >= least


# --- N-Quads ---------------------------------------------------------------------------------

SLOT_IRIS = {
    aspect: {
        full(slot.path)
        for slot in VALUE_ONLY_SLOTS
        if slot.output == "nquads" and aspect in slot.aspects
    }
    for aspect in builtin_aspects().by_name
}


def test_no_triple_of_a_value_slot_states_what_is_in_doubt(reading: Reading) -> None:
    """Line by line over the whole dump, for every value that has an IRI."""
    doubted = {
        (uri, prop, value)
        for uri, ones in reading.ledger.doubted.items()
        for one in ones
        for value in one.names
        for prop in SLOT_IRIS[one.claim.aspect]
        if ":" in value and (one.claim.aspect, value) not in reading.ledger.settled.get(uri, ())
    }
    met = [
        line
        for line in reading.released.quads
        if (match := LINE.match(line))
        and (match[4], match[2], match[3]) in doubted
        and not match[1].startswith(f"{match[4]}#claim-")
    ]
    excused = SOURCES_OWN_SLOTS.get(reading.released.name, Counter())

    assert {line.partition("/object/")[2].partition("#")[0] for line in met} == set(excused)
    assert len(met) == excused.total()
    assert (
        len(doubted)
        >= {"demo": 45, "cmoa-csv": 1_300, "tate": 2_200, "nga": 0}[reading.released.name]
    )


def test_each_claim_is_quoted_and_stated_only_if_it_holds(reading: Reading) -> None:
    name = reading.released.name
    doubtful = {
        (uri, one.claim.key) for uri, ones in reading.ledger.doubted.items() for one in ones
    }
    graphs = {f"<{uri}> ." for uri, _ in reading.lines}
    lines = [line for line in reading.released.quads if line.rsplit(" ", 2)[1] + " ." in graphs]
    faults, count = faults_of_claims(lines)
    own = SOURCES_OWN_SLOTS.get(name, Counter())

    # a value in words is named in the claim alone, since no record is of it
    worded = {
        f"{uri}#claim-{claim.key}"
        for uri, claim in reading.lines
        if claim.value_text and not claim.value
    }
    left = [f for f in faults if f.partition(": ")[0] not in worded]
    assert len([f for f in left if not any(thing in f for thing in own)]) == 0
    assert count[False] == len(doubtful)


BELIEF = re.compile(
    r"<[^>]+#claim-([^>]+)-belief> "
    r"<[^>]+(?:J5_holds_to_be|P2_has_type)> <[^>]+/vocab/(standing|qualifier)/([^>]+)> "
)


def test_each_belief_is_held_as_the_ledger_holds_it(reading: Reading) -> None:
    held: dict[str, set[tuple[str, str]]] = {}
    for line in reading.released.quads:
        if match := BELIEF.match(line):
            held.setdefault(match[1], set()).add((match[2], match[3]))
    lines = {claim.key: claim for _, claim in reading.lines}

    assert {key: held[key] for key in lines} == {
        key: {("standing", claim.effective)}
        | ({("qualifier", claim.qualifier)} if claim.qualifier else set())
        for key, claim in lines.items()
    }
    rest = [said for key, said in held.items() if key not in lines]
    assert all(said == {("standing", "former")} for said in rest)


# --- plain queries ---------------------------------------------------------------------------

PREFIX = f"PREFIX crm: <{CRM}> "
QUERIES = {
    # what somebody asks: the query, the aspects whose values it could meet
    "carried out by X": (
        "SELECT ?x ?v { ?x a crm:E12_Production ; crm:P14_carried_out_by ?v }", ("maker",),
    ),
    "made after X": (
        "SELECT ?x ?v { ?x a crm:E12_Production ; crm:P15_was_influenced_by ?v }",
        ("maker", "copy_of"),
    ),
    "at P": ("SELECT ?x ?v { ?x a crm:E12_Production ; crm:P7_took_place_at ?v }", ("place",)),
    "with process Q": (
        "SELECT ?x ?v { ?x a crm:E12_Production ; crm:P32_used_general_technique ?v }",
        ("process",),
    ),
    "printed from N": (
        "SELECT ?x ?v { ?x a crm:E12_Production ; crm:P16_used_specific_object ?v }",
        ("copy_of", "printed_from", "composed_of"),
    ),
    "images that represent X": (
        "SELECT ?x ?v { ?x a crm:E36_Visual_Item ; crm:P138_represents ?v }",
        ("sitter", "depicts", "same_sitter_as"),
    ),
    "images of things like T": (
        "SELECT ?x ?v { ?x a crm:E36_Visual_Item ; crm:P199_represents_instance_of_type ?v }",
        ("depicts",),
    ),
    "members of G": (
        "SELECT ?x ?v { ?x crm:P107i_is_current_or_former_member_of ?v }", ("member_of",),
    ),
    "things of format F": (
        "SELECT ?x ?v { ?x a crm:E22_Human-Made_Object ; crm:P2_has_type ?v }", ("format",),
    ),
    "things titled T": (
        "SELECT ?x ?v { ?x a crm:E22_Human-Made_Object ; crm:P1_is_identified_by ?n . "
        "?n a crm:E33_E41_Linguistic_Appellation ; crm:P190_has_symbolic_content ?v }",
        ("title",),
    ),
    "made on day D": (
        "SELECT ?x ?v { ?x a crm:E12_Production ; crm:P4_has_time-span ?t . "
        "?t crm:P1_is_identified_by ?n . ?n a crm:E42_Identifier ; crm:P190_has_symbolic_content ?v }",
        ("date", "date_printed"),
    ),
    "mounted on day D": (
        "SELECT ?x ?v { ?x a crm:E11_Modification ; crm:P4_has_time-span ?t . "
        "?t crm:P1_is_identified_by ?n . ?n a crm:E42_Identifier ; crm:P190_has_symbolic_content ?v }",
        ("date_mounted", "date_captioned"),
    ),
}  # fmt: skip
LEAST = {
    "demo": {
        "carried out by X": 40, "at P": 40, "with process Q": 40, "images that represent X": 20,
        "made on day D": 55, "things titled T": 100, "printed from N": 3, "members of G": 5,
        "mounted on day D": 1,
    },
    "cmoa-csv": {"carried out by X": 3_500, "made on day D": 4_500, "things titled T": 4_700},
    "tate": {
        "carried out by X": 1_500, "made on day D": 3_400, "things titled T": 4_000,
        "images that represent X": 5_000, "images of things like T": 20_000,
    },
    "nga": {"things titled T": 2_600},
}  # fmt: skip


def test_plain_queries_over_the_whole_dump_meet_nothing_in_doubt(reading: Reading) -> None:
    name, met, counts = reading.released.name, list[tuple[str, str, str]](), Counter[str]()
    ledger = reading.ledger
    for asked, (query, aspects) in QUERIES.items():
        doubted = {
            (uri, value)
            for uri, ones in ledger.doubted.items()
            for one in ones
            if one.claim.aspect in aspects
            for value in one.names
            if not any((aspect, value) in ledger.settled.get(uri, ()) for aspect in aspects)
        }
        found = reading.store.query(PREFIX + query, use_default_graph_as_union=True)
        for row in found:
            counts[asked] += 1
            uri, value = row["x"].value.partition("#")[0], row["v"].value
            if (uri, value) in doubted:
                met.append((asked, uri, value))
    own = SOURCES_OWN_SLOTS.get(name, Counter())

    assert [hit for hit in met if hit[1].rpartition("/")[2] not in own] == []
    assert {asked: counts[asked] for asked, n in LEAST[name].items() if counts[asked] < n} == {}


def test_no_query_by_day_meets_a_thing_whose_day_is_in_doubt(demo: Reading) -> None:
    """The ends of every doubted date, asked for as days: only certain dates answer."""
    ends = {
        claim.key: (claim, uri)
        for uri, ones in demo.ledger.doubted.items()
        for claim in (one.claim for one in ones)
        if claim.aspect == "date" and claim.value
    }
    asked = 0
    for claim, uri in ends.values():
        act = next(a for _, a in truth.acts(demo.documents[uri]) if truth.claim_key(a) == claim.key)
        [span] = act["assigned"]
        if "begin_of_the_begin" not in span:
            continue
        asked += 1
        query = (
            f"{PREFIX} PREFIX xsd: <http://www.w3.org/2001/XMLSchema#> SELECT ?x {{ "
            f"?x a crm:E12_Production ; crm:P4_has_time-span ?t . "
            f'?t crm:P82a_begin_of_the_begin "{span["begin_of_the_begin"]}"^^xsd:dateTime ; '
            f'crm:P82b_end_of_the_end "{span["end_of_the_end"]}"^^xsd:dateTime }}'
        )
        rows = demo.store.query(query, use_default_graph_as_union=True)
        things = {row["x"].value.partition("#")[0] for row in rows}

        assert uri not in things, claim.key
    assert asked >= 5


# --- slots are complete ----------------------------------------------------------------------


def last_key(path: str) -> str:
    return path.rpartition("/")[2].partition("[")[0].partition("@")[0]


def test_every_key_of_a_document_is_a_slot_or_declared_free_of_claims() -> None:
    keys = {
        row.key
        for row in ROWS
        if row.iri and row.key[0] in "_abcdefghijklmnopqrstuvwxyz" and not row.iri.startswith(("@", "http"))
    }  # fmt: skip
    values = {last_key(slot.path) for slot in VALUE_ONLY_SLOTS if slot.output == "linked-art"}
    texts = {last_key(slot.path) for slot in TEXT_SLOTS if slot.output == "linked-art"}
    free = set(FREE_OF_CLAIMS["linked-art"])

    assert keys - values - texts - free == set()
    assert (values | texts | free) - keys == set()
    assert values & free == texts & free == values & texts == set()
    assert all(len(reason.split()) > 3 for reason in FREE_OF_CLAIMS["linked-art"].values())
    assert len(keys) > 110


def test_no_aspect_leads_to_a_key_that_is_declared_free_of_claims() -> None:
    free = set(FREE_OF_CLAIMS["linked-art"])
    for aspect in builtin_aspects().by_name.values():
        families = {family.property for family in aspect.families.values()}
        leads = {aspect.property, aspect.direct, *aspect.at.values(), *aspect.of.values()}
        assert free.isdisjoint(leads | families), aspect.name


def test_every_property_is_a_slot_or_declared_free_of_claims(reading: Reading) -> None:
    """Those that a dump has, and those that terms.csv could give to one."""
    met = {line.split(" ", 2)[1][1:-1] for line in reading.released.quads}
    slots = {full(s.path) for s in (*VALUE_ONLY_SLOTS, *TEXT_SLOTS) if s.output == "nquads"}
    free = {full(name) for name in FREE_OF_CLAIMS["nquads"]}
    of_keys = {full(row.iri) for row in ROWS if row.key in FREE_OF_CLAIMS["linked-art"]}
    could = {
        full(row.iri)
        for row in ROWS
        if ":" in row.iri and row.key[0].islower() and not row.iri.startswith("http")
    }

    assert met - slots - free - of_keys == set()
    assert could - slots - free - of_keys == set()
    assert slots - could == {full("rdfs:label")}
    assert slots.isdisjoint(free | of_keys)
    assert len(could) > 110


def test_every_key_of_a_manifest_is_a_slot_or_declared_free_of_claims(demo: Reading) -> None:
    slots = {slot.path for slot in (*VALUE_ONLY_SLOTS, *TEXT_SLOTS) if slot.output == "iiif"}
    free = FREE_OF_CLAIMS["iiif"].keys()
    met: set[str] = set()
    for manifest in demo.manifests:
        for pointer, node in truth.nodes(manifest):
            if not pointer.endswith(("/label", "/value", "/summary")):  # texts by language
                met |= node.keys()

    assert met - slots - free == set()
    assert slots - met == set()
    assert slots.isdisjoint(free)


# --- faults put in on purpose ----------------------------------------------------------------

ITEM = "https://collections.example.org/object/item-0101"
VEY = {"id": "https://collections.example.org/person/vey", "type": "Person", "_label": "Jonas Vey"}
Documents = dict[str, Tree]


def part(trees: Documents, thing: str, role: str) -> Tree:
    uri = f"https://collections.example.org/object/{thing}"
    found: Tree = next(p for p in trees[uri]["produced_by"]["part"] if p["id"] == f"{uri}#{role}")
    return found


def act_of(trees: Documents, key: str) -> tuple[Tree, Tree]:
    """A claim and the node that it is about."""
    return next(
        (node, act)
        for tree in trees.values()
        for (_, node), act in truth.acts(tree)
        if truth.claim_key(act) == key
    )


def state(trees: Documents, key: str, slot: str, value: Any = None) -> None:
    """State the value of a claim directly."""
    node, act = act_of(trees, key)
    value = value or act["assigned"][0]
    node[slot] = value if slot == "timespan" else [*node.get(slot, ()), value]


def unhedge(trees: Documents, key: str) -> None:
    _, act = act_of(trees, key)
    name = next(n for n in act["identified_by"] if n["type"] == "Name")
    name["content"] = act["assigned"][0]["_label"]


def unclassify(trees: Documents, key: str, word: str) -> None:
    _, act = act_of(trees, key)
    act["classified_as"] = [k for k in act["classified_as"] if word not in k["id"]]


def attribute(trees: Documents, words: str) -> None:
    trees[ITEM]["produced_by"]["referred_to_by"][0]["content"] = words


def label(trees: Documents, words: str) -> None:
    trees[ITEM]["_label"] = words


def image_of(trees: Documents, thing: str) -> Tree:
    uri = f"https://collections.example.org/object/{thing}"
    return trees[trees[uri]["shows"][0]["id"]]


PLANTED: list[tuple[str, Callable[[Documents], None], str]] = [
    ("a possible maker", lambda t: state(t, "c0103", "carried_out_by"), "c0103 fills a value slot"),
    ("a former maker", lambda t: state(t, "c0104", "carried_out_by"), "c0104 fills a value slot"),
    ("a rejected maker", lambda t: state(t, "c0106", "carried_out_by"), "c0106 fills a value slot"),
    ("a maker of the whole", lambda t: t[ITEM]["produced_by"].update(carried_out_by=[VEY]), "c0103 fills"),
    ("one of two makers", lambda t: state(t, "c0122", "carried_out_by"), "c0122 fills a value slot"),
    ("a master as maker", lambda t: state(t, "c0140", "carried_out_by"), "c0140 fills a value slot"),
    ("a master as influence", lambda t: state(t, "c0140", "influenced_by"), "c0140 fills a value slot"),
    ("a probable date", lambda t: state(t, "c0133", "timespan"), "c0133 fills a value slot"),
    ("a possible process", lambda t: state(t, "c0149", "technique"), "c0149 fills a value slot"),
    ("a probable negative", lambda t: state(t, "c0117", "used_specific_object"), "c0117 fills"),
    ("a probable sitter", lambda t: state(t, "c0130", "represents"), "c0130 fills a value slot"),
    ("a possible title", lambda t: state(t, "c0118", "identified_by"), "c0118 fills a value slot"),
    ("a probable member", lambda t: state(t, "c0132", "member_of"), "c0132 fills a value slot"),
    ("a claim without its hedge", lambda t: unhedge(t, "c0105"), "c0105 is told without its hedge"),
    ("a former view as if held", lambda t: unhedge(t, "c0104"), "c0104 is told without its hedge"),
    ("a rejected view as if held", lambda t: unhedge(t, "c0106"), "c0106 is told without its hedge"),
    ("a standing lost", lambda t: unclassify(t, "c0104", "standing/"), "c0104 is classified as"),
    ("a qualifier lost", lambda t: unclassify(t, "c0105", "qualifier/"), "c0105 is classified as"),
    ("alternatives lost", lambda t: unclassify(t, "c0123", "alternative"), "c0123 is classified as"),
    ("a line of attribution unhedged", lambda t: attribute(t, "Mira Dolen"), "c0105 stands unhedged"),
    (
        "a former maker unhedged",
        lambda t: attribute(t, "attributed to Mira Dolen; Anselm Korvath"),
        "c0104 stands unhedged",
    ),
    ("a maker in the label", lambda t: label(t, "Snow cutting, by Mira Dolen"), "c0105 stands unhedged"),
    (
        "a sitter in the label of the picture",
        lambda t: image_of(t, "item-0102").update(_label="Jonas Vey at the table"),
        "c0130 stands unhedged",
    ),
    (
        "a claim left out",
        lambda t: act_of(t, "c0103")[0].update(attributed_by=[]),
        "the claim c0103 is not published",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("plant", "found"), [p[1:] for p in PLANTED], ids=[p[0] for p in PLANTED])
def test_a_planted_fault_is_found(
    demo: Reading, plant: Callable[[Documents], None], found: str
) -> None:
    trees = deepcopy(demo.documents)
    plant(trees)
    changed = {uri: tree for uri, tree in trees.items() if tree != demo.documents[uri]}
    faults = demo.faults(changed, [])

    assert len(changed) == 1
    assert any(found in fault for fault in faults), faults


def manifest_of(manifests: list[Tree], thing: str) -> Tree:
    return next(m for m in manifests if m["id"].endswith(f"/{thing}"))


def reword(manifest: Tree, old: str, new: str) -> None:
    for row in manifest["metadata"]:
        for tag, words in row["value"].items():
            row["value"][tag] = [text.replace(old, new) for text in words]


PLANTED_IN_MANIFESTS: list[tuple[str, str, Callable[[Tree], None], str]] = [
    ("a day in doubt", "item-0102", lambda m: m.update(navDate="1872-02-10T00:00:00Z"), "navDate"),
    ("a hedge lost", "item-0101", lambda m: reword(m, "attributed to Mira", "Mira"), "c0105"),
    ("a standing lost", "item-0101", lambda m: reword(m, "formerly attributed to ", ""), "c0104"),
    ("a sitter unhedged", "item-0102", lambda m: reword(m, "probably Jonas", "Jonas"), "c0130"),
    ("a maker as label", "item-0101", lambda m: m.update(label={"en": ["Mira Dolen"]}), "c0105"),
]


@pytest.mark.parametrize(
    ("thing", "plant", "found"), [p[1:] for p in PLANTED_IN_MANIFESTS],
    ids=[p[0] for p in PLANTED_IN_MANIFESTS],
)  # fmt: skip
def test_a_fault_planted_in_a_manifest_is_found(
    demo: Reading, thing: str, plant: Callable[[Tree], None], found: str
) -> None:
    manifests = deepcopy(demo.manifests)
    plant(manifest_of(manifests, thing))
    faults = demo.manifest_faults(manifests)

    assert manifests != demo.manifests
    assert any(found in fault for fault in faults), faults


# --- and in records that harvesters get

DC, TERMS = "{http://purl.org/dc/elements/1.1/}", "{http://purl.org/dc/terms/}"
PERSON = "https://collections.example.org/person/"
Element = etree._Element


def say_so(root: Element, name: str, words: str) -> None:
    """Add one more element with a text beside the title."""
    title = next(root.iter(f"{DC}title"))
    etree.SubElement(title.getparent(), name).text = words


def lead_to(root: Element, name: str, uri: str) -> None:
    """Add one more element with a link beside the title."""
    title = next(root.iter(f"{DC}title"))
    etree.SubElement(title.getparent(), name).set(truth.RESOURCE, uri)


PLANTED_IN_RECORDS: list[tuple[str, str, str, Callable[[Element], None], str]] = [
    ("a doubted maker as a link", "edm", "item-0101", lambda r: lead_to(r, f"{DC}creator", PERSON + "dolen"), "c0105 fills"),
    ("a former maker as a link", "edm", "item-0101", lambda r: lead_to(r, f"{DC}creator", PERSON + "korvath"), "c0104 fills"),
    ("a printer as a link", "edm", "item-0101", lambda r: lead_to(r, f"{DC}contributor", PERSON.replace("person", "group") + "studio-korvath"), "c0125 fills"),
    ("a probable sitter as a link", "edm", "item-0102", lambda r: lead_to(r, f"{DC}subject", PERSON + "vey"), "c0130 fills"),
    ("a possible negative as a link", "edm", "item-0101", lambda r: lead_to(r, "{http://www.europeana.eu/schemas/edm/}isDerivativeOf", ITEM.replace("item-0101", "negative-30")), "c0117 fills"),
    ("a hedge lost", "edm", "item-0101", lambda r: say_so(r, f"{DC}creator", "Mira Dolen"), "c0105 stands unhedged"),
    ("a former maker in words", "edm", "item-0101", lambda r: say_so(r, f"{DC}description", "formerly attributed to Anselm Korvath"), "c0104, which nobody holds now"),
    ("a rejected maker in words", "oai", "item-0101", lambda r: say_so(r, f"{DC}creator", "Bruno Esker (rejected)"), "c0107, which nobody holds now"),
    ("a proposed maker in words", "oai", "item-0101", lambda r: say_so(r, f"{DC}creator", "possibly by Jonas Vey"), "c0103, which nobody holds now"),
    ("a proposed title in words", "oai", "item-0101", lambda r: say_so(r, f"{DC}title", "possibly “The Great Fall”"), "c0118, which nobody holds now"),
    ("a probable date as EDTF", "oai", "item-0102", lambda r: say_so(r, f"{DC}date", "1872-02-10/1872-02-12"), "c0133 fills"),
    ("a possible date in words", "oai", "item-0102", lambda r: say_so(r, f"{DC}date", "between 10 February 1872 and 12 February 1872"), "c0133 stands unhedged"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("output", "thing", "plant", "found"), [p[1:] for p in PLANTED_IN_RECORDS],
    ids=[p[0] for p in PLANTED_IN_RECORDS],
)  # fmt: skip
def test_a_fault_planted_in_a_harvested_record_is_found(
    demo: Reading, output: str, thing: str, plant: Callable[[Element], None], found: str
) -> None:
    records = [
        (uri, kind, deepcopy(root))
        for uri, kind, root in demo.harvested
        if kind == output and uri.endswith(f"/{thing}")
    ]
    [(_, _, root)] = records
    plant(root)
    faults = demo.harvest_faults(records)

    assert any(found in fault for fault in faults), faults
