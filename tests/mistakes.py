"""Sixty typical mistakes of a new user, each a change of a small project that is right.

They were collected from what people do with spreadsheets, CSV, YAML and EDTF (common practice, no
source). Each is told in one message: what is wrong, where, what to do.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import openpyxl
from test_pipeline import HEADER, MAPPING, PROJECT, ROWS

Change = Callable[[Path], object]

CLAIMS = """\
claim,about,aspect,role,value,qualifier,standing,by,on,basis,sources
c1,object/2,maker,photographer,person/korvath,possibly,current,person/vey,2024-03-11,Same camera position.,text/diary
"""
PEOPLE = (
    "key,name,born,died\nperson/vey,Jonas Vey,1838,1897\nperson/korvath,Anselm Korvath,1829,1890\n"
)
WHERE = "key,who,place,when,presence,sources\nw1,person/korvath,hessendal,1870-06/1871-05,at,text/diary\n"
PLACES = "key,name\nhessendal,Hessendal\n"
SOURCES = "key,citation\ntext/diary,Diary of the Upper Section\n"
ACCESS = "key,access\n"
RIGHT_MAPPING = (
    MAPPING.replace('    _label: "{by}"', '    _label: "{name}"')
    .replace('content: "{by}"', 'content: "{name}"')
    .replace(
        "    on: Page",
        """    on: Page
    name:
      choose:
        - {when: {by: vey}, is: Jonas Vey}
        - {when: {by: korvath}, is: Anselm Korvath}
        - {when: {by: dolen}, is: Mira Dolen}""",
    )
)
RIGHT_ROWS = [line.replace("1872-02", "February 1872") for line in ROWS]
FILES = {
    "lodpipe.toml": PROJECT + '[check]\nmost_losses = "100 %"\n',
    "items.yaml": RIGHT_MAPPING,
    "items.csv": HEADER + "".join(RIGHT_ROWS),
    "evidence/claims.csv": CLAIMS,
    "evidence/people.csv": PEOPLE,
    "evidence/whereabouts.csv": WHERE,
    "evidence/places.csv": PLACES,
    "evidence/sources.csv": SOURCES,
    "evidence/access.csv": ACCESS,
}


@dataclass(frozen=True)
class Mistake:
    """What somebody did, and how to do it to the project."""

    name: str
    change: Change


def write(folder: Path) -> None:
    """Write the project that is right."""
    for name, text in FILES.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")


def put(file: str, old: str, new: str) -> Change:
    def change(folder: Path) -> None:
        text = (folder / file).read_text(encoding="utf-8")
        assert old in text, (file, old)
        (folder / file).write_text(text.replace(old, new, 1), encoding="utf-8")

    return change


def toml(old: str, new: str) -> Change:
    return put("lodpipe.toml", old, new)


def rows(old: str, new: str) -> Change:
    return put("items.csv", old, new)


def mapping(old: str, new: str) -> Change:
    return put("items.yaml", old, new)


def claims(old: str, new: str) -> Change:
    return put("evidence/claims.csv", old, new)


def raw(file: str, body: bytes) -> Change:
    return lambda folder: (folder / file).write_bytes(body)


def sheet(folder: Path) -> None:
    """The catalogue as a spreadsheet whose dates the program has turned into days."""
    import datetime

    book = openpyxl.Workbook()
    page = book.active
    assert page is not None
    for line in (HEADER, *RIGHT_ROWS):
        page.append(line.rstrip("\n").split(","))
    page["C4"] = datetime.date(1872, 2, 14)
    book.save(folder / "items.xlsx")
    toml('file = "items.csv"', 'file = "items.xlsx"')(folder)


MISTAKES = [
    # the project file
    Mistake("no base", toml('base = "https://collections.example.org/"\n', "")),
    Mistake("base without slash", toml("example.org/", "example.org")),
    Mistake("base without scheme", toml("https://collections", "collections")),
    Mistake("access not declared", toml('[access]\ndefault = "open"\n', "")),
    Mistake("access misspelt", toml('"open"', '"opne"')),
    Mistake("unknown setting", toml("dated =", "datted =")),
    Mistake("unknown section", toml("[access]", "[acess]")),
    Mistake("text without quotes", toml('mapping = "items.yaml"', "mapping = items.yaml")),
    Mistake("smart quotes in the project", toml('"items.csv"', "\u201citems.csv\u201d")),
    Mistake("name that is no table", toml('{en = "Highland Railway Library"}', '"Library"')),
    Mistake("wrong file name", toml("items.csv", "item.csv")),
    Mistake("wrong mapping name", toml("items.yaml", "item.yaml")),
    Mistake("a mapping that does not ship", toml('"items.yaml"', '"builtin:tate-object.yaml"')),
    Mistake("claims without a day", toml('dated = "2026-01-30"\n', "")),
    Mistake("day that is none", toml("2026-01-30", "30.1.2026")),
    Mistake("losses without percent", toml('"100 %"', '"plenty"')),
    Mistake("output that there is not", toml("[access]", '[export]\noutputs = ["linked-arts"]\n[access]')),
    # the table
    Mistake("semicolons", lambda f: raw("items.csv", (HEADER + "".join(RIGHT_ROWS)).replace(",", ";").encode())(f)),
    Mistake("tabs", lambda f: raw("items.csv", (HEADER + "".join(RIGHT_ROWS)).replace(",", "\t").encode())(f)),
    Mistake("not UTF-8", lambda f: raw("items.csv", (HEADER + "".join(RIGHT_ROWS)).replace("Camp", "C\u00e4mp").encode("cp1252"))(f)),
    Mistake("empty file", raw("items.csv", b"")),
    Mistake("header alone", raw("items.csv", HEADER.encode())),
    Mistake("title above the table", rows(HEADER, "Album of the Upper Section,,,,,\n\n" + HEADER)),
    Mistake("renamed column", rows("Maker", "Photographer")),
    Mistake("column twice", rows("Sure,Page", "Sure,Sure,Page")),
    Mistake("comma in a title", rows("Snow shed", "Snow shed, half built")),
    Mistake("quote that does not close", rows("Snow shed", '"Snow shed')),
    Mistake("key twice", rows("\n3,", "\n2,")),
    Mistake("key left out", rows("\n3,", "\n,")),
    Mistake("key with dots", rows("\n3,", "\n../3,")),
    Mistake("new column", lambda f: raw("items.csv", "".join(line.rstrip("\n") + ("," + ("Shelf" if not n else "A4")) + "\n" for n, line in enumerate((HEADER, *RIGHT_ROWS))).encode())(f)),
    Mistake("month and day", rows("February 1872,", "3/4/72,")),
    Mistake("spreadsheet number for a date", rows("February 1872,", "26299,")),
    Mistake("EDTF slip", rows("February 1872,", "1872-13,")),
    Mistake("backward interval", rows("1873/1883", "1883/1873")),
    Mistake("typed date cells", sheet),
    Mistake("qualifier misspelt", rows("attributed to", "atributed to")),
    Mistake("page that there is not", rows("dolen,attributed to,album", "dolen,attributed to,albun")),
    Mistake("thing inside itself", rows("vey,,\n", "vey,,album\n")),
    Mistake("damaged letters", rows("Snow shed", "Schneed\u00c3\u00a4cher")),
    Mistake("control sign", rows("Snow shed", "Snow\x07shed")),
    # the mapping
    Mistake("YAML indentation", mapping("    no: No\n", "   no: No\n")),
    Mistake("tab in YAML", mapping("  key: no", "\tkey: no")),
    Mistake("placeholder without quotes", mapping('_label: "{title}"', "_label: {title}")),
    Mistake("field that there is not", mapping('_label: "{title}"', '_label: "{titel}"')),
    Mistake("key that Linked Art has not", mapping("produced_by", "produced")),
    Mistake("class that there is not", mapping("type: HumanMadeObject", "type: ManMadeObject")),
    Mistake("term that there is not", mapping("{term: photograph}", "{term: photografph}")),
    Mistake("role that there is not", mapping("role: exposure", "role: exposition")),
    Mistake("aspect that there is not", mapping("aspect: maker", "aspect: makre")),
    Mistake("no key", mapping("  key: no\n", "")),
    Mistake("as something unknown", mapping("as: date", "as: dates")),
    Mistake("pattern that is none", mapping("title: Title", 'title: {from: Title, pattern: "(?P<a>["}')),
    # evidence
    Mistake("wrong standing", claims(",current,", ",curent,")),
    Mistake("claim about nothing", claims("object/2", "object/22")),
    Mistake("claim without grounds", claims("Same camera position.,text/diary", ",")),
    Mistake("claim of nobody", claims("current,person/vey", "current,")),
    Mistake("claim day that is none", claims("2024-03-11", "11.3.2024")),
    Mistake("unknown source", claims("text/diary", "text/dairy")),
    Mistake("column of the ledger misspelt", claims("qualifier", "qualifer")),
    Mistake("died before born", put("evidence/people.csv", "1838,1897", "1897,1838")),
    Mistake("whereabouts backward", put("evidence/whereabouts.csv", "1870-06/1871-05", "1871-05/1870-06")),
    Mistake("place that there is not", put("evidence/whereabouts.csv", "hessendal", "hesendal")),
    Mistake("access value misspelt", put("evidence/access.csv", "key,access\n", "key,access\nobject/2,witheld\n")),
    Mistake("withheld key misspelt", put("evidence/access.csv", "key,access\n", "key,access\nobject/222,withheld\n")),
    Mistake("evidence file misspelt", lambda f: (f / "evidence/people.csv").rename(f / "evidence/peple.csv")),
]  # fmt: skip
