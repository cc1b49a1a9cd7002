"""The rulebook read: small cases in plain CSV, weighed, and compared with what they expect.

`rulebook/README.md` says how a case is written. Nothing here knows the rules of weighing.
"""

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lodpipe import evidence, terms
from lodpipe.aspects import builtin_aspects
from lodpipe.evidence.columns import FILES
from lodpipe.findings import Finding
from lodpipe.project import Limits, builtin
from lodpipe.records import Claim, Entry
from lodpipe.weigh import weigh

CONCEPTS = terms.concepts()
FOLDER = Path(__file__).parent / "rulebook"
BASE = "https://collections.example.org/"
ASPECTS = builtin_aspects()
QUALIFIERS = terms.read_table("qualifiers", builtin("mappings") / "vocab" / "qualifiers.csv")
FACTS = ("people", "membership", "whereabouts", "places", "things", "processes", "order", "sources")
EXPECTED = {
    "expect": "claim verdict feasible share clashes_with disputed because effective",
    "conflicts": "claim members",
    "evidence_conflicts": "who days members",
    "spans": "about event earliest latest because",
    "findings": "code words",
}
SETTINGS = ("case", "why", "without")
THING, SPEAKER, BASIS = "item-0101", "tarrow", "Seen in the picture."
PLACED = {"maker": "people", "sitter": "people", "place": "places"}
"""Aspects whose values get a row of their own when the case has none."""

Row = dict[str, str]


@dataclass
class Case:
    """One file of the rulebook: its settings and blocks."""

    name: str
    settings: dict[str, str] = field(default_factory=dict)
    blocks: dict[str, list[Row]] = field(default_factory=dict)

    def rows(self, block: str) -> list[Row]:
        return self.blocks.get(block, [])


class RulebookError(Exception):
    """A case that is not written as the README says."""


def read_case(path: Path) -> Case:
    """Read one case; a block is its name, its columns, its rows, and a blank line."""
    case = Case(path.stem)
    block, columns = "", list[str]()
    with path.open(encoding="utf-8", newline="") as file:
        for number, cells in enumerate(csv.reader(file), 1):
            while cells and not cells[-1].strip():
                cells.pop()
            cells = [cell.strip() for cell in cells]
            at = f"{path.name}:{number}"
            if not cells:
                block, columns = "", []
            elif not block and cells[0] in SETTINGS:
                if len(cells) != 2:
                    raise RulebookError(f"{at}: `{cells[0]}` takes one cell; quote its commas")
                case.settings[cells[0]] = cells[1]
            elif not block:
                block = _block(cells, case, at)
            elif not columns:
                columns = _columns(cells, block, at)
            elif len(cells) > len(columns):
                raise RulebookError(f"{at}: more cells than columns")
            else:
                cells += [""] * (len(columns) - len(cells))
                case.blocks[block].append(dict(zip(columns, cells, strict=True)))
    missing = [name for name in ("case", "why") if not case.settings.get(name)]
    if missing or not case.rows("claims") or not case.rows("expect"):
        raise RulebookError(f"{path.name}: a case has `case`, `why`, `claims` and `expect`")
    return case


def _block(cells: list[str], case: Case, at: str) -> str:
    name = cells[0]
    if len(cells) > 1 or name not in (*FACTS, "claims", *EXPECTED) or name in case.blocks:
        raise RulebookError(f"{at}: `{name}` does not begin a block")
    case.blocks[name] = []
    return name


def _columns(cells: list[str], block: str, at: str) -> list[str]:
    known = EXPECTED[block].split() if block in EXPECTED else FILES[block].names
    for column in cells:
        if column not in known:
            raise RulebookError(f"{at}: `{column}` is not a column of `{block}`")
    return cells


# --- evidence folder -----------------------------------------------------------------------


def folder_of(case: Case) -> dict[str, list[Row]]:
    """Return the files of an evidence folder: the blocks, and a row for whoever has none."""
    claims = []
    for row in case.rows("claims"):
        filled = {"about": THING, "by": SPEAKER, "basis": BASIS, **row}
        claims.append({**filled, "about": filled["about"] or THING, "by": filled["by"] or SPEAKER})
    files = {name: list(case.rows(name)) for name in FACTS}
    files["claims"] = claims
    for name, keys in _named(files).items():
        label = "citation" if name == "sources" else "name"
        listed = {row["key"] for row in files[name]}
        columns = files[name][0] if files[name] else {"key": "", label: ""}
        for key in sorted(keys - listed):
            files[name].append({**dict.fromkeys(columns, ""), "key": key, label: key})
    return files


