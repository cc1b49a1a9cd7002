"""Whole runs on a small project: books, gate, losses, access, the same bytes whatever the order."""

import os
import random
import subprocess
import sys
from pathlib import Path

import orjson
import pytest
import zstandard

from lodpipe import export, pipeline, project
from lodpipe.archive import Archive
from lodpipe.errors import EmptyError, ManyErrors, NotFinishedError, UsageError
from lodpipe.export import file_name
from lodpipe.pipeline.progress import Silent

BASE = "https://collections.example.org/"
NOW = "2026-01-31T10:00:00Z"
PROJECT = """
[site]
base = "https://collections.example.org/"
name = {en = "Highland Railway Library"}
publisher = "group/library"
[[source]]
file = "items.csv"
mapping = "items.yaml"
dated = "2026-01-30"
[access]
default = "open"
"""
MAPPING = """
reads:
  key: no
  fields:
    no: No
    title: Title
    made: {from: Date, as: date}
    by: Maker
    sure: Sure
    on: Page
makes:
  - id: "object/{no}"
    type: HumanMadeObject
    _label: "{title}"
    classified_as: [{term: photograph}]
    identified_by:
      - {type: Name, content: "{title}", language: en, classified_as: {term: primary-name}}
    part_of: {ref: "object/{on}", type: HumanMadeObject}
    produced_by:
      type: Production
      part:
        - role: exposure
          type: Production
          timespan: {timespan: made}
          carried_out_by:
            - {ref: "person/{by}", type: Person, when: {sure: absent}}
  - id: "person/{by}"
    type: Person
    _label: "{by}"
    identified_by:
      - {type: Name, content: "{by}", classified_as: {term: primary-name}}
claims:
  - when: {sure: {lookup: qualifiers}}
    about: "object/{no}"
    aspect: maker
    value: "person/{by}"
    qualifier: {lookup: qualifiers, from: sure}
"""
HEADER = "No,Title,Date,Maker,Sure,Page\n"
ROWS = [
    "album,Album of the Sorn Railway,1873/1883,vey,,\n",
    "1,Summit cutting,1872-02,dolen,attributed to,album\n",
    "2,Snow shed,1872,dolen,,album\n",
    "3,Camp Nine,1871,korvath,possibly,album\n",
    "4,Dorrin viaduct,1870-06-01,korvath,,album\n",
]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "lodpipe.toml").write_text(PROJECT, encoding="utf-8")
    (tmp_path / "items.yaml").write_text(MAPPING, encoding="utf-8")
    (tmp_path / "items.csv").write_text(HEADER + "".join(ROWS), encoding="utf-8")
    return tmp_path


def run(folder: Path, *, accept_losses: bool = False, export: bool = True) -> pipeline.Result:
    options = pipeline.Options(now=NOW, accept_losses=accept_losses, export=export)
    return pipeline.run(project.load(folder), options, Silent())


def edit(folder: Path, old: str, new: str, file: str = "items.csv") -> None:
    text = (folder / file).read_text(encoding="utf-8")
    assert old in text
    (folder / file).write_text(text.replace(old, new), encoding="utf-8")


def published(folder: Path, key: str) -> dict[str, object]:
    path = folder / "export" / "linked-art" / f"{key}.json"
    tree: dict[str, object] = orjson.loads(path.read_bytes())
    return tree


def everything(folder: Path) -> dict[str, bytes]:
    root = folder / "export"
    return {
        path.relative_to(root).as_posix(): path.read_bytes()
        for path in sorted(root.rglob("*"))
        if path.is_file()
    }


def exposure(folder: Path, key: str) -> dict[str, object]:
    production = published(folder, key)["produced_by"]
    assert isinstance(production, dict)
    part: dict[str, object] = production["part"][0]
    return part


def test_the_books_of_a_first_run(folder: Path) -> None:
    result = run(folder)

    assert result.status == 0
    assert result.release == 1
    assert dict(result.books.records) == {"mapped": 5}
    assert result.books.documents["new"] == result.books.known


