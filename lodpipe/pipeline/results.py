"""How a run is wanted, and what it came to."""

from collections.abc import Callable
from dataclasses import dataclass, field

from lodpipe import export as exporter
from lodpipe.archive import Withdrawal
from lodpipe.findings import Finding
from lodpipe.pipeline.books import Books, Tally
from lodpipe.records import TraceEntry

REPORT = "report.jsonl"
"""The file of all findings, beside the archive."""


@dataclass(frozen=True, slots=True)
class Options:
    """How a run is wanted.

    Attributes:
        now: instant in UTC that the release says it was made: the clock is an argument.
        accept_losses: release although more is lost than the project allows.
        engine: `compiled` or `referee`.
        export: whether to write the export after the release.
        visible: asked at the end of the commit for the instant from which the release is shown, a
            little ahead; None: `now`.
        withdrawing: whether what withdrawals.csv says is carried out after this run.
        workers: processes that map, fill, merge and check. `scheduler`: address of a Dask cluster
            that does so instead. Neither makes a difference to what comes of a run.
    """

    now: str
    accept_losses: bool = False
    engine: str = "compiled"
    export: bool = True
    visible: Callable[[], str] | None = None
    withdrawing: bool = False
    workers: int = 1
    scheduler: str = ""


@dataclass(slots=True)
class Result:
    """What a run did.

    Attributes:
        status: exit status. `release`: number of the release that it made, None for none;
            `latest`: number of the newest release afterwards, 0 for none.
        held: whether more was lost than may be, so that not all was released.
        lasting: whether the next run over the same says the same: this one says nothing of what
            the release before had, but which documents went away.
        outcome: what happened, in sentences.
        focus: how many nodes each shape met in the release.
        withdrawal: what has to be in no release any more.
        workers: how many processes mapped and checked, 0 when there was nothing to do.
    """

    status: int = 0
    release: int | None = None
    latest: int = 0
    held: bool = False
    lasting: bool = False
    books: Books = field(default_factory=Books)
    tally: Tally = field(default_factory=Tally)
    focus: dict[str, int] = field(default_factory=dict)
    seconds: dict[str, float] = field(default_factory=dict)
    outcome: list[str] = field(default_factory=list)
    written: exporter.Written | None = None
    withdrawal: Withdrawal = field(default_factory=Withdrawal)
    workers: int = 0


@dataclass(slots=True)
class Explained:
    """The whole way of one document.

    Attributes:
        release: in which it stands, 0 before any run. `state`: published, stopped or tried.
        trace: from its nodes back to cells. `inputs`: what it was made from (kind, key, hash).
        why: it was made anew the last time, as (kind, key) of what had changed.
        document: its JSON, indented. `triples`: N-Quads lines.
    """

    uri: str
    release: int = 0
    state: str = ""
    trace: list[TraceEntry] = field(default_factory=list)
    inputs: list[tuple[str, str, str]] = field(default_factory=list)
    why: list[tuple[str, str]] = field(default_factory=list)
    document: str = ""
    triples: list[str] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
