"""From the shape of a date text to the plan that reads every text of that shape."""

import re
from dataclasses import dataclass, field

from lodpipe.dates import plans
from lodpipe.dates.items import Item, complete, item, span
from lodpipe.dates.plans import Builder, Piece, Plan, StuckError, template
from lodpipe.dates.points import UNCLEAR, Cursor, marks
from lodpipe.dates.results import Policy
from lodpipe.dates.spans import Span, together, within

NO_DATE = "the text says that there is no date"
SUPPLIED = "square brackets: not from the thing itself"
UNFINISHED = "angle brackets: not final"

_UNDATED = re.compile(r"[,(]?(?:un?|Tnn?|nTU|n?U|TnU)\??[,)]?|Z(?:[-/]0)*").fullmatch


def plan(letters: str, policy: Policy) -> Plan:
    """Return the plan for a shape; one that cannot be read has the reason in it."""
    builder = Builder(len(letters))
    shape, places = prepare(letters, builder)
    if not shape or _UNDATED(shape):
        return Plan(reason=NO_DATE, undated=True)
    try:
        return _composed(Cursor(shape, places, builder, policy))
    except StuckError as error:
        return unread(letters, error)


def unread(letters: str, error: StuckError) -> Plan:
    """Return the plan of a shape that cannot be read."""
    if "K" in letters:
        place = letters.index("K")
        return Plan(reason=f"`{{{place}}}` may belong to another calendar than the Gregorian")
    unknown = [place for place, letter in enumerate(letters) if letter == "*"]
    if unknown and error.message == UNCLEAR:
        return Plan(reason=f"`{{{unknown[0]}}}` is not a word of a date")
    return Plan(reason=error.message)


def prepare(letters: str, builder: Builder) -> tuple[str, list[int]]:
    """Return a shape without brackets, fillers and full stops, and the places of what is left."""
    places = list(range(len(letters)))
    if "[" in letters or "]" in letters:
        builder.note(SUPPLIED)
    if "<" in letters or ">" in letters:
        builder.note(UNFINISHED)
    shape, places = _own_marks(letters, places)
    shape, places = _without(shape, places, r"[\[\]<>]")
    shape, places = _parentheses(shape, places, builder)
    shape = re.sub(r"[abd](?=\.[Jhxg])", "O", shape)  # 19. Jh.
    shape, places = _without(shape, places, r"i|(?<![abdeY])\.|\.(?![abdeY0])")
    shape, places = _without(shape, places, r"^[,;:./&]+|[,;:./&]+$")
    return _without(shape, places, r"[,;:]+(?=[,;])|(?<=k)[,:&]")


def _own_marks(shape: str, places: list[int]) -> tuple[str, list[int]]:
    """Put a mark in brackets behind its date: the circa of `[ca. 1875]-1923` is of 1875 alone."""
    for found in re.finditer(r"\[([cp?])([^\[\]–,-]+)\](?=[-–])", shape):
        start, end = found.span()
        mark = "~" if found[1] == "c" else "?"
        shape = f"{shape[:start]}[{found[2]}{mark}]{shape[end:]}"
        places[start + 1 : end - 1] = [*places[start + 2 : end - 1], places[start + 1]]
    return shape, places


def _without(shape: str, places: list[int], pattern: str) -> tuple[str, list[int]]:
    gone = [found.span() for found in re.finditer(pattern, shape)]
    for start, end in reversed(gone):
        shape = shape[:start] + shape[end:]
        del places[start:end]
    return shape, places


_PARENTHESES = re.compile(r"\(([^()]*)\)")


def _parentheses(shape: str, places: list[int], builder: Builder) -> tuple[str, list[int]]:
    """Return a shape in which what stands in parentheses is a note, or stands on its own."""
    for found in reversed(list(_PARENTHESES.finditer(shape))):
        start, end = found.span()
        inner = found[1]
        kept = places[start + 1 : end - 1]
        around = shape[:start]
        if re.fullmatch(r"[ni]+|[abde]i[abde]", inner):
            words: list[Piece] = []
            for letter, place in zip(inner, kept, strict=True):
                shown = builder.step(plans.as_written, place) if letter in "abd" else place
                words.extend((" ", shown) if words else (shown,))
            builder.note(*words)
            new, kept = "", []
        elif re.fullmatch(r"M\.?|[cp?]", inner) or found[0] == shape:
            new = inner
        elif re.fullmatch("v+", inner):
            continue
        elif re.fullmatch("o[oni,/&–-]*", inner):
            new = inner
        elif re.match(r"[vku]|[cp?]+v", inner) or re.fullmatch(r"(?:un?|Tn),?", around):
            if inner[0] == "k":
                inner = inner.replace(",", "&")
            new, kept = f",{inner},", [start, *kept, start]
        else:
            continue
        shape = shape[:start] + new + shape[end:]
        places[start:end] = kept
    return shape, places


