"""Weighing against enumeration: random small cases, every feasible day and every conflict set."""

from itertools import count
from typing import Any

from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st
from weigh_oracle import (
    DAYS,
    EPOCH,
    LAST,
    ONE,
    Bound,
    Life,
    Member,
    Row,
    Said,
    Stay,
    When,
    World,
    linked,
)

from lodpipe.aspects import builtin_aspects
from lodpipe.dates import parse
from lodpipe.evidence import facts
from lodpipe.records import Claim, Place
from lodpipe.weigh import Weighing, weigh
from lodpipe.weigh.spans import Spans

ASPECTS = builtin_aspects()
PLACES = ("pass", "hut", "town", "ford")
WITHIN = {"hut": "pass"}
NEAR = frozenset({frozenset({"town", "ford"})})
PEOPLE = ("dolen", "vey")
CASES = 2_000


@st.composite
def whens(draw: st.DrawFn, *kinds: str) -> When:
    kind = draw(st.sampled_from(kinds))
    first = draw(st.integers(2, 6))
    last = draw(st.integers(first, 6))
    if kind in ("one of", "all of") and first == last:
        kind = "day"
    return When(kind, first, last)


STAYS = ("span", "span", "day", "doubtful", "one of", "all of", "from")


THEMES = {
    # what a case is about: the things, the aspects that claims are drawn from, how many stays
    "whereabouts": (("a",), ("maker", "maker", "sitter", "date", "date", "place"), (2, 4)),
    "session": (("a", "b"), ("same_session_as", "place", "place", "maker", "sitter", "date"), (1, 2)),
    "links": (
        ("a", "b"),
        ("date", "date", "date_printed", "copy_of", "printed_from", "same_session_as",
         "earlier_than", "later_than", "sitter"),
        (0, 0),
    ),
    "bounds": (("a",), ("process", "process", "date_printed", "depicts", "sitter", "maker", "date"), (0, 0)),
}  # fmt: skip


@st.composite
def claims(draw: st.DrawFn, things: tuple[str, ...], aspects: tuple[str, ...], number: int) -> Said:
    about = draw(st.sampled_from(things))
    aspect = draw(st.sampled_from(aspects))
    value: str | When
    part = ""
    if aspect in ("date", "date_printed"):
        value = draw(whens("span", "span", "day", "doubtful", "one of"))
    elif aspect == "place":
        value = draw(st.sampled_from(PLACES))
    elif aspect == "process":
        value = "albumen"
    elif aspect == "depicts":
        value = "shed"
    elif aspect in ("maker", "sitter"):
        value = draw(st.sampled_from(("dolen", "dolen", "vey")))
        part = draw(st.sampled_from(("", "", "post-mortem"))) if aspect == "sitter" else ""
    else:
        value = "b" if about == "a" else "a"
        if aspect == "copy_of":
            part = draw(st.sampled_from(("", "from the print")))
        if aspect == "same_session_as":
            part = draw(st.sampled_from(("", "1 day", "2 days")))
    qualifier = draw(st.sampled_from(("", "", "", "", "possibly", "studio-of")))
    if qualifier == "studio-of" and aspect != "maker":
        qualifier = ""
    standing = draw(st.sampled_from(("current",) * 4 + ("proposed", "former")))
    row = ("claims.csv", number + 2)
    return Said(row, f"c{number}", about, aspect, value, part, qualifier, standing)


@st.composite
def worlds(draw: st.DrawFn) -> World:
    theme = draw(st.sampled_from(sorted(THEMES)))
    things, aspects, (least, most) = THEMES[theme]
    names = ("people", "whereabouts", "membership", "things", "processes")
    lines = {name: count(2) for name in names}

    def row(name: str) -> Row:
        return f"{name}.csv", next(lines[name])

    life = st.none() | whens("day", "span", "doubtful")
    lives = []
    for who in PEOPLE:
        born, died = (draw(life), draw(life)) if theme != "session" else (None, None)
        if born and died and max(died.possible()) < min(born.possible()):
            died = None
        lives.append(Life(row("people"), who, born, died))
    stays = []
    for _ in range(draw(st.integers(least, most))):
        who = draw(st.sampled_from(("dolen", "dolen", "party", "vey")))
        where, when = draw(st.sampled_from(PLACES)), draw(whens(*STAYS))
        presence = draw(st.sampled_from(("at", "at", "all day", "not at")))
        stays.append(Stay(row("whereabouts"), who, where, when, presence))
    members = [
        Member(row("membership"), "dolen", "party", draw(whens("span", "doubtful")))
        for _ in range(draw(st.integers(0, 1)) if stays else 0)
    ]
    bounds = []
    if theme in ("bounds", "links"):
        for _ in range(draw(st.integers(0, 2))):
            bounds.append(Bound(row("processes"), "albumen", draw(whens("span"))))
        for _ in range(draw(st.integers(0, 1))):
            bounds.append(Bound(row("things"), "shed", draw(whens("span", "from", "doubtful"))))
    said = []
    if theme in ("whereabouts", "session"):  # a place to be away from
        where = draw(st.sampled_from(PLACES))
        said.append(Said(("claims.csv", 2), "c0", "a", "place", where))
    if theme == "session":
        part = draw(st.sampled_from(("", "1 day")))
        said.append(Said(("claims.csv", 3), "c1", "b", "same_session_as", "a", part))
    start = len(said)
    for number in range(start, start + draw(st.integers(1, 3))):
        said.append(draw(claims(things, aspects, number)))
    return World(
        WITHIN, NEAR, tuple(lives), tuple(stays), tuple(members), tuple(bounds), tuple(said)
    )


