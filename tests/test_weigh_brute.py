"""Weighing against trying every day: random worlds, written as cases, read, weighed, compared.

A world that fails is printed as a case of the rulebook, so that it can be kept there.
"""

import csv
import io
from functools import cache
from itertools import chain, combinations
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from hypothesis import HealthCheck, event, given, note, settings
from hypothesis import strategies as st
from rulebook_help import Case, Weighed, weigh_case
from rulebook_help import _row_names as row_names
from weigh_brute import (
    DAYS,
    DOUBTS,
    FIRST,
    LAST,
    LINKS,
    PLACES,
    Fact,
    Possible,
    Said,
    When,
    World,
    day_text,
    event_of,
    when,
)

EXAMPLES = 2_000
MOST_ROWS = 9
"""Up to so many rows every subset is tried where the certain claims contradict one another."""

PEOPLE = ("dolen", "vey")
SHORT = {day_text(day): day for day in DAYS}
STAYS = (
    "span", "span", "span", "day", "from", "until", "unknown end", "unknown start", "one of",
    "one within", "each of", "each within", "supposed", "some day",
)  # fmt: skip
RANGES = ("span", "span", "from", "until", "supposed")
DATES = ("span", "span", "day", "from", "until", "one of", "one within", "supposed")
ASPECTS = (
    "date", "date", "maker", "maker", "place", "place", "sitter", "date_printed", "date_mounted",
    "process", "format", "depicts", "copy_of", "printed_from", "composed_of", "same_session_as",
    "earlier_than", "later_than",
)  # fmt: skip


@st.composite
def whens(draw: st.DrawFn, kinds: tuple[str, ...], *, wide: bool = False) -> When:
    first, last = draw(st.integers(5, 9)), draw(st.integers(5, 10))
    if wide:  # a stay of one or two days excludes nothing
        first, last = draw(st.sampled_from((5, 5, 6, first))), max(last, 8)
    last = max(first, last)
    return when(draw(st.sampled_from(kinds)) if first < last else "day", first, last)


@st.composite
def claims(draw: st.DrawFn, things: tuple[str, ...], number: int) -> Said:
    about, aspect = draw(st.sampled_from(things)), draw(st.sampled_from(ASPECTS))
    others = [thing for thing in things if thing != about]
    days, value, part, role = None, "", "", ""
    if aspect in LINKS and not others:
        aspect = "date"
    if aspect.startswith("date"):
        days = draw(whens(DATES))
        value = days.text
    elif aspect in LINKS:
        value = draw(st.sampled_from(others))
        if aspect == "copy_of":
            part = draw(st.sampled_from(("", "from the print")))
        elif aspect == "same_session_as":
            part = draw(st.sampled_from(("", "1 day", "2 days")))
    elif aspect in ("maker", "sitter"):
        value = draw(st.sampled_from(PEOPLE))
        if aspect == "sitter":
            part = draw(st.sampled_from(("", "", "post-mortem")))
        else:
            role = draw(st.sampled_from(("", "", "", "printer")))
    else:
        value = {
            "place": draw(st.sampled_from(PLACES)), "process": "wax-tone",
            "format": "large-card", "depicts": "snow-shed",
        }[aspect]  # fmt: skip
    qualifiers = ["", "", "", "", "possibly"] + (["studio of"] if aspect == "maker" else [])
    return Said(
        f"c{number}", about, aspect, value, days, role, part, draw(st.sampled_from(qualifiers)),
        draw(st.sampled_from(("current", "current", "current", "proposed", "former"))),
    )  # fmt: skip


@st.composite
def stories(draw: st.DrawFn) -> list[Said]:
    """Draw who made a picture, where and when: without these three whereabouts say nothing."""
    days = draw(whens(("span", "span", "day", "one of")))
    values = {"maker": draw(st.sampled_from(PEOPLE)), "place": draw(st.sampled_from(PLACES))}
    qualifier = draw(st.sampled_from(("", "", "", "maker", "place", "both")))
    return [
        Said(
            f"c{number}", "a", aspect, values.get(aspect, days.text),
            None if aspect in values else days,
            qualifier="possibly" if qualifier in (aspect, "both") and aspect in values else "",
        )
        for number, aspect in enumerate(draw(st.permutations(("date", "place", "maker"))))
    ]  # fmt: skip


