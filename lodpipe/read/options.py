"""What a project and a mapping say about how a source is to be read."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

PARTITION = 2_000
"""Records of one partition: what is mapped, kept and, where a worker is lost, done again as one."""


@dataclass(frozen=True, slots=True)
class Share:
    """The records of a source that one of several readers takes: every `of`-th partition.

    The first reader, number 0, also tells what is found in the source and belongs to no record.
    `only`: of these partitions; None: of all.
    """

    number: int = 0
    of: int = 1
    size: int = PARTITION
    only: frozenset[int] | None = None

    def partition(self, record: int) -> int:
        """Return the partition, from 0, of a record, from 1."""
        return (record - 1) // self.size

    def has(self, record: int) -> bool:
        """Whether a record, from 1, or what belongs to no record, 0, is in the share."""
        if not record:
            return self.number == 0
        partition = self.partition(record)
        if self.only is not None and partition not in self.only:
            return False
        return partition % self.of == self.number


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
        share: the records that are wanted.
        unparsed: of JSON Lines, the bytes of each line in place of its value.
    """

    format: str = ""
    encoding: str = ""
    delimiter: str = ""
    sheet: str = ""
    records: str = ""
    namespaces: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    text_columns: frozenset[str] = frozenset()
    share: Share = Share()
    unparsed: bool = False
