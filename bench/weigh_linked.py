"""Speed of weighing things that depend on one another: an album's sequence, a session, copies.

    python -m bench.weigh_linked [--most 50] [--seconds 20]

Each thing has a date, a guess of its maker, and one link; sizes double up to `--most`, but a kind
that took longer than `--seconds` is not doubled again. With `at odds` the last thing was printed
before all were exposed, so that conflict sets must be found. The exponent says how the seconds
grow with the number of things: 1 is linear. CPU time of one process.
"""

import argparse
import math
import time
from collections import Counter
from collections.abc import Iterator

from lodpipe.aspects import builtin_aspects
from lodpipe.evidence.facts import Evidence
from lodpipe.records import Claim, Place
from lodpipe.weigh import weigh

THING = "https://collections.example.org/object/i"
DAYS, TOO_EARLY = "1872-02/1872-06", "1871"
KINDS = ("copies of one picture", "a sequence", "a session of 10 days")
SMALLEST = 10


def lines(things: int, kind: str, *, at_odds: bool) -> Iterator[tuple[int, str, str, str, str]]:
    """Yield thing, aspect, value, part and qualifier of each claim."""
    for number in range(things):
        yield number, "date", DAYS, "", ""
        yield number, "maker", f"person/{number % 5}", "", "possibly"
        if number:
            if kind == KINDS[0]:
                yield number, "copy_of", f"{THING}0", "", ""
            elif kind == KINDS[1]:
                yield number - 1, "earlier_than", f"{THING}{number}", "", ""
            else:
                yield number, "same_session_as", f"{THING}0", "10 days", ""
    if at_odds:
        yield things - 1, "date_printed", TOO_EARLY, "", ""


def measured(things: int, kind: str, *, at_odds: bool) -> tuple[float, Counter[str]]:
    """Return the seconds that weighing takes, and how many claims have each verdict."""
    claims = [
        Claim(
            f"c{row}", f"{THING}{thing}", aspect, value, part=part, qualifier=qualifier,
            by="person/0", basis="seen", place=Place("claims.csv", row),
        )
        for row, (thing, aspect, value, part, qualifier) in enumerate(
            lines(things, kind, at_odds=at_odds), 2
        )
    ]  # fmt: skip
    begun = time.process_time()
    weighing = weigh(Evidence(), claims, builtin_aspects())
    seconds = time.process_time() - begun
    return seconds, Counter(v.verdict for thing in weighing.things for v in thing.claims)


def main() -> None:
    """Measure and print one table."""
    parser = argparse.ArgumentParser(prog="python -m bench.weigh_linked")
    parser.add_argument("--most", type=int, default=50)
    parser.add_argument("--seconds", type=float, default=20.0)
    chosen = parser.parse_args()
    print(f"{'linked by':<24}{'':<10}{'things':>8}{'s':>9}{'exponent':>10}  verdicts")
    for kind in KINDS:
        for at_odds in (False, True):
            things, before = SMALLEST, 0.0
            while things <= chosen.most:
                seconds, verdicts = measured(things, kind, at_odds=at_odds)
                power = f"{math.log2(seconds / before):.1f}" if before else ""
                told = ", ".join(f"{name} {count}" for name, count in sorted(verdicts.items()))
                odds = "at odds" if at_odds else ""
                print(f"{kind:<24}{odds:<10}{things:>8}{seconds:>9.2f}{power:>10}  {told}")
                if seconds > chosen.seconds:
                    break
                things, before = things * 2, seconds


if __name__ == "__main__":
    main()