def test_a_qualified_maker_is_only_claimed_and_a_certain_one_is_stated(folder: Path) -> None:
    run(folder)

    assert "carried_out_by" not in exposure(folder, "object/1")
    assert exposure(folder, "object/2")["carried_out_by"] == [
        {"id": BASE + "person/dolen", "type": "Person", "_label": "dolen"}
    ]


def test_a_second_run_releases_nothing_and_writes_nothing(folder: Path) -> None:
    run(folder)

    result = run(folder)

    assert result.release is None
    assert result.latest == 1
    assert result.written is not None
    assert result.written.written == []


def test_only_what_changed_is_new_in_the_next_release(folder: Path) -> None:
    run(folder)
    edit(folder, "Snow shed", "Snow shed at Sorn Pass")

    result = run(folder)

    assert result.release == 2
    assert result.books.documents["changed"] == 1
    assert result.written is not None
    assert "linked-art/object/2.json" in result.written.written


def test_an_equal_key_is_booked_as_duplicate_whatever_the_order(folder: Path) -> None:
    twice = [*ROWS, "2,Another title,1873,vey,,album\n"]
    kept = set()
    for order in (twice, twice[::-1]):
        (folder / "items.csv").write_text(HEADER + "".join(order), encoding="utf-8")
        result = run(folder, accept_losses=True)

        assert result.books.records["duplicate"] == 1
        kept.add(published(folder, "object/2")["_label"])
    assert len(kept) == 1


def test_a_document_with_a_violation_is_stopped_and_the_rest_goes_on(folder: Path) -> None:
    edit(folder, "possibly,album", "possibly,album\n5,,1871,vey,,album", "items.csv")
    edit(
        folder,
        "[access]",
        '[check]\nmost_losses = "50 %"\ngate = "warning"\n[access]',
        "lodpipe.toml",
    )

    result = run(folder)

    assert result.status == 1
    assert result.release == 1
    assert result.books.documents["stopped"] >= 1


def test_too_many_losses_release_nothing_until_they_are_accepted(folder: Path) -> None:
    run(folder)
    (folder / "items.csv").write_text(HEADER + "".join(ROWS[:3]), encoding="utf-8")

    refused = run(folder)
    accepted = run(folder, accept_losses=True)

    assert (refused.status, refused.release, refused.latest) == (1, None, 1)
    assert refused.books.documents["gone"] == 4  # two things, their maker, the concept `possibly`
    assert (accepted.status, accepted.release) == (0, 2)
    assert not (folder / "export" / "linked-art" / "object" / "3.json").exists()


def test_what_is_withheld_is_in_no_byte_of_the_export(folder: Path) -> None:
    run(folder)
    assert b"Camp Nine" in b"".join(everything(folder).values())
    (folder / "evidence").mkdir()
    (folder / "evidence" / "access.csv").write_text(
        "key,kind,access,public_reason\n3,thing,withheld,asked for by the council\n", "utf-8"
    )

    result = run(folder)

    assert result.books.documents["withheld"] == 1
    assert result.release == 2
    for name, body in plain(folder).items():
        for word in (b"Camp Nine", b"object/3", b"council"):
            assert word not in body, name


def test_what_is_withheld_goes_even_when_the_losses_are_too_many(folder: Path) -> None:
    run(folder)
    (folder / "evidence").mkdir()
    (folder / "evidence" / "access.csv").write_text("key,kind,access\n3,thing,withheld\n", "utf-8")
    (folder / "items.csv").write_text(HEADER + "".join([ROWS[0], ROWS[3]]), encoding="utf-8")

    result = run(folder)

    assert result.status == 1
    with Archive(folder / "archive" / "archive.sqlite") as archive:
        latest = archive.latest()
        assert latest is not None
        kept = {uri.removeprefix(BASE) for uri in archive.uris(latest.number)}
    assert "object/3" not in kept
    assert {"object/1", "object/2", "object/4"} <= kept


