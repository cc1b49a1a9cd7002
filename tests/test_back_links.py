"""A hundred faults in six kinds of sources, and for each the way back to its very cell.

The sources are written here, from a fixed seed; what a cell holds is read again by other means
than ours (`csv`, openpyxl, `json`, lxml), at the place that the report names.
"""

import csv
import json
import random
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from lxml import etree

from lodpipe.cli import main

BASE = "https://collections.example.org/"
FORMATS = ("csv", "tsv", "xlsx", "json", "jsonl", "xml")
RECORDS = 40
FAULTS = 100
COLUMNS = ("No", "Title", "Kind", "Date", "Height", "Size", "Rights", "Page", "Format")
GOOD = {
    "Kind": "photograph",
    "Date": "about 1872",
    "Height": "142",
    "Size": "14.2 x 19.5 cm",
    "Rights": "http://creativecommons.org/publicdomain/mark/1.0/",
    "Page": "https://www.example.org/page/1",
    "Format": "text/html",
}
KINDS: list[tuple[str, str, tuple[str, ...]]] = [
    # code of the finding or name of the shape, column, cells that have the fault
    ("dimension-value", "Height", ("-12", "0", "-0.5")),
    ("digital-format", "Format", ("JPEG", "web page")),
    ("words-damaged", "Title", ("Schneed\u00c3\u00a4cher", "Sn\u00f6\u00e2\u20ac shed")),
    (
        "rights-address",
        "Rights",
        (
            "https://creativecommons.org/licenses/by/4.0/",
            "http://creativecommons.org/licenses/by/4.0",
            "http://rightsstatements.org/page/InC/1.0/",
        ),
    ),
    ("date", "Date", ("when the snow came", "1866-13-40", "5/6/64")),
    ("number", "Height", ("tall", "14,2", "1 2")),
    ("size", "Size", ("rather large", "14.2 by hand")),
    ("url", "Page", ("www.example.org", "ftp://example.org/1", "https://example.org/a b")),
    ("term", "Kind", ("ferrotype", "photografph")),
    ("too-long", "Title", ("Snow " * 100,)),
]
MAPPING = """
reads:
  key: no
%(records)s  fields:
    no: No
    title: Title
    kind: Kind
    made: {from: Date, as: date}
    height: {from: Height, as: number}
    size: {from: Size, as: size, order: [height, width]}
    rights: {from: Rights, as: url}
    page: {from: Page, as: url}
    format: Format
makes:
  - id: "object/{no}"
    type: HumanMadeObject
    _label: "Item {no}"
    classified_as: [{lookup: kinds, from: kind}]
    identified_by:
      - {type: Name, content: "{title}", language: en, classified_as: {term: primary-name}}
    dimension:
      - {type: Dimension, value: "{height}", unit: {term: millimeters}, classified_as: {term: height}}
      - {size: size}
    shows: {ref: "visual/{no}", type: VisualItem}
    produced_by: {type: Production, timespan: {timespan: made}}
    subject_of:
      type: LinguisticObject
      digitally_carried_by:
        type: DigitalObject
        format: "{format}"
        access_point: {ref: "{+page}", type: DigitalObject}
  - id: "visual/{no}"
    type: VisualItem
    _label: "View {no}"
    subject_to:
      - type: Right
        classified_as: [{ref: "{+rights}", type: Type}]
"""


@dataclass(frozen=True)
class Planted:
    """One fault: in which source and record, in which column, and what stands there."""

    form: str
    number: int
    code: str
    column: str
    value: str

    @property
    def file(self) -> str:
        return f"catalogue/items.{self.form}"

    @property
    def key(self) -> str:
        return f"{self.form}-{self.number}"


def plant() -> list[Planted]:
    """A hundred faults, one a record at most, every kind in every format."""
    chance = random.Random(20260131)
    left = {form: list(range(1, RECORDS + 1)) for form in FORMATS}
    wanted = [(form, kind) for form in FORMATS for kind in KINDS]
    wanted += [(chance.choice(FORMATS), chance.choice(KINDS)) for _ in range(FAULTS - len(wanted))]
    planted = []
    for form, (code, column, values) in wanted:
        number = left[form].pop(chance.randrange(len(left[form])))
        planted.append(Planted(form, number, code, column, chance.choice(values)))
    return planted


PLANTED = plant()


def records(form: str) -> list[dict[str, str]]:
    made = []
    for number in range(1, RECORDS + 1):
        # some titles run over two lines, so that a row is not a line
        title = f"Summit cutting,\n{number} of {RECORDS}" if number % 7 == 0 else f"View {number}"
        made.append({"No": f"{form}-{number}", "Title": title, **GOOD})
    for fault in PLANTED:
        if fault.form == form:
            made[fault.number - 1][fault.column] = fault.value
    return made


