"""Time as a picture: bars on an axis of years, as shares of its width, so that any screen will do.

Every bar has the same words as a link in a list beside it: the picture adds the view of the whole,
and no fact stands in it alone.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lodpipe.dates import parse
from lodpipe.dates.days import civil, day_number
from lodpipe.evidence.facts import Stay
from lodpipe.publish.site.desk import Desk, Link
from lodpipe.wording import fact_words

Span = tuple[int, int]
"""First and last day, as day numbers."""
LANE = 44
"""Height of a lane with its label, in CSS pixels; the axis has another half of it."""
LEAST = 0.35
"""Width of the smallest bar, in percent of the axis: a day of ten years would not be seen."""
MOST_TICKS = 12
LONG = 20 * 365
"""Days; the axis is not made for longer stretches."""
OPEN_END = 365
"""Days drawn of a stretch whose end is not known."""


@dataclass(frozen=True, slots=True)
class Item:
    """One stretch of time: the words for it, where they lead, and how it is drawn."""

    span: Span
    text: str
    href: str
    kind: str = "stay"
    sources: tuple[Link, ...] = ()


@dataclass(frozen=True, slots=True)
class Bar:
    """One stretch of time as drawn: `x` and `width` in percent."""

    x: str
    width: str
    kind: str
    text: str
    href: str


@dataclass(frozen=True, slots=True)
class Lane:
    """One line of bars: `y` of its label in pixels."""

    y: int
    label: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """A picture of time: `ticks` are years with their place in percent; `minor` may be left out."""

    height: int
    ticks: tuple[tuple[str, str, bool], ...]
    lanes: tuple[Lane, ...]


Lanes = Sequence[tuple[str, Sequence["Item"]]]
"""Label and stretches of each lane."""


def chart(lanes: Lanes, beside: Lanes = ()) -> Chart | None:
    """Return the picture of some lanes, None where there is nothing to draw.

    Args:
        beside: what is drawn elsewhere on the page, on the same axis.
    """
    if not any(items for _, items in lanes):
        return None
    first, last = _years([item.span for _, items in (*lanes, *beside) for item in items])
    start, end = day_number(first, 1, 1), day_number(last + 1, 1, 1)
    scale = 100 / (end - start)
    step = max(1, -(-(last + 1 - first) // MOST_TICKS))
    ticks = tuple(
        (_share((day_number(year, 1, 1) - start) * scale), str(year), number % 2 == 1)
        for number, year in enumerate(range(first, last + 1, step))
    )
    drawn = tuple(
        Lane(
            number * LANE + 14,
            label + _beyond([item.span for item in items], start, end),
            tuple(_bar(item, start, end, scale) for item in items),
        )
        for number, (label, items) in enumerate(lane for lane in lanes if lane[1])
    )
    return Chart(len(lanes) * LANE + LANE // 2, ticks, drawn)


def _years(spans: Sequence[Span]) -> tuple[int, int]:
    """Return the first and the last year of the axis.

    Long stretches run beyond it where they would leave no room for the others to be seen.
    """
    short = [span for span in spans if span[1] - span[0] <= LONG] or spans
    low, high = min(low for low, _ in short), max(high for _, high in short)
    if any(span[1] < low or span[0] > high for span in spans):
        low, high = min(low for low, _ in spans), max(high for _, high in spans)
    return civil(low)[0], civil(high)[0]


def _beyond(spans: Sequence[Span], start: int, end: int) -> str:
    """Return the years of stretches that run beyond the axis, for their label; empty for none."""
    if all(start <= low and high < end for low, high in spans):
        return ""
    return f" ({civil(min(low for low, _ in spans))[0]}–{civil(max(high for _, high in spans))[0]})"


def _bar(item: Item, start: int, end: int, scale: float) -> Bar:
    low, high = max(item.span[0], start), min(item.span[1] + 1, end)
    width = max(LEAST, (high - low) * scale)
    return Bar(_share((low - start) * scale), _share(width), item.kind, item.text, item.href)


def stays_of(stays: Iterable[Stay], desk: Desk) -> list[tuple[str, list[Item]]]:
    """Return whereabouts by place, in the order of the first day at each."""
    lanes: dict[str, list[Item]] = {}
    for stay in stays:
        if stay.when.earliest is None and stay.when.latest is None:
            continue
        fact = {
            "kind": "stay",
            "who": stay.who,
            "where": stay.where,
            "when": stay.when.text,
            "presence": stay.presence,
        }
        sources = tuple(desk.link(source) for source in stay.sources)
        href = next((link.href for link in sources if link.href), "") or desk.href(stay.where)
        text = fact_words(fact, desk.name, desk.language)
        span, kind = _drawn(stay)
        lanes.setdefault(stay.where, []).append(Item(span, text, href, kind, sources))
    return [(desk.name(where), items) for where, items in lanes.items()]


def _drawn(stay: Stay) -> tuple[Span, str]:
    """Return which days are drawn, and how: through all of them, on some of them, or not there.

    Of an end that is open, a year is drawn, and the bar looks open.
    """
    low, high = stay.when.earliest, stay.when.latest
    kind = "stay"
    if stay.presence == "not at":
        kind = "absent"
    elif low is None or high is None or (stay.when.form != "interval" and low != high):
        kind = "within"
    if low is None:
        assert high is not None  # one end is known
        low = high - OPEN_END
    return (low, low + OPEN_END if high is None else high), kind


def spans_of(feasible: Iterable[Sequence[str | None]]) -> list[Span]:
    """Return the days of a verdict that have both ends."""
    found = []
    for low, high in feasible:
        if low and high:
            first, last = parse(low).earliest, parse(high).latest
            if first is not None and last is not None:
                found.append((first, last))
    return found


def _share(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
