"""Walking trees: every node below a topmost one, each before those below it."""

from typing import Any

from lodpipe.mapping.paths import Access
from lodpipe.mapping.spaces import PARENT, Run, Scope, Step
from lodpipe.mapping.specs import Spec


class _Walk:
    """One `walk` of a mapping: the nodes of a tree as scopes, in document order."""

    __slots__ = ("above", "below", "limit", "read", "spec")

    def __init__(self, spec: Spec, below: Access, above: list[str], limit: int) -> None:
        assert spec.field.element is not None
        self.spec = spec
        self.read = spec.field.element.read
        self.below = below.every
        self.above = [(name, name.removeprefix("parent.")) for name in above]
        self.limit = limit

    def node(
        self, run: Run, scope: Scope, raw: Any, base: str, parent: Scope | None, out: list[Scope]
    ) -> Scope:
        """Add one node."""
        made = Scope(raw, scope.origin, scope, base)
        made.values[PARENT] = parent
        for name, stem in self.above:
            made.values[name] = parent.values[stem] if parent is not None else ""
        self.read(run, made)
        out.append(made)
        return made

    def inside(
        self,
        run: Run,
        scope: Scope,
        raw: Any,
        base: str,
        parent: Scope | None,
        depth: int,
        out: list[Scope],
    ) -> None:
        """Add everything below a node."""
        if depth > self.limit:
            told = f"`{self.spec.field.label}` goes deeper than {self.limit} levels"
            run.tell(scope, "", "value", told)
            return
        for inner, column in self.below(raw):
            if inner is not None and inner != "":
                place = base + column
                made = self.node(run, scope, inner, place, parent, out)
                self.inside(run, scope, inner, place, made, depth + 1, out)


def walk_step(spec: Spec, top: Access, below: Access, above: list[str], limit: int) -> Step:
    """Return the step that reads a tree into a list of its nodes.

    Args:
        top: where the topmost node stands; a list of nodes there has nothing above it, so that
            each of them counts.
        below: where the nodes below a node stand.
        above: names of fields of the node above: `parent.id`.
        limit: levels below the topmost node.
    """
    walk, slot, root = _Walk(spec, below, above, limit), spec.field.slot, spec.options["root"]

    def step(run: Run, scope: Scope) -> None:
        out: list[Scope] = []
        counts = root or (not top.many and isinstance(top.first(scope.raw), list))
        for raw, column in top.every(scope.raw):
            base = scope.base + column
            made = walk.node(run, scope, raw, base, None, out) if counts else None
            walk.inside(run, scope, raw, base, made, 1, out)
        scope.values[slot] = out

    return step