@st.composite
def worlds(draw: st.DrawFn) -> World:
    def several(name: str, most: int, make: Any, least: int = 0) -> tuple[Fact, ...]:
        count = draw(st.integers(least, most))
        return tuple(make(f"{name}.{number}") for number in range(1, count + 1))

    def stay(name: str) -> Fact:
        who = draw(st.sampled_from((*PEOPLE, *PEOPLE, "section", "survey")))
        presence = draw(st.sampled_from(("", "", "", "all day", "not at")))
        return Fact(
            name,
            who,
            draw(st.sampled_from(PLACES)),
            draw(whens(STAYS, wide=True)),
            presence=presence,
        )

    def member(name: str) -> Fact:
        pairs = [("vey", "section"), ("dolen", "survey"), ("survey", "section")]
        who, party = draw(st.sampled_from(pairs))
        return Fact(name, who, party, draw(whens(("span", "from", "supposed"))))

    def life(who: str) -> Fact:
        born = draw(st.none() | whens(("span", "day", "supposed")))
        died = draw(st.none() | whens(("span", "day", "supposed")))
        if born and died and max(died.possible) < min(born.possible):
            died = None
        return Fact(f"people.{who}", who, "", born, died)

    things = draw(st.sampled_from((("a",), ("a", "b"), ("a", "b"), ("a", "b", "c"))))
    said = [*draw(stories()) * draw(st.sampled_from((1, 1, 1, 0)))]
    for number in range(len(said), draw(st.integers(max(1, len(said)), 6))):
        said.append(draw(claims(things, number)))
    makers = [n for n, s in enumerate(said) if s.aspect == "maker" and s.about == "a"]
    if len(makers) > 1 and draw(st.booleans()):
        one, two = makers[:2]
        said[two] = Said(**{**vars(said[two]), "alternative_to": said[one].key})
    return World(
        people=tuple(life(who) for who in PEOPLE if draw(st.booleans())),
        membership=several("membership", 2, member),
        whereabouts=several("whereabouts", 4, stay, draw(st.sampled_from((0, 2, 3)))),
        things=several("things", 2, lambda n: Fact(n, "", "snow-shed", draw(whens(RANGES)))),
        processes=several(
            "processes",
            3,
            lambda n: Fact(
                n, "", draw(st.sampled_from(("wax-tone", "large-card"))), draw(whens(("span",)))
            ),
        ),
        claims=tuple(said),
    )


# --- a world as a case of the rulebook -----------------------------------------------------


def case_of(world: World, source: str = "diary-3") -> Case:
    def text(when: When | None) -> str:
        return when.text if when else ""

    case = Case("random", {"case": "random", "why": "random"})
    case.blocks = {
        "people": [
            {"key": r.who, "name": r.who, "kind": "person", "born": text(r.when), "died": text(r.until)}
            for r in world.people
        ] + [
            {"key": key, "name": key, "kind": "group", "born": "", "died": ""}
            for key in ("section", "survey")
        ],
        "membership": [{"who": r.who, "party": r.what, "when": text(r.when)} for r in world.membership],
        "whereabouts": [
            {"who": r.who, "place": r.what, "when": text(r.when), "presence": r.presence, "sources": source}
            for r in world.whereabouts
        ],
        "places": [
            {"key": "hut", "name": "hut", "within": "pass", "near": ""},
            {"key": "pass", "name": "pass", "within": "valley", "near": ""},
            {"key": "town", "name": "town", "within": "", "near": "ford"},
        ],
        "things": [{"thing": r.what, "exists": text(r.when)} for r in world.things]
        + [{"thing": name, "exists": "../.."} for name in ("a", "b", "c")]
        + [{"thing": "snow-shed", "exists": "../.."} for _ in (1,) if not world.things],
        "processes": [
            {"process": r.what, "from": text(r.when).split("/")[0], "to": text(r.when).split("/")[-1]}
            for r in world.processes
        ] + [
            {"process": name, "from": "", "to": ""}
            for name in sorted({"wax-tone", "large-card"} - {r.what for r in world.processes})
        ],
        "claims": [
            {
                "claim": s.key, "about": s.about, "aspect": s.aspect, "role": s.role, "value": s.value,
                "part": s.part, "qualifier": s.qualifier, "standing": s.standing,
                "alternative_to": s.alternative_to,
            }
            for s in world.claims
        ],
    }  # fmt: skip
    return case


@cache
def scratch() -> TemporaryDirectory[str]:
    return TemporaryDirectory()


def weighed(case: Case) -> Weighed:
    folder = Path(scratch().name)
    for path in folder.iterdir():
        path.unlink()
    return weigh_case(case, folder)


