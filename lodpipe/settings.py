"""The tables of `lodpipe.toml`: what each key means, and what holds where it is left out."""

from typing import Annotated

import msgspec

OUTPUTS = ("linked-art", "nquads", "iiif", "edm", "dataset", "site")
USUAL_OUTPUTS = ("linked-art", "nquads", "iiif")
MOST_IN_A_PAGE = 1_000
"""Harvesters read an answer whole, and give up on one that takes long."""


class Limits(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What one record may cost. Sizes in characters, nesting in levels."""

    field_chars: int = 200_000
    record_chars: int = 10_000_000
    nesting: int = 64
    pattern_chars: int = 2_000


class Site(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Who publishes, where, and under which terms.

    `base` is where every IRI starts; `rights` the URI of the licence of the metadata (http form);
    `languages` the languages of what is written for readers, the first one for labels.
    """

    base: str
    name: dict[str, str]
    publisher: str = "group/publisher"
    rights: str = ""
    contact: str = ""
    languages: tuple[str, ...] = ("en",)


class Source(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One `[[source]]`: a catalogue file and the mapping that reads it."""

    file: str
    mapping: str
    rank: int = 0
    joins: dict[str, str] = {}
    by: str = ""
    dated: str = ""
    format: str = ""
    encoding: str = ""
    delimiter: str = ""
    sheet: str = ""
    records: str = ""


class Evidence(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where the ledger and the facts lie."""

    folder: str = "evidence"


class Check(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which shapes check a document, and what stops it."""

    shapes: tuple[str, ...] = ("builtin",)
    gate: str = "violation"
    most_losses: str = "2 %"


class Access(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What holds for things of which `access.csv` says nothing. Must be declared."""

    default: str


class Dates(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What ambiguous dates mean here; a key is None until the project declares it.

    `circa_years` widens the outer bounds of approximate dates; the meaning of the other keys is
    told in `lodpipe.dates.Policy`, which has the same names.
    """

    circa_years: int = 5
    day_first: bool | None = None
    year_month: bool | None = None
    two_digit_years: int | None = None
    seasons: str | None = None
    present: str | None = None
    c_years: str | None = None
    hundreds: str | None = None
    languages: tuple[str, ...] | None = None


class Export(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What `lodpipe export` writes, and from how many documents on it writes one file for all."""

    outputs: tuple[str, ...] = USUAL_OUTPUTS
    folder: str = "export"
    files_up_to: int = 20_000


class Oai(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What harvesters may ask for by OAI-PMH.

    `sets` maps the name of a set to the key of the document that it is: an album, whose parts are
    in it, or a set, whose members are. `page` is how many records one answer holds.
    """

    sets: dict[str, str] = {}
    page: Annotated[int, msgspec.Meta(ge=1, le=MOST_IN_A_PAGE)] = 100
