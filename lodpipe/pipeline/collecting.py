"""How often Python looks for garbage during a run."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager

ALLOCATIONS = 50_000
"""New containers between two looks. Python's own 700 is less than one document is made of."""


@contextmanager
def rare_collection() -> Iterator[None]:
    """Look for circles of garbage seldom, and never among what was there before.

    Trees have no circles and go at once when nobody holds them. Looking through them all again and
    again for circles takes a tenth of a run; 50,000 leaves peak memory as it is.
    """
    before = gc.get_threshold()
    gc.freeze()
    gc.set_threshold(ALLOCATIONS, *before[1:])
    try:
        yield
    finally:
        gc.set_threshold(*before)
        gc.unfreeze()
