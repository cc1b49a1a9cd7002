"""What people write for a date, read into EDTF, never guessed.

A text is taken apart into words and numbers (`tokens`), the letters that stand for them are its
shape, and the grammar makes a plan of each shape once. A text that can mean several things stays
unread with the meanings spelled out, unless the project declares which one it uses (`Policy`).

Two choices are made for everyone, because the narrow reading would leave out days that are meant:
`before 1867` and `after 1867` do not exclude the year itself (open data: the machine dates beside
`after 1836` begin with 1836, those beside `after 1945` with 1946), and early, mid and late are
wide (`plans.CENTURY_PARTS`).
"""

from lodpipe.dates import grammar, life
from lodpipe.dates.edtf import parse
from lodpipe.dates.plans import Plan, filled
from lodpipe.dates.results import Events, Policy, Reading, Unread
from lodpipe.dates.tables import LANGUAGES
from lodpipe.dates.tokens import Token, classify, known, split
from lodpipe.errors import DateError

__all__ = ["Events", "Policy", "Reading", "Unread", "read"]

MOST_CHARACTERS = 500
"""A longer text is no date; it is not looked at."""
MOST_SHAPES = 50_000
"""How many plans one reader keeps; beyond that they are made again each time."""

Result = Reading | Events | Unread


class Reader:
    """Reads texts of one kind under one policy, and keeps the plans of the shapes it has met."""

    def __init__(self, kind: str, policy: Policy) -> None:
        self.life = kind == "life"
        self.policy = policy
        self.table = known(policy.languages or LANGUAGES, self.life)
        self.plans: dict[str, Plan] = {}

    def read(self, text: str) -> Result:
        """Return what a text means."""
        if len(text) > MOST_CHARACTERS:
            return Unread(text, f"longer than {MOST_CHARACTERS} characters")
        values, shape = self.tokens(text)
        plan = self.plans.get(shape)
        if plan is None:
            plan = (life if self.life else grammar).plan(shape, self.policy)
            if len(self.plans) < MOST_SHAPES:
                self.plans[shape] = plan
        if not plan.dates:
            return _as_edtf(text) or Unread(text, plan.reason.format(*values), plan.undated)
        try:
            return self._carried_out(plan, text, values)
        except DateError as error:
            return Unread(text, error.message)

    def tokens(self, text: str) -> tuple[list[str], str]:
        """Return the values of the words and numbers of a text, and its shape."""
        table = self.table
        found: list[Token] = []
        for token in split(text):
            entry = table.get(token)
            found.append(classify(token, table) if entry is None else entry)
        return [value for _, value in found], "".join([letter for letter, _ in found])

    def _carried_out(self, plan: Plan, text: str, values: list[str]) -> Result:
        for function, arguments in plan.steps:
            values.append(function(values, *arguments))
        notes = tuple([filled(note, values) for note in plan.notes])
        if not plan.events:
            return Reading(text, parse(filled(plan.dates[0][1], values)), notes)
        events = tuple(
            (filled(word, values), Reading(text, parse(filled(made, values)), notes))
            for word, made in plan.dates
        )
        return Events(text, events)


def _as_edtf(text: str) -> Reading | None:
    """Return the reading of a text that only EDTF writes so, such as `1846~` or `1868/..`."""
    if not any(sign in text for sign in ("~", "%", "X", "..", "{")):
        return None
    try:
        return Reading(text, parse(text.strip()), ("EDTF",))
    except DateError:
        return None


_readers: dict[tuple[str, Policy], Reader] = {}
_DEFAULT = Policy()


def read(text: str, *, kind: str = "date", policy: Policy = _DEFAULT) -> Result:
    """Return what a date text means; any text comes to something, none raises.

    Args:
        text: as the catalogue has it: `ca. 1855-60`, `14 February 1872`, `[187-?]`,
            `1938, printed 1973`.
        kind: `date`, or `life` for the years of a person or body, where words of nationality and
            place may stand in front.
        policy: what ambiguous texts mean.

    Returns:
        A `Reading`; `Events` where the text says what happened; `Unread` with the reason, which
        names the choices where there are several.

    >>> read("ca. 1855-60").edtf.text
    '1855~/1860~'
    """
    reader = _readers.get((kind, policy))
    if reader is None:
        reader = _readers[kind, policy] = Reader(kind, policy)
    return reader.read(text)
