"""The parts of weighing: sets of days, what dates mean, reasons, questions, findings, JSON."""

from dataclasses import replace
from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lodpipe.aspects import builtin_aspects
from lodpipe.dates import parse
from lodpipe.evidence import facts
from lodpipe.evidence.facts import Evidence
from lodpipe.findings import Finding
from lodpipe.records import Claim, Place
from lodpipe.weigh import Questions, Weighing, fits, report_weighing, to_json, weigh
from lodpipe.weigh.conflicts import sets_with, smallest
from lodpipe.weigh.grounds import Ground
from lodpipe.weigh.network import Edge, Limit, Network
from lodpipe.weigh.sequence import circle, closure, reduction
from lodpipe.weigh.spans import (
    ALWAYS,
    MAX,
    MIN,
    Spans,
    both,
    days_in,
    dilated,
    minus,
    spans_of,
    union,
    without,
)
from lodpipe.weigh.when import definite, first_day, last_day, outer, possible, trimmed

BASE = "https://collections.example.org/"
ASPECTS = builtin_aspects()
WINDOW = range(-3, 24)

# --- sets of days -------------------------------------------------------------------------

pairs = st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), max_size=4)
ends = st.sampled_from([(), ((MIN, 3),), ((15, MAX),), ALWAYS])
sets = st.builds(lambda some, open_: union(spans_of(some), open_), pairs, ends)


def days(spans: Spans) -> set[int]:
    return {day for day in WINDOW for low, high in spans if low <= day <= high}


@given(sets, sets)
def test_sets_of_days_are_sets(one: Spans, other: Spans) -> None:
    assert days(both(one, other)) == days(one) & days(other)
    assert days(union(one, other)) == days(one) | days(other)
    assert days(minus(one, other)) == days(one) - days(other)
    assert days(without(one)) == set(WINDOW) - days(one)


@given(sets)
def test_sets_of_days_have_one_form(one: Spans) -> None:
    assert without(without(one)) == one
    assert spans_of(reversed(one)) == one
    assert all(high + 1 < low for (_, high), (low, _) in pairwise(one))


@given(pairs, st.integers(-3, 0), st.integers(0, 3))
def test_dilated(some: list[tuple[int, int]], low: int, high: int) -> None:
    spans = spans_of(some)
    expected = {day + step for day in days(spans) for step in range(low, high + 1)}

    assert days(dilated(spans, low, high)) == expected


def test_days_in() -> None:
    assert [days_in(s) for s in ((), ((1, 1),), ((1, 3), (9, 9)), ALWAYS, ((MIN, 2),))] == [
        0, 1, 4, None, None,
    ]  # fmt: skip


# --- what dates mean ----------------------------------------------------------------------


def iso(spans: Spans) -> str:
    def day(number: int) -> str:
        return ".." if number in (MIN, MAX) else date.fromordinal(number).isoformat()

    return " ".join(f"{day(low)}/{day(high)}" for low, high in spans)


WHEN = [
    # EDTF, possible days, definite days, days that bound an event
    ("1871-05-10", "1871-05-10/1871-05-10", "1871-05-10/1871-05-10", "1871-05-10/1871-05-10"),
    ("1871-05", "1871-05-01/1871-05-31", "", "1871-05-01/1871-05-31"),
    ("187X", "1870-01-01/1879-12-31", "", "1870-01-01/1879-12-31"),
    ("1871-05-10/1871-05-12", "1871-05-10/1871-05-12", "1871-05-10/1871-05-12", "1871-05-10/1871-05-12"),
    ("1871-05/1871-07", "1871-05-01/1871-07-31", "1871-05-31/1871-07-01", "1871-05-01/1871-07-31"),
    ("1871/1871", "1871-01-01/1871-12-31", "", "1871-01-01/1871-12-31"),
    ("1871-05-10/..", "1871-05-10/..", "1871-05-10/..", "1871-05-10/.."),
    ("../1871-05-10", "../1871-05-10", "../1871-05-10", "../1871-05-10"),
    ("1871-05-10/", "1871-05-10/..", "1871-05-10/1871-05-10", "1871-05-10/.."),
    ("/1871-05-10", "../1871-05-10", "1871-05-10/1871-05-10", "../1871-05-10"),
    ("1871-05/", "1871-05-01/..", "", "1871-05-01/.."),
    ("1871-05-10?", "1871-05-10/1871-05-10", "", "../.."),
    ("1871-05-10?/1871-06-01", "1871-05-10/1871-06-01", "", "../.."),
    ("1871~", "1866-01-01/1876-12-31", "", "1866-01-01/1876-12-31"),
    ("1871%", "1866-01-01/1876-12-31", "", "../.."),
    ("[1871-05-10,1871-05-12]", "1871-05-10/1871-05-10 1871-05-12/1871-05-12", "",
     "1871-05-10/1871-05-10 1871-05-12/1871-05-12"),
    ("{1871-05-10,1871-05-12}", "1871-05-10/1871-05-10 1871-05-12/1871-05-12",
     "1871-05-10/1871-05-10 1871-05-12/1871-05-12", "1871-05-10/1871-05-10 1871-05-12/1871-05-12"),
    ("{1871-05-10..1871-05-12}", "1871-05-10/1871-05-12", "1871-05-10/1871-05-12", "1871-05-10/1871-05-12"),
    ("{1871-05,1871-07-01}", "1871-05-01/1871-05-31 1871-07-01/1871-07-01", "1871-07-01/1871-07-01",
     "1871-05-01/1871-05-31 1871-07-01/1871-07-01"),
    ("[..1871]", "../1871-12-31", "", "../1871-12-31"),
]  # fmt: skip