def test_what_lies_on_a_withheld_thing_is_withheld_too(folder: Path) -> None:
    (folder / "evidence").mkdir()
    (folder / "evidence" / "access.csv").write_text(
        "key,kind,access\nobject/album,thing,withheld\n", "utf-8"
    )
    with (folder / "items.csv").open("a", encoding="utf-8") as file:
        file.write("5,Water tower,1872,dolen,,\n")

    result = run(folder)

    assert result.books.documents["withheld"] == 5
    made = folder / "export" / "linked-art"
    assert [path.stem for path in (made / "object").iterdir()] == ["5"]
    # nobody but withheld records speaks of the other makers, however many do
    assert [path.stem for path in (made / "person").iterdir()] == ["dolen"]


def test_closed_unless_opened(folder: Path) -> None:
    edit(folder, 'default = "open"', 'default = "withheld"', "lodpipe.toml")
    (folder / "evidence").mkdir()
    (folder / "evidence" / "access.csv").write_text(
        "key,kind,access\nobject/album,thing,open\nobject/2,thing,open\n", "utf-8"
    )

    run(folder)

    made = sorted(path.stem for path in (folder / "export/linked-art/object").iterdir())
    assert made == ["2", "album"]


def test_shuffled_rows_give_the_same_bytes_and_the_same_dump(tmp_path: Path, folder: Path) -> None:
    run(folder)
    first = everything(folder)
    with Archive(folder / "archive" / "archive.sqlite") as archive:
        dump = archive.logical_dump()
    for seed in range(3):
        other = tmp_path / f"other-{seed}"
        other.mkdir()
        for name in ("lodpipe.toml", "items.yaml"):
            (other / name).write_bytes((folder / name).read_bytes())
        rows = ROWS[:]
        random.Random(seed).shuffle(rows)
        (other / "items.csv").write_text(HEADER + "".join(rows), encoding="utf-8")

        run(other)

        assert everything(other) == first
        with Archive(other / "archive" / "archive.sqlite") as archive:
            assert archive.logical_dump() == dump


def test_time_zone_locale_and_hash_seed_do_not_matter(folder: Path) -> None:
    outputs = []
    for zone, locale, seed in (("UTC", "C", "0"), ("Asia/Kathmandu", "de_DE.UTF-8", "12345")):
        for name in ("archive", "export"):
            subprocess.run(["rm", "-rf", str(folder / name)], check=True)
        subprocess.run(
            [sys.executable, "-m", "lodpipe", "run", str(folder), "--now", NOW],
            check=True,
            capture_output=True,
            env={**os.environ, "TZ": zone, "LC_ALL": locale, "PYTHONHASHSEED": seed},
        )
        outputs.append(everything(folder))

    assert outputs[0] == outputs[1]


def test_an_empty_catalogue_releases_nothing(folder: Path) -> None:
    (folder / "items.csv").write_text(HEADER, encoding="utf-8")

    with pytest.raises(EmptyError, match="would be empty"):
        run(folder)


def test_shapes_that_meet_nothing_are_not_a_pass(folder: Path) -> None:
    (folder / "shapes").mkdir()
    (folder / "shapes" / "mine.ttl").write_text(
        "@prefix sh: <http://www.w3.org/ns/shacl#> .\n"
        "<urn:mine> a sh:NodeShape ; sh:targetClass <urn:nothing> ; sh:nodeKind sh:IRI .",
        encoding="utf-8",
    )
    edit(folder, "[access]", '[check]\nshapes = ["shapes"]\n[access]', "lodpipe.toml")

    with pytest.raises(EmptyError, match="no shape met any node"):
        run(folder)


def test_an_export_never_touches_a_folder_that_is_not_its_own(folder: Path) -> None:
    (folder / "export").mkdir()
    (folder / "export" / "thesis.doc").write_text("mine")

    with pytest.raises(UsageError, match="holds files that are not an export"):
        run(folder)

    assert (folder / "export" / "thesis.doc").read_text() == "mine"


def test_an_unwritable_folder_is_told(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    run(folder, export=False)

    def refuse(self: Path, *args: object, **kwargs: object) -> None:
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "mkdir", refuse)
    with pytest.raises(NotFinishedError, match="cannot be written: Permission denied"):
        run(folder)


