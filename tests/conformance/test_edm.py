"""EDM records of the demo against the published schema, its 27 rules and its list of rights.

XSD, Schematron rules and rights patterns of EDM, external profile: the schema files that
https://europeana.atlassian.net/wiki/spaces/EF/pages/2106032160 tells of (commit a62d3099).
"""

import itertools
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conformance.released import Released
from lxml import etree

from lodpipe.archive import Archive, Harvest, Slice
from lodpipe.publish.harvest.rights import is_allowed, nearest_allowed

pytestmark = pytest.mark.reference
PREFIXES = {
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "edm": "http://www.europeana.eu/schemas/edm/",
    "ore": "http://www.openarchives.org/ore/terms/",
    "dc": "http://purl.org/dc/elements/1.1/",
    "dct": "http://purl.org/dc/terms/",
    "schema": "http://schema.org/",
    "lib": "urn:lib",
    "skos": "http://www.w3.org/2004/02/skos/core#",
}
RESOURCE = f"{{{PREFIXES['rdf']}}}resource"


@pytest.fixture(scope="module")
def material(reference: Path) -> dict[str, Any]:
    file = reference / "reference" / "edm" / "external_rules.json"
    found: dict[str, Any] = json.loads(file.read_text(encoding="utf-8"))
    return found


@pytest.fixture(scope="module")
def schema(reference: Path) -> etree.XMLSchema:
    return etree.XMLSchema(etree.parse(reference / "reference" / "edm" / "xsd" / "EDM.xsd"))


@pytest.fixture(scope="module")
def records(releases: Callable[[str], Released]) -> dict[str, etree._Element]:
    released = releases("demo")
    with Archive(released.folder / "archive" / "archive.sqlite") as archive:
        chosen = Slice("edm", released.result.latest)
        return {
            one.uri.rpartition("/")[2]: etree.fromstring(one.body or b"")
            for one in Harvest(archive).some(chosen, most=10_000)
        }


class Rules:
    """The rules as XPath 1: they use of XPath 2 only `exists`, a sequence, and one function."""

    def __init__(self, material: dict[str, Any]) -> None:
        self._patterns = [re.compile(text) for text in material["rights_uri_patterns"]]
        self.rules = [
            (rule["context"], _first_version(rule["test_xpath2"]), rule["message"])
            for rule in material["rules"]
        ]
        functions = etree.FunctionNamespace(PREFIXES["lib"])
        functions["isValidRightsField"] = self._is_valid

    def _is_valid(self, context: Any, values: list[str]) -> bool:
        return any(pattern.search(value) for value in values for pattern in self._patterns)

    def broken(self, root: etree._Element) -> set[str]:
        """Messages of the rules that a record breaks."""
        return {
            message
            for context, test, message in self.rules
            for node in _nodes(root, context)
            if not node.xpath(f"boolean({test})", namespaces=PREFIXES)
        }


def _nodes(root: etree._Element, context: str) -> list[Any]:
    found: Any = root.xpath(f"descendant-or-self::{context}", namespaces=PREFIXES)
    return list(found)


def _first_version(test: str) -> str:
    test = re.sub(r"exists\s*\(([^()]*)\)", r"boolean(\1)", test)
    one_of = re.fullmatch(r"(@rdf:resource) = \((.*)\)", test, re.DOTALL)
    if one_of:
        return " or ".join(f"{one_of[1]} = {value}" for value in one_of[2].split(", "))
    return test


def test_every_record_is_valid(
    records: dict[str, etree._Element], schema: etree.XMLSchema, material: dict[str, Any]
) -> None:
    rules = Rules(material)
    faults = {}
    for name, root in records.items():
        if not schema.validate(root):
            faults[name] = str(schema.error_log.last_error)
        elif broken := rules.broken(root):
            faults[name] = str(sorted(broken))

    assert faults == {}
    assert len(records) >= 60
    assert len(rules.rules) == 27


def test_every_literal_for_readers_has_its_language(records: dict[str, etree._Element]) -> None:
    without = {
        etree.QName(element).localname
        for root in records.values()
        for element in root.iter()
        if element.text and not element.get("{http://www.w3.org/XML/1998/namespace}lang")
    }
    # numbers, days and types: nothing of it is in a language
    assert without <= {
        "identifier", "type", "format", "lat", "long", "begin", "end", "language", "dateOfBirth",
        "dateOfDeath", "dateOfEstablishment", "dateOfTermination",
    }  # fmt: skip


def test_every_link_to_an_entity_finds_it_in_the_record(
    records: dict[str, etree._Element],
) -> None:
    about = f"{{{PREFIXES['rdf']}}}about"
    names = ("creator", "contributor", "subject", "created", "spatial", "medium", "type")
    met = 0
    for name, root in records.items():
        described = {node.get(about) for node in root}
        for element in root[0]:
            link = element.get(RESOURCE)
            if link and etree.QName(element).localname in names:
                met += 1
                assert link in described, name
    assert met > 300


