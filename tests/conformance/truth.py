"""Reads every slot and every text of what was published back against the ledger.

What a claim says that is not current and certain must stand in no slot that holds only a value,
and in no text without its hedge or its standing. Nothing here goes by what the program thinks of a
claim: the ledger's own columns decide, and the words to be met are written down below.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from lodpipe.aspects import builtin_aspects
from lodpipe.dates import parse
from lodpipe.errors import DateError
from lodpipe.records import Claim, Tree
from lodpipe.wording import VALUE_ONLY_SLOTS, date_words

VOCAB = "https://collections.example.org/vocab/"
DISPLAY_NAME = "http://vocab.getty.edu/aat/300404669"
PRIMARY_NAME = "http://vocab.getty.edu/aat/300404670"
HEDGES: Mapping[str, tuple[str, ...]] = {
    # what a reader of English must meet, by qualifier
    "probably": ("probably",),
    "possibly": ("possibly",),
    "attributed-to": ("attributed to", "thought to be"),
    "workshop-of": ("workshop of",),
    "studio-of": ("studio of",),
    "circle-of": ("circle of",),
    "school-of": ("school of",),
    "pupil-of": ("pupil of", "pupils of"),
    "follower-of": ("follower of",),
    "manner-of": ("manner of",),
    "style-of": ("style of",),
    "imitator-of": ("imitator of",),
    "after": ("after",),
    "copyist-of": ("copyist of",),
}
STANDINGS = {
    "former": ("formerly",),
    "rejected": ("rejected",),
    # a proposal that says its doubt, or is told as one of several, reads as no fact either
    "proposed": ("(proposed)", "probably", "possibly", "attributed to", "thought to be", "one of "),
}
ALTERNATIVE = ("one of ", "perhaps ", " or ")
DATE_MARKS = ("perhaps", "about", "uncertain", "approximate")
KEYS = {
    aspect: frozenset(
        slot.path.rpartition("/")[2].partition("[")[0]
        for slot in VALUE_ONLY_SLOTS
        if slot.output == "linked-art" and aspect in slot.aspects
    )
    for aspect in builtin_aspects().by_name
}
"""Keys of value slots by aspect."""

Node = tuple[str, Tree]
"""JSON Pointer and node."""


@dataclass(slots=True)
class Doubted:
    """A claim that is not current and certain, in its document.

    `names` are the IRIs, EDTF texts or words that no value slot may hold; `labels` how a text
    would call them.
    """

    claim: Claim
    names: frozenset[str]
    labels: frozenset[str]


@dataclass(slots=True)
class Ledger:
    """The ledger of a release by document: what is in doubt, and what certain claims name."""

    doubted: dict[str, list[Doubted]] = field(default_factory=lambda: defaultdict(list))
    settled: dict[str, set[tuple[str, str]]] = field(default_factory=lambda: defaultdict(set))
    settled_labels: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    images: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    """Documents of the pictures by the thing that shows them."""

    def about(self, uri: str) -> Iterator[tuple[str, Doubted]]:
        """Yield what is in doubt about a thing and the pictures that it shows, by document."""
        for document in (uri, *self.images.get(uri, ())):
            for one in self.doubted.get(document, ()):
                yield document, one


def ledger_of(
    claims: Iterable[tuple[str, Claim]], documents: Mapping[str, Tree], labels: Mapping[str, str]
) -> Ledger:
    """Return the ledger of a release.

    Args:
        claims: document and line, as the archive holds them.
        documents: published ones; they also hold the former views of the catalogue that the
            ledger has set aside, which are no lines of it.
        labels: of all documents by IRI.
    """
    found = Ledger()
    lines = list(claims)
    apart = together([claim for _, claim in lines])
    for uri, tree in documents.items():
        found.images[uri] = [image["id"] for image in tree.get("shows", ())]
    for uri, claim in lines:
        names, called = _names(claim), _labels(claim, labels)
        if claim.key in apart or not is_certain(claim):
            found.doubted[uri].append(Doubted(claim, names, called))
        else:
            found.settled[uri].update((claim.aspect, name) for name in names)
            found.settled_labels[uri] |= called | names
    known = {claim.key for _, claim in lines}
    for uri, tree in documents.items():
        for _, node in acts(tree):
            former = _set_aside(node, known)
            if former is not None:
                one = Doubted(former, _names(former), _labels(former, labels))
                found.doubted[uri].append(one)
    return found


def is_certain(claim: Claim) -> bool:
    """Return whether a claim, taken alone, is current and certain."""
    dated = claim.aspect.startswith("date") and re.search(r"[?%]", claim.value)
    return claim.effective == "current" and not claim.qualifier and not dated


def together(claims: Iterable[Claim]) -> dict[str, frozenset[str]]:
    """Return the sets of which one claim holds, by the key of each member."""
    sets: dict[str, set[str]] = {}
    for claim in claims:
        if claim.alternative_to:
            one = sets.get(claim.key, {claim.key}) | sets.get(
                claim.alternative_to, {claim.alternative_to}
            )
            for key in one:
                sets[key] = one
    return {key: frozenset(one) for key, one in sets.items()}


def _names(claim: Claim) -> frozenset[str]:
    return frozenset(text for text in (claim.value, claim.value_text) if text)


def _labels(claim: Claim, labels: Mapping[str, str]) -> frozenset[str]:
    found = {claim.value_text, labels.get(claim.value, "")}
    if claim.aspect.startswith("date") and claim.value:
        try:
            found.add(date_words(parse(claim.value), "en"))
        except DateError:
            found.add(claim.value)
    return frozenset(label for label in found if label)


def _set_aside(node: Tree, known: set[str]) -> Claim | None:
    key = claim_key(node)
    if key in known or not key.startswith("catalogue-"):
        return None
    value = node["assigned"][0]
    texts = [name["content"] for name in value.get("identified_by", ())]
    aspect = next(t["id"] for t in node["classified_as"] if "/aspect/" in t["id"])
    return Claim(
        key, "", aspect.rpartition("/")[2], value.get("id", ""), value_text="".join(texts[:1]),
        standing="former", effective="former", mapped=True,
    )  # fmt: skip


# --- walking ---------------------------------------------------------------------------------


def nodes(tree: Any, pointer: str = "", skip: tuple[str, ...] = ()) -> Iterator[Node]:
    """Yield every node of a tree with its JSON Pointer, but none below the keys to be skipped."""
    if isinstance(tree, dict):
        yield pointer, tree
        for key, value in tree.items():
            if key not in skip and isinstance(value, (dict, list)):
                yield from nodes(value, f"{pointer}/{key}", skip)
    else:
        for number, value in enumerate(tree):
            if isinstance(value, (dict, list)):
                yield from nodes(value, f"{pointer}/{number}", skip)


def acts(tree: Tree) -> Iterator[tuple[Node, Tree]]:
    """Yield the claims of a document, each with the node that it is about."""
    for pointer, node in nodes(tree, skip=("attributed_by",)):
        for act in node.get("attributed_by", ()):
            yield (pointer, node), act


def claim_key(act: Tree) -> str:
    """Return the key of a claim, from its Identifier."""
    return next(
        (n["content"] for n in act.get("identified_by", ()) if n["type"] == "Identifier"), ""
    )


def said_by(value: Any) -> set[str]:
    """Return what a value says: its IRI, its EDTF or display words, its text."""
    if not isinstance(value, dict):
        return set()
    found = {str(value[key]) for key in ("id", "content") if key in value}
    return found | {str(name.get("content")) for name in value.get("identified_by", ())}


def listed(value: Any) -> list[Any]:
    """Return a value that may be one or a list as a list."""
    return value if isinstance(value, list) else [value]


# --- value slots -----------------------------------------------------------------------------

FromSource = Callable[[str], bool]
"""Whether what stands at a JSON Pointer is the catalogue's own plain statement."""
Quoted = Callable[[str, str], bool]
"""Whether the cell that a text came from, by its JSON Pointer, has some words in it."""


