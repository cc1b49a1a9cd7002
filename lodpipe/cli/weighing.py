"""`lodpipe weigh`: what the evidence allows, as tables and as the page that one takes to a colleague."""

from collections.abc import Iterable, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import click

from lodpipe.errors import UsageError

VERDICTS = {
    "contradicted": "no day is left",
    "placed": "was there on some of the days left: opportunity, not proof",
    "open": "neither excluded nor placed",
    "not weighed": "not weighed",
}


@click.command()
@click.argument("folder", metavar="PROJECT", default=".", type=click.Path(path_type=Path))
@click.argument("thing", required=False)
@click.option(
    "--argument",
    is_flag=True,
    help="One page on THING: claim, counter-claims, what decides, what would.",
)
@click.option("--aspect", default="maker", show_default=True, help="With --argument: which aspect.")
@click.option("--without-source", metavar="KEY", default="", help="What falls without this source.")
@click.option(
    "--assume", metavar="'THING ASPECT VALUE'", default="", help="What follows if this held."
)
@click.option(
    "--open", "is_open", is_flag=True, help="Open questions, and the gap that leaves each open."
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON on stdout for a program.")
def weigh(
    folder: Path,
    thing: str | None,
    argument: bool,
    aspect: str,
    without_source: str,
    assume: str,
    is_open: bool,
    as_json: bool,
) -> None:
    """Weigh claims against the evidence: who was where when, and what that leaves possible.

    Reads the project itself; no run is needed before. With THING: who could have made it, who
    not, and by which fact.

    \b
    Example:
      lodpipe weigh sample
      lodpipe weigh sample item-0101 --argument
      lodpipe weigh sample --without-source text/pay-book
      lodpipe weigh sample --assume "item-0075 place ketterholm"
    """
    from lodpipe import pipeline, project
    from lodpipe.cli import show
    from lodpipe.weigh import to_json

    if argument and not thing:
        raise UsageError(
            "`--argument` needs a thing", hint="lodpipe weigh PROJECT THING --argument"
        )
    shop = pipeline.open_workshop(project.load(folder))
    asked = aspect if argument else ""
    with ExitStack() as opened:
        with show.Bars() as bars:
            on = opened.enter_context(pipeline.scales(shop, bars))
            answer = _answer(on, thing, asked, without_source, assume, is_open)
        if as_json:
            data = to_json(answer, on.base) if answer is not None else on.weighing.to_json(on.base)
            show.data(data)
        else:
            _Printer(on, show).answer(answer)


def _answer(
    on: Any, thing: str | None, aspect: str, without: str, assume: str, is_open: bool
) -> Any:
    """Ask what was asked; None stands for the whole project."""
    if without:
        return on.questions.without_source(on.find(without))
    if assume:
        return on.questions.assume(*_assumed(assume, on.find))
    if is_open:
        return on.questions.open()
    if not thing:
        return None
    if not aspect:
        return on.questions.thing(on.find(thing))
    argument = on.questions.argument(on.find(thing), aspect)
    if argument is None:
        raise UsageError(
            f"nobody holds a view on the {aspect} of `{thing}`",
            hint="add a claim with `lodpipe claim add`, or ask for another `--aspect`",
        )
    return argument


def _assumed(text: str, find: Any) -> tuple[str, str, str]:
    from lodpipe.aspects import builtin_aspects
    from lodpipe.dates import parse
    from lodpipe.errors import DateError, nearest

    words = text.split()
    if len(words) != 3:
        raise UsageError(
            f"`{text}` is not an assumption", hint='write it like "item-0101 maker dolen"'
        )
    about, aspect, value = words
    known = builtin_aspects().by_name
    if aspect not in known:
        raise UsageError(f"`{aspect}` is not an aspect", hint=nearest(aspect, known))
    try:
        return find(about), aspect, parse(value).text
    except DateError:
        return find(about), aspect, find(value)


class _Printer:
    """Prints answers with the words that the scales have for what they name."""

    def __init__(self, on: Any, show: Any) -> None:
        self._on, self._show = on, show

    def answer(self, answer: Any) -> None:
        """Print one answer; None stands for the whole project."""
        from lodpipe.weigh import questions

        match answer:
            case None:
                self._whole()
            case questions.About():
                self._thing(answer)
            case questions.Argument():
                self._argument(answer)
            case questions.WithoutSource():
                self._without(answer)
            case questions.Assumption():
                self._assumption(answer)
            case _:
                self._open(answer)

    def _whole(self) -> None:
        verdicts = [v for thing in self._on.weighing.things for v in thing.claims]
        weighed = [v for v in verdicts if v.verdict != "not weighed"]
        self._show.table(
            ("claim", "about", "says", "standing", "verdict", "share", "days left"),
            [self._row(verdict, about=True) for verdict in weighed],
        )
        self._show.tell(
            f"\n{len(weighed)} claims weighed, {len(verdicts) - len(weighed)} not; "
            + ", ".join(
                f"{sum(v.verdict == word for v in weighed)} {word}"
                for word in ("contradicted", "placed", "open")
            )
        )
        self._conflicts()

    def _conflicts(self) -> None:
        for conflict in self._on.weighing.conflicts:
            self._show.tell(f"\ncannot hold together, because of {conflict.claim}:")
            self._list(conflict.members)
        for clash in self._on.weighing.evidence_conflicts:
            self._show.tell(
                f"\nfacts at odds, {days_text(clash.days)}; nothing is concluded from them:"
            )
            self._list(clash.members)

    def _thing(self, about: Any) -> None:
        self._show.tell(f"{self._on.label(about.about)}\n{about.about}")
        self._show.table(
            ("event", "days left", "because of"),
            [(s.event, days_text(s.days), self._joined(s.because)) for s in about.spans],
            title="\nwhen",
        )
        self._show.table(
            ("claim", "says", "standing", "verdict", "share", "days left"),
            [self._row(verdict) for verdict in about.claims],
            title="\nclaims",
        )
        self._show.table(
            ("who", "could have made it", "share", "because of"),
            [
                (
                    self._on.label(one.who),
                    "no"
                    if one.verdict.verdict == "contradicted"
                    else VERDICTS[one.verdict.verdict],
                    _share(one.verdict.share),
                    self._joined(one.verdict.because),
                )
                for one in sorted(about.candidates, key=lambda c: c.verdict.verdict)
            ],
            title="\nwho could have made it, as far as the evidence tells",
        )

    def _argument(self, argument: Any) -> None:
        self._show.tell(f"{self._on.label(argument.about)}\n{argument.about}\n")
        self._show.tell("CLAIM")
        self._statement(argument.claim)
        for number, verdict in enumerate(argument.counter, 1):
            self._show.tell(f"\nCOUNTER-CLAIM {number}")
            self._statement(verdict)
            for members in argument.excluded.get(verdict.claim.key, ()):
                self._show.tell("  cannot hold together with")
                self._list(m for m in members if m.claim != verdict.claim.key)
        self._show.tell("\nWHAT DECIDES")
        self._list(argument.deciding)
        if not argument.deciding:
            self._show.tell("  nothing that is known")
        self._show.tell("\nWHAT WOULD DECIDE, IF IT WERE KNOWN")
        self._gaps(argument.gaps)

    def _statement(self, verdict: Any) -> None:
        claim = verdict.claim
        self._show.tell(f"  {claim.key}: {self._on.words(claim)}")
        self._show.tell(
            f"  said by {self._on.label(claim.by)}, {claim.on or 'undated'}; {claim.effective}"
        )
        if claim.basis:
            self._show.tell(f"  on the grounds: {claim.basis}")
        for source in claim.sources:
            self._show.tell(f"  source: {self._on.label(source)}")
        self._show.tell(
            f"  the evidence: {verdict.verdict}, {VERDICTS[verdict.verdict]}{_of(verdict.share)}"
        )
        self._show.tell(f"  days left: {days_text(verdict.feasible)}")

    def _without(self, answer: Any) -> None:
        self._show.tell(f"without {self._on.label(answer.source)} ({answer.source})")
        self._show.tell("\nrows that no longer count")
        self._list(answer.rows)
        self._show.tell(f"\nclaims left without grounds: {', '.join(answer.groundless) or 'none'}")
        self._changes(answer.changes)

    def _assumption(self, answer: Any) -> None:
        verdict = answer.verdict
        self._show.tell(
            f"if {self._on.label(verdict.claim.about)} had: {self._on.words(verdict.claim)}"
        )
        self._show.tell(f"{verdict.verdict}: {VERDICTS[verdict.verdict]}{_of(verdict.share)}")
        self._show.tell(f"days left: {days_text(verdict.feasible)}")
        for members in answer.conflicts:
            self._show.tell("\nit cannot hold together with")
            self._list(members)
        self._changes(answer.changes)

    def _open(self, questions: Iterable[Any]) -> None:
        count = 0
        for question in questions:
            count += 1
            claim = question.verdict.claim
            self._show.tell(
                f"\n{self._on.label(claim.about)}: {self._on.words(claim)} ({claim.key})"
            )
            self._gaps(question.gaps)
        self._show.tell(f"\n{count} open questions")

    def _gaps(self, gaps: Iterable[Any]) -> None:
        asked = {
            "whereabouts": "where {who} was, {days} (held against {where})",
            "place": "where it was exposed",
            "date": "when it was exposed",
        }
        shown = False
        for gap in gaps:
            shown = True
            text = asked[gap.kind].format(
                who=self._on.label(gap.who),
                where=self._on.label(gap.where),
                days=days_text(gap.days),
            )
            self._show.tell(f"  - {text}")
        if not shown:
            self._show.tell("  nothing that the evidence could tell")

    def _changes(self, changes: Sequence[Any]) -> None:
        self._show.table(
            ("claim", "about", "before", "after", "days left"),
            [
                (
                    change.claim,
                    self._on.label(change.about),
                    change.before.verdict if change.before else "",
                    change.after.verdict if change.after else "",
                    days_text(change.after.feasible) if change.after else "",
                )
                for change in changes
            ],
            title="\nverdicts that change" if changes else "\nno verdict changes",
        )

    def _row(self, verdict: Any, *, about: bool = False) -> tuple[str, ...]:
        claim = verdict.claim
        head = (claim.key, self._on.label(claim.about)) if about else (claim.key,)
        clashes = (
            f"; clashes with {', '.join(verdict.clashes_with)}" if verdict.clashes_with else ""
        )
        return (
            *head,
            self._on.words(claim),
            claim.effective,
            verdict.verdict + clashes,
            _share(verdict.share),
            days_text(verdict.feasible),
        )

    def _joined(self, rows: Iterable[Any]) -> str:
        return "\n".join(self._on.row(row) for row in rows)

    def _list(self, rows: Iterable[Any]) -> None:
        for row in rows:
            self._show.tell(f"  - {self._on.row(row)}")


def days_text(spans: Iterable[tuple[int, int]]) -> str:
    """Return days as text: `1871-05-02 to 1871-05-20`; an end without bound is `..`."""
    from lodpipe.weigh.results import day_json

    texts = []
    for low, high in spans:
        first, last = day_json(low) or "..", day_json(high) or ".."
        texts.append(first if first == last != ".." else f"{first} to {last}")
    return "; ".join(texts) or "none"


def _share(share: float | None) -> str:
    return "" if share is None else f"{share:.0%}"


def _of(share: float | None) -> str:
    return "" if share is None else f" ({share:.0%} of the days left)"
