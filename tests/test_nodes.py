"""The small nodes: one form each, fresh each time."""

import pytest

from lodpipe.dates import parse
from lodpipe.errors import TermError
from lodpipe.nodes import Nodes
from lodpipe.terms import concepts

BASE = "https://collections.example.org/"
NODES = Nodes(BASE, concepts())


def ends(span: dict[str, object]) -> list[str]:
    """The ends of a time span, as day and hour, earliest first."""
    keys = ("begin_of_the_begin", "end_of_the_begin", "begin_of_the_end", "end_of_the_end")
    return [str(span[key]) for key in keys if key in span]


TERMS = [
    ("former-name", {"id": "http://vocab.getty.edu/aat/300435719", "type": "Type", "_label": "Former Name"}),
    ("standing/former", {"id": BASE + "vocab/standing/former", "type": "Type", "_label": "Former"}),
    (
        "page",
        {
            "id": "http://vocab.getty.edu/aat/300194222",
            "type": "Type",
            "_label": "Page",
            "classified_as": [
                {"id": "http://vocab.getty.edu/aat/300435443", "type": "Type", "_label": "Type of Work"}
            ],
        },
    ),
    (
        "qualifier/possibly",
        {
            "id": BASE + "vocab/qualifier/possibly",
            "type": "Type",
            "_label": "Possibly",
            "equivalent": [{"id": "http://vocab.getty.edu/aat/300404272", "type": "Type"}],
        },
    ),
]  # fmt: skip


@pytest.mark.parametrize(("term", "node"), TERMS)
def test_a_term_has_one_node(term: str, node: dict[str, object]) -> None:
    assert NODES.term(term) == node


def test_a_node_is_made_afresh_down_to_its_lists() -> None:
    first, second = NODES.term("page"), NODES.term("page")

    first["classified_as"][0]["_label"] = "spoilt"

    assert second["classified_as"][0]["_label"] == "Type of Work"


def test_an_unknown_term_names_the_nearest() -> None:
    with pytest.raises(TermError) as caught:
        NODES.term("pag")

    assert (caught.value.message, caught.value.hint) == ("`pag` is not a term of ours", "did you mean `page`?")  # fmt: skip


def test_a_language_falls_back_to_its_first_part() -> None:
    assert NODES.language("de-AT")["_label"] == "German"


def test_a_language_without_concept_is_refused() -> None:
    with pytest.raises(TermError) as caught:
        NODES.language("tlh-x")

    assert caught.value.message == "the language `tlh-x` has no concept"
    assert caught.value.hint == "add a line `language/tlh-x` to mappings/vocab/concepts.csv"


def test_a_name_without_language_does_not_state_one() -> None:
    assert "language" not in NODES.name("Mira Dolen")
    assert NODES.name("Sledge", language="en")["language"] == [NODES.language("en")]


def test_roles_are_parts_of_production_or_modifications() -> None:
    uri = BASE + "object/item-0101"

    assert NODES.role(uri, "exposure") == {
        "id": uri + "#exposure",
        "type": "Production",
        "classified_as": [NODES.term("role/exposure")],
    }
    assert NODES.role(uri, "captioning")["type"] == "Modification"


def test_a_right_is_classified_by_its_licence() -> None:
    uri = "http://creativecommons.org/publicdomain/mark/1.0/"

    assert NODES.right(uri, "Public Domain Mark 1.0") == {
        "type": "Right",
        "classified_as": [{"id": uri, "type": "Type", "_label": "Public Domain Mark 1.0"}],
    }
    assert NODES.right(uri)["classified_as"] == [{"id": uri, "type": "Type"}]


SPANS = [
    # EDTF, lasting, ends; the first six as in the handbook's examples
    ("1872-02", False, ["1872-02-01T00:00:00Z", "1872-02-29T23:59:59Z"]),
    ("1846~", False, ["1841-01-01T00:00:00Z", "1851-12-31T23:59:59Z"]),
    ("1873/1883", False, ["1873-01-01T00:00:00Z", "1883-12-31T23:59:59Z"]),
    (
        "1868/1885",
        True,
        ["1868-01-01T00:00:00Z", "1868-12-31T23:59:59Z", "1885-01-01T00:00:00Z", "1885-12-31T23:59:59Z"],
    ),
    ("1871-05-03", True, ["1871-05-03T00:00:00Z", "1871-05-03T23:59:59Z"]),
    ("1871", True, ["1871-01-01T00:00:00Z", "1871-12-31T23:59:59Z"]),
    ("1873/..", False, ["1873-01-01T00:00:00Z"]),
    ("1873/", True, ["1873-01-01T00:00:00Z", "1873-12-31T23:59:59Z"]),
    ("../1876", False, ["1876-12-31T23:59:59Z"]),
    ("0001", False, ["0001-01-01T00:00:00Z", "0001-12-31T23:59:59Z"]),
    ("-0005/0003", False, ["0003-12-31T23:59:59Z"]),
    ("-0044", False, []),
    ("../..", False, []),
]  # fmt: skip


@pytest.mark.parametrize(("edtf", "lasting", "expected"), SPANS)
def test_ends_are_inclusive_and_only_what_is_known(
    edtf: str, lasting: bool, expected: list[str]
) -> None:
    span = NODES.timespan("words", parse(edtf), state=lasting)

    assert ends(span) == expected
    assert span["identified_by"][1] == NODES.identifier(edtf, "edtf")


def test_a_span_without_days_says_so_in_its_name() -> None:
    for language, words in (
        ("en", "45 BCE (outside the years 1 to 9999, so without days)"),
        ("de", "45 BCE (außerhalb der Jahre 1 bis 9999, daher ohne Tage)"),
        ("fr", "45 BCE (hors des années 1 à 9999, donc sans jours)"),
    ):
        span = NODES.timespan("45 BCE", parse("-0044"), language=language)
        assert span["identified_by"][0]["content"] == words


def test_words_that_could_not_be_read_are_a_name_alone() -> None:
    span = NODES.timespan("when the snow lay", None)

    assert span == {
        "type": "TimeSpan",
        "identified_by": [NODES.name("when the snow lay", "display-name", "en")],
    }
