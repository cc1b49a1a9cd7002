"""What a profile says of a source, as plain data."""

from dataclasses import dataclass
from typing import Any

from lodpipe.records import Place


@dataclass(frozen=True, slots=True)
class Look:
    """What the values of a column look like.

    Attributes:
        kind: `empty`, `constant`, `key` (always there, always different), `link`, `date`,
            `number`, `doubt` (says how sure it is), `nobody` (in particular), `list` (several in
            one text), `repeated` (several in one record) or `terms` (few, again and again).
        share: of 1, how many of the values bear it out.
        words: the same for a person: `92 % read as dates`.
        sign: of a list, what parts its values.
    """

    kind: str
    share: float
    words: str
    sign: str = ""


@dataclass(frozen=True, slots=True)
class Caution:
    """Something about a column that ought to be looked at, with its first place."""

    kind: str
    column: str
    count: int
    message: str
    hint: str
    value: str = ""
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class ColumnProfile:
    """One column: how full, how varied, what it looks like.

    Attributes:
        distinct: different values; `more`: there are more than that.
        samples: the most frequent values, each with how often it comes.
        terms: all values, where they are few: what a vocabulary table needs.
    """

    name: str
    records: int
    values: int
    distinct: int
    more: bool
    longest: int
    most: int
    looks: tuple[Look, ...]
    samples: tuple[tuple[str, int], ...]
    terms: tuple[tuple[str, int], ...] = ()

    def look(self, kind: str) -> Look | None:
        """Return the look of that kind, where the column has it."""
        return next((look for look in self.looks if look.kind == kind), None)


@dataclass(frozen=True, slots=True)
class Profile:
    """One source as it is, before anything is mapped.

    Attributes:
        options: what it was read with that the file itself does not declare: `records`,
            `delimiter`, `sheet`, `encoding`, and prefixes of `namespaces`.
        parallels: separator and columns whose parts belong together.
        repeated: records that are equal to an earlier one in every value.
        space: the namespace of XML records.
    """

    file: str
    form: str
    records: int
    unreadable: int
    options: dict[str, str]
    namespaces: dict[str, str]
    columns: tuple[ColumnProfile, ...]
    parallels: tuple[tuple[str, tuple[str, ...]], ...] = ()
    cautions: tuple[Caution, ...] = ()
    repeated: int = 0
    space: str = ""

    def data(self) -> dict[str, Any]:
        """Return the profile as plain values for `--json`."""
        return {
            "file": self.file,
            "form": self.form,
            "records": self.records,
            "unreadable": self.unreadable,
            "repeated": self.repeated,
            "read_with": {
                **self.options,
                **({"namespaces": self.namespaces} if self.namespaces else {}),
            },
            "columns": [
                {
                    "name": one.name,
                    "records": one.records,
                    "values": one.values,
                    "distinct": one.distinct,
                    "more_distinct": one.more,
                    "longest": one.longest,
                    "most_in_a_record": one.most,
                    "looks": [
                        {"kind": look.kind, "share": round(look.share, 4), "words": look.words}
                        for look in one.looks
                    ],
                    "samples": [{"value": value, "count": count} for value, count in one.samples],
                }
                for one in self.columns
            ],
            "parallel": [
                {"separator": sign, "columns": list(names)} for sign, names in self.parallels
            ],
            "cautions": [
                {
                    "kind": one.kind,
                    "column": one.column,
                    "count": one.count,
                    "message": one.message,
                    "hint": one.hint,
                    "value": one.value,
                    "place": None if one.place is None else str(one.place),
                }
                for one in self.cautions
            ],
        }