def slot_faults(tree: Tree, ledger: Ledger, plain: FromSource) -> Iterator[str]:
    """Yield each value slot of a document that is filled from a claim that is in doubt.

    A claim on the exposure is looked for on the whole production. The value may stand there if a
    certain claim of the same aspect names it. Claims that a mapping makes leave the plain values
    of their source as they are; where the ledger decides it leaves none.
    """
    uri = tree["id"]
    doubted = ledger.doubted.get(uri)
    if not doubted:
        return
    carriers = {claim_key(act): node for node, act in acts(tree)}
    everything = list(nodes(tree, skip=("attributed_by",)))
    for one in doubted:
        claim = one.claim
        if claim.key not in carriers:
            yield f"{uri}: the claim {claim.key} is not published"
            continue
        pointer, _ = carriers[claim.key]
        kin = "/produced_by" if pointer.startswith("/produced_by") else pointer
        alone = claim.aspect.startswith("date") or claim.aspect in ("title", "inscription")
        for where, node in everything:
            if where != pointer and (alone or not re.fullmatch(f"{kin}(/part/[0-9]+)?", where)):
                continue
            for key in KEYS[claim.aspect] & node.keys():
                for number, value in enumerate(listed(node[key])):
                    met = said_by(value) & one.names
                    met -= {
                        name
                        for aspect, name in ledger.settled.get(uri, ())
                        if aspect == claim.aspect
                    }
                    at = (
                        f"{where}/{key}/{number}"
                        if isinstance(node[key], list)
                        else f"{where}/{key}"
                    )
                    if met and not (claim.mapped and plain(at)):
                        yield f"{uri}{at}: {claim.key} fills a value slot with {min(met)}"


