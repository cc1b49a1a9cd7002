"""The archive: every document booked once, one transaction a release, nothing overwritten."""

import os
import sqlite3
from collections.abc import Iterable
from pathlib import Path

import orjson
import pytest

from lodpipe import archive
from lodpipe.archive import Archive, Plan, Stamp
from lodpipe.errors import NotFinishedError, UsageError
from lodpipe.findings import Finding
from lodpipe.parts import Made, Trail
from lodpipe.parts.pack import document_hash
from lodpipe.records import Claim, LayoutRow, Place, TraceEntry

BASE = "https://collections.example.org/object/"
NOW = "2026-01-31T10:00:00Z"


def made(key: str, text: str = "", *, stopped: bool = False, line: int = 2) -> Made:
    body = orjson.dumps({"id": BASE + key, "type": "HumanMadeObject", "_label": text or key})
    return Made(
        BASE + key,
        "HumanMadeObject",
        "items.csv",
        document_hash(body),
        body,
        stopped,
        trail=Trail(
            [TraceEntry("/_label", "title", Place("items.csv", line, line - 1, column="Title"))]
        ),
        inputs=[("row", f"items.csv#{key}", "00")],
        focus={"object": 1},
    )


def release(
    path: Path,
    documents: Iterable[Made],
    *,
    withheld: Iterable[str] = (),
    now: str = NOW,
    findings: Iterable[Finding] = (),
    layout: Iterable[LayoutRow] = (),
) -> tuple[Plan, int | None]:
    rows = sorted(documents, key=lambda row: row.uri)
    booked = archive.plan(path, [row.mark() for row in rows], [BASE + key for key in withheld])
    stamp = Stamp(
        now, now, {"items.csv": "ab"}, "shapes", "lodpipe 0", {"documents": booked.counts}
    )
    return booked, archive.commit(path, rows, booked, stamp, findings, layout)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "archive" / "archive.sqlite"


def keys(path: Path, number: int) -> list[str]:
    with Archive(path) as opened:
        return [document.uri.removeprefix(BASE) for document in opened.documents(number)]


def test_every_document_is_in_exactly_one_state(path: Path) -> None:
    release(path, [made("a"), made("b"), made("c"), made("d"), made("e")])

    booked, number = release(
        path,
        [
            made("a"),
            made("b", "new words"),
            made("c", stopped=True),
            made("f"),
            made("g", stopped=True),
        ],
        withheld=["d", "h"],
    )

    assert number == 2
    assert booked.counts == {
        "new": 1, "changed": 1, "unchanged": 1, "stopped": 2, "withheld": 2, "gone": 1,
    }  # fmt: skip
    assert sum(booked.counts.values()) == len({"a", "b", "c", "d", "e", "f", "g", "h"})
    assert keys(path, 1) == ["a", "b", "c", "e"]  # going back does not bring back `d`
    assert keys(path, 2) == ["a", "b", "c", "f"]


def test_a_second_run_without_changes_releases_nothing(path: Path) -> None:
    release(
        path, [made("a"), made("b", stopped=True)], layout=[LayoutRow("images", {"thing": "a"})]
    )

    booked, number = release(
        path, [made("a"), made("b", stopped=True)], layout=[LayoutRow("images", {"thing": "a"})]
    )

    assert number is None
    assert booked.counts["unchanged"] == 1
    with Archive(path) as opened:
        assert len(opened.releases()) == 1


def test_a_stopped_document_stays_as_it_last_was(path: Path) -> None:
    release(path, [made("a", "first")])

    release(path, [made("a", "broken", stopped=True)])

    with Archive(path) as opened:
        document = opened.document(BASE + "a", 2)
        assert document is not None
        assert orjson.loads(document.body)["_label"] == "first"
        assert opened.stopped(2) == [(BASE + "a", 1)]


def test_a_document_that_was_stopped_is_published_when_it_is_mended(path: Path) -> None:
    release(path, [made("a", "first"), made("b")])
    release(path, [made("a", "broken", stopped=True), made("b")])

    _, number = release(path, [made("a", "first"), made("b")])

    assert number == 3
    with Archive(path) as opened:
        assert opened.stopped(3) == []
        assert opened.stopped(2) == [(BASE + "a", 1)]


def test_what_is_withheld_goes_at_once_and_leaves_a_tombstone(path: Path) -> None:
    release(path, [made("a"), made("b")])

    _, number = release(path, [made("a")], withheld=["b"])

    assert number == 2
    assert keys(path, 2) == ["a"]
    with Archive(path) as opened:
        assert opened.tombstone(BASE + "b") == (2, "withheld")
        assert opened.trace(BASE + "b") == []


def test_what_was_never_published_leaves_no_tombstone(path: Path) -> None:
    release(path, [made("a")], withheld=["b"])

    with Archive(path) as opened:
        assert opened.tombstone(BASE + "b") is None


def test_the_tombstone_goes_when_the_document_comes_back(path: Path) -> None:
    release(path, [made("a"), made("b")])
    release(path, [made("a")])
    release(path, [made("a"), made("b")])

    with Archive(path) as opened:
        assert opened.tombstone(BASE + "b") is None
        assert keys(path, 3) == ["a", "b"]


def test_a_row_that_moved_is_brought_up_to_date_without_a_release(path: Path) -> None:
    release(path, [made("a", line=2)])

    _, number = release(path, [made("a", line=9)])

    assert number is None
    with Archive(path) as opened:
        assert opened.trace(BASE + "a")[0].place.line == 9