def test_findings_lead_to_file_row_and_column(folder: Path) -> None:
    edit(folder, "1872-02", "5/6/64")

    result = run(folder)

    (kind,) = [kind for kind in result.tally.counts if kind[1] == "date"]
    place = result.tally.examples[kind][0].place
    assert str(place) == "items.csv:3 (record 2) [Date]"


def test_explain_shows_the_way_back(folder: Path) -> None:
    run(folder)

    explained = pipeline.explain_document(project.load(folder), "2")

    assert explained.uri == BASE + "object/2"
    assert ("/_label", "items.csv:4 (record 3) [Title]") in [
        (entry.path, str(entry.place)) for entry in explained.trace
    ]
    assert any(line.startswith(f"<{BASE}object/2#exposure>") for line in explained.triples)


def test_explain_shows_the_very_quads_that_are_published(folder: Path) -> None:
    run(folder)
    packed = (folder / "export" / "nquads.nq.zst").read_bytes()
    with zstandard.ZstdDecompressor().stream_reader(packed) as stream:
        lines = stream.read().decode().splitlines()

    explained = pipeline.explain_document(project.load(folder), "3")

    assert explained.triples == [line for line in lines if line.endswith(f" <{BASE}object/3> .")]
    assert any("/crminf/I2_Belief" in line for line in explained.triples)


@pytest.mark.parametrize(
    ("path", "file"),
    [
        ("object/20344012%2CT.json", "object/20344012,T.json"),
        ("object/Fj%C3%A4rd%204.json", "object/Fjärd 4.json"),
        ("object/12%2F3.json", "object/12%2F3.json"),
        ("object/12%252F3.json", "object/12%252F3.json"),
        ("object/a%00b", "object/a%00b"),
        ("object/.htaccess", "object/.htaccess"),
        ("iiif/image/a/0,0,10,10/max/0/default.jpg", "iiif/image/a/0,0,10,10/max/0/default.jpg"),
    ],
)
def test_a_file_is_where_a_server_looks_for_it(path: str, file: str) -> None:
    assert file_name(path) == file


def test_explain_offers_the_nearest_key(folder: Path) -> None:
    run(folder)

    with pytest.raises(UsageError) as caught:
        pipeline.explain_document(project.load(folder), "albun")

    assert caught.value.hint == "did you mean `album`?"


def test_explain_tries_a_mapping_before_any_run(folder: Path) -> None:
    explained = pipeline.explain_record(
        project.load(folder), folder / "items.csv", "items.yaml", "2"
    )

    assert explained.uri == BASE + "object/2"
    assert explained.triples
    assert not (folder / "archive").exists()


def test_things_that_are_part_of_one_another_are_stopped(folder: Path) -> None:
    edit(folder, "1873/1883,vey,,", "1873/1883,vey,,1")
    edit(folder, "[access]", '[check]\nmost_losses = "50 %"\n[access]', "lodpipe.toml")

    result = run(folder)

    assert result.status == 1
    assert result.books.documents["stopped"] == 2
    (kind,) = [kind for kind in result.tally.counts if kind[1] == "cycle"]
    assert result.tally.examples[kind][0].message == (
        f"part of itself: `{BASE}object/1` -> `{BASE}object/album` -> `{BASE}object/1`"
    )


LEDGER = "claim,about,aspect,value,standing,by,on,basis\n"


def test_a_ledger_line_that_cannot_be_used_stops_what_it_is_about(folder: Path) -> None:
    (folder / "evidence").mkdir()
    (folder / "evidence" / "claims.csv").write_text(
        LEDGER + "c1,2,makr,korvath,current,group/library,2026-01-20,The stamp.\n", "utf-8"
    )
    edit(folder, "[access]", '[check]\nmost_losses = "50 %"\n[access]', "lodpipe.toml")

    result = run(folder)

    assert result.status == 1
    (kind,) = [kind for kind in result.tally.counts if kind[0] == "violation"]
    finding = result.tally.examples[kind][0]
    assert str(finding.place) == "evidence/claims.csv:2 (record 1) [aspect]"
    assert finding.hint == "did you mean `maker`?"
    assert not (folder / "export/linked-art/object/2.json").exists()