def _named(files: dict[str, list[Row]]) -> dict[str, set[str]]:
    people = {row["by"] for row in files["claims"]}
    people |= {row["who"] for row in files["whereabouts"]}
    people |= {row[column] for row in files["membership"] for column in ("who", "party")}
    places = {row["place"] for row in files["whereabouts"]}
    places |= {key for row in files["places"] for c in ("within", "near") for key in _keys(row, c)}
    found: dict[str, set[str]] = {"people": people, "places": places, "sources": set()}
    for row in files["claims"]:
        name = PLACED.get(row["aspect"])
        if name and row.get("value"):
            found[name].add(row["value"])
        if row["about"].startswith("person/"):
            found["people"].add(row["about"].removeprefix("person/"))
    for rows in files.values():
        for row in rows:
            for column in ("sources", "born_sources", "died_sources"):
                found["sources"].update(_keys(row, column))
    found["sources"] -= {row.get("key", "") for row in files["whereabouts"]}
    return found


def _keys(row: Row, column: str) -> Iterator[str]:
    return (key.strip() for key in row.get(column, "").split(";") if key.strip())


def types_of(case: Case) -> tuple[Entry, ...]:
    """Return entries of the processes and formats that a case names."""
    names = {row["process"] for row in case.rows("processes")}
    return tuple(Entry(f"{BASE}vocab/used/{name}", "Type", name) for name in sorted(names))


# --- weighing ------------------------------------------------------------------------------


@dataclass
class Weighed:
    """What lodpipe makes of a case: the JSON of `weigh`, settled claims, findings."""

    answer: dict[str, Any]
    claims: dict[str, Claim]
    findings: list[Finding]


def weigh_case(case: Case, folder: Path) -> Weighed:
    """Write a case into a folder as a project keeps it, read it back, and weigh it."""
    for name, rows in folder_of(case).items():
        if rows:
            with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
                writer = csv.DictWriter(file, list(rows[0]))
                writer.writeheader()
                writer.writerows(rows)
    found: list[Finding] = []
    loaded = evidence.load(
        folder, "evidence", aspects=ASPECTS, qualifiers=QUALIFIERS, limits=Limits(),
        report=found.append,
    )  # fmt: skip
    entries = types_of(case)
    facts = evidence.resolve(
        loaded.evidence, BASE, lambda: entries, CONCEPTS, ASPECTS, found.append,
        declare=True,
    )  # fmt: skip
    claims = evidence.settle(facts.claims, ASPECTS, found.append)
    without = [f"{BASE}text/{key}" for key in _keys(case.settings, "without")]
    answer = weigh(facts, claims, ASPECTS, withdrawn=without).to_json(BASE)
    return Weighed(answer, {claim.key: claim for claim in claims}, found)


# --- comparing -----------------------------------------------------------------------------


def differences(case: Case, weighed: Weighed) -> list[str]:
    """Return what differs from what a case expects, line by line; nothing when all agrees."""
    names = _row_names(case)
    return [
        *_verdicts(case, weighed, names),
        *_conflicts(case, weighed, names),
        *_evidence_conflicts(case, weighed, names),
        *_spans(case, weighed, names),
        *_findings(case, weighed),
    ]


def _row_names(case: Case) -> dict[tuple[str, int], str]:
    """Return file and line to the name that a case gives a row: its key, or its number."""
    found: dict[tuple[str, int], str] = {}
    for block, key in (("claims", "claim"), ("people", "key"), *((f, "") for f in FACTS)):
        for number, row in enumerate(case.rows(block), 1):
            place = (f"evidence/{block}.csv", number + 1)
            found.setdefault(place, f"{block}.{row[key] if key else number}")
    return found


def _names(rows: Iterable[dict[str, Any]], names: dict[tuple[str, int], str]) -> set[str]:
    return {names.get((row["file"], row["row"]), f"{row['file']}:{row['row']}") for row in rows}


