"""What all parts of a mapping's compiler share: faults, tables, patterns, names."""

from collections.abc import Callable, Iterable
from functools import lru_cache

import re2

from lodpipe.dates import Policy
from lodpipe.dates.tables import EVENT
from lodpipe.dates.tables import words as date_words
from lodpipe.errors import LodpipeError, TermError, nearest
from lodpipe.mapping.language import Words
from lodpipe.mapping.spaces import DATE, TEXT, Field, Ref, Space
from lodpipe.mapping.yaml_nodes import Faults, Node
from lodpipe.nodes import Nodes
from lodpipe.project import Limits
from lodpipe.terms import Table

REMEMBERED = 2_048
"""Results that are kept: catalogues repeat themselves."""

_OPTIONS = re2.Options()
_OPTIONS.log_errors = False


@lru_cache(maxsize=1)
def date_parts() -> frozenset[str]:
    """Return what may stand behind a date: its EDTF, the ends of a life, the words of events."""
    events = {value for letter, value in date_words().values() if letter == EVENT}
    return frozenset({"edtf", "born", "died"} | events)


class Pattern:
    """A user's pattern: RE2, so its time grows with the text only, and texts are bounded too.

    https://github.com/google/re2/wiki/Syntax

    `find` returns the texts of the named groups in the order of `groups`, None when nothing in the
    text matches or the text is too long; `matches` says whether anything does.
    """

    __slots__ = ("find", "groups", "limit", "matches", "source")

    def __init__(self, source: str, limit: int) -> None:
        compiled = re2.compile(source, _OPTIONS)
        search, count = compiled.search, compiled.groups
        index = compiled.groupindex
        wanted = tuple(index.values())
        self.source = source
        self.limit = limit
        self.groups: tuple[str, ...] = tuple(index)

        def find(text: str) -> tuple[str, ...] | None:
            if len(text) > limit:
                return None
            found = search(text.encode())
            if found is None:
                return None
            texts = (b"", *found.groups(b"")) if count else (b"",)
            return tuple(texts[number].decode().strip() for number in wanted)

        def matches(text: str) -> bool:
            return len(text) <= limit and search(text.encode()) is not None

        self.find: Callable[[str], tuple[str, ...] | None] = lru_cache(REMEMBERED)(find)
        self.matches: Callable[[str], bool] = lru_cache(REMEMBERED)(matches)