@dataclass(slots=True)
class _Entries:
    """The items of a text: those without a word, those in bulk, those of an event."""

    plain: list[Item] = field(default_factory=list)
    bulk: list[Item] = field(default_factory=list)
    events: list[tuple[tuple[Piece, ...], Item | None]] = field(default_factory=list)


def _composed(cursor: Cursor) -> Plan:
    entries = _entries(cursor)
    every = [*entries.plain, *entries.bulk, *(e for _, e in entries.events if e is not None)]
    complete(entries.plain, cursor)
    complete(entries.bulk, cursor)
    for _, entry in entries.events:
        if entry is not None:
            complete([entry], cursor)
    if not every:
        raise StuckError(UNCLEAR)
    builder = cursor.builder
    main = [span(entry, cursor) for entry in entries.plain]
    bulk = [span(entry, cursor) for entry in entries.bulk]
    if bulk:
        builder.note("bulk dates: ", *together(bulk).pieces()) if main else builder.note("bulk")
    if not entries.events:
        dates = [(template(("",)), template(together(main or bulk).pieces()))]
        return Plan(tuple(builder.steps), tuple(dates), tuple(builder.notes))
    return _with_events(entries, together(main) if main else None, cursor)


def _with_events(entries: _Entries, main: Span | None, cursor: Cursor) -> Plan:
    dates = [(template(("",)), template(main.pieces()))] if main else []
    for words, entry in entries.events:
        if entry is not None:
            made = span(entry, cursor)
        elif main is not None and main.first is not None:
            made = within(main.first, None)  # printed later: then or after
        else:
            raise StuckError(UNCLEAR)
        dates.append((template(words), template(made.pieces())))
    builder = cursor.builder
    return Plan(tuple(builder.steps), tuple(dates), tuple(builder.notes), events=True)


def _entries(cursor: Cursor) -> _Entries:
    found = _Entries()
    while not cursor.done:
        if cursor.take(r"[,;&]+"):
            continue
        if undated := cursor.take(r"k?(?:un?|Tn)\??"):
            _word_notes(cursor, undated.start(), undated.end())
            continue
        if cursor.match("C[^SXQHOs1]") and cursor.policy.c_years == "copyright":
            cursor.take("C")
            cursor.builder.note("c_years = copyright")
            found.events.append((("copyright",), item(cursor)))
        elif cursor.match(r"\(v+\)"):
            _event_behind(cursor, found)
        elif cursor.match(r"[cp?]*[lm1]?v"):
            found.events.append(event_item(cursor))
        elif cursor.take(r"kn?"):
            _bulk(cursor, found)
        elif note := cursor.take(r"n+"):
            _word_notes(cursor, note.start(), note.end())
            continue
        elif found.bulk:
            raise StuckError(UNCLEAR)  # a date after those in bulk: is it one of them?
        elif found.events and not re.search(r"\(v", cursor.letters):
            raise StuckError(UNCLEAR)  # a date after that of an event: whose is it?
        else:
            found.plain.append(item(cursor))
        if not cursor.match(r"$|[,;&]|[cp?]*[vuk]|Tn|n|\(v|(?<=\))"):
            raise StuckError(UNCLEAR)
    return found


def _bulk(cursor: Cursor, found: _Entries) -> None:
    """Read the dates in bulk: all that follow in the parentheses, or when nothing stood before."""
    found.bulk.append(item(cursor))
    while cursor.take(r"&" if found.plain else r"[,;&]+(?![uvkTn])"):
        found.bulk.append(item(cursor))


def _event_behind(cursor: Cursor, found: _Entries) -> None:
    """Read an event in parentheses behind its date: `1896-1908 (modelled)`."""
    if not found.plain:
        raise StuckError(UNCLEAR)
    taken = cursor.take(r"\((v+)\)")
    assert taken is not None
    words: list[Piece] = []
    for number in range(taken.start(1), taken.end(1)):
        words.extend((" ", cursor.places[number]) if words else (cursor.places[number],))
    if len(found.plain) > 1:
        raise StuckError(UNCLEAR)
    found.events.append((tuple(words), found.plain.pop()))


def _word_notes(cursor: Cursor, start: int, end: int) -> None:
    pieces: list[Piece] = []
    for place in cursor.places[start:end]:
        pieces.extend((" ", place) if pieces else (place,))
    cursor.builder.note(*pieces)


def event_item(cursor: Cursor) -> tuple[tuple[Piece, ...], Item | None]:
    """Read the words of an event and its date; None stands for `later` without a date."""
    mark = marks(cursor)
    later = bool(cursor.take("[lm](?=v)"))
    words: list[Piece] = ["first"] if cursor.take("1(?=v)") else []
    while taken := cursor.take(r"&?[-–]?v"):
        words.extend(
            (" ", cursor.places[taken.end() - 1]) if words else (cursor.places[taken.end() - 1],)
        )
    if later or cursor.take(r"[lm](?=$|[,;])"):
        return tuple(["?", *words] if mark else words), None
    cursor.take(r"[,:]")
    entry = item(cursor)
    entry.mark |= mark
    return tuple(words), entry
