"""The tiers that an aggregator would give to the records of the newest release."""

from dataclasses import dataclass, field

from lodpipe.archive import Archive
from lodpipe.errors import UsageError
from lodpipe.iris import key_of
from lodpipe.pipeline.workshop import open_workshop
from lodpipe.project import Project
from lodpipe.publish import iiif
from lodpipe.publish.harvest import edm, tiers
from lodpipe.publish.harvest.renditions import things


@dataclass(frozen=True, slots=True)
class Tiers:
    """What was measured.

    Attributes:
        measured: by key of the thing. `unsent`: why a record is not sent, by key.
        mend: the one that would lift most records, and how many; empty for none.
    """

    release: int
    measured: dict[str, tiers.Measures] = field(default_factory=dict)
    unsent: dict[str, edm.Lack] = field(default_factory=dict)
    mend: tuple[str, int] = ("", 0)


def tiers_of(project: Project) -> Tiers:
    """Measure every record of the newest release, whether the project exports EDM or not.

    Raises:
        UsageError: there is no release yet.
    """
    concepts = open_workshop(project).concepts
    site = iiif.site_of(project, concepts)
    with Archive(project.archive) as archive:
        latest = archive.latest()
        if latest is None:
            raise UsageError("there is no release yet", hint="make one with `lodpipe run`")
        measured, unsent = dict[str, tiers.Measures](), dict[str, edm.Lack]()
        for thing in things(project, concepts, archive, latest.number):
            if thing.told is None:
                continue
            key = key_of(site.base, thing.uri)
            lacking = edm.lack(thing.told)
            if lacking:
                unsent[key] = lacking
            else:
                record = edm.record(thing.told, site)
                measured[key] = tiers.measure(record, thing.told.pictures)
    return Tiers(latest.number, measured, unsent, tiers.best_mend(measured.values()))