def test_the_ledger_decides_over_the_catalogue(folder: Path) -> None:
    (folder / "evidence").mkdir()
    (folder / "evidence" / "claims.csv").write_text(
        LEDGER + "c1,4,maker,dolen,current,group/library,2026-01-20,He had left.\n", "utf-8"
    )

    run(folder)

    made = exposure(folder, "object/4")
    assert made["carried_out_by"] == [
        {"id": BASE + "person/dolen", "type": "Person", "_label": "dolen"}
    ]
    assert "formerly" in str(published(folder, "object/4"))


def test_a_published_line_may_not_change(folder: Path) -> None:
    (folder / "evidence").mkdir()
    ledger = folder / "evidence" / "claims.csv"
    ledger.write_text(
        LEDGER + "c1,4,maker,dolen,current,group/library,2026-01-20,He had left.\n", "utf-8"
    )
    run(folder)
    ledger.write_text(ledger.read_text("utf-8").replace("He had left", "He never came"), "utf-8")
    edit(folder, "[access]", '[check]\nmost_losses = "50 %"\n[access]', "lodpipe.toml")

    result = run(folder)

    assert result.status == 1
    messages = [f.message for kind in result.tally.examples.values() for f in kind]
    assert "`basis` of the published line `c1` was changed" in messages


def withhold(folder: Path, *keys: str) -> None:
    (folder / "evidence").mkdir(exist_ok=True)
    rows = "".join(f"{key},thing,withheld\n" for key in keys)
    (folder / "evidence" / "access.csv").write_text("key,kind,access\n" + rows, encoding="utf-8")


CHAIN = "claim,about,aspect,value,standing,by,on,basis,qualifier\n"
LATER = "c1,4,later_than,3,current,group/library,2026-01-20,The scaffold.,\n"


def test_a_stopped_document_does_not_go_on_naming_what_is_withheld(folder: Path) -> None:
    (folder / "evidence").mkdir()
    ledger = folder / "evidence" / "claims.csv"
    ledger.write_text(CHAIN + LATER, "utf-8")
    edit(folder, "[access]", '[check]\nmost_losses = "90 %"\n[access]', "lodpipe.toml")
    run(folder)
    assert "object/3" in str(published(folder, "object/4"))
    ledger.write_text(
        CHAIN + LATER + "c2,4,makr,dolen,current,group/library,2026-01-20,x,\n", "utf-8"
    )
    withhold(folder, "3")

    result = run(folder)

    assert result.books.documents["withheld"] == 2
    assert not (folder / "export/linked-art/object/4.json").exists()
    assert all(b"object/3" not in body for body in plain(folder).values())


def test_what_named_it_goes_too_when_the_losses_are_too_many(folder: Path) -> None:
    (folder / "evidence").mkdir()
    (folder / "evidence" / "claims.csv").write_text(CHAIN + LATER, "utf-8")
    run(folder)
    withhold(folder, "3")
    (folder / "items.csv").write_text(HEADER + "".join([ROWS[0], *ROWS[3:]]), encoding="utf-8")

    result = run(folder)

    assert result.outcome[0].startswith("nothing else is released")
    assert all(b"object/3" not in body for body in plain(folder).values())
    assert (folder / "export/linked-art/object/1.json").exists()


def test_what_claims_named_after_it_goes_whatever_else_happens(folder: Path) -> None:
    """A session, a workshop: the key of what is withheld stands in their IRIs."""
    (folder / "evidence").mkdir()
    (folder / "evidence" / "claims.csv").write_text(
        CHAIN
        + "c1,4,same_session_as,3,current,group/library,2026-01-20,The light.,\n"
        + "c3,2,maker,person/korvath,current,group/library,2026-01-20,The style.,workshop of\n",
        "utf-8",
    )
    run(folder)
    before = everything(folder).keys()
    named = {
        f"linked-art/{path}.json" for path in ("activity/session-3", "group/workshop-of-korvath")
    }
    assert named <= before
    withhold(folder, "3", "person/korvath")
    (folder / "items.csv").write_text(HEADER + "".join([ROWS[0], *ROWS[3:]]), encoding="utf-8")

    result = run(folder)
    chosen = project.load(folder)
    concepts = pipeline.open_workshop(chosen).concepts
    export.export(chosen, concepts, folder / "first", release=1)

    assert result.outcome[0].startswith("nothing else is released")
    assert named.isdisjoint(everything(folder))
    assert not any((folder / "first" / path).exists() for path in named)
    words = (b"session-3", b"workshop-of-korvath")
    assert not [name for name, body in plain(folder).items() for word in words if word in body]


