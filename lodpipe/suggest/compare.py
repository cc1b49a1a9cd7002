"""How alike two names are, and why.

Signs and accents do not count, nor the order of the words: `Dolen, Mira` is `Mira Dolen`. The
measure is rapidfuzz's token sort ratio <https://rapidfuzz.github.io/RapidFuzz/Usage/fuzz.html>,
from 0 to 100; an initial that stands for the other's first name is said to do so.
"""

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rapidfuzz import fuzz, process

from lodpipe.suggest.authority import Heading

LEAST = 85.0
"""Names that are less alike are not told."""
MOST = 3
"""Candidates for one name."""
INITIALS = 88.0
"""What `M. Dolen` counts beside `Mira Dolen`."""
YEARS = 2
"""Years by which two files may differ about one life."""


@dataclass(frozen=True, slots=True)
class Named:
    """Something of the project that has names, and may have a life."""

    key: str
    label: str
    names: tuple[str, ...]
    born: int | None = None
    died: int | None = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """A heading that may be meant; `why` in words, `score` of 100."""

    key: str
    label: str
    heading: Heading
    score: float
    why: str


def plain(name: str) -> str:
    """Return a name as it is compared.

    >>> plain("Dölen, Mira (1841–1902)")
    'dolen mira'
    """
    without = re.sub(r"\([^()]*\)|\[[^\[\]]*\]|,?\s*\b\d{4}\b.*$", " ", name)
    letters = unicodedata.normalize("NFKD", without.replace("ß", "ss"))
    letters = "".join(sign for sign in letters if not unicodedata.combining(sign))
    return " ".join(re.sub(r"[\W_]+", " ", letters).casefold().split())


def candidates(things: Sequence[Named], headings: Sequence[Heading]) -> Iterator[Candidate]:
    """Yield the most likely headings of each thing, the likeliest first; things in their order."""
    entries = [(plain(name), heading) for heading in headings for name in heading.names]
    entries = [entry for entry in entries if entry[0]]
    texts = [text for text, _ in entries]
    for thing in things:
        best: dict[str, tuple[float, str, Heading]] = {}
        for name in thing.names:
            for at, score, why in _alike(plain(name), texts):
                heading = entries[at][1]
                if score > best.get(heading.uri, (0.0, "", heading))[0]:
                    best[heading.uri] = (score, why, heading)
        ranked = [
            Candidate(thing.key, thing.label, heading, score, _life(thing, heading, why))
            for score, why, heading in best.values()
            if not _another_life(thing, heading)
        ]
        ranked.sort(key=lambda one: (-one.score, one.heading.uri))
        yield from ranked[:MOST]


def _alike(name: str, texts: list[str]) -> Iterator[tuple[int, float, str]]:
    if not name:
        return
    for _, score, at in process.extract(
        name, texts, scorer=fuzz.token_sort_ratio, limit=None, score_cutoff=60.0
    ):
        if sorted(texts[at].split()) == sorted(name.split()):
            yield at, 100.0, "the same name"
        elif _initials(name.split(), texts[at].split()):
            yield at, max(score, INITIALS), "the same but for initials"
        elif score >= LEAST:
            yield at, round(score, 1), "a name like it"


def _initials(one: list[str], other: list[str]) -> bool:
    """Whether two names have the same words, some of them cut down to their first letter."""
    if len(one) != len(other) or len(one) < 2:
        return False
    pairs = list(zip(sorted(one), sorted(other), strict=True))
    whole = sum(left == right and len(left) > 1 for left, right in pairs)
    return whole > 0 and all(
        left == right or (1 in (len(left), len(right)) and left[0] == right[0])
        for left, right in pairs
    )


def _another_life(thing: Named, heading: Heading) -> bool:
    pairs = ((thing.born, heading.born), (thing.died, heading.died))
    return any(a is not None and b is not None and abs(a - b) > YEARS for a, b in pairs)


def _life(thing: Named, heading: Heading, why: str) -> str:
    words = [why]
    for name, ours, theirs in (
        ("born", thing.born, heading.born),
        ("died", thing.died, heading.died),
    ):
        if ours is not None and theirs is not None:
            words.append(f"{name} {theirs}" + ("" if ours == theirs else f", here {ours}"))
    return "; ".join(words)