def test_instants_of_releases_grow_even_when_the_clock_does_not(path: Path) -> None:
    release(path, [made("a")], now=NOW)
    release(path, [made("a", "x")], now=NOW)
    release(path, [made("a", "y")], now="2025-01-01T00:00:00Z")

    with Archive(path) as opened:
        visible = [row.visible_from for row in opened.releases()]
    assert visible == ["2026-01-31T10:00:00Z", "2026-01-31T10:00:01Z", "2026-01-31T10:00:02Z"]


def test_findings_of_a_release_are_those_of_all_its_documents(path: Path) -> None:
    first = made("a")
    first.findings = [Finding("date", "`x` cannot be read", Place("items.csv", 2, 1))]
    release(path, [first, made("b")])

    release(
        path, [first, made("b", "changed")], findings=[Finding("shape-unused", "`x` met no node")]
    )

    with Archive(path) as opened:
        assert [finding.code for finding in opened.findings(2)] == ["shape-unused", "date"]
        assert [finding.code for finding in opened.findings(1)] == ["date"]
        assert opened.focus(2) == {"object": 2}


def test_claims_are_kept_with_their_document(path: Path) -> None:
    claim = Claim(
        "c0104", BASE + "a", "maker", sources=("text/x",), place=Place("claims.csv", 3, 2)
    )
    document = made("a")
    document.claims = [claim]
    release(path, [document])

    with Archive(path) as opened:
        assert list(opened.claims(1)) == [(BASE + "a", claim)]
        assert list(opened.claims(1, BASE + "b")) == []


def test_compare_tells_two_releases_apart(path: Path) -> None:
    release(path, [made("a", "old"), made("b")])
    release(path, [made("a", "new"), made("c")])

    with Archive(path) as opened:
        changes = list(archive.compare(opened, 1, 2))

    assert [(change.uri.removeprefix(BASE), change.state) for change in changes] == [
        ("a", "changed"),
        ("b", "gone"),
        ("c", "new"),
    ]
    assert changes[0].details == (("/_label", "old", "new"),)


def test_the_logical_dump_does_not_depend_on_clock_or_lines(tmp_path: Path) -> None:
    one, two, three = (tmp_path / name / "a.sqlite" for name in ("one", "two", "three"))
    release(one, [made("a", line=2), made("b", line=3)])
    release(two, [made("b", line=2), made("a", line=3)], now="2027-05-05T00:00:00Z")
    release(three, [made("a", line=2), made("b", "other", line=3)])

    dumps = []
    for file in (one, two, three):
        with Archive(file) as opened:
            dumps.append(opened.logical_dump())
    assert dumps[0] == dumps[1]
    assert dumps[0] != dumps[2]


def test_an_interrupted_commit_leaves_the_last_release(path: Path) -> None:
    release(path, [made("a")])

    def broken() -> Iterable[Made]:
        yield made("a", "half")
        raise KeyboardInterrupt

    booked = archive.plan(path, [made("a", "half").mark()], [])
    with pytest.raises(KeyboardInterrupt):
        archive.commit(path, broken(), booked, Stamp(NOW, NOW, {}, "", "", {}), [], [])

    with Archive(path) as opened:
        latest = opened.latest()
        assert latest is not None
        assert latest.number == 1
        assert orjson.loads(next(opened.documents(1)).body)["_label"] == "a"


def test_a_full_disk_is_told_and_nothing_is_released(path: Path) -> None:
    release(path, [made("a")])
    big = made("b")
    big.body = os.urandom(400_000)
    booked = archive.plan(path, [made("a").mark(), big.mark()], [])
    # a limit on pages is how SQLite itself simulates a full disk: https://www.sqlite.org/pragma.html#pragma_max_page_count
    original = sqlite3.connect

    def small(*args: object, **kwargs: object) -> sqlite3.Connection:
        db = original(*args, **kwargs)  # type: ignore[arg-type,call-overload]
        db.execute("PRAGMA max_page_count = 60")
        return db

    with (
        pytest.MonkeyPatch.context() as patch,
        pytest.raises(NotFinishedError, match="disk is full"),
    ):
        patch.setattr(sqlite3, "connect", small)
        archive.commit(path, [made("a"), big], booked, Stamp(NOW, NOW, {}, "", "", {}), [], [])

    assert keys(path, 1) == ["a"]


def test_two_runs_at_once_are_refused(path: Path) -> None:
    with (
        archive.lock(path),
        pytest.raises(NotFinishedError, match="another run holds this archive"),
        archive.lock(path),
    ):
        pass


def test_what_is_not_an_archive_is_refused(path: Path) -> None:
    path.parent.mkdir()
    path.write_bytes(b"not a database, but long enough to be looked at")

    with pytest.raises(NotFinishedError, match="file is not a database, or never was one"):
        Archive(path)


def test_before_the_first_release_there_is_no_archive(path: Path) -> None:
    with pytest.raises(UsageError, match="there is no archive yet"):
        Archive(path)


def test_a_layout_that_changes_makes_a_release_and_the_old_one_stays(path: Path) -> None:
    one, two, three = (LayoutRow("images", {"thing": name}) for name in "abc")
    release(path, [made("a")], layout=[two, one])
    _, again = release(path, [made("a")], layout=[one, two])
    _, number = release(path, [made("a")], layout=[three, one])

    assert again is None
    assert number == 2
    with Archive(path) as opened:
        assert [row.cells["thing"] for row in opened.layout(1)] == ["a", "b"]
        assert [row.cells["thing"] for row in opened.layout(2)] == ["a", "c"]
