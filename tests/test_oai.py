"""OAI-PMH 2.0 (https://www.openarchives.org/OAI/openarchivesprotocol.html), every verb and error.

Where the published XSD is too weak, each must has a test here: times end with Z and have seconds,
a deleted record has no metadata and a live one has some, lists end with an empty token.
"""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from harvesting import BASE, instant, release
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from lodpipe.archive import Archive, Harvest
from lodpipe.publish.harvest import oai, tokens

NS = {"o": "http://www.openarchives.org/OAI/2.0/", "dc": "http://purl.org/dc/elements/1.1/"}
REPOSITORY = oai.Repository(
    "Highland Railway Library", BASE, f"{BASE}oai", "library@example.org", ("oai_dc", "edm"),
    {"album": "Album of the Sorn Railway", "album:snow": "Snow"}, page=3,
)  # fmt: skip
LATER = "2026-06-01T00:00:00Z"
Ask = Callable[..., etree._Element]


def asker(path: Path, repository: oai.Repository = REPOSITORY, now: str = LATER) -> Ask:
    def ask(**arguments: str) -> etree._Element:
        pairs = [(name.rstrip("_"), value) for name, value in arguments.items()]
        with Archive(path) as opened:
            return etree.fromstring(oai.answer(pairs, Harvest(opened), repository, now))

    return ask


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three releases: seven things; `b` changed and `c` gone in 2; `g` comes back to edm in 3."""
    path = tmp_path_factory.mktemp("oai") / "archive.sqlite"
    seven = {key: f"Title {key}" for key in "abcdefg"}
    assert release(path, {"oai_dc": seven, "edm": {"a": "A", "g": "G"}}, "album album:snow") == 1
    second = {**seven, "b": "A new title"}
    del second["c"]
    assert release(path, {"oai_dc": second, "edm": {"a": "A"}}, "album album:snow") == 2
    assert release(path, {"oai_dc": second, "edm": {"a": "A", "g": "G"}}, "album album:snow") == 3
    return path


@pytest.fixture(scope="module")
def ask(path: Path) -> Ask:
    return asker(path)


def codes(root: etree._Element) -> list[str]:
    return [str(node.get("code")) for node in root.findall("o:error", NS)]


def texts(root: etree._Element, name: str) -> list[str]:
    return [node.text or "" for node in root.iter(f"{{{NS['o']}}}{name}")]


def pages(ask: Ask, verb: str, **arguments: str) -> Iterator[etree._Element]:
    root = ask(verb=verb, **arguments)
    yield root
    while (token := root.find(".//o:resumptionToken", NS)) is not None and token.text:
        root = ask(verb=verb, resumptionToken=token.text)
        yield root


def headers(roots: Iterator[etree._Element]) -> dict[str, tuple[str, bool]]:
    """Datestamp and whether it is deleted, by the last part of the identifier."""
    return {
        texts(node, "identifier")[0].rpartition("/")[2]: (
            texts(node, "datestamp")[0], node.get("status") == "deleted",
        )
        for root in roots
        for node in root.iter(f"{{{NS['o']}}}header")
    }  # fmt: skip


ERRORS: list[tuple[dict[str, str], str, str]] = [
    ({}, "badVerb", "the verb is missing"),
    ({"verb": "Harvest"}, "badVerb", "there is no such verb"),
    ({"verb": "identify"}, "badVerb", "there is no such verb"),
    ({"verb": "Identify", "set": "album"}, "badArgument", "Identify takes no argument set"),
    ({"verb": "GetRecord", "metadataPrefix": "oai_dc"}, "badArgument", "GetRecord needs the argument identifier"),
    ({"verb": "ListRecords"}, "badArgument", "ListRecords needs the argument metadataPrefix"),
    ({"verb": "ListRecords", "metadataPrefix": "oai dc"}, "badArgument", "metadataPrefix has characters that none can have"),
    ({"verb": "ListRecords", "metadataPrefix": "oai_dc", "set": "album/1"}, "badArgument", "set has characters that none can have"),
    ({"verb": "ListRecords", "metadataPrefix": "oai_dc", "from_": "2026-13-01"}, "badArgument", "2026-13-01 is no UTC date of the protocol"),
    ({"verb": "ListRecords", "metadataPrefix": "oai_dc", "from_": "2026-02-30T00:00:00Z"}, "badArgument", "2026-02-30T00:00:00Z is no UTC date of the protocol"),
    ({"verb": "ListRecords", "metadataPrefix": "oai_dc", "from_": "2026-01-01T10:00:00.5Z"}, "badArgument", "2026-01-01T10:00:00.5Z is no UTC date of the protocol"),
    ({"verb": "ListRecords", "metadataPrefix": "oai_dc", "from_": "2026-01-01T10:00:00+01:00"}, "badArgument", "2026-01-01T10:00:00+01:00 is no UTC date of the protocol"),
    ({"verb": "ListRecords", "metadataPrefix": "oai_dc", "from_": "2026-01-01", "until": "2026-01-02T00:00:00Z"}, "badArgument", "from and until have different granularities"),
    ({"verb": "ListRecords", "metadataPrefix": "oai_dc", "from_": "2026-01-03", "until": "2026-01-02"}, "badArgument", "from is later than until"),
    ({"verb": "ListRecords", "metadataPrefix": "oai_dc", "resumptionToken": "x"}, "badArgument", "resumptionToken stands alone"),
    ({"verb": "ListRecords", "resumptionToken": "x"}, "badResumptionToken", "`x` is no resumption token of this repository"),
    ({"verb": "ListSets", "resumptionToken": "x"}, "badResumptionToken", "the list of sets is never split"),
    ({"verb": "ListRecords", "metadataPrefix": "lido"}, "cannotDisseminateFormat", "the repository does not have this format"),
    ({"verb": "GetRecord", "metadataPrefix": "edm", "identifier": "oai:collections.example.org:object/b"}, "cannotDisseminateFormat", "the item is not disseminated in this format"),
    ({"verb": "GetRecord", "metadataPrefix": "oai_dc", "identifier": "oai:collections.example.org:object/z"}, "idDoesNotExist", "the repository has no item of this identifier"),
    ({"verb": "GetRecord", "metadataPrefix": "oai_dc", "identifier": "oai:elsewhere.example.org:object/a"}, "idDoesNotExist", "the repository has no item of this identifier"),
    ({"verb": "GetRecord", "metadataPrefix": "oai_dc", "identifier": "a b"}, "badArgument", "identifier is not a URI"),
    ({"verb": "ListMetadataFormats", "identifier": "oai:collections.example.org:object/c"}, "noMetadataFormats", "the item is deleted in every format"),
    ({"verb": "ListMetadataFormats", "identifier": "urn:x"}, "idDoesNotExist", "the repository has no item of this identifier"),
    ({"verb": "ListRecords", "metadataPrefix": "oai_dc", "from_": "2026-02-01"}, "noRecordsMatch", "no record matches"),
    ({"verb": "ListRecords", "metadataPrefix": "oai_dc", "until": "2025-12-31"}, "noRecordsMatch", "no record matches"),
    ({"verb": "ListIdentifiers", "metadataPrefix": "oai_dc", "set": "other"}, "noRecordsMatch", "there is no such set"),
]  # fmt: skip


@pytest.mark.parametrize(("arguments", "code", "message"), ERRORS)
def test_errors(ask: Ask, arguments: dict[str, str], code: str, message: str) -> None:
    root = ask(**arguments)

    assert codes(root) == [code]
    assert texts(root, "error") == [message]
    request = root.find("o:request", NS)
    assert request is not None
    # section 3.6: no attributes where verb or arguments are wrong
    echoed = code not in ("badVerb", "badArgument")
    assert dict(request.attrib) == (
        {k.rstrip("_"): v for k, v in arguments.items()} if echoed else {}
    )


def test_a_repeated_argument_is_refused(path: Path) -> None:
    with Archive(path) as opened:
        for pairs, code in (
            ([("verb", "Identify"), ("verb", "Identify")], "badVerb"),
            ([("verb", "ListRecords"), ("set", "a"), ("set", "a")], "badArgument"),
        ):
            root = etree.fromstring(oai.answer(pairs, Harvest(opened), REPOSITORY, LATER))
            assert codes(root) == [code]


def test_a_repository_without_sets_says_so(path: Path) -> None:
    bare = oai.Repository("Library", BASE, f"{BASE}oai", "a@b.example", ("oai_dc",))
    ask = asker(path, bare)

    assert codes(ask(verb="ListSets")) == ["noSetHierarchy"]
    assert codes(ask(verb="ListRecords", metadataPrefix="oai_dc", set="x")) == ["noSetHierarchy"]


def test_identify(ask: Ask) -> None:
    [said] = ask(verb="Identify").findall("o:Identify", NS)

    assert [(etree.QName(node).localname, node.text) for node in said] == [
        ("repositoryName", "Highland Railway Library"),
        ("baseURL", "https://collections.example.org/oai"),
        ("protocolVersion", "2.0"),
        ("adminEmail", "library@example.org"),
        ("earliestDatestamp", instant(1)),
        ("deletedRecord", "persistent"),
        ("granularity", "YYYY-MM-DDThh:mm:ssZ"),
    ]


def test_formats_and_sets(ask: Ask) -> None:
    item = "oai:collections.example.org:object/"

    assert texts(ask(verb="ListMetadataFormats"), "metadataPrefix") == ["oai_dc", "edm"]
    of_b = ask(verb="ListMetadataFormats", identifier=item + "b")
    assert texts(of_b, "metadataPrefix") == ["oai_dc"]
    assert texts(ask(verb="ListSets"), "setSpec") == ["album", "album:snow"]


def test_a_datestamp_moves_only_with_what_is_disseminated_in_that_format(ask: Ask) -> None:
    dc = headers(pages(ask, "ListIdentifiers", metadataPrefix="oai_dc"))
    edm = headers(pages(ask, "ListIdentifiers", metadataPrefix="edm"))

    assert dc == {
        **{key: (instant(1), False) for key in "adefg"},
        "b": (instant(2), False),
        "c": (instant(2), True),
    }
    assert edm == {"a": (instant(1), False), "g": (instant(3), False)}


@pytest.mark.parametrize(
    ("since", "until", "found"),
    [
        ("2026-01-01", "2026-01-01", "adefg"),
        ("2026-01-01T10:00:00Z", "2026-01-01T10:00:00Z", "adefg"),  # both ends are inclusive
        ("2026-01-01T10:00:01Z", "2026-01-02T09:59:59Z", ""),
        ("2026-01-02", "2026-01-02", "bc"),
        ("2025-01-01", "2027-01-01", "abcdefg"),
    ],
)
def test_from_and_until(ask: Ask, since: str, until: str, found: str) -> None:
    roots = list(pages(ask, "ListIdentifiers", metadataPrefix="oai_dc", from_=since, until=until))

    assert "".join(sorted(headers(iter(roots)))) == found
    assert codes(roots[0]) == ([] if found else ["noRecordsMatch"])


@pytest.mark.parametrize("verb", ["ListRecords", "ListIdentifiers"])
def test_a_split_list_counts_and_ends_with_an_empty_token(ask: Ask, verb: str) -> None:
    roots = list(pages(ask, verb, metadataPrefix="oai_dc"))
    tokens_ = [root.find(".//o:resumptionToken", NS) for root in roots]

    assert [len(texts(root, "identifier")) for root in roots] == [3, 3, 1]
    assert [(t.get("completeListSize"), t.get("cursor"), bool(t.text)) for t in tokens_ if t is not None] == [
        ("7", "0", True), ("7", "3", True), ("7", "6", False),
    ]  # fmt: skip


def test_a_list_that_fits_has_no_token(ask: Ask) -> None:
    assert ask(verb="ListRecords", metadataPrefix="edm").find(".//o:resumptionToken", NS) is None


def test_a_token_gives_the_same_page_again_also_after_the_next_release(tmp_path: Path) -> None:
    path = tmp_path / "archive.sqlite"
    titles = {key: key for key in "abcdefgh"}
    release(path, {"oai_dc": titles})
    ask = asker(path)
    first = ask(verb="ListRecords", metadataPrefix="oai_dc")
    [token] = texts(first, "resumptionToken")
    before = etree.tostring(ask(verb="ListRecords", resumptionToken=token))
    release(path, {"oai_dc": {**titles, "a": "new", "d": "new"}})

    assert etree.tostring(ask(verb="ListRecords", resumptionToken=token)) == before


def test_a_harvest_during_a_release_misses_nothing(tmp_path: Path) -> None:
    """What changes, comes or goes meanwhile is told by the next incremental harvest."""
    path = tmp_path / "archive.sqlite"
    titles = {key: key for key in "abcdefgh"}
    release(path, {"oai_dc": titles})
    ask = asker(path)
    walk = pages(ask, "ListRecords", metadataPrefix="oai_dc")
    got = headers(iter([next(walk)]))
    after = {**titles, "a": "new", "e": "new", "z": "came"}
    del after["d"]
    release(path, {"oai_dc": after})
    got |= headers(walk)
    got |= headers(pages(ask, "ListRecords", metadataPrefix="oai_dc", from_=instant(2)))

    assert {key for key, (_, gone) in got.items() if not gone} == set(after)
    assert got["d"] == (instant(2), True)
    assert got["e"] == got["a"] == got["z"] == (instant(2), False)


def test_a_release_shows_from_its_instant_on(path: Path) -> None:
    early = asker(path, now="2026-01-01T09:59:59Z")
    between = asker(path, now="2026-01-01T10:00:00Z")

    assert codes(early(verb="ListRecords", metadataPrefix="oai_dc")) == ["noRecordsMatch"]
    got = headers(pages(between, "ListIdentifiers", metadataPrefix="edm"))
    assert got == {"a": (instant(1), False)}  # of `g`, deleted since, nothing is told


def test_live_records_have_metadata_and_deleted_ones_none(ask: Ask) -> None:
    met = {True: 0, False: 0}
    for root in pages(ask, "ListRecords", metadataPrefix="oai_dc"):
        for record in root.iter(f"{{{NS['o']}}}record"):
            deleted = record.find("o:header", NS).get("status") == "deleted"  # type: ignore[union-attr]
            assert (record.find("o:metadata", NS) is None) == deleted
            met[deleted] += 1
    assert met == {True: 1, False: 6}


def test_a_deleted_record_stays_in_its_sets(ask: Ask) -> None:
    roots = pages(ask, "ListIdentifiers", metadataPrefix="oai_dc", set="album:snow")

    assert headers(roots)["c"] == (instant(2), True)


def test_instants_are_utc_with_seconds(ask: Ask) -> None:
    form = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")
    for root in pages(ask, "ListRecords", metadataPrefix="oai_dc"):
        stamps = [*texts(root, "responseDate"), *texts(root, "datestamp")]
        assert all(form.fullmatch(stamp) for stamp in stamps)
        assert len(stamps) >= 2


def test_no_bytes_of_what_is_deleted_stay_in_the_archive(path: Path) -> None:
    with Archive(path) as opened:
        rows = opened.connection.execute(
            "SELECT release, deleted, body IS NULL, hash FROM disseminations"
            f" WHERE uri = '{BASE}object/c' ORDER BY release"
        ).fetchall()

    assert [row[:3] for row in rows] == [(1, 0, 1), (2, 1, 1)]
    assert rows[1][3] == ""


def test_only_the_newest_bytes_and_those_before_them_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "archive.sqlite"
    for title in ("one", "two", "three"):
        release(path, {"oai_dc": {"a": title}})
    with Archive(path) as opened:
        rows = opened.connection.execute(
            "SELECT release, body IS NULL FROM disseminations ORDER BY release"
        ).fetchall()

    assert rows == [(1, 1), (2, 0), (3, 0)]


def test_a_run_that_changes_nothing_releases_nothing(tmp_path: Path) -> None:
    path = tmp_path / "archive.sqlite"

    assert release(path, {"oai_dc": {"a": "x"}}) == 1
    assert release(path, {"oai_dc": {"a": "x"}}) is None
    assert release(path, {"oai_dc": {"a": "x"}}, sets="album") == 2  # a set is part of a record


VERBS = [*oai.ARGUMENTS, "", "Identify\x00", "ListRecords "]
NAMES = ["verb", "metadataPrefix", "identifier", "from", "until", "set", "resumptionToken", "x"]
TOKEN = str(tokens.Token(1, "oai_dc", "", 1, 1, 1, f"{BASE}object/a", 3, 7))
VALUES = st.one_of(
    st.sampled_from(["oai_dc", "edm", "album", "2026-01-01", f"oai:x:{BASE}", "../..", TOKEN, TOKEN[:-4]]),
    st.text(max_size=40),
)  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(
    verb=st.sampled_from(VERBS),
    rest=st.lists(st.tuples(st.sampled_from(NAMES), VALUES), max_size=4),
)
def test_whatever_is_asked_the_answer_is_well_formed(
    path: Path, verb: str, rest: list[tuple[str, str]]
) -> None:
    with Archive(path) as opened:
        body = oai.answer([("verb", verb), *rest], Harvest(opened), REPOSITORY, LATER)
    root = etree.fromstring(body)

    assert root.tag == f"{{{NS['o']}}}OAI-PMH"
    assert len(root) == 3


@pytest.mark.parametrize(
    "text",
    ["", "x", "é", "W10", "a" * 5_000, "WzEsImEiLCIiLDEsMSwxLCIiLDEsdHJ1ZV0", TOKEN + "=="],
)
def test_what_is_no_token_is_refused(text: str) -> None:
    with pytest.raises(tokens.TokenFault):
        tokens.read(text)


def test_a_token_reads_back() -> None:
    token = tokens.Token(7, "edm", "album", 2, 7, 3, f"{BASE}object/é", 200, 4_000)

    assert tokens.read(str(token)) == token
    assert re.fullmatch(r"[A-Za-z0-9_-]+", str(token))
