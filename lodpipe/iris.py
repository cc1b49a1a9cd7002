"""IRIs and language tags: the only place where either is made, and where both are checked.

IRIs follow RFC 3987 <https://www.rfc-editor.org/rfc/rfc3987> (and, for what we make ourselves,
the ASCII subset of it that is RFC 3986); language tags follow BCP 47, that is RFC 5646
<https://www.rfc-editor.org/rfc/rfc5646>. Everything that cannot be published is refused here,
before it is written anywhere: the libraries that write RDF warn about a bad IRI and go on.
"""

import re
import unicodedata
from functools import lru_cache
from urllib.parse import quote, unquote

from lodpipe.errors import IriError

_UCS = (
    "\xa0-\ud7ff\uf900-\ufdcf\ufdf0-\uffef"
    + "".join(f"{chr(plane)}-{chr(plane + 0xFFFD)}" for plane in range(0x10000, 0xE0000, 0x10000))
    + "\U000e1000-\U000efffd"
)  # ucschar of RFC 3987 section 2.2
_PRIVATE = "\ue000-\uf8ff\U000f0000-\U000ffffd\U00100000-\U0010fffd"  # iprivate: queries only
_UNRESERVED = rf"A-Za-z0-9\-._~{_UCS}"
_SUB = r"!$&'()*+,;="
_ENCODED = "%[0-9A-Fa-f]{2}"
_PCHAR = rf"(?:[{_UNRESERVED}{_SUB}:@]|{_ENCODED})"
_OCTET = r"(?:25[0-5]|2[0-4]\d|1\d\d|[1-9]?\d)"
_IPV4 = rf"{_OCTET}(?:\.{_OCTET}){{3}}"
_H16 = "[0-9A-Fa-f]{1,4}"
_LS32 = f"(?:{_H16}:{_H16}|{_IPV4})"
_IPV6 = "|".join(
    (
        rf"(?:{_H16}:){{6}}{_LS32}",
        rf"::(?:{_H16}:){{5}}{_LS32}",
        rf"(?:{_H16})?::(?:{_H16}:){{4}}{_LS32}",
        rf"(?:(?:{_H16}:){{0,1}}{_H16})?::(?:{_H16}:){{3}}{_LS32}",
        rf"(?:(?:{_H16}:){{0,2}}{_H16})?::(?:{_H16}:){{2}}{_LS32}",
        rf"(?:(?:{_H16}:){{0,3}}{_H16})?::{_H16}:{_LS32}",
        rf"(?:(?:{_H16}:){{0,4}}{_H16})?::{_LS32}",
        rf"(?:(?:{_H16}:){{0,5}}{_H16})?::{_H16}",
        rf"(?:(?:{_H16}:){{0,6}}{_H16})?::",
    )
)
_HOST = (
    rf"(?:\[(?:{_IPV6}|v[0-9A-Fa-f]+\.[A-Za-z0-9\-._~{_SUB}:]+)\]"
    rf"|(?:[{_UNRESERVED}{_SUB}]|{_ENCODED})*)"
)
_AUTHORITY = rf"(?:(?:[{_UNRESERVED}{_SUB}:]|{_ENCODED})*@)?{_HOST}(?::\d*)?"
_IRI = re.compile(
    r"(?P<scheme>[A-Za-z][A-Za-z0-9+\-.]*):"
    rf"(?://(?P<authority>{_AUTHORITY})(?:/{_PCHAR}*)*"
    rf"|/(?:{_PCHAR}+(?:/{_PCHAR}*)*)?"
    rf"|{_PCHAR}+(?:/{_PCHAR}*)*"
    r"|)"
    rf"(?:\?(?:{_PCHAR}|[/?{_PRIVATE}])*)?"
    rf"(?:\#(?:{_PCHAR}|[/?])*)?",
    re.ASCII,
)
_PLAIN = re.compile(
    r"https?://[A-Za-z0-9\-.]+(?::\d+)?(?:/[A-Za-z0-9\-._~/,:@]*(?:%[0-9A-Fa-f]{2}[A-Za-z0-9\-._~/]*)*)?"
    r"(?:#[A-Za-z0-9\-._~]*)?",
    re.ASCII,
)  # what nearly every IRI of ours looks like: one match instead of two and a look at the host
_STRANGE = re.compile(rf"[^{_UNRESERVED}{_SUB}{_PRIVATE}:/?#\[\]@%]|%(?![0-9A-Fa-f]{{2}})")
_SAFE = re.compile(r"\w(?:[\w .,;()+='!@&~\-]*[^ .])?")
"""A file name that every usual file system takes as it stands."""
_DOTS = (".", "..")
MOST_OCTETS = 200
"""Length of an encoded key: file systems take names of 255, and `.json` or the like is added."""