def printed(case: Case) -> str:
    file = io.StringIO()
    for name, rows in case.blocks.items():
        if rows:
            file.write(f"\n{name}\n")
            writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)
    return file.getvalue()


def days_of(pairs: list[list[str | None]]) -> set[int]:
    """Return the days of the calendar in an answer; an end without bound takes in the margin."""
    found: set[int] = set()
    for low, high in pairs:
        assert low is None or low > day_text(FIRST), pairs
        assert high is None or high < day_text(LAST), pairs
        start = FIRST if low is None else SHORT[low]
        found.update(range(start, (LAST if high is None else SHORT[high]) + 1))
    return found


# --- the properties ------------------------------------------------------------------------


@settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
@given(worlds())
def test_every_answer_is_that_of_trying_every_day(world: World) -> None:
    case = case_of(world)
    note(printed(case))
    result = weighed(case)
    assert [f for f in result.findings if "both current and certain" not in f.message] == []

    answer = result.answer
    found = {line["claim"]: line for thing in answer["things"] for line in thing["claims"]}
    assert found.keys() == {said.key for said in world.claims}
    names = row_names(case)
    conflicts: dict[str, list[list[str]]] = {}
    for line in answer["conflicts"]:
        rows = [names[row["file"], row["row"]] for row in line["members"]]
        conflicts.setdefault(line["claim"], []).append(rows)

    check_evidence(world, answer, names)
    for said in world.claims:
        if said.aspect == "format":
            assert found[said.key]["verdict"] == "not weighed"
            continue
        check_verdict(world, said, found[said.key], conflicts.get(said.key, []))
        check_conflicts(world, said, found[said.key], conflicts.get(said.key, []))
    check_clashes(world, found)
    check_spans(world, answer)


def check_evidence(world: World, answer: Any, names: dict[tuple[str, int], str]) -> None:
    stated: dict[str, set[int]] = {}
    for line in answer["evidence_conflicts"]:
        who = line["who"].rsplit("/", 1)[-1]
        rows = frozenset(names[row["file"], row["row"]] for row in line["members"])
        known = [days for days, members in world.contradictions(who) if members == rows]
        assert frozenset().union(*known) >= days_of(line["days"]), line
        stated.setdefault(who, set()).update(days_of(line["days"]))
    people = {row.who for row in (*world.whereabouts, *world.membership)}
    assert stated == {who: set(world.unknown(who)) for who in people if world.unknown(who)}
    if stated:
        event("evidence contradicts itself")


def check_verdict(world: World, said: Said, line: Any, sets: list[list[str]]) -> None:
    others = world.others(said)
    if not world.holds(others, world.facts, "", [*others, said]):
        event("certain claims contradict one another")
        rows = [other.name for other in others] + sorted(world.facts)
        if len(rows) <= MOST_ROWS:
            assert (line["verdict"] == "contradicted") == is_in_a_conflict(world, said, others), (
                said
            )
        return
    possible = world.case([*others, said], world.facts, said.key, [*others, said])
    days = possible.days((said.about, event_of(said)))
    event(line["verdict"])
    assert days_of(line["feasible"]) == days, said
    assert (line["verdict"] == "contradicted") == (not days), said
    if not days:
        assert deleted(world, said, others) in map(sorted, sets) or len(sets) == 3, said
        return
    check_placed(possible, said, days, line)


def check_placed(possible: Possible, said: Said, days: set[int], line: Any) -> None:
    placed = {day for day in days if weighs_presence(said) and possible.there(said, day)}
    if line.get("disputed_bound"):
        return
    assert (line["verdict"] == "placed") == bool(placed), said
    bounded = FIRST not in days and LAST not in days
    share = round(len(placed) / len(days), 4) if placed and bounded else None
    assert line["share"] == share, said


def weighs_presence(said: Said) -> bool:
    return said.aspect in ("maker", "sitter", "place") and not said.role


def is_in_a_conflict(world: World, said: Said, others: list[Said]) -> bool:
    """Return whether some rows can hold that cannot hold with the claim."""
    facts = sorted(world.facts)
    rows: list[Said | str] = [*others, *facts]
    for chosen in chain.from_iterable(combinations(rows, n) for n in range(len(rows) + 1)):
        held = [row for row in chosen if isinstance(row, Said)]
        known = frozenset(row for row in chosen if isinstance(row, str))
        shape = [*others, said]
        if not world.holds([*held, said], known, said.key, shape) and world.holds(
            held, known, "", shape
        ):
            return True
    return False


