"""Secret words in every restricted field of the demo, looked for in every byte that leaves.

Whatever output there is, is exported and searched: a new one is held by these tests as soon as
`[export] outputs` knows it. Compressed files are unpacked first.
"""

import csv
import gzip
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path

import orjson
import pytest
import pyvips
import zstandard

from lodpipe import pipeline, project, workspace
from lodpipe.archive import Archive
from lodpipe.parts.pack import pack_claim
from lodpipe.pipeline.progress import Silent
from lodpipe.publish.site import path_of

SAMPLE = Path(__file__).parent.parent / "sample"
BASE = "https://collections.example.org/"
NOW = "2026-01-31T10:00:00Z"
REGION = (101, 103, 211, 197)
PAGE = "object/album-1-p12"
LISTS_OF_WHAT_IS_GONE = ("activity/", "gone")


class Secrets:
    """Makes words that stand nowhere else, and remembers them."""

    def __init__(self) -> None:
        self.made: list[str] = []

    def word(self, about: str) -> str:
        """Return a new word for what is withheld."""
        self.made.append(f"quovex{len(self.made):03d}{about}")
        return self.made[-1]

    def exactly(self, text: str) -> str:
        """Return a text that is looked for as it stands."""
        self.made.append(text)
        return text


def add(folder: Path, table: str, /, **cells: str) -> None:
    """Append a row to a table of the project."""
    path = folder / table
    with path.open(encoding="utf-8", newline="") as file:
        header = next(csv.reader(file))
    assert set(cells) <= set(header)
    with path.open("a", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerow([cells.get(name, "") for name in header])


def withhold(folder: Path, secrets: Secrets, key: str, kind: str) -> None:
    add(
        folder, "evidence/access.csv", key=key, kind=kind, access="withheld",
        authority=secrets.word("authority"), internal_reason=secrets.word("reason"),
    )  # fmt: skip


def claim(
    folder: Path, secrets: Secrets, key: str, about: str, aspect: str, /, **cells: str
) -> str:
    """Add a line to the ledger, every word of it secret unless it is given."""
    given = {
        "value_text": secrets.word("valuetext"), "part": secrets.word("part"),
        "basis": secrets.word("basis"), "by": "person/tarrow", "on": "2024-03-12",
        "standing": "current", **cells,
    }  # fmt: skip
    if aspect.startswith("date"):
        given.pop("value_text")
    add(
        folder,
        "evidence/claims.csv",
        claim=secrets.exactly(key),
        about=about,
        aspect=aspect,
        **given,
    )
    return key


def hide_a_thing(folder: Path, secrets: Secrets) -> str:
    """A print on page 12, with a picture of its own and claims about it."""
    number, key = secrets.exactly("qx0900"), "object/item-qx0900"
    add(
        folder, "catalogue/items.csv", Number=number, Accession=secrets.word("accession"),
        Page="12", Kind="albumen print", Title=secrets.word("title"),
        Caption=secrets.word("caption"), Lettering=secrets.word("lettering"), Maker="dolen",
        Role="photographer", Date="17 May 1869", Process="albumen",
        Size=secrets.exactly("image: 7771 x 5553 mm"), Picture=secrets.exactly("qxvisual"),
        Subjects="camp", Threads="snow", Remarks=secrets.word("remarks"),
        Shelf=secrets.word("shelf"),
    )  # fmt: skip
    file = secrets.exactly("quovexpicture.jpg")
    marked = pyvips.Image.black(611, 433, bands=3).linear(1, [10, 220, 40])
    marked.cast("uchar").write_to_file(str(folder / "images" / file))
    add(folder, "evidence/images.csv", thing=key, file=f"images/{file}")
    region = secrets.exactly(",".join(map(str, REGION)))
    add(folder, "evidence/layout.csv", thing=key, on=PAGE, order="9", region=region)
    add(
        folder, "evidence/threads.csv", thread="set/thread-snow", order="90", thing=key,
        language="en", text=secrets.word("stop"),
    )  # fmt: skip
    claim(folder, secrets, "c9001", key, "maker", role="photographer", value="person/vey")
    claim(folder, secrets, "c9002", key, "later_than", value="object/item-0101")
    claim(folder, secrets, "c9003", "object/item-0101", "earlier_than", value=key)
    withhold(folder, secrets, key, "thing")
    return key


def hide_a_person(folder: Path, secrets: Secrets) -> str:
    key, name = "person/qxperson", secrets.word("name")
    secrets.exactly("qxperson")
    add(
        folder, "catalogue/people.csv", Key="qxperson", Name=name, Occupation="photographer",
        Note=secrets.word("note"), Born="1841", Died="1899", Parties="upper-section",
        **{"Sort name": secrets.word("sortname"), "Listed as": secrets.word("listed")},
    )  # fmt: skip
    add(
        folder, "evidence/people.csv", key=key, name=secrets.word("othername"), kind="person",
        born="1841", died="1899", notes=secrets.word("notes"),
    )  # fmt: skip
    add(folder, "evidence/membership.csv", who=key, party="group/upper-section", when="1867/1870")
    add(
        folder, "evidence/whereabouts.csv", key=secrets.exactly("w9001"), who=key,
        place="place/sorn-pass", when="1868-03-04/1868-03-09", note=secrets.word("staynote"),
        sources="text/diary-1",
    )  # fmt: skip
    for number, qualifier in enumerate(("possibly", "studio of")):
        claim(
            folder, secrets, f"c910{number}", "object/item-0098", "maker", role="photographer",
            value=key, qualifier=qualifier, standing="proposed",
        )  # fmt: skip
    claim(folder, secrets, "c9105", "object/item-0099", "sitter", value=key)
    claim(folder, secrets, "c9106", "object/item-0099", "title", by=key, standing="proposed")
    # the name stands in texts of what may be seen as well: it is taken out of them
    add(
        folder, "catalogue/items.csv", Number="0901", Accession="HRL 1866.1.99", Page="12",
        Kind="albumen print", Title=f"A camp as {name} saw it", Remarks=f"Bought from {name}.",
        Picture="0901",
    )  # fmt: skip
    add(
        folder, "evidence/claims.csv", claim="c9107", about="object/item-0099", aspect="date_captioned",
        value="1876", qualifier="probably", standing="current", by="person/tarrow",
        on="2024-03-12", basis=f"The hand of {name}.",
    )  # fmt: skip
    withhold(folder, secrets, key, "person")
    return key


def hide_a_place(folder: Path, secrets: Secrets) -> str:
    key = "place/qxplace"
    secrets.exactly("qxplace")
    add(
        folder, "catalogue/places.csv", Key="qxplace", Name=secrets.word("placename"),
        Kind="settlement", Within="ilvaran-highlands", Latitude=secrets.exactly("61.98765"),
        Longitude="14.5",
        **{"Former names": secrets.word("former"), "Name used by the Teveli": secrets.word("own")},
    )  # fmt: skip
    claim(folder, secrets, "c9200", "object/item-0099", "place", value=key)
    withhold(folder, secrets, key, "place")
    return key


def hide_a_source(folder: Path, secrets: Secrets) -> str:
    key = "text/qxsource"
    secrets.exactly("qxsource")
    citation = secrets.word("citation")
    add(
        folder, "catalogue/texts.csv", Key="qxsource", Kind="document", Name=secrets.word("text"),
        Citation=citation, Text=secrets.word("content"),
    )  # fmt: skip
    add(folder, "evidence/sources.csv", key=key, citation=citation, kind="document", date="1870")
    claim(
        folder, secrets, "c9300", "object/item-0099", "date", value="1869-11-23", sources=key,
        basis=secrets.word("quoted"),
    )  # fmt: skip
    secrets.exactly("1869-11-23")
    # one that has other grounds as well goes out on these, without its basis
    add(
        folder, "evidence/claims.csv", claim="c9301", about="object/item-0099",
        aspect="date_mounted", value="1873/1876", standing="current", by="person/tarrow",
        on="2024-03-12", basis=secrets.word("mixed"), sources=f"{key}, {secrets.word('folio')}; text/inventory-1876",
    )  # fmt: skip
    withhold(folder, secrets, key, "source")
    return key


def hide_a_thread(folder: Path, secrets: Secrets) -> str:
    key = "set/thread-qxthread"
    secrets.exactly("qxthread")
    add(
        folder, "catalogue/threads.csv", Key="qxthread", Name=secrets.word("thread"),
        Description=secrets.word("description"), By="tarrow",
    )  # fmt: skip
    add(
        folder, "evidence/threads.csv", thread=key, order="1", thing="object/item-0101",
        language="en", text=secrets.word("words"),
    )  # fmt: skip
    withhold(folder, secrets, key, "thread")
    return key


def hide_a_claim(folder: Path, secrets: Secrets) -> str:
    """A line that refutes what the catalogue states plainly."""
    key = claim(
        folder, secrets, "c9400", "object/item-0068", "date", value=secrets.exactly("1867-03-09"),
        sources="text/diary-1",
    )  # fmt: skip
    withhold(folder, secrets, key, "claim")
    return key


HIDING = (hide_a_thing, hide_a_person, hide_a_place, hide_a_source, hide_a_thread, hide_a_claim)


def unpacked(path: Path) -> bytes:
    body = path.read_bytes()
    if path.suffix == ".zst":
        reader = zstandard.ZstdDecompressor().stream_reader(body, read_across_frames=True)
        return reader.read()
    return gzip.decompress(body) if path.suffix == ".gz" else body


def leaks(folder: Path, words: Iterable[str]) -> list[tuple[str, str]]:
    """Return name and word for each secret in the name or in the bytes of any file below."""
    needles = [(word, word.encode()) for word in words]
    files = [path for path in sorted(folder.rglob("*")) if path.is_file()]
    assert len(files) > 400
    found = []
    for path in files:
        name, body = path.relative_to(folder).as_posix(), unpacked(path)
        found += [(name, w) for w, needle in needles if needle in body or w in name]
    return found


def served(archive: Path) -> Iterator[tuple[str, bytes]]:
    """Everything that an archive answers about any of its releases."""
    with Archive(archive) as opened:
        for release in (one.number for one in opened.releases()):
            for document in opened.documents(release):
                yield f"{release} {document.uri}", document.body
            for uri, line in opened.claims(release):
                yield f"{release} {uri} {line.key}", pack_claim(line)
            for row in opened.layout(release):
                yield f"{release} {row.file}", orjson.dumps(row.cells)
            yield f"{release} verdicts", orjson.dumps(opened.verdicts(release))


def copy_of_sample(folder: Path) -> Path:
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("archive", "export", "*.py"))
    return folder