# --- texts -----------------------------------------------------------------------------------


def wanted(claim: Claim, apart: bool) -> list[tuple[str, ...]]:
    """Return what a text about a doubted claim has to say: one of the words of each group."""
    groups = [HEDGES[claim.qualifier]] if claim.qualifier else []
    if claim.effective in STANDINGS:
        groups.append(STANDINGS[claim.effective])
    elif apart:
        groups.append(ALTERNATIVE)
    if claim.aspect.startswith("date") and re.search(r"[?%]", claim.value) and not groups:
        groups.append(DATE_MARKS)
    if claim.effective == "proposed" and _tells_workshop(claim):
        groups.pop()
    return groups


def _tells_workshop(claim: Claim) -> bool:
    return claim.aspect == "maker" and builtin_aspects().family(claim.qualifier) == "workshop"


def is_hedged(text: str, claim: Claim, apart: bool) -> bool:
    """Return whether a text has every hedge and standing that it must have."""
    low = text.lower()
    return all(any(word in low for word in words) for words in wanted(claim, apart))


def act_faults(tree: Tree, ledger: Ledger, apart: Mapping[str, frozenset[str]]) -> Iterator[str]:
    """Yield each claim in doubt whose own texts do not say so, or say another standing."""
    lines = {one.claim.key: one.claim for one in ledger.doubted.get(tree["id"], ())}
    for _, act in acts(tree):
        claim = lines.get(claim_key(act))
        if claim is None:
            continue
        texts = [act["_label"]] + [
            n["content"] for n in act["identified_by"] if n["type"] == "Name"
        ]
        for text in texts:
            if not is_hedged(text, claim, claim.key in apart):
                yield f"{tree['id']}: {claim.key} is told without its hedge: {text}"
        types = {kind["id"].removeprefix(VOCAB) for kind in act["classified_as"]}
        standing = {f"standing/{claim.effective}", f"aspect/{claim.aspect}"}
        standing |= {f"qualifier/{claim.qualifier}"} if claim.qualifier else set()
        standing |= (
            {"standing/alternative"}
            if claim.key in apart and claim.effective in ("current", "proposed")
            else set()
        )
        if types != standing:
            yield f"{tree['id']}: {claim.key} is classified as {sorted(types ^ standing)}"


