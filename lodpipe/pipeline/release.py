"""After pass 2: book every document, weigh the losses, commit, and say what happened."""

import heapq
import itertools
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from lodpipe import __version__, archive
from lodpipe import export as exporter
from lodpipe.archive import Archive, Plan, Stamp
from lodpipe.assemble import named_after
from lodpipe.errors import EmptyError
from lodpipe.evidence import rows_of_images, rows_of_layout, rows_of_stays
from lodpipe.findings import INFO, WARNING, Finding, at_least
from lodpipe.parts import Finished, IndexReader, read_made
from lodpipe.pipeline.barrier import Barrier
from lodpipe.pipeline.fingerprint import publishing
from lodpipe.pipeline.progress import Clock
from lodpipe.pipeline.results import REPORT, Result
from lodpipe.pipeline.workshop import Workshop
from lodpipe.project import Project
from lodpipe.publish import harvest
from lodpipe.terms import VOCAB

HOUSE_ONLY = ("withheld", "review-due", "lifted", "left-alone")
"""Codes of findings that stand in the report and nowhere else: they say what is withheld."""
TOOL = f"lodpipe {__version__}"
STATUS_FINDINGS = 1
MOST_NAMED = 5
"""Documents that are named where more may be meant."""
SHIPPED = "urn:lodpipe:shape:"
"""Begins the names of shapes that ship: few catalogues have something of every kind."""


@dataclass(frozen=True, slots=True)
class Settlement:
    """Everything that a run has come to before its commit.

    Attributes:
        parts: the documents that pass 2 made; `finished`: these and those that it took over.
        hashes: SHA-256 of each source file.
        findings: those that belong to no document.
        shapes: names of the shapes that have a target. `digest`: SHA-256 of all shapes.
        visible: gives, at the end of the commit, the instant from which the release is shown.
    """

    parts: list[Path]
    finished: Finished
    middle: Barrier
    hashes: dict[str, str]
    findings: list[Finding]
    shapes: list[str]
    digest: str
    now: str
    accept_losses: bool
    visible: Callable[[], str] | None = None


def settle(
    shop: Workshop, run: Settlement, index: IndexReader, result: Result, clock: Clock
) -> None:
    """Book, weigh, commit, report.

    Raises:
        EmptyError: no document would be published, or no shape met any node.
        NotFinishedError: the books do not balance, or the archive cannot be written.
    """
    path = shop.project.archive
    with clock.stage("commit"):
        middle = run.middle
        withheld = middle.hidden | _live(path, middle.withheld - middle.hidden)
        plan = archive.plan(path, run.finished.marks(), withheld)
        hidden = middle.withheld | _named_after(plan, middle.withheld, shop.project.site.base)
        must_go = _naming(path, plan, hidden)
        _book(path, index, run, plan, result)
        exporter.write_report(path.parent / REPORT, _counted(run, result))
        findings = [*run.findings, *_unused(run, result)]
        result.tally.add(findings)
        chosen = _after_losses(shop, run, plan, must_go, result)
        if chosen is not None:
            stamp = Stamp(run.now, run.now, run.hashes, run.digest, TOOL, result.books.to_json())
            layout = itertools.chain(
                rows_of_layout(middle.hand_over_layout()),
                rows_of_images(index.pictures()),
                rows_of_stays(middle.told, middle.withheld),
            )
            findings = [f for f in findings if f.code not in HOUSE_ONLY and f.value not in hidden]
            unsent: list[Finding] = []
            render = archive.Render(
                harvest.formats_of(shop.project),
                publishing(shop.project),
                partial(harvest.renditions, shop.project, shop.concepts),
                unsent.append,
            )
            result.release = archive.commit(
                path, read_made(run.parts), chosen, stamp, findings, layout,
                moved=middle.moved, told=middle.held.reasons, render=render, visible=run.visible,
            )  # fmt: skip
            result.tally.add(unsent)
            exporter.extend_report(path.parent / REPORT, unsent)
    tell_outcome(shop.project, result)


def _book(path: Path, index: IndexReader, run: Settlement, plan: Plan, result: Result) -> None:
    """Enter what the plan says into the books, which have to balance."""
    middle = run.middle
    result.books.documents = dict(plan.counts)
    result.books.known = _known(path, index, run.finished.of_house() | middle.hidden)
    result.books.balance()
    result.lasting = middle.as_published and plan.counts["withheld"] == len(middle.hidden)


def _counted(run: Settlement, result: Result) -> Iterator[Finding]:
    """Yield every finding, counting those of documents and the nodes that shapes met on the way.

    Raises:
        EmptyError: at the end, when there is nothing to release or nothing was checked.
    """
    yield from run.findings
    for found in run.finished.found():
        result.tally.add(found)
        yield from found
    result.focus = run.finished.focus()
    if not run.finished.catalogued():  # the publisher and our concepts are no catalogue
        raise EmptyError(
            "the release would be empty", hint="look at the findings: no record made a document"
        )
    if not result.focus:
        raise EmptyError(
            "nothing was checked: no shape met any node", hint="look at `[check] shapes`"
        )