def run(folder: Path, now: str = NOW) -> pipeline.Result:
    chosen = project.load(folder)
    assert set(chosen.export.outputs) == set(project.OUTPUTS), "the demo shows every output"
    return pipeline.run(chosen, pipeline.Options(now=now, accept_losses=True), Silent())


@pytest.fixture(scope="module")
def secrets() -> Secrets:
    return Secrets()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, secrets: Secrets) -> Path:
    """The demo with something withheld of every kind, run and exported."""
    folder = copy_of_sample(tmp_path_factory.mktemp("canary") / "sample")
    for hide in HIDING:
        hide(folder, secrets)
    result = run(folder)
    assert result.release == 1
    assert result.status == 0, [str(f) for fs in result.tally.examples.values() for f in fs]
    return folder


@pytest.fixture
def published(tmp_path: Path) -> tuple[Path, Secrets]:
    """The demo with the same secrets, none of them withheld, run and exported."""
    secrets = Secrets()
    folder = copy_of_sample(tmp_path / "sample")
    rows = len(rows_of(folder / "evidence/access.csv"))
    for hide in HIDING:
        hide(folder, secrets)
    access = folder / "evidence/access.csv"
    lines = access.read_text("utf-8").splitlines(keepends=True)
    access.write_text("".join(lines[: 1 + rows]), "utf-8")
    (folder / "withheld.csv").write_text(lines[0] + "".join(lines[1 + rows :]), "utf-8")
    assert run(folder).release == 1
    secrets.made = [word for word in secrets.made if not word.endswith(("authority", "reason"))]
    return folder, secrets


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_no_secret_is_in_any_byte_that_leaves(folder: Path, secrets: Secrets) -> None:
    assert len(secrets.made) > 60

    assert leaks(folder / "export", secrets.made) == []


