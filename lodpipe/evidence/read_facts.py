"""Reading the fact files, and what of them cannot be true by itself."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Protocol, TypeVar

from lodpipe.evidence.cells import Cells
from lodpipe.evidence.columns import Folder
from lodpipe.evidence.facts import (
    ALL_DAY,
    AT,
    NOT_AT,
    Authority,
    Being,
    DatableThing,
    Evidence,
    Location,
    Membership,
    Order,
    Process,
    Stay,
)
from lodpipe.findings import Finding, Report
from lodpipe.records import Place

OLDEST = 125 * 366
"""Days that no person has been known to live; from memory, the record is 122 years."""


class Fact(Protocol):
    """Any row of the evidence."""

    @property
    def place(self) -> Place:
        """Return where the row stands."""


F = TypeVar("F", bound=Fact)


def read_facts(folder: Folder) -> Evidence:
    """Return the facts of the evidence folder; report every row that cannot be used."""
    people = _unique(_all(folder, "people", _being), "key", folder.report)
    places = _unique(_all(folder, "places", _location), "key", folder.report)
    membership = _all(folder, "membership", _membership)
    _report_circles({p.key: (p.within, p.place) for p in places}, "within", folder.report)
    parties: dict[str, tuple[tuple[str, ...], Place]] = {}
    for row in membership:
        known, place = parties.get(row.who, ((), row.place))
        parties[row.who] = ((*known, row.party), place)
    _report_circles(parties, "party", folder.report)
    return Evidence(
        people=people,
        membership=membership,
        whereabouts=_unique(_all(folder, "whereabouts", _stay), "key", folder.report),
        places=places,
        things=_all(folder, "things", _thing),
        processes=_all(folder, "processes", _process),
        order=_all(folder, "order", _order),
        sources=_unique(_all(folder, "sources", _authority), "key", folder.report),
    )


def _all(folder: Folder, stem: str, make: Callable[[Cells], F]) -> tuple[F, ...]:
    facts = []
    for record in folder.rows(stem):
        cells = Cells(record, folder.report, "fact")
        fact = make(cells)
        if not cells.bad:
            facts.append(fact)
    return tuple(facts)


def _unique(facts: Sequence[F], attribute: str, report: Report) -> tuple[F, ...]:
    """Return the facts whose key no earlier one has; an empty key is no key."""
    seen: dict[str, F] = {}
    kept = []
    for fact in facts:
        key = getattr(fact, attribute)
        if key and key in seen:
            place = fact.place.at(attribute)
            message = f"the key `{key}` stands in an earlier row, {seen[key].place}"
            report(Finding("fact", message, place, value=key, hint="give each row its own key"))
            continue
        seen[key] = fact
        kept.append(fact)
    return tuple(kept)


def _being(cells: Cells) -> Being:
    being = Being(
        key=cells.needed("key"),
        name=cells.needed("name"),
        kind=cells.word("kind", ("person", "group"), "person"),
        born=cells.edtf("born"),
        died=cells.edtf("died"),
        active=cells.edtf("active"),
        sources=cells.keys("sources"),
        born_sources=cells.keys("born_sources"),
        died_sources=cells.keys("died_sources"),
        notes=cells.text("notes"),
        place=cells.place,
    )
    if being.born and being.died:
        _check_life(being, cells)
    return being


def _check_life(being: Being, cells: Cells) -> None:
    assert being.born
    assert being.died
    first, last = being.born.earliest, being.died.latest
    if first is not None and last is not None and last < first:
        cells.fault(f"`{being.name}` died, {being.died}, before the birth, {being.born}", "died")
    youngest, died = being.born.latest, being.died.earliest
    if (
        being.kind == "person"
        and youngest is not None
        and died is not None
        and died - youngest > OLDEST
    ):
        cells.fault(
            f"`{being.name}` would have lived more than {OLDEST // 366} years, from {being.born} "
            f"to {being.died}",
            "died",
            "look at both dates, or write `kind` as `group`",
        )


def _membership(cells: Cells) -> Membership:
    return Membership(
        who=cells.needed("who"),
        party=cells.needed("party"),
        when=cells.edtf("when"),
        sources=cells.keys("sources"),
        place=cells.place,
    )


def _stay(cells: Cells) -> Stay:
    cells.needed("when")
    when = cells.edtf("when")
    stay = Stay(
        key=cells.text("key"),
        who=cells.needed("who"),
        where=cells.needed("place"),
        when=when,  # type: ignore[arg-type]  # None only in a row that is not used
        presence=cells.word("presence", (AT, ALL_DAY, NOT_AT), AT),
        event=cells.text("event"),
        sources=cells.keys("sources"),
        note=cells.text("note"),
        place=cells.place,
    )
    if stay.presence == NOT_AT and not stay.sources:
        cells.fault(
            "`not at` needs a source: nothing follows from nobody having seen them",
            "sources",
            "name the source that says that they had left, or had not come yet",
        )
    return stay


def _location(cells: Cells) -> Location:
    location = Location(
        key=cells.needed("key"),
        name=cells.needed("name"),
        former_names=cells.keys("former_names"),
        within=cells.keys("within"),
        near=cells.keys("near"),
        latitude=cells.number("latitude", -90, 90),
        longitude=cells.number("longitude", -180, 180),
        sources=cells.keys("sources"),
        place=cells.place,
    )
    if (location.latitude is None) != (location.longitude is None) and not cells.bad:
        cells.fault("latitude and longitude go together", "latitude")
    return location


def _thing(cells: Cells) -> DatableThing:
    cells.needed("exists")
    exists = cells.edtf("exists")
    return DatableThing(
        thing=cells.needed("thing"),
        exists=exists,  # type: ignore[arg-type]  # None only in a row that is not used
        sources=cells.keys("sources"),
        place=cells.place,
    )


def _process(cells: Cells) -> Process:
    process = Process(
        process=cells.needed("process"),
        first=cells.edtf("from"),
        last=cells.edtf("to"),
        region=cells.text("region"),
        width=cells.number("width", 0.001),
        height=cells.number("height", 0.001),
        tolerance=cells.number("tolerance", 0),
        sources=cells.keys("sources"),
        place=cells.place,
    )
    first, last = process.first, process.last
    if first and last and first.earliest and last.latest and last.latest < first.earliest:
        cells.fault(f"the process ended, {last}, before it began, {first}", "to")
    if (process.width is None) != (process.height is None) and not cells.bad:
        cells.fault("width and height go together", "width")
    return process


def _order(cells: Cells) -> Order:
    order = Order(
        before=cells.needed("before"),
        after=cells.needed("after"),
        min_days=cells.whole("min_days", 0),
        max_days=cells.whole("max_days", 0),
        sources=cells.keys("sources"),
        place=cells.place,
    )
    low, high = order.min_days or 0, order.max_days
    if high is not None and high < low:
        cells.fault(f"at most {high} days is less than at least {low}", "max_days")
    return order


def _authority(cells: Cells) -> Authority:
    withdrawn = cells.text("withdrawn")
    if withdrawn.lower() not in ("", "yes", "no"):
        cells.edtf("withdrawn")  # the day of the withdrawal says it too
    return Authority(
        key=cells.needed("key"),
        citation=cells.needed("citation"),
        kind=cells.text("kind"),
        date=cells.edtf("date"),
        url=cells.text("url"),
        withdrawn=withdrawn.lower() not in ("", "no"),
        place=cells.place,
    )


def circles(links: Mapping[str, Iterable[str]]) -> list[tuple[str, ...]]:
    """Return the circles of a directed graph, each from its least key, once.

    Every key that lies on a circle is in one of them; where circles share keys, not every circle
    is listed.

    >>> circles({"a": ["b"], "b": ["a"], "c": ["a"], "d": ["d"]})
    [('a', 'b'), ('d',)]
    """
    found: set[tuple[str, ...]] = set()
    done: set[str] = set()
    for start in sorted(links):
        path: list[str] = []
        waiting: list[tuple[str, bool]] = [(start, True)]
        on_path: dict[str, int] = {}
        while waiting:
            key, entering = waiting.pop()
            if not entering:
                path.pop()
                del on_path[key]
                done.add(key)
            elif key in on_path:
                circle = path[on_path[key] :]
                least = circle.index(min(circle))
                found.add(tuple(circle[least:] + circle[:least]))
            elif key not in done:
                on_path[key] = len(path)
                path.append(key)
                waiting.append((key, False))
                waiting.extend((other, True) for other in sorted(links.get(key, ()), reverse=True))
    return sorted(found)


def _report_circles(
    links: Mapping[str, tuple[Iterable[str], Place]], column: str, report: Report
) -> None:
    for circle in circles({key: others for key, (others, _) in links.items()}):
        way = " in ".join(f"`{key}`" for key in (*circle, circle[0]))
        place = links[circle[0]][1].at(column)
        hint = "take one of the rows out"
        report(Finding("fact", f"the circle {way} cannot be", place, value=circle[0], hint=hint))
