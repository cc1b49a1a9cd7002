"""What may be an IRI, a key, a language tag, and what the refusal says."""

from unicodedata import normalize

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rfc3987_syntax import is_valid_syntax_iri

from lodpipe.errors import IriError
from lodpipe.iris import check_iri, check_language, document_iri, is_plain, key_of, segment

BASE = "https://collections.example.org/"

SEGMENTS = [
    ("item-0101", "item-0101"),
    ("HRL 1866.1.12a", "HRL%201866.1.12a"),
    ("12/3", "12%2F3"),
    ("a~b_c", "a~b_c"),
    ("50%", "50%25"),
    ("Fjärd", "Fj%C3%A4rd"),
    ("Fja\u0308rd", "Fj%C3%A4rd"),  # decomposed: one letter, one key
    ("a:b@c!", "a%3Ab%40c%21"),
    ("...", "..."),
    (".hidden", ".hidden"),
]

NO_KEYS = [
    ("", "`` is empty and cannot be a key"),
    ("  ", "`  ` is empty and cannot be a key"),
    (".", "the key `.` has a part `.`, which means another folder"),
    ("..", "the key `..` has a part `..`, which means another folder"),
    ("../../x", "the key `../../x` has a part `..`, which means another folder"),
    ("a\\..\\b", "the key `a\\..\\b` has a part `..`, which means another folder"),
    ("%2e%2e", "the key `%2e%2e` has a part `..`, which means another folder"),
    ("a\x00b", "the key 'a\\x00b' has the character U+0000"),
    ("a\nb", "the key 'a\\nb' has the character U+000A"),
    ("a\ud800", "the key 'a\\ud800' has the character U+D800"),
    ("x" * 201, f"the key `{'x' * 40}...` is too long: 201 octets of the 200 allowed"),
]

IRIS = [
    # examples of RFC 3986 section 1.1.2
    "ftp://ftp.is.co.za/rfc/rfc1808.txt",
    "http://www.ietf.org/rfc/rfc2396.txt",
    "ldap://[2001:db8::7]/c=GB?objectClass?one",
    "mailto:John.Doe@example.com",
    "news:comp.infosystems.www.servers.unix",
    "tel:+1-816-555-1212",
    "telnet://192.0.2.16:80/",
    "urn:oasis:names:specification:docbook:dtd:xml:4.1.2",
    # of RFC 3987 section 3.2.1 and what we mint
    "http://www.example.org/D%C3%BCrst",
    "http://www.example.org/Dürst",
    "https://collections.example.org/object/item-0101#claim-c0105-belief",
    "https://collections.example.org/iiif/image/a/420,380,2840,2070/max/0/default.jpg",
    "http://vocab.getty.edu/aat/300404670",
    "http://example.org/?q=\ue000",
    "http://[::ffff:192.0.2.1]:8080/",
    "http://[v7.a:b]/",
]

NO_IRIS = [
    ("", "`` is not an absolute IRI: it does not begin with a scheme such as `https:`"),
    ("object/1",
     "`object/1` is not an absolute IRI: it does not begin with a scheme such as `https:`"),
    ("http://a b/", "`http://a b/` is not an IRI: U+0020 space at character 9"),
    ("http://a/<b>", "`http://a/<b>` is not an IRI: U+003C less-than sign at character 10"),
    ('http://a/"', '`http://a/"` is not an IRI: U+0022 quotation mark at character 10'),
    ("http://a/{b}", "`http://a/{b}` is not an IRI: U+007B left curly bracket at character 10"),
    ("http://a/\\", "`http://a/\\` is not an IRI: U+005C reverse solidus at character 10"),
    ("http://a/b\n", "`http://a/b\n` is not an IRI: U+000A at character 11"),
    ("http://a/100%", "`http://a/100%` is not an IRI: U+0025 percent sign at character 13"),
    ("http://a/\ufffe", "`http://a/\ufffe` is not an IRI: U+FFFE at character 10"),
    ("http://a/\ue000", "`http://a/\ue000` is not an absolute IRI: its form is wrong"),
    ("http://a/#b#c", "`http://a/#b#c` is not an absolute IRI: its form is wrong"),
    ("http://[::1/", "`http://[::1/` is not an absolute IRI: its form is wrong"),
    ("http://a:port/", "`http://a:port/` is not an absolute IRI: its form is wrong"),
    ("http:///path", "`http:///path` is not an absolute IRI: it names no host"),
    ("https:path", "`https:path` is not an absolute IRI: it names no host"),
    ("1a:b", "`1a:b` is not an absolute IRI: it does not begin with a scheme such as `https:`"),
]  # fmt: skip

