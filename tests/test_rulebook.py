"""The rulebook of weighing: small cases in plain CSV, written from the rules of weighing, all of them held."""

from pathlib import Path

import pytest
from rulebook_help import FOLDER, RulebookError, differences, read_case, weigh_case

PATHS = sorted(FOLDER.glob("*.csv"))
DISAGREE: dict[str, str] = {}
"""Cases that do not hold yet: name to the sentence of the rules that they rest on."""

LEAST = 90
MINIMAL = """case,A title
why,A reason

claims
claim,aspect,value
date,date,1872

expect
claim,verdict,feasible
date,open,1872-01-01/1872-12-31
"""


def marked(path: Path) -> object:
    reason = DISAGREE.get(path.stem)
    marks = [pytest.mark.xfail(strict=True, reason=reason)] if reason else []
    return pytest.param(path, id=path.stem, marks=marks)


@pytest.mark.parametrize("path", [marked(path) for path in PATHS])
def test_case(path: Path, tmp_path: Path) -> None:
    case = read_case(path)
    wrong = differences(case, weigh_case(case, tmp_path))
    if wrong:
        pytest.fail("\n".join([f"{path.stem}: {case.settings['why']}", *wrong]), pytrace=False)


def test_the_book_is_whole() -> None:
    titles = [read_case(path).settings["case"] for path in PATHS]
    assert len(titles) >= LEAST
    assert len(set(titles)) == len(titles)
    assert not DISAGREE.keys() - {path.stem for path in PATHS}


# --- the comparison itself must be able to fail --------------------------------------------


def wrong_with(folder: Path, *changes: tuple[str, str]) -> list[str]:
    text = MINIMAL
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = folder / "minimal.csv"
    path.write_text(text)
    case = read_case(path)
    (folder / "evidence").mkdir()
    return differences(case, weigh_case(case, folder / "evidence"))


def test_a_case_that_holds_has_no_differences(tmp_path: Path) -> None:
    assert wrong_with(tmp_path) == []


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        (
            [("date,open", "date,placed")],
            "date verdict: expected 'placed', found 'open'",
        ),
        (
            [("1872-12-31", "1872-12-30")],
            "date feasible: expected '1872-01-01/1872-12-30', found '1872-01-01/1872-12-31'",
        ),
        (
            [("1872-12-31", "1872-12-31\nmaker,open,../..")],
            "claims: expected ['date', 'maker'], found ['date']",
        ),
        (
            [("feasible\n", "feasible,share\n"), ("1872-12-31", "1872-12-31,0.5")],
            "date share: expected 0.5, found None",
        ),
        (
            [("feasible\n", "feasible,clashes_with\n"), ("1872-12-31", "1872-12-31,maker")],
            "date clashes_with: expected ['maker'], found []",
        ),
        (
            [("feasible\n", "feasible,disputed\n"), ("1872-12-31", "1872-12-31,processes.1")],
            "date disputed: expected {'processes.1'}, found set()",
        ),
        (
            [("feasible\n", "feasible,because\n"), ("1872-12-31", "1872-12-31,people.arle")],
            "date because: ['people.arle'] are not among ['claims.date']",
        ),
        (
            [("feasible\n", "feasible,effective\n"), ("1872-12-31", "1872-12-31,former")],
            "date effective: expected 'former', found 'current'",
        ),
        (
            [("expect\n", "conflicts\nclaim,members\ndate,claims.date\n\nexpect\n")],
            "conflicts of date: expected [['claims.date']], found []",
        ),
        (
            [("expect\n", "evidence_conflicts\nwho,days,members\narle,1870,people.1\n\nexpect\n")],
            "evidence conflicts: expected [('arle', '1870', ['people.1'])], found []",
        ),
        (
            [("expect\n", "spans\nabout,event,earliest,latest\nitem-0101,print,,\n\nexpect\n")],
            "print of item-0101 earliest: expected '', found '1872-01-01'",
        ),
        (
            [("expect\n", "findings\ncode,words\nledger,a word\n\nexpect\n")],
            "finding ledger with 'a word': not reported",
        ),
        (
            [("date,date,1872\n", "date,date,1872\nsecond,dat,1872\n")],
            "finding that is not expected: unknown-word: `dat` is not a word for `aspect` "
            "did you mean `date`?",
        ),
    ],
)
def test_differences_are_told(changes: list[tuple[str, str]], wrong: str, tmp_path: Path) -> None:
    assert wrong in wrong_with(tmp_path, *changes)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("why,A reason", "why,A reason, unquoted", "minimal.csv:2: `why` takes one cell; quote its commas"),
        ("why,A reason", "", "minimal.csv: a case has `case`, `why`, `claims` and `expect`"),
        ("expect\n", "expected\n", "minimal.csv:8: `expected` does not begin a block"),
        ("expect\n", "claims\n", "minimal.csv:8: `claims` does not begin a block"),
        ("claim,aspect", "claim,aspekt", "minimal.csv:5: `aspekt` is not a column of `claims`"),
        ("date,date,1872", "date,date,1872,", None),
        ("date,date,1872", "date,date,1872,x", "minimal.csv:6: more cells than columns"),
    ],
)  # fmt: skip
def test_a_case_is_written_as_the_readme_says(
    old: str, new: str, message: str | None, tmp_path: Path
) -> None:
    path = tmp_path / "minimal.csv"
    path.write_text(MINIMAL.replace(old, new))
    if message is None:
        assert read_case(path).rows("claims")
        return
    with pytest.raises(RulebookError) as caught:
        read_case(path)
    assert str(caught.value) == message
