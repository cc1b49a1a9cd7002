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
from json.encoder import encode_basestring
from typing import Any

from lodpipe.errors import DateError, IriError, TermError, ValueFault
from lodpipe.iris import check_iri, is_plain
from lodpipe.rdf.context import (
    RDF_TYPE,
    assigned_iri,
    class_iri,
    full,
    inherited,
    properties,
    unknown_key,
)
from lodpipe.rdf.emitted import Assignment, Claim, Emitted, Kept, Run
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
_NAMES = ("id", "type", "assigned_property")
_OF_THE = ("_of_the_begin", "_of_the_end")


_Handler = Callable[[Run, str, Any, str, str], None]
"""Called with the run, the subject as text, the value, the role of the node, its JSON Pointer."""


@dataclass(slots=True)
class _Plan:
    """One class, compiled, in a scope where `below` is what `part_of` means in a claim."""

    class_name: str
    below: str | None
    type_line: str
    handlers: dict[str, _Handler | None] = field(default_factory=dict)  # None: emits nothing


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
        self._kept: dict[str | None, dict[object, Kept]] = {}
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
        try:
            run = self._run(document, uri, {})
        except TypeError:
            # a list or dict where one name belongs: looked for only now, not on the way
            _refuse_strange(document, "")
            raise
        clash = not run.stated.isdisjoint(run.minted)
        if clash or run.mixed:
            # A node that has its `id` in the JSON keeps it, and minted ones move on to a number.
            # Where two lists have nodes of one role, the order of keys must not say which is first.
            taken = run.stated if clash else ()
            run = self._run(_sorted(document), uri, dict.fromkeys(taken, 1))
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

    def _run(self, document: Tree, uri: str, used: dict[str, int]) -> Run:
        run = Run(uri + "#", used)
        run.nodes[uri] = ""
        plan = self._plan(document.get("type", ""), None, "")
        self._node(run, plan, self._reference(uri, "/id"), document, "", "")
        return run

    def _node(self, run: Run, plan: _Plan, subject: str, node: Tree, role: str, path: str) -> None:
        if plan.type_line:
            run.lines.add(subject + plan.type_line)
        handlers = plan.handlers
        for key, value in node.items():
            handler = handlers.get(key)
            if handler is not None:
                if value is not None:
                    handler(run, subject, value, role, path)
            elif key not in handlers and (path or key != "@context"):
                error = unknown_key(plan.class_name, key)
                raise TermError(f"{error.message}, at `{path}/{key}`", hint=error.hint)

    # compiling

    def _plan(self, class_name: object, below: str | None, path: str) -> _Plan:
        if type(class_name) is not str:
            raise TermError(f"`{class_name}` is not one class, at `{path}/type`")
        name, line = class_name, ""
        if name:
            try:
                line = f" <{RDF_TYPE}> <{class_iri(name)}> ."
            except TermError as error:
                raise TermError(f"{error.message}, at `{path}/type`", hint=error.hint) from None
        plan = self._plans.get((name, below))
        if plan is None:
            plan = self._plans[name, below] = _Plan(name, below, line)
            plan.handlers = {"id": None, "type": None}
            for key, row in properties(name).items():
                plan.handlers[key] = self._compile(plan, row)
        return plan

    def _compile(self, plan: _Plan, row: Key) -> _Handler | None:
        if not row.iri:
            return None
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

        def emit(run: Run, subject: str, value: Any, role: str, path: str) -> None:
            if value not in checked:
                try:
                    date_time(str(value))
                except DateError as error:
                    raise DateError(
                        f"{error.message}, at `{path}/{key}`", hint=error.hint
                    ) from None
                _bound(checked)
                checked[value] = value
            run.lines.add(f'{subject}{middle}"{value}{end}')

        return emit

    def _assigned_property(self, plan: _Plan, middle: str) -> _Handler:
        def emit(run: Run, subject: str, value: Any, role: str, path: str) -> None:
            claim = run.claims.get(subject)
            carrier = claim.carrier_class if claim is not None else ""
            if type(value) in (int, float, bool, dict):
                raise ValueFault(f"`{value}` is not one text, at `{path}/assigned_property`")
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
        """Return the handler of a key that holds one node or several.

        Everything that happens for each node stands in the two inner functions: this is where the
        time goes.
        """
        below = (inherited(plan.class_name) or plan.below) if key == _CARRIES else plan.below
        kept = self._kept.setdefault(below, {})
        open_node = self._opener(plan, key, below)

        def emit(run: Run, subject: str, value: Any, role: str, path: str) -> None:
            several = type(value) is list
            for position, node in enumerate(value if several else (value,)):
                if type(node) is dict:
                    known = kept.get(node.get("id", ""))
                    if known is not None and known[1] == node:
                        target = known[0]
                        if id(known) not in run.done:
                            run.done[id(known)] = known
                            run.lines.update(known[2])
                            place = f"{path}/{key}/{position}" if several else f"{path}/{key}"
                            for inner, rest in known[3]:
                                run.nodes.setdefault(inner, place + rest)
                    else:
                        place = f"{path}/{key}/{position}" if several else f"{path}/{key}"
                        target = open_node(run, subject, node, role, place)
                else:
                    place = f"{path}/{key}/{position}" if several else f"{path}/{key}"
                    target = self._reference(node, place)
                run.lines.add(f"{subject}{middle}{target} .")
                if assigned and subject in run.claims:
                    run.claims[subject].values.append(target)

        assigned = key == "assigned"
        return emit

    def _opener(self, plan: _Plan, key: str, below: str | None) -> Callable[..., str]:
        """Return the function that emits a node under a key and returns its text."""
        plans: dict[object, _Plan] = {}
        terms, mint, name = self._terms, self._mint, self._roles.role

        def open_node(run: Run, subject: str, node: Tree, role: str, path: str) -> str:
            class_name = node.get("type", "")
            inner = plans.get(class_name)
            if inner is None:
                inner = plans[class_name] = self._plan(class_name, below, path)
            iri = node.get("id")
            if iri is None:
                target, role = self._new(run, name(node, key, inner.class_name, role), path)
                run.nodes[target[1:-1] if mint else target] = path
            else:
                target = terms.get(iri) or self._reference(iri, f"{path}/id")
                run.nodes.setdefault(target[1:-1], path)
                role = self._given(run, node, target[1:-1], key, inner.class_name, role)
                if inner.class_name in _REPEATED:
                    self._repeated(run, inner, target, node, role, path)
                    return target
            if key == _CARRIES:
                run.claims[target] = Claim(subject, plan.class_name, node)
            self._node(run, inner, target, node, role, path)
            return target

        return open_node

    # IRIs of nodes

    def _new(self, run: Run, role: str, path: str) -> tuple[str, str]:
        """Return text and role of a node without `id`: an IRI by its role, or a blank node."""
        if not self._mint:
            run.used[""] = run.used.get("", -1) + 1
            return f"_:b{run.used['']}", ""
        if role in run.used:
            first = run.minted.get(role, path)
            run.mixed |= first.rpartition("/")[0] != path.rpartition("/")[0]
            number = run.used[role]
            while f"{role}-{number + 1}" in run.used:
                number += 1
            run.used[role] = number + 1
            role = f"{role}-{number + 1}"
        run.used[role] = 1
        run.minted[role] = path
        return f"<{run.stem}{role}>", role

    def _given(self, run: Run, node: Tree, iri: str, key: str, class_name: str, holder: str) -> str:
        """Return the role of a node with an `id`: behind the `#` of this document, or by rule."""
        simple = node.keys() <= _REFERENCE
        if iri.startswith(run.stem):
            role = iri[len(run.stem) :]
            if not simple:
                run.stated.add(role)
            return role
        return "" if simple or not self._mint else self._roles.role(node, key, class_name, holder)

    def _reference(self, iri: Any, path: str) -> str:
        if type(iri) is not str:
            raise ValueFault(f"`{iri}` is not a node or an IRI, at `{path}`")
        try:
            text = f"<{iri if is_plain(iri) else check_iri(full(iri))}>"
        except IriError as error:
            raise IriError(f"{error.message}, at `{path}`", hint=error.hint) from None
        _bound(self._terms)
        self._terms[iri] = text
        return text

    def _repeated(
        self, run: Run, plan: _Plan, target: str, node: Tree, role: str, path: str
    ) -> None:
        """Emit a node that other documents have too, and keep its lines for them."""
        inner = Run(run.stem, run.used, stated=run.stated, minted=run.minted, claims=run.claims)
        inner.nodes[target[1:-1]] = path
        before = (len(run.minted), len(run.stated), len(run.claims), run.used.get(""))
        self._node(inner, plan, target, node, role, path)
        if before == (len(run.minted), len(run.stated), len(run.claims), run.used.get("")):
            kept = self._kept[plan.below]
            _bound(kept)
            below = tuple((iri, pointer[len(path) :]) for iri, pointer in inner.nodes.items())
            entry = (target, deepcopy(node), tuple(inner.lines), below)
            kept[node["id"]] = run.done[id(entry)] = entry
        run.lines |= inner.lines
        run.mixed |= inner.mixed
        for iri, pointer in inner.nodes.items():
            run.nodes.setdefault(iri, pointer)


