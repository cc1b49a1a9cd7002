"""MARC: ISO 2709 (https://www.loc.gov/marc/specifications/specrecstruc.html), MARCXML, and the
edge files that two public libraries for MARC test themselves with (pymarc, ruby-marc)."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from lodpipe.errors import LodpipeError, UsageError
from lodpipe.project import Limits
from lodpipe.read import ReadOptions, records
from lodpipe.read.marc import SPACE
from lodpipe.records import Record, Unreadable

OPTIONS = ReadOptions(format="marc", records="//marc:record", namespaces={"marc": SPACE})


def iso(
    *fields: tuple[str, bytes], leader: bytes = b"nkd a2200000 a 4500", **change: bytes
) -> bytes:
    """A record of ISO 2709 with these fields: tag and bytes without the end."""
    directory, data = b"", b""
    for tag, value in fields:
        directory += f"{tag}{len(value) + 1:04}{len(data):05}".encode()
        data += value + b"\x1e"
    base = 24 + len(directory) + 1
    length = base + len(data) + 1
    head = f"{length:05}".encode() + leader[:7] + f"{base:05}".encode() + leader[12:]
    return change.get("head", head) + directory + b"\x1e" + data + b"\x1d"


def utf8(title: bytes) -> bytes:
    return iso(("001", b"7"), ("245", b"10\x1fa" + title), leader=b"nkd a2200000 a 4500")


def marc8(title: bytes) -> bytes:
    return iso(("001", b"7"), ("245", b"10\x1fa" + title), leader=b"nkd  2200000 a 4500")


def read(path: Path, encoding: str = "") -> tuple[list[Record | Unreadable], list[str]]:
    said: list[str] = []
    options = ReadOptions(
        format="marc", records=OPTIONS.records, namespaces=OPTIONS.namespaces, encoding=encoding
    )
    found = records(path, path.name, options, Limits(), lambda f: said.append(f.message))
    return [_titled(one) if isinstance(one, Record) else one for one in found], said


def _titled(one: Record) -> Record:
    """The title in place of the element, which is good only until the next record."""
    title = one.data.xpath("string(*[@tag='245' or @tag='200']/*[@code='a'])")
    return Record((str(title), "".join(one.data.itertext())), one.origin, one.form)


def told(path: Path, encoding: str = "") -> list[str]:
    """Title of each record, or `-` and the reason."""
    found, said = read(path, encoding)
    titles = [one.data[0] if isinstance(one, Record) else f"- {one.reason}" for one in found]
    return titles + [f"! {message}" for message in said]


CASES: list[tuple[str, bytes, str, list[str]]] = [
    ("utf-8", utf8("Schnee über dem Paß".encode()), "", ["Schnee über dem Paß"]),
    ("utf-8, decomposed", utf8("Schnee u\u0308ber".encode()), "", ["Schnee über"]),
    ("not utf-8", utf8(b"Schnee \xfcber"), "", ["- the record is not UTF-8, as its leader says: it holds the byte 0xFC"]),
    ("declared", utf8(b"Schnee \xfcber"), "cp1252", ["Schnee über"]),
    ("marc-8", marc8(b"Schnee \xe8uber"), "", ["Schnee über"]),
    ("marc-8 in greek", marc8(b"\x1bgabc\x1bs and more"), "", ["αβγ and more"]),
    ("utf-8 without the mark", marc8("Schnee über".encode()), "", ["Schnee über", "! the leader says MARC-8, and the record is UTF-8: it is read as UTF-8"]),
    ("cyrillic bytes", marc8("Снег".encode("cp1251")), "", ["- the record is not in MARC-8, as its leader says: `\ufffd\ufffd\ufffd\ufffd` has bytes that MARC-8 does not"]),
    ("cyrillic, declared", marc8("Снег".encode("cp1251")), "cp1251", ["Снег"]),
    ("words that do not count", marc8(b"\x88The \x89snow"), "", ["The snow"]),
    ("two records", utf8(b"one") + b"\r\n" + utf8(b"two") + b"\x1a", "", ["one", "two"]),
    ("a wrong length", utf8(b"one").replace(b"00", b"xx", 1) + utf8(b"two"), "", ["- leader or directory are broken: invalid literal for int() with base 10: 'xx060'", "two"]),
    ("cut off", utf8(b"one") + utf8(b"two")[:-9], "", ["one", "- the record is cut off: its end is missing"]),
    ("control characters", utf8(b"a\x01b"), "", ["- a field holds a control character that no text has"]),
    ("a code beyond ascii", iso(("245", b"10\x1f\xc3a")), "", ["- a subfield has a code that is no ASCII letter or digit"]),
]  # fmt: skip


@pytest.mark.parametrize(
    ("body", "encoding", "found"), [c[1:] for c in CASES], ids=[c[0] for c in CASES]
)
def test_iso_2709(tmp_path: Path, body: bytes, encoding: str, found: list[str]) -> None:
    file = tmp_path / "records.mrc"
    file.write_bytes(body)

    assert told(file, encoding) == found


def test_a_record_is_the_element_that_it_is_in_marcxml(tmp_path: Path) -> None:
    file = tmp_path / "records.mrc"
    file.write_bytes(utf8(b"Snow"))
    [one] = records(file, "records.mrc", OPTIONS, Limits(), lambda finding: None)
    assert isinstance(one, Record)

    assert one.origin.record == 1
    assert one.data.tag == f"{{{SPACE}}}record"
    assert [(node.tag.rpartition("}")[2], dict(node.attrib)) for node in one.data.iter()] == [
        ("record", {}), ("leader", {}), ("controlfield", {"tag": "001"}),
        ("datafield", {"tag": "245", "ind1": "1", "ind2": "0"}), ("subfield", {"code": "a"}),
    ]  # fmt: skip


def test_what_is_no_marc_is_refused(tmp_path: Path) -> None:
    for body, message in (
        (b'{"leader": ""}', "`x.mrc` is MARC in JSON, which is not read"),
        (b"  [{}]", "`x.mrc` is MARC in JSON, which is not read"),
        (b"", "`x.mrc` holds no record of MARC"),
    ):
        (tmp_path / "x.mrc").write_bytes(body)
        with pytest.raises(UsageError) as caught:
            told(tmp_path / "x.mrc")
        assert caught.value.message == message


# --- the edge files: records read, records refused, first title -------------------------------

EDGE = {
    "py__1251.dat": (0, 6, ""), "py__alphatag.dat": (1, 0, "Chemistry experiments for children,"),
    "py__bad_eacc_encoding.dat": (0, 1, ""), "py__bad_indicator.dat": (1, 0, "Aristocrats of color :"),
    "py__bad_marc8_escape.dat": (0, 1, ""), "py__bad_records.mrc": (2, 6, "The pragmatic programmer : "),
    "py__bad_subfield_code.dat": (0, 1, ""), "py__bad_tag.xml": (1, 0, "The Untamed"),
    "py__batch.xml": (2, 0, "The Great Ray Charles"), "py__diacritic.dat": (1, 0, "Amateur media :"),
    "py__marc.dat": (20, 0, "The pragmatic programmer :"), "py__marc8.dat": (1, 0, "Escape from loneliness /"),
    "py__multi_isbn.dat": (1, 0, "The town scold /"), "py__one.dat": (1, 0, "ActivePerl with ASP and ADO /"),
    "py__regression45.dat": (12, 0, "Pokrov, podarennyĭ Dimitrīem Ivanovichem Godunovym. [Ipatʹevskīĭ monastyrʹ, Kostroma]"),
    "py__test.dat": (10, 0, "ActivePerl with ASP and ADO /"),
    "py__testunimarc.dat": (1, 0, "L'altra faccia della spirale"), "py__utf8.xml": (1, 0, "Zen Classics"),
    "py__utf8_errors.dat": (1, 0, "[Imperial military middle school, Ṣanʻāʾ]"),
    "py__utf8_invalid.mrc": (0, 1, ""), "py__utf8_with_leader_flag.dat": (1, 0, "Escape from loneliness /"),
    "py__utf8_without_leader_flag.dat": (1, 0, "Escape from loneliness /"),
    "rb__bad_eacc_encoding.marc8.marc": (0, 1, ""), "rb__batch.dat": (10, 0, "ActivePerl with ASP and ADO /"),
    "rb__batch.xml": (2, 0, "The Great Ray Charles"), "rb__cp866_multirecord.marc": (0, 2, ""),
    "rb__cp866_unimarc.marc": (0, 1, ""), "rb__escaped_character_reference.marc8.marc": (1, 0, ""),
    "rb__marc8_accented_chars.marc": (0, 1, ""), "rb__marc_with_bad_utf8.utf8.marc": (0, 1, ""),
    "rb__messed_up_leader.xml": (1, 0, "Applied ecotoxicology /"), "rb__no-leading-zero.xml": (1, 0, "The Untamed"),
    "rb__non-numeric.dat": (1, 0, "A new kind of history, and other essays /"),
    "rb__non-numeric.xml": (1, 0, "A new kind of history, and other essays /"),
    "rb__one.dat": (1, 0, "ActivePerl with ASP and ADO /"), "rb__one.xml": (1, 0, "The Texas ranger"),
    "rb__random_tag_order.dat": (1, 0, "Blonde on blonde"),
    "rb__random_tag_order2.dat": (1, 0, "Blues on Blonde on blonde"),
    "rb__three-records-second-bad.xml": (1, 1, "The Texas ranger"),
    "rb__utf8.marc": (1, 0, "Photčhanānukrom Čhin Klāng-TǣčhiuʻAngkrit-Thai /"),
    "rb__utf8_multirecord.marc": (2, 0, "Photčhanānukrom Čhin Klāng-TǣčhiuʻAngkrit-Thai /"),
    "rb__utf8_with_bad_bytes.marc": (0, 1, ""),
}  # fmt: skip
REFUSED_WHOLE = ("py__batch.json", "py__one.json", "py__test.json")


def edge_files(reference: Path) -> Iterator[Path]:
    yield from sorted((reference / "data" / "edge" / "marc21").iterdir())


@pytest.mark.reference
def test_every_edge_file_is_read_or_refused(reference: Path) -> None:
    met = {}
    for file in edge_files(reference):
        if file.name in REFUSED_WHOLE:
            with pytest.raises(LodpipeError):
                told(file)
            continue
        found, _ = read(file)
        good = [one.data[0] for one in found if isinstance(one, Record)]
        bad = [one for one in found if isinstance(one, Unreadable)]
        met[file.name] = (len(good), len(bad), good[0] if good else "")
        assert all(one.reason and one.hint for one in bad), file.name

    assert met == EDGE
    assert len(met) + len(REFUSED_WHOLE) == 45


@pytest.mark.reference
def test_no_letter_of_an_edge_file_is_wrong(reference: Path) -> None:
    """No replacement character, no control character, no letters that a wrong encoding makes."""
    for file in edge_files(reference):
        if file.name in REFUSED_WHOLE:
            continue
        for one in read(file)[0]:
            if isinstance(one, Record):
                text = one.data[1]
                assert not any("\x7f" <= letter < "\xa0" for letter in text), file.name
                assert "\ufffd" not in text, file.name
                assert not any(pair in text for pair in ("Ã©", "Ã¼", "â€", "Ð°", "Ñ")), file.name


@pytest.mark.reference
@pytest.mark.parametrize(
    ("name", "encoding", "word"),
    [("py__1251.dat", "cp1251", "Геометрические методы")],
)
def test_a_declared_encoding_is_read(reference: Path, name: str, encoding: str, word: str) -> None:
    found, _ = read(reference / "data" / "edge" / "marc21" / name, encoding)
    texts = " ".join(one.data[1] for one in found if isinstance(one, Record))

    assert all(isinstance(one, Record) for one in found)
    assert word.lower() in texts.lower()
