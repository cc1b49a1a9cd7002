"""The facts that claims reason from, in words, as far as they may leave the house."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from lodpipe.evidence.facts import ALL_DAY, NOT_AT, Stay
from lodpipe.pipeline.known import Visible
from lodpipe.records import Claim, Premise
from lodpipe.wording import date_phrase, date_words, language_for, say


def with_premises(
    claims: Iterable[Claim], stays: Sequence[Stay], seen: Visible, language: str
) -> Iterator[Claim]:
    """Yield claims with the whereabouts that they name as their grounds.

    A fact about somebody or some place that may not be seen is left out, and of its sources those
    that may not.
    """
    known = {stay.key: stay for stay in stays if stay.key}
    for claim in claims:
        found = [_premise(known[key], seen, language) for key in claim.premises if key in known]
        facts = tuple(fact for fact in found if fact is not None)
        yield replace(claim, facts=facts) if facts else claim


def _premise(stay: Stay, seen: Visible, language: str) -> Premise | None:
    who, where = seen.get(stay.who), seen.get(stay.where)
    if who is None or where is None:
        return None
    spoken = language_for(language)
    one_day = stay.when.earliest == stay.when.latest
    within = stay.when.form in ("date", "one of") and not one_day
    kind = {NOT_AT: "not-at", ALL_DAY: "all-day"}.get(stay.presence, "within" if within else "at")
    when = (
        date_phrase(stay.when, spoken)
        if kind == "within"
        else date_words(stay.when, spoken, lasting=True)
    )
    label = say(spoken, f"fact.{kind}", who=who.label, where=where.label, when=when, key=stay.key)
    return Premise(stay.key, label, tuple(s for s in stay.sources if seen.get(s) is not None))
