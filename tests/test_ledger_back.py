"""What is published leads back to the ledger: every aspect, qualifier and standing."""

from dataclasses import replace
from itertools import product
from typing import Any

import pyoxigraph as ox
import pytest
from assembling import (
    ALBUMEN,
    BASE,
    DIARY,
    DOLEN,
    ITEM,
    KORVATH,
    NEGATIVE,
    NODES,
    OTHER,
    PASS,
    STUDIO,
    TARROW,
    VEY,
    VISUAL,
    claim,
    item,
    world,
)

from lodpipe.aspects import builtin_aspects
from lodpipe.assemble import Merger, brought_by, called_for, sessions
from lodpipe.assemble.targets import target
from lodpipe.publish.ledger import read_back
from lodpipe.publish.nquads import Beliefs, document_lines
from lodpipe.rdf import Emitter
from lodpipe.records import Claim, Entry, Premise
from lodpipe.terms import concepts

ASPECTS = builtin_aspects()
QUALIFIERS = ("", *ASPECTS.qualifiers)
STANDINGS = ("current", "proposed", "former", "rejected")
VALUES = {
    # aspect: value and words of its own (where a value may have both, they are tried apart too)
    "maker": (DOLEN, "the lady with the box"),
    "date": ("1872-02?", ""),
    "place": (PASS, "the pass"),
    "process": (ALBUMEN, "a paper print"),
    "date_printed": ("1873~", ""),
    "printed_from": (NEGATIVE, "the cracked plate"),
    "copy_of": (OTHER, "the other print"),
    "composed_of": (OTHER, "a figure"),
    "earlier_than": (OTHER, "the next picture"),
    "later_than": (OTHER, "the picture before"),
    "same_session_as": (OTHER, "the next picture"),
    "date_mounted": ("1873/1876", ""),
    "date_captioned": ("1880~", ""),
    "sitter": (VEY, "a man with a stick"),
    "depicts": (PASS, "the ridge"),
    "same_sitter_as": (OTHER, "the other portrait"),
    "title": ("", "The Great Fall"),
    "inscription": ("", "Sorn, 1872"),
    "format": (BASE + "vocab/work/lithograph", "a print from stone"),
    "member_of": (STUDIO, "the firm"),
    "same_as": ("http://vocab.example.net/agents/17", "Dolen, M."),
}
ABOUT = {"member_of": VEY, "same_as": VEY}
FACT = Premise("w12", "Anselm Korvath not at Sorn Pass: 1872 (whereabouts w12)", (DIARY,))


def published(claims: list[Claim]) -> str:
    """The dump of the small world with these claims."""
    index = world()
    houses = called_for(claims, ASPECTS, index, NODES)
    for house in houses:
        index[house["id"]] = Entry(house["id"], house["type"], house["_label"])
    merger = Merger(
        NODES,
        index,
        sessions=sessions(claims, index, BASE),
        brought=brought_by(claims, ASPECTS, index, BASE),
    )
    emitter, beliefs = Emitter(BASE, concepts()), Beliefs(BASE, concepts())
    lines: list[str] = []
    trees: dict[str, Any] = {house["id"]: house for house in houses}
    for uri, entry in index.items():
        tree = trees.setdefault(uri, {"id": uri, "type": entry.type, "_label": entry.label})
        if entry.type == "HumanMadeObject" and entry.roles:
            tree |= item(uri, *(role for role in entry.roles if role != "production"))
            tree["_label"] = entry.label
        if entry.shows:
            tree["shows"] = [{"id": image, "type": "VisualItem"} for image in entry.shows]
        mine = [one for one in claims if target(one, ASPECTS, index) == uri]
        found: list[Any] = []
        tree = merger.merge(tree, mine, found.append).tree
        assert found == []
        premises = {one.key: one.facts for one in mine if one.facts}
        lines += document_lines(emitter.emit(tree), beliefs, premises)
    return "\n".join(lines)


def back(claims: list[Claim], language: str = "en") -> dict[str, Claim]:
    quads = ox.parse(published(claims), format=ox.RdfFormat.N_QUADS)
    return {line.key: line for _, line in read_back(quads, BASE, concepts(), language=language)}


def line_of(key: str, aspect: str, value: str, words: str, **cells: Any) -> Claim:
    cells = {"about": ABOUT.get(aspect, ITEM), "value_text": words, **cells}
    return claim(key, aspect, value, **cells)