TAGS = [
    # RFC 5646 appendix A, in its order
    "de", "fr", "ja", "i-enochian",
    "zh-Hant", "zh-Hans", "sr-Cyrl", "sr-Latn",
    "zh-cmn-Hans-CN", "cmn-Hans-CN", "zh-yue-HK", "yue-HK",
    "zh-Hans-CN", "sr-Latn-RS",
    "sl-rozaj", "sl-rozaj-biske", "sl-nedis",
    "de-CH-1901", "sl-IT-nedis",
    "hy-Latn-IT-arevela",
    "de-DE", "en-US", "es-419",
    "de-CH-x-phonebk", "az-Arab-x-AZE-derbend",
    "x-whatever", "qaa-Qaaa-QM-x-southern", "de-Qaaa", "sr-Latn-QM", "sr-Qaaa-RS",
    "en-US-u-islamcal", "zh-CN-a-myext-x-private", "en-a-myext-b-another",
    # a language of the scenario, and irregular ones of section 2.1
    "qtv", "en-GB-oed", "sgn-BE-FR", "zh-min-nan",
]  # fmt: skip

CASES = [
    # section 2.1.1: what is written -> the case that it recommends
    ("MN-cYRL-mn", "mn-Cyrl-MN"),
    ("EN-ca-X-CA", "en-CA-x-ca"),
    ("sgn-be-fr", "sgn-BE-FR"),
    ("az-LATN-x-LATN", "az-Latn-x-latn"),
    ("I-KLINGON", "i-klingon"),
    ("X-AA-LATN", "x-aa-latn"),
    ("de-A-BB-CC-LATN-x-DE", "de-a-bb-cc-latn-x-de"),
    ("es-419", "es-419"),
    ("sl-ROZAJ-1994", "sl-rozaj-1994"),
]

NO_TAGS = [
    # RFC 5646 appendix A, "some invalid tags"
    ("de-419-DE", "`de-419-DE` is not a language tag"),
    ("a-DE", "`a-DE` is not a language tag"),
    ("ar-a-aaa-b-bbb-a-ccc",
     "`ar-a-aaa-b-bbb-a-ccc` is not a language tag: the extension `a` stands twice"),
    # section 2.2.5
    ("de-DE-1901-1901", "`de-DE-1901-1901` is not a language tag: the variant `1901` stands twice"),
    ("", "`` is not a language tag"),
    ("english language", "`english language` is not a language tag"),
    ("en_US", "`en_US` is not a language tag"),
    ("en-", "`en-` is not a language tag"),
    ("toolongtag", "`toolongtag` is not a language tag"),
    ("en-x", "`en-x` is not a language tag"),
    ("dé", "`dé` is not a language tag"),
    ("١", "`١` is not a language tag"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "expected"), SEGMENTS)
def test_segment(key: str, expected: str) -> None:
    assert segment(key) == expected


@pytest.mark.parametrize(("key", "message"), NO_KEYS)
def test_no_segment(key: str, message: str) -> None:
    with pytest.raises(IriError) as caught:
        segment(key)

    assert caught.value.message == message


@pytest.mark.parametrize("iri", IRIS)
def test_iri(iri: str) -> None:
    assert check_iri(iri) == iri
    assert referee(iri)