def test_no_secret_is_in_what_the_archive_answers(folder: Path, secrets: Secrets) -> None:
    answers = list(served(folder / "archive" / "archive.sqlite"))

    assert len(answers) > 500
    found = [(name, w) for name, body in answers for w in secrets.made if w.encode() in body]
    assert found == []


def test_no_pixel_of_it_is_on_any_picture(folder: Path) -> None:
    """The withheld print itself is one green; its region on the page is one grey."""
    pictures = [p for p in (folder / "export").rglob("*") if p.suffix in (".jpg", ".png", ".webp")]
    assert len(pictures) > 1_000
    for path in pictures:
        image = pyvips.Image.new_from_file(str(path))
        if image.bands >= 3:
            red, green, blue = (image.extract_band(n).avg() for n in range(3))
            assert not (green > 200 and red < 60 and blue < 90), path
    page = next((folder / "export").rglob("album-1-p12/full/max/0/default.jpg"))
    painted = pyvips.Image.new_from_file(str(page)).crop(*REGION)
    assert painted.deviate() < 2


def test_what_a_withheld_line_decides_over_is_not_stated(folder: Path) -> None:
    item = orjson.loads((folder / "export/linked-art/object/item-0068.json").read_bytes())

    assert "timespan" not in str(item["produced_by"])
    assert "1866" not in str(item["produced_by"])
    assert "Korvath" in str(item["produced_by"])  # the maker is another matter


