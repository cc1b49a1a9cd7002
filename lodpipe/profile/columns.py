"""What is counted of one column (or JSON Pointer, or XPath) while the records go by.

Memory is bounded: values are kept one by one up to `MOST_DISTINCT`, and whether all are different
is found out with eight bytes a value, until the first that comes twice.
"""

from collections import Counter
from dataclasses import dataclass, field
from hashlib import blake2b

from lodpipe.profile.signs import SEPARATORS, signs_of
from lodpipe.records import Place

MOST_DISTINCT = 10_000
KEPT_CHARACTERS = 300


@dataclass(slots=True)
class Seen:
    """How often something suspicious was met, where first, and what stood there."""

    count: int
    place: Place
    value: str


@dataclass(slots=True)
class Column:
    """The counts of one column.

    Attributes:
        records: those in which it holds a value; `values`: how many values in all.
        most: values that it holds in one record, at most.
        counts: value -> how often; `open`: there are more than are kept.
        unique: hashes of the values, None once one came twice.
        signs: name of a suspicious kind -> how often, where first.
        separated: separator -> records in which it stands.
    """

    name: str
    records: int = 0
    values: int = 0
    most: int = 0
    longest: int = 0
    counts: Counter[str] = field(default_factory=Counter)
    open: bool = False
    unique: set[int] | None = field(default_factory=set)
    signs: dict[str, Seen] = field(default_factory=dict)
    separated: Counter[str] = field(default_factory=Counter)

    def add(self, texts: list[str], place: Place) -> None:
        """Count the values of one record, those that are not empty."""
        if not texts:
            return
        self.records += 1
        self.values += len(texts)
        self.most = max(self.most, len(texts))
        for text in texts:
            self._value(text, place)
        for sign in SEPARATORS:
            if any(sign in text for text in texts):
                self.separated[sign] += 1

    def _value(self, text: str, place: Place) -> None:
        self.longest = max(self.longest, len(text))
        kept = text[:KEPT_CHARACTERS]
        if kept in self.counts or len(self.counts) < MOST_DISTINCT:
            self.counts[kept] += 1
        else:
            self.open = True
        if self.unique is not None:
            mark = int.from_bytes(blake2b(text.encode(), digest_size=8).digest())
            if mark in self.unique:
                self.unique = None
            else:
                self.unique.add(mark)
        for sign in signs_of(text):
            seen = self.signs.get(sign.name)
            if seen is None:
                self.signs[sign.name] = Seen(1, place.at(self.name), kept)
            else:
                seen.count += 1

    def parts(self, sign: str) -> "Column":
        """Return the column that the parts of the values make, as far as they are kept."""
        made = Column(self.name, self.records, unique=None, open=self.open)
        for text, count in self.counts.items():
            for part in filter(None, map(str.strip, text.split(sign))):
                made.counts[part] += count
                made.values += count
                made.longest = max(made.longest, len(part))
        made.most = self.most
        return made

    def most_frequent(self, count: int) -> list[tuple[str, int]]:
        """Return the values that come most often, equal ones in their own order."""
        return sorted(self.counts.items(), key=lambda item: (-item[1], item[0]))[:count]


class Parallels:
    """Which columns have equally many parts in every record: lists that belong together."""

    def __init__(self) -> None:
        self._together: Counter[tuple[str, str, str]] = Counter()
        self._apart: Counter[tuple[str, str, str]] = Counter()

    def add(self, row: dict[str, list[str]]) -> None:
        """Look at one record: name of a column -> its values."""
        for sign in SEPARATORS:
            counts = {
                name: texts[0].count(sign)
                for name, texts in row.items()
                if len(texts) == 1 and sign in texts[0]
            }
            names = sorted(counts)
            for number, one in enumerate(names):
                for other in names[number + 1 :]:
                    same = counts[one] == counts[other]
                    (self._together if same else self._apart)[sign, one, other] += 1

    def groups(self) -> list[tuple[str, tuple[str, ...]]]:
        """Return (separator, columns) of at least two columns that agree in 98 of 100 records."""
        near: dict[str, dict[str, set[str]]] = {}
        for (sign, one, other), same in self._together.items():
            if same >= 3 and self._apart[sign, one, other] * 50 <= same:
                near.setdefault(sign, {}).setdefault(one, {one}).add(other)
        found = []
        for sign, groups in sorted(near.items()):
            taken: set[str] = set()
            for first in sorted(groups):
                members = groups[first] - taken
                if first not in taken and len(members) > 1:
                    found.append((sign, tuple(sorted(members))))
                    taken |= members
        return found
