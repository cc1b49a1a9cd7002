"""Claims in words: no hedge and no standing is lost, in no language and in no length."""

import re
import string
from itertools import product
from typing import Any

import pytest

from lodpipe.aspects import builtin_aspects
from lodpipe.records import Claim
from lodpipe.wording import (
    STANDINGS,
    TEXT_SLOTS,
    VALUE_ONLY_SLOTS,
    View,
    attribution_line,
    claim_words,
    language_for,
    languages,
    say,
    short_words,
)
from lodpipe.wording.tables import table

ASPECTS = builtin_aspects()
QUALIFIERS = ("", *ASPECTS.qualifiers)
NAME = "Mira Dolen"


def claim(aspect: str = "maker", value: str = "x", **cells: Any) -> Claim:
    return Claim("c1", "object/1", aspect, value, **cells)


MEDIUM = [
    # the column "wording" of modelling.md, 3.2, and the names of the claims in its examples
    (claim(), {}, NAME),
    (claim(qualifier="attributed-to"), {}, "attributed to Mira Dolen"),
    (claim(qualifier="possibly", effective="proposed"), {}, "possibly by Mira Dolen"),
    (claim(effective="former"), {}, "formerly attributed to Mira Dolen"),
    (claim(effective="rejected"), {}, "rejected: Mira Dolen"),
    (claim("date", "1872-02"), {"node": "exposure"}, "exposed in February 1872"),
    (claim("date", "1872-02-14"), {"node": "exposure"}, "exposed on 14 February 1872"),
    (claim("place"), {"node": "exposure"}, "taken at Mira Dolen"),
    (claim("sitter", qualifier="probably"), {"node": "record"}, "probably Mira Dolen"),
    (claim(qualifier="studio-of", effective="proposed"), {}, "studio of Mira Dolen"),
    (claim(qualifier="after"), {}, "after Mira Dolen"),
    (
        claim("copy_of", qualifier="possibly", effective="proposed"),
        {"node": "exposure"},
        "possibly re-photographed from Mira Dolen",
    ),
    (claim("copy_of", qualifier="after"), {"node": "drawing"}, "after Mira Dolen"),
    (claim("copy_of"), {"node": "drawing"}, "copied from Mira Dolen"),
    (claim("printed_from", qualifier="probably"), {}, "probably printed from Mira Dolen"),
    (claim("title", "", qualifier="possibly"), {}, "possibly titled “Mira Dolen”"),
    (claim(), {"alternatives": 2}, "perhaps Mira Dolen (one of two alternatives)"),
    (claim("later_than"), {"node": "exposure"}, "exposed after Mira Dolen"),
    (claim("same_session_as"), {}, "same session as Mira Dolen"),
    (claim("date_mounted", "1873/1876"), {"node": "mounting"}, "mounted between 1873 and 1876"),
    # ours
    (claim(effective="proposed"), {}, "Mira Dolen (proposed)"),
    (claim(qualifier="after", effective="proposed"), {}, "after Mira Dolen (proposed)"),
    (
        claim(qualifier="probably"),
        {"alternatives": 9},
        "probably by Mira Dolen (one of 9 alternatives)",
    ),
    (claim("sitter", part="second from left"), {}, "Mira Dolen (second from left)"),
    (claim(role="printer"), {"node": "printing"}, "Mira Dolen (printer)"),
    (claim(role="mill owner"), {}, "Mira Dolen (mill owner)"),
    (claim(role="draughtsman"), {"node": "drawing"}, "Mira Dolen"),
    (claim(role="lithographer"), {"node": "drawing"}, "Mira Dolen (lithographer)"),
    (
        claim("date", "1870", effective="former"),
        {"node": "exposure"},
        "formerly thought to be exposed in 1870",
    ),
    (
        claim("date", "1870", effective="former", qualifier="probably"),
        {"node": "exposure"},
        "formerly: probably exposed in 1870",
    ),
    (claim("title", "", effective="former"), {}, "formerly titled “Mira Dolen”"),
    (claim("inscription", "", effective="former"), {}, "formerly read as “Mira Dolen”"),
    (claim("sitter", qualifier="attributed-to"), {}, "thought to be Mira Dolen"),
    (claim("sitter", qualifier="circle-of"), {}, "circle of: Mira Dolen"),
]


@pytest.mark.parametrize(("line", "more", "words"), MEDIUM)
def test_a_claim_as_a_caption_says_it(line: Claim, more: dict[str, Any], words: str) -> None:
    assert claim_words(line, NAME, "en", **more) == words


