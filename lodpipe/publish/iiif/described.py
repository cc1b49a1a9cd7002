"""Lines of metadata and the credit of a thing: who, when, where, how, in words that keep their hedges.

A line is either a direct statement of the document or the words of a claim, never the bare value
of a claim.
"""

from functools import cache, lru_cache

from lodpipe.dates import parse
from lodpipe.publish.iiif.rows import (
    DISPLAY_NAME,
    MAKING,
    edtf_of,
    is_a,
    joined,
    labels,
    makers_of,
    name_of,
    shown,
    texts_of,
)
from lodpipe.publish.iiif.settings import LanguageMap, Row, Site, View, word
from lodpipe.records import Tree
from lodpipe.terms import VOCAB
from lodpipe.wording import date_words, language_for, say

ACCESSION = "http://vocab.getty.edu/aat/300312355"
MAIN = ""
"""Who made the picture, in a line of attribution by roles."""
LINES = (*MAKING[:-1], "printing", "publishing")
"""Roles that have a word of their own for whoever did it; pasting, styling and more are making."""


def described(tree: Tree, productions: list[tuple[str, Tree]], view: View, site: Site) -> list[Row]:
    """Return the lines of metadata that a document states, and the words of its current claims."""
    rows: list[Row] = []
    rows += _makers(tree, productions, view, site)
    for role, node in productions:
        if role in MAKING:
            rows += _row("date", _when(node, "date", site), site)
            rows += _row("place", labels(node.get("took_place_at", ()), view, site), site)
        elif role == "printing":
            rows += _row("date-printed", _when(node, "date_printed", site), site)
            rows += _row("process", labels(node.get("technique", ()), view, site), site)
    rows += _row("sitters", _sitters(tree, view, site), site)
    return rows


def credited(tree: Tree, view: View, site: Site) -> tuple[LanguageMap, str]:
    """Return who is named in a credit, with every hedge, and the number of a thing in its house.

    That is the line of attribution, else those who are stated; nobody where none is.
    """
    whole = tree.get("produced_by") or {}
    makers = texts_of(whole.get("referred_to_by", ()), _attribution(site), site)
    if not makers:
        makers = labels(makers_of(tree).values(), view, site)
    numbers = (n for n in tree.get("identified_by", ()) if n.get("type") == "Identifier")
    number = next((n["content"] for n in numbers if is_a(n, ACCESSION)), "")
    return makers, number


def _attribution(site: Site) -> str:
    return site.base + VOCAB + "statement/attribution"


def _makers(tree: Tree, productions: list[tuple[str, Tree]], view: View, site: Site) -> list[Row]:
    rows: list[Row] = []
    whole = tree.get("produced_by") or {}
    line = texts_of(whole.get("referred_to_by", ()), _attribution(site), site)
    told = _by_role(line)
    roles = [role for role, _ in productions]
    if MAIN in told:
        words = {
            tag: [_not_twice(text, tag) for text in texts] for tag, texts in told[MAIN].items()
        }
        rows += _row("exposure" if "exposure" in roles else "maker", words, site)
    elif "carried_out_by" not in whole and any(
        role == "exposure" and not node.get("carried_out_by") for role, node in productions
    ):
        rows += _row("exposure", _nobody(productions, site), site)
    for role, node in productions:
        if MAIN in told and role in MAKING and role not in told:
            continue
        words = told.get(role) or labels(node.get("carried_out_by", ()), view, site)
        rows += _row(role if role in LINES else "making", words, site)
    return rows


@cache
def _starts(language: str) -> dict[str, str]:
    """Return the role by the words with which its part of a line of attribution begins."""
    return {
        say(language, "line.role", role=say(language, f"worker.{role}"), line=""): role
        for role in (*MAKING, "printing", "publishing")
    }


def _by_role(line: LanguageMap) -> dict[str, LanguageMap]:
    """Return a line of attribution by the role that each part of it is about; MAIN stands first.

    >>> _by_role({"en": ["possibly by Jonas Vey; printer: Mira Dolen; formerly attributed to x"]})
    {'': {'en': ['possibly by Jonas Vey']}, 'printing': {'en': ['Mira Dolen; formerly attributed to x']}}
    """
    found: dict[str, LanguageMap] = {}
    for tag, texts in line.items():
        language = language_for(tag)
        starts = _starts(language)
        between = say(language, "line.next")
        for text in texts:
            role, pieces = MAIN, dict[str, list[str]]()
            for piece in text.split(between):
                start = next((start for start in starts if piece.startswith(start)), "")
                role = starts.get(start, role)
                pieces.setdefault(role, []).append(piece.removeprefix(start))
            for role, parts in pieces.items():
                found.setdefault(role, {}).setdefault(tag, []).append(between.join(parts))
    return found


def _not_twice(text: str, tag: str) -> str:
    """Return words that stand beside `Photographer` without saying once more who is not known."""
    language = language_for(tag)
    for key in ("line.unknown.exposure", "line.unknown"):
        nobody = say(language, key)
        if text.startswith(nobody):
            return word("not-known", (language,))[language][0] + text.removeprefix(nobody)
    return text


def _nobody(productions: list[tuple[str, Tree]], site: Site) -> LanguageMap:
    """Return what to say where no photographer is stated: somebody may have been rejected."""
    maker = f"{site.base}{VOCAB}aspect/maker"
    kinds = {
        kind.get("id")
        for role, node in productions
        if role == "exposure"
        for claim in node.get("attributed_by", ())
        for kind in claim.get("classified_as", ())
    }
    return word("not-known" if maker in kinds else "photographer-not-recorded", site.languages)


def _when(node: Tree, aspect: str, site: Site) -> LanguageMap:
    """Return the words of the direct time span, else those of the current claims of its day.

    A document names the days in one language; in the others they are named after its EDTF.
    """
    span = node.get("timespan")
    if not span:
        return joined(_claims(node, aspect, site))
    found = texts_of(span.get("identified_by", ()), DISPLAY_NAME, site)
    if edtf := edtf_of(span):
        for tag in site.languages:
            if tag not in found and "none" not in found and language_for(tag) == tag:
                found[tag] = [_days(edtf, tag)]
    return found


@lru_cache(maxsize=10_000)
def _days(edtf: str, language: str) -> str:
    return date_words(parse(edtf), language)


def _sitters(tree: Tree, view: View, site: Site) -> LanguageMap:
    found: list[LanguageMap] = []
    for visual in shown(tree, view):
        claimed = {
            value.get("id")
            for claim in visual.get("attributed_by", ())
            for value in claim.get("assigned", ())
        }
        found += _claims(visual, "sitter", site)
        found += [
            name_of(node["id"], view, site, node)
            for node in visual.get("represents", ())
            if node.get("type") == "Person" and node.get("id") not in claimed
        ]
    return joined(found)


def _claims(node: Tree, aspect: str, site: Site) -> list[LanguageMap]:
    """Return the hedged words of the current claims of one aspect of a node."""
    wanted = {f"{site.base}{VOCAB}aspect/{aspect}", f"{site.base}{VOCAB}standing/current"}
    return [
        texts
        for claim in node.get("attributed_by", ())
        if wanted <= {concept.get("id") for concept in claim.get("classified_as", ())}
        and (texts := texts_of(claim.get("identified_by", ()), DISPLAY_NAME, site))
    ]


def _row(key: str, value: LanguageMap, site: Site) -> list[Row]:
    return [(word(key, site.languages), value)] if value else []
