"""The emitter: a document in Linked Art shape to sorted N-Triples lines.

Each class is compiled once into a table of closures, one a key; emitting a document is then one
lookup and one f-string a triple. With `mint` no blank node leaves: a nested node gets an IRI by
its role (`roles`). Without, nested nodes are blank nodes, and the triples are those that a
JSON-LD processor makes of the same document; that is how the tests hold the two together.

What cannot be published is refused and never left out: an unknown key or class, a relative or
faulty IRI, a moment that is not one.
"""

from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any

from lodpipe.errors import DateError, IriError, TermError, ValueFault
from lodpipe.iris import check_iri
from lodpipe.rdf.context import (
    RDF_TYPE,
    assigned_iri,
    class_iri,
    full,
    inherited,
    properties,
    unknown_key,
)
from lodpipe.rdf.roles import Roles
from lodpipe.rdf.text import date_time, number, quoted
from lodpipe.records import Tree
from lodpipe.terms import Concepts, Key

MOST_KEPT = 4096
"""Known nodes and IRIs kept in memory; when there are more, the memory starts afresh."""

_REPEATED = frozenset(
    {"Currency", "Group", "Language", "Material", "MeasurementUnit", "Person", "Place", "Type"}
)
"""Classes whose nodes stand in many documents in the same words: their lines are kept."""

_REFERENCE = frozenset({"id", "type", "_label"})
_CARRIES = "attributed_by"


@dataclass(frozen=True, slots=True)
class Assignment:
    """A claim in a document: what it says of which node.

    Attributes:
        iri: of the AttributeAssignment; `carrier` is the node that has it in `attributed_by`.
        property: IRI that `assigned_property` stands for; "" when it has none.
        values: IRIs of what is assigned, in their order.
        tree: the node itself, not to be changed.
    """

    iri: str
    carrier: str
    property: str
    values: tuple[str, ...]
    tree: Tree


@dataclass(frozen=True, slots=True)
class Emitted:
    """The triples of one document.

    Attributes:
        uri: IRI of the document.
        lines: N-Triples lines without line end, sorted by code point, none twice.
        nodes: IRI of each node (or label of a blank node) -> JSON Pointer of the place where it
            stands first.
        assignments: the claims, in the order of the document.
    """

    uri: str
    lines: list[str]
    nodes: dict[str, str]
    assignments: tuple[Assignment, ...] = ()


@dataclass(slots=True)
class _Claim:
    carrier: str
    carrier_class: str
    tree: Tree
    property: str = ""
    values: list[str] = field(default_factory=list)


@dataclass(slots=True)
class _Run:
    """What is known while one document is emitted; subjects and targets are N-Triples text."""

    stem: str
    used: dict[str, int]
    lines: set[str] = field(default_factory=set)
    nodes: dict[str, str] = field(default_factory=dict)
    stated: set[str] = field(default_factory=set)
    minted: set[str] = field(default_factory=set)
    claims: dict[str, _Claim] = field(default_factory=dict)


_Handler = Callable[[_Run, str, Any, str, str], None]
"""Called with the run, the subject as text, the value, the role of the node, its JSON Pointer."""

_Kept = tuple[Tree, tuple[str, ...], tuple[tuple[str, str], ...]]


@dataclass(slots=True)
class _Plan:
    """One class, compiled, in a scope where `below` is what `part_of` means in a claim."""

    class_name: str
    below: str | None
    type_line: str
    handlers: dict[str, _Handler] = field(default_factory=dict)
    kept: dict[str, _Kept] = field(default_factory=dict)


