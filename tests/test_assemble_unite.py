"""What several records say of one document, united: nothing lost, and one result."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodpipe.assemble import United, unite
from lodpipe.findings import Finding
from lodpipe.records import Draft, Input, Place, TraceEntry

URI = "https://collections.example.org/person/dolen"
EVENT = {"id": URI + "#birth", "type": "Birth"}


def draft(tree: dict[str, Any], source: str = "a.csv", key: str = "1", **more: Any) -> Draft:
    return Draft(URI, {"id": URI, "type": "Person", **tree}, source=source, key=key, **more)


def united(*drafts: Draft) -> tuple[United, list[Finding]]:
    found: list[Finding] = []
    return unite(drafts, found.append), found


def name(text: str) -> dict[str, str]:
    return {"type": "Name", "content": text}


def test_one_record_makes_the_document_as_it_is() -> None:
    only = draft({"_label": None}, inputs=[Input("row", "a.csv/1", "x")])

    result, found = united(only)

    assert (result.tree, result.inputs, result.sources, found) == (
        only.tree,
        only.inputs,
        ("a.csv",),
        [],
    )


UNIONS = [
    (
        "lists are put together in the order of rank, file and key, equal nodes once",
        [
            draft({"identified_by": [name("Dolen, M."), name("Mira Dolen")]}, key="2"),
            draft({"identified_by": [name("Mira Dolen")]}, key="1"),
            draft({"identified_by": [name("M. Dolen")]}, "z.csv", rank=5),
        ],
        {"identified_by": [name("M. Dolen"), name("Mira Dolen"), name("Dolen, M.")]},
    ),
    (
        "a text whose language one of them leaves out is one text, whoever comes first",
        [
            draft({"identified_by": [{**name("Album"), "language": ["en"]}]}),
            draft({"identified_by": [name("Album"), name("Bound")]}, key="2"),
            draft({"identified_by": [{**name("Bound"), "language": ["en"]}]}, key="3"),
        ],
        {
            "identified_by": [
                {**name("Album"), "language": ["en"]},
                {**name("Bound"), "language": ["en"]},
            ]
        },
    ),
    (
        "a text in two languages is two texts",
        [
            draft({"identified_by": [{**name("Album"), "language": ["en"]}]}),
            draft({"identified_by": [{**name("Album"), "language": ["de"]}]}, key="2"),
            draft({"identified_by": [name("Album")]}, key="3"),
        ],
        {
            "identified_by": [
                {**name("Album"), "language": ["en"]},
                {**name("Album"), "language": ["de"]},
            ]
        },
    ),
    (
        "the parts of an event that two records tell of are one part each",
        [
            draft({"born": {**EVENT, "part": [{"id": "x", "type": "Activity", "note": "a"}]}}),
            draft({"born": {**EVENT, "part": [{"id": "x", "type": "Activity"}]}}, key="2"),
        ],
        {"born": {**EVENT, "part": [{"id": "x", "type": "Activity", "note": "a"}]}},
    ),
    (
        "nodes with one IRI are one node, and an open label is filled from the other",
        [
            draft({"member_of": [{"id": "g", "type": "Group", "_label": None}]}),
            draft({"member_of": [{"id": "g", "type": "Group", "_label": "Party"}]}, key="2"),
        ],
        {"member_of": [{"id": "g", "type": "Group", "_label": "Party"}]},
    ),
    (
        "what happened once is united inside",
        [
            draft({"born": {**EVENT, "took_place_at": [{"id": "p", "type": "Place"}]}}),
            draft({"born": {**EVENT, "timespan": {"type": "TimeSpan", "n": "1846"}}}, key="2"),
        ],
        {
            "born": {
                **EVENT,
                "took_place_at": [{"id": "p", "type": "Place"}],
                "timespan": {"type": "TimeSpan", "n": "1846"},
            }
        },
    ),
    (
        "parts of a production with one role are one part",
        [
            draft({"part": [{"id": "#exposure", "a": [name("x")]}, {"id": "#printing"}]}),
            draft({"part": [{"id": "#exposure", "a": [name("y")]}]}, key="2"),
        ],
        {"part": [{"id": "#exposure", "a": [name("x"), name("y")]}, {"id": "#printing"}]},
    ),
]


@pytest.mark.parametrize(
    ("drafts", "tree"), [case[1:] for case in UNIONS], ids=[c[0] for c in UNIONS]
)
def test_records_are_united(drafts: list[Draft], tree: dict[str, Any]) -> None:
    result, found = united(*drafts)

    assert (result.tree, found) == ({"id": URI, "type": "Person", **tree}, [])


def test_the_highest_rank_then_the_lowest_key_decides_and_all_values_are_told() -> None:
    place = Place("b.csv", 4, 3, column="Name")
    drafts = [
        draft({"content": "Miss Dolen"}, "a.csv", "1"),
        draft(
            {"content": "Mira Dolen"},
            "b.csv",
            "9",
            rank=2,
            trace=[TraceEntry("/content", "name", place)],
        ),
        draft({"content": "M. Dolen"}, "b.csv", "10", rank=1),
    ]

    result, (finding,) = united(*drafts)

    assert result.tree["content"] == "Mira Dolen"
    assert (finding.code, finding.path, finding.place) == ("disagreement", "/content", place)
    assert finding.message == (
        "3 values for `content`: `Mira Dolen` (b.csv 9); `M. Dolen` (b.csv 10); "
        "`Miss Dolen` (a.csv 1)"
    )


def test_a_label_decided_by_rank_is_no_finding_but_one_among_equals_is() -> None:
    high, low = draft({"_label": "Mira Dolen"}, rank=1), draft({"_label": "M. D."}, key="2")

    assert united(high, low)[1] == []
    (finding,) = united(draft({"_label": "Mira Dolen"}), low)[1]
    assert finding.message == "2 values for `_label`: `Mira Dolen` (a.csv 1); `M. D.` (a.csv 2)"


def test_other_words_for_the_same_days_are_no_disagreement() -> None:
    def span(words: str) -> dict[str, Any]:
        edtf = {"type": "Identifier", "content": "1911-08-03"}
        return {"type": "TimeSpan", "identified_by": [name(words), edtf]}

    result, found = united(
        draft({"timespan": span("3 August 1911")}),
        draft({"timespan": span("1911-08-03")}, key="2"),
    )

    assert (result.tree["timespan"], found) == (span("3 August 1911"), [])


def test_a_disagreement_inside_what_one_record_brought_whole_names_both() -> None:
    drafts = [
        draft({"born": {**EVENT, "n": value}}, key=key) for value, key in (("x", "1"), ("y", "2"))
    ]

    _, (finding,) = united(*drafts)

    assert (finding.path, finding.message) == (
        "/born/n",
        "2 values for `n`: `x` (a.csv 1); `y` (a.csv 2)",
    )


def test_a_time_span_is_taken_whole() -> None:
    first = {"type": "TimeSpan", "identified_by": [name("1846")], "begin_of_the_begin": "1846"}
    other = {"type": "TimeSpan", "identified_by": [name("about 1846")], "end_of_the_end": "1851"}
    drafts = [
        draft({"born": {**EVENT, "timespan": t}}, key=k) for t, k in ((first, "1"), (other, "2"))
    ]

    result, (finding,) = united(*drafts)

    assert result.tree["born"]["timespan"] == first
    assert finding.message == "2 values for `timespan`: `1846` (a.csv 1); `about 1846` (a.csv 2)"


def test_records_that_differ_on_the_class_clash() -> None:
    group = Draft(URI, {"id": URI, "type": "Group"}, source="b.csv", key="1")

    result, (finding,) = united(draft({}), group)

    assert (result.tree["type"], finding.code, finding.severity) == (
        "Person",
        "class-clash",
        "violation",
    )


def test_many_records_that_disagree_name_three() -> None:
    drafts = [draft({"_label": "A"}), *(draft({"_label": "B"}, key=str(n)) for n in range(2, 8))]

    _, (finding,) = united(*drafts)

    assert (
        finding.message
        == "2 values for `_label`: `A` (a.csv 1); `B` (a.csv 2, a.csv 3, a.csv 4 and 3 more)"
    )


def test_the_trace_follows_what_moves_and_drops_what_lost() -> None:
    one, two = Place("a.csv", 2, 1), Place("a.csv", 3, 2)
    first = draft(
        {"_label": "A", "identified_by": [name("x")]},
        trace=[TraceEntry("/_label", "label", one), TraceEntry("/identified_by/0", "name", one)],
    )
    second = draft(
        {"_label": "B", "identified_by": [name("y"), name("x")]},
        key="2",
        trace=[
            TraceEntry("/_label", "label", two),
            TraceEntry("/identified_by/0/content", "name", two),
            TraceEntry("/identified_by/1/content", "name", two),
            TraceEntry("/type", "kind", two),
        ],
    )

    result, _ = united(second, first)

    assert [(e.path, e.place) for e in result.trace] == [
        ("/_label", one),
        ("/identified_by/0", one),
        ("/identified_by/1/content", two),
        ("/identified_by/0/content", two),
        ("/type", two),
    ]


def test_inputs_and_sources_are_kept_once() -> None:
    mapping = Input("mapping", "item.yaml", "m")
    rows = [Input("row", f"a.csv/{n}", str(n)) for n in (1, 2)]
    drafts = [
        draft({}, "b.csv", inputs=[mapping, rows[1]]),
        draft({}, "a.csv", inputs=[rows[0], mapping]),
    ]

    result, _ = united(*drafts)

    assert result.inputs == [rows[0], mapping, rows[1]]
    assert result.sources == ("a.csv", "b.csv")


def test_uniting_does_not_reach_into_the_drafts() -> None:
    drafts = [draft({"identified_by": [name("x")]}), draft({"identified_by": [name("y")]}, key="2")]

    result, _ = united(*drafts)
    result.tree["identified_by"][0]["content"] = "spoilt"

    assert drafts[0].tree["identified_by"] == [name("x")]


TEXTS = st.sampled_from(["x", "y", "z"])
NODES = st.fixed_dictionaries({"type": st.just("Name"), "content": TEXTS})
TREES = st.fixed_dictionaries(
    {},
    optional={
        "_label": TEXTS,
        "identified_by": st.lists(NODES, max_size=3),
        "member_of": st.lists(
            st.fixed_dictionaries({"id": TEXTS, "type": st.just("Group")}), max_size=2
        ),
        "born": st.fixed_dictionaries(
            {"type": st.just("Birth"), "a": st.lists(NODES, max_size=2), "b": TEXTS}
        ),
    },
)
DRAFTS = st.lists(
    st.builds(
        lambda tree, source, key, rank: draft(
            tree,
            source,
            key,
            rank=rank,
            trace=[TraceEntry(f"/{name}", name, Place(source, int(key))) for name in tree],
        ),
        TREES,
        st.sampled_from(["a.csv", "b.csv"]),
        st.sampled_from(["1", "2"]),
        st.integers(0, 1),
    ),
    min_size=1,
    max_size=5,
)


@given(DRAFTS, st.randoms(use_true_random=False))
def test_the_order_of_the_records_does_not_matter(drafts: list[Draft], random: Any) -> None:
    shuffled = list(drafts)
    random.shuffle(shuffled)

    first, told = united(*drafts)
    again, told_again = united(*shuffled)

    assert (again, told_again) == (first, told)


@given(DRAFTS)
def test_every_item_of_every_list_is_in_the_document(drafts: list[Draft]) -> None:
    result, _ = united(*drafts)

    for one in drafts:
        for node in one.tree.get("identified_by", []):
            assert node in result.tree["identified_by"]