def _literal(key: str, middle: str) -> _Handler:
    def other(value: Any, path: str) -> str:
        try:
            if type(value) is str:
                return quoted(value)
            if isinstance(value, (int, float)):
                return number(value)
        except ValueFault as error:
            raise ValueFault(f"{error.message}, at `{path}/{key}`", hint=error.hint) from None
        raise ValueFault(f"`{value}` is not a text or number, at `{path}/{key}`")

    def emit(run: Run, subject: str, value: Any, role: str, path: str) -> None:
        if type(value) is str and value.isprintable():
            run.lines.add(f"{subject}{middle}{encode_basestring(value)} .")
            return
        for item in value if type(value) is list else (value,):
            run.lines.add(f"{subject}{middle}{other(item, path)} .")

    return emit


def _refuse_strange(value: Any, path: str) -> None:
    """Raise a ValueFault for the first `id`, `type` or the like that is a list or a node."""
    if type(value) is list:
        for position, item in enumerate(value):
            _refuse_strange(item, f"{path}/{position}")
    elif type(value) is dict:
        for key, item in value.items():
            if type(item) in (list, dict) and (key in _NAMES or key.endswith(_OF_THE)):
                raise ValueFault(f"`{item}` is not one text, at `{path}/{key}`")
            _refuse_strange(item, f"{path}/{key}")


def _sorted(value: Any) -> Any:
    if type(value) is dict:
        return {key: _sorted(value[key]) for key in sorted(value)}
    return [_sorted(item) for item in value] if type(value) is list else value


def _bound(kept: dict[Any, Any]) -> None:
    if len(kept) >= MOST_KEPT:
        kept.clear()
