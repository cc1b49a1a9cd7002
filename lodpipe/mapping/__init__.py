"""Mappings: YAML files that say what a record of a source means, compiled and run."""

from lodpipe.mapping.compile import Mapping, Reads
from lodpipe.mapping.joins import joined
from lodpipe.mapping.leaves import Met
from lodpipe.mapping.loader import load, loads
from lodpipe.mapping.spaces import SourceContext

__all__ = ["Mapping", "Met", "Reads", "SourceContext", "joined", "load", "loads"]
