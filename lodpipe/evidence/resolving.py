"""The evidence with IRIs in place of keys; rows that name something unknown are left out."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import TypeVar

from lodpipe.aspects import DATE, IRI, TEXT, Aspects
from lodpipe.errors import IriError
from lodpipe.evidence.facts import (
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
from lodpipe.evidence.keys import (
    ANY,
    BEINGS,
    CONCEPTS,
    GROUPS,
    OBJECTS,
    PLACES,
    TEXTS,
    Entries,
    KeyFault,
    Keys,
)
from lodpipe.findings import Finding, Report
from lodpipe.iris import check_iri, segment
from lodpipe.records import Claim, Entry, Place
from lodpipe.terms import Concepts

Row = TypeVar("Row")


def declared(evidence: Evidence, base: str, objects: bool) -> Iterator[Entry]:
    """Yield an entry for everything that the evidence itself makes a document of.

    Args:
        objects: whether things that claims are about, or that `things.csv` names, count too: in a
            project without sources the first line about a thing declares it.
    """
    for being in evidence.people:
        yield _entry(base, being.key, being.kind, being.kind.title(), being.name)
    for location in evidence.places:
        yield _entry(base, location.key, "place", "Place", location.name)
    for authority in evidence.sources:
        yield _entry(base, authority.key, "text", "LinguisticObject", authority.citation)
    if objects:
        things = [*(claim.about for claim in evidence.claims), *(t.thing for t in evidence.things)]
        for about in dict.fromkeys(things):
            if not about.startswith(("person/", "group/", "place/", "text/")):
                yield _entry(base, about, "object", "HumanMadeObject", about)


def _entry(base: str, key: str, folder: str, type_: str, label: str) -> Entry:
    path = key if "/" in key else f"{folder}/{key}"
    encoded = "/".join(part if "%" in part else segment(part) for part in path.split("/"))
    return Entry(base + encoded, type_, label)


def resolve(
    evidence: Evidence,
    base: str,
    entries: Entries,
    concepts: Concepts,
    aspects: Aspects,
    report: Report,
    *,
    declare: bool = False,
) -> Evidence:
    """Return the evidence with IRIs for keys; rows that name something unknown are left out.

    Args:
        entries: all documents of the run. Those that people, places and sources make may be among
            them or not.
        declare: the project has no source: claims declare the things that they are about.
    """

    def both() -> Iterator[Entry]:
        seen = set()
        for entry in entries():
            seen.add(entry.uri)
            yield entry
        for entry in declared(evidence, base, declare):
            if entry.uri not in seen:
                seen.add(entry.uri)
                yield entry

    resolver = _Resolver(Keys(base, both, concepts, _wanted(evidence)), evidence, aspects, report)
    return resolver.all()


def _wanted(evidence: Evidence) -> set[str]:
    found: set[str] = set()
    for claim in evidence.claims:
        found.update((claim.about, claim.by, claim.value, *claim.sources))
    for being in evidence.people:
        found.update((being.key, *being.sources, *being.born_sources, *being.died_sources))
    for membership in evidence.membership:
        found.update((membership.who, membership.party, *membership.sources))
    for stay in evidence.whereabouts:
        found.update((stay.who, stay.where, *stay.sources))
    for location in evidence.places:
        found.update((location.key, *location.within, *location.near, *location.sources))
    for thing in evidence.things:
        found.update((thing.thing, *thing.sources))
    for process in evidence.processes:
        found.update((process.process, *process.sources))
    for order in evidence.order:
        found.update(order.sources)
    found.update(authority.key for authority in evidence.sources)
    return found


class _Resolver:
    """Makes IRIs of the keys of all rows; remembers whether the current row is usable."""

    def __init__(self, keys: Keys, evidence: Evidence, aspects: Aspects, report: Report) -> None:
        self.keys, self.evidence, self.aspects, self.report = keys, evidence, aspects, report
        self.facts = {stay.key for stay in evidence.whereabouts if stay.key}
        self.bad = False
        self.about = ""  # the thing that the current claim is about

    def all(self) -> Evidence:
        found = self.evidence
        return Evidence(
            claims=self._kept(found.claims, self._claim),
            people=self._kept(found.people, self._being),
            membership=self._kept(found.membership, self._membership),
            whereabouts=self._kept(found.whereabouts, self._stay),
            places=self._kept(found.places, self._location),
            things=self._kept(found.things, self._thing),
            processes=self._kept(found.processes, self._process),
            order=self._kept(found.order, self._order),
            sources=self._kept(found.sources, self._authority),
        )

    def _being(self, row: Being) -> Being:
        return replace(
            row,
            key=self._one(row.key, row.place, "key", BEINGS),
            sources=self._sources(row.sources, row.place),
            born_sources=self._sources(row.born_sources, row.place, "born_sources"),
            died_sources=self._sources(row.died_sources, row.place, "died_sources"),
        )

    def _membership(self, row: Membership) -> Membership:
        return replace(
            row,
            who=self._one(row.who, row.place, "who", BEINGS),
            party=self._one(row.party, row.place, "party", GROUPS),
            sources=self._sources(row.sources, row.place),
        )

    def _stay(self, row: Stay) -> Stay:
        return replace(
            row,
            who=self._one(row.who, row.place, "who", BEINGS),
            where=self._one(row.where, row.place, "place", PLACES),
            sources=self._sources(row.sources, row.place),
        )

    def _location(self, row: Location) -> Location:
        return replace(
            row,
            key=self._one(row.key, row.place, "key", PLACES),
            within=self._several(row.within, row.place, "within", PLACES),
            near=self._several(row.near, row.place, "near", PLACES),
            sources=self._sources(row.sources, row.place),
        )

    def _thing(self, row: DatableThing) -> DatableThing:
        return replace(
            row,
            thing=self._one(row.thing, row.place, "thing", OBJECTS, ANY),
            sources=self._sources(row.sources, row.place),
        )

    def _process(self, row: Process) -> Process:
        return replace(
            row,
            process=self._one(row.process, row.place, "process", CONCEPTS),
            sources=self._sources(row.sources, row.place),
        )

    def _order(self, row: Order) -> Order:
        return replace(row, sources=self._sources(row.sources, row.place))

    def _authority(self, row: Authority) -> Authority:
        return replace(row, key=self._one(row.key, row.place, "key", TEXTS))

    def _kept(self, rows: Iterable[Row], make: Callable[[Row], Row]) -> tuple[Row, ...]:
        kept = []
        for row in rows:
            self.bad = False
            made = make(row)
            if not self.bad:
                kept.append(made)
        return tuple(kept)

    def _one(self, key: str, place: Place | None, column: str, *kinds: frozenset[str]) -> str:
        try:
            return self.keys.find(key, *kinds)
        except KeyFault as fault:
            self.bad = True
            at = place.at(column) if place else None
            self.report(
                Finding(
                    fault.finding_code,
                    fault.message,
                    at,
                    value=key,
                    hint=fault.hint,
                    uri=self.about,
                )
            )
            return key

    def _several(
        self, keys: Iterable[str], place: Place | None, column: str, *kinds: frozenset[str]
    ) -> tuple[str, ...]:
        return tuple(self._one(key, place, column, *kinds) for key in keys)

    def _sources(
        self, keys: Iterable[str], place: Place | None, column: str = "sources"
    ) -> tuple[str, ...]:
        return self._several(keys, place, column, TEXTS)

    def _claim(self, claim: Claim) -> Claim:
        place = claim.place
        locators = dict(zip(claim.sources, claim.locators, strict=False))
        named = [key for key in claim.sources if key not in self.facts]
        kept = [locators.get(key, "") for key in named]
        while kept and not kept[-1]:
            kept.pop()
        self.about = ""
        about = self._one(claim.about, place, "about", OBJECTS, ANY)
        self.about = "" if self.bad else about
        made = replace(
            claim,
            about=about,
            value=self._value(claim),
            by=self._one(claim.by, place, "by", BEINGS),
            sources=self._sources(named, place),
            locators=tuple(kept),
            premises=tuple(key for key in claim.sources if key in self.facts),
        )
        self.about = ""
        return made

    def _value(self, claim: Claim) -> str:
        takes = self.aspects.by_name[claim.aspect].takes
        if not claim.value or not takes.isdisjoint((DATE, TEXT)):
            return claim.value
        if IRI in takes:
            try:
                return check_iri(claim.value)
            except IriError as error:
                self.bad = True
                at = claim.place.at("value") if claim.place else None
                self.report(Finding("iri", error.message, at, value=claim.value, hint=error.hint))
                return claim.value
        return self._one(claim.value, claim.place, "value", frozenset(takes))