def _unused(run: Settlement, result: Result) -> list[Finding]:
    """Return a finding for each shape that met nothing in the whole release."""
    return [
        Finding(
            "shape-unused",
            f"the shape `{shape}` met no node",
            severity=INFO if shape.startswith(SHIPPED) else WARNING,
            rule=shape,
        )
        for shape in sorted(run.shapes)
        if shape not in result.focus
    ]


def _named_after(plan: Plan, withheld: frozenset[str], base: str) -> frozenset[str]:
    """Withhold what claims made and what is named after something withheld: its IRI has the key."""
    found = {uri for thing in withheld for uri in named_after(thing, base)}
    gone = frozenset(uri for uri in found if plan.state(uri) == "gone")
    for uri in gone:
        plan.move(uri, "withheld")
    return gone


def _naming(path: Path, plan: Plan, withheld: frozenset[str]) -> list[str]:
    """Return the published documents that name what is withheld: they change, or go, at once.

    One that is stopped would stay as it is: it is withheld as well.
    """
    if not withheld or not path.is_file():
        return []
    waiting = [uri for uri, state in plan.states.items() if state in ("stopped", "changed", "gone")]
    with Archive(path) as opened:
        latest = opened.latest()
        if latest is None:
            return []
        live = ((uri, opened.document(uri, latest.number)) for uri in waiting)
        naming = [uri for uri, old in live if old and archive.names(old.body, withheld)]
    for uri in naming:
        if plan.state(uri) == "stopped":
            plan.move(uri, "withheld")
    return naming


def _after_losses(
    shop: Workshop, run: Settlement, plan: Plan, must_go: list[str], result: Result
) -> Plan | None:
    """Return the plan to commit: all of it, or where too much is lost only what must be hidden.

    Args:
        must_go: published documents that name something withheld.
    """
    counts = plan.counts
    concepts = shop.project.site.base + VOCAB
    lost = [
        uri
        for uri, state in plan.states.items()
        if state in ("stopped", "gone")
        and not uri.startswith(concepts)
        and uri not in run.middle.moved
    ]
    share = len(lost) / (sum(counts.values()) - counts["withheld"] or 1)
    if any(at_least(severity, shop.project.check.gate) for severity, _, _ in result.tally.counts):
        result.status = STATUS_FINDINGS
    if share <= shop.project.losses or run.accept_losses:
        return plan
    result.status, result.held = STATUS_FINDINGS, True
    hidden = [uri for uri, state in plan.states.items() if state == "withheld"]
    only_hidden = plan.only([*hidden, *(uri for uri in must_go if uri not in hidden)])
    goes = bool(only_hidden.states) and shop.project.archive.is_file()
    what = "nothing else is released" if goes else "nothing is released"
    what_is = "document is" if len(lost) == 1 else "documents are"
    result.outcome.append(
        f"{what}: {len(lost)} {what_is} stopped or gone ({share:.1%}), "
        f"more than the {shop.project.check.most_losses} that the project allows"
    )
    result.outcome.append(
        "among them " + ", ".join(f"{uri} ({plan.state(uri)})" for uri in sorted(lost)[:MOST_NAMED])
    )
    result.outcome.append(
        "if that is right, run again with --accept-losses, or raise `[check] most_losses`"
    )
    return only_hidden if goes else None


def tell_outcome(project: Project, result: Result) -> None:
    """Say in sentences which release there is, and which documents are stopped."""
    if not project.archive.is_file():
        return
    with Archive(project.archive) as opened:
        latest = opened.latest()
        if latest is None:
            return
        result.latest = latest.number
        if result.release is not None:
            result.outcome.append(
                f"release {latest.number}: {opened.count(latest.number)} documents, "
                f"visible from {latest.visible_from}"
            )
        elif not result.outcome:
            result.outcome.append(f"nothing changed: release {latest.number} is still the newest")
        stopped = opened.stopped(latest.number)
    for uri, published in stopped[:MOST_NAMED]:
        since = f"stays as in release {published}" if published else "waits"
        result.outcome.append(f"stopped: {uri} {since}")
    if len(stopped) > MOST_NAMED:
        result.outcome.append(
            f"and {len(stopped) - MOST_NAMED} more stopped documents; see the report"
        )


def never_released(path: Path, uris: Iterable[str]) -> frozenset[str]:
    """Return those of some documents that the newest release does not hold."""
    found = frozenset(uris)
    return found - _live(path, found)


def _live(path: Path, uris: Iterable[str]) -> frozenset[str]:
    """Return those of some documents that the newest release holds."""
    if not path.is_file():
        return frozenset()
    with Archive(path) as opened:
        latest = opened.latest()
        if latest is None:
            return frozenset()
        return frozenset(uri for uri in uris if opened.holds(uri, latest.number))


def _known(path: Path, index: IndexReader, house: set[str]) -> int:
    """Count the documents of this run and of the newest release, each once, without keeping them."""
    made = heapq.merge(index.uris(), sorted(house))
    if not path.is_file():
        return _distinct(made)
    with Archive(path) as opened:
        latest = opened.latest()
        live = opened.uris(latest.number) if latest else iter(())
        return _distinct(heapq.merge(made, live))


def _distinct(uris: Iterable[str]) -> int:
    """Count the different ones of a sorted sequence."""
    return sum(1 for _ in itertools.groupby(uris))