def test_every_page_that_is_named_is_exported(
    records: dict[str, etree._Element], releases: Callable[[str], Released]
) -> None:
    folder = releases("demo").folder / "export"
    base = "https://collections.example.org/"
    pages = [
        str(node.get(RESOURCE)).removeprefix(base)
        for root in records.values()
        for node in root.iterfind("ore:Aggregation/edm:isShownAt", PREFIXES)
    ]

    assert len(pages) == len(records)
    assert [page for page in pages if not (folder / page).is_file()] == []


def child(root: etree._Element, path: str) -> Any:
    found: Any = root.find(path, PREFIXES)
    return found


def drop(root: etree._Element, path: str) -> None:
    for node in root.findall(path, PREFIXES):
        parent = node.getparent()
        assert parent is not None
        parent.remove(node)


BROKEN: list[tuple[str, Callable[[etree._Element], None], str]] = [
    ("rights that are not on the list", lambda r: child(r, "ore:Aggregation/edm:rights").set(RESOURCE, "http://rightsstatements.org/vocab/NKC/1.0/"), "Invalid Rights Statements"),
    ("rights in https", lambda r: child(r, "ore:Aggregation/edm:rights").set(RESOURCE, "https://creativecommons.org/publicdomain/mark/1.0/"), "Invalid Rights Statements"),
    ("no title", lambda r: drop(r, "edm:ProvidedCHO/dc:title"), "A ProvidedCHO must have a non empty dc:title or a non empty dc:description"),
    ("no provider of the data", lambda r: drop(r, "ore:Aggregation/edm:dataProvider"), "An ore:Aggregation must have at least one instance of edm:dataProvider"),
    ("a text without a language", lambda r: setattr(child(r, "edm:ProvidedCHO/edm:type"), "text", "TEXT"), "Within a ProvidedCHO context, dc:language is mandatory when edm:type has the value 'TEXT'."),
    ("an empty link", lambda r: child(r, "ore:Aggregation/edm:isShownBy").set(RESOURCE, ""), "Empty rdf:resource attribute is not allowed for element."),
]  # fmt: skip


@pytest.mark.parametrize(("fault", "message"), [b[1:] for b in BROKEN], ids=[b[0] for b in BROKEN])
def test_the_rules_fire(
    records: dict[str, etree._Element],
    material: dict[str, Any],
    fault: Callable[[etree._Element], None],
    message: str,
) -> None:
    root = etree.fromstring(etree.tostring(records["item-0101"]))
    assert Rules(material).broken(root) == set()
    fault(root)

    assert message in Rules(material).broken(root)


def test_the_list_of_rights_is_the_published_one(material: dict[str, Any]) -> None:
    patterns = [re.compile(text) for text in material["rights_uri_patterns"]]
    countries = sorted(set(re.findall(r"\b[a-z]{2}\b|scotland", str(patterns))))
    kinds = [
        "by",
        "by-sa",
        "by-nd",
        "by-nc",
        "by-nc-sa",
        "by-nc-nd",
        "by-nd-nc",
        "sa",
        "nc",
        "zero",
    ]
    versions = ["1.0", "2.0", "2.1", "2.5", "3.0", "4.0", "5.0"]
    statements = "InC InC-EDU InC-OW-EU InC-NC InC-RUU NoC-NC NoC-OKLR NoC-US NoC-CR CNE UND NKC"
    made = [
        f"http://creativecommons.org/licenses/{kind}/{version}/{country}"
        for kind, version, country in itertools.product(
            kinds, versions, ["", *(f"{c}/" for c in countries), "xx/", "de"]
        )
    ]
    made += [f"http://rightsstatements.org/vocab/{name}/1.0/" for name in statements.split()]
    made += [f"http://creativecommons.org/publicdomain/{name}/1.0/" for name in ("zero", "mark")]
    made += [uri.replace("http:", "https:") for uri in made[:200]]
    made += [uri.rstrip("/") for uri in made[:200]] + [uri + "\n" for uri in made[:50]]

    wrong = [uri for uri in made if is_allowed(uri) != any(p.search(uri) for p in patterns)]

    # `$` of a regular expression also stands before a line end at the end; a URI has none
    assert [uri for uri in wrong if not uri.endswith("\n")] == []
    assert len(made) > 4_500
    assert sum(map(is_allowed, made)) > 500


@pytest.mark.parametrize(
    ("stated", "near"),
    [
        ("https://creativecommons.org/publicdomain/zero/1.0", "http://creativecommons.org/publicdomain/zero/1.0/"),
        ("http://rightsstatements.org/page/InC/1.0/", "http://rightsstatements.org/vocab/InC/1.0/"),
        ("http://rightsstatements.org/vocab/NKC/1.0/", ""),
        ("", ""),
    ],
)  # fmt: skip
def test_a_form_that_is_nearly_right_is_told(stated: str, near: str) -> None:
    assert nearest_allowed(stated) == near
