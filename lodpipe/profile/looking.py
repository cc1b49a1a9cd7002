"""From the counts of a column to what its values look like, and what is odd about them."""

from collections.abc import Callable, Iterator

from lodpipe.dates import Unread, read
from lodpipe.profile import signs
from lodpipe.profile.columns import Column
from lodpipe.profile.results import Caution, Look

MOST_READ = 2_000
"""Different values of a column that are tried as dates: the most frequent."""
MOST_PART = 40
"""Characters that a part of a list has at most, on average: longer ones are sentences."""
FEW_DOUBTS = 0.02
"""Fewer doubts than this are words such as `after` in a title."""
FEW = 250
"""So many different values, each coming five times on average, are terms."""


def looks_of(column: Column, records: int, doubt: Callable[[str], bool]) -> Iterator[Look]:
    """Yield what a column looks like, the surest first.

    Args:
        records: of the whole source.
        doubt: whether a text says how sure it is of what it names.
    """
    if not column.values:
        yield Look("empty", 1.0, "always empty")
        return
    if column.unique is not None and column.records == records > 1 and column.most == 1:
        yield Look("key", 1.0, "could be the key")
    elif len(column.counts) == 1 and not column.open and column.records > 1:
        yield Look("constant", 1.0, "always the same")
    figures = [*_figures(column), *_date(column)]
    yield from figures
    yield from _lists(column)
    yield from _names(column, doubt)
    distinct = len(column.counts)
    if 1 < distinct <= FEW and not column.open and column.values >= 5 * distinct and not figures:
        yield Look("terms", 1.0, f"{distinct} terms")


def _figures(column: Column) -> Iterator[Look]:
    for kind, pattern, words in (
        ("link", signs.LINK, "web addresses"),
        ("number", signs.NUMBER, "numbers"),
    ):
        share = _share(column, pattern.match)
        if share >= 0.9:
            yield Look(kind, share, _percent(share, words))


def _share(column: Column, test: Callable[[str], object]) -> float:
    """Of the values that are kept, the share that pass a test."""
    kept = sum(column.counts.values())
    return sum(count for text, count in column.counts.items() if test(text)) / kept if kept else 0.0


def _percent(share: float, words: str) -> str:
    return words if share >= 0.9995 else f"{share:.0%} {words}".replace("%", " %")


def _date(column: Column) -> Iterator[Look]:
    """A column of dates: most of its values have a year in them, and can be read."""
    tried = column.most_frequent(MOST_READ)
    total = sum(count for _, count in tried)
    with_year = sum(count for text, count in tried if signs.YEAR.search(text) and len(text) < 60)
    whole = sum(count for text, count in tried if signs.NUMBER.match(text))
    years = sum(count for text, count in tried if signs.WHOLE.match(text) and len(text) == 4)
    if with_year < 0.5 * total or whole > years:
        return
    known = sum(count for text, count in tried if not _unread(text))
    share = known / total
    if share >= 0.5:
        yield Look("date", share, f"{share:.0%} read as dates".replace("%", " %"))


def _unread(text: str) -> bool:
    answer = read(text)
    return isinstance(answer, Unread) and not answer.undated


def _lists(column: Column) -> Iterator[Look]:
    if column.most > 1:
        yield Look("repeated", 1.0, f"up to {column.most} in a record")
        return
    for sign, count in column.separated.most_common(1):
        kept = [text for text in column.counts if sign in text]
        parts = sum(text.count(sign) + 1 for text in kept)
        if count >= 0.05 * column.records and sum(map(len, kept)) < MOST_PART * parts:
            yield list_of(column, sign)


def list_of(column: Column, sign: str) -> Look:
    """Return the look of a column whose values are parted by a sign."""
    shown = sign.strip() or "line ends"
    return Look("list", column.separated[sign] / column.records, f"parted by {shown}", sign)


def _names(column: Column, doubt: Callable[[str], bool]) -> Iterator[Look]:
    if _share(column, signs.WHOLE.match) > 0.5:
        return
    doubted = sum(count for text, count in column.counts.items() if len(text) < 200 and doubt(text))
    if doubted > FEW_DOUBTS * column.values:
        yield Look("doubt", doubted / column.values, f"{doubted:,} with a doubt")
    nobody = sum(count for text, count in column.counts.items() if signs.NOBODY.search(text))
    if nobody and column.longest < 200:
        yield Look("nobody", nobody / column.values, f"{nobody:,} nobody in particular")


def cautions_of(column: Column, looks: tuple[Look, ...]) -> Iterator[Caution]:
    """Yield what somebody ought to look at before this column is mapped."""
    for sign in signs.SIGNS:
        seen = column.signs.get(sign.name)
        if seen is not None:
            yield Caution(
                sign.name, column.name, seen.count, sign.what, sign.cure, seen.value, seen.place
            )
    kinds = {look.kind: look for look in looks}
    new_year = _share(column, signs.NEW_YEAR.match)
    if new_year >= 0.5:
        yield Caution(
            "1 January",
            column.name,
            round(new_year * column.values),
            f"{new_year:.0%} are 1 January: years that a database turned into days".replace(
                "%", " %"
            ),
            'publish the year: `pattern: "^(?P<year>-?\\d{4})-01-01$"`, or read another column',
        )
    serial = _share(column, signs.SERIAL.match)
    if serial >= 0.5 and "date" in column.name.lower():
        yield Caution(
            "spreadsheet days",
            column.name,
            round(serial * column.values),
            "numbers by which a spreadsheet counts days",
            "format the column as text in the spreadsheet, and save again",
        )
    date = kinds.get("date")
    if date is not None and date.share < 1:
        text = next(text for text, _ in column.most_frequent(MOST_READ) if _unread(text))
        yield Caution(
            "unread dates",
            column.name,
            round((1 - date.share) * column.values),
            "texts that cannot be read as a date",
            f"see why: lodpipe date {_quoted(text)}",
            text,
        )


def _quoted(text: str) -> str:
    return '"' + text.replace('"', '\\"') + '"'
