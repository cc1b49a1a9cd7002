"""Every answer of OAI-PMH against the published schemas, over the demo.

https://www.openarchives.org/OAI/2.0/OAI-PMH.xsd (a copy that a public package ships, so perhaps
not byte for byte), oai_dc.xsd with its fifteen elements, and EDM.xsd for the records in EDM.
"""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from conformance.released import Released
from lxml import etree
from test_oai import ERRORS

from lodpipe.archive import Archive, Harvest
from lodpipe.publish.harvest import oai

pytestmark = pytest.mark.reference
BASE = "https://collections.example.org/"
REPOSITORY = oai.Repository(
    "Highland Railway Library", BASE, f"{BASE}oai", "library@example.org", ("oai_dc", "edm"),
    {"album-1": "Album of the Sorn Railway", "snow": "The winter of 1872"}, page=20,
)  # fmt: skip
NOW = "2026-06-01T00:00:00Z"
O = "{http://www.openarchives.org/OAI/2.0/}"  # noqa: E741
Answer = Callable[[dict[str, str]], etree._Element]


@pytest.fixture(scope="module")
def schemas(reference: Path) -> dict[str, etree.XMLSchema]:
    folder = reference / "reference"
    return {
        "answer": etree.XMLSchema(etree.parse(folder / "oai-pmh" / "OAI-PMH.xsd")),
        "oai_dc": etree.XMLSchema(etree.parse(folder / "oai-pmh" / "oai_dc.xsd")),
        "edm": etree.XMLSchema(etree.parse(folder / "edm" / "xsd" / "EDM.xsd")),
    }


@pytest.fixture(scope="module")
def answer(releases: Callable[[str], Released]) -> Iterator[Answer]:
    with Archive(releases("demo").folder / "archive" / "archive.sqlite") as archive:

        def asked(arguments: dict[str, str]) -> etree._Element:
            pairs = list(arguments.items())
            return etree.fromstring(oai.answer(pairs, Harvest(archive), REPOSITORY, NOW))

        yield asked


REQUESTS = [
    {"verb": "Identify"},
    {"verb": "ListMetadataFormats"},
    {"verb": "ListMetadataFormats", "identifier": "oai:collections.example.org:object/item-0101"},
    {"verb": "ListSets"},
    *(
        {"verb": "GetRecord", "metadataPrefix": name, "identifier": f"oai:collections.example.org:object/{key}"}
        for name in ("oai_dc", "edm") for key in ("item-0101", "item-0102", "album-1")
    ),
    {"verb": "ListRecords", "metadataPrefix": "oai_dc", "from": "2026-01-01", "until": "2026-12-31"},
    {"verb": "ListIdentifiers", "metadataPrefix": "edm", "set": "snow"},
    *({name.rstrip("_"): value for name, value in row[0].items()} for row in ERRORS),
]  # fmt: skip


@pytest.mark.parametrize("arguments", REQUESTS, ids=str)
def test_an_answer_is_valid(
    answer: Answer, schemas: dict[str, etree.XMLSchema], arguments: dict[str, str]
) -> None:
    schemas["answer"].assertValid(answer(arguments))


@pytest.mark.parametrize(("name", "least"), [("oai_dc", 70), ("edm", 60)])
def test_a_whole_harvest_is_valid_page_by_page_and_record_by_record(
    answer: Answer, schemas: dict[str, etree.XMLSchema], name: str, least: int
) -> None:
    arguments, records, listed = {"metadataPrefix": name}, 0, 0
    while True:
        root = answer({"verb": "ListRecords", **arguments})
        schemas["answer"].assertValid(root)
        for metadata in root.iter(f"{O}metadata"):
            # alone, as a harvester takes it out: with the namespaces that it needs
            schemas[name].assertValid(etree.fromstring(etree.tostring(metadata[0])))
            records += 1
        token = root.find(f".//{O}resumptionToken")
        assert token is not None
        listed = int(token.get("completeListSize", "0"))
        if not token.text:
            break
        arguments = {"resumptionToken": token.text}

    assert records == listed >= least
