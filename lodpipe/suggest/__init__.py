"""Candidates for what a project's people, groups, places and terms are called elsewhere.

Names are compared, nothing more: a candidate is a hint for a person to decide, never a fact.
"""

from lodpipe.suggest.authority import Heading, headings
from lodpipe.suggest.compare import Candidate, Named, candidates

__all__ = ["Candidate", "Heading", "Named", "candidates", "headings"]