SHORT = [
    (claim(), {}, NAME),
    (claim(qualifier="attributed-to"), {}, "attributed to Mira Dolen"),
    (claim("date", "1872-02"), {}, "February 1872"),
    (claim("date", "1872-02", qualifier="probably"), {}, "probably February 1872"),
    (claim("date", "", value_text="when it snowed"), {}, NAME),
    (claim("place"), {}, NAME),
    (claim("title", "", qualifier="possibly"), {}, "possibly “Mira Dolen”"),
    (claim("printed_from", qualifier="probably"), {}, "probably printed from Mira Dolen"),
    (claim(), {"alternatives": 2}, "perhaps Mira Dolen"),
]


@pytest.mark.parametrize(("line", "more", "words"), SHORT)
def test_a_claim_for_a_label(line: Claim, more: dict[str, int], words: str) -> None:
    assert short_words(line, NAME, "en", **more) == words


def test_only_what_is_held_now_has_a_short_form() -> None:
    for aspect, standing in product(ASPECTS.by_name, ("proposed", "former", "rejected")):
        assert short_words(claim(aspect, "1872", effective=standing), NAME, "en") == ""


def test_a_sentence_has_who_when_grounds_sources_and_the_view_before() -> None:
    line = claim(qualifier="attributed-to", on="2024-03-11", basis="Korvath had left")

    words = claim_words(
        line,
        NAME,
        "en",
        long=True,
        by="Ines Tarrow",
        sources=["Pay book, fol. 88", "Diary, p. 12."],
        replaced="formerly attributed to Anselm Korvath (R. Stroud, 1958)",
    )

    assert words == (
        "Attributed to Mira Dolen, according to Ines Tarrow, 11 March 2024. "
        "Grounds: Korvath had left. Sources: Pay book, fol. 88; Diary, p. 12. "
        "Earlier view: formerly attributed to Anselm Korvath (R. Stroud, 1958)."
    )
    german = claim_words(line, NAME, "de", long=True, by="Ines Tarrow")
    assert german == (
        "Mira Dolen zugeschrieben, laut Ines Tarrow, 11. März 2024. Begründung: Korvath had left."
    )
    assert claim_words(claim(), NAME, "en", long=True) == "Mira Dolen."


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("aspect", ASPECTS.by_name)
def test_no_hedge_and_no_standing_is_lost(language: str, aspect: str) -> None:
    """What is not current and certain never reads like what is, and no two of them read alike."""
    value = "1872" if aspect.startswith("date") else "x"
    told: dict[str, tuple[str, str, int]] = {}
    for qualifier, standing, alternatives in product(QUALIFIERS, STANDINGS, (0, 2)):
        line = claim(aspect, value, qualifier=qualifier, effective=standing)
        for long in (False, True):
            words = claim_words(line, NAME, language, alternatives=alternatives, long=long)
            plain = claim_words(claim(aspect, value), NAME, language, long=long)
            certain = (qualifier, standing, alternatives) == ("", "current", 0)
            assert (words == plain) == certain
        short = short_words(line, NAME, language, alternatives=alternatives)
        plain = short_words(claim(aspect, value), NAME, language)
        assert (short == plain) == certain
        if standing in ("current", "proposed"):
            told.setdefault(claim_words(line, NAME, language, alternatives=alternatives), (qualifier, standing, alternatives))  # fmt: skip
    kept = {(qualifier, alternatives) for qualifier, _, alternatives in told.values()}
    assert kept == set(product(QUALIFIERS, (0, 2)))


