"""Tiers of EDM records; the numbers are those of https://europeana.atlassian.net/wiki/spaces/EF/,
pages 2185199764, 2060386364 (content) and 1969979393, 1969258498, 1967849520 (metadata)."""

from dataclasses import replace

import orjson
import pytest
from click.testing import CliRunner
from conformance.released import demo

from lodpipe.cli import main
from lodpipe.publish.harvest.pictures import Picture
from lodpipe.publish.harvest.tiers import Measures, best_mend, measure

FULL = Measures(1.0, "open", 1.0, {"date": ("a", "b"), "place": ("c", "d")}, ("Agent", "Place"))


@pytest.mark.parametrize(
    ("megapixels", "use", "tier"),
    [
        (0.0, "open", 0), (0.099, "open", 0), (0.1, "open", 1), (0.419, "open", 1),
        (0.42, "restricted", 2), (0.949, "open", 2), (0.95, "restricted", 2),
        (0.95, "limited", 3), (0.95, "open", 4), (20.0, "open", 4),
    ],
)  # fmt: skip
def test_content(megapixels: float, use: str, tier: int) -> None:
    assert replace(FULL, megapixels=megapixels, use=use).content == tier


@pytest.mark.parametrize(
    ("languages", "elements", "classes", "tier"),
    [
        (0.75, {"date": ("a", "b"), "place": ("c", "d")}, ("Agent", "Place"), "C"),
        (0.74, {"date": ("a", "b"), "place": ("c", "d")}, ("Agent", "Place"), "B"),
        (0.75, {"date": ("a", "b"), "place": ("c",)}, ("Agent", "Place"), "B"),
        (0.75, {"date": ("a", "b", "c", "d")}, ("Agent", "Place"), "A"),  # of one group
        (0.75, {"date": ("a", "b"), "place": ("c", "d")}, ("Agent",), "B"),
        (0.75, {"date": ("a", "b"), "place": ("c", "d")}, (), "A"),
        (0.25, {"date": ("a",)}, (), "A"),
        (0.24, {"date": ("a", "b"), "place": ("c", "d")}, ("Agent", "Place"), "0"),
        (1.0, {}, ("Agent", "Place"), "0"),
    ],
)
def test_metadata(
    languages: float, elements: dict[str, tuple[str, ...]], classes: tuple[str, ...], tier: str
) -> None:
    one = replace(FULL, languages=languages, elements=elements, classes=classes)

    assert one.metadata == tier


def test_the_mend_that_lifts_most_records_is_named() -> None:
    small = replace(FULL, megapixels=0.5)
    closed = replace(FULL, use="restricted")
    untagged = replace(FULL, languages=0.3)

    assert best_mend([small, small, closed]) == ("publish pictures of at least 0.95 megapixels", 2)
    assert best_mend([small, closed, closed]) == (
        "put the pictures under an open licence or the public domain mark", 2,
    )  # fmt: skip
    assert best_mend([untagged]) == ("state the language of titles, types and other words", 1)
    assert best_mend([FULL]) == ("", 0)
    # two faults of one record: no single mend lifts it
    assert best_mend([replace(FULL, languages=0.3, classes=())]) == ("", 0)


RECORD = b"""<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"
 xmlns:edm="http://www.europeana.eu/schemas/edm/" xmlns:ore="http://www.openarchives.org/ore/terms/"
 xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:dcterms="http://purl.org/dc/terms/"
 xmlns:skos="http://www.w3.org/2004/02/skos/core#">
 <edm:ProvidedCHO rdf:about="urn:x"><dc:title xml:lang="en">a</dc:title><dc:title>b</dc:title>
  <dc:rights>c</dc:rights><dc:type rdf:resource="urn:t"/><dc:subject rdf:resource="urn:none"/>
  <dcterms:created>1872</dcterms:created></edm:ProvidedCHO>
 <skos:Concept rdf:about="urn:t"><skos:prefLabel xml:lang="en">d</skos:prefLabel></skos:Concept>
 <skos:Concept rdf:about="http://vocab.getty.edu/aat/1"/>
 <ore:Aggregation><edm:rights
  rdf:resource="http://creativecommons.org/licenses/by-nc/4.0/"/></ore:Aggregation></rdf:RDF>"""


def test_a_record_is_measured_as_it_is_sent() -> None:
    found = measure(RECORD, (Picture("urn:p", 1000, 960),))

    assert found == Measures(
        megapixels=0.96,
        use="limited",
        languages=0.5,  # title and, by its label, type; neither rights nor the dangling subject
        elements={"date": ("dcterms:created",), "subject or type": ("dc:type",)},
        classes=("Concept",),  # the authority counts without elements of its own
    )
    assert (found.content, found.metadata) == (3, "A")


def test_the_command_measures_the_demo(tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = tmp_path_factory.mktemp("demo")
    demo(folder)
    printed = CliRunner().invoke(main, ["check", str(folder), "--tiers", "--json"])
    told = orjson.loads(printed.stdout)
    plain = CliRunner().invoke(main, ["check", str(folder), "--tiers"])

    assert printed.exit_code == plain.exit_code == 0
    assert len(told["records"]) >= 60
    assert told["records"]["object/item-0101"]["metadata"] == "C"
    assert told["mend"]["words"] == "publish pictures of at least 0.95 megapixels"
    assert {row["source"] for row in told["criteria"]["classes"]} >= {"unverified"}
    assert "object/negative-30" in told["not_sent"]
    assert "metadata B, classes: at least 1; unverified" in plain.stdout
