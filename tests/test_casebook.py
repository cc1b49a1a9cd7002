"""The casebook: small cases in plain CSV, each with what weighing must make of it.

A file holds a sentence, then the tables of an evidence folder, each under its name in brackets,
then what is expected: `[expect]` verdicts, `[spans]` days of events, `[evidence]` facts at odds,
`[found]` findings. Days are EDTF-like pairs joined by `;`, rows are `file:line` as they stand in
the table, sets are divided by `|`. Nothing but findings of the kinds expected may be reported.

To keep the cases short, claims are by the historian Ines Tarrow, with a basis, unless a column
says otherwise.
"""

import csv
import io
from pathlib import Path

import pytest

from lodpipe import evidence, project, terms
from lodpipe.aspects import builtin_aspects
from lodpipe.findings import Finding
from lodpipe.project import Limits
from lodpipe.weigh import Weighing, weigh
from lodpipe.weigh.grounds import Ground
from lodpipe.weigh.results import day_json
from lodpipe.weigh.spans import Spans

BASE = "https://collections.example.org/"
ASPECTS = builtin_aspects()
QUALIFIERS = terms.read_table(
    "qualifiers", project.builtin("mappings") / "vocab" / "qualifiers.csv"
)
CASES = sorted((Path(__file__).parent / "casebook").glob("*.csv"))
EXPECTED = ("expect", "spans", "evidence", "found")


def tables(path: Path) -> dict[str, str]:
    """Return the tables of a case by name."""
    found: dict[str, str] = {}
    name = ""
    for line in path.read_text(encoding="utf-8").splitlines(keepends=True):
        if line.startswith("["):
            name = line.strip()[1:-1]
            found[name] = ""
        elif name:
            found[name] += line
    return found


def rows(table: str) -> list[dict[str, str]]:
    return [
        {column: cell or "" for column, cell in row.items()}
        for row in csv.DictReader(io.StringIO(table))
    ]


def completed(table: str) -> str:
    """Return a table of claims with the author and the basis that all cases share."""
    header, *lines = table.splitlines()
    more = [
        (name, value)
        for name, value in (("by", "tarrow"), ("basis", "seen"))
        if name not in header.split(",")
    ]
    return "\n".join([",".join([header, *(n for n, _ in more)]), *(",".join([line, *(v for _, v in more)]) for line in lines)])  # fmt: skip


def case(path: Path, folder: Path) -> tuple[Weighing, list[Finding], dict[str, str]]:
    given = tables(path)
    written = {name: text for name, text in given.items() if name not in EXPECTED}
    written["claims"] = completed(written["claims"])
    written.setdefault("people", "key,name\n")
    width = written["people"].splitlines()[0].count(",")
    written["people"] += "tarrow,Ines Tarrow" + "," * (width - 1) + "\n"
    for name, text in written.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    found: list[Finding] = []
    loaded = evidence.load(
        folder, "", aspects=ASPECTS, qualifiers=QUALIFIERS, limits=Limits(), report=found.append
    )
    known = evidence.resolve(
        loaded.evidence, BASE, lambda: (), terms.concepts(), ASPECTS, found.append, declare=True
    )
    claims = evidence.settle(known.claims, ASPECTS, found.append)
    return weigh(known, claims, ASPECTS), found, given


def shown(spans: Spans) -> str:
    ends = [(day_json(low) or "..", day_json(high) or "..") for low, high in spans]
    return "; ".join(f"{low}/{high}" for low, high in ends)


def names(grounds: tuple[Ground, ...]) -> str:
    return " ".join(f"{Path(ground.file).stem}:{ground.row}" for ground in grounds)


def test_there_are_enough_cases() -> None:
    assert len(CASES) >= 80


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_case(path: Path, tmp_path: Path) -> None:
    weighing, found, given = case(path, tmp_path)
    verdicts = weighing.verdicts()
    sets: dict[str, list[str]] = {}
    for conflict in weighing.conflicts:
        sets.setdefault(conflict.claim, []).append(names(conflict.members))

    for row in rows(given["expect"]):
        verdict = verdicts[row["claim"]]
        got = {
            "claim": row["claim"],
            "verdict": verdict.verdict,
            "feasible": shown(verdict.feasible),
            "share": "" if verdict.share is None else str(verdict.share),
            "clashes_with": " ".join(verdict.clashes_with),
            "conflicts": " | ".join(sets.get(row["claim"], ())),
            "disputed": names(verdict.disputed),
        }
        assert {column: got[column] for column in row} == row
    told = {row["claim"] for row in rows(given["expect"])}
    assert {key for key, v in verdicts.items() if v.verdict == "contradicted"} <= told
    check_rest(weighing, found, given)


def check_rest(weighing: Weighing, found: list[Finding], given: dict[str, str]) -> None:
    spans = {
        (thing.about, span.event): (shown(span.days), names(span.because))
        for thing in weighing.things
        for span in thing.spans
    }
    for row in rows(given.get("spans", "")):
        got = spans[f"{BASE}object/{row['thing']}", row["event"]]
        assert got == (row["days"], row["because"])
    assert [
        {
            "who": clash.who.rsplit("/", 1)[-1],
            "days": shown(clash.days),
            "members": names(clash.members),
        }
        for clash in weighing.evidence_conflicts
    ] == rows(given.get("evidence", ""))
    assert [(f.code, f.place and f.place.file.lstrip("/")) for f in found] == [
        (row["code"], row["file"]) for row in rows(given.get("found", ""))
    ]