HEDGES = {
    # word that a reader must meet for each qualifier (any of several), written without the tables
    "en": {
        "probably": ("probably",), "possibly": ("possibly",),
        "attributed-to": ("attributed to", "thought to be"), "workshop-of": ("workshop of",),
        "studio-of": ("studio of",), "circle-of": ("circle of",), "school-of": ("school of",),
        "pupil-of": ("pupil of",), "follower-of": ("follower of",), "manner-of": ("manner of",),
        "style-of": ("style of",), "imitator-of": ("imitator of",), "after": ("after",),
        "copyist-of": ("copyist of",),
        "former": ("formerly",), "rejected": ("rejected",), "proposed": ("(proposed)",),
        "alternative": ("one of two",), "alternative-line": ("perhaps",),
    },
    "fr": {
        "probably": ("probablement",), "possibly": ("peut-être",),
        "attributed-to": ("attribution à", "par supposition"), "workshop-of": ("atelier d",),
        "studio-of": ("studio d",), "circle-of": ("entourage d",), "school-of": ("école d",),
        "pupil-of": ("élève d",), "follower-of": ("suite d",), "manner-of": ("manière d",),
        "style-of": ("style d",), "imitator-of": ("imitation d",), "after": ("d’après",),
        "copyist-of": ("copiste d",),
        "former": ("ancien",), "rejected": ("rejeté",), "proposed": ("(proposition)",),
        "alternative": ("l’une des deux",), "alternative-line": ("éventuellement",),
    },
    "de": {
        "probably": ("wahrscheinlich",), "possibly": ("möglicherweise",),
        "attributed-to": ("zugeschrieben", "vermutet"), "workshop-of": ("Werkstatt von",),
        "studio-of": ("Atelier von",), "circle-of": ("Umkreis von",), "school-of": ("Schule von",),
        "pupil-of": ("Schülerschaft von",), "follower-of": ("Nachfolge von",),
        "manner-of": ("Manier von",), "style-of": ("Stil von",), "imitator-of": ("Nachahmung von",),
        "after": ("nach",), "copyist-of": ("Kopie nach",),
        "former": ("ehemals",), "rejected": ("verworfen",), "proposed": ("(vorgeschlagen)",),
        "alternative": ("eine von zwei",), "alternative-line": ("vielleicht",),
    },
}  # fmt: skip
DOUBTS = ("probably", "possibly", "attributed-to")
WORKSHOPS = ("workshop-of", "studio-of", "circle-of", "school-of", "pupil-of")


def wanted(aspect: str, qualifier: str, standing: str, alternatives: int) -> list[str]:
    """Which hedges a text must have; what is said of the past or given up says no more doubt."""
    hedges = [qualifier] if qualifier else []
    if standing in ("former", "rejected"):
        return [*hedges, standing]
    if alternatives:
        hedges.append("alternative")
    doubted = qualifier in DOUBTS or (aspect == "maker" and qualifier in WORKSHOPS)
    if standing == "proposed" and not doubted:
        hedges.append("proposed")
    return hedges


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("aspect", ASPECTS.by_name)
def test_the_hedge_of_its_language_stands_in_every_text(language: str, aspect: str) -> None:
    value = "1872" if aspect.startswith("date") else "x"
    spoken = HEDGES[language]
    every = {
        word
        for words in spoken.values()
        for word in words
        if word not in ("after", "d’après", "nach")
    }
    for qualifier, standing, alternatives, long, node in product(
        QUALIFIERS, STANDINGS, (0, 2), (False, True), ("exposure", "printing")
    ):
        line = claim(aspect, value, qualifier=qualifier, effective=standing)
        more: dict[str, Any] = {"long": long, "node": node, "alternatives": alternatives}
        words = claim_words(line, NAME, language, **more).lower()
        case = (qualifier, standing, alternatives, long, node, words)
        hedges = wanted(aspect, qualifier, standing, alternatives)
        for hedge in hedges:
            assert any(word.lower() in words for word in spoken[hedge]), case
        if not hedges:  # and what is certain has none
            assert not any(word.lower() in words for word in every), case
        short = short_words(line, NAME, language, alternatives=alternatives)
        if short and qualifier:
            assert any(word in short for word in spoken[qualifier]), case
        elif short and alternatives:
            assert any(word in short for word in spoken["alternative-line"]), case


@pytest.mark.parametrize("language", languages())
def test_the_hedge_of_its_language_stands_in_every_line_of_attribution(language: str) -> None:
    spoken = HEDGES[language]
    for qualifier, standing, apart, short in product(
        QUALIFIERS, STANDINGS, ("", "c1"), (False, True)
    ):
        view = View(NAME, qualifier, standing, apart)
        line = attribution_line([view], language, short=short)
        if (qualifier, standing, apart) == ("", "current", ""):
            assert line == NAME
        elif NAME in line:
            doubted = qualifier in (*DOUBTS, *WORKSHOPS)
            hedges = [qualifier] if qualifier else []
            hedges += [standing] if standing == "former" else []
            hedges += ["proposed"] if standing == "proposed" and not doubted else []
            hedges += ["alternative-line"] if apart and standing == "current" and not hedges else []
            assert hedges, (view, line)
            for hedge in hedges:
                assert any(word in line for word in spoken[hedge]), (view, line)
        else:
            assert standing == "rejected" or (short and standing != "current"), (view, line)


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("date", ["1872?", "1872-02%", "1872~", "1872?/1876", "1872-02-14?"])
def test_a_date_in_doubt_is_told_as_such(language: str, date: str) -> None:
    marks = {"en": ("perhaps", "about"), "fr": ("peut-être", "vers", "environ"), "de": ("vielleicht", "um", "etwa")}  # fmt: skip
    for aspect in ("date", "date_printed", "date_mounted", "date_captioned"):
        for words in (
            claim_words(claim(aspect, date), NAME, language, node="exposure"),
            short_words(claim(aspect, date), NAME, language),
        ):
            assert any(mark in words.split() for mark in marks[language]), words


