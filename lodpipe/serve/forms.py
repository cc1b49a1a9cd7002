"""In which form a client wants a document: content negotiation.

https://www.rfc-editor.org/rfc/rfc9110#section-12.5.1; https://linked.art/api/1.0/protocol/
"""

from collections.abc import Sequence
from dataclasses import dataclass

from lodpipe.publish.linked_art import PROFILE


@dataclass(frozen=True, slots=True)
class Form:
    """One form of a document: a name for ETags, its media type, what Accept may call it."""

    name: str
    media_type: str
    accepted: tuple[str, ...]


LINKED_ART = Form(
    "la",
    f'application/ld+json;profile="{PROFILE}"',
    ("application/ld+json", "application/json"),
)
TURTLE = Form("ttl", "text/turtle; charset=utf-8", ("text/turtle", "application/x-turtle"))
NTRIPLES = Form("nt", "application/n-triples", ("application/n-triples", "text/plain"))
HTML = Form("html", "text/html; charset=utf-8", ("text/html", "application/xhtml+xml"))


def chosen(accept: str, forms: Sequence[Form]) -> Form | None:
    """Return the form that an Accept header prefers; the first one where it prefers none.

    Args:
        forms: what there is, the usual one first. None when nothing of it is acceptable.

    >>> chosen("text/turtle;q=0.5, text/html;q=0.4", (LINKED_ART, TURTLE)).name
    'ttl'
    """
    if not accept.strip():
        return forms[0]
    ranges = [_range(part) for part in accept.split(",")]
    best: tuple[float, Form] | None = None
    for form in forms:
        quality = max(_quality(name, ranges) for name in form.accepted)
        if quality > 0 and (best is None or quality > best[0]):
            best = (quality, form)
    return best[1] if best else None


def _quality(media_type: str, ranges: Sequence[tuple[str, float]]) -> float:
    """Return the quality of the most specific range that a media type falls in."""
    for wanted in (media_type, media_type.partition("/")[0] + "/*", "*/*"):
        for name, quality in ranges:
            if name == wanted:
                return quality
    return 0.0


def _range(part: str) -> tuple[str, float]:
    name, *parameters = (piece.strip() for piece in part.split(";"))
    for parameter in parameters:
        key, _, value = parameter.partition("=")
        if key.strip().lower() == "q":
            try:
                return name.lower(), min(1.0, max(0.0, float(value)))
            except ValueError:
                return name.lower(), 0.0
    return name.lower(), 1.0
