"""Check documents against shapes, and say what was found in words that a cataloguer can act on."""

from lodpipe.check.engine import SAMPLE, Checker, sample_of
from lodpipe.check.results import BatchResult, Result

__all__ = ["SAMPLE", "BatchResult", "Checker", "Result", "sample_of"]
