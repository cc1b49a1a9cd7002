"""Conditions: `when` of nodes, documents, claims and cases; and the values that none takes up."""

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from lodpipe.mapping.language import CONDITIONS
from lodpipe.mapping.yaml_nodes import Node
from lodpipe.terms import Table

if TYPE_CHECKING:
    from lodpipe.mapping.compiler import Compiler
    from lodpipe.mapping.spaces import Ref, Scope, Space

Test = Callable[[str], bool]
"""Whether the text of one field (empty when there is none) fits."""
Condition = Callable[["Scope"], bool]
_Check = tuple["Ref", Test]
"""A field, and the test that its value must pass."""

MOST_REMEMBERED = 2_048


@dataclass(slots=True)
class Branches:
    """Every test that a mapping makes of one field, to tell the values that no branch takes up.

    `refused` are tests of explicit `not`: a value that only they name was left out on purpose.
    `words` are the values that tests name, in the mapping or in a table, for hints.
    """

    tests: list[Test] = field(default_factory=list)
    refused: list[Test] = field(default_factory=list)
    in_nodes: bool = False
    words: set[str] = field(default_factory=set)
    _known: dict[Hashable, str] = field(default_factory=dict)

    def verdict(self, text: str) -> str:
        """Return `""` where a branch takes the value up, else the severity of the finding."""
        known = self._known.get(text)
        if known is None:
            if any(test(text) for test in self.tests):
                known = ""
            else:
                known = "info" if any(test(text) for test in self.refused) else "warning"
            if len(self._known) < MOST_REMEMBERED:
                self._known[text] = known
        return known


def compile_when(
    node: Node,
    space: "Space",
    compiler: "Compiler",
    *,
    case: bool = False,
    used: "list[Ref] | None" = None,
) -> Condition | None:
    """Return the condition that all the fields of a `when` must meet.

    Args:
        node: the mapping of fields to tests.
        space: where the names of fields are looked up.
        case: whether it stands in `choose`: then a value that no case takes up is told there.
        used: takes the fields that it tests.
    """
    if not node.is_map:
        compiler.faults.add(node, "`when` takes fields and what they must be", "{field: present}")
        return None
    checks: list[_Check] = []
    for name, test_node in node.value.items():
        ref = compiler.resolve(name, space, node.keys[name])
        test = compile_test(test_node, compiler)
        if ref is None or test is None:
            continue
        presence = test_node.value in ("present", "absent")
        if ref.is_list and not presence:
            compiler.faults.add(
                test_node, f"`{name}` is a list", "it can only be `present` or `absent`"
            )
            continue
        if not presence:
            _note_branch(ref, test, test_node, compiler, case)
        if used is not None:
            used.append(ref)
        checks.append((ref, test))
    return _all(checks)


def _all(checks: "list[_Check]") -> Condition | None:
    """Return one condition for several; two texts of the element at hand are most of them."""
    if len(checks) == 2 and all(_is_plain(ref) for ref, _ in checks):
        (one, first), (other, second) = checks
        left, right = one.field.slot, other.field.slot
        return lambda scope: first(scope.values[left]) and second(scope.values[right])
    conditions = [_condition(ref, test) for ref, test in checks]
    if len(conditions) < 2:
        return conditions[0] if conditions else None
    return lambda scope: all(condition(scope) for condition in conditions)


def _note_branch(ref: "Ref", test: Test, node: Node, compiler: "Compiler", case: bool) -> None:
    """Remember a test of a field's values, to tell those that no branch takes up."""
    branches = ref.field.branches
    branches.in_nodes = branches.in_nodes or not case
    branches.tests.append(test)
    branches.words.update(_words(node, compiler))
    refused = _refused(node, compiler)
    if refused is not None:
        branches.refused.append(refused)


def _words(node: Node, compiler: "Compiler") -> list[str]:
    """The values that a test names: one, a list of them, or the terms of a table."""
    lookup = node.get("lookup")
    if lookup is not None:
        table = compiler.table(lookup)
        return list(table.lines) if table is not None else []
    values = node.value if isinstance(node.value, list) else [node]
    return [one.value for one in values if isinstance(one.value, str)]


def _is_plain(ref: "Ref") -> bool:
    return ref.level == 0 and ref.field.kind == "text"


def _condition(ref: "Ref", test: Test) -> Condition:
    if ref.is_list:
        elements = ref.value()
        return lambda scope: test("x" if elements(scope) else "")
    if _is_plain(ref):
        slot = ref.field.slot
        return lambda scope: test(scope.values[slot])
    get = ref.text()
    return lambda scope: test(get(scope))


def _refused(node: Node, compiler: "Compiler") -> Test | None:
    inner = node.get("not")
    return compile_test(inner, compiler) if inner is not None else None


def compile_test(node: Node, compiler: "Compiler") -> Test | None:
    """Return the test that one value must pass; None after a fault."""
    value = node.value
    if value == "present":
        return bool
    if value == "absent":
        return lambda text: not text
    if isinstance(value, list):
        return frozenset(_word(item.value) for item in value).__contains__
    if isinstance(value, dict):
        return _compound(node, compiler)
    if value is None and not node.quoted:
        compiler.faults.add(node, "a test without a value", "write `absent` for no value")
        return None
    return frozenset({_word(value)}).__contains__


def _compound(node: Node, compiler: "Compiler") -> Test | None:
    keys: dict[str, Node] = node.value
    if not compiler.known_keys(node, CONDITIONS, "a condition"):
        return None
    if len(keys) != 1:
        compiler.faults.add(node, "a condition has one key", "`lookup`, `matches` or `not`")
        return None
    [(key, inner)] = keys.items()
    if key == "not":
        test = compile_test(inner, compiler)
        return None if test is None else (lambda text: not test(text))
    if key == "lookup":
        table = compiler.table(inner)
        return None if table is None else lru_cache(MOST_REMEMBERED)(_has(table))
    pattern = compiler.pattern(inner)
    return None if pattern is None else pattern.matches


def _has(table: Table) -> Test:
    return lambda text: bool(text) and bool(table.get(text))


def _word(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value)