class Emitter:
    """Makes the triples of documents.

    Args:
        base: base IRI of the site, which ends in `/`.
        concepts: our concepts and the project's: their slugs name the nested nodes.
        mint: give nested nodes IRIs; without, they are blank nodes.
        language: tag of the project's first language.
    """

    def __init__(
        self, base: str, concepts: Concepts, *, mint: bool = True, language: str = "en"
    ) -> None:
        self._mint = mint
        self._roles = Roles(base, concepts, language)
        self._plans: dict[tuple[str, str | None], _Plan] = {}
        self._terms: dict[str, str] = {}
        self._moments: dict[str, str] = {}

    def emit(self, document: Tree) -> Emitted:
        """Return the triples of a document.

        Args:
            document: has `id` (absolute) and `type`; an `@context` is passed over, and so is a
                key whose value is None, an open slot.

        Raises:
            TermError: a class or key that terms.csv does not have there.
            IriError: an `id` that is not an absolute IRI.
            DateError: the end of a time span that is not a moment of RFC 3339.
            ValueFault: any other value that cannot be published.
                Each message ends with the JSON Pointer.
        """
        uri = document.get("id")
        if type(uri) is not str:
            raise ValueFault("the document has no `id`")
        run = self._run(document, uri, {})
        if not run.minted.isdisjoint(run.stated):
            # a node that has its `id` in the JSON keeps it; minted ones move on to a number
            run = self._run(document, uri, dict.fromkeys(run.stated, 1))
        assignments = tuple(
            Assignment(
                iri.strip("<>"),
                claim.carrier.strip("<>"),
                claim.property,
                tuple(value.strip("<>") for value in claim.values),
                claim.tree,
            )
            for iri, claim in run.claims.items()
        )
        return Emitted(uri, sorted(run.lines), run.nodes, assignments)

    def _run(self, document: Tree, uri: str, used: dict[str, int]) -> _Run:
        run = _Run(uri + "#", used)
        run.nodes[uri] = ""
        plan = self._plan(document.get("type"), None, "")
        self._node(run, plan, self._reference(uri, ""), document, "", "")
        return run

    def _node(self, run: _Run, plan: _Plan, subject: str, node: Tree, role: str, path: str) -> None:
        if plan.type_line:
            run.lines.add(subject + plan.type_line)
        handlers = plan.handlers
        for key, value in node.items():
            handler = handlers.get(key)
            if handler is None:
                handler = self._handler(plan, key, path)
            if value is not None:
                handler(run, subject, value, role, path)

    # compiling

    def _plan(self, class_name: object, below: str | None, path: str) -> _Plan:
        if class_name is None:
            name, line = "", ""
        elif type(class_name) is not str:
            raise TermError(f"`{class_name}` at `{path}/type` is not one class")
        else:
            try:
                name, line = class_name, f" <{RDF_TYPE}> <{class_iri(class_name)}> ."
            except TermError as error:
                raise TermError(f"{error.message} at `{path}/type`", hint=error.hint) from None
        plan = self._plans.get((name, below))
        if plan is None:
            plan = self._plans[name, below] = _Plan(name, below, line)
            plan.handlers = {"id": _nothing, "type": _nothing}
            for key, row in properties(name).items():
                plan.handlers[key] = self._compile(plan, row)
        return plan

    def _handler(self, plan: _Plan, key: str, path: str) -> _Handler:
        if key == "@context" and not path:
            return _nothing
        error = unknown_key(plan.class_name, key)
        raise TermError(f"{error.message} at `{path}`", hint=error.hint)

    def _compile(self, plan: _Plan, row: Key) -> _Handler:
        if not row.iri:
            return _nothing
        middle = f" <{row.iri}> "
        if row.coercion == "@id":
            return self._nested(plan, row.key, middle)
        if row.coercion == "@vocab":
            return self._assigned_property(plan, middle)
        if row.coercion:
            return self._moment(row.key, middle, f'"^^<{row.coercion}> .')
        return _literal(row.key, middle)

    def _moment(self, key: str, middle: str, end: str) -> _Handler:
        checked = self._moments

        def emit(run: _Run, subject: str, value: Any, role: str, path: str) -> None:
            if value not in checked:
                try:
                    date_time(value)
                except DateError as error:
                    raise DateError(
                        f"{error.message}, at `{path}/{key}`", hint=error.hint
                    ) from None
                _bound(checked)
                checked[value] = value
            run.lines.add(f'{subject}{middle}"{value}{end}')

        return emit

    def _assigned_property(self, plan: _Plan, middle: str) -> _Handler:
        def emit(run: _Run, subject: str, value: Any, role: str, path: str) -> None:
            claim = run.claims.get(subject)
            carrier = claim.carrier_class if claim is not None else ""
            try:
                iri = assigned_iri(carrier, value, plan.below)
            except TermError as error:
                where = f"at `{path}/assigned_property`"
                raise TermError(f"{error.message}, {where}", hint=error.hint) from None
            if claim is not None:
                claim.property = iri
            run.lines.add(f"{subject}{middle}<{iri}> .")

        return emit

    def _nested(self, plan: _Plan, key: str, middle: str) -> _Handler:
        """Return the handler of a key that holds one node or several."""
        below = (inherited(plan.class_name) or plan.below) if key == _CARRIES else plan.below
        plans: dict[str | None, _Plan] = {}
        terms, mint = self._terms, self._mint

        def one(run: _Run, subject: str, node: Any, role: str, path: str) -> str:
            if type(node) is not dict:
                if type(node) is not str:
                    raise ValueFault(f"`{node}` is not a node, at `{path}`")
                target = terms.get(node) or self._reference(node, path)
                run.lines.add(f"{subject}{middle}{target} .")
                return target
            class_name = node.get("type")
            inner = plans.get(class_name) if type(class_name) is str else None
            if inner is None:
                inner = self._plan(class_name, below, path)
                if type(class_name) is str:
                    plans[class_name] = inner
            iri = node.get("id")
            if iri is None:
                target, role = self._new(run, node, key, inner.class_name, role)
                run.nodes[target[1:-1] if mint else target] = path
            else:
                target = terms.get(iri) or self._reference(iri, path)
                kept = inner.kept.get(iri)
                if kept is not None and kept[0] == node:
                    run.lines.add(f"{subject}{middle}{target} .")
                    run.lines.update(kept[1])
                    for known, rest in kept[2]:
                        run.nodes.setdefault(known, path + rest)
                    return target
                run.nodes.setdefault(target[1:-1], path)
                role = self._given(run, node, target[1:-1], key, inner.class_name, role)
            run.lines.add(f"{subject}{middle}{target} .")
            if key == _CARRIES:
                run.claims[target] = _Claim(subject, plan.class_name, node)
            if iri is not None and inner.class_name in _REPEATED:
                self._repeated(run, inner, target, node, iri, role, path)
            else:
                self._node(run, inner, target, node, role, path)
            return target

        def emit(run: _Run, subject: str, value: Any, role: str, path: str) -> None:
            if type(value) is list:
                place = f"{path}/{key}/"
                for position, item in enumerate(value):
                    one(run, subject, item, role, f"{place}{position}")
            else:
                one(run, subject, value, role, f"{path}/{key}")

        def emit_assigned(run: _Run, subject: str, value: Any, role: str, path: str) -> None:
            claim = run.claims.get(subject)
            for position, item in enumerate(value if type(value) is list else [value]):
                place = f"{path}/{key}/{position}" if type(value) is list else f"{path}/{key}"
                target = one(run, subject, item, role, place)
                if claim is not None:
                    claim.values.append(target)

        return emit_assigned if key == "assigned" else emit

    # IRIs of nodes

    def _new(
        self, run: _Run, node: Tree, key: str, class_name: str, holder: str
    ) -> tuple[str, str]:
        """Return text and role of a node without `id`: an IRI by its role, or a blank node."""
        if not self._mint:
            run.used[""] = run.used.get("", -1) + 1
            return f"_:b{run.used['']}", ""
        role = self._roles.role(node, key, class_name, holder)
        seen = run.used.get(role, 0)
        run.used[role] = seen + 1
        while seen:
            seen += 1
            numbered = f"{role}-{seen}"
            if numbered not in run.used:
                run.used[role], run.used[numbered] = seen, 1
                role, seen = numbered, 0
        run.minted.add(role)
        return f"<{run.stem}{role}>", role

    def _given(
        self, run: _Run, node: Tree, iri: str, key: str, class_name: str, holder: str
    ) -> str:
        """Return the role of a node with an `id`: behind the `#` of this document, or by rule."""
        simple = node.keys() <= _REFERENCE
        if iri.startswith(run.stem):
            role = iri[len(run.stem) :]
            if not simple:
                run.stated.add(role)
            return role
        return "" if simple or not self._mint else self._roles.role(node, key, class_name, holder)

    def _reference(self, iri: str, path: str) -> str:
        if type(iri) is not str:
            raise ValueFault(f"`{iri}` is not an IRI, at `{path}`")
        try:
            text = f"<{check_iri(full(iri))}>"
        except IriError as error:
            raise IriError(f"{error.message}, at `{path}`", hint=error.hint) from None
        _bound(self._terms)
        self._terms[iri] = text
        return text

    def _repeated(
        self, run: _Run, plan: _Plan, target: str, node: Tree, iri: str, role: str, path: str
    ) -> None:
        """Emit a node that other documents have too, and keep its lines for them."""
        inner = _Run(run.stem, run.used, stated=run.stated, minted=run.minted, claims=run.claims)
        inner.nodes[target[1:-1]] = ""
        before = (len(run.minted), len(run.stated), len(run.claims), run.used.get(""))
        self._node(inner, plan, target, node, role, "")
        if before == (len(run.minted), len(run.stated), len(run.claims), run.used.get("")):
            _bound(plan.kept)
            plan.kept[iri] = (deepcopy(node), tuple(inner.lines), tuple(inner.nodes.items()))
        run.lines |= inner.lines
        for known, rest in inner.nodes.items():
            run.nodes.setdefault(known, path + rest)


def _nothing(run: _Run, subject: str, value: Any, role: str, path: str) -> None:
    """Emit nothing: `id` and `type` are read with the node, and some keys are JSON only."""


def _literal(key: str, middle: str) -> _Handler:
    def one(value: Any, path: str) -> str:
        try:
            if type(value) is str:
                return quoted(value)
            if isinstance(value, (int, float)):
                return number(value)
        except ValueFault as error:
            raise ValueFault(f"{error.message}, at `{path}/{key}`", hint=error.hint) from None
        raise ValueFault(f"`{value}` is not a text or number, at `{path}/{key}`")

    def emit(run: _Run, subject: str, value: Any, role: str, path: str) -> None:
        if type(value) is list:
            for item in value:
                run.lines.add(f"{subject}{middle}{one(item, path)} .")
        else:
            run.lines.add(f"{subject}{middle}{one(value, path)} .")

    return emit


def _bound(kept: dict[Any, Any]) -> None:
    if len(kept) >= MOST_KEPT:
        kept.clear()