def test_a_claim_goes_out_on_its_other_grounds(folder: Path) -> None:
    with Archive(folder / "archive" / "archive.sqlite") as archive:
        claims = {line.key: line for _, line in archive.claims(1)}

    assert claims["c9301"].basis == ""
    assert claims["c9301"].sources == (BASE + "text/inventory-1876",)
    assert claims["c9107"].basis == "The hand of [name withheld]."


def test_what_is_withdrawn_is_in_no_byte_of_any_release(
    tmp_path: Path, published: tuple[Path, Secrets]
) -> None:
    """Published first, then taken back: not even the bytes of the archive keep it."""
    folder, secrets = published
    archive = folder / "archive" / "archive.sqlite"
    keys = [row["key"] for row in rows_of(folder / "withheld.csv")]
    assert leaks(folder / "export", secrets.made) != []

    for row in rows_of(folder / "withheld.csv")[:-1]:
        workspace.append_line(
            folder / "evidence/withdrawals.csv",
            ("key", "kind", "by"),
            {"key": row["key"], "kind": row["kind"], "by": "Teveli Council"},
        )
    pipeline.withdraw(  # the last one, and with it all that are only written so far
        project.load(folder),
        pipeline.Asked(keys[-1], by="Teveli Council"),
        pipeline.Options(now="2026-02-01T10:00:00Z", accept_losses=True),
        Silent(),
    )

    with Archive(archive) as opened:
        gone = [*opened.withheld_now(), *opened.withdrawn()]
    # IRIs that were published once, and what the house asked for, are known for ever
    words = [word for word in secrets.made if not any(word in key for key in gone)]

    stones = {tree + path_of(BASE, uri) for uri in gone for tree in ("", "de/", "fr/")}

    def told_of(folder: Path) -> list[tuple[str, str]]:
        """Secrets in the export, but for IRIs in the lists of what is gone and on tombstones."""
        found = leaks(folder / "export", secrets.made)
        lists = LISTS_OF_WHAT_IS_GONE
        return [(n, w) for n, w in found if w in words or not (n.startswith(lists) or n in stones)]

    assert len(words) > 40
    raw = archive.read_bytes()
    assert [word for word in words if word.encode() in raw] == []
    found = [
        (name, w) for name, body in served(archive) for w in secrets.made if w.encode() in body
    ]
    assert found == []
    assert told_of(folder) == []
    again = run(folder, "2026-02-02T10:00:00Z")
    assert again.release is None
    assert told_of(folder) == []
    with Archive(archive) as opened:
        assert set(opened.withdrawn()) >= set(keys)


def test_a_second_run_finds_no_line_changed(folder: Path) -> None:
    result = run(folder)

    assert (result.status, result.release) == (0, None)
