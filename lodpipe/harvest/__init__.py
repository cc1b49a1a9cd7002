"""Harvesting from other houses: records by OAI-PMH, into a source file that `read` takes, and sizes.

The network is asked only because a user asked for it, by this package.
"""

from lodpipe.harvest.client import Client, Query
from lodpipe.harvest.harvester import Harvested, harvest
from lodpipe.harvest.services import Services

__all__ = ["Client", "Harvested", "Query", "Services", "harvest"]