# Section 2.1 of RFC 5646; the order of the alternatives is that of its grammar.
_TAG = re.compile(
    r"(?P<language>[a-z]{2,3}(?:-[a-z]{3}){0,3}|[a-z]{4}|[a-z]{5,8})"
    r"(?:-(?P<script>[a-z]{4}))?"
    r"(?:-(?P<region>[a-z]{2}|\d{3}))?"
    r"(?P<variants>(?:-(?:[a-z0-9]{5,8}|\d[a-z0-9]{3}))*)"
    r"(?P<extensions>(?:-[a-wyz0-9](?:-[a-z0-9]{2,8})+)*)"
    r"(?:-x(?:-[a-z0-9]{1,8})+)?"
    r"|x(?:-[a-z0-9]{1,8})+",
    re.ASCII | re.IGNORECASE,
)
_IRREGULAR_AND_REGULAR = (
    "en-GB-oed i-ami i-bnn i-default i-enochian i-hak i-klingon i-lux i-mingo i-navajo i-pwn "
    "i-tao i-tay i-tsu sgn-BE-FR sgn-BE-NL sgn-CH-DE "
    "art-lojban cel-gaulish no-bok no-nyn zh-guoyu zh-hakka zh-min zh-min-nan zh-xiang"
)
_GRANDFATHERED = {tag.lower(): tag for tag in _IRREGULAR_AND_REGULAR.split()}


def segment(key: str) -> str:
    """Return a key as one segment of a path, percent-encoded.

    Letters and digits of ASCII and `-._~` (unreserved, RFC 3986 section 2.3) stay, everything
    else becomes UTF-8 octets in percent-encoding; composed and decomposed spellings of a letter
    give one segment (Unicode NFC, RFC 3987 section 5.3.2.2).

    Args:
        key: a key as the source writes it: `HRL 1866.1.12a`, `12/3`, `Fjärd 4`.

    Raises:
        IriError: empty, with a control character, or with a part that is `.` or `..`: servers and
            file systems would climb up from it (RFC 3986 section 5.2.4), encoded or not; or too
            long for the name of a file.

    >>> segment("HRL 12/3")
    'HRL%2012%2F3'
    """
    if not key or key.isspace():
        raise IriError(f"`{key}` is empty and cannot be a key", hint="give the record a key")
    for part in re.split(r"[/\\]", unquote(key)):
        if part.strip() in _DOTS:
            raise IriError(
                f"the key `{key}` has a part `{part}`, which means another folder",
                hint="give the record a key without it",
            )
    for character in key:
        if unicodedata.category(character) in ("Cc", "Cs"):
            raise IriError(f"the key {key!r} has the character {_name(character)}")
    encoded = quote(unicodedata.normalize("NFC", key), safe="")
    if len(encoded) > MOST_OCTETS:
        raise IriError(
            f"the key `{key[:40]}...` is too long: {len(encoded)} octets of the {MOST_OCTETS} allowed",
            hint="take a shorter key, or a part of this one with `pattern`",
        )
    return encoded


def file_name(path: str) -> str:
    """Return the file of a path of an IRI, where a web server looks for it.

    Servers decode a path before they look for the file (RFC 3986 section 2.4). A segment that
    holds what file systems forbid or read as something else stays as it is in the IRI, and so
    does one with a `%` of its own: no two paths come to one file. File systems that fold case
    still make one of two keys that differ only in that.

    >>> file_name("object/20344012%2CT.json"), file_name("object/12%2F3.json")
    ('object/20344012,T.json', 'object/12%2F3.json')
    """
    return "/".join(
        plain if _SAFE.fullmatch(plain := unquote(part)) else part for part in path.split("/")
    )


def file_link(path: str) -> str:
    """Return a path of an IRI as a relative link to its file: a `%` in the name is encoded once more.

    >>> file_link("object/20344012%2CT.json"), file_link("object/12%2F3.json")
    ('object/20344012%2CT.json', 'object/12%252F3.json')
    """
    return "/".join(
        part if _SAFE.fullmatch(unquote(part)) else part.replace("%", "%25")
        for part in path.split("/")
    )


