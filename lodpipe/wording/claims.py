"""Every word about a claim: what it says, how surely, and whether anybody still holds it.

A hedge or a standing is never lost, in no language and in no length. Three lengths:

- short, for labels and harvested texts: the value with its hedge, and only what is held now;
- medium, for captions and for the name of a claim: what is said, as a caption says it;
- long: a sentence with who says so, when, on what grounds, from which sources, and what it replaces.

The qualifiers are those of CDWA and CCO practice (https://www.getty.edu/publications/
categories-description-works-art/); the words are ours.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lodpipe.aspects import builtin_aspects, slug
from lodpipe.dates import Edtf, parse
from lodpipe.errors import DateError
from lodpipe.records import Claim
from lodpipe.wording.date_words import date_phrase, date_words
from lodpipe.wording.tables import has, joined, say

CURRENT, PROPOSED, FORMER, REJECTED = "current", "proposed", "former", "rejected"
STANDINGS = (CURRENT, PROPOSED, FORMER, REJECTED)

USUAL_ROLES = {
    "exposure": "photographer",
    "drawing": "draughtsman",
    "making": "maker",
    "production": "maker",
    "compiling": "compiler",
    "printing": "printer",
    "publishing": "publisher",
}
"""The role of whoever works on a node, if nothing else is said."""

_SAID = frozenset({"", "photographer", "artist", "maker"})
_SECOND = frozenset({"printing", "publishing"})
_INFLUENCE = frozenset({"influence", "copy"})


@dataclass(frozen=True, slots=True)
class View:
    """One view of who made something, as the line of attribution needs it.

    Attributes:
        value: label of the maker. `known`: False for a Group that stands for unidentified makers.
        standing: the effective one.
        alternative: key of the first claim of a set of which one holds; empty for none.
    """

    value: str
    qualifier: str = ""
    standing: str = CURRENT
    alternative: str = ""
    known: bool = True


def claim_words(
    claim: Claim,
    value_label: str,
    language: str,
    *,
    long: bool = False,
    node: str = "",
    alternatives: int = 0,
    by: str = "",
    sources: Sequence[str] = (),
    replaced: str = "",
) -> str:
    """Return what a claim says, with its hedge and its standing.

    Args:
        value_label: how to call its value; dates are put into words from their EDTF.
        long: a whole sentence with `by` (a label), the day, the basis, `sources` (labels or
            citations) and `replaced` (the words of the claim that it replaces).
        node: role of the node that it is about: `exposure` makes "exposed", `printing` "printed".
        alternatives: how many claims the set has of which only one holds; 0 outside such a set.
    """
    words = _standing(claim, value_label, language, node, alternatives)
    if claim.part:
        words = say(language, "with.part", words=words, part=claim.part)
    if claim.aspect == "maker" and _tells(claim.role, node):
        words = say(language, "with.role", words=words, role=role_word(claim.role, language))
    return _sentence(claim, words, language, by, sources, replaced) if long else words


def _tells(role: str, node: str) -> bool:
    """Whether a role has to be told: not the photographer's, nor the draughtsman's of a drawing."""
    return role not in _SAID and (node in _SECOND or USUAL_ROLES.get(node) != role)


def short_words(claim: Claim, value_label: str, language: str, *, alternatives: int = 0) -> str:
    """Return the value with its hedge; empty unless the claim is held now.

    For text slots of what is harvested: no former, proposed or rejected view goes there.
    """
    if claim.effective != CURRENT:
        return ""
    qualifier = slug(claim.qualifier)
    if claim.aspect == "maker":
        words = say(language, f"maker.{qualifier or 'certain'}", value=value_label)
    else:
        words = _hedge(_short_phrase(claim, value_label, language), qualifier, language, bare=True)
    if alternatives and not qualifier:
        return say(language, "line.perhaps", words=words)
    return words


def role_word(role: str, language: str) -> str:
    """Return a role in a language; a role that the tables do not have stays as it is written."""
    return say(language, f"role.{role}") if has(language, f"role.{role}") else role


def attribution_line(
    views: Iterable[View], language: str, *, node: str = "exposure", short: bool = False
) -> str:
    """Return who made it, complete with former names; empty where there is no view to tell.

    What is held now comes first; a proposal is told only where nothing is held; a rejected view is
    never told. With `short`, only what is held now. Where all views are former, nothing is said of
    today: the makers may well be known to those who gave these views up.

    Args:
        views: certain makers of the catalogue and claims alike, in the order of showing.
        node: role of the node that they made.

    >>> attribution_line([View("Mira Dolen", "attributed-to"), View("A. Korvath", "", "former")], "en")
    'attributed to Mira Dolen; formerly attributed to A. Korvath'
    """
    told = [view for view in views if view.standing != REJECTED]
    current = [view for view in told if view.standing == CURRENT]
    line = _held(current, language)
    proposed = [] if line else [view for view in told if view.standing == PROPOSED]
    if proposed or (current and not line):
        line = nobody_known(language, node=node)
        if not short:
            line = _next(language, line, *(_proposal(view, language) for view in proposed))
    if short:
        return line
    held = {view.value for view in current}
    former = [
        say(language, f"maker-former.{slug(view.qualifier) or 'certain'}", value=view.value)
        for view in told
        if view.standing == FORMER and view.value not in held and view.known
    ]
    return _next(language, *([line] if line else []), *dict.fromkeys(former))


def nobody_known(language: str, *, node: str = "exposure") -> str:
    """Return what a line of attribution says where nobody is held to have made it."""
    key = f"line.unknown.{node}"
    return say(language, key if has(language, key) else "line.unknown")


def _next(language: str, *pieces: str) -> str:
    return say(language, "line.next").join(pieces)


def _held(current: Sequence[View], language: str) -> str:
    """The views that are held now: certain ones, alternatives, doubted ones, influences."""
    certain, others, influences = [], [], []
    sets: dict[str, list[View]] = {}
    for view in current:
        if view.alternative:
            if view.alternative not in sets:
                others.append(view)
            sets.setdefault(view.alternative, []).append(view)
        elif not view.qualifier:
            certain.append(view)
        elif builtin_aspects().family(view.qualifier) in _INFLUENCE:
            influences.append(_maker(view, language))
        else:
            others.append(view)
    if not any(view.known for view in certain):
        certain = []
    pieces = [joined(language, [view.value for view in certain], "list.and")] if certain else []
    for view in others:
        group = sets.get(view.alternative)
        pieces.append(_alternatives(group, language) if group else _maker(view, language))
    return say(language, "line.influence").join(
        [_next(language, *pieces), *influences] if pieces else influences
    )


def _alternatives(group: Sequence[View], language: str) -> str:
    words = [_maker(view, language) for view in group]
    if len(words) == 1 and not group[0].qualifier:
        return say(language, "line.perhaps", words=words[0])
    return joined(language, words, "list.or")


def _maker(view: View, language: str) -> str:
    return say(language, f"maker.{slug(view.qualifier) or 'certain'}", value=view.value)


def _proposal(view: View, language: str) -> str:
    words = _maker(view, language)
    if view.qualifier == "possibly":
        return words
    return say(language, "standing.proposed", words=words)


def _standing(claim: Claim, value: str, language: str, node: str, alternatives: int) -> str:
    qualifier = slug(claim.qualifier)
    phrase = _phrase(claim, value, language, node)
    if claim.aspect == "maker":
        words = say(language, f"maker.{qualifier or 'certain'}", value=value)
    elif claim.aspect == "copy_of" and qualifier == "after":
        words = say(language, "copy_of-after", value=value)
    else:
        words = _hedge(phrase, qualifier, language, bare=phrase == value)
    if claim.effective == REJECTED:
        return say(language, "standing.rejected", words=words)
    if claim.effective == FORMER:
        if claim.aspect == "maker":
            return say(language, f"maker-former.{qualifier or 'certain'}", value=value)
        if qualifier:
            return say(language, "standing.former-hedged", words=words)
        if has(language, f"former.{claim.aspect}"):
            return say(language, f"former.{claim.aspect}", value=value)
        return say(language, "standing.former", phrase=phrase)
    if alternatives:
        words = _one_of(words, qualifier, alternatives, language)
    if claim.effective == PROPOSED and not _says_doubt(claim.aspect, qualifier):
        return say(language, "standing.proposed", words=words)
    return words


def _one_of(words: str, qualifier: str, alternatives: int, language: str) -> str:
    key = f"count.{alternatives}"
    count = say(language, key) if has(language, key) else str(alternatives)
    kind = "hedged" if qualifier else "plain"
    return say(language, f"alternative.{kind}", words=words, count=count)


def _says_doubt(aspect: str, qualifier: str) -> bool:
    """Whether the words already tell that a proposal is not settled."""
    family = builtin_aspects().family(qualifier)
    return family == "doubt" or (aspect == "maker" and family == "workshop")


def _hedge(phrase: str, qualifier: str, language: str, *, bare: bool) -> str:
    """Put a qualifier before a phrase, or before the `bare` name of a value."""
    if not qualifier:
        return phrase
    key = f"hedge-value.{qualifier}" if bare else f"hedge.{qualifier}"
    if has(language, key):
        return say(language, key, phrase=phrase)
    name = say(language, f"qualifier.{qualifier}")
    return say(language, "hedge.other", qualifier=name, phrase=phrase)


def _phrase(claim: Claim, value: str, language: str, node: str) -> str:
    """What a claim says, without hedge and standing."""
    if claim.aspect == "maker":
        return value
    if claim.aspect.startswith("date"):
        key = f"date.{node}" if has(language, f"date.{node}") else "date"
        edtf = edtf_of(claim)
        return say(language, key, when=date_phrase(edtf, language) if edtf else value)
    key = f"{claim.aspect}.{node}"
    return say(language, key if has(language, key) else claim.aspect, value=value)


def _short_phrase(claim: Claim, value: str, language: str) -> str:
    if claim.aspect.startswith("date"):
        edtf = edtf_of(claim)
        return say(language, "short.date", date=date_words(edtf, language) if edtf else value)
    if claim.aspect == "title":
        return say(language, "short.title", value=value)
    if claim.aspect in ("maker", "place", "inscription"):
        return say(language, "short.value", value=value)
    return _phrase(claim, value, language, "")


def edtf_of(claim: Claim) -> Edtf | None:
    """Return the date that a claim about a date holds; None where it holds words only."""
    try:
        return parse(claim.value) if claim.value else None
    except DateError:
        return None


def _sentence(
    claim: Claim, words: str, language: str, by: str, sources: Sequence[str], replaced: str
) -> str:
    words = words[:1].upper() + words[1:]
    if by:
        if claim.on:
            by = say(language, "long.by-on", by=by, on=_day(claim.on, language))
        sentences = [say(language, "long.by", words=words, by=by)]
    else:
        sentences = [say(language, "long.plain", words=words)]
    if claim.basis:
        basis = claim.basis if claim.basis.endswith((".", "!", "?", "”")) else f"{claim.basis}."
        sentences.append(say(language, "long.basis", basis=basis))
    if sources:
        text = say(language, "long.and").join(sources).rstrip(".")
        sentences.append(say(language, "long.sources", sources=text))
    if replaced:
        sentences.append(say(language, "long.replaces", words=replaced))
    return " ".join(sentences)


def _day(text: str, language: str) -> str:
    try:
        return date_words(parse(text), language)
    except DateError:
        return text