def place_of(row: Row) -> Place:
    return Place(row[0], row[1])


def weighed(world: World) -> Weighing:
    def edtf(when: When | None) -> Any:
        return parse(when.edtf()) if when else None

    known = facts.Evidence(
        people=tuple(
            facts.Being(x.who, x.who, "person", edtf(x.born), edtf(x.died), None, (), (), (), "", place_of(x.row))
            for x in world.lives
        ),
        membership=tuple(facts.Membership(m.who, m.party, edtf(m.when), (), place_of(m.row)) for m in world.members),
        whereabouts=tuple(
            facts.Stay("", s.who, s.where, edtf(s.when), s.presence, "", ("src",), "", place_of(s.row))
            for s in world.stays
        ),
        places=tuple(
            facts.Location(
                name, name, (), (WITHIN[name],) if name in WITHIN else (),
                ("ford",) if name == "town" else (), None, None, (), Place("places.csv", 2),
            )
            for name in PLACES
        ),
        things=tuple(
            facts.DatableThing(b.what, edtf(b.when), (), place_of(b.row)) for b in world.bounds if b.what == "shed"
        ),
        processes=tuple(
            facts.Process(
                b.what, parse(b.when.edtf().split("/")[0]), parse(b.when.edtf().split("/")[1]), "",
                None, None, None, (), place_of(b.row),
            )
            for b in world.bounds if b.what == "albumen"
        ),
    )  # fmt: skip
    lines = [
        Claim(
            c.key, c.about, c.aspect, c.value.edtf() if isinstance(c.value, When) else c.value,
            part=c.part, qualifier=c.qualifier, standing=c.standing, effective=c.standing, by="tarrow",
            basis="b", place=place_of(c.row),
        )
        for c in world.claims
    ]  # fmt: skip
    return weigh(known, lines, ASPECTS)


def small(spans: Spans) -> set[int]:
    start = EPOCH.toordinal()
    return {day for day in DAYS for low, high in spans if low <= day + start <= high}


def doubtful(claim: Said) -> bool:
    return isinstance(claim.value, When) and claim.value.kind == "doubtful"


def base_of(world: World) -> list[Said]:
    """Certain current claims, but none of a one-aspect where several differ."""
    held = [c for c in world.claims if c.certain and not doubtful(c)]
    values: dict[tuple[str, str], set[Any]] = {}
    for c in held:
        values.setdefault((c.about, c.aspect), set()).add(
            c.value.edtf() if isinstance(c.value, When) else c.value
        )
    return [c for c in held if c.aspect not in ONE or len(values[c.about, c.aspect]) == 1]


def with_linked(claim: Said, base: list[Said]) -> list[Said]:
    """Of the certain claims, those about things that are linked to the claim's thing."""
    things = {claim.about} | ({str(claim.value)} if linked(claim) else set())
    grown = True
    while grown:
        more = {
            t
            for c in base
            if linked(c)
            for t in (c.about, str(c.value))
            if {c.about, str(c.value)} & things
        }
        grown = not more <= things
        things |= more
    return [c for c in base if c.about in things]


@settings(max_examples=CASES, deadline=None, suppress_health_check=list(HealthCheck))
@given(worlds())
def test_feasible_days_and_conflicts_are_those_of_enumeration(world: World) -> None:
    result = weighed(world)
    verdicts = result.verdicts()
    base = base_of(world)
    rows = frozenset(
        x.row
        for group in (world.lives, world.stays, world.members, world.bounds)
        for x in group  # type: ignore[attr-defined]
    )
    for claim in world.claims:
        others = [
            c for c in with_linked(claim, base)
            if c.key != claim.key and not (
                claim.aspect in ONE and (c.about, c.aspect) == (claim.about, claim.aspect)
                and not (claim in base and c.value == claim.value)
            )
        ]  # fmt: skip
        if not any(True for _ in world.days(others, rows, "", others)):
            event("certain claims contradict one another")
            continue
        days = world.feasible(claim, others, rows)
        verdict = verdicts[claim.key]
        event(verdict.verdict)

        assert (verdict.verdict == "contradicted") == (not days), claim
        assert small(verdict.feasible) == days, claim

    check_conflicts(world, result, rows)


def check_conflicts(world: World, result: Weighing, rows: frozenset[Row]) -> None:
    by_key = {c.key: c for c in world.claims}
    base = base_of(world)
    assert {c.claim for c in result.conflicts} == {
        key for key, verdict in result.verdicts().items() if verdict.verdict == "contradicted"
    }
    for conflict in result.conflicts:
        members = {(m.file, m.row) for m in conflict.members}
        claim = by_key[conflict.claim]
        shape = [*(c for c in with_linked(claim, base) if c.key != claim.key), claim]
        tested = claim.key
        assert claim.row in members

        def holds(kept: set[Row], tested: str = tested, shape: list[Said] = shape) -> bool:
            chosen = [c for c in world.claims if c.row in kept]
            return any(True for _ in world.days(chosen, rows & kept, tested, shape)) or not chosen

        assert not holds(members), conflict
        for member in members:
            assert holds(members - {member}), (conflict, member)


def test_the_calendar_of_the_oracle_has_room() -> None:
    assert (DAYS[0], LAST) == (0, 8)