def document_iri(base: str, path: str) -> str:
    """Return the IRI of a document: the base and a path of encoded segments.

    Args:
        base: the base of the site, which ends in `/`.
        path: `object/item-0101`; each key in it has gone through `segment`.

    Raises:
        IriError: a segment that is empty, `.` or `..`, a query or a fragment, a bad character.

    >>> document_iri("https://collections.example.org/", "object/item-0101")
    'https://collections.example.org/object/item-0101'
    """
    for part in path.split("/"):
        if unquote(part) in ("", *_DOTS):
            raise IriError(f"the path `{path}` has a segment `{part}`")
    if "?" in path or "#" in path:
        raise IriError(f"the path `{path}` has a query or a fragment")
    return check_iri(base + path)


@lru_cache(maxsize=4096)
def check_iri(text: str) -> str:
    """Return an absolute IRI (RFC 3987 section 2.2, a fragment allowed) as it is.

    Raises:
        IriError: relative, a character that no IRI has (the message names it), or another fault
            of the grammar; an http or https IRI without host (RFC 9110 section 4.2).
    """
    if is_plain(text):
        return text
    strange = _STRANGE.search(text)
    if strange is not None:
        what = strange.group()
        raise IriError(
            f"`{text}` is not an IRI: {_name(what)} at character {strange.start() + 1}",
            hint="write %25 for a percent sign" if what == "%" else _cure(what),
        )
    match = _IRI.fullmatch(text)
    if match is None:
        scheme = re.match(r"[A-Za-z][A-Za-z0-9+\-.]*:", text)
        why = "its form is wrong" if scheme else "it does not begin with a scheme such as `https:`"
        raise IriError(f"`{text}` is not an absolute IRI: {why}")
    if match["scheme"].lower() in ("http", "https") and not _host(match["authority"]):
        raise IriError(f"`{text}` is not an absolute IRI: it names no host")
    return text


def is_plain(text: str) -> bool:
    """Return whether a text is an IRI of the usual kind: http, host, path; no query, all ASCII.

    A quick yes; a no says nothing, then `check_iri` decides.
    """
    return _PLAIN.fullmatch(text) is not None


def check_language(tag: str) -> str:
    """Return a language tag in the case that RFC 5646 section 2.1.1 recommends.

    Args:
        tag: `en`, `de-CH`, `sr-latn`, `qtv` (private use), `x-teveli`.

    Raises:
        IriError: not well-formed (section 2.2.9), or a variant or extension that stands twice.

    >>> check_language("zh-hant-tw")
    'zh-Hant-TW'
    """
    known = _GRANDFATHERED.get(tag.lower())
    if known is not None:
        return known
    match = _TAG.fullmatch(tag)
    if match is None:
        raise IriError(
            f"`{tag}` is not a language tag", hint="write a tag of BCP 47: `en`, `de-CH`"
        )
    variants = match["variants"] or ""
    singletons = re.findall(r"-([a-z0-9])(?=-)", match["extensions"] or "", re.IGNORECASE)
    for kind, found in (("variant", variants.split("-")[1:]), ("extension", singletons)):
        folded = [subtag.lower() for subtag in found]
        for subtag in folded:
            if folded.count(subtag) > 1:
                raise IriError(f"`{tag}` is not a language tag: the {kind} `{subtag}` stands twice")
    return _tag_case(tag)


def key_of(base: str, iri: str) -> str:
    """Return the path of a document under base, or "" for any other IRI or one with a fragment.

    >>> key_of("https://collections.example.org/", "https://collections.example.org/person/dolen")
    'person/dolen'
    """
    if not iri.startswith(base) or "#" in iri or "?" in iri:
        return ""
    return iri[len(base) :]


def _host(authority: str | None) -> str:
    return re.sub(r":\d*$", "", (authority or "").rpartition("@")[2])


def _tag_case(tag: str) -> str:
    first, *parts = tag.lower().split("-")
    small = first == "x"
    for number, part in enumerate(parts):
        small = small or len(part) == 1  # what follows a singleton stays in lower case
        if len(part) == 2 and not small:
            parts[number] = part.upper()
        elif len(part) == 4 and part.isalpha() and not small:
            parts[number] = part.title()
    return "-".join([first, *parts])


def _name(character: str) -> str:
    """Return code point and name of a character, `U+0020 space`; control characters have no name."""
    return f"U+{ord(character[0]):04X} {unicodedata.name(character[0], '').lower()}".rstrip()


def _cure(character: str) -> str:
    if ord(character) in range(0xD800, 0xE000):
        return "the text was damaged before it came here"
    return f"write {quote(character, safe='')} for it"
