"""The passes in order: the only module that knows more than one stage."""

from lodpipe.pipeline.books import Books, Tally
from lodpipe.pipeline.checking import Checked, check
from lodpipe.pipeline.explain import explain_document, explain_record
from lodpipe.pipeline.ledger import add_claim
from lodpipe.pipeline.profiling import profile
from lodpipe.pipeline.results import Explained, Options, Result
from lodpipe.pipeline.run import run
from lodpipe.pipeline.starting import Started, start, start_demo
from lodpipe.pipeline.suggesting import SUGGESTIONS, accept, suggest
from lodpipe.pipeline.tiers import Tiers, tiers_of
from lodpipe.pipeline.weighing import Scales, scales
from lodpipe.pipeline.withdraw import Asked, Done, lift, withdraw
from lodpipe.pipeline.workshop import Workshop, open_workshop

__all__ = [
    "SUGGESTIONS",
    "Asked",
    "Books",
    "Checked",
    "Done",
    "Explained",
    "Options",
    "Result",
    "Scales",
    "Started",
    "Tally",
    "Tiers",
    "Workshop",
    "accept",
    "add_claim",
    "check",
    "explain_document",
    "explain_record",
    "lift",
    "open_workshop",
    "profile",
    "run",
    "scales",
    "start",
    "start_demo",
    "suggest",
    "tiers_of",
    "withdraw",
]
