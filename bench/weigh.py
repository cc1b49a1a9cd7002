"""Speed of weighing: many things and claims, the whole of them and one more.

    python -m bench.weigh [--things 100000]

Everything is made up, from a fixed seed: three claims a thing, a person to fifty things, a stay to
every two, two hundred places of which nine in ten lie in another. CPU time of one process; peak
memory of the process (ru_maxrss), so run one size at a time.
"""

import argparse
import random
import resource
import time
from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta

from bench.table import Row, show
from lodpipe.aspects import builtin_aspects
from lodpipe.dates import parse
from lodpipe.evidence import facts
from lodpipe.records import Claim, Place
from lodpipe.weigh import weigh

BASE = "https://collections.example.org/"
PLACES = tuple(f"{BASE}place/p{number}" for number in range(200))


def some_days(chance: random.Random, most: int) -> str:
    """Return an EDTF interval of up to `most` days between 1866 and 1882."""
    first = date(chance.randint(1866, 1882), chance.randint(1, 12), chance.randint(1, 28))
    return f"{first}/{first + timedelta(days=chance.randint(3, most))}"


def facts_of(things: int, chance: random.Random) -> facts.Evidence:
    """Return lives, places and whereabouts for so many things."""
    people = [f"{BASE}person/x{number}" for number in range(max(20, things // 50))]
    beings = tuple(
        facts.Being(
            key, key, "person", parse(str(chance.randint(1820, 1850))),
            parse(str(chance.randint(1875, 1910))), None, ("register",), (), (), "",
            Place("people.csv", line),
        )
        for line, key in enumerate(people, 2)
    )  # fmt: skip
    stays = tuple(
        facts.Stay(
            f"w{line}", chance.choice(people), chance.choice(PLACES), parse(some_days(chance, 60)),
            facts.AT, "", ("diary",), "", Place("whereabouts.csv", line),
        )
        for line in range(2, things // 2 + 2)
    )  # fmt: skip
    places = tuple(
        facts.Location(
            key, key, (), (PLACES[number // 10],) if number >= 10 else (), (), None, None, (),
            Place("places.csv", number + 2),
        )
        for number, key in enumerate(PLACES)
    )  # fmt: skip
    return facts.Evidence(people=beings, whereabouts=stays, places=places)


def claims_of(things: int, people: list[str], chance: random.Random) -> list[Claim]:
    """Return three claims about each thing, of all aspects, standings and doubts."""
    made: list[Claim] = []
    for number in range(things):
        third = chance.choice(("place", "place", "sitter", "date_printed", "copy_of", "maker"))
        for aspect in ("maker", "date", third):
            value = {
                "maker": chance.choice(people),
                "sitter": chance.choice(people),
                "date": chance.choice((str(chance.randint(1866, 1883)), some_days(chance, 300))),
                "date_printed": str(chance.randint(1870, 1890)),
                "place": chance.choice(PLACES),
                "copy_of": f"{BASE}object/i{chance.randrange(things)}",
            }[aspect]
            standing = chance.choice(("current", "current", "current", "proposed", "former"))
            made.append(
                Claim(
                    f"c{len(made)}", f"{BASE}object/i{number}", aspect, value,
                    qualifier="" if aspect == "date" else chance.choice(("", "", "possibly", "probably")),
                    standing=standing, effective=standing, by=people[0], basis="seen",
                    place=Place("claims.csv", len(made) + 2),
                )
            )  # fmt: skip
    return made


def rows(things: int) -> Iterator[Row]:
    """Yield the rows of the table: all of it, one thing more, memory, what came of it."""
    chance = random.Random(1866)
    evidence = facts_of(things, chance)
    claims = claims_of(things, [being.key for being in evidence.people], chance)
    aspects = builtin_aspects()

    begun = time.process_time()
    weighing = weigh(evidence, claims, aspects)
    whole = time.process_time() - begun
    begun = time.process_time()
    weigh(evidence, claims, aspects, only={claims[-1].about})
    one = time.process_time() - begun

    what = f"weigh {things:,} things, {len(claims):,} claims"
    people, stays = len(evidence.people), len(evidence.whereabouts)
    yield Row(what, f"{whole:.1f} s", f"{people:,} people, {stays:,} stays")
    yield Row("weigh one thing more", f"{one:.2f} s")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    verdicts = Counter(v.verdict for thing in weighing.things for v in thing.claims)
    told = ", ".join(f"{count:,} {verdict}" for verdict, count in sorted(verdicts.items()))
    yield Row("peak memory of the process", f"{peak:.0f} MB", told)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--things", type=int, default=100_000)
    show(rows(parser.parse_args().things))


if __name__ == "__main__":
    main()
