"""Speed of reading dates, and the shapes of what is left unread, most frequent first.

    LODPIPE_REFERENCE=... python -m bench.dates [--left 40]

CPU time of one process, the best of five rounds. `cold` makes the plan of each shape anew, as the
first pass over a source does; `warm` keeps the plans (they are part of the reader); `cached` puts a
table of whole texts before the reader, which pays where few texts occur often.
"""

import argparse
import json
import os
import re
import time
from collections import Counter
from collections.abc import Callable, Iterable
from functools import lru_cache
from pathlib import Path

from lodpipe.dates import Events, Policy, Reading, Unread, parse, read
from lodpipe.dates.reading import Reader

ROUNDS = 5


def rate(work: Callable[[], int]) -> float:
    """Return how many a second, from the best of some rounds."""
    best = 0.0
    for _ in range(ROUNDS):
        begun = time.process_time()
        done = work()
        best = max(best, done / (time.process_time() - begun))
    return best


def each(call: Callable[[str], object], texts: list[str]) -> Callable[[], int]:
    def work() -> int:
        for text in texts:
            call(text)
        return len(texts)

    return work


def kind_of(column: str) -> str:
    return "life" if column == "life" else "date"


def edtf_rows(reference: Path, rows: list[tuple[str, int, str]]) -> Iterable[tuple[str, list[str]]]:
    """Yield lists of EDTF: the public list of valid strings, and what the readings came to."""
    lists = json.loads((reference / "reference/edtf/edtf_valid_invalid_by_level.json").read_text())
    valid = {
        text
        for name, texts in lists.items()
        if isinstance(texts, list) and not name.startswith("invalid")
        for text in texts
    }
    yield "EDTF, every valid string of the public list", sorted(valid) * 20
    readings = []
    for text, _, kind in rows:
        result = read(text, kind=kind)
        if isinstance(result, Reading):
            readings.append(str(result.edtf))
        elif isinstance(result, Events):
            readings.extend(str(one.edtf) for _, one in result.events)
    yield "EDTF, what the real texts were read as", readings


def text_rates(rows: list[tuple[str, int, str]]) -> Iterable[tuple[str, int, float]]:
    """Yield the rates over the distinct texts, and over all of them as often as they occur."""
    distinct = [(text, kind) for text, _, kind in rows]
    often = [(text, kind) for text, count, kind in rows for _ in range(count)]

    def over(pairs: list[tuple[str, str]], made: Callable[[], dict[str, Callable[[str], object]]]):
        def work() -> int:
            readers = made()
            for text, kind in pairs:
                readers[kind](text)
            return len(pairs)

        return work

    def fresh() -> dict[str, Callable[[str], object]]:
        return {kind: Reader(kind, Policy()).read for kind in ("date", "life")}

    kept = fresh()
    cached = {kind: lru_cache(maxsize=100_000)(call) for kind, call in kept.items()}
    yield "text, distinct, cold", len(distinct), rate(over(distinct, fresh))
    yield "text, distinct, warm", len(distinct), rate(over(distinct, lambda: kept))
    yield "text, as often as it occurs, warm", len(often), rate(over(often, lambda: kept))
    yield "text, as often as it occurs, cached", len(often), rate(over(often, lambda: cached))


def left(rows: list[tuple[str, int, str]], most: int) -> None:
    """Print how much is read, and the shapes of the rest."""
    weighted: Counter[tuple[str, bool]] = Counter()
    distinct: Counter[tuple[str, bool]] = Counter()
    shapes: Counter[tuple[str, str]] = Counter()
    example: dict[tuple[str, str], tuple[str, str]] = {}
    for text, count, kind in rows:
        result = read(text, kind=kind)
        good = not isinstance(result, Unread) or result.undated
        weighted[kind, good] += count
        distinct[kind, good] += 1
        if isinstance(result, Unread) and not result.undated:
            shape = (kind, re.sub(r"\d", "9", text))
            shapes[shape] += count
            example.setdefault(shape, (text, result.reason))
    print("\nread, or said to be undated")
    for kind in ("date", "life"):
        by_count = weighted[kind, True] / (weighted[kind, True] + weighted[kind, False])
        by_text = distinct[kind, True] / (distinct[kind, True] + distinct[kind, False])
        print(f"  {kind:<6}{by_count:8.2%} by count{by_text:9.2%} of the distinct texts")
    print(f"\nwhat is left: {len(shapes)} shapes; count, kind, shape, example, reason")
    for (kind, shape), count in shapes.most_common(most):
        text, reason = example[kind, shape]
        print(f"{count:6}  {kind}  {shape!r}  {text!r}  {reason}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--left", type=int, default=40, help="how many shapes to print")
    chosen = parser.parse_args()
    reference = Path(os.environ["LODPIPE_REFERENCE"])
    rows = []
    for line in (reference / "data/dates.tsv").read_text("utf-8").splitlines()[1:]:
        text, count, _, column = line.split("\t")
        rows.append((text, int(count), kind_of(column)))
    print(f"{'':<46}{'texts':>9}{'a second':>11}")
    for name, texts in edtf_rows(reference, rows):
        print(f"{name:<46}{len(texts):>9,}{rate(each(parse, texts)):>11,.0f}")
    for name, number, speed in text_rates(rows):
        print(f"{name:<46}{number:>9,}{speed:>11,.0f}")
    left(rows, chosen.left)


if __name__ == "__main__":
    main()
