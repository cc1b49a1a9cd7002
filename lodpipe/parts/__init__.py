"""Part files and the index of one run, in a work folder beside the archive.

Pass 1 writes drafts, mapped claims and layout rows to part files, one a worker (`drafts`). The
barrier reads all parts in URI order, unites drafts, and writes the read-only index that pass 2
looks into (`index`). Pass 2 writes what it made to part files again, and the commit reads those
(`made`); what it needs to know of the documents that it need not make is in `finished`. Everything is SQLite, so that order comes from an index on disk and memory is bounded
by the batch.
"""

from lodpipe.parts.drafts import Drafts, DraftWriter, Duplicates
from lodpipe.parts.finished import Finished, Why
from lodpipe.parts.index import EVERYWHERE, IndexReader, IndexWriter, Stored, United
from lodpipe.parts.kept import Kept
from lodpipe.parts.made import Made, MadeWriter, Mark, named_in, read_made
from lodpipe.parts.pack import Trail, fresh, pack_finding, unpack_finding, work_folder

__all__ = [
    "EVERYWHERE",
    "DraftWriter",
    "Drafts",
    "Duplicates",
    "Finished",
    "IndexReader",
    "IndexWriter",
    "Kept",
    "Made",
    "MadeWriter",
    "Mark",
    "Stored",
    "Trail",
    "United",
    "Why",
    "fresh",
    "named_in",
    "pack_finding",
    "read_made",
    "unpack_finding",
    "work_folder",
]
