"""A first look into a source, before any mapping: how full, how varied, what it looks like.

Nothing here is used by a run. What a column looks like is said with the share of values that
bear it out; what it means is for a person to decide.
"""

from collections.abc import Callable
from hashlib import blake2b

from lodpipe.profile.columns import Column, Parallels
from lodpipe.profile.leaves import leaves
from lodpipe.profile.looking import FEW, cautions_of, list_of, looks_of
from lodpipe.profile.results import Caution, ColumnProfile, Look, Profile
from lodpipe.records import Record

__all__ = ["Caution", "ColumnProfile", "Look", "Profile", "Profiler"]

SAMPLES = 5


class Profiler:
    """Takes the records of one source, and says what was in them.

    Args:
        doubt: whether a text says how sure it is of the name that it gives.
        prefixes: IRI -> prefix of XML namespaces that are declared.
    """

    def __init__(self, doubt: Callable[[str], bool], prefixes: dict[str, str]) -> None:
        self._doubt = doubt
        self._prefixes = dict(prefixes)
        self._columns: dict[str, Column] = {}
        self._parallels = Parallels()
        self._records: set[int] = set()
        self._repeated = 0
        self.records = 0
        self.form = ""
        self._space = ""

    def add(self, record: Record) -> None:
        """Count one record."""
        self.records += 1
        self.form = record.form
        if record.form == "xml" and not self._space:
            self._space = record.data.tag[1:].rpartition("}")[0]
        row: dict[str, list[str]] = {}
        for name, text in leaves(record, self._prefixes):
            texts = row.setdefault(name, [])
            if text:
                texts.append(text)
        for name, texts in row.items():
            column = self._columns.get(name)
            if column is None:
                column = self._columns[name] = Column(name)
            column.add(texts, record.origin)
        self._parallels.add(row)
        mark = int.from_bytes(blake2b(repr(row).encode(), digest_size=8).digest())
        if mark in self._records:
            self._repeated += 1
        self._records.add(mark)

    def result(self, file: str, unreadable: int, options: dict[str, str]) -> Profile:
        """Return the profile of what was added.

        Args:
            file: its name. `unreadable`: records that could not be read.
            options: what it was read with.
        """
        profiles: list[ColumnProfile] = []
        cautions: list[Caution] = []
        parallels = self._parallels.groups()
        parted = {name: sign for sign, names in parallels for name in names}
        for column in self._columns.values():
            looks = tuple(looks_of(column, self.records, self._doubt))
            lists = next((look for look in looks if look.kind == "list"), None)
            sign = parted.get(column.name, "") or (lists.sign if lists else "")
            if sign:  # what a list looks like, its parts look like
                column, whole = column.parts(sign), column
                looks = (list_of(whole, sign), *looks_of(column, self.records, self._doubt))
                column.signs = whole.signs
            profiles.append(self._profile(column, looks))
            cautions += cautions_of(column, looks)
        return Profile(
            file=file,
            form=self.form,
            records=self.records,
            unreadable=unreadable,
            options=options,
            namespaces={prefix: iri for iri, prefix in self._prefixes.items()},
            columns=tuple(profiles),
            parallels=tuple(parallels),
            cautions=tuple(cautions),
            repeated=self._repeated,
            space=self._space,
        )

    def _profile(self, column: Column, looks: tuple[Look, ...]) -> ColumnProfile:
        terms = not column.open and len(column.counts) <= FEW
        return ColumnProfile(
            column.name,
            column.records,
            column.values,
            len(column.counts),
            column.open,
            column.longest,
            column.most,
            looks,
            tuple(column.most_frequent(SAMPLES)),
            tuple(column.most_frequent(len(column.counts))) if terms else (),
        )