@pytest.mark.parametrize(("edtf", "may", "sure", "bound"), WHEN)
def test_when(edtf: str, may: str, sure: str, bound: str) -> None:
    when = parse(edtf)

    assert (iso(possible(when, 5)), iso(definite(when)), iso(outer(when, 5))) == (may, sure, bound)
    assert set(days_of(definite(when))) <= set(days_of(possible(when, 5)))


def days_of(spans: Spans) -> range | list[int]:
    return [day for low, high in spans for day in range(max(low, 680_000), min(high, 690_000) + 1)]


def test_no_date_bounds_nothing() -> None:
    assert (outer(None, 5), first_day(None, 5), last_day(None, 5)) == (ALWAYS, MIN, MAX)


def test_trimmed() -> None:
    assert trimmed(((1, 1), (5, 6), (10, 12))) == ((11, 11),)
    assert trimmed(((MIN, 5), (10, MAX))) == ((MIN, 4), (11, MAX))


# --- networks -----------------------------------------------------------------------------


def test_a_network_without_days_left() -> None:
    network = Network(2)
    network.limit(Limit(0, ((10, 12),), (Ground("a", 1),)))
    network.limit(Limit(1, ((1, 9),), (Ground("b", 1),)))
    network.edges.append(Edge(0, 1, 0, None))

    assert not network.solve()


def test_circles_of_orders_are_equalities() -> None:
    """x <= y and y <= x: days that only one of them has are no days of either."""
    network = Network(2)
    network.limit(Limit(0, ((1, 1), (3, 3), (5, 5)), ()))
    network.limit(Limit(1, ((1, 2), (5, 6)), ()))
    network.edges = [Edge(0, 1, 0, None, (Ground("a", 1),)), Edge(1, 0, 0, None, (Ground("a", 2),))]

    assert network.solve()
    assert network.feasible(0) == network.feasible(1) == ((1, 1), (5, 5))


def test_windows_keep_holes() -> None:
    network = Network(3)
    network.limit(Limit(0, ((0, 0), (100, 100)), ()))
    network.edges = [
        Edge(1, 0, -60, 0, (Ground("a", 1),)), Edge(0, 2, -60, 0, (Ground("a", 2),)),
        Edge(2, 1, 0, 10, (Ground("a", 3),)),
    ]  # fmt: skip

    assert network.solve()
    assert network.feasible(0) == ((0, 0), (100, 100))
    assert network.feasible(1) == ((0, 10), (100, 110))


def test_reasons_name_the_widest_rows_first() -> None:
    network = Network(1)
    for row, spans in enumerate([((5, MAX),), ((8, MAX),), ((MIN, 20),), ((MIN, 9), (15, MAX))]):
        network.limit(Limit(0, spans, (Ground("a", row),)))
    network.solve()

    assert network.days[0] == ((8, 9), (15, 20))
    assert network.why(0, latest=False) == (Ground("a", 1),)
    assert network.why(0, latest=True) == (Ground("a", 2),)


def test_a_hole_at_the_end_has_two_reasons() -> None:
    network = Network(1)
    network.limit(Limit(0, ((5, MAX),), (Ground("born", 1),)))
    network.limit(Limit(0, ((MIN, 4), (9, MAX)), (Ground("claim", 1),), ((((5, 8),), (Ground("away", 1),)),)))  # fmt: skip
    network.solve()

    assert network.why(0, latest=False) == (
        Ground("away", 1), Ground("born", 1), Ground("claim", 1),
    )  # fmt: skip


