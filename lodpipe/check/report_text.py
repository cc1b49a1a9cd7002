"""The report for a terminal: a paragraph a kind of finding, counted, with a few examples.

A check has all its entries, a run only counts and a few of each kind: both are told by the same
lines.
"""

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lodpipe.check.report import (
    About,
    Entry,
    Group,
    counted,
    groups,
    headline,
    mapped_by,
    meaning_of,
    shortened,
)
from lodpipe.check.shapes import short_name

EXAMPLES = 3
_WIDTH = 78
_INDENT = "  "


@dataclass(frozen=True, slots=True)
class Told:
    """One kind of finding as it is told: how many, a few of them, and what they have in common.

    `varied`: they say different things, so each example says its own; so do hints, unless they are
    all the same.
    """

    count: int
    examples: Sequence[Entry]
    varied: bool
    mapped: Sequence[str] = ()


def told_of_group(group: Group, examples: int = EXAMPLES) -> Told:
    """Return a group as it is told."""
    shown = group.entries[:examples]
    return Told(len(group.entries), shown, group.varied, group.mapped())


def as_text(entries: Sequence[Entry], about: About, *, examples: int = EXAMPLES) -> str:
    """Return the report for a terminal: grouped, counted, a few examples each."""
    lines = [headline(entries, about)]
    for group in groups(entries):
        lines += ["", *told_lines(told_of_group(group, examples))]
    if unused := about.unused():
        lines += ["", *unused_lines(unused)]
    lines += ["", f"data {about.data[:16]}  shapes {about.shapes[:16]}  {about.tool}"]
    if about.refereed:
        lines.append(f"{counted(about.refereed, 'document')} checked by both engines")
    return "\n".join(lines) + "\n"


def told_lines(told: Told, *, elsewhere: str = "") -> list[str]:
    """Return one kind of finding as lines.

    Args:
        elsewhere: where the rest stands, said after `and 12 more`.
    """
    first = told.examples[0]
    head = f"{told.count:,} x {first.severity}  {short_name(first.shape)}"
    lines = [f"{head}  {first.path}" if first.path else head]
    lines += _wrapped(meaning_of(first.shape) if told.varied else first.message, _INDENT)
    common = len({entry.hint for entry in told.examples}) == 1
    if common and first.hint:
        lines += _wrapped(f"hint: {first.hint}", _INDENT)
    for entry in told.examples:
        value = f"  `{shortened(entry.value)}`" if entry.value and not told.varied else ""
        if entry.where() or value or entry.uri:
            lines.append(f"  --> {entry.where()}{value}  {entry.uri}".rstrip())
        if told.varied:
            hint = f"; {entry.hint}" if entry.hint and not common else ""
            lines += _wrapped(f"{shortened(entry.message, 200)}{hint}", " " * 6)
    if told.count > len(told.examples):
        lines.append(f"  and {told.count - len(told.examples):,} more{elsewhere}")
    if told.mapped:
        more = f" and {len(told.mapped) - EXAMPLES} more" if len(told.mapped) > EXAMPLES else ""
        lines.append(f"  read by: {', '.join(told.mapped[:EXAMPLES])}{more}")
    if first.rule and not told.varied:
        lines.append(f"  rule: {first.rule}")
    return lines


def unused_lines(shapes: Iterable[str]) -> list[str]:
    """Return which shapes met nothing, as lines."""
    names = ", ".join(map(short_name, shapes))
    return textwrap.wrap(f"met no node: {names}", _WIDTH, subsequent_indent=_INDENT)


def told_of(count: int, examples: Iterable[Entry], *, varied: bool) -> Told:
    """Return counted findings of one kind as they are told."""
    shown = tuple(examples)
    return Told(count, shown, varied, mapped_by(shown))


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(
        text, _WIDTH, initial_indent=indent, subsequent_indent=indent, break_long_words=False
    )
