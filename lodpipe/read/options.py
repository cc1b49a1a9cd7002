"""What a project and a mapping say about how a source is to be read."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """How to read one source; empty means: as the name of the file and its content say.

    Attributes:
        format: a key of `FORMATS`; else the ending of the file decides.
        encoding: of text files; else a byte order mark, or UTF-8.
        delimiter: of CSV; else `,` for `.csv`, tab for `.tsv`.
        sheet: of XLSX; else the first.
        records: where the records are: JSONPath or XPath.
        namespaces: prefix to IRI, for `records` in XML.
        text_columns: columns of keys and EDTF dates, where XLSX cells must be text.
    """

    format: str = ""
    encoding: str = ""
    delimiter: str = ""
    sheet: str = ""
    records: str = ""
    namespaces: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    text_columns: frozenset[str] = frozenset()