def test_a_withheld_record_says_nothing_of_others_either(folder: Path) -> None:
    edit(folder, '_label: "{by}"', '_label: "{by}, named in {title}"', "items.yaml")
    edit(folder, "4,Dorrin viaduct,1870-06-01,korvath", "4,Dorrin viaduct,1870-06-01,esker")
    run(folder)
    withhold(folder, "3")

    run(folder, accept_losses=True)

    assert not (folder / "export/linked-art/person/korvath.json").exists()
    assert all(b"Camp Nine" not in body for body in plain(folder).values())


def test_an_access_row_that_nobody_knows_stops_the_run(folder: Path) -> None:
    withhold(folder, "object/33")

    with pytest.raises(ManyErrors, match="no document has the key `object/33`"):
        run(folder)

    assert not (folder / "archive" / "archive.sqlite").exists()


def test_an_access_row_of_what_the_source_no_longer_has_stays_right(folder: Path) -> None:
    run(folder)
    withhold(folder, "object/3")
    (folder / "items.csv").write_text(HEADER + "".join(r for r in ROWS if r[0] != "3"), "utf-8")

    result = run(folder, accept_losses=True)

    assert result.books.documents["withheld"] == 1
    assert result.release == 2


def test_an_old_release_does_not_bring_back_what_is_withheld(folder: Path) -> None:

    (folder / "evidence").mkdir()
    (folder / "evidence" / "claims.csv").write_text(CHAIN + LATER, "utf-8")
    run(folder)
    withhold(folder, "3")
    run(folder)
    chosen = project.load(folder)
    concepts = pipeline.open_workshop(chosen).concepts

    export.export(chosen, concepts, folder / "first", release=1)

    made = sorted(path.stem for path in (folder / "first/linked-art/object").iterdir())
    assert made == ["1", "2", "album"]  # 4 named what is withheld, as it then was


def test_a_text_that_names_something_withheld_is_told(folder: Path) -> None:
    edit(folder, "Snow shed", "Snow shed seen from Camp Nine")
    withhold(folder, "3")

    result = run(folder)

    (kind,) = [kind for kind in result.tally.counts if kind[1] == "names-withheld"]
    finding = result.tally.examples[kind][0]
    assert finding.message == "the text names something withheld: `Camp Nine`"
    assert str(finding.place) == "items.csv:4 (record 3) [Title]"


def plain(folder: Path) -> dict[str, bytes]:
    """All files of the export, uncompressed, but the lists of what was published once."""
    found = {n: body for n, body in everything(folder).items() if not n.startswith("gone")}
    for name, body in found.items():
        if name.endswith(".zst"):
            reader = zstandard.ZstdDecompressor().stream_reader(body, read_across_frames=True)
            found[name] = reader.read()
    return found


def test_nothing_points_at_a_document_that_is_stopped_on_its_first_run(folder: Path) -> None:
    (folder / "evidence").mkdir()
    (folder / "evidence" / "claims.csv").write_text(
        LEDGER + "c1,person/korvath,born,1840,surely,group/library,2026-01-20,A letter.\n", "utf-8"
    )

    result = run(folder, accept_losses=True)

    assert f"stopped: {BASE}person/korvath waits" in result.outcome
    named = [path for path, body in everything(folder).items() if b"person/korvath" in body]
    assert named == []
    lines = (folder / "archive" / "report.jsonl").read_bytes().splitlines()
    links = [line for line in map(orjson.loads, lines) if line["code"] == "dangling"]
    assert {line["uri"] for line in links} == {BASE + "object/3", BASE + "object/4"}
    assert {line["message"] for line in links} == {"`person/korvath` is stopped at the gate"}