graphs = st.dictionaries(
    st.integers(0, 6), st.lists(st.integers(0, 6), max_size=3, unique=True), max_size=6
)


@given(graphs)
def test_sequences(links: dict[int, list[int]]) -> None:
    reached = closure(links)
    found = circle(links)

    assert bool(found) == any(node in others for node, others in reached.items())
    if found:
        assert all(b in links[a] for a, b in zip(found, (*found[1:], found[0]), strict=True))
    else:
        short = reduction(links)
        assert closure(short) == reached
        for node, others in short.items():
            for other in others:
                less = {**short, node: others - {other}}
                assert closure(less) != reached


@given(st.sets(st.frozensets(st.integers(1, 6), min_size=1, max_size=3), max_size=4))
def test_smallest_sets(forbidden: set[frozenset[int]]) -> None:
    def holds(rows: frozenset[int]) -> bool:
        return not any(one <= rows for one in forbidden)

    rows = (1, 2, 3, 4, 5, 6)
    least = {one for one in forbidden if not any(other < one for other in forbidden)}
    if forbidden:
        first = smallest(rows, frozenset(), holds)  # type: ignore[arg-type]
        assert first in least
        # as if rows were taken away one by one from the last to the first
        left = list(rows)
        for row in reversed(rows):
            if not holds(frozenset(left) - {row}):
                left.remove(row)
        assert first == set(left)
    for row in rows:
        found = {frozenset(members) for members in sets_with(row, rows, holds)}  # type: ignore[arg-type]
        wanted = {one for one in least if row in one}
        assert found <= wanted
        assert len(found) == min(3, len(wanted))


# --- a case for the questions -------------------------------------------------------------


def place(file: str, line: int) -> Place:
    return Place(f"evidence/{file}.csv", line)


def being(key: str, line: int, born: str = "", died: str = "") -> facts.Being:
    def edtf(text: str) -> object:
        return parse(text) if text else None

    return facts.Being(
        BASE + key, key, "person", edtf(born), edtf(died), None, (), (), (), "", place("people", line)  # type: ignore[arg-type]
    )  # fmt: skip


def stay(who: str, where: str, when: str, line: int, source: str = "") -> facts.Stay:
    sources = (BASE + source,) if source else ()
    return facts.Stay(
        f"w{line}", BASE + who, BASE + where, parse(when), "at", "", sources, "", place("whereabouts", line)
    )  # fmt: skip


def said(key: str, aspect: str, value: str, line: int, **more: str) -> Claim:
    value = value if aspect == "date" else BASE + value
    standing = more.get("standing", "current")
    return Claim(
        key, BASE + "object/i", aspect, value, by=BASE + "person/tarrow", basis="seen",
        standing=standing, effective=standing, qualifier=more.get("qualifier", ""),
        sources=(BASE + more["source"],) if "source" in more else (), place=place("claims", line),
    )  # fmt: skip


EVIDENCE = Evidence(
    people=(
        being("person/dolen", 2, "1841"), being("person/korvath", 3, "1820", "1880"),
        being("person/esker", 4, "1800", "1860"), being("person/vey", 5),
    ),
    places=tuple(
        facts.Location(BASE + key, key, (), (), (), None, None, (), place("places", line))
        for line, key in enumerate(("place/pass", "place/town"), 2)
    ),
    whereabouts=(
        stay("person/dolen", "place/pass", "1872-02-10/1872-02-20", 2, "text/diary"),
        stay("person/korvath", "place/town", "1871-05-24/1873-12-31", 3, "text/day-book"),
        stay("person/vey", "place/pass", "1870-01-01/1870-01-31", 4),
        stay("person/vey", "place/town", "1870-01-10/1870-01-12", 5, "text/diary"),
    ),
)  # fmt: skip
CLAIMS = (
    said("c1", "maker", "person/korvath", 2, standing="former"),
    said("c2", "maker", "person/dolen", 3, qualifier="attributed-to"),
    said("c3", "date", "1872-02", 4),
    said("c4", "place", "place/pass", 5, source="text/caption"),
    said("c5", "maker", "person/vey", 6, qualifier="possibly", standing="proposed"),
)


@pytest.fixture(scope="module")
def questions() -> Questions:
    return Questions(EVIDENCE, CLAIMS, ASPECTS)


