"""What is held of a claim today, what the evidence makes of it, and the facts that this rests on."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from lodpipe.aspects import slug
from lodpipe.dates import Edtf, parse
from lodpipe.records import Claim
from lodpipe.wording.claims import CURRENT
from lodpipe.wording.date_words import date_phrase, date_words
from lodpipe.wording.tables import has, joined, say

_NAMED = ("who", "party", "thing", "process")
_STAYS = {"not at": "not-at", "all day": "all-day"}


def aspect_word(aspect: str, language: str, *, node: str = "") -> str:
    """Return what a claim is about, as the head of a row: `Photographer`, `Date of the print`."""
    key = f"aspect.{aspect}.{node}"
    return say(language, key if has(language, key) else f"aspect.{aspect}")


def held_kind(claim: Claim, *, alternatives: int = 0) -> str:
    """Return how a claim is held: certain, hedged, alternative, proposed, former or rejected.

    A date that its EDTF marks with `?` or `%` is not certain, whatever the ledger says.
    """
    if claim.effective != CURRENT:
        return claim.effective
    if alternatives:
        return "alternative"
    doubtful = claim.aspect.startswith("date") and any(mark in claim.value for mark in "?%")
    return "hedged" if slug(claim.qualifier) or doubtful else "certain"


def held_words(kind: str, language: str) -> str:
    """Return the words for a kind of `held_kind`, or for `catalogue`: a plain statement of it."""
    return say(language, f"held.{kind}")


def verdict_words(claim: Claim, verdict: Mapping[str, Any], language: str) -> list[str]:
    """Return what the evidence makes of a claim, a sentence an item.

    Args:
        verdict: as the archive keeps it: `verdict`, `feasible`, `clashes_with`, `disputed_bound`.
    """
    kind = str(verdict["verdict"])
    if kind == "placed" and claim.aspect not in ("maker", "sitter"):
        kind = "placed-other"
    sentences = [say(language, f"verdict.{kind}")]
    if days := days_words(verdict["feasible"], language):
        sentences.append(say(language, "verdict.days", days=days))
    if verdict.get("disputed_bound"):
        sentences.append(say(language, "verdict.disputed"))
    if clashes := verdict.get("clashes_with"):
        keys = joined(language, list(clashes), "list.and")
        sentences.append(say(language, "verdict.clashes", claims=keys))
    return sentences


def days_words(spans: Sequence[Sequence[str | None]], language: str) -> str:
    """Return intervals of days in words, empty where nothing bounds them.

    >>> days_words([["1872-02-10", "1872-02-12"]], "en")
    '10 February 1872 to 12 February 1872'
    """
    bounded = [(low, high) for low, high in spans if low or high]
    return joined(language, [_between(low, high, language) for low, high in bounded], "list.or")


def _between(low: str | None, high: str | None, language: str) -> str:
    if low == high:
        return date_words(parse(str(low)), language)
    return date_words(parse(f"{low or '..'}/{high or '..'}"), language, lasting=True)


def fact_words(fact: Mapping[str, Any], label: Callable[[str], str], language: str) -> str:
    """Return a fact of the evidence in words.

    Args:
        fact: as `grounds` of a verdict has it: `kind` and what it names.
        label: a reader's name of an IRI.
    """
    match fact["kind"]:
        case "stay":
            return _stay(fact, label, language)
        case "membership":
            key = "membership" if fact["when"] else "membership-always"
        case kind:
            key = str(kind)
    if key == "claim":
        return say(language, "ground.claim", thing=label(fact["about"]))
    named = {name: label(fact[name]) for name in _NAMED if name in fact}
    dates = {
        name: _lasting(fact[name], language)
        for name in ("born", "died", "first", "last", "when")
        if name in fact
    }
    return say(language, f"ground.{key}", **named, **dates)


def _stay(fact: Mapping[str, Any], label: Callable[[str], str], language: str) -> str:
    when = parse(fact["when"])
    kind = _STAYS.get(fact["presence"], "at")
    within = kind == "at" and _within(when)
    return say(
        language,
        "ground.within" if within else f"ground.{kind}",
        who=label(fact["who"]),
        where=label(fact["where"]),
        when=date_phrase(when, language) if within else date_words(when, language, lasting=True),
    )


def _within(when: Edtf) -> bool:
    """Whether somebody was there on a day within, not throughout."""
    return when.form in ("date", "one of") and when.earliest != when.latest


def _lasting(text: str, language: str) -> str:
    return (
        date_words(parse(text), language, lasting=True) if text else say(language, "ground.unknown")
    )
