"""Reading sources: one file a format, each yielding records that know their place.

What a record means is for the mapping to say. A record that cannot be read is yielded too, as
`Unreadable`, so that the books of a run balance.
"""

from lodpipe.read.options import PARTITION, ReadOptions, Share
from lodpipe.read.sources import (
    FORMATS,
    Records,
    place_of,
    records,
    stands_alone,
    unreadable_finding,
)

__all__ = [
    "FORMATS",
    "PARTITION",
    "ReadOptions",
    "Records",
    "Share",
    "place_of",
    "records",
    "stands_alone",
    "unreadable_finding",
]
