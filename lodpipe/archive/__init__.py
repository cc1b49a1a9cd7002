"""The archive: one SQLite file that holds every release.

`tables` is the schema, `read` answers questions about a release, `commit` makes the next one in
one transaction, `compare` tells two releases apart in words.
"""

from lodpipe.archive.commit import commit, lock, plan
from lodpipe.archive.compare import Change, compare
from lodpipe.archive.read import Archive, Document, Release, names
from lodpipe.archive.writer import Plan, Stamp

__all__ = [
    "Archive",
    "Change",
    "Document",
    "Plan",
    "Release",
    "Stamp",
    "commit",
    "compare",
    "lock",
    "names",
    "plan",
]
