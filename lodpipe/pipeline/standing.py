"""What the last run came to, for a run that finds nothing changed since.

It is kept only where a run over the same input would say the same again, but for the documents
that are new, changed or gone now and were not, or no more, the next time. Not where losses held a
release back, where something that was published is withheld now, or where claims differ from
those published before: of that the next run says nothing.
"""

import hashlib
import os
from collections import Counter
from pathlib import Path
from typing import Any

from lodpipe import archive
from lodpipe.export import Written
from lodpipe.parts import pack_finding, unpack_finding
from lodpipe.pipeline.books import Books, Tally
from lodpipe.pipeline.results import REPORT, Result
from lodpipe.project import Project


def recall(project: Project, mark: str, result: Result) -> bool:
    """Fill in what the last run came to, if it ran on the same; say whether it did.

    Args:
        mark: the fingerprint of all that this run depends on.
    """
    kept = archive.read_standing(project.archive)
    if not kept or kept["fingerprint"] != mark or not (project.archive.parent / REPORT).is_file():
        return False
    result.status, result.focus = kept["status"], kept["focus"]
    result.books = Books(
        kept["read"], Counter(kept["records"]), kept["known"], dict(kept["documents"])
    )
    result.tally = _tally(kept["tally"])
    return True


def exported(project: Project, release: int) -> Written | None:
    """Return what an export would say that finds all its files as it wrote them; else None."""
    kept = archive.read_standing(project.archive)
    count, mark = _exported(project)
    if not kept or not count or kept["export"] != [release, mark]:
        return None
    return Written(release, same=count)


def keep(project: Project, mark: str, result: Result) -> None:
    """Keep what a run came to, where the next one would come to the same."""
    settled = result.release is None and result.latest > 0
    if result.held or not (result.lasting or settled):
        return
    books = result.books
    documents = dict(books.documents)
    documents["unchanged"] += documents["new"] + documents["changed"]
    known = books.known - documents["gone"]
    documents["new"] = documents["changed"] = documents["gone"] = 0
    archive.write_standing(
        project.archive,
        {
            "fingerprint": mark,
            "status": result.status,
            "focus": result.focus,
            "read": books.read,
            "records": dict(books.records),
            "known": known,
            "documents": documents,
            "tally": _packed(result.tally),
            "export": [result.latest, _exported(project)[1]] if result.written else [],
        },
    )


def _packed(tally: Tally) -> list[Any]:
    return [
        [list(kind), count, [pack_finding(f) for f in tally.examples[kind]], kind in tally.varied]
        for kind, count in tally.counts.items()
    ]


def _tally(packed: list[Any]) -> Tally:
    tally = Tally()
    for (severity, code, message), count, examples, varied in packed:
        kind = (severity, code, message)
        tally.counts[kind] = count
        tally.examples[kind] = [unpack_finding(values) for values in examples]
        tally.varied.update([kind] if varied else [])
    return tally


def _exported(project: Project) -> tuple[int, str]:
    """Return how many files the folder of the export has, and what tells them from others."""
    root = project.folder / project.export.folder
    found = []
    for at, folders, names in os.walk(root):
        folders.sort()
        for name in sorted(names):
            path = Path(at, name)
            stat = path.stat()
            found.append(f"{path.relative_to(root)} {stat.st_size} {stat.st_mtime_ns}")
    return len(found), hashlib.sha256(os.fsencode("\n".join(found))).hexdigest()