FRENCH = [
    # de before a vowel, a mute h, a y; a place with an article
    ("maker.studio-of", "Anselm Korvath", "studio d’Anselm Korvath"),
    ("maker.studio-of", "Émile Vey", "studio d’Émile Vey"),
    ("maker.studio-of", "Mira Dolen", "studio de Mira Dolen"),
    ("maker.studio-of", "Hélène Vey", "studio d’Hélène Vey"),
    ("maker.studio-of", "Henri-Paul Vey", "studio d’Henri-Paul Vey"),
    ("maker.studio-of", "Hansen & Vey", "studio de Hansen & Vey"),
    ("maker.studio-of", "Yves Tarrow", "studio d’Yves Tarrow"),
    ("maker.studio-of", "Yorick Tarrow", "studio de Yorick Tarrow"),
    ("maker.studio-of", "« Les Aigles »", "studio de « Les Aigles »"),
    ("place.exposure", "Sorn Pass", "prise de vue à Sorn Pass"),
    ("place.exposure", "Le Gué", "prise de vue au Gué"),
    ("place.exposure", "Les Gués", "prise de vue aux Gués"),
    ("place.exposure", "Lesno", "prise de vue à Lesno"),
]


@pytest.mark.parametrize(("key", "value", "words"), FRENCH)
def test_french_shortens_and_contracts(key: str, value: str, words: str) -> None:
    assert say("fr", key, value=value) == words


OTHERS = [
    # a hedge before a phrase, and before a bare name
    (claim("sitter", qualifier="probably"), "probablement Mira Dolen", "wahrscheinlich Mira Dolen"),
    (
        claim("date", "1872-02", qualifier="probably"),
        "probablement\u202f: prise de vue en février 1872",
        "wahrscheinlich aufgenommen im Februar 1872",
    ),
    (
        claim("date", "1872-02", effective="former"),
        "ancien avis\u202f: prise de vue en février 1872",
        "ehemals angenommen: aufgenommen im Februar 1872",
    ),
    (
        claim("title", "", effective="former"),
        "ancien titre\u202f: «\u202fMira Dolen\u202f»",
        "ehemals betitelt „Mira Dolen“",
    ),
    (
        claim(effective="former", qualifier="pupil-of"),
        "ancienne attribution à un ou une élève de Mira Dolen",
        "ehemals der Schülerschaft von Mira Dolen zugeschrieben",
    ),
    (claim("place"), "prise de vue à Mira Dolen", "Aufnahmeort Mira Dolen"),
]


@pytest.mark.parametrize(("line", "french", "german"), OTHERS)
def test_a_claim_in_french_and_german(line: Claim, french: str, german: str) -> None:
    assert claim_words(line, NAME, "fr", node="exposure") == french
    assert claim_words(line, NAME, "de", node="exposure") == german


LINES = [
    ([View("A")], "A"),
    ([View("A"), View("B")], "A and B"),
    ([View("A"), View("B"), View("C")], "A, B and C"),
    ([View("A", "attributed-to"), View("B", standing="former")], "attributed to A; formerly attributed to B"),
    ([View("A", "possibly", "proposed")], "photographer not known; possibly by A"),
    ([View("A", "studio-of", "proposed")], "photographer not known; studio of A (proposed)"),
    ([View("A", standing="proposed")], "photographer not known; A (proposed)"),
    ([View("A", "probably", "proposed")], "photographer not known; probably by A (proposed)"),
    ([View("E"), View("A", "after")], "E, after A"),
    ([View("A", "after")], "after A"),
    ([View("A", alternative="c1"), View("B", alternative="c1")], "A or B"),
    ([View("A", alternative="c1"), View("B", "", "rejected", "c1")], "perhaps A"),
    ([View("A", "probably", alternative="c1"), View("B", "possibly", alternative="c1")], "probably by A or possibly by B"),
    ([View("A"), View("B", "possibly")], "A; possibly by B"),
    ([View("A"), View("B", "possibly", "proposed")], "A"),
    ([View("A", standing="former")], "formerly attributed to A"),
    ([View("A", "circle-of", "former")], "formerly attributed to the circle of A"),
    ([View("A", "attributed-to"), View("A", standing="former")], "attributed to A"),
    ([View("Unidentified photographer", known=False)], "photographer not known"),
    (
        [View("Unidentified photographer", known=False), View("A", standing="former")],
        "photographer not known; formerly attributed to A",
    ),
    ([View("A", standing="rejected")], ""),
    ([View("B"), View("A", standing="rejected")], "B"),
    ([], ""),
]  # fmt: skip


