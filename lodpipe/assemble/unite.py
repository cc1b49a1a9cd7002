"""Uniting what several records say of one document, the same whatever the order of the records.

Sources with a higher rank come first, then file, key and the order within one record. Lists are
put together, equal nodes once. A single value that differs is decided by that order and reported
with all values. What happened once (a production, a birth) is one node and united inside; every
other single node (a time span) is taken whole, since half of one and half of another would be a
third that nobody wrote.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import orjson

from lodpipe.findings import Finding, Report
from lodpipe.parts import United
from lodpipe.records import Draft, Input, Place, TraceEntry, Tree

HAPPENINGS = frozenset(
    {"Production", "Modification", "Creation", "Birth", "Death", "Formation", "Dissolution"}
)
"""Classes of nodes that a document has one of: two records tell of the same one."""


def unite(drafts: Sequence[Draft], report: Report) -> United:
    """Return one document from all drafts of one URI.

    Args:
        drafts: at least one, in any order.
        report: takes a `disagreement` for each single value on which they differ, with all values,
            and a `class-clash` where they differ on the class.
    """
    if len(drafts) == 1:
        only = drafts[0]
        return United(only.uri, only.tree, only.trace, only.inputs, (only.source,))
    ordered = sorted(drafts, key=_order)
    first = ordered[0]
    work = _Work(first.uri)
    tree: Tree = {}
    trace: dict[TraceEntry, None] = {}
    for draft in ordered:
        work.begin(draft)
        work.node(tree, draft.tree, "", "")
        for entry in draft.trace:
            path = work.moved(entry.path)
            if path is not None:
                trace[TraceEntry(path, entry.field, entry.place)] = None
    work.tell(report)
    inputs: dict[Input, None] = dict.fromkeys(i for draft in ordered for i in draft.inputs)
    sources = tuple(sorted({draft.source for draft in ordered}))
    return United(first.uri, tree, list(trace), list(inputs), sources)


def _order(draft: Draft) -> tuple[int, str, str, bytes, str]:
    return (-draft.rank, draft.source, draft.key, _bytes(draft.tree), str(draft.trace))


def _bytes(value: Any) -> bytes:
    return orjson.dumps(value, option=orjson.OPT_SORT_KEYS)


@dataclass(slots=True)
class _Voice:
    """One value of a disagreement, and the draft that says so."""

    value: Any
    draft: Draft
    path: str


@dataclass(slots=True)
class _Work:
    """The uniting of one document: where the items of the present draft went, and what clashed."""

    uri: str
    draft: Draft | None = None
    moves: dict[str, str] = field(default_factory=dict)
    lost: set[str] = field(default_factory=set)
    clashes: dict[str, list[_Voice]] = field(default_factory=dict)
    voices: dict[str, _Voice] = field(default_factory=dict)
    seen: dict[str, dict[str, int]] = field(default_factory=dict)

    def begin(self, draft: Draft) -> None:
        """Turn to the next draft."""
        self.draft, self.moves, self.lost = draft, {}, set()

    def node(self, into: Tree, new: Tree, path: str, from_path: str) -> None:
        """Unite a node of the present draft, at `from_path` there, into the one at `path`."""
        for key, value in new.items():
            here, there = f"{path}/{_escape(key)}", f"{from_path}/{_escape(key)}"
            if isinstance(value, list):
                self.items(into.setdefault(key, []), value, here, there)
            elif key not in into or into[key] is None:
                self.voice(here, value, there)
                into[key] = {} if isinstance(value, dict) else value
                if isinstance(value, dict):  # key by key: what is in it may be united later
                    self.node(into[key], value, here, there)
            elif value is not None:
                self.single(into, key, value, here, there)

    def single(self, into: Tree, key: str, value: Any, here: str, there: str) -> None:
        old = into[key]
        if isinstance(old, dict) and isinstance(value, dict) and _same(old, value):
            self.node(old, value, here, there)
        elif old != value:
            self.lost.add(there)
            if _same_days(old, value):
                return  # `3 August 1911` and `1911-08-03`: other words for the same days
            self.clashes.setdefault(here, []).append(self.made(value, there))

    def items(self, into: list[Any], new: list[Any], here: str, there: str) -> None:
        """Put a list's items behind those that are there, equal ones once.

        A text whose language one record tells and another leaves out is one text.
        """
        known = self.seen.get(here)
        if known is None:
            known = self.seen[here] = {}
        for number, value in enumerate(new):
            mark, bare = _mark(value), _bare(value)
            at = known.get(mark)
            if at is None and bare in known and "language" not in into[known[bare]]:
                at = known[mark] = known[bare]
            if at is None:
                at = known[mark] = len(into)
                into.append({} if isinstance(value, dict) else value)
            if bare:
                known.setdefault(bare, at)
            self.moves[f"{there}/{number}"] = f"{here}/{at}"
            if isinstance(value, dict):
                self.node(into[at], value, f"{here}/{at}", f"{there}/{number}")

    def made(self, value: Any, path: str) -> _Voice:
        assert self.draft is not None
        return _Voice(value, self.draft, path)

    def voice(self, here: str, value: Any, there: str) -> None:
        if value is not None:
            self.voices[here] = self.made(value, there)

    def moved(self, path: str) -> str | None:
        """Return where a pointer into the present draft leads now; None where its value lost."""
        head, tail = path, ""
        while head:
            if head in self.lost:
                return None
            if head in self.moves:
                return self.moves[head] + tail
            head, _, last = head.rpartition("/")
            tail = f"/{last}{tail}"
        return path

    def tell(self, report: Report) -> None:
        """Report what the drafts disagree on."""
        for path, others in self.clashes.items():
            kept = self.voices[path]
            if path == "/_label" and all(other.draft.rank < kept.draft.rank for other in others):
                continue  # a label is for those who look at the data: there the rank may decide
            values = list(dict.fromkeys(_shown(v.value) for v in (kept, *others)))
            code = "class-clash" if path == "/type" else "disagreement"
            what = path.rpartition("/")[2]
            said = "; ".join(f"`{value}` ({_who(value, (kept, *others))})" for value in values)
            report(
                Finding(
                    code,
                    f"{len(values)} values for `{what}`: {said}",
                    _place(kept) or _place(others[0]),
                    value=values[0],
                    hint="mend the sources, or give the one that is right a higher `rank`",
                    uri=self.uri,
                    path=path,
                )
            )


def _same(old: Tree, new: Tree) -> bool:
    """Whether two single nodes are of the same thing, so that both tell of it."""
    if "id" in old and "id" in new:
        return bool(old["id"] == new["id"])
    return old.get("type") == new.get("type") and old.get("type") in HAPPENINGS


def _same_days(old: Any, new: Any) -> bool:
    """Whether two time spans have the same date in EDTF, and differ in their words only."""
    if not isinstance(old, dict) or not isinstance(new, dict) or old.get("type") != "TimeSpan":
        return False
    dates = [
        [name["content"] for name in span.get("identified_by", ()) if name["type"] == "Identifier"]
        for span in (old, new)
    ]
    return bool(dates[0]) and dates[0] == dates[1]


def _mark(value: Any) -> str:
    """What makes a list item the same as another: its IRI, or all of it."""
    if isinstance(value, dict):
        if "id" in value:
            return f"{value.get('type')} {value['id']}"
        return _bytes(value).decode()
    return f"={value}"


def _bare(value: Any) -> str:
    """The mark that a text in a language would have without it: who gives none means the same."""
    if isinstance(value, dict) and "content" in value and value.get("language"):
        return _mark({key: inner for key, inner in value.items() if key != "language"})
    return ""


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        for key in ("_label", "content", "id"):
            if value.get(key):
                return str(value[key])
        names = value.get("identified_by")
        if names:
            return " = ".join(str(name.get("content")) for name in names)
        return _bytes(value).decode()
    return str(value)


def _who(value: str, voices: Sequence[_Voice]) -> str:
    """The records that say so, three at most."""
    said = sorted(
        {f"{v.draft.source} {v.draft.key}".strip() for v in voices if _shown(v.value) == value}
    )
    more = f" and {len(said) - 3} more" if len(said) > 3 else ""
    return ", ".join(said[:3]) + more


def _place(voice: _Voice) -> Place | None:
    for entry in voice.draft.trace:
        if entry.path == voice.path or entry.path.startswith(voice.path + "/"):
            return entry.place
    return None


def _escape(key: str) -> str:
    return key.replace("~", "~0").replace("/", "~1") if "/" in key or "~" in key else key