def text_faults(
    tree: Tree, ledger: Ledger, apart: Mapping[str, frozenset[str]], quoted: Quoted
) -> Iterator[str]:
    """Yield each text of a document that names what is in doubt and does not say that it is.

    Left out: claims, which `act_faults` reads; names of other documents that a link carries, since
    `slot_faults` reads links; words that the source itself has in the cell that the text came from.
    """
    uri = tree["id"]
    about = [one for _, one in ledger.about(uri)]
    if not about:
        return
    certain = ledger.settled_labels.get(uri, set())
    for where, node in nodes(tree, skip=("attributed_by",)):
        for key in ("_label", "content"):
            text = node.get(key)
            if not text or (key == "_label" and _is_link(node, uri)):
                continue
            for claim, label in unhedged(text, about, certain, apart):
                if not quoted(f"{where}/{key}", label):
                    yield f"{uri}{where}/{key}: {claim} stands unhedged in: {text}"


def unhedged(
    text: str, about: Iterable[Doubted], certain: Iterable[str], apart: Mapping[str, frozenset[str]]
) -> Iterator[tuple[str, str]]:
    """Yield key and label of each claim in doubt that a text tells as if it were certain.

    Where several claims name one value, each with its own hedge, one of these hedges will do.
    """
    for label in sorted(certain, key=len, reverse=True):
        text = text.replace(label, "")
    by_label: dict[str, list[Claim]] = defaultdict(list)
    for one in about:
        for label in one.labels:
            if label in text:
                by_label[label].append(one.claim)
    for label, claims in sorted(by_label.items(), key=lambda pair: -len(pair[0])):
        for piece in pieces_with(text, label):
            if not any(is_hedged(piece, claim, claim.key in apart) for claim in claims):
                yield claims[0].key, label
        text = text.replace(label, "")  # a shorter name may be part of a longer one


def _is_link(node: Tree, uri: str) -> bool:
    return "id" in node and not node["id"].startswith(f"{uri}#") and node["id"] != uri


def names_in(text: str, label: str) -> bool:
    """Return whether a text has a label as whole words."""
    at = text.find(label)
    while at >= 0:
        before, after = text[at - 1 : at], text[at + len(label) : at + len(label) + 1]
        if not (before.isalnum() or after.isalnum()):
            return True
        at = text.find(label, at + 1)
    return False


def pieces_with(text: str, label: str) -> list[str]:
    """Return the pieces of a line that name something; a hedge holds for its own piece alone."""
    if ";" in label:
        return [text]
    return [piece for piece in text.split("; ") if names_in(piece, label)]


# --- manifests -------------------------------------------------------------------------------


def manifest_faults(
    manifest: Tree, tree: Tree, ledger: Ledger, apart: Mapping[str, frozenset[str]],
    own_words: set[str],
) -> Iterator[str]:  # fmt: skip
    """Yield each value slot and text of a manifest that says something in doubt without its hedge.

    Args:
        tree: the document of the thing.
        own_words: texts of documents that are words of the source: names, notices, descriptions.
    """
    uri = tree["id"]
    about = list(ledger.about(uri))
    settled = {
        pair for doc in (uri, *ledger.images.get(uri, ())) for pair in ledger.settled.get(doc, ())
    }
    held = {name for aspect, name in settled if aspect == "date"}
    day = manifest.get("navDate", "")
    disputed = any(one.claim.aspect == "date" for _, one in about)
    if day and disputed and not any(_is_day(day, name) for name in held):
        yield f"{manifest['id']}: navDate is {day}, which is in doubt"
    for feature in manifest.get("navPlace", {}).get("features", ()):
        place = feature["id"].removesuffix("#point")
        for _, one in about:
            if (
                one.claim.aspect == "place"
                and place in one.names
                and ("place", place) not in settled
            ):
                yield f"{manifest['id']}: navPlace is {place}, which is in doubt"
    certain = {
        label
        for doc in (uri, *ledger.images.get(uri, ()))
        for label in ledger.settled_labels.get(doc, ())
    }
    for text in texts_of(manifest):
        if text not in own_words:
            for claim, _ in unhedged(text, [one for _, one in about], certain, apart):
                yield f"{manifest['id']}: {claim} stands unhedged in: {text}"