@pytest.mark.parametrize(("text", "message"), NO_IRIS)
def test_no_iri(text: str, message: str) -> None:
    with pytest.raises(IriError) as caught:
        check_iri(text)

    assert caught.value.message == message


NO_PATHS = [
    ("object/", "the path `object/` has a segment ``"),
    ("/object", "the path `/object` has a segment ``"),
    ("object/../x", "the path `object/../x` has a segment `..`"),
    ("object/%2E%2e/x", "the path `object/%2E%2e/x` has a segment `%2E%2e`"),
    ("object/1#a", "the path `object/1#a` has a query or a fragment"),
    ("object/a b",
     "`https://collections.example.org/object/a b` is not an IRI: U+0020 space at character 41"),
]  # fmt: skip


@pytest.mark.parametrize(("path", "message"), NO_PATHS)
def test_no_path(path: str, message: str) -> None:
    with pytest.raises(IriError) as caught:
        document_iri(BASE, path)

    assert caught.value.message == message


def test_key_of() -> None:
    iri = document_iri(BASE, "object/item-0101")

    assert key_of(BASE, iri) == "object/item-0101"
    assert key_of(BASE, iri + "#exposure") == ""
    assert key_of(BASE, iri + "?at=2024") == ""
    assert key_of(BASE, "https://elsewhere.example.org/object/item-0101") == ""


@pytest.mark.parametrize("tag", TAGS)
def test_language(tag: str) -> None:
    assert check_language(tag).lower() == tag.lower()


@pytest.mark.parametrize(("tag", "expected"), CASES)
def test_case_of_a_language(tag: str, expected: str) -> None:
    assert check_language(tag) == expected
    assert check_language(expected) == expected


@pytest.mark.parametrize(("tag", "message"), NO_TAGS)
def test_no_language(tag: str, message: str) -> None:
    with pytest.raises(IriError) as caught:
        check_language(tag)

    assert caught.value.message == message


LONGER = ["%41", "%C3", "//", "..", "::1", "v1.a", "://", "host", ":80", "\U000e0001", "\ufdd0"]
PIECES = st.lists(
    st.sampled_from([*"aB9é\ue000\0%:/?#[]@.-_~!$&'()*+,;=<>{}|^` \\\"", *LONGER]), max_size=8
)


def referee(text: str) -> bool:
    """RFC 3987 as a grammar by another hand; it knows no `::` in an IPv6 address, so: True there."""
    return is_valid_syntax_iri(text) or ("[" in text and "::" in text)


@settings(max_examples=400, deadline=None)
@given(st.sampled_from(["http", "https", "urn", "x-y.z", "1a", ""]), PIECES)
def test_agrees_with_another_grammar(scheme: str, pieces: list[str]) -> None:
    # http without host is refused by us alone, by RFC 9110 section 4.2
    text = scheme + ":" + "".join(pieces)
    try:
        check_iri(text)
    except IriError as error:
        assert "names no host" in error.message or not is_valid_syntax_iri(text)
    else:
        assert referee(text)


@given(st.text("aZ9-._~/:@,%#éC3 ?", max_size=12))
def test_a_plain_iri_is_an_iri(rest: str) -> None:
    text = "https://a.example/" + rest
    if is_plain(text):
        assert check_iri.__wrapped__(text) == text
        assert is_valid_syntax_iri(text)


@given(st.text(min_size=1))
def test_a_segment_is_one_segment(key: str) -> None:
    try:
        made = segment(key)
    except IriError:
        return

    assert document_iri(BASE, f"object/{made}") == f"{BASE}object/{made}"
    assert key_of(BASE, f"{BASE}object/{made}").count("/") == 1


@given(st.text(min_size=1), st.text(min_size=1))
def test_two_keys_two_segments(one: str, other: str) -> None:
    try:
        same = segment(one) == segment(other)
    except IriError:
        return

    assert same == (normalize("NFC", one) == normalize("NFC", other))