class Compiler:
    """The mapping at hand: where faults go, and what names, tables and patterns mean."""

    def __init__(
        self,
        name: str,
        faults: Faults,
        *,
        nodes: Nodes,
        tables: Callable[[str], Table],
        policy: Policy,
        circa_years: int,
        limits: Limits,
    ) -> None:
        self.name = name
        self.faults = faults
        self.nodes = nodes
        self.policy = policy
        self.circa_years = circa_years
        self.limits = limits
        self.base = nodes.base
        self.namespaces: dict[str, str] = {}
        self.joins: dict[str, str] = {}
        self.needs: set[int] | None = None
        self.refs: list[Ref] = []
        self.nested = False
        self.looks_up = False
        self.make_list: Callable[[Field], None] = lambda field: None
        self._tables: dict[str, Table | None] = {}
        self._load = tables

    # --- keys -----------------------------------------------------------------------------

    def known_keys(self, node: Node, words: Words | Iterable[str], what: str) -> bool:
        """Note every key that the language does not have there; return whether there was none."""
        known = list(words)
        strange = [key for key in node.value if key not in known]
        if len(node.value) == 1 and strange and node.value[strange[0]].value is None:
            return self.unquoted(node)
        for key in strange:
            hint = nearest(key, known) or "known are " + ", ".join(f"`{word}`" for word in known)
            self.faults.add(node, f"`{key}` is not a key of {what}", hint, key=key)
        return not strange

    def unquoted(self, node: Node) -> bool:
        """Note a `{title}` that YAML reads as a mapping, because it has no quotes."""
        [key] = node.value
        if node.value[key].value is None and not node.value[key].quoted:
            self.faults.add(
                node, f"`{{{key}}}` is not quoted", f'quote the placeholder: "{{{key}}}"'
            )
        return False

    def text(self, node: Node | None, what: str, *, empty: bool = False) -> str:
        """Return the text of a scalar; notes a fault and returns "" when it is something else."""
        if node is None:
            return ""
        value = node.value
        if isinstance(value, dict) and len(value) == 1 and next(iter(value.values())).value is None:
            self.unquoted(node)
            return ""
        if isinstance(value, dict | list | bool) or value is None:
            self.faults.add(node, f"{what} is not a text")
            return ""
        if value == "" and not empty:
            self.faults.add(node, f"{what} is empty")
        return str(value)

    def texts(self, node: Node | None, what: str) -> list[str]:
        """Return a list of texts, or one text as a list."""
        if node is None:
            return []
        if node.is_list:
            return [self.text(item, what, empty=True) for item in node.value]
        return [self.text(node, what)]

    def flag(self, node: Node | None, what: str, default: bool) -> bool:
        """Return true or false."""
        if node is None:
            return default
        if not isinstance(node.value, bool):
            self.faults.add(node, f"{what} is `{node.value}`", "write `true` or `false`")
            return default
        return node.value

    def one_of(self, node: Node | None, known: Iterable[str], what: str) -> str:
        """Return a word of a list; notes any other with the nearest one."""
        word = self.text(node, what)
        words = list(known)
        if word and node is not None and word not in words:
            hint = nearest(word, words) or "known are " + ", ".join(f"`{w}`" for w in words)
            self.faults.add(node, f"`{word}` is not {what}", hint)
            return ""
        return word

    # --- tables, patterns, terms ----------------------------------------------------------

    def table(self, node: Node) -> Table | None:
        """Return the table of terms that a node names; None after a fault."""
        name = self.text(node, "the name of a table")
        if not name:
            return None
        if name not in self._tables:
            self._tables[name] = None
            try:
                self._tables[name] = self._load(name)
            except LodpipeError as error:
                self.faults.add(node, error.message, error.hint)
        return self._tables[name]

    def pattern(self, node: Node) -> Pattern | None:
        """Return the pattern that a node holds; None after a fault."""
        source = self.text(node, "a pattern")
        if not source:
            return None
        if len(source) > self.limits.pattern_chars:
            self.faults.add(node, f"a pattern of {len(source):,} characters")
            return None
        try:
            return Pattern(source, self.limits.pattern_chars)
        except re2.error as error:
            reason = error.args[0]
            told = reason.decode() if isinstance(reason, bytes) else str(reason)
            self.faults.add(
                node,
                f"`{source}` is not a pattern: {told}",
                "patterns are RE2: without look-around and back-references",
            )
            return None

    def term(self, node: Node, term: str) -> bool:
        """Return whether a term is in the tables; notes a fault when it is not."""
        try:
            self.nodes.concepts.get(term)
        except TermError as error:
            self.faults.add(node, error.message, error.hint)
            return False
        return True

    # --- names ----------------------------------------------------------------------------

    def resolve(self, written: str, space: Space, at: tuple[int, int]) -> Ref | None:
        """Return what a name leads to, `^` for each level out; None after a fault."""
        name = written.lstrip("^")
        level = len(written) - len(name)
        target: Space | None = space
        for _ in range(level):
            target = target.outer if target is not None else None
        assert target is not None, "above a record there is always a record"
        found = target.fields.get(name) or self._derived(name, target, at)
        if found is None and target.add is not None:
            found = target.add(name, at)
        if found is None:
            self._unknown(written, name, target, space, at)
            return None
        if target is not space and target is target.outer:
            self.looks_up = True
            if not self.nested:
                self.faults.add(
                    at,
                    f"`{written}` looks into a record above, and records do not lie in one another",
                    "only XML records do, with `records: //name`",
                )
        found.used = True
        if self.needs is not None:
            self.needs.add(id(found))
        made = Ref(found, level)
        self.refs.append(made)
        return made

    def _derived(self, name: str, space: Space, at: tuple[int, int]) -> Field | None:
        """Dates have parts that need no declaration: `made.printed`, `lived.born`, `made.edtf`."""
        stem, dot, part = name.rpartition(".")
        parent = space.fields.get(stem) if dot else None
        if parent is None or parent.kind != DATE:
            return None
        if part.rpartition(" ")[2] not in date_parts():  # `first printed` is printed too
            hint = nearest(part, date_parts()) or "a date has `edtf`, and a word such as `printed`"
            self.faults.add(at, f"`{part}` is not a part of a date", hint)
        parent.used = True
        return space.declare(name, TEXT if part == "edtf" else DATE, at)

    def _unknown(
        self, written: str, name: str, target: Space, space: Space, at: tuple[int, int]
    ) -> None:
        hint = nearest(name, target.fields)
        outer, marks = space.outer, "^"
        while not hint and outer is not None and outer is not outer.outer:
            if name in outer.fields:
                hint = f"one level out it is written `{marks}{name}`"
            outer, marks = outer.outer, marks + "^"
        if not hint:
            names = sorted(key for key in target.fields if "." not in key.strip("."))
            hint = "known are " + ", ".join(f"`{key}`" for key in names) if names else ""
        where = f" of `{target.label}`" if target.label else ""
        self.faults.add(at, f"`{written}` is not a field{where}", hint)

    def used_up(self, space: Space) -> None:
        """Note the fields that nothing uses: their values would be lost without a word."""
        used = {name.partition(".")[0] for name, found in space.fields.items() if found.used}
        for name, found in space.fields.items():
            if name.partition(".")[0] not in used:
                self.faults.add(
                    found.at,
                    f"the field `{found.label}` is used nowhere",
                    "use it, or take it out and list where it stands under `dropped`",
                )
            if found.element is not None:
                self.used_up(found.element)
