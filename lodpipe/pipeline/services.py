"""Keeps descriptions of image services in other places, for sizes that are read and never typed."""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field

from lodpipe import evidence, harvest, workspace
from lodpipe.archive import Archive
from lodpipe.errors import LodpipeError
from lodpipe.evidence.services import FOLDER
from lodpipe.project import Project


@dataclass(slots=True)
class Asked:
    """What came of asking: how many are kept now, how many were kept before, and each fault."""

    kept: int = 0
    known: int = 0
    faults: list[LodpipeError] = field(default_factory=list)


def keep_services(
    project: Project,
    client: harvest.Services,
    *,
    again: bool = False,
    advance: Callable[[int], None] = lambda steps: None,
) -> Asked:
    """Ask each image service that the newest release shows for its description, and keep it.

    What is withheld is not among them, so nobody elsewhere learns of it. A picture whose size is
    not known stands in the release, but in no manifest yet.

    Args:
        again: ask also where a description is kept already.

    Raises:
        UsageError: there is no release yet.
    """
    with Archive(project.archive) as archive:
        latest = archive.latest()
        rows = archive.layout(latest.number) if latest else ()
        named = {row.cells["service"] for row in rows if row.cells.get("service")}
    folder = project.folder / project.evidence.folder
    known = evidence.read_services(folder, project.evidence.folder, lambda finding: None)
    asked = Asked()
    for service in sorted(named):
        if service in known and not again:
            asked.known += 1
        else:
            try:
                workspace.replace_file(folder / FOLDER / _name(service), _told(client, service))
                asked.kept += 1
            except LodpipeError as fault:
                asked.faults.append(fault)
        advance(1)
    return asked


def _told(client: harvest.Services, service: str) -> str:
    """Return what a service says of itself, where that can be used.

    Raises:
        LodpipeError: it does not answer, or with something that cannot be used.
    """
    body = client.ask(service)
    said = evidence.read_service(body)
    if said.uri != service:
        raise evidence.ServiceFault(
            f"the service at `{service}` calls itself `{said.uri}`",
            hint="name it so in the layout",
        )
    return body.decode()


def _name(service: str) -> str:
    return hashlib.sha256(service.encode()).hexdigest()[:16] + ".json"