def _days(pairs: Sequence[Sequence[str | None]]) -> str:
    return "; ".join(
        low if low == high and low else f"{low or '..'}/{high or '..'}" for low, high in pairs
    )


def _short(uri: str) -> str:
    return uri.rsplit("/", 1)[-1]


def _differ(what: str, expected: object, found: object) -> Iterator[str]:
    if expected != found:
        yield f"{what}: expected {expected!r}, found {found!r}"


def _verdicts(case: Case, weighed: Weighed, names: dict[tuple[str, int], str]) -> Iterator[str]:
    found = {line["claim"]: line for thing in weighed.answer["things"] for line in thing["claims"]}
    yield from _differ("claims", sorted(row["claim"] for row in case.rows("expect")), sorted(found))
    for row in case.rows("expect"):
        key = row["claim"]
        if key not in found:
            continue
        line = found[key]
        yield from _differ(f"{key} verdict", row["verdict"], line["verdict"])
        yield from _differ(f"{key} feasible", row.get("feasible", ""), _days(line["feasible"]))
        if "share" in row:
            share = float(row["share"]) if row["share"] else None
            yield from _differ(f"{key} share", share, line["share"])
        if "clashes_with" in row:
            clashes = sorted(row["clashes_with"].split())
            yield from _differ(f"{key} clashes_with", clashes, sorted(line["clashes_with"]))
        if "disputed" in row:
            disputed = _names(line.get("disputed_bound", ()), names)
            yield from _differ(f"{key} disputed", set(row["disputed"].split()), disputed)
        if "because" in row:
            because = _names(line["because"], names)
            missing = set(row["because"].split()) - because
            if missing:
                yield f"{key} because: {sorted(missing)} are not among {sorted(because)}"
        if "effective" in row:
            standing = weighed.claims[key].effective
            yield from _differ(f"{key} effective", row["effective"], standing)


def _conflicts(case: Case, weighed: Weighed, names: dict[tuple[str, int], str]) -> Iterator[str]:
    expected: dict[str, list[set[str]]] = {}
    for row in case.rows("conflicts"):
        for key in _keys(row, "claim"):
            expected.setdefault(key, []).append(set(row["members"].split()))
    found: dict[str, list[set[str]]] = {}
    for line in weighed.answer["conflicts"]:
        found.setdefault(line["claim"], []).append(_names(line["members"], names))
    for key in sorted({*expected, *found}):
        yield from _differ(
            f"conflicts of {key}",
            [sorted(members) for members in expected.get(key, [])],
            [sorted(members) for members in found.get(key, [])],
        )


def _evidence_conflicts(
    case: Case, weighed: Weighed, names: dict[tuple[str, int], str]
) -> Iterator[str]:
    expected = [
        (row["who"], row["days"], sorted(row["members"].split()))
        for row in case.rows("evidence_conflicts")
    ]
    found = [
        (_short(line["who"]), _days(line["days"]), sorted(_names(line["members"], names)))
        for line in weighed.answer["evidence_conflicts"]
    ]
    yield from _differ("evidence conflicts", sorted(expected), sorted(found))


def _spans(case: Case, weighed: Weighed, names: dict[tuple[str, int], str]) -> Iterator[str]:
    things = {_short(thing["about"]): thing for thing in weighed.answer["things"]}
    for row in case.rows("spans"):
        what = f"{row['event']} of {row['about']}"
        span = things[row["about"]]["spans"].get(row["event"])
        if span is None:
            yield f"{what}: no span"
            continue
        for end in ("earliest", "latest"):
            yield from _differ(f"{what} {end}", row[end], span[end] or "..")
        if "because" in row:
            because = _names(span["because"], names)
            yield from _differ(f"{what} because", sorted(row["because"].split()), sorted(because))


def _findings(case: Case, weighed: Weighed) -> Iterator[str]:
    left = [(f.code, f"{f.message} {f.hint}") for f in weighed.findings]
    for row in case.rows("findings"):
        hit = [one for one in left if one[0] == row["code"] and row["words"] in one[1]]
        if hit:
            left.remove(hit[0])
        else:
            yield f"finding {row['code']} with {row['words']!r}: not reported"
    yield from (f"finding that is not expected: {code}: {words}" for code, words in left)