def write(folder: Path, form: str) -> None:
    path = folder / f"items.{form}"
    rows = records(form)
    if form in ("csv", "tsv"):
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, COLUMNS, delimiter="," if form == "csv" else "\t")
            writer.writeheader()
            writer.writerows(rows)
    elif form == "xlsx":
        book = openpyxl.Workbook()
        book.active.title = "About"
        sheet = book.create_sheet("Items")
        sheet.append(COLUMNS)
        for row in rows:
            sheet.append([row[column] for column in COLUMNS])
        book.save(path)
    elif form == "json":
        path.write_text(json.dumps({"list": {"items": rows}}, indent=1), encoding="utf-8")
    elif form == "jsonl":
        path.write_text("".join(json.dumps(row) + "\n" for row in rows), encoding="utf-8")
    else:
        root = etree.Element("list")
        for row in rows:
            item = etree.SubElement(root, "item")
            for column in COLUMNS:
                etree.SubElement(item, column).text = row[column]
        etree.ElementTree(root).write(path, encoding="UTF-8", pretty_print=True)


def cell(path: Path, place: dict[str, Any]) -> str:
    """What stands at a place, read without lodpipe."""
    form = path.suffix[1:]
    if form in ("csv", "tsv"):
        with path.open(encoding="utf-8", newline="") as file:
            rows = csv.reader(file, delimiter="," if form == "csv" else "\t")
            header = next(rows)
            before = rows.line_num
            for row in rows:
                if before + 1 == place["line"]:
                    return row[header.index(place["column"])]
                before = rows.line_num
    elif form == "xlsx":
        sheet = openpyxl.load_workbook(path)[place["sheet"]]
        names = [one.value for one in sheet[1]]
        return str(sheet.cell(place["line"], names.index(place["column"]) + 1).value)
    elif form == "xml":
        (found,) = etree.parse(path).xpath(place["column"])
        return str(found.text)
    else:
        text = path.read_text(encoding="utf-8")
        value = json.loads(text if form == "json" else text.splitlines()[place["line"] - 1])
        for part in place["column"].split("/")[1:]:
            value = value[int(part)] if isinstance(value, list) else value[part]
        return str(value)
    raise AssertionError(place)


PROJECT = """
[site]
base = "https://collections.example.org/"
name = {en = "Highland Railway Library"}
[check]
most_losses = "90 %"
[limits]
field_chars = 300
[access]
default = "open"
"""
WHERE = {
    "xlsx": "  sheet: Items\n",
    "json": '  records: "$.list.items[*]"\n',
    "xml": "  records: /list/item\n",
}
Row = dict[str, Any]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("back") / "project"
    (folder / "catalogue").mkdir(parents=True)
    (folder / "mappings/vocab").mkdir(parents=True)
    (folder / "mappings/vocab/kinds.csv").write_text(
        "term,iri,label,source\nphotograph,http://vocab.getty.edu/aat/300046300,photograph,\n",
        encoding="utf-8",
    )
    text = PROJECT
    for form in FORMATS:
        write(folder / "catalogue", form)
        mapping = MAPPING % {"records": WHERE.get(form, "")}
        (folder / f"mappings/{form}.yaml").write_text(mapping, encoding="utf-8")
        text += f'[[source]]\nfile = "catalogue/items.{form}"\nmapping = "mappings/{form}.yaml"\n'
    (folder / "lodpipe.toml").write_text(text, encoding="utf-8")
    done = CliRunner().invoke(main, ["run", str(folder), "--no-export"])
    assert done.exit_code == 1, done.output
    return folder


@pytest.fixture(scope="module")
def results(folder: Path) -> list[Row]:
    done = CliRunner().invoke(main, ["check", str(folder), "--json"])
    rows: list[Row] = json.loads(done.stdout)["results"]
    return rows


def named(row: Row) -> str:
    return str(row["shape"]).removeprefix("urn:lodpipe:shape:")


def test_a_hundred_faults_are_planted() -> None:
    assert len(PLANTED) == len({fault.key for fault in PLANTED}) == FAULTS
    assert len({(fault.form, fault.code) for fault in PLANTED}) == len(FORMATS) * len(KINDS) == 60


@pytest.mark.parametrize("fault", PLANTED, ids=lambda fault: f"{fault.key}-{fault.code}")
def test_each_leads_back_to_its_cell(folder: Path, results: list[Row], fault: Planted) -> None:
    found = [row for row in results if named(row) == fault.code and at(row) == fault.key]
    assert found, [named(row) for row in results if at(row) == fault.key]
    for row in found:
        (place,) = row["places"]

        assert place["file"] == fault.file
        assert place["record"] == fault.number
        assert place["column"].rpartition("/")[2].partition("[")[0] == fault.column
        assert cell(folder / fault.file, place) == fault.value
        if fault.code == "dimension-value":  # RDF has numbers of its own
            assert float(row["value"]) == float(fault.value)
        elif fault.code != "too-long":  # which a report does not repeat
            assert row["value"] == fault.value
        line = (folder / f"mappings/{fault.form}.yaml").read_text(encoding="utf-8").splitlines()
        mapping, _, number = place["mapping"].rpartition(":")
        assert mapping == f"mappings/{fault.form}.yaml"
        assert fault.column in line[int(number) - 1]


def at(row: Row) -> str:
    """The record that a row of the report leads to."""
    for place in row["places"]:
        return f"{place['file'].rpartition('.')[2]}-{place['record']}"
    return ""


def test_nothing_is_said_of_the_other_records(results: list[Row]) -> None:
    codes = {code for code, _, _ in KINDS}
    told = Counter((named(row), at(row)) for row in results if named(row) in codes)

    assert set(told) == {(fault.code, fault.key) for fault in PLANTED}
