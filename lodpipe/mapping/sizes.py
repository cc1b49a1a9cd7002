"""Reading dimensions as catalogues write them: `image: 243 x 335 mm` into millimetres.

What was measured, which dimension a number is and its unit are taken from the text; where the text
does not say, from the mapping; never guessed. A second unit in brackets repeats the first one and
is passed over. 1 inch is 25.4 mm exactly (https://www.nist.gov/pml/owm/si-units-length).
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from lodpipe.errors import ValueFault

UNITS = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": Fraction(254, 10),
         "ft": Fraction(3048, 10)}  # fmt: skip
"""Millimetres in each unit that a mapping may name."""

KINDS = ("height", "width", "depth", "diameter", "length")
"""Kinds of dimension that we have terms for."""

_UNIT_WORDS = {
    "mm": "mm", "mm.": "mm", "millimetres": "mm", "millimeters": "mm",
    "cm": "cm", "cm.": "cm", "cms": "cm", "centimetres": "cm", "centimeters": "cm",
    "m": "m", "m.": "m", "metres": "m", "meters": "m",
    "in": "in", "in.": "in", "ins": "in", "ins.": "in", "inch": "in", "inches": "in", '"': "in", "″": "in", "”": "in",
    "ft": "ft", "ft.": "ft", "feet": "ft", "foot": "ft", "'": "ft", "′": "ft",
}  # fmt: skip
_KIND_WORDS = {
    "h": "height", "h.": "height", "height": "height", "high": "height", "ht": "height", "ht.": "height",
    "w": "width", "w.": "width", "width": "width", "wide": "width",
    "d": "depth", "d.": "depth", "depth": "depth", "deep": "depth", "thickness": "depth", "thick": "depth",
    "diam": "diameter", "diam.": "diameter", "diameter": "diameter", "dia": "diameter", "dia.": "diameter", "ø": "diameter",
    "l": "length", "l.": "length", "length": "length", "long": "length",
}  # fmt: skip
WHAT_WORDS = {
    "image": "image", "picture": "image", "plate": "image", "composition": "image", "sight": "image",
    "sheet": "sheet", "paper": "sheet", "leaf": "sheet", "page": "sheet",
    "mount": "mount", "card": "mount", "board": "mount", "backing": "mount",
    "binding": "binding", "volume": "binding", "album": "binding", "closed": "binding",
    "support": "support", "canvas": "support", "panel": "support",
    "frame": "frame", "framed": "frame",
    "object": "object", "overall": "object", "displayed": "object",
}  # fmt: skip
"""What a catalogue says was measured, and the end of our term `measured-...`."""

_NUMBER = r"\d+/\d+|\d+(?:[.,]\d+)?(?:[ -]\d+/\d+|[½¼¾⅛⅜⅝⅞])?|[½¼¾⅛⅜⅝⅞]"
_TOKEN = re.compile(
    rf"\s*(?:(?P<number>{_NUMBER})|(?P<times>[x×X*](?![a-zA-Z])|\bby\b)|(?P<word>[^\W\d_]+\.?|[\"'″′”])"
    r"|(?P<mark>[:;,=]))"
)
_VULGAR = dict(
    zip("½¼¾⅛⅜⅝⅞", map(Fraction, ["1/2", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8"]), strict=True)
)
_BRACKETS = re.compile(r"\([^()]*\)|\[[^\[\]]*\]")


class SizeFault(ValueFault):
    """Dimensions that cannot be read."""

    code = "size"


@dataclass(frozen=True, slots=True)
class Size:
    """One measured dimension: what was measured ("" when nobody says), which way, in mm.

    `display` is the part of the text that it was read from.
    """

    what: str
    kind: str
    value: int | float
    display: str


def read_sizes(
    text: str, unit: str = "", order: tuple[str, ...] = (), what: str = ""
) -> list[Size]:
    """Return the dimensions that a text gives, in the order of the text.

    Args:
        text: `image: 243 x 335 mm`, `H. 9 7/8 in. (25.1 cm), W. 7 in.`, `142 × 195`.
        unit: the unit where the text names none. order: which dimension each number is, where
            the text does not say. what: what was measured, where the text does not say.

    Raises:
        SizeFault: no unit, no order, more numbers than the order has, or other words.

    >>> [(s.what, s.kind, s.value) for s in read_sizes("image: 24.3 x 33.5 cm", order=("height", "width"))]
    [('image', 'height', 243), ('image', 'width', 335)]
    """
    found: list[Size] = []
    for part_what, part in _parts(text, what):
        found.extend(_part(part, part_what, unit, order))
    if not found:
        raise SizeFault(f"`{text}` holds no dimensions")
    return found


def _parts(text: str, what: str) -> list[tuple[str, str]]:
    """Cut a text where it says that something else was measured: `image: ... mount: ...`."""
    words = "|".join(sorted(WHAT_WORDS, key=len, reverse=True))
    marks = list(
        re.finditer(rf"\b({words})\b(?: size)?\s*:?\s*(?=[\d½¼¾⅛⅜⅝⅞]|[hwdlø])", text, re.I)
    )
    if not marks:
        return [(what, text)]
    parts: list[tuple[str, str]] = []
    before = text[: marks[0].start()].strip(" ,;:\r\n")
    if before:
        parts.append((what, before))
    ends = [mark.start() for mark in marks[1:]] + [len(text)]
    for mark, end in zip(marks, ends, strict=True):
        parts.append((WHAT_WORDS[mark[1].lower()], text[mark.start() : end].strip(" ,;\r\n")))
    return parts


def _part(text: str, what: str, unit: str, order: tuple[str, ...]) -> list[Size]:
    numbers = _numbers(_BRACKETS.sub(" ", text), text)
    if all(kind is None for _, kind, _ in numbers):
        if not order:
            raise SizeFault(
                f"`{text}` does not say which dimension is which", hint="declare `order`"
            )
        if len(numbers) > len(order):
            raise SizeFault(
                f"`{text}` has {len(numbers)} numbers, and the order names {len(order)}",
                hint="declare a longer `order`",
            )
        named = [(n, kind, u) for (n, _, u), kind in zip(numbers, order, strict=False)]
    elif any(kind is None for _, kind, _ in numbers):
        raise SizeFault(f"`{text}` names some of its dimensions only")
    else:
        named = [(n, kind or "", u) for n, kind, u in numbers]
    sizes = []
    for number, kind, own in named:
        scale = UNITS.get(own or unit)
        if scale is None:
            raise SizeFault(f"`{text}` names no unit", hint="declare `unit`")
        if number > 0:
            sizes.append(Size(what, kind, _millimetres(number * scale), text))
    return sizes


def _numbers(text: str, whole: str) -> list[tuple[Fraction, str | None, str]]:
    """Return each number with the kind that stands by it and its unit; units reach back."""
    found: list[list[object]] = []
    pending: str | None = None
    position = 0
    while position < len(text.rstrip()):
        match = _TOKEN.match(text, position)
        if match is None:
            raise SizeFault(f"`{whole}` cannot be read as dimensions")
        position = match.end()
        if match["number"]:
            found.append([_fraction(match["number"]), pending, ""])
            pending = None
        elif match["word"]:
            word = match["word"].lower()
            unit = _UNIT_WORDS.get(word) if found and not found[-1][2] else None
            if unit:
                for entry in reversed(found):
                    if entry[2]:
                        break
                    entry[2] = unit
            elif word in _KIND_WORDS:
                if found and found[-1][1] is None and _follows(text, match.start()):
                    found[-1][1] = _KIND_WORDS[word]
                else:
                    pending = _KIND_WORDS[word]
            elif word not in WHAT_WORDS:
                raise SizeFault(f"`{whole}` cannot be read as dimensions: `{match['word']}`")
    if pending is not None and found and found[-1][1] is None:
        found[-1][1] = pending
    return [(n, k, u) for n, k, u in found]  # type: ignore[misc]


def _follows(text: str, start: int) -> bool:
    """Whether a word of kind belongs to the number before it: `243 mm high`, not `x W 335`."""
    before = text[:start].rstrip()
    return not before.endswith(("x", "×", "X", ",", ";", ":", "*"))


def _fraction(text: str) -> Fraction:
    total = Fraction(0)
    for piece in re.findall(r"\d+/\d+|\d+[.,]\d+|\d+|[½¼¾⅛⅜⅝⅞]", text):
        if piece in _VULGAR:
            total += _VULGAR[piece]
        elif "/" in piece:
            top, bottom = piece.split("/")
            if int(bottom) == 0:
                raise SizeFault(f"`{text}` divides by zero")
            total += Fraction(int(top), int(bottom))
        else:
            total += Fraction(Decimal(piece.replace(",", ".")))
    return total


def _millimetres(value: Fraction) -> int | float:
    """Round to a tenth of a millimetre, halves up; whole numbers stay whole."""
    tenths = int(value * 10 + Fraction(1, 2))
    return tenths // 10 if tenths % 10 == 0 else tenths / 10
