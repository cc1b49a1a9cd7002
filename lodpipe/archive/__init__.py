"""The archive: one SQLite file that holds every release.

`tables` is the schema, `read` answers questions about a release, `commit` makes the next one in
one transaction, `compare` tells two releases apart in words.
"""

from lodpipe.archive.commit import commit, lock, plan
from lodpipe.archive.compare import Change, compare
from lodpipe.archive.harvest import Activity, Dissemination, Harvest, Slice
from lodpipe.archive.hidden import names
from lodpipe.archive.read import Archive, Document, Release
from lodpipe.archive.renditions import DOCUMENTS, Outgoing, Render, Rendition
from lodpipe.archive.standing import forget_standing, read_standing, write_standing
from lodpipe.archive.withdraw import Removed, Withdrawal, end_now, lift, remove
from lodpipe.archive.writer import Plan, Stamp

__all__ = [
    "DOCUMENTS",
    "Activity",
    "Archive",
    "Change",
    "Dissemination",
    "Document",
    "Harvest",
    "Outgoing",
    "Plan",
    "Release",
    "Removed",
    "Render",
    "Rendition",
    "Slice",
    "Stamp",
    "Withdrawal",
    "commit",
    "compare",
    "end_now",
    "forget_standing",
    "lift",
    "lock",
    "names",
    "plan",
    "read_standing",
    "remove",
    "write_standing",
]