def in_order(row: str) -> tuple[str, int]:
    block, _, key = row.partition(".")
    number = PEOPLE.index(key) if block == "people" else int(key.removeprefix("c"))
    return block, number


def deleted(world: World, said: Said, others: list[Said]) -> list[str]:
    """Return the conflict set that deletion from the last row to the first leaves."""
    by_name = {other.name: other for other in (*others, said)}
    kept = {*by_name, *world.facts}
    for row in sorted(kept, key=in_order, reverse=True):
        left = kept - {row}
        held = [by_name[name] for name in left if name in by_name]
        if row != said.name and not world.holds(
            held, frozenset(left & world.facts), said.key, [*others, said]
        ):
            kept = left
    return sorted(kept)


def check_conflicts(world: World, said: Said, line: Any, sets: list[list[str]]) -> None:
    assert bool(sets) == (line["verdict"] == "contradicted"), said
    assert len(sets) <= 3
    assert sets == sorted(sets, key=lambda rows: (len(rows), [in_order(row) for row in rows]))
    assert len({tuple(rows) for rows in sets}) == len(sets)
    by_name = {other.name: other for other in world.claims}
    things = world.linked(said)
    shape = [*(other for other in world.base if other.about in things), said]

    def holds(rows: set[str]) -> bool:
        held = [by_name[name] for name in rows if name in by_name]
        return world.holds(held, frozenset(rows & world.facts), said.key, shape)

    for rows in sets:
        event(f"conflict of {len(rows)} rows about {len(things)} things")
        assert said.name in rows, rows
        assert not holds(set(rows)), rows
        for row in rows:
            assert holds(set(rows) - {row}), (rows, row)


def check_clashes(world: World, found: dict[str, Any]) -> None:
    """Clashes of claims about one thing that nothing links to others, each of them possible."""
    sets = world.sets()
    for said in world.claims:
        if found[said.key]["verdict"] not in ("open", "placed") or said.aspect in LINKS:
            continue
        if world.linked(said) != {said.about}:
            continue
        others = world.others(said)
        if not world.holds(others, world.facts, "", others):
            continue
        for other in world.claims:
            guess = other.standing == "current" and (other.qualifier or other.key in sets)
            if (
                not guess or other.about != said.about or other.aspect in LINKS
                or other.key == said.key or other.aspect == "format"
                or found[other.key]["verdict"] not in ("open", "placed")
            ):  # fmt: skip
                continue
            rivals = world.set_aside(said, other)
            same_set = said.key in sets and sets[said.key] == sets.get(other.key)
            held = [o for o in others if not world.set_aside(other, o)]
            together = world.holds(
                [*held, said, other], world.facts, said.key, [*held, said, other]
            )
            clash = not together and not rivals and not same_set
            assert (other.key in found[said.key]["clashes_with"]) == clash, (said, other)
            if clash:
                event("clash")


def check_spans(world: World, answer: Any) -> None:
    for thing in answer["things"]:
        about = thing["about"].rsplit("/", 1)[-1]
        related = world.linked(Said("", about, "title", ""))
        held = [said for said in world.base if said.about in related]
        possible = world.case(held, world.facts, "", held)
        if not held or about not in possible.things or not possible.any_days():
            continue
        for name in ("exposure", "print", "mount"):
            days = possible.days((about, name))
            making = name == "exposure" and any(
                said.aspect == "composed_of" and said.about == about for said in held
            )
            span = thing["spans"].get("making" if making else name)
            ends = (min(days), max(days))
            if span is None:
                assert ends == (FIRST, LAST), (about, name)
                continue
            low, high = span["earliest"], span["latest"]
            assert (FIRST if low is None else SHORT[low]) == ends[0], (about, name)
            assert (LAST if high is None else SHORT[high]) == ends[1], (about, name)


@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(worlds())
def test_a_withdrawn_source_is_as_if_its_rows_were_not_there(world: World) -> None:
    withdrawn = case_of(world, "recollections")
    withdrawn.settings["without"] = "recollections"
    absent = case_of(
        World(world.people, world.membership, (), world.things, world.processes, world.claims)
    )

    assert verdicts(weighed(withdrawn)) == verdicts(weighed(absent))


def verdicts(result: Weighed) -> dict[str, tuple[str, str]]:
    return {
        line["claim"]: (line["verdict"], str(line["feasible"]))
        for thing in result.answer["things"]
        for line in thing["claims"]
    }


def test_doubts_are_those_of_the_specification() -> None:
    assert {"", "probably", "attributed to", "possibly"} == DOUBTS