@pytest.fixture(scope="module")
def weighing() -> Weighing:
    return weigh(EVIDENCE, CLAIMS, ASPECTS)


def test_json_has_the_published_shape(weighing: Weighing) -> None:
    got = weighing.to_json(BASE)

    assert set(got) == {"things", "conflicts", "evidence_conflicts"}
    (thing,) = got["things"]
    assert thing["about"] == "object/i"
    assert thing["spans"]["exposure"] == {
        "earliest": "1872-02-01", "latest": "1872-02-29",
        "because": [{"file": "evidence/claims.csv", "row": 4, "source": None}],
    }  # fmt: skip
    assert thing["claims"][1] == {
        "claim": "c2", "verdict": "placed", "share": 0.3793,
        "feasible": [["1872-02-01", "1872-02-29"]], "clashes_with": [],
        "because": [
            {"file": "evidence/claims.csv", "row": 4, "source": None},
            {"file": "evidence/whereabouts.csv", "row": 2, "source": "text/diary"},
        ],
    }  # fmt: skip
    assert got["conflicts"] == [{
        "claim": "c1",
        "members": [
            {"file": "evidence/claims.csv", "row": 2}, {"file": "evidence/claims.csv", "row": 4},
            {"file": "evidence/claims.csv", "row": 5}, {"file": "evidence/whereabouts.csv", "row": 3},
        ],
    }]  # fmt: skip
    assert got["evidence_conflicts"] == [{
        "who": "person/vey", "days": [["1870-01-10", "1870-01-12"]],
        "members": [
            {"file": "evidence/whereabouts.csv", "row": 4}, {"file": "evidence/whereabouts.csv", "row": 5},
        ],
    }]  # fmt: skip


def test_the_order_of_claims_does_not_matter(weighing: Weighing) -> None:
    turned = weigh(
        replace(EVIDENCE, whereabouts=EVIDENCE.whereabouts[::-1], people=EVIDENCE.people[::-1]),
        CLAIMS[::-1],
        ASPECTS,
    )

    assert turned == weighing


def test_only_some_things(weighing: Weighing) -> None:
    other = tuple(replace(c, key="x" + c.key, about=BASE + "object/j") for c in CLAIMS)
    got = weigh(EVIDENCE, (*CLAIMS, *other), ASPECTS, only=[BASE + "object/i", BASE + "object/z"])

    assert got.things == weighing.things
    assert got.conflicts == weighing.conflicts
    assert got.evidence_conflicts == weighing.evidence_conflicts


def test_who_could_have_made_it(questions: Questions) -> None:
    got = to_json(questions.thing(BASE + "object/i"), BASE)

    assert [(one["who"], one["verdict"], one["share"]) for one in got["candidates"]] == [
        ("person/dolen", "placed", 0.3793), ("person/esker", "contradicted", None),
        ("person/korvath", "contradicted", None), ("person/vey", "open", None),
    ]  # fmt: skip
    assert got["candidates"][1]["because"] == [
        {"file": "evidence/claims.csv", "row": 4, "source": None},
        {"file": "evidence/people.csv", "row": 4, "source": None},
    ]
    assert [claim["claim"] for claim in got["claims"]] == ["c1", "c2", "c3", "c4", "c5"]


def test_a_thing_that_nobody_says_anything_of(questions: Questions) -> None:
    got = questions.thing(BASE + "object/z")

    assert (got.spans, got.claims) == ((), ())
    assert {one.verdict.verdict for one in got.candidates} == {"open"}
    assert questions.argument(BASE + "object/z") is None


def test_the_argument(questions: Questions) -> None:
    argument = questions.argument(BASE + "object/i")
    assert argument is not None
    got = to_json(argument, BASE)

    assert (got["claim"]["claim"], [c["claim"] for c in got["counter"]]) == ("c2", ["c1", "c5"])
    assert [(row["file"][9:-4], row["row"]) for row in got["deciding"]] == [
        ("claims", 2), ("claims", 4), ("claims", 5), ("whereabouts", 2), ("whereabouts", 3),
    ]  # fmt: skip
    assert list(got["excluded"]) == ["c1"]
    assert got["gaps"] == [
        {"kind": "whereabouts", "who": "person/dolen", "place": "place/pass",
         "days": [["1872-02-01", "1872-02-09"], ["1872-02-21", "1872-02-29"]]},
        {"kind": "whereabouts", "who": "person/vey", "place": "place/pass",
         "days": [["1872-02-01", "1872-02-29"]]},
    ]  # fmt: skip


