"""How much of 70,543 date texts of open catalogues is read (data/dates.tsv)."""

from collections import Counter
from pathlib import Path

import pytest

from lodpipe.dates import Unread, read

pytestmark = pytest.mark.reference

LEAST = {
    # kind: of all by count, of the distinct ones
    "date": (0.97, 0.92),
    "life": (0.95, 0.95),
}


def test_most_texts_are_read(reference: Path) -> None:
    lines = (reference / "data" / "dates.tsv").read_text("utf-8").splitlines()[1:]
    every: Counter[tuple[str, str]] = Counter()
    read_: Counter[tuple[str, str]] = Counter()
    for line in lines:
        text, count, _, column = line.split("\t")
        kind = "life" if column == "life" else "date"
        result = read(text, kind=kind)
        good = not isinstance(result, Unread) or result.undated
        for measure, weight in (("count", int(count)), ("distinct", 1)):
            every[kind, measure] += weight
            read_[kind, measure] += weight * good

    assert len(lines) == 70_543
    for kind, (weighted, distinct) in LEAST.items():
        assert read_[kind, "count"] / every[kind, "count"] >= weighted
        assert read_[kind, "distinct"] / every[kind, "distinct"] >= distinct