@pytest.mark.parametrize("aspect", ASPECTS.by_name)
def test_every_line_comes_back_as_it_was_written(aspect: str) -> None:
    value, words = VALUES[aspect]
    forms = {(value, words), (value, "") if value else (value, words)}
    if not aspect.startswith("date") and aspect != "same_as" and words:
        forms.add(("", words))
    lines = []
    for number, ((key, said), qualifier, standing, part) in enumerate(
        product(sorted(forms), QUALIFIERS, STANDINGS, ("", "second from left"))
    ):
        certain = (qualifier, standing) == ("", "current")
        if certain and part and ASPECTS.get(aspect).most == "one":
            continue  # two certain values of what takes one
        lines.append(
            line_of(
                f"c{number}", aspect, key, said, qualifier=qualifier, standing=standing, part=part,
                sources=(DIARY,) if part else (), locators=(", p. 12",) if part else (),
                basis="Korvath had left; “gone”.", premises=("w12",) if part else (),
                facts=(FACT,) if part else (), role="photographer" if aspect == "maker" else "",
            )
        )  # fmt: skip
    if ASPECTS.get(aspect).most == "one":  # one certain form alone
        certain_lines = [x for x in lines if not x.qualifier and x.standing == "current"]
        lines = [x for x in lines if x not in certain_lines[1:]]

    found = back(lines)

    assert found.keys() == {line.key for line in lines}
    assert {line.key: (found[line.key], line) for line in lines if found[line.key] != line} == {}
    assert len(lines) > 100


CHAINS = [
    # what is published of a chain is what holds now
    claim("c1", "maker", KORVATH, role="photographer", effective="former", on="1958"),
    claim("c2", "maker", DOLEN, role="photographer", qualifier="attributed-to", replaces="c1"),
    claim("c3", "maker", VEY, role="printer", effective="rejected"),
    claim("c4", "maker", VEY, role="printer", standing="rejected", replaces="c3"),
    claim("c5", "place", PASS, on="not long after the war"),
    claim("c6", "maker", DOLEN, role="mill owner", qualifier="possibly"),
]


def test_chains_and_roles_come_back() -> None:
    found = back(CHAINS)

    assert [found[line.key] for line in CHAINS] == [
        replace(line, standing=line.effective) for line in CHAINS
    ]


def test_alternatives_come_back_as_a_set() -> None:
    lines = [
        claim("c1", "maker", KORVATH, role="photographer"),
        claim("c2", "maker", DOLEN, role="photographer", alternative_to="c1"),
        claim("c3", "maker", VEY, role="photographer", qualifier="possibly", alternative_to="c1"),
        claim("c4", "maker", TARROW, role="photographer", qualifier="possibly"),
    ]

    assert list(back(lines).values()) == lines


def test_a_sentence_about_a_source_comes_back() -> None:
    lines = [
        claim("c1", "place", PASS, sources=(DIARY,), locators=("Compared with the print.",)),
        claim("c2", "place", PASS, qualifier="possibly", sources=(DIARY, NEGATIVE)),
    ]
    lines[1] = replace(lines[1], sources=(NEGATIVE, DIARY), locators=("", ", fol. 88"))

    assert list(back(lines).values()) == lines


def test_a_picture_that_two_things_show_is_read_as_the_first() -> None:
    """Which of them the ledger named is not published."""
    quads = list(
        ox.parse(published([line_of("c1", "sitter", VEY, "")]), format=ox.RdfFormat.N_QUADS)
    )
    shows = ox.NamedNode("http://www.cidoc-crm.org/cidoc-crm/P65_shows_visual_item")
    first = ox.NamedNode(BASE + "object/a")
    quads.append(ox.Quad(first, shows, ox.NamedNode(VISUAL), first))

    [(document, line)] = read_back(quads, BASE, concepts())

    assert (document, line.about) == (VISUAL, first.value)


def test_without_claims_nothing_comes_back() -> None:
    assert back([]) == {}


STRANGE = [
    # what an assertion of somebody else's lacks that makes a line: key, aspect, standing, value
    "#claim-c1-identifier-claim> <http://www.cidoc-crm.org/cidoc-crm/P190_has_symbolic_content>",
    f"<{BASE}vocab/aspect/place> <{ITEM}> .",
    f"<{BASE}vocab/standing/current> <{ITEM}> .",
    "#claim-c1> <http://www.cidoc-crm.org/cidoc-crm/P141_assigned>",
]


@pytest.mark.parametrize("lacking", STRANGE)
def test_an_assertion_that_is_no_line_is_left_out(lacking: str) -> None:
    lines = published([claim("c1", "place", PASS), claim("c2", "date", "1872")]).splitlines()
    kept = [line for line in lines if lacking not in line]
    quads = ox.parse("\n".join(kept), format=ox.RdfFormat.N_QUADS)

    assert 0 < len(lines) - len(kept) <= 4
    keys = [line.key for _, line in read_back(quads, BASE, concepts())]
    assert "c1" not in keys
    assert ("c2" in keys) == ("standing" not in lacking)
