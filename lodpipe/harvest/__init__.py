"""Harvesting from other houses by OAI-PMH, into a source file that `read` takes.

The network is asked only because a user asked for it, by this package.
"""

from lodpipe.harvest.client import Client, Query
from lodpipe.harvest.harvester import Harvested, harvest

__all__ = ["Client", "Harvested", "Query", "harvest"]