@pytest.mark.parametrize(("views", "line"), LINES)
def test_the_line_of_attribution(views: list[View], line: str) -> None:
    assert attribution_line(views, "en") == line


def test_the_line_in_other_languages_and_for_other_makers() -> None:
    views = [View("Anselm Korvath", "studio-of", "proposed"), View("Mira Dolen", standing="former")]

    assert attribution_line(views, "de") == (
        "Aufnahme von unbekannter Hand; Atelier von Anselm Korvath (vorgeschlagen); "
        "ehemals Mira Dolen zugeschrieben"
    )
    assert attribution_line(views, "fr") == (
        "photographe anonyme\u202f; studio d’Anselm Korvath (proposition)\u202f; "
        "ancienne attribution à Mira Dolen"
    )
    assert attribution_line(views, "en", node="drawing").startswith("maker not known; ")


def test_the_short_line_has_only_what_is_held_now() -> None:
    views = [
        View("A", "attributed-to"),
        View("B", standing="former"),
        View("C", "possibly", "proposed"),
    ]

    assert attribution_line(views, "en", short=True) == "attributed to A"
    assert attribution_line(views[1:], "en", short=True) == "photographer not known"


def places(words: str) -> set[str]:
    """The places to fill in, `of` and `at` counted as the value that they are made from."""
    names = {name for _, name, _, _ in string.Formatter().parse(words) if name}
    return {"value" if name in ("of", "at") else name for name in names}


@pytest.mark.parametrize("language", languages())
def test_a_language_has_every_key_with_the_places_that_matter(language: str) -> None:
    english, own = table("en"), table(language)

    assert own.keys() == english.keys()
    for key, words in own.items():
        assert words.strip(), key
        if key.startswith(("at.decade", "within.decade")):  # the year, or the words made of it
            assert places(words) <= {"date", "year"}
        elif key == "name.first-day":  # French has the day in it: 1er
            assert places(words) >= {"month", "year"}
        else:
            assert places(words) == places(english[key]), key


@pytest.mark.parametrize("language", [tag for tag in languages() if tag != "en"])
def test_a_language_is_not_english(language: str) -> None:
    """Words that carry a hedge, a standing or a number of ours are translated."""
    english, own = table("en"), table(language)
    for key, words in english.items():
        if re.match(r"(maker|hedge|standing|alternative|qualifier|line\.(unknown|perhaps))", key):
            assert own[key] != words or words in ("{value}", "{qualifier}: {phrase}"), key


def test_every_qualifier_and_aspect_has_words() -> None:
    for qualifier in ASPECTS.qualifiers:
        for kind in ("maker", "maker-former", "qualifier"):
            assert say("en", f"{kind}.{qualifier}", value=NAME)
    for aspect in set(ASPECTS.by_name) - {"maker"}:
        assert claim_words(claim(aspect, "1872"), NAME, "en")


def test_a_language_without_table_is_english() -> None:
    assert [language_for(tag) for tag in ("de-CH", "FR", "it", "qtv")] == ["de", "fr", "en", "en"]


def test_each_slot_stands_once_and_every_aspect_has_a_value_slot() -> None:
    slots = [(slot.output, slot.path) for slot in (*VALUE_ONLY_SLOTS, *TEXT_SLOTS)]

    assert len(slots) == len(set(slots))
    covered = {aspect for slot in VALUE_ONLY_SLOTS for aspect in slot.aspects}
    assert covered == set(ASPECTS.by_name)


def test_value_slots_cover_where_the_table_of_aspects_puts_claims() -> None:
    keys = {
        (slot.path.rpartition("/")[2].partition("[")[0], aspect)
        for slot in VALUE_ONLY_SLOTS
        for aspect in slot.aspects
        if slot.output == "linked-art"
    }
    for aspect in ASPECTS.by_name.values():
        families = [family.property for family in aspect.families.values() if family.property]
        for key in (aspect.direct, *aspect.at.values(), *aspect.of.values(), *families):
            assert (key, aspect.name) in keys