def _is_day(day: str, edtf: str) -> bool:
    """Whether a navDate, a day, is the day or the first of the month or year of an EDTF text."""
    bare = re.sub(r"[?~%]", "", edtf)
    return (
        bool(bare) and day.startswith(bare) and re.fullmatch(r"\d{4}(-\d\d){0,2}", bare) is not None
    )


def texts_of(value: Any) -> Iterator[str]:
    """Yield every text that a manifest shows to readers: of labels, values, summaries, comments."""
    if isinstance(value, dict):
        if value.get("type") == "TextualBody":
            yield value["value"]
        for key, inner in value.items():
            if key in ("label", "value", "summary") and isinstance(inner, dict):
                for words in inner.values():
                    yield from words
            elif key != "provider":
                yield from texts_of(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from texts_of(inner)


# --- harvested records -----------------------------------------------------------------------

PREFIXES = {
    "http://www.w3.org/1999/02/22-rdf-syntax-ns#": "rdf",
    "http://www.europeana.eu/schemas/edm/": "edm",
    "http://www.openarchives.org/ore/terms/": "ore",
    "http://www.openarchives.org/OAI/2.0/oai_dc/": "oai_dc",
    "http://purl.org/dc/elements/1.1/": "dc",
    "http://purl.org/dc/terms/": "dcterms",
    "http://www.w3.org/2004/02/skos/core#": "skos",
    "http://www.w3.org/2003/01/geo/wgs84_pos#": "wgs84_pos",
    "http://rdfs.org/sioc/services#": "svcs",
    "http://usefulinc.com/ns/doap#": "doap",
    "http://rdvocab.info/ElementsGr2/": "rdaGr2",
    "http://www.w3.org/2002/07/owl#": "owl",
}
ENDS = ("edm:begin", "edm:end")
"""The days of a time span, whose words are read."""
RESOURCE = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}resource"


def element_name(element: Any) -> str:
    """Return the name of an XML element with its usual prefix."""
    namespace, _, local = element.tag[1:].partition("}")
    return f"{PREFIXES[namespace]}:{local}"


def harvested_faults(
    root: Any, output: str, uri: str, ledger: Ledger, apart: Mapping[str, frozenset[str]],
    own_words: set[str],
) -> Iterator[str]:  # fmt: skip
    """Yield each slot of an EDM or Dublin Core record that says what is in doubt.

    Beside what holds for every text: of what nobody holds now, not even the name may stand there.
    """
    documents = (uri, *ledger.images.get(uri, ()))
    about = [one for _, one in ledger.about(uri)]
    settled = {pair for document in documents for pair in ledger.settled.get(document, ())}
    certain = {name for document in documents for name in ledger.settled_labels.get(document, ())}
    held = {label for one in about if one.claim.effective == "current" for label in one.labels}
    aspects = {slot.path: slot.aspects for slot in VALUE_ONLY_SLOTS if slot.output == output}
    for element in root.iter():
        name = element_name(element)
        link, text = element.get(RESOURCE, ""), (element.text or "").strip()
        values = {f"{name}@rdf:resource": link, f"{name}[EDTF]": text, f"{name}[IRI]": text}
        for path, value in values.items():
            for one in about:
                pair = (one.claim.aspect, value)
                if value in one.names and pair not in settled and pair[0] in aspects.get(path, ()):
                    yield f"{uri} {path}: {one.claim.key} fills a value slot with {value}"
        if text and text not in own_words and name not in ENDS:
            for claim, _ in unhedged(text, about, certain, apart):
                yield f"{uri} {name}: {claim} stands unhedged in: {text}"
            rest = text
            for label in sorted(held | certain, key=len, reverse=True):
                rest = rest.replace(label, "")
            for one in about:
                if one.claim.effective != "current" and any(names_in(rest, n) for n in one.labels):
                    yield f"{uri} {name}: {one.claim.key}, which nobody holds now, in: {text}"
