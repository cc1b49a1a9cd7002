"""The facts that claims are weighed against, as the evidence files state them.

Keys are as written until `keys.resolve` makes them IRIs. Dates are EDTF; what a date allows and
what it excludes is for the weighing to say.
"""

from dataclasses import dataclass, field

from lodpipe.dates import Edtf
from lodpipe.records import Claim, Place

AT, ALL_DAY, NOT_AT = "at", "all day", "not at"


@dataclass(frozen=True, slots=True)
class Being:
    """A person or group of `people.csv`: a group exists from `born` to `died`."""

    key: str
    name: str
    kind: str
    born: Edtf | None
    died: Edtf | None
    active: Edtf | None
    sources: tuple[str, ...]
    born_sources: tuple[str, ...]
    died_sources: tuple[str, ...]
    notes: str
    place: Place


@dataclass(frozen=True, slots=True)
class Membership:
    """Who belonged to which party, and when; without `when` always."""

    who: str
    party: str
    when: Edtf | None
    sources: tuple[str, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Stay:
    """A row of `whereabouts.csv`: who was, or was not, where, and when.

    `key` may be empty; a claim that names it in its sources reasons from this fact. `presence` is
    `at`, `all day` or `not at`; `event` is the name that `order.csv` uses.
    """

    key: str
    who: str
    where: str
    when: Edtf
    presence: str
    event: str
    sources: tuple[str, ...]
    note: str
    place: Place


@dataclass(frozen=True, slots=True)
class Location:
    """A place: `within` are those that contain it, `near` those that agree with it like these."""

    key: str
    name: str
    former_names: tuple[str, ...]
    within: tuple[str, ...]
    near: tuple[str, ...]
    latitude: float | None
    longitude: float | None
    sources: tuple[str, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class DatableThing:
    """Something that can be seen in a picture and that stood only in some years."""

    thing: str
    exists: Edtf
    sources: tuple[str, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Process:
    """When, and where, a process, format or mount was in use; sizes in mm, either way up."""

    process: str
    first: Edtf | None
    last: Edtf | None
    region: str
    width: float | None
    height: float | None
    tolerance: float | None
    sources: tuple[str, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Order:
    """One event of `whereabouts.csv` came before another, by so many days."""

    before: str
    after: str
    min_days: int | None
    max_days: int | None
    sources: tuple[str, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Authority:
    """A source of the evidence (`sources.csv`); `withdrawn`: it no longer counts."""

    key: str
    citation: str
    kind: str
    date: Edtf | None
    url: str
    withdrawn: bool
    place: Place


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything that the evidence folder says, row by row, in the order of the files."""

    claims: tuple[Claim, ...] = ()
    people: tuple[Being, ...] = ()
    membership: tuple[Membership, ...] = ()
    whereabouts: tuple[Stay, ...] = ()
    places: tuple[Location, ...] = ()
    things: tuple[DatableThing, ...] = ()
    processes: tuple[Process, ...] = ()
    order: tuple[Order, ...] = ()
    sources: tuple[Authority, ...] = field(default=())