def test_without_a_source(questions: Questions) -> None:
    got = to_json(questions.without_source(BASE + "text/day-book"), BASE)

    assert got == {
        "source": "text/day-book",
        "rows": [{"file": "evidence/whereabouts.csv", "row": 3}],
        "groundless": [],
        "changes": [{
            "claim": "c1", "about": "object/i", "before": "contradicted", "after": "open",
            "feasible": [["1872-02-01", "1872-02-29"]],
        }],
    }  # fmt: skip


def test_a_claim_that_loses_its_grounds() -> None:
    bare = replace(CLAIMS[3], basis="")
    asked = Questions(EVIDENCE, (*CLAIMS[:3], bare), ASPECTS)
    got = asked.without_source(BASE + "text/caption")

    assert got.groundless == ("c4",)
    assert [(c.claim, c.before and c.before.verdict, c.after and c.after.verdict) for c in got.changes] == [
        ("c1", "contradicted", "open"), ("c2", "placed", "open"),
    ]  # fmt: skip


def test_what_if(questions: Questions) -> None:
    got = to_json(questions.assume(BASE + "object/i", "date", "1870"), BASE)

    assert got["verdict"] == "open"
    assert {change["claim"]: change["after"] for change in got["changes"]} == {
        "c1": "open", "c2": "open", "c4": "open", "c5": "placed",
    }  # fmt: skip


def test_what_if_it_cannot_be(questions: Questions) -> None:
    got = to_json(questions.assume(BASE + "object/i", "maker", BASE + "person/esker"), BASE)

    assert got["verdict"] == "contradicted"
    assert got["conflicts"] == [
        [{"file": "evidence/claims.csv", "row": 4}, {"file": "evidence/people.csv", "row": 4}]
    ]


def test_open_questions(questions: Questions) -> None:
    got = to_json(questions.open(), BASE)

    assert [(one["claim"], [gap["kind"] for gap in one["gaps"]]) for one in got] == [
        ("c5", ["whereabouts"])
    ]


def test_open_for_want_of_a_place() -> None:
    got = Questions(EVIDENCE, CLAIMS[:2], ASPECTS).open()

    assert [(q.verdict.claim.key, [gap.kind for gap in q.gaps]) for q in got] == [
        ("c2", ["place", "date"])
    ]


# --- findings -----------------------------------------------------------------------------


def test_findings() -> None:
    held = (
        said("c1", "maker", "person/esker", 2),
        said("c2", "maker", "person/esker", 3, qualifier="possibly"),
        said("c3", "date", "1872-02", 4),
        said("c4", "maker", "person/esker", 5, standing="former"),
    )
    found: list[Finding] = []
    report_weighing(weigh(EVIDENCE, held, ASPECTS), found.append)

    assert [(f.code, f.severity, str(f.place), f.message) for f in found] == [
        ("contradicted", "violation", "evidence/claims.csv:2",
         "the claim `c1` cannot hold with evidence/claims.csv:4, evidence/people.csv:4"),
        ("contradicted", "warning", "evidence/claims.csv:3",
         "the claim `c2` cannot hold with evidence/claims.csv:4, evidence/people.csv:4"),
        ("contradicted", "violation", "evidence/claims.csv:4",
         "the claim `c3` cannot hold with evidence/claims.csv:2, evidence/people.csv:4"),
        ("evidence-conflict", "warning", "evidence/whereabouts.csv:4",
         "the rows evidence/whereabouts.csv:4 and evidence/whereabouts.csv:5 contradict one another, "
         "1870-01-10 to 1870-01-12"),
    ]  # fmt: skip


# Mount sizes: carte-de-visite 64 x 100 mm, cabinet card 108 x 165 mm, stereo card 89 x 178 mm
# (yourfamilyhistorian.co.uk part 2; AAT cabinet photographs; shortcourses.com/stereo1-1).
FITS = [
    ((64, 100), (64, 100, None), True), ((100, 64), (64, 100, None), True), ((61, 102), (64, 100, 3), True),
    ((108, 165), (64, 100, 8), False), ((83, 172), (89, 178, 8), True), ((177, 88), (89, 178, 8), True),
    ((64, 110), (64, 100, 3), False),
]  # fmt: skip


@pytest.mark.parametrize(("size", "form", "expected"), FITS)
def test_fits(
    size: tuple[float, float], form: tuple[float, float, float | None], expected: bool
) -> None:
    assert fits(size, *form) is expected
